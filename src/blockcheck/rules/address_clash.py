"""No two channels report as the same number.

Why: two channels of one number are one detector to whoever listens; trains appear where they are not.

Mend: give one of the boards another first_address.
"""

from __future__ import annotations

from itertools import combinations, pairwise

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.core.natural import natural_key
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """One finding for each pair of boards whose numbers overlap."""
    spans: list[tuple[str, int, int]] = []
    for name in sorted(study.layout.boards, key=natural_key):
        board = study.layout.boards[name]
        kind = study.layout.board_types.get(board.type)
        if board.first_address is not None and kind is not None:
            yield from (Judged(f"{name}.{number + 1}") for number in range(kind.channels))
            spans.append((name, board.first_address, board.first_address + kind.channels))
    free = max((end for _, _, end in spans), default=0)
    ordered = sorted((start, end) for _, start, end in spans)
    if all(end <= start for (_, end), (start, _) in pairwise(ordered)):
        return
    for (one, start, end), (other, start2, end2) in combinations(spans, 2):
        low, high = max(start, start2), min(end, end2)
        if low < high:
            numbers = f"number {low}" if high - low == 1 else f"numbers {low} to {high - 1}"
            yield Finding(
                f"boards {one} and {other} both report {numbers}",
                subject=f"{one}.{low - start + 1}",
                at=("boards", other, "first_address"),
                others=(f"{other}.{low - start2 + 1}",),
                related=(Label(("boards", one, "first_address"), f"{one} reports {start} to {end - 1}"),),
                help=f"write first_address = {free} for {other}; the numbers from there on are free",
                edits=(Rewrite(("boards", other, "first_address"), str(free)),),
            )


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
