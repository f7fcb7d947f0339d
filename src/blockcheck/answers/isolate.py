"""What happens if I isolate these?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from attrs import field, frozen

from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.power.budgets import Budget
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.held import Held, held
from blockcheck.analysis.power.islands import StudyIslands
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
    after = after_opening(study, operation, opened)
    before, now = study.now(operation.positions), study.now(after.positions)
    where: dict[str, list[str]] = {}
    for one in operation.trains:
        where.setdefault(one.block, []).append(one.train)
    electrics = _solved(study, operation, after, opened)
    reader = _Reader(study, before, now, opened, electrics.of)
    blocks = tuple(reader.block(name, tuple(where.get(name, ()))) for name in study.wiring.fed)
    states = {row.block: row for row in blocks}
    trains = tuple(
        TrainState(
            one.train,
            one.block,
            reader.powered(one, states[one.block]),
            {True: "occupied", False: "clear", None: "unknown"}[reading(electrics.of(one.block), one.block).occupied],
        )
        for one in operation.trains
    )
    unknown = (
        Unchecked("what stays awake", name, reader.held(name).needs) for name in study.blocks if reader.held(name).needs
    )
    return IsolateAnswer(
        study.layout.about.name,
        tracks,
        scenario,
        opened,
        blocks,
        trains,
        _districts(study, operation, electrics),
        without,
        tuple(unknown),
        study,
    )


@frozen(eq=False)
class _Solved:
    """The electrics that hold for a block, and all that were solved anew."""

    of: Callable[[str], Electrics]
    changed: tuple[Electrics, ...]


def _solved(study: Study, operation: Operation, after: Operation, opened: tuple[str, ...]) -> _Solved:
    """With isolators opened: on large layouts only what they can change is solved anew."""
    ifs = WhatIf.of(study, operation)
    if len(study.circuit.detected) <= LARGE_BLOCKS or not ifs.few(opened):
        whole = Electrics(study, after)
        return _Solved(lambda _: whole, (whole,))
    usual = Electrics.of(study, operation)
    changed = {island: ifs.after(island, opened) for island in ifs.islands(opened)}
    homes = StudyIslands.of(study).blocks
    return _Solved(lambda block: changed.get(homes.get(block, -1), usual), tuple(changed.values()))


def _districts(study: Study, before: Operation, solved: _Solved) -> tuple[DistrictChange, ...]:
    after = {draw.name: draw.current_a for one in solved.changed for draw in Budget.on(one).districts()}
    return tuple(
        DistrictChange(was.name, settled(was.current_a), settled(after.get(was.name, was.current_a)), was.limit_a)
        for was in Budget.of(study, before).districts()
    )


@frozen(eq=False, repr=False, slots=False)
class _Reader:
    study: Study
    before: Now
    now: Now
    opened: tuple[str, ...]
    electrics: Callable[[str], Electrics]

    def block(self, name: str, trains: tuple[str, ...]) -> BlockState:
        fed = self.study.wiring.fed[name]
        channel = str(fed.channel) if fed.channel is not None else None
        if name not in self.study.circuit.detected:
            return BlockState(name, fed.district, channel, OFF, None, (), True, False, None, trains)
        power, detection = self.now.power(name), self.now.detection(name) if channel else None
        was = (self.before.power(name), self.before.detection(name) if channel else None)
        changed = was != (power, detection)
        volts = self.electrics(name).volts(name)
        return BlockState(
            name,
            self._district(name),
            channel,
            power,
            detection,
            self._because(name) if power != ON else (),
            self._intended(name, power, detection, changed),
            changed,
            None if volts is None else settled(volts),
            trains,
            self.held(name).awake,
        )

    def held(self, name: str) -> Held:
        """What a block keeps awake through a hold resistor."""
        if name not in self._held:
            self._held[name] = held(self.electrics(name), name)
        return self._held[name]

    @cached_property
    def _held(self) -> dict[str, Held]:
        return {}

    def powered(self, one: Placed, state: BlockState) -> bool | None:
        """Whether a train has power; None where data lack for it."""
        if one.block not in self.study.circuit.detected or state.power != TRICKLE:
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
        return self.now.state[isolator] == open_position(self.study.wiring, isolator)

    def _because(self, name: str) -> tuple[str, ...]:
        """The open isolators in a block's own feed, else those that are meant for it, else the opened ones."""
        own = self._feed(name)
        found = [one for one in own if self._open(one)]
        found = found or [one for one in self.study.wiring.isolators_of[name] if self._open(one)]
        if not found:
            found = [one for one in self.opened if name in self._kills.get(one, ())]
        return tuple(sorted(found or self.opened, key=natural_key))

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
