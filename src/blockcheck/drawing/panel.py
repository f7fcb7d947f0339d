"""A panel: one drawing of connected blocks, in columns and rows."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from attrs import frozen

from blockcheck.drawing.meetings import Meeting


@frozen(cache_hash=True)
class Node:
    """What stands in a cell: a block, a tag that names what is drawn elsewhere, a line that passes or turns back."""

    kind: str
    name: str
    number: int = 0


@frozen(eq=False)
class Edge:
    """A stretch of line between neighbouring columns. ``glyph`` says at which end its joint is drawn, if here."""

    a: Node
    b: Node
    meeting: Meeting
    glyph: str | None = None
    points: str = ""
    hub: str | None = None
    """Turnouts that lead here, and at which end their block is."""


@frozen(eq=False)
class Return:
    """A line that closes a loop: from a turn on the right to one on the left, below all rows."""

    right: Node
    left: Node
    above: bool = False
    """Whether it runs above all rows, because fewer lines cross it there."""


@frozen(eq=False, slots=False)
class Panel:
    """One drawing of connected blocks."""

    title: str
    columns: tuple[tuple[Node, ...], ...]
    rows: Mapping[Node, int]
    edges: tuple[Edge, ...]
    returns: tuple[Return, ...]
    glyphs: Mapping[Node, Meeting]
    """Passing lines that carry a joint."""
    stacked: frozenset[int]
    """Columns with room for labels of several lines."""

    @cached_property
    def column_of(self) -> Mapping[Node, int]:
        """Node -> its column."""
        return {node: number for number, column in enumerate(self.columns) for node in column}

    @cached_property
    def height(self) -> int:
        """How many rows it has, without the returning lines."""
        return 1 + max(
            row + (node.kind == "block" and self.column_of[node] in self.stacked) for node, row in self.rows.items()
        )

    @cached_property
    def gaps(self) -> tuple[tuple[Edge, ...], ...]:
        """The edges between each column and the next."""
        found: list[list[Edge]] = [[] for _ in self.columns[1:]]
        for edge in self.edges:
            found[self.column_of[edge.a]].append(edge)
        return tuple(map(tuple, found))
