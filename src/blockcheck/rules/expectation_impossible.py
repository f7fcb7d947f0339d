"""The expected vehicles, by length, fit on the district's awake blocks.

Why: a budget for trains that cannot all stand there says nothing.

Mend: expect fewer, or say how long the blocks really are.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.budgets import Budget
from blockcheck.analysis.case import Case
from blockcheck.analysis.fit import fits
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.rules._rule import Rule, metres


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each district whose expected vehicles have no room on its usually awake blocks."""
    layout, budget = case.layout, Budget.of(case, case.operations[0])
    for name in sorted(layout.districts, key=natural_key):
        district = layout.districts[name]
        if not district.expects or name in budget.with_trains:
            continue
        blocks = budget.case_standing.get(name, ())
        needs = {f"blocks.{block}.length": None for block in blocks if layout.blocks[block].length_m is None}
        vehicles: list[float] = []
        for expected in district.expects:
            load = layout.loads.get(expected.load)
            if load is not None and load.length_m is not None:
                vehicles += [load.length_m] * expected.count
            elif load is not None:
                needs[f"loads.{expected.load}.length"] = None
        if needs:
            yield Unchecked("expectation-impossible", name, tuple(needs))
            continue
        lengths = [length for block in blocks if (length := layout.blocks[block].length_m) is not None]
        fit = fits(vehicles, lengths)
        if fit is None:
            yield Unchecked("expectation-impossible", name, ("a decision within bounds",))
        elif not fit:
            yield Finding(
                f"district {name} expects {len(vehicles)} vehicles of {metres(sum(vehicles), case)} in all, and they "
                f"do not fit on its awake blocks of {metres(sum(lengths), case)}",
                subject=name,
                at=("districts", name, "expects"),
                related=tuple(Label(("blocks", block), f"{block} is one of its blocks") for block in blocks[:1]),
                measured=sum(vehicles),
                limit=sum(lengths),
                unit="m",
                help="expect fewer of them, or correct the lengths",
            )


RULE = Rule(
    __doc__ or "",
    "expectation-impossible",
    "budgets",
    Severity.WARNING,
    check,
    needs=("loads.*.length", "blocks.*.length"),
)
