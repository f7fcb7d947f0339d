"""A triangle: its base on the line, its top over it."""

from __future__ import annotations

from collections.abc import Callable

from blockcheck.drawing.figures.figure import BELOW, LEAD, ROW, Figure, Fork, Gap, Moved, Pending, Point, Room
from blockcheck.drawing.figures.maker import Maker, up_to_row
from blockcheck.drawing.plan.parts import Item, Stretch, Triangle


def triangle(maker: Maker, laid: Callable[..., Figure], item: Triangle) -> Figure:
    """Three turnouts; from the left one's toe to the right one's, and what ends at the top's. It points out of a ring.

    What hangs on its base waits until its sides stand, and hangs out of it where there is room.
    """
    own = (maker.throat(item.left), maker.throat(item.right), maker.throat(item.top))
    least = sum(maker.room(one.block) for one in (*item.left_side, *item.right_side) if isinstance(one, Stretch))
    half = up_to_row(max(laid(maker, item.base).width / 2 + LEAD + ROW / 2, 4 * ROW, least / 2 + ROW))
    width = 2 * (half + LEAD)
    left, right, top = (LEAD, 0.0), (LEAD + 2 * half, 0.0), (LEAD + half, -half / maker.run)
    made = Figure(width=width)
    made.line(own[0], (0, 0), left)
    made.line(own[1], right, (width, 0))
    base = _base(maker, laid, made, item, (left, right))
    _side(maker, made, item.left_side, (own[0], own[2]), left, top)
    _side(maker, made, item.right_side, (own[1], own[2]), right, top)
    tail = laid(maker, item.tail, start=own[2])
    start = (top[0] + ROW / 2 + LEAD, top[1] - LEAD - ROW / 2)
    made.line(own[2], top, (top[0], top[1] - LEAD), (top[0] + ROW / 2, start[1]), start)
    made.put(tail, *start)
    _signs(maker, made, item, (left, right, top))
    pending = base + [one.moved(Moved(*start), one.side) for one in tail.pending]
    return made.mirrored().shaped(width, 0.0, tuple(one.moved(Moved(down=-1), -one.side) for one in pending))


def _base(
    maker: Maker, laid: Callable[..., Figure], made: Figure, item: Triangle, ends: tuple[Point, Point]
) -> list[Pending]:
    left, right = maker.throat(item.left), maker.throat(item.right)
    a, b = ends[0][0] + ROW / 2, ends[1][0] - ROW / 2
    made.line(left, ends[0], (a, 0))
    made.line(right, (b, 0), ends[1])
    if not item.base:
        made.line(left, (a, 0), ((a + b) / 2, 0))
        made.line(right, ((a + b) / 2, 0), (b, 0))
        return []
    spare = (b - a - laid(maker, item.base).width) / 2
    base = laid(maker, item.base, ends=(spare, spare))
    made.put(base, a)
    return [one.moved(Moved(a), 1) for one in base.pending]


def _side(maker: Maker, made: Figure, items: tuple[Item, ...], own: tuple[str, str], foot: Point, top: Point) -> None:
    """A side, with the leads of the turnouts at both its ends."""
    way, rise = (1 if top[0] > foot[0] else -1), ROW / 2
    low = (foot[0] + way * rise * maker.run, foot[1] - rise)
    high = (top[0] - way * rise * maker.run, top[1] + rise)
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    made.line(own[0], foot, low)
    made.line(own[1], high, top)
    if not items:
        made.line(own[0], low, middle)
        made.line(own[1], middle, high)
    for item in items:
        assert isinstance(item, Stretch)
        made.line(item.block, low, high)
        beside = (middle[0] - way * BELOW * maker.run, middle[1])  # clear of the slope over and under the middle
        made.add(Room(beside, item.block, maker.room(item.block), -way))
        for point, joint in ((low, item.joint_first), (high, item.joint_last)):
            if joint is not None:
                made.add(Gap(point, joint))


def _signs(maker: Maker, made: Figure, item: Triangle, corners: tuple[Point, Point, Point]) -> None:
    for number, (fork, at) in enumerate(zip((item.left, item.right), corners, strict=False)):
        way = -1 if number else 1
        base, side = (way, 0.0), maker.slope(way, -1)
        legs = (base, side) if item.legs[number] == "through" else (side, base)
        made.add(Fork(at, fork, (-way, 0), *legs))
    left, right = maker.slope(-1, 1), maker.slope(1, 1)
    made.add(Fork(corners[2], item.top, (0, -1), *((left, right) if item.legs[2] == "through" else (right, left))))
