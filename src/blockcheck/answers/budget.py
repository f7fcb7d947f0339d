"""Who draws what, against what limit; what still fits; and what to put to sleep where it does not."""

from __future__ import annotations

import math
from collections.abc import Iterator

from attrs import frozen

from blockcheck.analysis.power.bounds import unbuilt
from blockcheck.analysis.power.budgets import Budget, Draw, silent_districts
from blockcheck.analysis.power.defaults import Default, of_budget
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.limits import conductor_limit
from blockcheck.analysis.power.probes import volts_of
from blockcheck.analysis.power.sleeping import to_sleep
from blockcheck.analysis.study import Study
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


def budget(study: Study) -> BudgetAnswer:
    """Work out the budgets of a study."""
    scenarios = tuple(_scenario(study, operation) for operation in study.operations)
    return BudgetAnswer(
        study.layout.about.name,
        study.layout.limits.headroom,
        scenarios,
        tuple(dict.fromkeys(_unchecked(study))),
        of_budget(study, _sizes(study)),
    )


def _unchecked(study: Study) -> Iterator[Unchecked]:
    """The vehicles whose current is not known, by district, and the blocks whose wires are not in the network."""
    for block, needs in unbuilt(study).items():
        yield Unchecked("budget", block, needs)
    for name in silent_districts(study):
        yield Unchecked("budget", name, (f"districts.{name}.expects or a train",))
    for operation in study.operations:
        for draw in Budget.of(study, operation).districts():
            if draw.needs:
                yield Unchecked("budget", draw.name, draw.needs)
    for operation in study.operations:
        for block, needs in Electrics.of(study, operation).lacking.items():
            yield Unchecked("conductors", block, needs)


def _sizes(study: Study) -> set[str]:
    return {run.size for operation in study.operations for run in Electrics.of(study, operation).grid.runs}


def _scenario(study: Study, operation: Operation) -> ScenarioBudget:
    found = Budget.of(study, operation)
    draws: list[Draw] = [*found.boosters(), *found.districts(), *found.channels(), *found.contacts()]
    homes = {str(fed.channel): block for block, fed in study.wiring.fed.items() if fed.channel is not None}
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
        (*rows, *_conductors(study, operation)),
        tuple(_fits(study, found)),
        _sleep(study, operation),
    )


def _conductors(study: Study, operation: Operation) -> list[LoadRow]:
    """Every run of wire that carries something, in service."""
    electrics = Electrics.of(study, operation)
    if not electrics.grid.tracks:
        return []
    amperes = electrics.loaded.resistor_amperes
    unknown = any(draw.needs for draw in Budget.of(study, operation).districts())
    rows = []
    for run in electrics.grid.runs:
        most = settled(max((abs(amperes[number]) for number in run.resistors), default=0.0))
        limit = conductor_limit(study, run.size)
        rows.append(LoadRow("conductor", run.name, most, settled(limit.amperes) if limit else None, unknown))
    return sorted(rows, key=lambda row: natural_key(row.name))


def _fits(study: Study, found: Budget) -> Iterator[FitRow]:
    boosters = {draw.name: draw for draw in found.boosters()}
    homes = {fed.district for fed in study.wiring.fed.values()} | set(found.feeding.reached.values())
    for draw in found.districts():
        booster = boosters.get(str(study.layout.districts[draw.name].booster))
        if booster is None or draw.name not in homes or _over(draw) or _over(booster):
            continue
        spare = min(_spare(study, draw), _spare(study, booster))
        volts = volts_of(study, draw.name)
        for load in sorted(vehicles(study.wiring), key=lambda load: natural_key(load.name)):
            for state in ("idle", "running", "stalled"):
                amperes = load.current_a(state)
                if amperes:
                    whole = amperes + (volts / load.axle_ohm if load.axle_ohm else 0.0)
                    more = max(0, math.floor(spare / whole + 1e-9))
                    yield FitRow(draw.name, booster.name, load.name, state, more, bool(draw.needs or booster.needs))


def _over(draw: Draw) -> bool:
    return draw.limit_a is not None and draw.current_a > draw.limit_a


def _spare(study: Study, draw: Draw) -> float:
    """What is left of a limit with the headroom kept free, in amperes; infinite where there is no limit."""
    return math.inf if draw.limit_a is None else draw.limit_a * (1 - study.layout.limits.headroom) - draw.current_a


def _sleep(study: Study, operation: Operation) -> Sleep | None:
    found = to_sleep(study, operation)
    if found == ():
        return None
    blocks = {block for choice in found or () for block in choice.blocks}
    return Sleep(tuple(choice.isolator for choice in found or ()), tuple(sorted(blocks, key=natural_key)))
