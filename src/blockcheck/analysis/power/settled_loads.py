"""What the loads of a solved network draw, and which of them are awake."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.power.feeding import Feeding
from blockcheck.analysis.power.loads import Row
from blockcheck.network.grid import Grid
from blockcheck.solver.solve import Operating


@frozen(eq=False, repr=False, slots=False)
class SettledLoads:
    """The loads of an operating point as they settle: awake, or asleep for want of volts."""

    feeding: Feeding
    grid: Grid
    rows: Sequence[Row]
    operating: Operating

    @cached_property
    def amperes(self) -> Mapping[str, float]:
        """Block -> what its loads draw. Axles are not among them."""
        found: dict[str, float] = {}
        for row, amperes in zip(self.rows, self.operating.sink_amperes, strict=True):
            found[row.block] = found.get(row.block, 0.0) + amperes
        return found

    @cached_property
    def _awake(self) -> list[Row]:
        """The loads that are awake, where the voltage may put loads to sleep."""
        if self.feeding.study.layout.about.control != "dcc":
            return []
        idle = {*self.operating.asleep, *self.operating.unfed}
        return [row for number, row in enumerate(self.rows) if number not in idle and row.amperes != row.asleep_a]

    @cached_property
    def awake_trains(self) -> frozenset[str]:
        """The trains of which a locomotive is awake, as far as the network tells."""
        return frozenset(row.train for row in self._awake if row.train is not None)

    @cached_property
    def awake_blocks(self) -> frozenset[str]:
        """The blocks in which some load is awake, as far as the network tells."""
        return frozenset(row.block for row in self._awake)

    @cached_property
    def doubtful(self) -> frozenset[str]:
        """The blocks behind a hold resistor in which something is awake as far as is known, which lack data of their
        wires: with those it may sleep."""
        return frozenset(self.awake_blocks & self.grid.lacking.keys() - self.feeding.supply.keys())
