"""Low-rank updates of an inverse: what a few changed conductances make of it, for many changes at once.

With Z the inverse of a state's conductances, B the changed branches and d their changes,
Z' = Z - Z B (1/d + B'Z B)^-1 B'Z (Sherman, Morrison and Woodbury).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.network.built import Row

TIE_SIEMENS = 1e-9
"""What is left of a tie to earth that is taken away: it lies beside all that joins both islands."""

STILL = 1e-10
"""Volts, where an ampere flows at a test or boosters push, below which a branch has none: what is left of rounding."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


class Situation:
    """A stage in a state: the inverse of its conductances, with one node of every island tied to earth by an ohm.

    Islands are what hangs together; ``island[node]`` numbers them. Earth is the last node, at nought volts. A pair of
    places in two islands sees nothing of each other; a change that joins two takes one of their ties away.
    """

    def __init__(self, inverse: Floats, island: list[int], ties: dict[int, int], rows: Sequence[Row] = ()) -> None:
        """``inverse`` is that of another state, which differs from this one by ``rows``."""
        self.island, self.ties = island, ties
        self.moved: dict[object, Situation] = {}  # those that differ from it by a few rows, as far as they are kept
        self.of = np.array(island)
        self._other, self._rows = inverse, rows

    @cached_property
    def inverse(self) -> Floats:
        """The inverse of its conductances, written out."""
        return updated(self._other, self._rows)

    @property
    def written(self) -> int:
        """How many numbers its inverse has, once it is written out."""
        return self.inverse.size if "inverse" in self.__dict__ else 0

    def by(self, columns: Floats) -> Floats:
        """What the inverse of the other state made of something, made of this one's: the inverse is not written out."""
        if not self._rows:
            return columns
        a, b, column, core = self._change
        found: Floats = columns - column @ np.linalg.solve(core, columns[a] - columns[b])
        return found

    @cached_property
    def _change(self) -> tuple[Ints, Ints, Floats, Floats]:
        return _branches(self._other, self._rows)

    def between(self, a: Ints, b: Ints) -> Floats:
        """[node, pair]: volts at each node for an ampere through each pair of nodes."""
        return self.by(self._other[:, a] - self._other[:, b])

    def driven(self, push: Floats) -> Floats:
        """Volts at each node for some amperes into each."""
        return self.by((self._other @ push)[:, None])[:, 0]

    @classmethod
    def of_pieces(cls, nodes: int, a: Ints, b: Ints, siemens: Floats) -> Situation:
        """The situation of pieces from ``a`` to ``b`` that conduct so much, or nothing."""
        matrix = np.zeros((nodes, nodes))
        np.add.at(matrix, (a, b), -siemens)
        np.add.at(matrix, (b, a), -siemens)
        np.fill_diagonal(matrix, 0.0)
        matrix[np.diag_indices(nodes)] = -matrix.sum(axis=1)
        on = np.flatnonzero(siemens)
        of, first = islands(nodes, a[on], b[on])
        matrix[first, first] += 1.0
        return cls(_inverse(matrix, of), of.tolist(), dict(enumerate(first.tolist())))

    @property
    def earth(self) -> int:
        return len(self.island)

    def whole(self, rows: Sequence[Row]) -> tuple[list[Row], dict[int, int]]:
        """A change's rows with the ties that it takes away, and which islands become which."""
        island, above = self.island, dict[int, int]()
        taken: list[Row] = []
        for a, b, change in rows:
            if change <= 0:
                continue
            one, two = _root(above, island[a]), _root(above, island[b])
            if one != two:
                above[max(one, two)] = min(one, two)
                taken.append((self.ties[max(one, two)], self.earth, TIE_SIEMENS - 1.0))
        return [*rows, *taken], {one: _root(above, one) for one in above}


def islands(nodes: int, a: Ints, b: Ints) -> tuple[Ints, Ints]:
    """The number of the island of every node, in the order of their first nodes, and those."""
    least = np.arange(nodes)  # of each node, the least that it is known to hang together with
    while (least[a] != least[b]).any():
        one, other = least[a], least[b]
        np.minimum.at(least, np.maximum(one, other), np.minimum(one, other))
        while (least[least] != least).any():
            least = least[least]
    first, of = np.unique(least, return_inverse=True)
    return of, first


def _inverse(matrix: Floats, island: Ints) -> Floats:
    """The inverse, islands of one size together, with a row and a column of noughts for earth."""
    nodes = len(matrix)
    found = np.zeros((nodes + 1, nodes + 1))
    order = np.argsort(island, kind="stable")
    by_size: dict[int, list[Ints]] = {}
    for some in np.split(order, np.flatnonzero(np.diff(island[order])) + 1):
        by_size.setdefault(len(some), []).append(some)
    for alike in by_size.values():
        each = np.array(alike)
        own = each[:, :, None], each[:, None, :]
        found[own] = np.linalg.inv(matrix[own])
    return found


def _root(above: Mapping[int, int], one: int) -> int:
    while one in above:
        one = above[one]
    return one


@frozen(eq=False, repr=False, slots=False)
class Rows:
    """Every case's rows, as lists and as tables [case, branch] filled up with branches at earth that change nothing."""

    rows: list[list[Row]]
    rank: Ints
    a: Ints
    b: Ints
    change: Floats
    earth: int

    @classmethod
    def of(cls, rows: list[list[Row]], earth: int, most: int = 1) -> Rows:
        """``most``: so many branches at least are room for."""
        rank = np.array([len(one) for one in rows])
        each = (np.arange(max(most, int(rank.max()))) < rank[:, None]).nonzero()
        shape = len(rows), max(most, int(rank.max()))
        a, b, change = np.full(shape, earth), np.full(shape, earth), np.ones(shape)
        table = np.array([row for one in rows for row in one], dtype=np.float64).reshape(-1, 3)
        a[each], b[each], change[each] = table[:, 0], table[:, 1], table[:, 2]
        return cls(rows, rank, a, b, change, earth)

    def but(self, others: Mapping[int, list[Row]]) -> Rows:
        """The same with other rows of some cases."""
        if not others:
            return self
        more = Rows.of([*others.values()], self.earth, self.a.shape[1])
        if more.a.shape[1] > self.a.shape[1]:
            return Rows.of(self.rows, self.earth, more.a.shape[1]).but(others)
        rows, at = self.rows.copy(), [*others]
        for case, some in others.items():
            rows[case] = some
        rank, a, b, change = self.rank.copy(), self.a.copy(), self.b.copy(), self.change.copy()
        rank[at], a[at], b[at], change[at] = more.rank, more.a, more.b, more.change
        return Rows(rows, rank, a, b, change, self.earth)

    @cached_property
    def each(self) -> tuple[Ints, Ints, Ints, Bools]:
        """Every branch by itself: its case, its ends, and whether it conducts more."""
        case, row = (np.arange(self.a.shape[1]) < self.rank[:, None]).nonzero()
        return case, self.a[case, row], self.b[case, row], self.change[case, row] > 0

    def lit(self, volts: Floats) -> Bools:
        """Which cases have a branch with volts across it, of those at each node [node, column]."""
        case, a, b, _ = self.each
        return self._any(case[(np.abs(volts[a] - volts[b]) > STILL).any(axis=1)])

    def lying_in(self, nodes: Bools) -> Bools:
        """Which cases have a branch that ends at any of some nodes."""
        case, a, b, _ = self.each
        return self._any(case[nodes[a] | nodes[b]])

    def joins(self, of: Ints) -> Bools:
        """[case, island]: which islands each case joins to another; ``of`` numbers those of the nodes."""
        case, a, b, more = self.each
        joining = more & (of[a] != of[b])
        found = np.zeros((len(self.rank), int(of.max()) + 1), dtype=np.bool_)
        for ends in (a, b):
            found[case[joining], of[ends[joining]]] = True
        return found

    def _any(self, cases: Ints) -> Bools:
        found = np.zeros(len(self.rank), dtype=np.bool_)
        found[cases] = True
        return found


def batches(
    now: Situation, known: Rows, cases: Ints, islands: Ints
) -> Iterator[tuple[Ints, tuple[Ints, Ints, Floats], Bools | None]]:
    """Cases whose changes have one number of branches, with their ends and changes as [case, branch], at most 512.

    Where a change joins islands, a tie is taken away besides, and it is told which of the tests, whose probes stand in
    ``islands`` [test, probe], have them apart then [case, test].
    """
    of = np.append(now.of, -1)  # earth belongs nowhere
    joining = (of[known.a[cases]] != of[known.b[cases]]) & (known.change[cases] > 0)
    joins = joining.sum(axis=1)
    ties = np.array([now.ties[one] for one in range(len(now.ties))])
    for rank in range(1, int(known.rank.max()) + 1):
        own = known.rank[cases] == rank
        for joined in (0, 1):
            mine = np.flatnonzero(own & (joins == joined))
            for start in range(0, len(mine), 512):
                at = mine[start : start + 512]
                some = cases[at]
                a, b, change = known.a[some, :rank], known.b[some, :rank], known.change[some, :rank]
                if not joined:
                    yield some, (a, b, change), None
                    continue
                row = joining[at].argmax(axis=1)[:, None]
                ends = of[np.take_along_axis(a, row, 1)], of[np.take_along_axis(b, row, 1)]
                low, high = np.minimum(*ends), np.maximum(*ends)
                earth, less = np.full_like(high, now.earth), np.full(high.shape, TIE_SIEMENS - 1.0)
                merged = np.where(islands == high[:, :, None], low[:, :, None], islands)
                whole = np.hstack([a, ties[high]]), np.hstack([b, earth]), np.hstack([change, less])
                yield some, whole, merged[:, :, 0] != merged[:, :, 1]
    by_rank: dict[int, list[tuple[int, list[Row], Bools]]] = {}
    for case in cases[joins > 1].tolist():
        rows, merges = now.whole(known.rows[case])
        to = np.arange(len(now.ties))
        to[[*merges]] = [*merges.values()]
        by_rank.setdefault(len(rows), []).append((case, rows, to[islands[:, 0]] != to[islands[:, 1]]))
    for rank, listed_ in by_rank.items():
        for start in range(0, len(listed_) if rank else 0, 512):
            numbers, tables, apart = zip(*listed_[start : start + 512], strict=True)
            table = np.array(tables)
            ends_ = table[:, :, 0].astype(np.int64), table[:, :, 1].astype(np.int64), table[:, :, 2]
            yield np.array(numbers), ends_, np.array(apart)


class Out:
    """What one group of tests finds: ohms [case, test], volts without anything across [case, pair], and what part of a
    current at each test each sensor sees, times its resistance [case, test, sensor].

    ``apart``: whether the two probes stand in islands of their own [case, test].
    """

    def __init__(self, cases: int, tests: int, whole: Floats) -> None:
        """``whole[pair, column]`` is the wiring without a change, the tests' pairs before the sensors'."""
        pairs = whole.shape[0]
        self.ohms = np.tile(np.diagonal(whole)[:tests], (cases, 1))
        self.volts = np.tile(whole[:, -1] if whole.shape[1] > pairs else np.zeros(pairs), (cases, 1))
        self.shares = np.tile(whole[tests:pairs, :tests].T, (cases, 1, 1))
        self.apart = np.zeros((cases, tests), dtype=bool)


def changed(
    z: Floats, columns: Floats, whole: Floats, rows: tuple[Ints, Ints, Floats], out: Out, cases: Sequence[int] | Ints
) -> None:
    """Cases whose changes have one number of branches, at once: their ends and changes as [case, branch].

    A case whose branches have no volts in any test, nor without one, changes nothing and is left out.
    """
    a, b, change = rows
    pairs, count = whole.shape[0], out.ohms.shape[1]
    own = columns[:, [*range(count), *range(pairs, whole.shape[1])]]
    felt = np.flatnonzero((np.abs(own[a] - own[b]) > STILL).any(axis=(1, 2)))
    if not len(felt):
        return
    a, b, change, cases = a[felt], b[felt], change[felt], np.asarray(cases)[felt]
    i, j = a[:, :, None], b[:, :, None]
    k, m = a[:, None, :], b[:, None, :]
    core = z[i, k] - z[i, m] - z[j, k] + z[j, m]
    rank = a.shape[1]
    core[:, np.arange(rank), np.arange(rank)] += 1 / change
    seen = columns[a] - columns[b]  # [case, branch, column]
    answer = seen / core if rank == 1 else np.linalg.solve(core, seen)
    left = seen[:, :, :pairs]
    out.ohms[cases] -= (left[:, :, :count] * answer[:, :, :count]).sum(axis=1)
    if whole.shape[1] > pairs:
        out.volts[cases] -= (left * answer[:, :, -1:]).sum(axis=1)
        out.shares[cases] -= answer[:, :, :count].transpose(0, 2, 1) @ left[:, :, count:]


def updated(z: Floats, rows: Sequence[Row]) -> Floats:
    """An inverse after a few conductances have changed."""
    if not rows:
        return z
    _, _, column, core = _branches(z, rows)
    own = np.flatnonzero(column.any(axis=1))  # what lies in other islands stays as it is
    found = z.copy()
    found[np.ix_(own, own)] -= column[own] @ np.linalg.solve(core, column[own].T)
    return found


def _branches(z: Floats, rows: Sequence[Row]) -> tuple[Ints, Ints, Floats, Floats]:
    """The ends of branches that change, what an ampere through each does, and what is solved for their currents."""
    a, b = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    column: Floats = z[:, a] - z[:, b]
    core: Floats = column[a] - column[b] + np.diag([1 / row[2] for row in rows])
    return a, b, column, core
