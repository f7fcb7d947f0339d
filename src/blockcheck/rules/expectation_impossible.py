"""The expected vehicles, by length, fit on the district's awake blocks.

Why: a budget for trains that cannot all stand there says nothing.

Mend: expect fewer, or say how long the blocks really are.
"""

from __future__ import annotations

from collections.abc import Sequence

from blockcheck.analysis.placement import fits
from blockcheck.analysis.power.feeding import Feeding
from blockcheck.analysis.study import Study
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.model.datum import datum
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, metres

MOST_VEHICLES = 2_000
"""Whether more vehicles than this can be packed is not tried."""


def check(study: Study) -> Said:
    """A finding for each district whose expected vehicles have no room on its usually awake blocks."""
    layout, feeding = study.layout, Feeding.of(study, study.operations[0])
    for name in sorted(layout.districts, key=natural_key):
        district = layout.districts[name]
        if not district.expects or name in feeding.with_trains:
            continue
        yield Judged(name)
        blocks = feeding.case_standing.get(name, ())
        needs = {datum("blocks", block, "length"): None for block in blocks if layout.blocks[block].length_m is None}
        kinds: list[tuple[float, int]] = []
        for expected in district.expects:
            load = layout.loads.get(expected.load)
            if load is not None and load.length_m is not None:
                kinds.append((load.length_m, expected.count))
            elif load is not None:
                needs[datum("loads", expected.load, "length")] = None
        if needs:
            yield Lacks(name, tuple(needs))
            continue
        lengths = [length for block in blocks if (length := layout.blocks[block].length_m) is not None]
        fit = _fit(kinds, lengths)
        if fit is None:
            yield Lacks(name, UNDECIDED)
        elif not fit:
            yield _finding(study, name, kinds, lengths, blocks)


def _fit(kinds: Sequence[tuple[float, int]], lengths: Sequence[float]) -> bool | None:
    """Whether so many vehicles of each length find room; None where there are too many to decide it."""
    if _total(kinds) > sum(lengths) * (1 + 1e-9):
        return False
    if sum(count for _, count in kinds) > MOST_VEHICLES:
        return None
    return fits([length for length, count in kinds for _ in range(count)], lengths)


def _total(kinds: Sequence[tuple[float, int]]) -> float:
    return sum(length * count for length, count in kinds)


def _finding(
    study: Study, name: str, kinds: Sequence[tuple[float, int]], lengths: Sequence[float], blocks: tuple[str, ...]
) -> Finding:
    wanted, room = _total(kinds), sum(lengths)
    count = sum(many for _, many in kinds)
    what = f"{count} vehicles" if count > 1 else "a vehicle"
    told = (
        f"has room for {metres(room, study)} on its awake blocks"
        if wanted > room
        else f"cannot place them whole on the {metres(room, study)} of its awake blocks"
    )
    return Finding(
        f"district {name} expects {what} of {metres(wanted, study)} in all, and {told}",
        subject=name,
        at=("districts", name, "expects"),
        related=tuple(Label(("blocks", block), f"{block} is one of its blocks") for block in blocks[:1]),
        measured=wanted if wanted > room else None,
        limit=room if wanted > room else None,
        unit="m" if wanted > room else None,
        help="expect fewer of them, or correct the lengths",
    )


RULE = Rule(
    __doc__,
    __name__,
    "budgets",
    Severity.WARNING,
    check,
    needs=("loads.*.length", "blocks.*.length"),
)
