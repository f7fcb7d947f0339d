"""A booster carries what is powered at once over all its districts.

Why: each district may be within its own limit, and all of them together more than the booster delivers.

Mend: put tracks to sleep, expect less at once, or give a district a booster of its own.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.power.budgets import Budget
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.rules import _subjects
from blockcheck.rules._over import budget_draws, carries, lacking, over, relieved, spared
from blockcheck.rules._rule import Rule, amps, in_scenario


def check(study: Study) -> Iterator[Finding | Unchecked]:
    """A finding for each booster over its current, unless it is no more once its districts are mended as told."""
    for scenario, draw in budget_draws(study, Budget.boosters):
        missing = lacking("booster-over-current", draw)
        if missing is not None:
            yield missing
        districts = sorted(
            (name for name, one in study.layout.districts.items() if one.booster == draw.name), key=natural_key
        )
        if over(draw, spared(study, scenario, draw.name)):
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


def judged(study: Study) -> Iterator[str]:
    """Boosters with a limit, but for those that are over it only for what their districts are told of."""
    hidden = {
        draw.name
        for scenario, draw in budget_draws(study, Budget.boosters)
        if over(draw) and not over(draw, spared(study, scenario, draw.name))
    }
    return (name for name in _subjects.limited_boosters(study) if name not in hidden)


RULE = Rule(
    __doc__ or "",
    "booster-over-current",
    "budgets",
    Severity.ERROR,
    check,
    needs=("loads.*",),
    subjects=judged,
)
