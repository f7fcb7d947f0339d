"""Where the loads of an operation are connected, and what they draw: the rows of the network's sinks."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import NamedTuple

from attrs import frozen

from blockcheck.analysis.power.feeding import Feeding
from blockcheck.analysis.power.probes import (
    Probe,
    expected_current,
    expected_siemens,
    lightest_expected,
    train_draws,
    train_siemens,
)
from blockcheck.analysis.study import Study
from blockcheck.circuit.across import lying_across
from blockcheck.model.operate import Operation, Placed
from blockcheck.network.grid import Grid
from blockcheck.solver.network import Sinks


class Row(NamedTuple):
    """A load: the nodes of its detected and common rail, amperes awake and asleep, and the block that it draws in.

    ``train`` is the train of a locomotive; ``least_v`` the least voltage that keeps it awake, where that is its own.
    """

    a: int
    b: int
    amperes: float
    asleep_a: float
    block: str
    train: str | None = None
    least_v: float | None = None


class Across(NamedTuple):
    """What lies across the rails, or across a bus pair: the nodes of both, ohms, the block, and the train whose axles
    it is; None for what lies there for good."""

    a: int
    b: int
    ohms: float
    block: str
    train: str | None = None


@frozen(eq=False, repr=False, slots=False)
class Loads:
    """The loads of a study in one operation, on its grid."""

    study: Study
    operation: Operation
    feeding: Feeding
    grid: Grid

    def rows(
        self,
        without: Probe | None = None,
        districts: frozenset[str] = frozenset(),
        absent: frozenset[str] = frozenset(),
        empty: str | None = None,
    ) -> list[Row]:
        """The loads: trains where they stand, else what a district expects, in some less one of the probe's kind."""
        rows: list[Row] = []
        for one in self.operation.trains:
            ends = self._ends(one.block, middle_of(self.study, one))
            if ends is not None and one.train not in absent and (without is None or without.train != one.train):
                draws = train_draws(self.study, self.study.layout.trains[one.train], one.state)
                rows += [
                    Row(*ends, awake, asleep, one.block, one.train if sleeps else None)
                    for awake, asleep, sleeps in draws
                ]
        for name, home in self.study.layout.districts.items():
            if name in self.feeding.with_trains or not home.expects:
                continue
            amperes, _ = expected_current(self.study, name)
            if without is not None and name in districts:
                amperes -= max(
                    (
                        self.study.layout.loads[expected.load].current_a(expected.state) or 0.0
                        for expected in home.expects
                        if expected.load == without.load and expected.load in self.study.layout.loads
                    ),
                    default=0.0,
                )
            share, blocks = self.feeding.spread(name)
            siemens = expected_siemens(self.study, name) * share
            for block in blocks if amperes > 0 or siemens else ():
                ends = self.grid.middles.get(block) or self._ends(block, 0.0) if block != empty else None
                if ends is None:
                    continue
                if amperes > 0:
                    drawn = amperes * share
                    rows.append(Row(*ends, drawn, 0.0, block, least_v=self._least(name, block, drawn)))
                if siemens:
                    drawn = self.feeding.through(block, siemens)
                    rows.append(Row(*ends, drawn, drawn, block))
        return self._limited(rows)

    def _least(self, district: str, block: str, amperes: float) -> float | None:
        """The least voltage that keeps a share of what a district expects awake behind a hold resistor: where the
        lightest locomotive, which draws more through the resistor than the share, stays awake."""
        isolator, least = self.feeding.hold(block), self.study.layout.least_voltage_v
        if isolator is None or least is None:
            return None
        return least + (isolator.hold_ohm or 0.0) * max(0.0, lightest_expected(self.study, district) - amperes)

    def _limited(self, rows: list[Row]) -> list[Row]:
        """The loads with those behind a hold resistor that draw at any voltage, together, no more than it lets through.

        Under dcc these are the sleepers, under dc all.
        """
        digital = self.study.layout.about.control == "dcc"
        behind: dict[str, list[int]] = {}
        for number, row in enumerate(rows):
            isolator = self.feeding.hold(row.block)
            if isolator is not None:
                behind.setdefault(isolator.name, []).append(number)
        for numbers in behind.values():
            most = min(self._most(rows[number].block) for number in numbers)
            total = sum(rows[number].asleep_a if digital else rows[number].amperes for number in numbers)
            for number in numbers if total > most else ():
                row, part = rows[number], most / total
                awake = row.amperes if digital else row.amperes * part
                rows[number] = row._replace(amperes=awake, asleep_a=row.asleep_a * part)
        return rows

    def _most(self, block: str) -> float:
        """The most that a hold resistor lets through to a block, in amperes."""
        isolator = self.feeding.hold(block)
        ohms = isolator.hold_ohm if isolator is not None else None
        return max(0.0, self.most_volts(block, 0.0)) / ohms if ohms else math.inf

    def most_volts(self, block: str, amperes: float) -> float:
        """What is left for a load of some amperes in a block behind detector and hold resistor, wires aside."""
        layout, fed, isolator = self.study.layout, self.study.wiring.fed[block], self.feeding.hold(block)
        volts = layout.boosters[layout.districts[self.feeding.reached[block]].booster].voltage_v
        return volts - fed.lost_v - amperes * (isolator.hold_ohm or 0.0 if isolator is not None else 0.0)

    def _ends(self, block: str, at_m: float) -> tuple[int, int] | None:
        """Where a load in a block is connected. What stands in one that was left out for want of data draws all the
        same: there it hangs on the channel and the return."""
        track, circuit = self.grid.tracks.get(block), self.study.circuit
        if track is not None:
            place = track.nearest(at_m)
            return track.detected[place], track.common[place]
        return (circuit.detected[block], circuit.common[block]) if block in circuit.detected else None

    @cached_property
    def across(self) -> list[Across]:
        """The resistances that placed trains lay across the rails, and what lies there for good."""
        found = []
        for one in self.operation.trains:
            ends = self._ends(one.block, middle_of(self.study, one))
            siemens = train_siemens(self.study, self.study.layout.trains[one.train])
            if ends is not None and siemens:
                found.append(Across(*ends, 1 / siemens, one.block, one.train))
        for block in self.study.circuit.detected:
            found += self._for_good(block)
        return found

    def _for_good(self, block: str) -> Iterator[Across]:
        for one in lying_across(self.study.wiring, block):
            ends = self.grid.bus_ends.get(block) if one.at_bus else None
            ends = ends or self._ends(block, self.study.layout.blocks[block].length_m or 0.0)
            if ends is not None and math.isfinite(one.ohms):
                yield Across(*ends, one.ohms, block)

    def sinks(self, rows: Sequence[Row]) -> Sinks:
        """Loads as the network has them. Under dcc they fall asleep below the least voltage."""
        least = self.study.layout.least_voltage_v if self.study.layout.about.control == "dcc" else None
        return Sinks(
            [row.a for row in rows],
            [row.b for row in rows],
            [row.amperes for row in rows],
            [-math.inf if least is None else least if row.least_v is None else row.least_v for row in rows],
            [row.asleep_a for row in rows],
        )


def middle_of(study: Study, one: Placed) -> float:
    """Where the middle of a train stands, in metres from the near end; a scenario puts it into the middle."""
    offset, length = study.layout.trains[one.train].offset_m, study.layout.blocks[one.block].length_m
    return offset if offset is not None and one.path[0] == "trains" else (length or 0.0) / 2
