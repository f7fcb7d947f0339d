"""In which order to switch tracks on, so that no breaker locks out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import frozen

from blockcheck.analysis.budgets.bounds import unbuilt
from blockcheck.analysis.budgets.budgets import Budget, silent_districts
from blockcheck.analysis.budgets.charging import Filling
from blockcheck.analysis.budgets.inrush import district_charge
from blockcheck.analysis.budgets.stages import asleep, sleeping
from blockcheck.analysis.budgets.waking import Breaker, Sleeper
from blockcheck.analysis.power.defaults import Default, of_wake
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.power.limits import breaker
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.document import CAUTION, Document, Says
from blockcheck.answers.lacking import taken, unchecked_table
from blockcheck.answers.tables import Cell, Column, Table
from blockcheck.core.columns import column
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.words import cut_short, listed, plural
from blockcheck.model.datum import datum, load_of
from blockcheck.model.keys import Number
from blockcheck.model.operate import Operation, open_position
from blockcheck.model.quantities import DIMENSIONS, Amperes, Seconds, show


@frozen
class Stage:
    """Isolators to close together; how long that keeps the breaker over its trip, at most, and the current after it.

    An empty group is what wakes with the district itself, since no isolator holds it. ``inrush_s`` is None where the
    charge is never served. ``told`` are the isolators with the position of those that have several.
    """

    told: tuple[str, ...]
    close: tuple[str, ...] = column("Isolators to close; none where the booster is switched on.")
    blocks: tuple[str, ...] = column("The blocks that wake then.", title="wakes")
    inrush_s: float | None = column(
        "Bound on the time above the trip current; null where the charge is never served.", title="inrush, at most"
    )
    peak_a: float | None = column(
        "Most that flows through the breaker at first, with what charge resistors let through; null where something "
        "charges without one.",
        only="programs",
    )
    steady_a: float = column("Current that flows through the breaker after it.", title="then flows")
    holds: bool = column("Whether the breaker bears it.")


@frozen
class DistrictWaking:
    """The stages of one district; ``least`` is how many there must be at least; ``refused`` never wake in time.

    ``beside`` are the districts behind the same breaker: taken as awake, so that the stages hold in any order of them.
    """

    district: str = column("District.")
    trip_a: float = column("Trip current of its breaker.")
    delay_s: float = column("How long its breaker bears more than its trip current.")
    at_once_s: float | None = column(
        "Bound on the time above the trip current were all switched on at once, with the districts behind the same "
        "breaker; null where the charge is never served."
    )
    stages: tuple[Stage, ...] = column("Stages, in order.")
    least: Number = column(
        "A count of stages below which it cannot be done; where there are no more, they are the fewest."
    )
    refused: tuple[str, ...] = column(
        "Isolators that the breaker does not bear, even by themselves or on top of the rest."
    )
    at_any_time: tuple[str, ...] = column(
        "Isolators that are closed too, and behind which nothing draws or charges: it does not matter when."
    )
    staged: bool = column("Whether the layout says that it comes back in stages.")
    beside: tuple[str, ...] = column(
        "Districts behind the same breaker, counted as awake, so that the stages hold in any order of them.", default=()
    )

    @property
    def title(self) -> str:
        """What stands over its stages."""
        trip, stages = show(self.trip_a, DIMENSIONS[Amperes]), plural(len(self.stages), "stage")
        return f"District {self.district}: {stages}, its breaker bears more than {trip} for {_seconds(self.delay_s)}"

    @property
    def notes(self) -> Iterator[str]:
        """What else is to be known of its stages."""
        took = "is never served" if self.at_once_s is None else f"takes {_seconds(self.at_once_s)} at most"
        bears = "holds" if self.at_once_s is not None and self.at_once_s <= self.delay_s else "does NOT hold"
        if self.staged:
            yield "Its isolators are opened before power comes back, as the layout says, and closed stage by stage."
        if len(self.stages) > 1:
            yield f"All at once, the charge {took}: the breaker {bears}."
        if self.beside:
            verb = "shares" if len(self.beside) == 1 else "share"
            yield f"{listed(self.beside)}, which {verb} its breaker, counted as awake."
        if self.at_any_time:
            yield f"Nothing wakes behind {listed(self.at_any_time)}, to be closed at any time."
        if self.refused:
            left = listed(self.refused)
            yield f"Left off, since the breaker does not bear it alone or on top of the others: {left}."
        if len(self.stages) > self.least:
            yield f"There may be a way with fewer stages, but not fewer than {self.least}."


@frozen
class WakeAnswer(Answer):
    """The stages of every district that has something to wake."""

    command = "wake"

    layout: str
    when: str
    sleeps: str
    scenario: str | None = column("The scenario that is woken; null for the usual state.")
    opened: tuple[str, ...] = column("The isolators that stay open on top of it.")
    districts: tuple[DistrictWaking, ...] = column("Districts with something to wake.")
    defaults: tuple[Default, ...] = column("Data that were left out and decided a figure of this answer.")
    unchecked: tuple[Unchecked, ...] = column("What was not checked, and what it lacks.")

    def document(self) -> Document:
        """For each district its stages, with what each takes at most beside what the breaker bears."""
        rows = [row for one in self.districts for row in _rows(one)]
        return Document(
            "Waking in stages" if self.when == "as usual" else f"Waking in stages, {self.when}",
            self.layout,
            (
                Says((self.sleeps,) if self.sleeps else ()),
                *(Table(one.title, _COLUMNS, map(_people, _rows(one)), one.notes) for one in self.districts),
                Says(tuple(self._bounds()), "note"),
                taken(self.defaults),
                unchecked_table(self.unchecked, "Not computed"),
                Says((CAUTION,), "caution"),
            ),
            (Table("Stages", _COLUMNS, rows),),
            verdict=(self._verdict(),),
        )

    def _bounds(self) -> Iterator[str]:
        if self.districts:
            yield _BOUNDS
        if any(one.peak_a is not None and one.inrush_s for district in self.districts for one in district.stages):
            yield _THROUGH

    def _verdict(self) -> str:
        """In how many stages all wakes, and whether every breaker bears it."""
        if not self.districts:
            return NOTHING if not self.unchecked else "no stages can be told: data are missing."
        refused = [name for one in self.districts for name in one.refused]
        stages = listed([f"{one.district} in {plural(len(one.stages), 'stage')}" for one in self.districts])
        when = "" if self.when == "as usual" else f"{self.when}, "
        held = f"left off, since no breaker bears it: {listed(refused)}" if refused else "every breaker holds"
        return f"{when}{stages}: {held}."


NOTHING = "nothing is awake that would have to be woken."
_THROUGH = (
    "Through charge resistors alone they last until what flows through them, V / R at first, has fallen far enough."
)
_BOUNDS = "The times are bounds: all that the breaker lets through above the steady current charges."
_COLUMNS = (
    Column("district", only="programs"),
    Column("stage"),
    Column("close"),
    Column("wakes", "blocks"),
    Column("inrush, at most", "inrush", Seconds),
    Column("breaker bears", "delay", Seconds, only="programs"),
    Column("peak", "peak", Amperes, only="programs"),
    Column("then flows", "steady", Amperes),
    Column("holds", alarm="NO"),
)


def _rows(one: DistrictWaking) -> list[tuple[Cell, ...]]:
    return [
        (
            *(one.district, number, ", ".join(stage.told), ", ".join(stage.blocks)),
            *(stage.inrush_s, one.delay_s, stage.peak_a, stage.steady_a, "yes" if stage.holds else "NO"),
        )
        for number, stage in enumerate(one.stages, 1)
    ]


def _people(row: tuple[Cell, ...]) -> tuple[Cell, ...]:
    """A row as people read it: an inrush that is never served says so."""
    district, number, close, wakes, inrush, *rest = row
    return (
        *(district, number, close or "booster on (what no isolator puts to sleep)", wakes),
        *("never served" if inrush is None else inrush, *rest),
    )


def _seconds(seconds: float) -> str:
    return show(seconds, DIMENSIONS[Seconds])


def waking(study: Study, scenario: str | None = None, opened: str | None = None) -> WakeAnswer:
    """Work out the stages, from everything asleep that can be, to the usual state, or to the one that is asked for.

    Raises CallError for a scenario or a selection that the layout does not have.
    """
    found, unchecked = list[DistrictWaking](), list[Unchecked]()
    operation = study.asked(scenario, opened)
    budget = Budget.of(study, operation)
    dark = asleep(study, budget)
    unchecked += [Unchecked("wake", block, needs) for block, needs in unbuilt(study).items()]
    unchecked += [Unchecked("wake", name, (load_of(name),)) for name in silent_districts(study)]
    for name in sorted(study.layout.districts, key=natural_key):
        answer = _as_interlocks_let(study, operation, _district(study, budget, dark, name))
        if isinstance(answer, Unchecked):
            unchecked.append(answer)
        elif answer is not None:
            found.append(answer)
    return WakeAnswer(
        study.layout.about.name,
        operation.when,
        _sleeping(study, operation),
        scenario,
        operation.opened,
        tuple(found),
        of_wake(study, operation, [one.district for one in found]),
        tuple(unchecked),
    )


def _sleeping(study: Study, operation: Operation) -> str:
    """What no stage wakes, since its isolator is usually open, and how to ask for it; nothing where a state is asked
    for."""
    if operation is not study.operations[0]:
        return ""
    usual = study.circuit.usual
    shut = [name for name in study.layout.isolators if usual.get(name) == open_position(study.wiring, name)]
    if not shut:
        return ""
    scenarios = [one.scenario for one in study.operations if one.scenario is not None]
    how = "name it with --scenario: " + ", ".join(scenarios) if scenarios else "describe it as a scenario"
    stay = "stays" if len(shut) == 1 else "stay"
    return f"{cut_short(sorted(shut, key=natural_key), 5)} {stay} open as usual. To wake what else is wanted, {how}."


def _as_interlocks_let(
    study: Study, operation: Operation, answer: DistrictWaking | Unchecked | None
) -> DistrictWaking | Unchecked | None:
    """The stages of a district, where no interlock keeps out what is open before and after each."""
    if not isinstance(answer, DistrictWaking) or not study.layout.interlocks:
        return answer
    wakes = {one: open_position(study.wiring, one) for stage in answer.stages for one in stage.close}
    positions = {**operation.positions, **{name: place for name, place in wakes.items() if place is not None}}
    for close in ((), *(stage.close for stage in answer.stages)):
        positions |= {name: operation.positions.get(name) or study.wiring.usual_position(name) for name in close}
        if study.wiring.broken(positions) is not None:
            return Unchecked("wake", answer.district, ("stages that no interlock keeps out",))
    return answer


def _district(study: Study, budget: Budget, dark: Budget, name: str) -> DistrictWaking | Unchecked | None:
    trip, delay = breaker(study, name)
    found = sleeping(study, budget, dark, name)
    if found is None:
        return None
    needs = dict.fromkeys(found.needs)
    needs.update(dict.fromkeys([datum("districts", name, "trip")] if trip is None else []))
    needs.update(dict.fromkeys([datum("districts", name, "delay")] if delay is None else []))
    if needs or trip is None or delay is None:
        return Unchecked("wake", name, tuple(needs))
    limit, all_ = Breaker(trip, delay), district_charge(study, budget, name)
    state, woken, first = budget.feeding.now.state, found.woken, found.first
    stages = [_stage(study, state, woken, limit, [first], 0.0)] if first is not None else []
    on, plan = found.always.amperes + found.beside_a, found.plan(limit)
    for group in plan.stages:
        stages.append(_stage(study, state, woken, limit, group, on))
        on += sum(one.amperes for one in group)
    refused = tuple(sorted((one.isolator for one in plan.refused), key=natural_key))
    return DistrictWaking(
        name,
        trip,
        delay,
        all_.seconds(trip) if all_ is not None else 0.0,
        tuple(stages),
        Number(plan.least + (1 if first is not None else 0)),
        refused,
        tuple(sorted(found.idle, key=natural_key)),
        study.layout.districts[name].restart == "staged",
        found.beside,
    )


def _stage(
    study: Study,
    state: Mapping[str, str],
    woken: Mapping[str, Sequence[str]],
    limit: Breaker,
    group: Sequence[Sleeper],
    on: float,
) -> Stage:
    """Waking a group while some amperes are on. ``woken`` are the blocks behind each isolator."""
    close = tuple(sorted(filter(None, (one.isolator for one in group)), key=natural_key))
    switches, peak = study.layout.isolators, Filling.all(one.filling for one in group).peak_a
    return Stage(
        tuple(f"{name} to {state[name]}" if switches[name].contact == "changeover" else name for name in close),
        close,
        tuple(sorted((block for one in group for block in woken.get(one.isolator, ())), key=natural_key)),
        limit.seconds(group, on),
        None if peak is None else settled(on + sum(one.amperes for one in group) + peak),
        settled(on + sum(one.amperes for one in group)),
        limit.bears(group, on),
    )
