"""Systems of conductances: who is connected to whom, and the potentials that given currents raise.

Two back ends say the same: plain Python, which starts at once, and scipy, which is imported only when asked for
and wins on large systems. `factor` and `components` choose, and nothing else does.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol

from blockcheck.solver.network import Entries

# importing scipy takes as long as factorising some 70,000 nodes of track in plain Python, but only 3,500 of a mesh
PLAIN_UNKNOWNS = 3_000


class Factor(Protocol):
    """A factorised system, one node of every connected part grounded.

    part: the number of each node's connected part, 0 .. parts - 1.
    """

    @property
    def part(self) -> Sequence[int]: ...

    @property
    def parts(self) -> int: ...

    def solve(self, amperes: Sequence[float]) -> list[float]:
        """Potentials, in volts above the ground of each part, for the currents put into each node.

        The grounds take up what does not sum to nought: whether a part's currents balance is the caller's to know.
        """

    def inverse(self, wanted: Iterable[tuple[int, int]]) -> Entries:
        """Entries of the inverse: volts at the first node for an ampere into the second. Both nodes lie in one part."""


def factor(
    nodes: int,
    a: Sequence[int],
    b: Sequence[int],
    siemens: Sequence[float],
    *,
    near: Iterable[tuple[int, int]] = (),
    plain_up_to: int = PLAIN_UNKNOWNS,
) -> Factor:
    """Factorise the conductances `siemens` (all above nought) between nodes `a` and `b`.

    near: pairs of nodes whose entries `inverse` will be asked for; naming them here makes that cost no solve a pair.
    """
    if nodes <= plain_up_to:
        return PlainFactor(nodes, a, b, siemens, near)
    from blockcheck.solver.superlu import SuperFactor

    return SuperFactor(nodes, a, b, siemens)


def components(nodes: int, a: Sequence[int], b: Sequence[int], *, plain_up_to: int = PLAIN_UNKNOWNS) -> list[int]:
    """The number of the connected part of every node, numbered in the order of their first nodes."""
    if nodes > plain_up_to:
        from blockcheck.solver.superlu import super_components

        return super_components(nodes, a, b)
    above = list(range(nodes))
    for x, y in zip(a, b, strict=True):
        join(above, x, y)
    number: dict[int, int] = {}
    return [number.setdefault(find(above, node), len(number)) for node in range(nodes)]


def find(above: list[int], node: int) -> int:
    """The root of a node in a union-find forest; halves the path on the way."""
    while above[node] != node:
        above[node] = above[above[node]]
        node = above[node]
    return node


def join(above: list[int], x: int, y: int) -> bool:
    """Unite two sets of a union-find forest; False if they were one already."""
    x, y = find(above, x), find(above, y)
    if x == y:
        return False
    # the smaller number becomes the root, so that results do not hang on the order of the edges
    above[max(x, y)] = min(x, y)
    return True


def _by_degree(adjacent: list[dict[int, float]]) -> Iterator[int]:
    """Every node once, always one of those with the fewest neighbours now; the caller removes it before asking on."""
    buckets: list[list[int]] = [[] for _ in range(max(map(len, adjacent), default=0) + 1)]
    for node in range(len(adjacent) - 1, -1, -1):
        buckets[len(adjacent[node])].append(node)
    done = [False] * len(adjacent)
    at = 0
    while at < len(buckets):
        if not buckets[at]:
            at += 1
            continue
        node = buckets[at].pop()
        if done[node]:
            continue
        degree = len(adjacent[node])
        if degree == at:
            done[node] = True
            neighbours = list(adjacent[node])
            yield node
            for other in neighbours:
                degree = len(adjacent[other])
                while degree >= len(buckets):
                    buckets.append([])
                buckets[degree].append(other)
                at = min(at, degree)


class PlainFactor:
    """L D L^T by eliminating the node of least degree, each star turned into its mesh.

    Nothing is ever subtracted, so every pivot and every resistance comes out to nearly full relative precision.
    The last node of a part has no neighbours left and is its ground.
    """

    def __init__(
        self,
        nodes: int,
        a: Sequence[int],
        b: Sequence[int],
        siemens: Sequence[float],
        near: Iterable[tuple[int, int]] = (),
    ) -> None:
        adjacent: list[dict[int, float]] = [{} for _ in range(nodes)]
        for x, y, g in zip(a, b, siemens, strict=True):
            if x != y:
                adjacent[x][y] = adjacent[y][x] = adjacent[x].get(y, 0.0) + g
        for x, y in near:
            if x != y:
                adjacent[x].setdefault(y, 0.0)
                adjacent[y].setdefault(x, 0.0)
        # one row a node, in order of elimination: node, its reciprocal pivot (nought: a ground), shares of its
        # neighbours
        self._rows: list[tuple[int, float, list[tuple[int, float]]]] = []
        for node in _by_degree(adjacent):
            star = adjacent[node]
            pivot = sum(star.values())
            shares = [(other, g / pivot if pivot else 0.0) for other, g in star.items()]
            self._rows.append((node, 1.0 / pivot if pivot else 0.0, shares))
            for other in star:
                del adjacent[other][node]
            left = list(star.items())
            while left:
                x, gx = left.pop()
                near_x = adjacent[x]
                gx = gx / pivot if pivot else 0.0
                for y, gy in left:
                    near_x[y] = adjacent[y][x] = near_x.get(y, 0.0) + gx * gy
            adjacent[node] = {}
        self.part, self.parts = self._number_parts(nodes)

    def _number_parts(self, nodes: int) -> tuple[list[int], int]:
        part = [-1] * nodes
        for node, pivot, shares in reversed(self._rows):
            if pivot:
                part[node] = next(part[other] for other, share in shares if share)
            else:
                part[node] = node
        number: dict[int, int] = {}
        return [number.setdefault(root, len(number)) for root in part], len(number)

    def solve(self, amperes: Sequence[float]) -> list[float]:
        volts = list(amperes)
        for node, _, shares in self._rows:
            current = volts[node]
            if current:
                for other, share in shares:
                    volts[other] += share * current
        for node, pivot, shares in reversed(self._rows):
            total = volts[node] * pivot
            for other, share in shares:
                total += share * volts[other]
            volts[node] = total
        return volts

    def inverse(self, wanted: Iterable[tuple[int, int]]) -> Entries:
        wanted = list(wanted)
        known = self._selected_inverse() if len(wanted) > 3 else {}
        found: Entries = {}
        by_second: dict[int, list[int]] = {}
        for x, y in wanted:
            entry = known.get((x, y) if x < y else (y, x))
            if entry is None:
                by_second.setdefault(y, []).append(x)
            else:
                found[x, y] = entry
        for y, firsts in by_second.items():
            unit = [0.0] * len(self._rows)
            unit[y] = 1.0
            column = self.solve(unit)
            found.update(((x, y), column[x]) for x in firsts)
        return found

    def _selected_inverse(self) -> Entries:
        """The inverse where L has entries, from the last node back (Takahashi, Fagan and Chin 1973)."""
        known: Entries = {}
        for node, pivot, shares in reversed(self._rows):
            own = pivot
            for other, _ in shares:
                entry = 0.0
                for between, share in shares:
                    entry += share * known[(between, other) if between < other else (other, between)]
                known[(node, other) if node < other else (other, node)] = entry
            for other, share in shares:
                own += share * known[(node, other) if node < other else (other, node)]
            known[node, node] = own
        return known
