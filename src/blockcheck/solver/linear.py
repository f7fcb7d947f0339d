"""One linear state of a network: every branch conducts with a constant voltage in series, or is open.

Branches without resistance are no small resistances: their ends are one node of the system, with a constant
voltage between them. Their own currents are those that equal resistances in their places would carry as these go
to nought, which is the only answer in a tree and the even-handed one in a loop.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple, TypeVar

from blockcheck.solver.network import Network, NetworkError
from blockcheck.solver.sparse import PLAIN_UNKNOWNS, Factor, factor, find, join

# a drop without resistance in a loop without resistance would leave its share of the current open; this is under a
# millimetre of wire
GUARD_OHMS = 1e-6

_Number = TypeVar("_Number", int, float)


class Branches(NamedTuple):
    """Everything that conducts, in one numbering: resistors, then sources, then drops.

    A current i from a to b meets v(a) - v(b) = emf + ohms * i; a source's own current runs from minus to plus, so
    its i is negative while it delivers.
    """

    nodes: int
    a: list[int]
    b: list[int]
    ohms: list[float]
    resistors: int
    sources: int

    @property
    def drops(self) -> range:
        return range(self.resistors + self.sources, len(self.a))


def branches_of(network: Network) -> Branches:
    """The branches of a network; drops without resistance get GUARD_OHMS where one closes a loop without any."""
    resistors, sources, drops = network.resistors, network.sources, network.drops
    a = [*plain(resistors.a), *plain(sources.plus), *plain(drops.a)]
    b = [*plain(resistors.b), *plain(sources.minus), *plain(drops.b)]
    ohms = [*plain(resistors.ohms), *plain(sources.ohms), *plain(drops.ohms)]
    first_drop = len(resistors.a) + len(sources.plus)
    stiff_drops = [k for k in range(first_drop, len(ohms)) if ohms[k] == 0.0]
    if stiff_drops:
        above = list(range(network.nodes))
        closers = []
        for k, r in enumerate(ohms):
            if r == 0.0 and a[k] != b[k] and not join(above, a[k], b[k]) and k >= first_drop:
                closers.append(k)
        # all drops of such a cluster alike, so that equal ones share evenly
        guarded = {find(above, a[k]) for k in closers}
        for k in stiff_drops:
            if find(above, a[k]) in guarded:
                ohms[k] = GUARD_OHMS
    return Branches(network.nodes, a, b, ohms, len(resistors.a), len(sources.plus))


def plain(column: Sequence[_Number]) -> Sequence[_Number]:
    """A column as plain Python numbers: numpy's own are slow one by one."""
    if isinstance(column, list | tuple):
        return column
    numbers: Sequence[_Number] = column.tolist() if hasattr(column, "tolist") else list(column)
    return numbers


class Linear:
    """The branches with some of them open, factorised; solved for any voltages in series and any currents put in.

    part(node) numbers what hangs together; potentials are above an arbitrary node of each part.
    """

    def __init__(
        self, branches: Branches, blocked: frozenset[int] = frozenset(), plain_up_to: int = PLAIN_UNKNOWNS
    ) -> None:
        self.branches = branches
        self.blocked = blocked
        self._plain_up_to = plain_up_to
        a, b, ohms = branches.a, branches.b, branches.ohms
        conducting = [k for k in range(len(ohms)) if k not in blocked] if blocked else list(range(len(ohms)))
        self._stiff = [k for k in conducting if ohms[k] == 0.0]
        self._merge()
        cluster = self.cluster
        finite = [k for k in conducting if ohms[k]]
        self._ends = ([cluster[a[k]] for k in finite], [cluster[b[k]] for k in finite], [1.0 / ohms[k] for k in finite])
        self.factor: Factor = factor(self._clusters, *self._ends, plain_up_to=plain_up_to)
        local = self._local
        self._border = [k for k in finite if k >= branches.resistors or a[k] in local or b[k] in local]
        self.largest_siemens = max(self._ends[2], default=0.0)
        ones = [1.0] * len(self._stiff)
        inside = ([local[a[k]] for k in self._stiff], [local[b[k]] for k in self._stiff], ones)
        self._inside = factor(len(local), *inside, plain_up_to=plain_up_to)

    def _merge(self) -> None:
        """Number the clusters of nodes that branches without resistance unite, and find a tree through each."""
        a, b = self.branches.a, self.branches.b
        above = list(range(self.branches.nodes))
        self._tree: list[tuple[int, int, int, int]] = []
        self._closers: list[int] = []
        beside: dict[int, list[tuple[int, int, int]]] = {}
        for k in self._stiff:
            if join(above, a[k], b[k]):
                beside.setdefault(a[k], []).append((b[k], k, -1))
                beside.setdefault(b[k], []).append((a[k], k, 1))
            else:
                self._closers.append(k)
        number: dict[int, int] = {}
        self.cluster = [0] * len(above)
        for node in range(len(above)):
            root = node if above[node] == node else find(above, node)
            if root == node:
                number[node] = len(number)
            self.cluster[node] = number[root]
        self._clusters = len(number)
        touched = [end for k in self._stiff for end in (a[k], b[k])]
        self._local = {node: at for at, node in enumerate(dict.fromkeys(touched))}
        seen: set[int] = set()
        for start in self._local:
            if start in seen:
                continue
            seen.add(start)
            ahead = [start]
            while ahead:
                node = ahead.pop()
                for other, k, sign in beside.get(node, ()):
                    if other not in seen:
                        seen.add(other)
                        self._tree.append((other, node, k, sign))
                        ahead.append(other)

    @property
    def closed(self) -> "Linear":
        """The same branches with none open."""
        return Linear(self.branches) if self.blocked else self

    @property
    def parts(self) -> int:
        return self.factor.parts

    def part(self, node: int) -> int:
        return self.factor.part[self.cluster[node]]

    def solve(self, emf: Sequence[float], injected: Sequence[float]) -> list[float]:
        """Potentials of all nodes for the voltages `emf` of sources and drops (in that order) and the currents put
        into nodes.

        Raises NetworkError if voltages without resistance contradict each other.
        """
        first = self.branches.resistors
        a, b, ohms, cluster = self.branches.a, self.branches.b, self.branches.ohms, self.cluster
        offset: dict[int, float] = {}
        for child, parent, k, sign in self._tree:
            offset[child] = offset.get(parent, 0.0) + (sign * emf[k - first] if k >= first else 0.0)
        for k in self._closers:
            gap = offset.get(a[k], 0.0) - offset.get(b[k], 0.0)
            wanted = emf[k - first] if k >= first else 0.0
            if abs(gap - wanted) > 1e-9 * (1.0 + abs(gap) + abs(wanted)):
                raise NetworkError(f"sources without resistance contradict each other between nodes {a[k]} and {b[k]}")
        currents = [0.0] * self._clusters
        for node, amperes in enumerate(injected):
            if amperes:
                currents[cluster[node]] += amperes
        for k in self._border:
            volts = offset.get(a[k], 0.0) - offset.get(b[k], 0.0) - (emf[k - first] if k >= first else 0.0)
            if volts:
                amperes = volts / ohms[k]
                currents[cluster[a[k]]] -= amperes
                currents[cluster[b[k]]] += amperes
        level = self.factor.solve(currents)
        solved = [level[at] for at in cluster]
        for node, volts in offset.items():
            solved[node] += volts
        return solved

    def amperes(
        self, which: Iterable[int], volts: Sequence[float], emf: Sequence[float], injected: Sequence[float]
    ) -> list[float]:
        """Currents from a to b of the branches `which`, given the solution; open branches carry none."""
        a, b, local = self.branches.a, self.branches.b, self._local
        inside: list[float] = []
        if self._stiff:
            surplus = [0.0] * len(local)
            for node, at in local.items():
                surplus[at] = injected[node]
            for k in self._border:
                current = self._finite(k, volts, emf)
                if a[k] in local:
                    surplus[local[a[k]]] -= current
                if b[k] in local:
                    surplus[local[b[k]]] += current
            inside = self._inside.solve(surplus)
        found = []
        for k in which:
            if k in self.blocked:
                found.append(0.0)
            elif self.branches.ohms[k]:
                found.append(self._finite(k, volts, emf))
            else:
                found.append(inside[local[a[k]]] - inside[local[b[k]]])
        return found

    def _finite(self, k: int, volts: Sequence[float], emf: Sequence[float]) -> float:
        first = self.branches.resistors
        gap = volts[self.branches.a[k]] - volts[self.branches.b[k]]
        if gap != gap:
            return 0.0  # a floating part: nothing drives a current there
        return (gap - emf[k - first] if k >= first else gap) / self.branches.ohms[k]

    def transfer(self, quads: Sequence[tuple[int, int, int, int]]) -> list[float]:
        """Ohms from one pair of nodes to another: volts from a to b for an ampere into c and out of d, one for
        every (a, b, c, d).

        Infinite where c and d do not hang together, nought where the other pair hangs elsewhere.
        """
        cluster, part = self.cluster, self.factor.part
        corners = [tuple(cluster[node] for node in quad) for quad in quads]
        wanted = dict.fromkeys(
            (x, y)
            for a, b, c, d in corners
            if part[a] == part[b] == part[c] == part[d]
            for x, y in ((a, c), (a, d), (b, c), (b, d))
        )
        chosen = self.factor
        if len(wanted) > 12 and self._clusters <= self._plain_up_to:
            chosen = factor(self._clusters, *self._ends, near=wanted, plain_up_to=self._plain_up_to)
        z = chosen.inverse(wanted)
        found = []
        for a, b, c, d in corners:
            if part[c] != part[d]:
                found.append(float("inf"))
            elif part[a] == part[b] == part[c]:
                found.append((z[a, c] - z[b, c]) - (z[a, d] - z[b, d]))
            else:
                found.append(0.0)
        return found
