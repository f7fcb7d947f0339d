"""What happens if I isolate these?"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from attrs import field, frozen

from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.power.budgets import Budget
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.held import Held, held
from blockcheck.analysis.power.occupancy import reading
from blockcheck.analysis.power.whatif import WhatIf, after_opening
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.circuit.state import BLIND, HELD, OFF, ON, TRICKLE, Now
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.model.operate import Operation, Placed, open_position
from blockcheck.model.select import select_isolators
from blockcheck.network.expand import LARGE_BLOCKS

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing


@frozen
class BlockState:
    """One block with the isolators open. ``detection`` is None for a block without a channel; volts, or None."""

    block: str
    district: str | None
    channel: str | None
    power: str
    detection: str | None
    because: tuple[str, ...]
    intended: bool
    changed: bool
    voltage_v: float | None
    trains: tuple[str, ...]
    awake: tuple[str, ...] = ()
    """What a hold resistor keeps awake: trains that stand there, else locomotives that would be."""


@frozen
class TrainState:
    """A train where it stands, with the isolators open. It reads occupied, clear, or (no detector, no data) unknown.

    ``powered`` is whether its track has power, or keeps a locomotive of it awake through a hold resistor; None where
    that is not known.
    """

    train: str
    block: str
    powered: bool | None
    reads: str


@frozen
class DistrictChange:
    """What a district carries before and after, and may carry, in amperes."""

    district: str
    before_a: float
    after_a: float
    limit_a: float | None


@frozen
class IsolateAnswer(Answer):
    """What opening some isolators does, to every block, train and district."""

    command = "isolate"

    layout: str
    asked: str
    scenario: str | None
    opened: tuple[str, ...]
    blocks: tuple[BlockState, ...]
    trains: tuple[TrainState, ...]
    districts: tuple[DistrictChange, ...]
    not_isolatable: tuple[str, ...]
    unchecked: tuple[Unchecked, ...]
    _of: Study = field(alias="of", repr=False, eq=False)

    def drawing(self) -> Drawing:
        """The layout drawn with these isolators open, when it is asked for."""
        from blockcheck.answers.draw import drawing

        return drawing(self._of, self.scenario, self.asked)

    @property
    def unintended(self) -> tuple[BlockState, ...]:
        """The blocks whose state nobody meant."""
        return tuple(row for row in self.blocks if not row.intended)


def isolate(study: Study, tracks: str, scenario: str | None = None) -> IsolateAnswer:
    """Open the isolators of a selection on top of the usual state, or of a scenario.

    Raises CallError where the selection or the scenario is unknown, or an isolator has no position that cuts.
    """
    operation = study.operation(scenario)
    opened, without = select_isolators(study.wiring, tracks)
    after = _with_open(study, operation, opened)
    return IsolateAnswer(
        study.layout.about.name,
        tracks,
        scenario,
        opened,
        tuple(after.blocks.values()),
        tuple(after.trains.values()),
        after.districts,
        without,
        tuple(Unchecked("what stays awake", name, needs) for name, needs in after.needs.items()),
        study,
    )


@frozen(eq=False)
class _States:
    """How everything stands: by the blocks' names, and by the trains'. ``needs``: what lacks to tell what is awake."""

    blocks: Mapping[str, BlockState]
    trains: Mapping[str, TrainState]
    districts: tuple[DistrictChange, ...]
    needs: Mapping[str, tuple[str, ...]]


def _with_open(study: Study, operation: Operation, opened: tuple[str, ...]) -> _States:
    """With isolators opened. On large layouts only what they can change, or are meant to, is looked at anew."""
    after, ifs = after_opening(study, operation, opened), WhatIf.of(study, operation)
    if len(study.circuit.detected) <= LARGE_BLOCKS or not ifs.few(opened):
        return _read(_Reader(study, Electrics.of(study, operation), Electrics(study, after), opened, after.positions))
    usual, homes = study.once(_as_it_stands, operation), ifs.homes
    meant = {homes[name] for one in opened for name in study.wiring.meant.get(one, ()) if name in homes}
    blocks, trains, needs = dict(usual.blocks), dict(usual.trains), dict(usual.needs)
    districts = {one.district: one for one in usual.districts}
    for island in sorted({*ifs.islands(opened), *meant}):
        here = _read(_Reader(study, ifs.before(island), ifs.after(island, opened), opened, after.positions))
        blocks.update(here.blocks)
        trains.update(here.trains)
        districts.update((one.district, one) for one in here.districts)
        needs = {name: needs for name, needs in needs.items() if name not in here.blocks} | dict(here.needs)
    return _States(blocks, trains, tuple(districts.values()), needs)


def _as_it_stands(study: Study, operation: Operation) -> _States:
    """With nothing opened; kept, since what an isolator does not touch stays so."""
    usual = Electrics.of(study, operation)
    return _read(_Reader(study, usual, usual, (), operation.positions))


def _read(reader: _Reader) -> _States:
    before, after = reader.was, reader.electrics
    where: dict[str, list[str]] = {}
    for one in after.operation.trains:
        where.setdefault(one.block, []).append(one.train)
    blocks = {name: reader.block(name, tuple(where.get(name, ()))) for name in before.study.wiring.fed}
    trains = {one.train: reader.train(one, blocks[one.block]) for one in after.operation.trains}
    needs = {name: reader.held(name).needs for name in before.study.blocks if reader.held(name).needs}
    pairs = zip(Budget.on(before).districts(), Budget.on(after).districts(), strict=True)
    districts = (
        DistrictChange(was.name, settled(was.current_a), settled(now.current_a), was.limit_a) for was, now in pairs
    )
    return _States(blocks, trains, tuple(districts), needs)


@frozen(eq=False, repr=False, slots=False)
class _Reader:
    """Reads states off the electrics of the layout, or of an island of it, before and after isolators are opened."""

    study: Study
    was: Electrics
    electrics: Electrics
    opened: tuple[str, ...]
    places: Mapping[str, str]
    """The positions afterwards of all that do not stand as usual, anywhere."""

    @cached_property
    def before(self) -> Now:
        return self.was.feeding.now

    @cached_property
    def now(self) -> Now:
        return self.electrics.feeding.now

    def block(self, name: str, trains: tuple[str, ...]) -> BlockState:
        fed = self.study.wiring.fed[name]
        channel = str(fed.channel) if fed.channel is not None else None
        if name not in self.now.circuit.detected:
            return BlockState(name, fed.district, channel, OFF, None, (), True, False, None, trains)
        power, detection = self.now.power(name), self.now.detection(name) if channel else None
        was = (self.before.power(name), self.before.detection(name) if channel else None)
        changed = was != (power, detection)
        volts = self.electrics.volts(name)
        return BlockState(
            name,
            self._district(name),
            channel,
            power,
            detection,
            self._because(name, changed) if power != ON else (),
            self._intended(name, power, detection, changed),
            changed,
            None if volts is None else settled(volts),
            trains,
            self.held(name).awake,
        )

    def held(self, name: str) -> Held:
        """What a block keeps awake through a hold resistor."""
        if name not in self._held:
            self._held[name] = held(self.electrics, name)
        return self._held[name]

    @cached_property
    def _held(self) -> dict[str, Held]:
        return {}

    def train(self, one: Placed, state: BlockState) -> TrainState:
        """A train where it stands."""
        reads = {True: "occupied", False: "clear", None: "unknown"}[reading(self.electrics, one.block).occupied]
        return TrainState(one.train, one.block, self.powered(one, state), reads)

    def powered(self, one: Placed, state: BlockState) -> bool | None:
        """Whether a train has power; None where data lack for it."""
        if one.block not in self.now.circuit.detected or state.power != TRICKLE:
            return state.power == ON
        return None if self.held(one.block).needs else one.train in state.awake

    def _district(self, name: str) -> str | None:
        """The district that feeds a block, as its changeover stood before; its home where that stood off."""
        fed = self.study.wiring.fed[name]
        for one in sorted(self._feed(name)):
            position = self.before.state[one]
            if self.study.layout.isolators[one].contact == "changeover" and position != "off":
                return position
        return fed.district

    def _open(self, isolator: str) -> bool:
        """An isolator elsewhere may be meant for a block, so it need not be in the island."""
        cut = open_position(self.study.wiring, isolator)
        return (
            isolator in self.opened
            or self.was.operation.positions.get(isolator, self.study.circuit.usual[isolator]) == cut
        )

    def _because(self, name: str, changed: bool) -> tuple[str, ...]:
        """The open isolators in a block's own feed, else those meant for it, else the opened ones that changed it."""
        own = self._feed(name)
        found = [one for one in own if self._open(one)]
        found = found or [one for one in self.study.wiring.isolators_of[name] if self._open(one)]
        if not found:
            found = [one for one in self.opened if name in self._kills.get(one, ())]
        return tuple(sorted(found or (self.opened if changed else ()), key=natural_key))

    def _feed(self, name: str) -> set[str]:
        """The isolators that a block's own feed runs through."""
        fed = self.study.wiring.fed[name]
        mine = {fed.isolator.name} if fed.isolator is not None else set()
        if fed.board is not None:
            mine |= {one.name for one, _ in self.study.wiring.bank_isolators.get((fed.board.name, fed.bank), ())}
        return mine

    @cached_property
    def _kills(self) -> Mapping[str, frozenset[str]]:
        return Isolation(self.study).kills

    def _intended(self, name: str, power: str, detection: str | None, changed: bool) -> bool:
        meant = [one for one in self.study.wiring.isolators_of[name] if self._open(one)]
        if not meant:
            return not changed
        if power == ON or self.held(name).awake:
            return False
        if detection is None:
            return True
        wants = {self.study.layout.isolators[one].detection for one in meant}
        return detection == (HELD if wants == {"held"} else BLIND)
