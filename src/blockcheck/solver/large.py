"""`linear.Linear` for large networks: the same by numpy, on cells (see `cells`).

Everything is as there: branches without resistance make one node of their ends, with a constant voltage between
them, and share a current as equal small resistances would.
"""

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from attrs import frozen

from blockcheck.solver.cells import Bools, Cells
from blockcheck.solver.linear import GUARD_OHMS, Branches, Linear
from blockcheck.solver.network import Entries, Grouping, Network, NetworkError
from blockcheck.solver.rounds import Floats, Ints
from blockcheck.solver.superlu import SuperFactor, label_parts


def large_branches(network: Network) -> Branches:
    """As `linear.branches_of`, with numpy arrays for columns."""
    resistors, sources, drops = network.resistors, network.sources, network.drops
    a = _joined(np.int64, resistors.a, sources.plus, drops.a)
    b = _joined(np.int64, resistors.b, sources.minus, drops.b)
    ohms = _joined(np.float64, resistors.ohms, sources.ohms, drops.ohms)
    first_drop = len(resistors.a) + len(sources.plus)
    stiff = np.flatnonzero(ohms == 0.0)
    own = stiff[stiff >= first_drop]
    if len(own):
        # where a drop closes a loop without resistance, all drops of that cluster get some
        before = stiff < first_drop
        x, y = np.unique(np.concatenate([a[stiff], b[stiff]]), return_inverse=True)[1].reshape(2, -1)
        _, group = label_parts(int(max(x.max(), y.max())) + 1, x[before], y[before])
        x, y = group[x[~before]], group[y[~before]]
        count, whole = label_parts(int(group.max()) + 1, x, y)
        loops = a[own] == b[own]
        closing = np.bincount(whole[x][~loops], minlength=count)
        members = np.bincount(whole, minlength=count)
        guarded = closing > members - 1
        ohms[own[guarded[whole[x]]]] = GUARD_OHMS
    return Branches(network.nodes, a, b, ohms, len(resistors.a), len(sources.plus))


def _joined(kind: Any, *columns: Sequence[float]) -> Any:
    return np.concatenate([np.asarray(column, dtype=kind) for column in columns])


class _Factor:
    """The cells as `sparse.Factor` has it."""

    def __init__(self, cells: Cells, parts: int, part: Ints) -> None:
        self.cells, self.parts = cells, parts
        self.part: Any = part

    def solve(self, amperes: Sequence[float]) -> list[float]:
        found: list[float] = self.cells.solve(np.asarray(amperes)).tolist()
        return found

    def inverse(self, wanted: Iterable[tuple[int, int]]) -> Entries:
        """A solution a column: what is asked of every block comes from `Cells.inverse`."""
        by_second: dict[int, list[int]] = {}
        for x, y in wanted:
            by_second.setdefault(y, []).append(x)
        found: Entries = {}
        for y, firsts in by_second.items():
            unit = np.zeros(self.cells.nodes)
            unit[y] = 1.0
            column = self.cells.solve(unit)
            found.update(((x, y), float(column[x])) for x in firsts)
        return found


@frozen(eq=False)
class Pockets:
    """What hangs together without drops. ``pocket``: of each node. ``drop_of``: of each node, the drop that alone leads
    into its pocket, which so carries all that is drawn there, or -1. ``several``: the drops whose pockets have more
    ways in, so that others may take part of their current."""

    pocket: Ints
    drop_of: Ints
    several: Ints


class LargeLinear(Linear):
    """As `Linear`; potentials and currents are numpy arrays."""

    def __init__(
        self,
        branches: Branches,
        grouping: Grouping,
        blocked: frozenset[int] = frozenset(),
        closed: "LargeLinear | None" = None,
    ) -> None:
        """closed: the same with nothing blocked, for those who want it."""
        self._closed = closed or self
        self._inverse: tuple[Floats, Floats] | None = None
        self.known: dict[str, Any] = {}
        self.branches, self.blocked, self._plain_up_to = branches, blocked, 0
        self._a, self._b = np.asarray(branches.a), np.asarray(branches.b)
        self._ohms = np.asarray(branches.ohms)
        conducting = np.ones(len(self._ohms), dtype=bool)
        conducting[list(blocked)] = False
        self._rigid = np.flatnonzero(conducting & (self._ohms == 0.0))
        self.finite = np.flatnonzero(conducting & (self._ohms > 0.0))
        self._unite()
        self._climb()
        a, b = self._a[self.finite], self._b[self.finite]
        touching = self._is_local[a] | self._is_local[b] | (self.finite >= branches.resistors)
        self._edge = self.finite[touching]
        x, y, siemens = self.cluster_at[a], self.cluster_at[b], 1.0 / self._ohms[self.finite]
        self.largest_siemens = float(siemens.max(initial=0.0))
        beside = np.asarray(grouping.first, dtype=np.int64), np.asarray(grouping.second, dtype=np.int64)
        self.cells = Cells(self._clusters, x, y, siemens, self._cell_of(np.asarray(grouping.of_node)), beside)
        parts, part = label_parts(self._clusters, x, y)
        self.factor = _Factor(self.cells, parts, part)

    @cached_property
    def component(self) -> Ints:
        """The connected part of every node."""
        part: Ints = self.factor.part  # type: ignore[assignment]
        return part[self.cluster_at]

    @cached_property
    def pockets(self) -> Pockets:
        """Of the closed network."""
        first = self.branches.drops.start
        count, pocket = label_parts(self.branches.nodes, self._a[:first], self._b[:first])
        ends = np.stack([pocket[self._a[first:]], pocket[self._b[first:]]])
        ways = np.bincount(ends.ravel(), minlength=count)
        drop_of = np.full(count, -1)
        alone = (ways[ends] == 1) & (ends[0] != ends[1])
        for side in (0, 1):
            drop_of[ends[side, alone[side]]] = np.flatnonzero(alone[side])
        return Pockets(pocket, drop_of[pocket], np.flatnonzero(~alone.any(axis=0)))

    @property
    def closed(self) -> "LargeLinear":
        return self._closed

    def _unite(self) -> None:
        """Number the clusters that branches without resistance unite, by their first nodes."""
        a, b, nodes = self._a[self._rigid], self._b[self._rigid], self.branches.nodes
        self._local_nodes, ends = np.unique(np.concatenate([a, b]), return_inverse=True)
        self._x, self._y = ends[: len(a)], ends[len(a) :]
        _, self._label = label_parts(len(self._local_nodes), self._x, self._y)
        _, self._first = np.unique(self._label, return_index=True)
        self._is_local = np.zeros(nodes, dtype=bool)
        self._is_local[self._local_nodes] = True
        root = np.arange(nodes)
        root[self._local_nodes] = self._local_nodes[self._first[self._label]]
        number = np.cumsum(root == np.arange(nodes)) - 1
        self._clusters = int(number[-1]) + 1 if nodes else 0
        self.cluster_at: Ints = number[root]
        self.cluster = self.cluster_at  # type: ignore[assignment]
        self._local_at = np.full(nodes, -1)
        self._local_at[self._local_nodes] = np.arange(len(self._local_nodes))

    def _climb(self) -> None:
        """A tree through every cluster, level by level: children, parents, branches, signs of their voltages."""
        known = np.zeros(len(self._local_nodes), dtype=bool)
        known[self._first] = True
        left = np.arange(len(self._rigid))
        used = np.zeros(len(self._rigid), dtype=bool)
        self._levels: list[tuple[Ints, Ints, Ints, Ints]] = []
        while len(left):
            x, y = self._x[left], self._y[left]
            ready = np.flatnonzero(known[x] != known[y])
            if not len(ready):
                break
            forth = known[x[ready]]
            _, once = np.unique(np.where(forth, y[ready], x[ready]), return_index=True)
            ready, forth = ready[once], forth[once]
            child = np.where(forth, y[ready], x[ready])
            parent = np.where(forth, x[ready], y[ready])
            taken = left[ready]
            self._levels.append((child, parent, self._rigid[taken], np.where(forth, -1, 1)))
            known[child] = used[taken] = True
            left = left[~(known[x] & known[y])]
        self._loops = self._rigid[~used]
        self._unit: SuperFactor | None = None

    def _cell_of(self, of_node: Ints) -> Ints:
        """The cell of each cluster: that of its nodes if they have but one, else the core."""
        cell = np.full(self._clusters, -1)
        cell[self.cluster_at] = of_node
        most = np.full(len(self._first), -1)
        least = np.full(len(self._first), np.iinfo(np.int64).max)
        mine = of_node[self._local_nodes]
        np.maximum.at(most, self._label, mine)
        np.minimum.at(least, self._label, np.where(mine >= 0, mine, np.iinfo(np.int64).max))
        cell[self.cluster_at[self._local_nodes[self._first]]] = np.where(most == least, most, -1)
        return cell

    def series(self, emf: Sequence[float]) -> Floats:
        """The constant voltage of every branch."""
        found = np.zeros(len(self._a))
        found[self.branches.resistors :] = emf
        return found

    def solve(self, emf: Sequence[float], injected: Sequence[float]) -> list[float]:
        return self.volts(self.series(emf), np.asarray(injected, dtype=np.float64))  # type: ignore[return-value]

    def volts(self, series: Floats, injected: Floats) -> Floats:
        """As `solve`, from and to arrays."""
        offset = np.zeros(self.branches.nodes)
        nodes = self._local_nodes
        for child, parent, k, sign in self._levels:
            offset[nodes[child]] = offset[nodes[parent]] + sign * series[k]
        if len(self._loops):
            k = self._loops
            gap, wanted = offset[self._a[k]] - offset[self._b[k]], series[k]
            wrong = np.abs(gap - wanted) > 1e-9 * (1.0 + np.abs(gap) + np.abs(wanted))
            if wrong.any():
                at = k[np.flatnonzero(wrong)[0]]
                raise NetworkError(
                    f"sources without resistance contradict each other between nodes {self._a[at]} and {self._b[at]}"
                )
        k, clusters = self._edge, self._clusters
        driven = (offset[self._a[k]] - offset[self._b[k]] - series[k]) / self._ohms[k]
        currents: Floats = np.bincount(self.cluster_at, injected, clusters).astype(np.float64, copy=False)
        currents -= np.bincount(self.cluster_at[self._a[k]], driven, clusters)
        currents += np.bincount(self.cluster_at[self._b[k]], driven, clusters)
        found: Floats = self.cells.solve(currents)[self.cluster_at] + offset
        return found

    def amperes(
        self, which: Iterable[int], volts: Sequence[float], emf: Sequence[float], injected: Sequence[float]
    ) -> list[float]:
        rows = slice(which.start, which.stop) if isinstance(which, range) else list(which)
        driven = isinstance(which, range) and which.start >= self.branches.resistors
        currents = np.asarray(injected, dtype=np.float64)
        found = self.currents(np.asarray(volts), self.series(emf), currents, resistors=not driven)
        return found[rows]  # type: ignore[return-value]

    def currents(self, volts: Floats, series: Floats, injected: Floats, resistors: bool = True) -> Floats:
        """Currents from a to b of all branches; open branches carry none. Without ``resistors`` those of sources and
        drops alone are told."""
        found = np.zeros(len(self._a))
        k = self.finite if resistors else self._edge
        found[k] = np.nan_to_num((volts[self._a[k]] - volts[self._b[k]] - series[k]) / self._ohms[k], nan=0.0)
        if not len(self._rigid):
            return found
        surplus = injected[self._local_nodes].astype(np.float64)
        for ends, sign in ((self._a, -1.0), (self._b, 1.0)):
            at = self._local_at[ends[self._edge]]
            here = at >= 0
            surplus += sign * np.bincount(at[here], found[self._edge[here]], len(surplus))
        proper = self._x != self._y
        if (proper & np.isin(self._rigid, self._loops)).any():
            if self._unit is None:
                ones = [1.0] * int(proper.sum())
                self._unit = SuperFactor(len(surplus), self._x[proper], self._y[proper], ones)
            level = np.asarray(self._unit.solve(surplus.tolist()))
            found[self._rigid] = level[self._x] - level[self._y]
            return found
        for child, parent, branch, sign_of in reversed(self._levels):
            found[branch] = sign_of * surplus[child]
            surplus += np.bincount(parent, surplus[child], len(surplus))
        return found

    def along(self) -> tuple[Floats, Floats]:
        """The inverse by [node] and by [branch]: at a node itself, and between the ends of a branch."""
        if self._inverse is None:
            own, along = self.cells.inverse()
            every = own[self.cluster_at[self._a]]
            every[self.finite] = along
            self._inverse = own[self.cluster_at], every
        return self._inverse

    def response(self, k: int) -> Floats:
        """Volts of all nodes for a volt in series with branch k and nothing else."""
        series = np.zeros(len(self._a))
        series[k] = 1.0
        return self.volts(series, np.zeros(self.branches.nodes))

    def alike(self, first: Ints, second: Ints) -> Bools:
        """Whether nodes hang together."""
        part: Ints = self.factor.part  # type: ignore[assignment]
        found: Bools = part[self.cluster_at[first]] == part[self.cluster_at[second]]
        return found
