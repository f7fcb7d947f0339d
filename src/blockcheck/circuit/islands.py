"""Islands: what no position of any contact ever joins. A change in one is felt in no other, so each is a circuit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

from attrs import frozen

from blockcheck.circuit.parts import Circuit
from blockcheck.core.pieces import pieces


@frozen(eq=False, repr=False, slots=False)
class Islands:
    """The islands of a circuit, every edge taken as a conductor: boosters with all that can ever be joined to them.

    The rails of a block, the terminals of a booster and all contacts of one control are of one island.
    """

    circuit: Circuit
    of_node: tuple[int, ...]
    """Node -> number of its island; they are numbered by their first nodes."""

    @classmethod
    def of(cls, circuit: Circuit, tied: Iterable[tuple[int, int]] = ()) -> Islands:
        """The islands; ``tied`` are pairs of nodes that belong together for some other reason."""
        pairs = [(edge.a, edge.b) for edge in circuit.edges]
        pairs += [(circuit.hot[name], circuit.back[name]) for name in circuit.hot]
        pairs += [(circuit.detected[name], circuit.common[name]) for name in circuit.detected]
        for edges in circuit.contacts.values():
            pairs += [(circuit.edges[edges[0]].a, circuit.edges[one].a) for one in edges[1:]]
        number: dict[int, int] = {}
        whole = pieces(len(circuit.labels), (*pairs, *tied))
        return cls(circuit, tuple(number.setdefault(root, len(number)) for root in whole))

    @cached_property
    def nodes(self) -> tuple[tuple[int, ...], ...]:
        """Island -> its nodes, in order."""
        return _by_island(range(len(self.of_node)), self.of_node, self.count)

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
        return _by_island(range(len(edges)), [self.of_node[edge.a] for edge in edges], self.count)

    def of_control(self, name: str) -> int | None:
        """The island of a control; None for one without a contact."""
        edges = self.circuit.contacts.get(name, ())
        return self.of_node[self.circuit.edges[edges[0]].a] if edges else None

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


def _by_island(numbers: Iterable[int], islands: Iterable[int], count: int) -> tuple[tuple[int, ...], ...]:
    found: list[list[int]] = [[] for _ in range(count)]
    for number, island in zip(numbers, islands, strict=True):
        found[island].append(number)
    return tuple(map(tuple, found))
