"""A booster carries what is powered at once over all its districts.

Why: each district may be within its own limit, and all of them together more than the booster delivers.

Mend: put tracks to sleep, expect less at once, or give a district a booster of its own.
"""

from __future__ import annotations

from blockcheck.analysis.budgets.budgets import Budget, above
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.rules._over import budget_draws, carries, lacking, limited, relieved, spared
from blockcheck.rules._rule import Rule, Said, amps, in_scenario


def check(study: Study) -> Said:
    """A finding for each booster over its current, unless it is no more once its districts are mended as told."""
    hidden = set[str]()
    for scenario, draw in budget_draws(study, Budget.boosters):
        missing = lacking(draw)
        if missing is not None:
            yield missing
        districts = sorted(
            (name for name, one in study.layout.districts.items() if one.booster == draw.name), key=natural_key
        )
        too_much = above(draw, spared(study, scenario, draw.name))
        if above(draw) and not too_much:
            hidden.add(draw.name)
        if too_much:
            besides = "take a booster that delivers more"
            if len(districts) > 1:
                besides = "give one of the districts a booster of its own"
            yield Finding(
                f"booster {draw.name} would carry {carries(draw)}{in_scenario(scenario)}, "
                f"and delivers {amps(draw.limit_a or 0.0)}",
                subject=draw.name,
                at=draw.path if scenario is None else ("scenarios", scenario),
                others=(scenario,) if scenario is not None else (),
                related=tuple(Label(("districts", name), "it feeds this district") for name in districts[:4]),
                measured=draw.current_a,
                limit=draw.limit_a,
                unit="A",
                help=f"{relieved(study, scenario, districts, 'tracks')}, or {besides}",
            )

    yield from limited(study, Budget.boosters, hidden)


RULE = Rule(
    __doc__,
    __name__,
    "budgets",
    Severity.ERROR,
    check,
    needs=("loads.*",),
)
