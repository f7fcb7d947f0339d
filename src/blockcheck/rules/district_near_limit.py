"""A district, and a booster, carries what is powered at once with headroom to spare.

Why: the next locomotive, or one that stalls, is one too many.

Mend: put tracks to sleep, expect less at once, or lower limits.headroom if the little that is left is enough.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from blockcheck.analysis.power.budgets import Budget, Draw
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Severity
from blockcheck.rules import _subjects
from blockcheck.rules._over import budget_draws, carries
from blockcheck.rules._rule import Rule, amps, in_operation, in_scenario


def check(study: Study) -> Iterator[Finding]:
    """A finding for each district with too little to spare, and for each booster none of whose districts has."""
    districts = study.layout.districts
    over = [claim[1:] for claim in study.mended if claim[0] == "over"]
    told = {(districts[str(name)].booster, *scenario) for name, *scenario in over}  # its booster's is no further news
    for scenario, draw in budget_draws(study, _draws):
        booster = districts[draw.name].booster if draw.kind == "district" else draw.name
        if draw.limit_a is None or (draw.kind == "booster" and (booster, *in_operation(scenario)) in told):
            continue
        limit = draw.limit_a * (1 - study.layout.limits.headroom)
        if limit < draw.current_a <= draw.limit_a:
            told.add((booster, *in_operation(scenario)))
            share = f"{study.layout.limits.headroom * 100:g} %"
            yield Finding(
                f"{draw.kind} {draw.name} would carry {carries(draw)} of {amps(draw.limit_a)}"
                f"{in_scenario(scenario)}; {share} should stay free",
                subject=draw.name,
                at=draw.path if scenario is None else ("scenarios", scenario),
                others=(scenario,) if scenario is not None else (),
                measured=draw.current_a,
                limit=limit,
                unit="A",
                help="put some of its tracks to sleep, or let fewer locomotives be awake at once",
            )


def _draws(budget: Budget) -> Iterator[Draw]:
    """Districts first, so that a booster is only told of where they are not."""
    return chain(budget.districts(), budget.boosters())


RULE = Rule(
    __doc__ or "",
    "district-near-limit",
    "budgets",
    Severity.WARNING,
    check,
    needs=("loads.*",),
    subjects=_subjects.within,
)
