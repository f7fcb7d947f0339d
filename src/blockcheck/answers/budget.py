"""Who draws what, against what limit; what still fits; and what to put to sleep where it does not."""

from __future__ import annotations

import math
from collections.abc import Iterator

from attrs import frozen

from blockcheck.analysis.bounds import unbuilt
from blockcheck.analysis.budgets import Budget, Draw, silent_districts
from blockcheck.analysis.case import Case
from blockcheck.analysis.defaults import Default, of_budget
from blockcheck.analysis.electrics import Electrics, settled
from blockcheck.analysis.limits import conductor_limit
from blockcheck.analysis.probes import volts_of
from blockcheck.analysis.sleeping import to_sleep
from blockcheck.answers.answer import Answer
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.model.operate import Operation, vehicles


@frozen
class LoadRow:
    """A current against its limit, in amperes. ``kind`` is booster, district, channel, contact or conductor.

    ``bound`` marks a current that is at least this much: what some vehicle draws is not known. ``block`` is the block
    of a channel.
    """

    kind: str
    name: str
    current_a: float
    limit_a: float | None
    bound: bool = False
    block: str | None = None

    @property
    def headroom_a(self) -> float | None:
        """What is left."""
        return None if self.limit_a is None else settled(self.limit_a - self.current_a)


@frozen
class FitRow:
    """How many more of a load, in a state, fit in a district with the headroom that should stay free kept free.

    No district is told that is over its limit, or whose booster is. Districts of one booster share what it has left, so
    that their numbers are no sum. ``bound``: at most so many, since what some vehicle draws is not known.
    """

    district: str
    booster: str
    load: str
    state: str
    more: int
    bound: bool


@frozen
class Sleep:
    """Tracks to put to sleep; none where no set of tracks is enough."""

    isolators: tuple[str, ...]
    blocks: tuple[str, ...]


@frozen
class ScenarioBudget:
    """The budget of one way of operating the layout; None is the usual one."""

    scenario: str | None
    loads: tuple[LoadRow, ...]
    fits: tuple[FitRow, ...]
    sleep: Sleep | None


@frozen
class BudgetAnswer(Answer):
    """The budgets of the usual state and of every scenario."""

    command = "budget"

    layout: str
    headroom: float
    scenarios: tuple[ScenarioBudget, ...]
    unchecked: tuple[Unchecked, ...]
    defaults: tuple[Default, ...]


def budget(case: Case) -> BudgetAnswer:
    """Work out the budgets of a case."""
    scenarios = tuple(_scenario(case, operation) for operation in case.operations)
    return BudgetAnswer(
        case.layout.about.name,
        case.layout.limits.headroom,
        scenarios,
        tuple(dict.fromkeys(_unchecked(case))),
        of_budget(case, _sizes(case)),
    )


def _unchecked(case: Case) -> Iterator[Unchecked]:
    """The vehicles whose current is not known, by district, and the blocks whose wires are not in the network."""
    for block, needs in unbuilt(case).items():
        yield Unchecked("budget", block, needs)
    for name in silent_districts(case):
        yield Unchecked("budget", name, (f"districts.{name}.expects or a train",))
    for operation in case.operations:
        for draw in Budget.of(case, operation).districts():
            if draw.needs:
                yield Unchecked("budget", draw.name, draw.needs)
    for operation in case.operations:
        for block, needs in Electrics.of(case, operation).lacking.items():
            yield Unchecked("conductors", block, needs)


def _sizes(case: Case) -> set[str]:
    return {run.size for operation in case.operations for run in Electrics.of(case, operation).grid.runs}


def _scenario(case: Case, operation: Operation) -> ScenarioBudget:
    found = Budget.of(case, operation)
    draws: list[Draw] = [*found.boosters(), *found.districts(), *found.channels(), *found.contacts()]
    homes = {str(fed.channel): block for block, fed in case.wiring.fed.items() if fed.channel is not None}
    rows = [
        LoadRow(
            draw.kind,
            draw.name,
            settled(draw.current_a),
            draw.limit_a,
            bool(draw.needs),
            homes.get(draw.name) if draw.kind == "channel" else None,
        )
        for draw in draws
    ]
    return ScenarioBudget(
        operation.scenario,
        (*rows, *_conductors(case, operation)),
        tuple(_fits(case, found)),
        _sleep(case, operation),
    )


def _conductors(case: Case, operation: Operation) -> list[LoadRow]:
    """Every run of wire that carries something, in service."""
    electrics = Electrics.of(case, operation)
    if not electrics.grid.tracks:
        return []
    amperes = electrics.loaded.resistor_amperes
    unknown = any(draw.needs for draw in Budget.of(case, operation).districts())
    rows = []
    for run in electrics.grid.runs:
        most = settled(max((abs(amperes[number]) for number in run.resistors), default=0.0))
        limit = conductor_limit(case, run.size)
        rows.append(LoadRow("conductor", run.name, most, limit[0] if limit else None, unknown))
    return sorted(rows, key=lambda row: natural_key(row.name))


def _fits(case: Case, found: Budget) -> Iterator[FitRow]:
    boosters = {draw.name: draw for draw in found.boosters()}
    homes = {fed.district for fed in case.wiring.fed.values()} | set(found.feeding.reached.values())
    for draw in found.districts():
        booster = boosters.get(str(case.layout.districts[draw.name].booster))
        if booster is None or draw.name not in homes or _over(draw) or _over(booster):
            continue
        spare = min(_spare(case, draw), _spare(case, booster))
        volts = volts_of(case, draw.name)
        for load in sorted(vehicles(case.wiring), key=lambda load: natural_key(load.name)):
            for state in ("idle", "running", "stalled"):
                amperes = load.current_a(state)
                if amperes:
                    whole = amperes + (volts / load.axle_ohm if load.axle_ohm else 0.0)
                    more = max(0, math.floor(spare / whole + 1e-9))
                    yield FitRow(draw.name, booster.name, load.name, state, more, bool(draw.needs or booster.needs))


def _over(draw: Draw) -> bool:
    return draw.limit_a is not None and draw.current_a > draw.limit_a


def _spare(case: Case, draw: Draw) -> float:
    """What is left of a limit with the headroom kept free, in amperes; infinite where there is no limit."""
    return math.inf if draw.limit_a is None else draw.limit_a * (1 - case.layout.limits.headroom) - draw.current_a


def _sleep(case: Case, operation: Operation) -> Sleep | None:
    found = to_sleep(case, operation)
    if found == ():
        return None
    blocks = {block for choice in found or () for block in choice.blocks}
    return Sleep(tuple(choice.isolator for choice in found or ()), tuple(sorted(blocks, key=natural_key)))
