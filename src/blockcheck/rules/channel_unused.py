"""A channel without a block is listed as spare.

Why: a free channel that somebody counted on is a block that was forgotten.

Mend: list it under the board's spare, or give it to the block that it is for.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.core.natural import condensed, natural_key
from blockcheck.model.datum import datum
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed, without_spare


def check(study: Study) -> Said:
    """One finding for each board with free channels that are not listed, and one for each spare that is used.

    Which are free is not told while a block is on a channel that does not exist: it may mean one of them.
    """
    astray = tuple(
        datum("blocks", name, "channel")
        for name, fed in study.wiring.fed.items()
        if fed.block.channel is not None and (fed.board is None or (fed.type is not None and fed.bank is None))
    )
    users: dict[tuple[str, int], str] = {}
    for name, fed in study.wiring.fed.items():
        if fed.channel is not None:
            users.setdefault((fed.channel.board, fed.channel.number), name)
    for name in sorted(study.layout.boards, key=natural_key):
        board = study.layout.boards[name]
        kind = study.layout.board_types.get(board.type)
        if kind is None:
            continue
        yield Judged(name)
        free = [n for n in range(1, kind.channels + 1) if (name, n) not in users and n not in board.spare]
        if free and astray:
            yield Lacks(name, astray)
        elif free:
            many = "channels" if len(free) > 1 else "channel"
            spare = f"[{', '.join(map(str, sorted({*board.spare, *free})))}]"
            yield Finding(
                f"board {name} has no block on {many} {listed(condensed(map(str, free)), 16)}",
                subject=name,
                at=("boards", name),
                others=tuple(f"{name}.{n}" for n in free),
                help=f"if that is meant, write spare = {spare}",
                edits=(Rewrite(("boards", name, "spare"), spare),),
            )
        for index, number in enumerate(board.spare):
            block = users.get((name, number))
            if block is not None:
                yield Finding(
                    f"channel {name}.{number} is kept spare, and {block} is on it",
                    subject=f"{name}.{number}",
                    at=("boards", name, "spare", index),
                    others=(block,),
                    related=(Label(("blocks", block, "channel"), f"{block} has it here"),),
                    help="take it out of the list",
                    edits=without_spare(board, number),
                )


RULE = Rule(__doc__, __name__, "structure", Severity.NOTE, check)
