"""What conducts in every state of a circuit at once: a brute force that knows nothing of how the tool decides.

A set of states is one whole number with a bit a state, so that a flood through the edges looks at all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from itertools import product

from attrs import frozen

from blockcheck.circuit.parts import Circuit, Edge, Kind

Test = Callable[[int, Edge], bool]


def conductors(_: int, edge: Edge) -> bool:
    """All that conducts: everything but the hold resistors."""
    return edge.kind is not Kind.HOLD


def everything(_: int, edge: Edge) -> bool:
    """Conductors and hold resistors alike."""
    return True


@frozen(eq=False, slots=False)
class Everywhere:
    """A circuit in all its states. A set of states is an integer, bit n for state n."""

    circuit: Circuit

    @cached_property
    def states(self) -> list[dict[str, str]]:
        """All states, in the order of their bits."""
        controls = self.circuit.controls.values()
        places = product(*(control.positions for control in controls))
        return [dict(zip(self.circuit.controls, state, strict=True)) for state in places]

    @cached_property
    def every(self) -> int:
        """The set of all states, but for those that an interlock keeps out."""
        found = 0
        for number, state in enumerate(self.states):
            kept_out = any(
                sum(state[name] == place for name, place in bar.holds) > bar.most for bar in self.circuit.bars
            )
            found |= 0 if kept_out else 1 << number
        return found

    @cached_property
    def where(self) -> Mapping[tuple[str, str], int]:
        """Control and position -> the states in which it stands there."""
        found: dict[tuple[str, str], int] = {}
        run, block = 1, len(self.states)
        for name, control in self.circuit.controls.items():
            block //= len(control.positions)
            for index, position in enumerate(control.positions):
                once = ((1 << block) - 1) << (index * block)
                whole = 0
                for again in range(run):
                    whole |= once << (again * block * len(control.positions))
                found[name, position] = whole
            run *= len(control.positions)
        return found

    @cached_property
    def without(self) -> int:
        """The states that are none, since an interlock keeps them out."""
        return ((1 << len(self.states)) - 1) & ~self.every

    def standing(self, positions: Mapping[str, str]) -> int:
        """The states in which some controls stand at some positions."""
        found = self.every
        for name, position in positions.items():
            found &= self.where.get((name, position), 0)
        return found

    def flood(self, starts: Iterable[int], use: Test = conductors, shut: Iterable[int] = ()) -> list[int]:
        """Node -> the states in which it hangs together with one of the starts."""
        reached = [0] * len(self.circuit.labels)
        closed = set(shut)
        left = [node for node in starts if node not in closed]
        for node in left:
            reached[node] = self.every
        arcs: list[list[tuple[int, int]]] = [[] for _ in reached]
        for number, edge in enumerate(self.circuit.edges):
            if not use(number, edge) or edge.a in closed or edge.b in closed:
                continue
            states = self.every if edge.control is None else self.where.get((edge.control, edge.position or ""), 0)
            arcs[edge.a].append((edge.b, states))
            arcs[edge.b].append((edge.a, states))
        while left:
            node = left.pop()
            for other, states in arcs[node]:
                fresh = reached[node] & states & ~reached[other]
                if fresh:
                    reached[other] |= fresh
                    left.append(other)
        return reached

    def first(self, states: int) -> dict[str, str] | None:
        """One state of a set; None where it is empty."""
        return self.states[(states & -states).bit_length() - 1] if states else None
