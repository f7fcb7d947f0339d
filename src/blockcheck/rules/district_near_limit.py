"""A district, and a booster, carries what is powered at once with headroom to spare.

Why: the next locomotive, or one that stalls, is one too many.

Mend: put tracks to sleep, expect less at once, or lower limits.headroom if the little that is left is enough.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from blockcheck.analysis.budgets.budgets import Budget, Draw
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Severity
from blockcheck.rules._over import budget_draws, carries, relieved, spared
from blockcheck.rules._rule import Judged, Rule, Said, amps, in_scenario


def check(study: Study) -> Said:
    """A finding for each district with too little to spare, and for each booster that has when they are mended."""
    headroom, hidden = study.layout.limits.headroom, set[str]()
    for scenario, draw, limit in _near(study):
        if _hidden(study, scenario, draw, limit):
            hidden.add(draw.name)
            continue
        own = [
            name
            for name, one in study.layout.districts.items()
            if draw.name == (name if draw.kind == "district" else one.booster)
        ]
        yield Finding(
            f"{draw.kind} {draw.name} would carry {carries(draw)} of {amps(draw.limit_a or 0.0)}"
            f"{in_scenario(scenario)}; {headroom * 100:g} % should stay free",
            subject=draw.name,
            at=draw.path if scenario is None else ("scenarios", scenario),
            others=(scenario,) if scenario is not None else (),
            measured=draw.current_a,
            limit=limit,
            unit="A",
            help=relieved(study, scenario, own),
        )
    yield from (Judged(name) for name in _within(study) if name not in hidden)


def _within(study: Study) -> list[str]:
    """Districts and boosters that are below their limit in every operation; of others it is known what they spare."""
    over, names = set[str](), dict[str, None]()
    share = 1 - study.layout.limits.headroom
    for operation in study.operations:
        budget = Budget.of(study, operation)
        for draw in (*budget.districts(), *budget.boosters()):
            names[draw.name] = None
            most = draw.limit_a
            if most is None or draw.current_a > most or (draw.needs and draw.current_a <= most * share):
                over.add(draw.name)
    return [name for name in names if name not in over]


def _near(study: Study) -> Iterator[tuple[str | None, Draw, float]]:
    """Scenario, draw and the most that it should be, of all that is above that and within its limit."""
    for scenario, draw in budget_draws(study, _draws):
        limit = (draw.limit_a or 0.0) * (1 - study.layout.limits.headroom)
        if draw.limit_a is not None and limit < draw.current_a <= draw.limit_a:
            yield scenario, draw, limit


def _hidden(study: Study, scenario: str | None, draw: Draw, limit: float) -> bool:
    """Whether a booster has enough to spare once its districts are mended as they are told."""
    if draw.kind == "district":
        return False
    spares = spared(study, scenario, draw.name, 1 - study.layout.limits.headroom)
    return settled(draw.current_a - spares) <= settled(limit)


def _draws(budget: Budget) -> Iterator[Draw]:
    return chain(budget.districts(), budget.boosters())


RULE = Rule(
    __doc__,
    __name__,
    "budgets",
    Severity.WARNING,
    check,
    needs=("loads.*",),
)
