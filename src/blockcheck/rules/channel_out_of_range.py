"""The board has that channel.

Why: a feed to a terminal that does not exist is a feed to nowhere.

Mend: take a channel that the board has, or correct the count of its board type.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.rules._rule import Judged, Rule, Said, without_spare


def check(study: Study) -> Said:
    """A finding for each block on a channel that its board does not have, and for such channels kept spare."""

    def has(count: int) -> str:
        return f"has channels 1 to {count}" if count > 1 else "has channel 1 only"

    for name, fed in study.wiring.fed.items():
        yield Judged(name)
        channel = fed.block.channel
        if channel is not None and fed.type is not None and not 1 <= channel.number <= fed.type.channels:
            yield Finding(
                f"{name} is on channel {channel}, and board {channel.board} {has(fed.type.channels)}",
                subject=name,
                at=("blocks", name, "channel"),
                others=(str(channel),),
                related=(Label(("board_types", fed.type.name, "channels"), "the count stands here"),),
                measured=float(channel.number),
                limit=float(fed.type.channels),
                help="take a channel that the board has, or correct the count",
            )
    for board in study.layout.boards.values():
        kind = study.layout.board_types.get(board.type)
        if kind is None:
            continue
        yield Judged(board.name)
        for index, number in enumerate(board.spare):
            if number > kind.channels:
                yield Finding(
                    f"board {board.name} keeps channel {number} spare, and {has(kind.channels)}",
                    subject=board.name,
                    at=("boards", board.name, "spare", index),
                    others=(f"{board.name}.{number}",),
                    measured=float(number),
                    limit=float(kind.channels),
                    help="take it out of the list",
                    edits=without_spare(board, number),
                )


RULE = Rule(
    __doc__,
    __name__,
    "structure",
    Severity.ERROR,
    check,
)
