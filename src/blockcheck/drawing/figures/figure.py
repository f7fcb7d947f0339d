"""Lines of track and the signs on them, in rows of a figure: moved, mirrored and put together, never written on.

A figure's left port is at (0, 0), its right port at (width, end). Words are set when a whole page stands; a ``Room``
keeps the place where a block's will be.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from attrs import field, frozen

Point = tuple[float, float]
Extent = tuple[float, float, float, float]

ROW = 8.0
"""From track to track."""
LEAD = 3.0
"""Straight before a fork or a bend."""
ABOVE, BELOW = 4.0, 3.5
"""What words take over and under their track."""


@frozen
class Moved:
    """How a figure is put into another: mirrored, then moved."""

    x: float = 0.0
    y: float = 0.0
    across: int = 1
    down: int = 1

    def at(self, point: Point) -> Point:
        return (self.x + self.across * point[0], self.y + self.down * point[1])

    def way(self, point: Point) -> Point:
        """A direction."""
        return (self.across * point[0], self.down * point[1])


@frozen
class Stroke:
    """A line of track, and the block whose rails it is."""

    points: tuple[Point, ...]
    block: str
    behind: bool = False
    """Whether it is the far side of a turn."""

    def moved(self, by: Moved) -> Stroke:
        return Stroke(tuple(map(by.at, self.points)), self.block, self.behind)

    def boxes(self) -> Iterator[Extent]:
        for (x0, y0), (x1, y1) in zip(self.points, self.points[1:], strict=False):
            steps = max(1, int(abs(y1 - y0) // 2))
            for step in range(steps):
                a, b = step / steps, (step + 1) / steps
                xs = sorted((x0 + a * (x1 - x0), x0 + b * (x1 - x0)))
                ys = sorted((y0 + a * (y1 - y0), y0 + b * (y1 - y0)))
                yield xs[0], ys[0] - 0.8, xs[1], ys[1] + 0.8


@frozen
class Fork:
    """A turnout, and the directions of its legs."""

    at: Point
    name: str
    toe: Point
    through: Point
    diverging: Point

    def moved(self, by: Moved) -> Fork:
        return Fork(by.at(self.at), self.name, *map(by.way, (self.toe, self.through, self.diverging)))

    def boxes(self) -> Iterator[Extent]:
        x, y = self.at
        yield x - 1, y - 1, x + 1, y + 1


@frozen
class Gap:
    """A joint of two blocks."""

    at: Point
    joint: int

    def moved(self, by: Moved) -> Gap:
        return Gap(by.at(self.at), self.joint)

    def boxes(self) -> Iterator[Extent]:
        x, y = self.at
        yield x - 1, y - 1.2, x + 1, y + 1.2


@frozen
class End:
    """Where track ends; with a letter, where the drawing does: the way there, and what lies beyond."""

    at: Point
    way: int = 1
    letter: str = ""
    to: str = ""
    width: float = 0.0
    """Of its words."""

    def moved(self, by: Moved) -> End:
        return End(by.at(self.at), self.way * by.across, self.letter, self.to, self.width)

    def boxes(self) -> Iterator[Extent]:
        x, y = self.at
        far = x + self.way * (3.5 + self.width if self.to else 1.0)
        yield min(x, far), y - 1.8, max(x, far), y + 1.8


@frozen
class Room:
    """Where the words of a block go: over and under a level line, or beside an upright one."""

    at: Point
    block: str
    width: float
    side: int = 0
    """0 over the line; else beside it, -1 to its left and 1 to its right."""

    def moved(self, by: Moved) -> Room:
        return Room(by.at(self.at), self.block, self.width, self.side * by.across)

    def boxes(self) -> Iterator[Extent]:
        x, y = self.at
        if self.side:
            ends = sorted((x + self.side, x + self.side * (1.6 + self.width)))
            yield ends[0], y - ABOVE, ends[1], y + BELOW
        else:
            yield x - self.width / 2, y - ABOVE, x + self.width / 2, y + BELOW


Part = Stroke | Fork | Gap | End | Room


@frozen(eq=False)
class Figure:
    """Parts put together. ``width`` and ``end`` are where its right port is."""

    parts: list[Part] = field(factory=list)
    width: float = 0.0
    end: float = 0.0
    pending: tuple[Pending, ...] = ()
    """What hangs on its turnouts and is placed last."""

    def line(self, block: str, *points: Point, behind: bool = False) -> None:
        """A line of track; points that fall together are one."""
        kept = [point for number, point in enumerate(points) if not number or not near(point, points[number - 1])]
        if len(kept) > 1:
            self.parts.append(Stroke(tuple(kept), block, behind))

    def add(self, *parts: Part) -> None:
        self.parts.extend(parts)

    def put(self, other: Figure, x: float = 0.0, y: float = 0.0, across: int = 1, down: int = 1) -> None:
        """All parts of another figure, mirrored and moved."""
        by = Moved(x, y, across, down)
        self.parts.extend(part.moved(by) for part in other.parts)

    def shaped(self, width: float, end: float = 0.0, pending: tuple[Pending, ...] = ()) -> Figure:
        """The same parts, with another right port."""
        return Figure(self.parts, width, end, pending)

    def mirrored(self) -> Figure:
        """Upside down."""
        made = Figure(width=self.width, end=-self.end)
        made.put(self, down=-1)
        return made

    def reversed(self) -> Figure:
        """Left to right: what was its right port is its left one."""
        made = Figure(width=self.width, end=-self.end)
        made.put(self, self.width, -self.end, across=-1)
        return made

    def flipped(self) -> Figure:
        """A figure with one port, which comes to be its right one."""
        right = self.extent[2]
        made = Figure(width=right)
        made.put(self, right, across=-1)
        return made

    def half_turned(self) -> Figure:
        """Turned half round: its last port is at the left, its first at the right."""
        made = Figure(width=self.width, end=self.end)
        made.put(self, self.width, self.end, -1, -1)
        return made

    def boxes(self) -> Iterator[Extent]:
        for part in self.parts:
            yield from part.boxes()

    @property
    def extent(self) -> Extent:
        """What it covers."""
        boxes = [*self.boxes()] or [(0.0, 0.0, 0.0, 0.0)]
        lefts, tops, rights, bottoms = zip(*boxes, strict=True)
        return min(lefts), min(tops), max(rights), max(bottoms)

    @property
    def strokes(self) -> list[Stroke]:
        return [part for part in self.parts if isinstance(part, Stroke)]

    @property
    def forks(self) -> list[Fork]:
        return [part for part in self.parts if isinstance(part, Fork)]


@frozen
class Pending:
    """What hangs on a turnout and is still to be placed: where the turnout is, which way its toe looks along the line,
    and the side that is liked best (-1 is up)."""

    siding: object
    at: Point
    way: int
    side: int = 1
    leaning: int = 0
    """Where the line takes the diverging leg: the side to which it leaves, from the turnout on."""

    def moved(self, by: Moved, side: int) -> Pending:
        return Pending(self.siding, by.at(self.at), self.way * by.across, side, self.leaning * by.down)


def near(one: Point, other: Point, by: float = 0.05) -> bool:
    """Whether two points are one."""
    return hypot(one[0] - other[0], one[1] - other[1]) <= by


def meet(one: Extent, other: Extent, space: float = 0.4) -> bool:
    """Whether two areas touch, or come nearer than a space."""
    return (
        one[0] < other[2] + space
        and other[0] < one[2] + space
        and one[1] < other[3] + space
        and other[1] < one[3] + space
    )
