"""Double track: two rings with crossovers between them, one within the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import frozen

from blockcheck.drawing.figures.figure import LEAD, ROW, Figure, Fork, Point
from blockcheck.drawing.figures.loops import bend, split
from blockcheck.drawing.figures.maker import Maker, up_to_row
from blockcheck.drawing.figures.runs import laid, run
from blockcheck.drawing.plan.parts import Item, Siding, Stretch, backwards

Items = tuple[Item, ...]
APART = 1.5 * ROW
"""From ring to ring."""


@frozen
class Column:
    """What lies side by side on both rings: the halves of a crossover, or parts of a run, the inner ring's first."""

    pair: tuple[Items, Items]
    crossover: bool = False

    @property
    def forks(self) -> tuple[Siding, Siding]:
        one, other = self.pair[0][0], self.pair[1][0]
        assert isinstance(one, Siding)
        assert isinstance(other, Siding)
        return one, other


@frozen(eq=False)
class Bends:
    """What lies at the right and at the left end of one ring: below, in the bend, above."""

    right: tuple[Items, Stretch | None, Items]
    left: tuple[Items, Stretch | None, Items]


def rung(item: Item) -> str | None:
    """The letter of half a crossover."""
    return item.rung if isinstance(item, Siding) else None


def double(maker: Maker, inner: Items, outer: Items) -> Figure | None:
    """Both rings; None where their crossovers do not follow each other in one order, or there are none."""
    ours = {rung(one) for one in inner} & {rung(one) for one in outer} - {None}
    first = next((one for one in map(rung, inner) if one in ours), None)
    if first is None:
        return None
    rungs, parts = _divided(inner, first, ours)
    there, theirs = _divided(outer, first, ours)
    if rungs[0].turned == there[0].turned:
        there, theirs = _divided(backwards(outer), first, ours)
    same = [one.rung for one in rungs] == [one.rung for one in there]
    if not same or any(one.turned == other.turned for one, other in zip(rungs, there, strict=True)):
        return None
    return _Double(maker, _columns(maker, rungs, parts, there, theirs)).figure()


def _divided(ring: Items, first: str, ours: set[str | None]) -> tuple[list[Siding], list[Items]]:
    """The crossovers of a ring from the first on, and what lies behind each."""
    start = next(at for at, one in enumerate(ring) if rung(one) == first)
    rungs: list[Siding] = []
    parts: list[list[Item]] = []
    for one in ring[start:] + ring[:start]:
        if isinstance(one, Siding) and one.rung in ours:
            rungs.append(one)
            parts.append([])
        else:
            parts[-1].append(one)
    return rungs, [*map(tuple, parts)]


@frozen(eq=False)
class _Sides:
    below: list[Column]
    above: list[Column]
    bends: tuple[Bends, Bends]


def _bends(maker: Maker, parts: Sequence[Items]) -> Bends:
    if len(parts) == 1:
        third = len(parts[0]) // 3
        return Bends((parts[0][:third], None, parts[0][third:]), ((), None, ()))
    middle = (len(parts) + 1) // 2
    right, left = (split(maker, laid, part) if part else ((), None, ()) for part in (parts[middle - 1], parts[-1]))
    return Bends(right, left)


def _columns(maker: Maker, rungs: list[Siding], parts: list[Items], there: list[Siding], theirs: list[Items]) -> _Sides:
    """Below from left to right, above from right to left."""
    count, middle = len(rungs), (len(rungs) + 1) // 2
    inner, outer = _bends(maker, parts), _bends(maker, theirs)
    below = [Column((inner.left[2], outer.left[2]))] if count > 1 else []
    above = [Column((inner.right[2], outer.right[2]))]
    for at in range(count):
        side = below if at < middle else above
        side.append(Column(((rungs[at],), (there[at],)), crossover=True))
        if at not in (middle - 1, count - 1):
            side.append(Column((parts[at], theirs[at])))
    below.append(Column((inner.right[0], outer.right[0])))
    if count > 1:
        above.append(Column((inner.left[0], outer.left[0])))
    return _Sides(below, above, (inner, outer))


@frozen(eq=False)
class _Double:
    maker: Maker
    sides: _Sides

    def figure(self) -> Figure:
        width = self._width()
        inward = [
            max(
                (run(self.maker, one.pair[0]).extent[3] for one in side if not one.crossover and one.pair[0]), default=0
            )
            for side in (self.sides.below, self.sides.above)
        ]
        height = max(3 * ROW, up_to_row(sum(inward) + 2 * ROW))
        made = Figure(width=width)
        self._row(made, self.sides.below, 1, 0.0, width)
        self._row(made, self.sides.above, -1, -height, width)
        for ring, distance in enumerate((0.0, APART)):
            self._bends(made, ring, distance, (width, height))
        return made

    def _widths(self, side: Sequence[Column]) -> list[float]:
        crossing = APART * self.maker.run + 2 * LEAD
        return [
            crossing if one.crossover else max(run(self.maker, part).width if part else 0.0 for part in one.pair)
            for one in side
        ]

    def _width(self) -> float:
        ends = [
            within for bends in self.sides.bends for within in (bends.right[1], bends.left[1]) if within is not None
        ]
        rows = (sum(self._widths(side)) for side in (self.sides.below, self.sides.above))
        return max(4 * ROW, *rows, sum(self.maker.width(one.block) for one in ends))

    def _edge(self, side: Sequence[Column], ring: int, last: bool) -> str:
        """The block at the first or last end of a row."""
        for one in reversed(side) if last else side:
            name = self.maker.end_block(one.pair[ring], first=not last)
            if name is not None:
                return name
        raise AssertionError(side)

    def _row(self, made: Figure, side: list[Column], way: int, y: float, width: float) -> None:
        widths = self._widths(side)
        lead = (width - sum(widths)) / 2
        x = lead if way > 0 else width - lead
        for ring, distance in ((0, 0.0), (1, way * APART)):
            ends = self._edge(side, ring, False), self._edge(side, ring, True)
            first, last = ends if way > 0 else ends[::-1]
            made.line(first, (0, y + distance), (lead, y + distance))
            made.line(last, (width - lead, y + distance), (width, y + distance))
        for at, (one, wide) in enumerate(zip(side, widths, strict=True)):
            if one.crossover:
                self._crossover(made, one, way, (x, y), wide)
            else:
                for ring in (0, 1):
                    self._part(made, side, at, ring, way, (x, y), wide)
            x += way * wide

    def _crossover(self, made: Figure, column: Column, way: int, at: Point, wide: float) -> None:
        one, other = column.forks
        a, b = self.maker.throat(one.fork), self.maker.throat(other.fork)
        (x, y), across = at, (-1 if one.turned else 1) * way
        middle, half = x + way * wide / 2, APART * self.maker.run / 2
        start, stop = (middle - across * half, y), (middle + across * half, y + way * APART)
        centre = (middle, y + way * APART / 2)
        for block, row, point in ((a, y, start), (b, y + way * APART, stop)):
            made.line(block, (x, row), (x + way * wide, row))
            made.line(block, point, centre)
        made.add(Fork(start, one.fork, (-across, 0), (across, 0), self.maker.slope(across, way)))
        made.add(Fork(stop, other.fork, (across, 0), (-across, 0), self.maker.slope(-across, -way)))

    def _part(self, made: Figure, side: list[Column], at: int, ring: int, way: int, point: Point, wide: float) -> None:
        """A part of one ring: the outer ring's parts point outward, the inner one's inward."""
        x, y = point[0], point[1] + (way * APART if ring else 0.0)
        items = side[at].pair[ring]
        if not items:
            made.line(self._nearest(side, at, ring), (x, y), (x + way * wide, y))
            return
        spare = (wide - run(self.maker, items).width) / 2
        made.put(run(self.maker, items, ends=(spare, spare)), x, y, way, way * (1 if ring else -1))

    def _nearest(self, side: list[Column], at: int, ring: int) -> str:
        """The block that an empty column is taken by: of the one before, else of the one behind."""
        for one in reversed(side[:at]):
            name = self.maker.end_block(one.pair[ring], first=False)
            if name is not None:
                return name
        return self._edge(side[at:], ring, False)

    def _bends(self, made: Figure, ring: int, distance: float, size: tuple[float, float]) -> None:
        width, height = size
        for way, within in self._ends(ring):
            below = self._edge(self.sides.below, ring, way > 0)
            above = self._edge(self.sides.above, ring, way < 0)
            part = Figure()
            ends = (0.0, distance), (0.0, -height - distance)
            bend(self.maker, part, ends, distance * 0.4 + 3, within, (below, above), outside=bool(ring))
            made.put(part, width if way > 0 else 0.0, 0.0, way)

    def _ends(self, ring: int) -> Iterator[tuple[int, Stretch | None]]:
        bends = self.sides.bends[ring]
        yield 1, bends.right[1]
        yield -1, bends.left[1].back() if bends.left[1] is not None else None
