"""A picture read back: which blocks touch in it, and whether its track is clean."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from math import hypot

from attrs import frozen

from blockcheck.drawing.figures.figure import End, Figure, Fork, Point, near

Segment = tuple[Point, Point]
GRID = 16.0
"""Cells by which segments that could meet are found."""
CLEAR = 1.5
"""How far an end stays from track that it does not end, so that it does not seem to lead into it."""


@frozen
class Faults:
    """What is wrong with a picture: the places where track lies on track, ends on track or beside it, ends loose, or
    crosses."""

    over: tuple[Point, ...] = ()
    on_track: tuple[Point, ...] = ()
    loose: tuple[Point, ...] = ()
    crossing: tuple[Point, ...] = ()
    beside: tuple[Point, ...] = ()

    @property
    def places(self) -> tuple[Point, ...]:
        return (*self.over, *self.on_track, *self.loose, *self.crossing, *self.beside)


def touching(figures: Iterable[Figure]) -> set[frozenset[str]]:
    """The pairs of blocks whose track meets: at one place, or by two arrows of one letter."""
    found: set[frozenset[str]] = set()
    arrows: dict[str, set[str]] = {}
    for figure in figures:
        at: dict[tuple[int, int], set[str]] = {}
        for stroke in figure.strokes:
            for point in (stroke.points[0], stroke.points[-1]):
                at.setdefault(_cell(point), set()).add(stroke.block)
        for end in figure.parts:
            if isinstance(end, End) and end.letter:
                arrows.setdefault(end.letter, set()).update(at.get(_cell(end.at), ()))
        for names in at.values():
            found |= {frozenset(pair) for pair in combinations(names, 2)}
    return found | {frozenset(pair) for names in arrows.values() for pair in combinations(names, 2)}


def _cell(point: Point) -> tuple[int, int]:
    return round(point[0] * 10), round(point[1] * 10)


def audit(figure: Figure) -> Faults:
    """What is wrong with one figure."""
    segments = [
        (one, other)
        for stroke in figure.strokes
        for one, other in zip(stroke.points, stroke.points[1:], strict=False)
        if not near(one, other)
    ]
    forks = [part.at for part in figure.parts if isinstance(part, Fork)]
    ends = [part.at for part in figure.parts if isinstance(part, End)]
    over: list[Point] = []
    crossing: list[Point] = []
    beside: dict[int, set[int]] = {number: set() for number in range(len(segments))}
    cells = _cells(segments)
    for number, other in {pair for numbers in cells.values() for pair in combinations(numbers, 2)}:
        beside[number].add(other)
        beside[other].add(number)
        one, two = segments[number], segments[other]
        shared = [point for point in two if lies_on(point, one)] + [point for point in one if lies_on(point, two)]
        if len(shared) > 1 and not near(shared[0], shared[1]):
            over.append(shared[0])
        if _crosses(one, two):
            crossing.append(one[0])
    on_track: list[Point] = []
    loose: list[Point] = []
    for number, segment in enumerate(segments):
        others = [segments[other] for other in beside[number]]
        for point in segment:
            inside = any(lies_on(point, other) for other in others)
            forked = any(near(point, fork) for fork in forks)
            if inside and not forked:
                on_track.append(point)
            met = inside or forked or any(near(point, end) for other in others for end in other)
            if not met and not any(near(point, end) for end in ends):
                loose.append(point)
    near_ends = [
        end
        for end in ends
        for segment in (segments[number] for number in cells.get((int(end[0] // GRID), int(end[1] // GRID)), ()))
        if not any(near(end, point) for point in segment) and _far(end, segment) < CLEAR
    ]
    return Faults(tuple(over), tuple(on_track), tuple(loose), tuple(crossing), tuple(near_ends))


def _cells(segments: list[Segment]) -> dict[tuple[int, int], list[int]]:
    """Cell -> the segments that lie in it, or so near that an end there would seem to lead into them."""
    cells: dict[tuple[int, int], list[int]] = {}
    for number, (one, other) in enumerate(segments):
        xs, ys = sorted((one[0], other[0])), sorted((one[1], other[1]))
        for x in range(int((xs[0] - CLEAR) // GRID), int((xs[1] + CLEAR) // GRID) + 1):
            for y in range(int((ys[0] - CLEAR) // GRID), int((ys[1] + CLEAR) // GRID) + 1):
                cells.setdefault((x, y), []).append(number)
    return cells


def _far(point: Point, segment: Segment) -> float:
    """How far a point is from a segment."""
    (x, y), (u, v) = segment
    share = ((point[0] - x) * (u - x) + (point[1] - y) * (v - y)) / ((u - x) ** 2 + (v - y) ** 2)
    share = min(max(share, 0.0), 1.0)
    return hypot(point[0] - x - share * (u - x), point[1] - y - share * (v - y))


def lies_on(point: Point, segment: Segment, by: float = 0.06) -> bool:
    """Whether a point lies on a segment, but not at its ends."""
    (x, y), (u, v) = segment
    long = hypot(u - x, v - y)
    if abs((point[0] - x) * (v - y) - (point[1] - y) * (u - x)) / long > by:
        return False
    share = ((point[0] - x) * (u - x) + (point[1] - y) * (v - y)) / long / long
    return by / long < share < 1 - by / long


def _crosses(one: Segment, other: Segment) -> bool:
    def side(segment: Segment, point: Point) -> float:
        (x, y), (u, v) = segment
        return (u - x) * (point[1] - y) - (v - y) * (point[0] - x)

    return side(one, other[0]) * side(one, other[1]) < -1e-6 and side(other, one[0]) * side(other, one[1]) < -1e-6
