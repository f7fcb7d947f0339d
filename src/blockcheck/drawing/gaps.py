"""How lines run between two columns: which share an upright, and where each upright stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from graphlib import TopologicalSorter

from attrs import frozen

from blockcheck.drawing.panel import Edge, Node
from blockcheck.drawing.shapes import SMALL, text_width

GLYPH_MM = 5.0
"""Width of a joint."""
LANE_MM = 2.4
PAD_MM = 1.0


@frozen(eq=False, slots=False)
class Gap:
    """The room between two columns, from left to right: joints, names of turnouts, uprights, names, joints."""

    edges: Sequence[Edge]
    rows: Mapping[Node, int]

    @cached_property
    def star_of(self) -> Mapping[int, tuple[str, Node]]:
        """Edge (by id) -> the end at which it meets others, and the node there."""
        out, into = Counter(edge.a for edge in self.edges), Counter(edge.b for edge in self.edges)
        return {
            id(edge): ("a", edge.a) if out[edge.a] > 1 or into[edge.b] == 1 else ("b", edge.b) for edge in self.edges
        }

    @cached_property
    def stars(self) -> Mapping[tuple[str, Node], tuple[Edge, ...]]:
        """The edges that share an upright."""
        found: dict[tuple[str, Node], list[Edge]] = {}
        for edge in self.edges:
            found.setdefault(self.star_of[id(edge)], []).append(edge)
        return {key: tuple(edges) for key, edges in found.items()}

    @cached_property
    def lanes(self) -> Mapping[tuple[str, Node], int]:
        """Star -> number of its upright from the left, for those that need one and can have one.

        A line that comes in on a row must turn off before one that goes out on the same row begins. Where that runs
        in a circle, no order serves, and the lines are drawn aslant.
        """
        bent = {key: edges for key, edges in self.stars.items() if self._extent(edges)[0] != self._extent(edges)[1]}
        comes = {self.rows[edge.a]: self.star_of[id(edge)] for edge in self.edges}
        goes = {self.rows[edge.b]: self.star_of[id(edge)] for edge in self.edges}
        before: dict[tuple[str, Node], dict[tuple[str, Node], None]] = {star: {} for star in bent}
        for row, star in comes.items():
            other = goes.get(row)
            if other is not None and other != star and star in bent and other in bent:
                before[other][star] = None
        out = {star for star in bent if star in _behind(star, before)}
        out |= {key for key, edges in bent.items() if any(self._also_elsewhere(edge, key) for edge in edges)}
        order = {star: [one for one in some if one not in out] for star, some in before.items() if star not in out}
        found: dict[tuple[str, Node], int] = {}
        taken: list[list[tuple[int, int]]] = []
        for star in TopologicalSorter(order).static_order():
            low, high = self._extent(bent[star])
            lane = max((found[one] + 1 for one in order[star]), default=0)
            while lane < len(taken) and any(low <= end and start <= high for start, end in taken[lane]):
                lane += 1
            taken += [[] for _ in range(lane + 1 - len(taken))]
            taken[lane].append((low, high))
            found[star] = lane
        return found

    def _also_elsewhere(self, edge: Edge, star: tuple[str, Node]) -> bool:
        """Whether the far end of an edge belongs to another star, so that two uprights would feed one row."""
        return any(
            other is not edge
            and self.star_of[id(other)] != star
            and (other.b == edge.b if star[0] == "a" else other.a == edge.a)
            for other in self.edges
        )

    def _extent(self, edges: Sequence[Edge]) -> tuple[int, int]:
        rows = [self.rows[node] for edge in edges for node in (edge.a, edge.b)]
        return min(rows), max(rows)

    @cached_property
    def aslant(self) -> frozenset[tuple[str, Node]]:
        """Stars without an upright whose lines change rows."""
        return frozenset(
            key
            for key, edges in self.stars.items()
            if key not in self.lanes and self._extent(edges)[0] != self._extent(edges)[1]
        )

    def _names(self, hub: str) -> float:
        return max(
            (text_width(edge.points, SMALL) + 2.5 for edge in self.edges if edge.points and edge.hub == hub), default=0
        )

    @cached_property
    def left_joints(self) -> float:
        """Width of the joints at the left."""
        return GLYPH_MM if any(edge.glyph == "a" for edge in self.edges) else 0

    @cached_property
    def right_joints(self) -> float:
        """Width of the joints at the right."""
        return GLYPH_MM if any(edge.glyph == "b" for edge in self.edges) else 0

    @cached_property
    def uprights(self) -> tuple[float, float]:
        """Where the room for uprights begins, and its width."""
        lanes = 1 + max(self.lanes.values(), default=-1)
        return PAD_MM / 2 + self.left_joints + self._names("b"), max(lanes * LANE_MM, 8 if self.aslant else 0)

    @cached_property
    def width(self) -> float:
        """Width of it all."""
        start, room = self.uprights
        return start + room + self._names("a") + self.right_joints + PAD_MM / 2


def _behind(star: tuple[str, Node], before: Mapping[tuple[str, Node], Iterable[tuple[str, Node]]]) -> set[object]:
    """All that must come before a star; itself too, where that runs in a circle."""
    seen, left = set[object](), [*before[star]]
    while left:
        one = left.pop()
        if one not in seen:
            seen.add(one)
            left += before[one]
    return seen
