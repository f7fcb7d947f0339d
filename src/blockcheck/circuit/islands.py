"""Islands: what no position of any contact ever joins. A change in one is felt in no other, so each is a circuit.

What hangs on a booster that keeps its volts whatever it delivers, and on no other, feels nothing of what hangs beside
it there: such a booster's terminals may be in several islands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from functools import cached_property

from attrs import field, frozen

from blockcheck.circuit.parts import Circuit, Edge
from blockcheck.core.pieces import pieces


@frozen(eq=False, repr=False, slots=False)
class Islands:
    """The islands of a circuit, every edge taken as a conductor: boosters with all that can ever be joined to them.

    The rails of a block and all contacts of one control are of one island.
    """

    circuit: Circuit
    of_node: tuple[int, ...]
    """Node -> number of its island; they are numbered by their first nodes. -1 for a terminal of several islands."""
    shared: Mapping[int, tuple[int, ...]] = field(factory=dict)
    """Island -> the terminals that it shares with others."""

    @classmethod
    def of(cls, circuit: Circuit, tied: Iterable[tuple[int, int]] = (), stiff: Iterable[str] = ()) -> Islands:
        """The islands; ``tied`` are pairs of nodes that belong together for some other reason, ``stiff`` the boosters
        that keep their volts."""
        tied, apart = tuple(tied), frozenset(stiff)
        while True:  # once more at most: what two boosters feed holds them together
            whole = _pieces(circuit, tied, frozenset(_terminals(circuit, apart)))
            held = _held_together(circuit, whole, apart)
            if not held:
                break
            apart -= held
        terminals, number = _terminals(circuit, apart), dict[int, int]()
        of_node = [-1 if node in terminals else number.setdefault(root, len(number)) for node, root in enumerate(whole)]
        shared = {
            of_node[edge.a if own == edge.b else edge.b]: (circuit.hot[terminals[own]], circuit.back[terminals[own]])
            for edge in circuit.edges
            for own in (edge.a, edge.b)
            if own in terminals
        }
        return cls(circuit, tuple(of_node), shared)

    @cached_property
    def nodes(self) -> tuple[tuple[int, ...], ...]:
        """Island -> its nodes, in order."""
        own = _by_island(range(len(self.of_node)), self.of_node, self.count)
        return tuple(tuple(sorted((*nodes, *self.shared.get(island, ())))) for island, nodes in enumerate(own))

    @cached_property
    def count(self) -> int:
        """How many islands there are."""
        return max(self.of_node, default=-1) + 1

    @cached_property
    def blocks(self) -> tuple[tuple[str, ...], ...]:
        """Island -> its blocks, in the circuit's order."""
        detected = self.circuit.detected
        found: list[list[str]] = [[] for _ in range(self.count)]
        for name, node in detected.items():
            found[self.of_node[node]].append(name)
        return tuple(map(tuple, found))

    @cached_property
    def edges(self) -> tuple[tuple[int, ...], ...]:
        """Island -> the numbers of its edges, in order."""
        edges = self.circuit.edges
        return _by_island(range(len(edges)), [self._home(edge) for edge in edges], self.count)

    def of_control(self, name: str) -> int | None:
        """The island of a control; None for one without a contact."""
        edges = self.circuit.contacts.get(name, ())
        return self._home(self.circuit.edges[edges[0]]) if edges else None

    def _home(self, edge: Edge) -> int:
        return max(self.of_node[edge.a], self.of_node[edge.b])

    def circuit_of(self, island: int, idle: Iterable[str] = ()) -> Circuit:
        """One island as a circuit of its own, its nodes numbered anew, everything in the order that it had.

        ``idle`` are controls without a contact that it is to have all the same.
        """
        whole = self.circuit
        at = {node: number for number, node in enumerate(self.nodes[island])}
        edges = [whole.edges[number] for number in self.edges[island]]
        controls = dict.fromkeys(edge.control for edge in edges if edge.control is not None) | dict.fromkeys(idle)

        def own(named: Mapping[str, int]) -> dict[str, int]:
            return {name: at[node] for name, node in named.items() if node in at}

        detected = {name: at[whole.detected[name]] for name in self.blocks[island]}
        return Circuit(
            tuple(whole.labels[node] for node in at),
            tuple(edge._replace(a=at[edge.a], b=at[edge.b]) for edge in edges),
            {name: whole.controls[name] for name in controls},
            own(whole.hot),
            own(whole.back),
            own(whole.feeds),
            own(whole.returns),
            detected,
            {name: at[whole.common[name]] for name in detected},
            {name: at[whole.channels[name]] for name in detected},
            own(whole.frogs),
        )


def _terminals(circuit: Circuit, boosters: Iterable[str]) -> dict[int, str]:
    """Terminal -> its booster."""
    return {node: name for name in boosters for node in (circuit.hot[name], circuit.back[name])}


def _pieces(circuit: Circuit, tied: Iterable[tuple[int, int]], cut: Set[int]) -> list[int]:
    """What hangs together, the nodes of ``cut`` joining nothing."""
    pairs = [(edge.a, edge.b) for edge in circuit.edges]
    pairs += [(circuit.hot[name], circuit.back[name]) for name in circuit.hot]
    pairs += [(circuit.detected[name], circuit.common[name]) for name in circuit.detected]
    for edges in circuit.contacts.values():
        ends = [edge.b if edge.a in cut else edge.a for edge in (circuit.edges[one] for one in edges)]
        pairs += [(ends[0], end) for end in ends[1:]]
    return pieces(len(circuit.labels), [(a, b) for a, b in (*pairs, *tied) if a not in cut and b not in cut])


def _held_together(circuit: Circuit, piece: Sequence[int], apart: Set[str]) -> set[str]:
    """Those of the boosters that something hangs on together with another one, or that are joined as they are."""
    terminals, found = _terminals(circuit, circuit.hot), set[str]()
    on: dict[int, set[str]] = {}
    for edge in circuit.edges:
        mine = {terminals[node] for node in (edge.a, edge.b) if node in terminals}
        both = edge.a in terminals and edge.b in terminals
        found |= mine if both else set()
        for node in (edge.a, edge.b):
            if terminals.get(node) not in apart:
                on.setdefault(piece[node], set()).update(mine)
    for boosters in on.values():
        found |= boosters if len(boosters) > 1 else set()
    return found & apart


def _by_island(numbers: Iterable[int], islands: Iterable[int], count: int) -> tuple[tuple[int, ...], ...]:
    found: list[list[int]] = [[] for _ in range(count)]
    for number, island in zip(numbers, islands, strict=True):
        if island >= 0:
            found[island].append(number)
    return tuple(map(tuple, found))
