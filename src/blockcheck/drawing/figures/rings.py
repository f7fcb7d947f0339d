"""A ring: a rounded rectangle, heaviest part on the bottom, yards outward; with a way across, where there is one."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve, frozen

from blockcheck.drawing.figures.eights import eight
from blockcheck.drawing.figures.figure import ROW, Figure, Fork, Moved, Pending, Point
from blockcheck.drawing.figures.loops import BONUS, bend, moved
from blockcheck.drawing.figures.maker import Maker, up_to_row
from blockcheck.drawing.figures.runs import hang_all, laid, run
from blockcheck.drawing.plan.parts import Cut, Item, Siding, Stretch, backwards, weight

Items = tuple[Item, ...]


@frozen
class Sides:
    """What lies on each side of a ring: below and above read on round the ring, the ends one block or none."""

    below: Items
    right: Stretch | None
    above: Items
    left: Stretch | None


@frozen
class Chord:
    """Both halves of a cut that lie across from each other."""

    low: Pending
    high: Pending
    items: Items


def ring(maker: Maker, items: Items) -> Figure:
    """A closed way round."""
    items = maker.helices(_alone(items))
    start = max(range(len(items)), key=lambda at: (weight([items[at]]), -at))
    items = items[start:] + items[:start]
    crossed = eight(maker, run, items)
    if crossed is not None:
        return crossed
    sides = _sides(maker.trial(), items)
    below, above = laid(maker, sides.below), laid(maker, sides.above)
    return _closed(maker, sides, below, above)


def _alone(items: Items) -> Items:
    """A block that meets itself has one joint, not two."""
    only = items[0]
    if len(items) == 1 and isinstance(only, Stretch):
        return (Stretch(only.block, only.turned, only.joint_first),)
    return items


def _sides(maker: Maker, items: Items) -> Sides:
    """The cut into four with the least difference of lengths."""
    widths = [laid(maker, [item]).width for item in items]
    best: tuple[float, ...] | None = None
    found = Sides(items, None, (), None)
    for before, count, right, left in _cuts(items):
        last = len(items) - before - left
        low = sum(widths[:count]) + sum(widths[len(items) - before :])
        cost = abs(low - sum(widths[count + right : last])) - BONUS * (right + left) + 6 * (right != left) + 3 * before
        key = (cost, count, before, -right)
        if best is None or key < best:
            best = key
            ends = items[count] if right else None, items[last] if left else None
            assert all(one is None or isinstance(one, Stretch) for one in ends)
            below = items[len(items) - before :] + items[:count]
            found = Sides(below, ends[0], items[count + right : last], ends[1])  # type: ignore[arg-type]
    return found


def _cuts(items: Items) -> Iterator[tuple[int, int, int, int]]:
    """How many come before the first on the bottom and how many from it on, and whether blocks lie in the ends."""
    count = len(items)
    for first in range(1, count + 1):
        for right in (0, 1):
            if right and not (first < count and isinstance(items[first], Stretch)):
                continue
            for left in (0, 1):
                for before in range(count - first - right - left + 1):
                    at = count - before - 1
                    if not left or (at >= first + right and isinstance(items[at], Stretch)):
                        yield before, first, right, left


def _closed(maker: Maker, sides: Sides, below: Figure, above: Figure) -> Figure:
    over = above.half_turned()
    height = up_to_row(max(3 * ROW, over.extent[3] - below.extent[1] + ROW))
    ends = [one for one in (sides.left, sides.right) if one is not None]
    width = max(below.width, over.width, sum(maker.width(one.block) for one in ends) + 4)
    x_low, x_high = (width - below.width) / 2, (width - over.width) / 2
    chord = _chord(maker, below, above)
    if chord is not None:  # one end to the left below, the other to the right above
        height = max(height, 4 * ROW)
        need = height * maker.run + run(maker, chord.items).width + 6
        beyond = over.width - chord.high.at[0]
        if chord.low.way > 0:
            x_low, x_high = 0.0, max(width - over.width, chord.low.at[0] + need - beyond)
        else:
            x_high, x_low = 0.0, max(width - below.width, beyond + need - chord.low.at[0])
        width = max(x_low + below.width, x_high + over.width)
    made = Figure(width=width)
    made.put(below, x_low)
    made.put(over, x_high, -height)
    _ends(maker, made, sides, ((x_low, below), (x_high, over)), (width, height))
    low, high = Moved(x_low), Moved(x_high + above.width, above.end - height, -1, -1)
    pending = moved(below.pending, low, 1) + moved(above.pending, high, -1)
    pending = [evolve(one, side=-one.side) if _inward(maker, one) else one for one in pending]
    if chord is not None:
        pending = [one for one in pending if one.siding not in (chord.low.siding, chord.high.siding)]
        _across(maker, made, chord, (chord.low.moved(low, 1), chord.high.moved(high, -1)), height)
    hang_all(maker, made, pending)
    return made


def _inward(maker: Maker, pending: Pending) -> bool:
    assert isinstance(pending.siding, Siding)
    return maker.throat(pending.siding.fork) in maker.inward


def _ends(
    maker: Maker,
    made: Figure,
    sides: Sides,
    rows: tuple[tuple[float, Figure], tuple[float, Figure]],
    size: tuple[float, float],
) -> None:
    """The bends at the right and at the left."""
    (x_low, low), (x_high, high) = rows
    width, height = size
    first = maker.end_block(sides.below) or ""
    last = maker.end_block(sides.below, first=False) or ""
    over = maker.end_block(sides.above), maker.end_block(sides.above, first=False)
    for way, within, names in (
        (1, sides.right, (last, over[0] or (sides.left.block if sides.left else last))),
        (
            -1,
            sides.left.back() if sides.left else None,
            (first, over[1] or (sides.right.block if sides.right else first)),
        ),
    ):
        a = (x_low + low.width, low.end) if way > 0 else (x_low, 0.0)
        b = (x_high + high.width, high.end - height) if way > 0 else (x_high, -height)
        part = Figure()
        beyond = max(0.0, way * ((width if way > 0 else 0.0) - a[0])) + 3
        bend(maker, part, ((0, 0), (way * (b[0] - a[0]), b[1] - a[1])), beyond, within, names)
        made.put(part, *a, way)


def _chord(maker: Maker, below: Figure, above: Figure) -> Chord | None:
    """Two ends of one cut that can be joined across the ring."""
    for low in below.pending:
        for high in above.pending:
            one, other = low.siding, high.siding
            assert isinstance(one, Siding)
            assert isinstance(other, Siding)
            ends = one.items[-1], other.items[-1]
            if (
                all(isinstance(end, Cut) for end in ends)
                and ends[0].letter == ends[1].letter  # type: ignore[union-attr]
                and one.leg == other.leg == "through"
                and low.way == high.way
            ):
                items = one.items[:-1] + backwards(other.items[:-1])
                if run(maker, items).end == 0:
                    return Chord(low, high, items)
    return None


def _across(maker: Maker, made: Figure, chord: Chord, ends: tuple[Pending, Pending], height: float) -> None:
    """Draw it: level in the middle, at an angle at both turnouts."""
    low, high = ends
    way, middle = low.way, -height / 2
    forks = [chord.low.siding, chord.high.siding]
    assert all(isinstance(one, Siding) for one in forks)
    names = [one.fork for one in forks if isinstance(one, Siding)]
    first: Point = (low.at[0] + way * (low.at[1] - middle) * maker.run, middle)
    last: Point = (high.at[0] - way * (middle - high.at[1]) * maker.run, middle)
    blocks = [maker.throat(name) for name in names]
    body = Figure()
    length = abs(last[0] - first[0])
    if chord.items:
        spare = max(0.0, length - run(maker, chord.items).width) / 2
        body = run(maker, chord.items, ends=(spare, spare))
    else:
        body.line(blocks[0], (0, 0), (length / 2, 0))
        body.line(blocks[1], (length / 2, 0), (length, 0))
    made.line(blocks[0], low.at, first)
    made.put(body, *first, way)
    made.line(blocks[1], last, high.at)
    made.add(Fork(low.at, names[0], (-way, 0), (way, 0), maker.slope(way, -1)))
    made.add(Fork(high.at, names[1], (way, 0), (-way, 0), maker.slope(-way, 1)))
