"""What currents put into an island's nodes raise its potentials by, many cases at once.

`Direct` eliminates all nodes of the island. `ByCells` uses that a large network is factorised already, by cells: what
a current in a cell does elsewhere goes through the cell's ports, so that only the small core is solved for every case,
and each cell for the currents inside it.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from blockcheck.solver.large import LargeLinear
from blockcheck.solver.rounds import RoundFactor

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DENSE = 500
"""A core of more nodes than this is not solved as a dense matrix."""


class Currents(NamedTuple):
    """Amperes into clusters ``into`` and out of clusters ``out_of``, each in the case ``case``."""

    into: Ints
    out_of: Ints
    amperes: Floats
    case: Ints


class Rises(Protocol):
    """Potentials above some node of each part, for currents that leave the parts that they enter."""

    def of(self, island: int, currents: Currents, cases: int) -> tuple[Ints, Floats]:
        """Clusters, in order, and what each rises by: [cluster, case]."""
        ...


def sorted_by(island: Ints, count: int) -> tuple[Ints, Ints]:
    """Numbers by island, those in none left out, and where each island's begin."""
    own = np.flatnonzero(island >= 0)
    order = own[np.argsort(island[own], kind="stable")]
    return order, np.searchsorted(island[order], np.arange(count + 1))


class Direct:
    """All clusters of an island at once."""

    def __init__(self, island: Ints, count: int, a: Ints, b: Ints, siemens: Floats) -> None:
        """island: of each cluster, or -1; a, b, siemens: the branches between those that are in one."""
        self._clusters = sorted_by(island, count)
        self._branches = sorted_by(island[a], count)
        self._ends, self._siemens = (a, b), siemens

    def of(self, island: int, currents: Currents, cases: int) -> tuple[Ints, Floats]:
        order, starts = self._clusters
        clusters = order[starts[island] : starts[island + 1]]
        branches, begin = self._branches
        mine = branches[begin[island] : begin[island + 1]]
        a, b = (np.searchsorted(clusters, ends[mine]) for ends in self._ends)
        right = np.zeros((len(clusters), cases))
        np.add.at(right, (np.searchsorted(clusters, currents.into), currents.case), currents.amperes)
        np.add.at(right, (np.searchsorted(clusters, currents.out_of), currents.case), -currents.amperes)
        return clusters, RoundFactor(len(clusters), a, b, self._siemens[mine]).solve(right)


class ByCells:
    """The clusters at which something is asked for."""

    def __init__(self, linear: LargeLinear, island: Ints, count: int, sources: Ints, targets: Ints) -> None:
        """island: of each cluster, or -1. sources: clusters that currents go into or come from; targets: those asked
        for."""
        self._cells, cells = linear.cells, linear.cells
        sources, targets = np.unique(sources), np.unique(targets)
        targets = targets[island[targets] >= 0]
        order, self._starts = sorted_by(island[targets], count)
        self._targets = targets[order]
        self._at, self._share = self._followed(self._targets)
        self._core = sorted_by(island[cells.core_nodes], count)
        self._part = np.asarray(linear.factor.part)[cells.core_nodes]
        self._x, self._y, self._siemens = cells.links
        self._links = sorted_by(island[cells.core_nodes[self._x]], count)
        self._inner = sources[cells.cell[sources] >= 0]
        near = targets[cells.cell[targets] >= 0]
        near = near[np.argsort(cells.cell[near], kind="stable")]
        homes, mine = cells.cell[near], cells.cell[self._inner]
        first, last = np.searchsorted(homes, mine), np.searchsorted(homes, mine, side="right")
        number = first[:, None] + np.arange(int((last - first).max(initial=0)))
        self._beside = np.where(number < last[:, None], near[np.minimum(number, max(len(near) - 1, 0))], -1)
        self._inside = np.nan_to_num(cells.columns(self._inner, np.maximum(self._beside, 0), held=True), nan=0.0)

    def _followed(self, clusters: Ints) -> tuple[Ints, Floats]:
        """[port, any]: the nodes of the core that clusters follow, and how far."""
        cells = self._cells
        home, core = cells.cell[clusters], cells.core_at[clusters]
        ports = cells.ports_of(home)
        share = cells.follow(home, clusters[:, None])[0][:, :, 0]
        if not len(ports):
            ports, share = np.full((1, len(clusters)), -1), np.zeros((1, len(clusters)))
        own = core >= 0
        ports[0, own], share[0, own], share[1:, own] = core[own], 1.0, 0.0
        return np.maximum(ports, 0), np.where(ports >= 0, share, 0.0)

    def of(self, island: int, currents: Currents, cases: int) -> tuple[Ints, Floats]:
        mine = slice(int(self._starts[island]), int(self._starts[island + 1]))
        targets = self._targets[mine]
        order, starts = self._core
        core = order[starts[island] : starts[island + 1]]
        right = np.zeros((len(core) + 1, cases))  # the last row takes what is nowhere
        ends = ((currents.into, currents.amperes), (currents.out_of, -currents.amperes))
        for clusters, amperes in ends:
            for at, share in zip(*self._followed(clusters), strict=True):
                np.add.at(right, (np.searchsorted(core, at), currents.case), share * amperes)
        level = np.vstack([self._solved(island, core, right[:-1]), np.zeros((1, cases))])
        rise = np.zeros((len(targets), cases))
        for at, share in zip(self._at[:, mine], self._share[:, mine], strict=True):
            rise += share[:, None] * level[np.searchsorted(core, at)]
        for clusters, amperes in ends:
            own = np.flatnonzero(self._cells.cell[clusters] >= 0)
            row = np.searchsorted(self._inner, clusters[own])
            beside = self._beside[row]
            which, place = np.nonzero(beside >= 0)
            hit = np.searchsorted(targets, beside[which, place])
            volts = self._inside[row[which], place] * amperes[own[which]]
            np.add.at(rise, (hit, currents.case[own[which]]), volts)
        return targets, rise

    def _solved(self, island: int, core: Ints, right: Floats) -> Floats:
        links, begin = self._links
        mine = links[begin[island] : begin[island + 1]]
        x, y = np.searchsorted(core, self._x[mine]), np.searchsorted(core, self._y[mine])
        if len(core) > DENSE:
            return RoundFactor(len(core), x, y, self._siemens[mine]).solve(right)
        matrix = np.zeros((len(core), len(core)))
        for one, other, sign in ((x, x, 1.0), (y, y, 1.0), (x, y, -1.0), (y, x, -1.0)):
            np.add.at(matrix, (one, other), sign * self._siemens[mine])
        _, grounds = np.unique(self._part[core], return_index=True)
        matrix[grounds, grounds] += 1.0
        return np.linalg.solve(matrix, right).astype(np.float64, copy=False)
