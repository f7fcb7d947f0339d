"""What the rules about budgets share: every operation, each cause once."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Iterator
from math import fsum

from blockcheck.analysis.budgets.budgets import Budget, Draw, above
from blockcheck.analysis.study import Study
from blockcheck.rules._claims import Loaded
from blockcheck.rules._rule import Judged, Lacks, amps, listed

Draws = Callable[[Budget], Iterator[Draw]]


def budget_draws(study: Study, draws: Draws) -> Iterator[tuple[str | None, Draw]]:
    """Scenario and draw, for the usual state and every scenario.

    A scenario is left out for a part that draws no more in it than in the usual state: it has the same cause. Where a
    datum is missing only there, it comes with no current, for what it lacks to be told.
    """
    usual: dict[tuple[str, str], Draw] = {}
    for operation in study.operations:
        budget = Budget.of(study, operation)
        for draw in draws(budget):
            if operation.scenario is None:
                usual[draw.kind, draw.name] = draw
            else:
                before = usual.get((draw.kind, draw.name))
                if draw.current_a <= (before.current_a if before else 0.0):
                    if set(draw.needs) <= set(before.needs if before else ()):
                        continue
                    draw = draw._replace(current_a=0.0)
            yield operation.scenario, draw


def limited(study: Study, draws: Draws, hidden: Container[str] = ()) -> Iterator[Judged]:
    """What has a limit in any operation, but for what is over it only for what something else is told of."""
    for operation in study.operations:
        for draw in draws(Budget.of(study, operation)):
            if draw.limit_a is not None and draw.name not in hidden:
                yield Judged(draw.name)


def lacking(draw: Draw, limit: str | None = None) -> Lacks | None:
    """What keeps a draw from being checked, if anything does: what is too much already stays so."""
    if above(draw):
        return None
    needs = [*draw.needs, *([limit] if limit is not None and draw.limit_a is None else [])]
    return Lacks(draw.name, tuple(needs)) if needs else None


def carries(draw: Draw) -> str:
    """A draw for people: where data are missing, what it is at least."""
    return "at least " * bool(draw.needs) + amps(draw.current_a)


def spared(study: Study, scenario: str | None, booster: str, share: float | None = None) -> float:
    """The amperes that a booster is spared when its districts are mended as they are told: one that is above its limit
    carries that, and, with a share, one that is above this share of it carries the share."""
    less = []
    for draw in Budget.of(study, study.operation(scenario)).districts():
        if draw.limit_a is None or study.layout.districts[draw.name].booster != booster:
            continue
        if not above(draw):
            less.append(0.0 if share is None else max(0.0, draw.current_a - draw.limit_a * share))
        elif {Loaded(draw.name, None), Loaded(draw.name, scenario)} & study.claims:
            less.append(draw.current_a - draw.limit_a)
    return fsum(less)


def relieved(study: Study, scenario: str | None, districts: Iterable[str], tracks: str = "of its tracks") -> str:
    """How to let districts carry less. Where no train is placed, fewer tracks awake are fewer vehicles that are powered
    at once, and the layout has to say so: what it expects stands on whatever is awake as usual."""
    budget = Budget.of(study, study.operation(scenario))
    loaded = [draw.name for draw in budget.districts() if draw.name in districts and draw.current_a]
    expecting = [name for name in loaded if name in budget.expecting]
    sleep = f"put some {tracks} to sleep"
    if not expecting:
        return f"{sleep}, or let fewer locomotives be awake at once"
    if len(expecting) < len(loaded):
        return f"{sleep} where trains stand, or expect fewer vehicles at once in {listed(expecting)} (expects)"
    return f"{sleep}, and expect what is still awake then (expects); or expect such as draw less"


Over = tuple[str | None, Draw]


def too_much(draws: Iterable[Over]) -> list[list[Over]]:
    """The draws above their limits, together where one expected vehicle, which may stand anywhere, is the cause."""
    groups: dict[object, list[Over]] = {}
    for scenario, draw in draws:
        if above(draw):
            cause = (scenario, draw.current_a, draw.limit_a) if draw.expected else (scenario, draw.name)
            groups.setdefault(cause, []).append((scenario, draw))
    return list(groups.values())
