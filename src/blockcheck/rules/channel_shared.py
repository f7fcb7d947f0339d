"""No channel is given to two blocks.

Why: two blocks on one channel read as one; nobody can tell in which of them the train stands.

Mend: give each block a channel of its own, or make the two one block.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.layout import ChannelRef
from blockcheck.rules._rule import Rule, listed


def check(case: Case) -> Iterator[Finding]:
    """A finding for each channel with several blocks."""
    users: dict[ChannelRef, list[str]] = {}
    for name, fed in case.wiring.fed.items():
        if fed.channel is not None:
            users.setdefault(fed.channel, []).append(name)
    for channel, blocks in sorted(users.items()):
        if len(blocks) > 1:
            yield Finding(
                f"channel {channel} is given to {listed(blocks)}",
                subject=str(channel),
                at=("blocks", blocks[1], "channel"),
                others=tuple(blocks),
                related=(Label(("blocks", blocks[0], "channel"), f"{blocks[0]} has it here"),),
                help=_free(case, channel),
            )


def _free(case: Case, channel: ChannelRef) -> str:
    board = case.layout.boards[channel.board]
    used = {fed.block.channel for fed in case.wiring.fed.values()}
    for number in range(1, case.layout.board_types[board.type].channels + 1):
        free = ChannelRef(board.name, number)
        if free not in used and number not in board.spare:
            return f"give each block a channel of its own; {free} is free"
    return "give each block a channel of its own, on another board"


RULE = Rule(__doc__ or "", "channel-shared", "structure", Severity.ERROR, check)
