"""No channel is given to two blocks.

Why: two blocks on one channel read as one; nobody can tell in which of them the train stands.

Mend: give each block a channel of its own, or make the two one block.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.layout import ChannelRef
from blockcheck.model.tables.selectors import one_pole
from blockcheck.rules._claims import Shared
from blockcheck.rules._rule import Judged, Rule, Said, listed


def check(study: Study) -> Said:
    """A finding for each channel with several blocks."""
    for channel, blocks in study.wiring.blocks_of_channel.items():
        yield Judged(str(channel))
        if len(blocks) > 1 and not one_pole(study.layout, blocks):
            yield Finding(
                f"channel {channel} is given to {listed(blocks)}",
                subject=str(channel),
                at=("blocks", blocks[1], "channel"),
                others=blocks,
                related=tuple(
                    Label(("blocks", block, "channel"), f"{block} has it here") for block in (blocks[0], *blocks[2:4])
                ),
                help=_free(study, channel),
                causes=frozenset({Shared(str(channel), blocks)}),
            )


def _free(study: Study, channel: ChannelRef) -> str:
    """What to do: take a free channel of the same bank, whose district is the same; one kept spare comes last."""
    board = study.layout.boards[channel.board]
    kind = study.layout.board_types[board.type]
    used = {fed.block.channel for fed in study.wiring.fed.values()}
    size = kind.bank_size or kind.channels
    first = (channel.number - 1) // size * size + 1
    bank = [ChannelRef(board.name, number) for number in range(first, min(first + size, kind.channels + 1))]
    free = [one for one in bank if one not in used]
    for one in sorted(free, key=lambda one: one.number in board.spare):
        word = "kept spare" if one.number in board.spare else "free"
        return f"give each block a channel of its own; {one} is {word}"
    return "give each block a channel of its own, of another bank or board that its district feeds"


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
