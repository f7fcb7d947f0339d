"""Scenarios resolved: which contacts stand where, which train stands in which block and what it does."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from attrs import field, frozen

from blockcheck.core.errors import CallError
from blockcheck.core.faults import Faults
from blockcheck.core.findings import Label
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.spans import Path
from blockcheck.core.words import cut_short, listed
from blockcheck.model.datum import datum
from blockcheck.model.layout import Layout, Load, Scenario
from blockcheck.model.select import select_blocks, select_isolators
from blockcheck.model.tables.selectors import places, stands
from blockcheck.model.wiring import Wiring, usual_position
from blockcheck.model.wiring import positions as positions_of


class Placed(NamedTuple):
    """A train in a block."""

    train: str
    block: str
    state: str
    path: Path
    """Where the layout says that it stands there."""


@frozen(eq=False, repr=False)
class Operation:
    """The usual way to operate the layout (``scenario`` is None), or one of its scenarios."""

    scenario: str | None
    positions: Mapping[str, str]
    """Control -> position, for those that do not stand as usual."""
    trains: tuple[Placed, ...]
    expect: Mapping[str, tuple[tuple[str, int], ...]] = field(factory=dict)
    """dead, lit, occupied, clear -> blocks, each with the number of the selection that names it."""
    opened: tuple[str, ...] = ()
    """The isolators that were opened on top of it."""
    moved: Mapping[str, str] = field(factory=dict)
    """Control -> position, for those that were set on top of it."""

    @property
    def when(self) -> str:
        """``as usual`` or the scenario, and what was set and opened on top of it."""
        where = "as usual" if self.scenario is None else f'in scenario "{self.scenario}"'
        told = [f"{name} at {place}" for name, place in self.moved.items()]
        told += [f"{listed(self.opened)} open"] if self.opened else []
        return f"{where} with {listed(told)}" if told else where


def open_position(wiring: Wiring, isolator: str) -> str | None:
    """The position in which an isolator cuts: ``open``, or ``off`` for a changeover that has one; else None."""
    found = wiring.layout.isolators[isolator]
    if found.contact == "on-off":
        return "open"
    return "off" if found.centre_off else None


def closed_position(wiring: Wiring, isolator: str) -> str:
    """``closed``; for a changeover its usual district, or the first that it chooses from where it usually is off."""
    found = wiring.layout.isolators[isolator]
    if found.contact == "on-off":
        return "closed"
    usual = usual_position(wiring, found)
    return usual if usual != "off" or not found.between else str(found.between[0])


def can_open(wiring: Wiring, operation: Operation, isolator: str) -> bool:
    """Whether an isolator can be opened alone in an operation: it has a position that cuts, and no interlock minds."""
    place = open_position(wiring, isolator)
    return place is not None and wiring.broken({**operation.positions, isolator: place}) is None


def after_opening(wiring: Wiring, operation: Operation, isolators: Iterable[str], bound: bool = False) -> Operation:
    """An operation with some isolators opened. Raises CallError where one has no position that cuts, and where an
    interlock keeps that out, unless it is only a ``bound`` of what may be."""
    positions, opened = dict(operation.positions), tuple(isolators)
    for name in opened:
        place = open_position(wiring, name)
        if place is None:
            raise CallError(f"{name} has no off position, so it cannot isolate anything")
        positions[name] = place
    if not bound:
        _can_be(wiring, positions)
    every = tuple(dict.fromkeys((*operation.opened, *opened)))
    return Operation(operation.scenario, positions, operation.trains, opened=every, moved=operation.moved)


def after_setting(wiring: Wiring, operation: Operation, moved: Mapping[str, str], last: bool = True) -> Operation:
    """An operation with isolators, turnouts and selectors set. Raises CallError for what the layout does not have, and,
    where nothing comes on top of it (``last``), for what an interlock keeps out."""
    layout, positions = wiring.layout, dict(operation.positions)
    for name, place in moved.items():
        selector, control = layout.selectors.get(name), layout.isolators.get(name) or layout.turnouts.get(name)
        if selector is not None:
            choices, stand = places(selector), stands(selector, place)
        elif control is not None:
            choices, stand = positions_of(control), {name: place}
        else:
            known = [*layout.isolators, *layout.selectors, *layout.turnouts]
            help_ = did_you_mean(name, known) or (f"there are {cut_short(known, 20)}" if known else "there is none")
            raise CallError(f"{shown(name)} is no isolator, selector or turnout", help_)
        if place not in choices:
            raise CallError(f"{name} has no position {shown(place)}", f"write one of {', '.join(choices)}")
        positions.update(stand)
    if last:
        _can_be(wiring, positions)
    return Operation(operation.scenario, positions, operation.trains, opened=operation.opened, moved=moved)


def _can_be(wiring: Wiring, positions: Mapping[str, str]) -> None:
    broken = wiring.broken(positions)
    if broken is not None:
        raise CallError(broken[1], "name other tracks, or a scenario in which that can be")


def placed(layout: Layout, scenario: Scenario | None) -> tuple[Placed, ...]:
    """The trains that stand somewhere, in the order of their names."""
    found = []
    for name in sorted(layout.trains):
        train = layout.trains[name]
        block, path = train.at, ("trains", name, "at")
        state = train.state
        if scenario is not None:
            state = scenario.states.get(name, state)  # type: ignore[call-overload]
            if name in scenario.at:
                block, path = scenario.at[name], ("scenarios", scenario.name, "at", name)  # type: ignore[index,assignment]
        if block in layout.blocks:
            found.append(Placed(name, str(block), state, path))
    return tuple(found)


def train_length(layout: Layout, name: str) -> tuple[float | None, tuple[str, ...]]:
    """How long a train is, in metres: as it says, else the sum of its vehicles; None, and what it lacks for that."""
    train = layout.trains[name]
    if train.length_m is not None:
        return train.length_m, ()
    parts = [(one, layout.loads[one].length_m, count) for one, count in train.vehicles.items() if one in layout.loads]
    lengthless = sorted((one for one, length, _ in parts if length is None), key=natural_key)
    needs = tuple(datum("loads", one, "length") for one in lengthless)
    return (None if needs else sum(length * count for _, length, count in parts if length is not None)), needs


def vehicles(wiring: Wiring) -> tuple[Load, ...]:
    """The loads of a layout. Those of stock data are on offer: they count once a train or a district names them."""
    layout = wiring.layout
    used = {name for train in layout.trains.values() for name in train.vehicles}
    used |= {one.load for district in layout.districts.values() for one in district.expects}
    stock = {name for file in wiring.document.files if file.stock for name in file.values.get("loads", ())}
    return tuple(load for name, load in layout.loads.items() if name in used or name not in stock)


def operations(wiring: Wiring) -> tuple[Operation, ...]:
    """The usual operation, and one for each scenario. Raises InputError for selections that match nothing."""
    layout, faults = wiring.layout, Faults()
    found = [Operation(None, {}, placed(layout, None))]
    _usual_can_be(wiring, faults)
    for name in sorted(layout.scenarios):
        scenario = layout.scenarios[name]
        resolver = _Resolver(wiring, name, faults)
        expect = {}
        if scenario.expect is not None:
            for kind in ("dead", "lit", "occupied", "clear"):
                expect[kind] = tuple(resolver.blocks(kind, getattr(scenario.expect, kind)))
        positions = resolver.positions(scenario)
        if not faults:
            resolver.can_be(positions)
        found.append(Operation(name, positions, placed(layout, scenario), expect))
    faults.stop()
    return tuple(found)


def _usual_can_be(wiring: Wiring, faults: Faults) -> None:
    broken = wiring.broken({})
    if broken is None:
        return
    bar, words = broken
    key = "never" if wiring.layout.interlocks[bar.index].never else "at_most_one"
    place = wiring.document.place(("interlocks", bar.index, key))
    held = bar.broken({name: wiring.usual_position(name) for name, _ in bar.holds})
    others = [f'usually = "{_other(wiring, name, position)}" in {name}' for name, position in held[bar.most :]]
    faults.add(place, f"as usual, {words}", f"write {listed(others, 3)}")


def _other(wiring: Wiring, control: str, position: str) -> str:
    """Another position of a control, the last that it has."""
    found = wiring.layout.isolators.get(control) or wiring.layout.turnouts[control]
    return next(one for one in reversed(positions_of(found)) if one != position)


class _Resolver(NamedTuple):
    wiring: Wiring
    scenario: str
    faults: Faults

    def fault(self, path: Path, message: str, help_: str | None) -> None:
        self.faults.add(self.wiring.document.place(("scenarios", self.scenario, *path)), message, help_)

    def can_be(self, positions: Mapping[str, str]) -> None:
        """Whether an interlock keeps it out."""
        broken = self.wiring.broken(positions)
        if broken is None:
            return
        bar, words = broken
        where = Label(self.wiring.document.place(("interlocks", bar.index)), "the interlock")
        place = self.wiring.document.place(("scenarios", self.scenario))
        help_ = "open, close or set something else here, or correct the interlock"
        self.faults.add(place, f"in {self.scenario}, {words}", help_, where)

    def blocks(self, kind: str, texts: Iterable[str]) -> list[tuple[str, int]]:
        found = []
        for index, text in enumerate(texts):
            try:
                found += [(block, index) for block in select_blocks(self.wiring, text)]
            except CallError as error:
                self.fault(("expect", kind, index), str(error), error.help)
        return found

    def positions(self, scenario: Scenario) -> dict[str, str]:
        positions: dict[str, str] = {}
        by: dict[str, str] = {}
        for key, texts in (("open", scenario.open), ("closed", scenario.closed)):
            for index, text in enumerate(texts):
                for isolator in self.isolators((key, index), text):
                    if by.setdefault(isolator, key) != key:
                        self.fault((key, index), f"{isolator} is both open and closed", "take it out of one of the two")
                    place = closed_position if key == "closed" else open_position
                    position = place(self.wiring, isolator)
                    if position is None:
                        help_ = f'write centre_off = true if it has one; else set = {{ {isolator} = "..." }}'
                        self.fault((key, index), f"{isolator} has no off position", help_)
                    else:
                        positions[isolator] = position
        for control, position in scenario.set.items():
            for name, stand in self.moves(control, position).items():
                if positions.setdefault(name, stand) != stand:
                    self.fault(("set", control), f"{name} is set in two ways", "keep one of the two")
                positions[name] = stand
        return positions

    def moves(self, control: str, position: str) -> Mapping[str, str]:
        """What setting a control moves: of a selector its contacts."""
        selector = self.wiring.layout.selectors.get(control)
        return {control: position} if selector is None else stands(selector, position)

    def isolators(self, path: Path, text: str) -> tuple[str, ...]:
        try:
            isolators, without = select_isolators(self.wiring, text)
        except CallError as error:
            self.fault(path, str(error), error.help)
            return ()
        if without and not isolators:
            names = cut_short(without, 5)
            have = "has" if len(without) == 1 else "have"
            self.fault(path, f"{names} {have} no isolator", "name tracks that can be isolated")
        return isolators
