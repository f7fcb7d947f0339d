"""Where the loads of an operation are connected, and what they draw: the rows of the network's sinks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.budgets import Budget, expected_current
from blockcheck.analysis.case import Case
from blockcheck.analysis.probes import Probe, train_draws, train_siemens
from blockcheck.circuit.electric import Grid
from blockcheck.circuit.solver.network import Sinks
from blockcheck.model.operate import Operation, Placed

Row = tuple[int, int, float, float]
"""A load: the nodes of its detected and common rail, amperes awake and asleep."""


@frozen(eq=False, repr=False, slots=False)
class Loads:
    """The loads of a case in one operation, on its grid."""

    case: Case
    operation: Operation
    budget: Budget
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
            ends = self._ends(one.block, middle_of(self.case, one))
            if ends is not None and one.train not in absent and (without is None or without.train != one.train):
                rows += [
                    (*ends, *draw) for draw in train_draws(self.case, self.case.layout.trains[one.train], one.state)
                ]
        for name, home in self.case.layout.districts.items():
            if name in self.budget.with_trains or not home.expects:
                continue
            amperes, _ = expected_current(self.case, name)
            if without is not None and name in districts:
                amperes -= max(
                    (
                        self.case.layout.loads[expected.load].current_a(expected.state) or 0.0
                        for expected in home.expects
                        if expected.load == without.load and expected.load in self.case.layout.loads
                    ),
                    default=0.0,
                )
            share, blocks = self.budget.spread(name)
            for block in blocks if amperes > 0 else ():
                if block == empty:
                    continue
                ends = self.grid.middles.get(block) or self._ends(block, 0.0)
                if ends is not None:
                    rows.append((*ends, amperes * share, 0.0))
        return rows

    def _ends(self, block: str, at_m: float) -> tuple[int, int] | None:
        """Where a load in a block is connected. What stands in one that was left out for want of data draws all the
        same: there it hangs on the channel and the return."""
        track, circuit = self.grid.tracks.get(block), self.case.circuit
        if track is not None:
            place = track.nearest(at_m)
            return track.detected[place], track.common[place]
        return (circuit.detected[block], circuit.common[block]) if block in circuit.detected else None

    @cached_property
    def axles(self) -> list[tuple[str, int, int, float]]:
        """Train, nodes and ohms: the resistances that placed trains lay across the rails."""
        found = []
        for one in self.operation.trains:
            ends = self._ends(one.block, middle_of(self.case, one))
            siemens = train_siemens(self.case, self.case.layout.trains[one.train])
            if ends is not None and siemens:
                found.append((one.train, *ends, 1 / siemens))
        return found

    def sinks(self, rows: Sequence[Row]) -> Sinks:
        """Loads as the network has them. Under dcc they fall asleep below the least voltage."""
        least = self.case.layout.least_voltage_v if self.case.layout.about.control == "dcc" else None
        return Sinks(
            [row[0] for row in rows],
            [row[1] for row in rows],
            [row[2] for row in rows],
            [-math.inf if least is None else least] * len(rows),
            [row[3] for row in rows],
        )


def middle_of(case: Case, one: Placed) -> float:
    """Where the middle of a train stands, in metres from the near end; a scenario puts it into the middle."""
    offset, length = case.layout.trains[one.train].offset_m, case.layout.blocks[one.block].length_m
    return offset if offset is not None and one.path[0] == "trains" else (length or 0.0) / 2
