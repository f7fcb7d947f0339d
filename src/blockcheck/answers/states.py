"""How blocks, trains and districts stand once isolators are opened."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

from attrs import asdict, frozen

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.held import Held, held
from blockcheck.analysis.power.occupancy import reading
from blockcheck.analysis.study import Study
from blockcheck.analysis.whatif.whatif import WhatIf
from blockcheck.circuit.state import BLIND, HELD, OFF, ON, TRICKLE, Detection, Now, Power
from blockcheck.core.columns import column
from blockcheck.core.natural import natural_key
from blockcheck.core.words import listed
from blockcheck.model.operate import Operation, Placed, after_opening, open_position
from blockcheck.model.quantities import DIMENSIONS, Amperes, Volts, show
from blockcheck.network.expand import LARGE_BLOCKS

POWER = "on, off, or trickle (through a hold resistor only)."
BECAUSE = "The open isolators that do it."


@frozen
class BlockState:
    """One block with the isolators open. ``detection`` is None for a block without a channel; volts, or None."""

    block: str = column("Block.", always=True)
    district: str | None = column("Its power district.", always=True)
    channel: str | None = column("Its channel; null where it has none.", always=True)
    power: Power = column(POWER, always=True)
    detection: Detection | None = column(
        "Whether its channel sees a vehicle: working, blind, or held by a trickle; null for a block without a channel.",
        always=True,
    )
    because: tuple[str, ...] = column(BECAUSE, title="because of", always=True)
    intended: bool = column("Whether that is meant.", title="meant", always=True, alarm="NO")
    changed: bool = column("Whether it is another state than before.", only="programs")
    voltage_v: float | None = column(
        "Lowest voltage between its rails; null where it is not computed.", title="volts", always=True
    )
    trains: tuple[str, ...] = column("The trains that stand in it.", title="train", always=True)
    awake: tuple[str, ...] = column(
        "What a hold resistor keeps awake in it: trains that stand there; where none does, the locomotives that would "
        "be.",
        default=(),
    )

    @property
    def dead(self) -> bool:
        """Whether it has lost its power, and nothing in it stays awake."""
        return self.changed and self.power != ON and not self.awake

    @property
    def reads(self) -> bool:
        """Whether its channel can still read."""
        return self.detection not in (None, BLIND)

    def cells(self, aside: str = "") -> dict[str, Any]:
        """As tables have it; ``aside`` stands behind a cause that was there before."""
        return {
            **asdict(self),
            "detection": self.detection or "none",
            "because": ", ".join(self.because) + ("" if self.changed or not self.because else aside),
            "intended": "yes" if self.intended else "NO",
            "changed": "yes" if self.changed else "no",
        }

    @property
    def unmeant(self) -> str:
        """What happens that nobody meant."""
        if self.awake:
            told = self.voltage_v is not None and self.trains
            return awake_words([self]) + (f", at {show(self.voltage_v or 0.0, DIMENSIONS[Volts])}" if told else "")
        if self.power == ON:
            return f'{self.block} stays live; "blockcheck check" shows the way round its isolator'
        if self.reads and self.because:
            return f"{self.block} still reads with {listed(self.because)} open"
        if self.because:
            lost = "power" if self.detection is None else "power and detection"
            return f"{self.block} loses {lost} through {listed(self.because)}"
        return f"{self.block} changes"


@frozen
class TrainState:
    """A train where it stands, with the isolators open. It reads occupied, clear, or (no detector, no data) unknown.

    ``powered`` is whether its track has power, or keeps a locomotive of it awake through a hold resistor; None where
    that is not known.
    """

    train: str = column("Train.")
    block: str = column("The block that it stands in.", title="stands in")
    powered: bool | None = column(
        "Whether its track has power, or keeps it awake through a hold resistor; null where that is not known.",
        title="power",
    )
    reads: str = column(
        "What its block reads of it, by the current that it really draws; unknown where the block has no detector, or "
        "a datum is missing.",
        choices=("occupied", "clear", "unknown"),
    )

    def cells(self, power: Power) -> dict[str, Any]:
        """As tables have it, with the power of its block."""
        word = "on" if power == ON else {True: "awake", False: "off", None: "unknown"}[self.powered]
        return {**asdict(self), "powered": word}

    def sentence(self, state: BlockState) -> str:
        """What happens to it in its block."""
        power = "keeps its power" if self.powered else "loses its power"
        if state.power == TRICKLE and self.powered is not False:
            power = "stays awake" if self.powered else "may stay awake, or lose its power,"
        reads = f" and reads {self.reads}"
        if self.reads == "unknown":
            reads = f"; {self.block} has no detector"
            if state.channel is not None:
                reads = "; whether it still reads is not known for want of data"
        return f"Train {self.train} in {self.block} {power}{reads}."


@frozen
class DistrictChange:
    """What a district carries before and after, and may carry, in amperes."""

    district: str = column("District.")
    before_a: float = column("Before.")
    after_a: float = column("After.")
    freed_a: float = column("What it frees.", of=lambda one: round(one.before_a - one.after_a, 12))
    limit_a: float | None = column("Most that it may carry.", title="may carry")

    @property
    def sentence(self) -> str:
        """What it frees."""
        amps = DIMENSIONS[Amperes]
        limit = f" (it may carry {show(self.limit_a, amps)})" if self.limit_a is not None else ""
        freed = f"{show(abs(self.freed_a), amps)} {'freed' if self.freed_a > 0 else 'more'}"
        return (
            f"District {self.district}: {show(self.before_a, amps)} before, {show(self.after_a, amps)} after; "
            f"{freed}{limit}."
        )


def awake_words(rows: Sequence[BlockState]) -> str:
    """What hold resistors keep awake in some blocks; where no train stands, what they would keep."""
    names = list(dict.fromkeys(name for row in rows for name in row.awake))
    there = any(row.trains for row in rows)
    keep = ("keeps" if len(rows) == 1 else "keep") if there else "would keep"
    resistors = "its hold resistor" if len(rows) == 1 else "their hold resistors"
    return f"{listed([row.block for row in rows])} {keep} {listed(names)} awake through {resistors}"


@frozen(eq=False)
class States:
    """How everything stands: by the blocks' names, and by the trains'. ``needs``: what lacks to tell what is awake."""

    blocks: Mapping[str, BlockState]
    trains: Mapping[str, TrainState]
    districts: tuple[DistrictChange, ...]
    needs: Mapping[str, tuple[str, ...]]


def with_open(study: Study, operation: Operation, opened: tuple[str, ...]) -> States:
    """With isolators opened. On large layouts only what they can change, or are meant to, is looked at anew."""
    after, ifs = after_opening(study.wiring, operation, opened), WhatIf.of(study, operation)
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
    return States(blocks, trains, tuple(districts.values()), needs)


def _as_it_stands(study: Study, operation: Operation) -> States:
    """With nothing opened; kept, since what an isolator does not touch stays so."""
    usual = Electrics.of(study, operation)
    return _read(_Reader(study, usual, usual, (), operation.positions))


def _read(reader: _Reader) -> States:
    before, after = reader.was, reader.electrics
    where: dict[str, list[str]] = {}
    for one in after.operation.trains:
        where.setdefault(one.block, []).append(one.train)
    blocks = {name: reader.block(name, tuple(where.get(name, ()))) for name in before.study.wiring.fed}
    trains = {one.train: reader.train(one, blocks[one.block]) for one in after.operation.trains}
    needs = {name: reader.held(name).needs for name in before.study.blocks if reader.held(name).needs}
    pairs = zip(Budget.on(before).districts(), Budget.on(after).districts(), strict=True)
    districts = (
        DistrictChange(was.name, settled(was.current_a), settled(now.current_a), limit_a=was.limit_a)
        for was, now in pairs
    )
    return States(blocks, trains, tuple(districts), needs)


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
        for one in sorted({one.name for one in self.study.wiring.in_feed(name)}):
            position = self.before.state[one]
            if self.study.layout.isolators[one].contact == "changeover" and position != "off":
                return position
        return fed.district

    def _open(self, isolator: str) -> bool:
        """An isolator elsewhere may be meant for a block, so it need not be in the island."""
        cut = open_position(self.study.wiring, isolator)
        return self.places.get(isolator, self.study.circuit.usual[isolator]) == cut

    def _because(self, name: str, changed: bool) -> tuple[str, ...]:
        """The open isolators in a block's own feed, else those meant for it, else the opened ones that changed it."""
        own = [one.name for one in self.study.wiring.in_feed(name)]
        found = [one for one in own if self._open(one)]
        found = found or [one for one in self.study.wiring.isolators_of[name] if self._open(one)]
        if not found:
            found = [one for one in self.opened if name in self._kills.get(one, ())]
        return tuple(sorted(found or (self.opened if changed else ()), key=natural_key))

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
