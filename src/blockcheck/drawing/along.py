"""Along the line that a block is drawn as: from its near end to its far end, by shares of its length."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import hypot

from attrs import frozen

from blockcheck.drawing.figures.figure import Point, Stroke, near

MOST_STROKES = 12


@frozen(eq=False)
class Along:
    """A line through points, from the near end."""

    points: tuple[Point, ...]

    @property
    def length(self) -> float:
        return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(self.points))

    def at(self, share: float) -> tuple[Point, Point]:
        """The place at a share of the length, and the direction there, of length 1."""
        left = min(max(share, 0.0), 1.0) * self.length
        for (x0, y0), (x1, y1) in pairwise(self.points):
            far = hypot(x1 - x0, y1 - y0)
            way = ((x1 - x0) / far, (y1 - y0) / far)
            place = (x0 + min(left, far) * way[0], y0 + min(left, far) * way[1])
            if left <= far:
                break
            left -= far
        return place, way

    def part(self, start: float, end: float) -> tuple[Point, ...]:
        """What lies between two shares of the length."""
        whole, walked, between = self.length, 0.0, list[Point]()
        for a, b in pairwise(self.points):
            walked += hypot(b[0] - a[0], b[1] - a[1])
            if start * whole < walked < end * whole:
                between.append(b)
        return (self.at(start)[0], *between, self.at(end)[0])


def along(strokes: Sequence[Stroke], near_end: Point | None) -> Along | None:
    """The strokes of a block as one line; of track that branches the longest. None where there are too many to try.
    ``near_end`` is the place of its near end, where that is known; else the left end is taken as that."""
    if not 0 < len(strokes) <= MOST_STROKES:
        return None
    points = [one.points for one in strokes]
    best = max((Along(way) for way in _ways(points)), key=lambda one: (round(one.length, 3), one.points))
    line = best.points
    turned = line[-1] < line[0] if near_end is None else _far(line[-1], near_end) < _far(line[0], near_end)
    return Along(line[::-1] if turned else line)


def _far(one: Point, other: Point) -> float:
    return hypot(one[0] - other[0], one[1] - other[1])


def _ways(strokes: Sequence[tuple[Point, ...]]) -> Iterator[tuple[Point, ...]]:
    """Every line that strokes can be put together to, each once."""
    waiting = [(way, frozenset({at})) for at, one in enumerate(strokes) for way in (one, one[::-1])]
    while waiting:
        way, used = waiting.pop()
        yield way
        for at, one in enumerate(strokes):
            ends = (one, one[::-1]) if at not in used else ()
            waiting += [((*way, *other[1:]), used | {at}) for other in ends if near(way[-1], other[0])]
