"""Who draws what, against what limit; what still fits; and what to put to sleep where it does not."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Literal, get_args

from attrs import asdict, frozen

from blockcheck.analysis.budgets.bounds import unbuilt
from blockcheck.analysis.budgets.budgets import Budget, Draw, above, silent_districts
from blockcheck.analysis.power.defaults import Default, of_budget
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.limits import conductor_limit
from blockcheck.analysis.power.probes import volts_of
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.asleep import Sleep, sleep_of
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Brief, Document, Part, Says
from blockcheck.answers.lacking import taken, unchecked_table
from blockcheck.answers.tables import Table
from blockcheck.circuit.state import ON
from blockcheck.core.columns import column
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.words import capital, listed, plural
from blockcheck.model.datum import load_of
from blockcheck.model.keys import Number
from blockcheck.model.layout import LoadState
from blockcheck.model.operate import Operation, vehicles
from blockcheck.model.quantities import DIMENSIONS, Amperes, show

_LEAST_SHOWN, _SMALL = 5, 0.05
"""Of channels, contacts and wires, people see so many, and on pages all that carry so much of their limit."""


@frozen
class LoadRow:
    """A current against its limit, in amperes. ``kind`` is booster, district, channel, contact or conductor.

    ``bound`` marks a current that is at least this much: what some vehicle draws is not known. ``block`` is the block
    of a channel.
    """

    kind: Literal["booster", "district", "channel", "contact", "conductor"] = column("Of what.", title="what")
    name: str = column("Its name.", heads=True)
    current_a: float = column("Current.", title="draws")
    limit_a: float | None = column("Limit; null where none is known.", title="may carry")
    headroom_a: float | None = column(
        "What is left; null where no limit is known.",
        title="is left",
        of=lambda row: None if row.limit_a is None else settled(row.limit_a - row.current_a),
    )
    share: float | None = column(
        "Share of its limit.",
        title="of its limit",
        of=lambda row: row.current_a / row.limit_a if row.limit_a else None,
        only="people",
        share=True,
    )
    bound: bool = column(
        "Whether it is a bound: at least this much, since what some vehicle draws is not known.",
        default=False,
        only="programs",
    )
    block: str | None = column("The block of a channel.", default=None, only="programs")

    @property
    def main(self) -> bool:
        """Whether it is a booster or a district."""
        return self.kind in ("booster", "district")

    @property
    def rank(self) -> float:
        """The share of its limit; what has no limit comes first."""
        return math.inf if self.share is None else self.share

    def cells(self) -> dict[str, Any]:
        """As people read it: a channel with its block, a bound called so."""
        name = self.name if self.block is None else f"{self.name} ({self.block})"
        draws = f"at least {show(self.current_a, DIMENSIONS[Amperes])}" if self.bound else self.current_a
        return {**asdict(self), "name": name, "current_a": draws}


@frozen
class FitRow:
    """How many more of a load, in a state, fit in a district with the headroom that should stay free kept free.

    No district is told that is over its limit, or whose booster is. Districts of one booster share what it has left, so
    that their numbers are no sum. ``bound``: at most so many, since what some vehicle draws is not known.
    """

    booster: str
    district: str = column("The district.")
    load: str = column("The load.")
    state: LoadState = column("Its state.")
    more: Number = column("How many more.")
    bound: bool = column("Whether it is a bound: at most so many, since what some vehicle draws is not known.")


@frozen
class ScenarioBudget:
    """The budget of one way of operating the layout; None is the usual one."""

    when: str
    scenario: str | None = column("The scenario; null for the usual state.")
    opened: tuple[str, ...] = column("The isolators that were opened on top of it.")
    loads: tuple[LoadRow, ...] = column("Currents against limits.")
    fits: tuple[FitRow, ...] = column(
        "How many more of a load, in a state, fit in a district with the headroom kept free, each by itself. Districts "
        "of one booster share what it has left; none is told that is over its limit, or whose booster is."
    )
    sleep: Sleep | None = column("What to put to sleep; null where nothing needs to.")
    sounding: tuple[str, ...] = column("The trains with a vehicle that makes sound, on track that has power.")

    @property
    def over(self) -> tuple[str, ...]:
        """What is over its limit."""
        loads = (row for row in self.loads if row.headroom_a is not None and row.headroom_a < -1e-9)
        return tuple(f"{row.kind} {row.name}" for row in loads)

    def parts(self, headroom: float) -> Brief:
        """Boosters and districts with what still fits; then whatever else comes near its limit, the nearest first.

        Plain text has one table of both.
        """
        if self.scenario is not None and not any(row.current_a for row in self.loads):
            nothing = [Says([f"{capital(self.when)}, nothing draws.", *self.room(headroom)], "note")]
            return Brief(nothing, nothing)
        main = [row for row in self.loads if row.main]
        rest = [row for row in self.loads if not row.main]
        busy = sorted((row for row in rest if row.current_a > 0), key=lambda row: -row.rank)
        room, sleep = tuple(self.room(headroom)), self.sleep
        notes = [] if sleep is None else [sleep.sentence, *filter(None, [sleep.command])]
        shown = [row for place, row in enumerate(busy) if place < _LEAST_SHOWN or row.rank >= _SMALL]
        sounds = [f"Awake with sound: {listed(self.sounding)}."] if self.sounding else []
        pages = [_table(f"Boosters and districts, {self.when}", main, [*notes, *room, *sounds])]
        if shown:
            left = _left(len(rest), len(busy), len(shown))
            pages.append(_table(f"Channels, contacts and wires, {self.when}", shown, left))
        tight = sorted(busy, key=lambda row: -(row.share or 0.0))[:_LEAST_SHOWN]
        more = len(busy) - len(tight)
        rest_of = plural(more, "more channel, contact or wire", "more channels, contacts and wires")
        text: list[Part] = [
            table(capital(self.when), LoadRow, [{**row.cells(), "headroom_a": None} for row in (*main, *tight)]),
            Says([f"{rest_of} with a smaller share of the limit."] if more else [], "note"),
            Says([*room, *sounds], "note"),
            Says([] if sleep is None else [sleep.sentence], command="" if sleep is None else sleep.command or ""),
        ]
        return Brief(pages, text)

    def room(self, headroom: float) -> Iterator[str]:
        """What else there is room for, district by district."""
        by_district: dict[str, list[FitRow]] = {}
        for fit in self.fits:
            by_district.setdefault(fit.district, []).append(fit)
        for name, own in by_district.items():
            room = "; ".join(f"{fit.more} {fit.load} {fit.state}" for fit in own if fit.more)
            told = f"room for one of{', at most' * own[0].bound}: {room}" if room else "no room for more"
            yield f"With {headroom * 100:g} % kept free, district {name} has {told}."
        boosters = [own[0].booster for own in by_district.values()]
        if len(set(boosters)) < len(boosters):
            yield "Districts of one booster share what it has left: these are no sum."


def _table(title: str, loads: Iterable[LoadRow], notes: Iterable[str] = ()) -> Table:
    return table(title, LoadRow, [row.cells() for row in loads], notes)


def _left(all_: int, busy: int, shown: int) -> Iterator[str]:
    """What a page does not show of the loads beside boosters and districts."""
    left = [f"{busy - shown} with less than {_SMALL * 100:.0f} % of their limit"] if busy > shown else []
    left += [f"{all_ - busy} that carry nothing"] if all_ > busy else []
    if left:
        yield f"Not shown: {listed(left)}. The spreadsheet and the CSV have all."


@frozen
class BudgetAnswer(Answer):
    """The budgets of the usual state and of every scenario."""

    command = "budget"

    layout: str
    headroom: float
    scenarios: tuple[ScenarioBudget, ...] = column("The usual state, then every scenario.")
    defaults: tuple[Default, ...] = column("Data that were left out and decided a figure of this answer.")
    unchecked: tuple[Unchecked, ...] = column("What was not checked, and what it lacks.")

    def document(self) -> Document:
        """For each way of operating: who draws what, what still fits, what to put to sleep."""
        notes, lacks = tuple(self._notes()), unchecked_table(self.unchecked, "Not computed")
        left_out = taken(self.defaults)
        return Document(
            "Budgets",
            self.layout,
            (
                *(one.parts(self.headroom) for one in self.scenarios),
                Brief([left_out, lacks, Says(notes, "note")], [Says(notes, "note"), left_out, lacks]),
                Says((CAUTION,), "caution"),
            ),
            (self._data("Loads", "loads"), self._data("Room for one of", "fits"), self._to_sleep()),
            verdict=tuple(self._verdict()),
        )

    def _data(self, title: str, rows: Literal["loads", "fits"]) -> Table:
        """One table of all ways of operating, for programs."""
        found = [(one.scenario, row) for one in self.scenarios for row in getattr(one, rows)]
        cls = LoadRow if rows == "loads" else FitRow
        return table(title, cls, [row for _, row in found]).beside("scenario", [scenario for scenario, _ in found])

    def _to_sleep(self) -> Table:
        rows = [
            (one.scenario, ", ".join(one.sleep.blocks), ", ".join(one.sleep.isolators), one.sleep.command)
            for one in self.scenarios
            if one.sleep is not None
        ]
        return Table("To put to sleep", ("scenario", "blocks", "isolators", "command"), rows)

    def _verdict(self) -> Iterator[str]:
        """What is over its limit, in a sentence for each way of operating where something is."""
        for one in self.scenarios:
            if one.over:
                yield f"Over the limit, {one.when}: {listed(one.over, _LEAST_SHOWN)}."
        if not any(one.over for one in self.scenarios):
            every = ", as usual and in every scenario" if len(self.scenarios) > 1 else f", {self.scenarios[0].when}"
            yield f"Nothing is over a limit that is known{every}."

    def _notes(self) -> Iterator[str]:
        loads = [row for one in self.scenarios for row in one.loads]
        if any(row.kind == "conductor" for row in loads):
            yield (
                "Booster, district, channel and contact: what vehicles draw by their data, and axles at the booster's "
                "voltage. Conductor: the busiest stretch in the solved network."
            )
        if any(one.key == "wires.*.current" for one in self.defaults):
            yield (
                "What conductors may carry by the tables is a thermal limit of insulated building wire; on a layout "
                "the voltage drop and the trip current usually bind first."
            )
        if any(row.bound for row in loads):
            yield "At least: what some vehicle draws is not known, and was taken as nothing (a bound)."
        if not any(row.current_a for row in self.scenarios[0].loads):
            when = self.scenarios[0].when
            yield (
                f"{when[0].upper()}{when[1:]} nothing draws: no train is placed that draws anything, and no district "
                "expects any."
            )


def budget(study: Study, scenario: str | None = None, opened: str | None = None) -> BudgetAnswer:
    """Work out the budgets of a study: as usual and in every scenario, or as it is asked for.

    Raises CallError for a scenario or a selection that the layout does not have.
    """
    all_ = scenario is None and opened is None
    operations = study.operations if all_ else (study.asked(scenario, opened),)
    return BudgetAnswer(
        study.layout.about.name,
        study.layout.limits.headroom,
        tuple(_scenario(study, operation) for operation in operations),
        of_budget(study, operations, _sizes(study, operations)),
        tuple(dict.fromkeys(_unchecked(study, operations))),
    )


def _unchecked(study: Study, operations: Sequence[Operation]) -> Iterator[Unchecked]:
    """The vehicles whose current is not known, by district, and the blocks whose wires are not in the network."""
    for block, needs in unbuilt(study).items():
        yield Unchecked("budget", block, needs)
    for name in silent_districts(study):
        yield Unchecked("budget", name, (load_of(name),))
    for operation in operations:
        for draw in Budget.of(study, operation).districts():
            if draw.needs:
                yield Unchecked("budget", draw.name, draw.needs)
    for operation in operations:
        for block, needs in Electrics.of(study, operation).lacking.items():
            yield Unchecked("conductors", block, needs)


def _sizes(study: Study, operations: Sequence[Operation]) -> set[str]:
    return {run.size for operation in operations for run in Electrics.of(study, operation).grid.runs}


def _scenario(study: Study, operation: Operation) -> ScenarioBudget:
    found = Budget.of(study, operation)
    draws: list[Draw] = [*found.boosters(), *found.districts(), *found.channels(), *found.contacts()]
    rows = [
        LoadRow(
            draw.kind,
            draw.name,
            settled(draw.current_a),
            draw.limit_a,
            bound=bool(draw.needs),
            block=draw.block,
        )
        for draw in draws
    ]
    return ScenarioBudget(
        operation.when,
        operation.scenario,
        operation.opened,
        (*rows, *_conductors(study, operation)),
        tuple(_fits(study, found)),
        sleep_of(study, operation),
        tuple(_sounding(study, operation)),
    )


def _sounding(study: Study, operation: Operation) -> Iterator[str]:
    """The trains that are heard."""
    now, layout = study.now(operation.positions), study.layout
    for one in operation.trains:
        loads = (layout.loads.get(str(name)) for name in layout.trains[one.train].vehicles)
        heard = any(load is not None and load.sound for load in loads)
        if heard and one.block in study.circuit.detected and now.power(one.block) == ON:
            yield one.train


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
        limit_a = settled(limit.amperes) if limit else None
        rows.append(LoadRow("conductor", run.name, most, limit_a, bound=unknown))
    return sorted(rows, key=lambda row: natural_key(row.name))


def _fits(study: Study, found: Budget) -> Iterator[FitRow]:
    boosters = {draw.name: draw for draw in found.boosters()}
    homes = {fed.district for fed in study.wiring.fed.values()} | set(found.feeding.reached.values())
    for draw in found.districts():
        booster = boosters.get(str(study.layout.districts[draw.name].booster))
        if booster is None or draw.name not in homes or above(draw) or above(booster):
            continue
        spare = min(_spare(study, draw), _spare(study, booster))
        volts = volts_of(study, draw.name)
        for load in sorted(vehicles(study.wiring), key=lambda load: natural_key(load.name)):
            for state in get_args(LoadState):
                amperes = load.current_a(state)
                if amperes:
                    whole = amperes + (volts / load.axle_ohm if load.axle_ohm else 0.0)
                    more = max(0, math.floor(spare / whole + 1e-9))
                    bound = bool(draw.needs or booster.needs)
                    yield FitRow(booster.name, draw.name, load.name, state, Number(more), bound)


def _spare(study: Study, draw: Draw) -> float:
    """What is left of a limit with the headroom kept free, in amperes; infinite where there is no limit."""
    return math.inf if draw.limit_a is None else draw.limit_a * (1 - study.layout.limits.headroom) - draw.current_a
