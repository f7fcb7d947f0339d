"""A numpy back end that eliminates many nodes at a time, and knows the inverse wherever the factor has entries.

Every round takes nodes of low degree of which no two are neighbours and turns all their stars into meshes at once.
Nodes of track networks have few neighbours, so some tens of rounds leave nothing. The inverse is had round by round
backwards (Takahashi, Fagan and Chin 1973), for the price of the factorisation and without a solution a column.
"""

from collections.abc import Iterable, Sequence

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.solver.network import Entries

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# nodes of this degree may always go; more only when all have more
LOW_DEGREE = 4
# entries of the inverse that are gathered at a time
MOST_ENTRIES = 1_000_000


@frozen(eq=False)
class _Group:
    """Nodes of one degree eliminated in one round: their neighbours and these's shares, a row a node."""

    nodes: Ints
    others: Ints
    shares: Floats
    reciprocal: Floats


class RoundFactor:
    """As `sparse.PlainFactor`, but solve also takes many right-hand sides, one a column, and gives numpy arrays."""

    def __init__(
        self,
        nodes: int,
        a: Sequence[int] | Ints,
        b: Sequence[int] | Ints,
        siemens: Sequence[float] | Floats,
        near: tuple[Sequence[int] | Ints, Sequence[int] | Ints] = ((), ()),
    ) -> None:
        """near: pairs of nodes (firsts, seconds) whose entries of the inverse `entries` is to know."""
        self.nodes = nodes
        first = np.concatenate([np.asarray(a, dtype=np.int64), np.asarray(near[0], dtype=np.int64)])
        second = np.concatenate([np.asarray(b, dtype=np.int64), np.asarray(near[1], dtype=np.int64)])
        weight = np.concatenate([np.asarray(siemens, dtype=np.float64), np.zeros(len(near[0]))])
        # a fixed scramble of the numbers breaks ties, so that long chains fall apart evenly; equal runs give equal
        # results
        self._scramble = np.random.default_rng(nodes).permutation(nodes)
        self._groups: list[_Group] = []
        self._round = np.zeros(nodes, dtype=np.int64)
        self._inverse: tuple[Ints, Floats, Floats] | None = None
        self._eliminate(*_merge(nodes, first, second, weight))

    def _eliminate(self, low: Ints, high: Ints, weight: Floats) -> None:
        left = np.ones(self.nodes, dtype=bool)
        rounds = 0
        while left.any():
            rounds += 1
            degree = np.bincount(low, minlength=self.nodes) + np.bincount(high, minlength=self.nodes)
            limit = max(LOW_DEGREE, int(degree[left].min()))
            chosen = left & (degree <= limit)
            both = chosen[low] & chosen[high]
            x, y = low[both], high[both]
            key = degree * self.nodes + self._scramble
            chosen[np.where(key[x] > key[y], x, y)] = False
            left &= ~chosen
            self._round[chosen] = rounds
            mine = chosen[low] | chosen[high]
            swap = chosen[high[mine]]
            node = np.where(swap, high[mine], low[mine])
            other = np.where(swap, low[mine], high[mine])
            fills = self._stars(np.flatnonzero(chosen), degree, node, other, weight[mine])
            kept = ~mine
            low, high, weight = _merge(
                self.nodes,
                np.concatenate([low[kept], *(fill[0] for fill in fills)]),
                np.concatenate([high[kept], *(fill[1] for fill in fills)]),
                np.concatenate([weight[kept], *(fill[2] for fill in fills)]),
            )

    def _stars(
        self, chosen: Ints, degree: Ints, node: Ints, other: Ints, weight: Floats
    ) -> list[tuple[Ints, Ints, Floats]]:
        """Record the stars of the chosen nodes by degree; returns the meshes they become."""
        order = np.argsort(node, kind="stable")
        node, other, weight = node[order], other[order], weight[order]
        fills = []
        for size in np.unique(degree[chosen]).tolist():
            nodes = chosen[degree[chosen] == size]
            row = degree[node] == size
            others, stars = other[row].reshape(len(nodes), size), weight[row].reshape(len(nodes), size)
            pivot = stars.sum(axis=1)
            live = pivot > 0
            reciprocal = np.divide(1.0, pivot, out=np.zeros_like(pivot), where=live)
            shares = stars * reciprocal[:, None]
            self._groups.append(_Group(nodes, others, shares, reciprocal))
            i, j = np.triu_indices(size, 1)
            fills.append((others[:, i].ravel(), others[:, j].ravel(), (shares[:, i] * stars[:, j]).ravel()))
        return fills

    def solve(self, amperes: Floats) -> Floats:
        """Potentials above each part's ground for currents [node] or [node, case]."""
        volts = np.array(amperes, dtype=np.float64)
        many = (slice(None), slice(None), *(None for _ in volts.shape[1:]))
        for group in self._groups:
            np.add.at(volts, group.others, group.shares[many] * volts[group.nodes][:, None])
        for group in reversed(self._groups):
            own = group.reciprocal.reshape(-1, *(1 for _ in volts.shape[1:]))
            volts[group.nodes] = own * volts[group.nodes] + (group.shares[many] * volts[group.others]).sum(axis=1)
        return volts

    def entries(self, x: Ints, y: Ints) -> Floats:
        """The inverse at (x, y), arrays of nodes that are equal, connected by a branch or named in `near`."""
        if self._inverse is None:
            self._inverse = self._invert()
        keys, off, own = self._inverse
        found = off[self._at(keys, x, y)] if len(keys) else np.zeros(np.shape(x))
        return np.where(x == y, own[x], found)

    def _at(self, keys: Ints, x: Ints, y: Ints) -> Ints:
        sooner = self._round[x] < self._round[y]
        key = np.where(sooner, x, y) * self.nodes + np.where(sooner, y, x)
        return np.minimum(np.searchsorted(keys, key), len(keys) - 1)

    def _invert(self) -> tuple[Ints, Floats, Floats]:
        pairs = [(group.nodes[:, None] * self.nodes + group.others).ravel() for group in self._groups]
        keys = np.sort(np.concatenate(pairs)) if pairs else np.zeros(0, dtype=np.int64)
        off, own = np.zeros(len(keys)), np.zeros(self.nodes)
        for group in reversed(self._groups):
            size = group.others.shape[1]
            column = np.zeros_like(group.shares)
            # what a star becomes is a mesh, so the inverse is known between all its ends
            step = max(1, MOST_ENTRIES // max(size * size, 1))
            for start in range(0, len(column) if size else 0, step):
                rows = slice(start, start + step)
                x, y = group.others[rows, :, None], group.others[rows, None, :]
                known = np.where(x == y, own[x], off[self._at(keys, x, y)])
                column[rows] = (group.shares[rows, None, :] @ known)[:, 0]
            if size:
                off[np.searchsorted(keys, group.nodes[:, None] * self.nodes + group.others)] = column
            own[group.nodes] = group.reciprocal + (group.shares * column).sum(axis=1)
        return keys, off, own

    def inverse(self, wanted: Iterable[tuple[int, int]]) -> Entries:
        """As the other back ends, for pairs that `entries` knows."""
        pairs = list(wanted)
        x, y = (np.array(ends, dtype=np.int64) for ends in zip(*pairs, strict=True)) if pairs else ((), ())
        return dict(zip(pairs, self.entries(np.asarray(x), np.asarray(y)).tolist(), strict=True)) if pairs else {}


def _merge(nodes: int, a: Ints, b: Ints, weight: Floats) -> tuple[Ints, Ints, Floats]:
    """Each pair of nodes once, the smaller first, its conductances summed; loops dropped."""
    key = np.minimum(a, b) * nodes + np.maximum(a, b)
    keys, at = np.unique(key[a != b], return_inverse=True)
    summed = np.bincount(at, weight[a != b], len(keys)).astype(np.float64, copy=False)
    return keys // nodes, keys % nodes, summed
