"""No channel is given to two blocks.

Why: two blocks on one channel read as one; nobody can tell in which of them the train stands.

Mend: give each block a channel of its own, or make the two one block.
"""

from __future__ import annotations

from collections.abc import Sequence

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.model.layout import ChannelRef
from blockcheck.model.tables.selectors import one_pole
from blockcheck.rules._claims import Shared
from blockcheck.rules._rule import Judged, Rule, Said, listed
from blockcheck.text.edits import quoted


def check(study: Study) -> Said:
    """A finding for each channel with several blocks."""
    for channel, blocks in study.wiring.blocks_of_channel.items():
        yield Judged(str(channel))
        if len(blocks) > 1 and not one_pole(study.layout, blocks):
            free = _free(study, channel)
            yield Finding(
                f"channel {channel} is given to {listed(blocks)}",
                subject=str(channel),
                at=("blocks", blocks[1], "channel"),
                others=blocks,
                related=tuple(
                    Label(("blocks", block, "channel"), f"{block} has it here") for block in (blocks[0], *blocks[2:4])
                ),
                help=_help(study, free),
                edits=_moved(study, blocks, free),
                causes=frozenset({Shared(str(channel), blocks)}),
            )


def _free(study: Study, channel: ChannelRef) -> list[ChannelRef]:
    """The free channels of the same bank, whose district is the same; those kept spare come last."""
    board = study.layout.boards[channel.board]
    kind = study.layout.board_types[board.type]
    used = {fed.block.channel for fed in study.wiring.fed.values()}
    size = kind.bank_size or kind.channels
    first = (channel.number - 1) // size * size + 1
    bank = [ChannelRef(board.name, number) for number in range(first, min(first + size, kind.channels + 1))]
    return sorted((one for one in bank if one not in used), key=lambda one: one.number in board.spare)


def _help(study: Study, free: list[ChannelRef]) -> str:
    if not free:
        return "give each block a channel of its own, of another bank or board that its district feeds"
    spare = free[0].number in study.layout.boards[free[0].board].spare
    return f"give each block a channel of its own; {free[0]} is {'kept spare' if spare else 'free'}"


def _moved(study: Study, blocks: Sequence[str], free: list[ChannelRef]) -> tuple[Rewrite, ...]:
    """Where two blocks share, and one channel alone is free for the second, that is the one."""
    mine = [one for one in free if one.number not in study.layout.boards[one.board].spare]
    if len(blocks) != 2 or len(mine) != 1:
        return ()
    return (Rewrite(("blocks", blocks[1], "channel"), quoted(str(mine[0]))),)


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
