"""Track that bends back: the half round at the end of a ring or a fold, and the balloon."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, pi, sin

from blockcheck.drawing.figures.figure import LEAD, ROW, Figure, Fork, Gap, Moved, Pending, Point, Room
from blockcheck.drawing.figures.maker import Maker, up_to_row
from blockcheck.drawing.plan.parts import Balloon, Item, Stretch, backwards

Laid = Callable[..., Figure]
HangAll = Callable[..., None]
BONUS = 12.0
"""How much longer one side may be for a block to lie in the bend."""
STEPS = 4
"""Of a bend."""


def bend(
    maker: Maker,
    made: Figure,
    ends: tuple[Point, Point],
    x: float,
    within: Stretch | None,
    blocks: tuple[str, str],
    outside: bool = False,
) -> None:
    """From the lower end, going right, round to the upper, beyond ``x``: in one block, or half in each of two.

    The block's words stand within the bend, or outside.
    """
    low, high = ends
    radius = min(ROW, (low[1] - high[1]) / 2)
    middle = (x + radius, (low[1] + high[1]) / 2)
    lower = [low, *_quarter((x, low[1] - radius), radius, pi / 2, 0), middle]
    upper = [middle, *_quarter((x, high[1] + radius), radius, 0, -pi / 2), high]
    if within is None:
        made.line(blocks[0], *lower)
        made.line(blocks[1], *upper)
        return
    made.line(within.block, *lower, *upper)
    made.add(Room(middle, within.block, maker.room(within.block), 1 if outside else -1))
    for point, joint in ((low, within.joint_first), (high, within.joint_last)):
        if joint is not None:
            made.add(Gap(point, joint))


def _quarter(centre: Point, radius: float, start: float, stop: float) -> list[Point]:
    angles = [start + (stop - start) * step / STEPS for step in range(STEPS + 1)]
    return [(centre[0] + radius * cos(one), centre[1] + radius * sin(one)) for one in angles]


def split(
    maker: Maker, laid: Laid, items: Sequence[Item], least: float = 0.0
) -> tuple[tuple[Item, ...], Stretch | None, tuple[Item, ...]]:
    """What lies on the lower side, in the bend and on the upper side of a loop, so that the sides are about as long."""
    items = maker.helices(items)
    if len(items) == 1 and isinstance(items[0], Stretch):
        return (), items[0], ()
    widths = [laid(maker, [item]).width for item in items]
    best: tuple[float, int] | None = None
    found: tuple[tuple[Item, ...], Stretch | None, tuple[Item, ...]] = (tuple(items), None, ())
    for count in range(len(items) + 1):
        within = items[count] if count < len(items) else None
        for one in (None, within) if isinstance(within, Stretch) else (None,):
            rest = count + (one is not None)
            cost = abs(sum(widths[:count]) + least - sum(widths[rest:])) - BONUS * (one is not None)
            if best is None or (cost, count) < best:
                best, found = (cost, count), (tuple(items[:count]), one, tuple(items[rest:]))
    return found


def balloon(maker: Maker, laid: Laid, hang_all: HangAll, item: Balloon) -> Figure:
    """A loop from the through leg round to the diverging one, with its toe at the left."""
    low, within, high = split(maker, laid, item.items, 10)
    own = maker.throat(item.fork)
    lower, upper = laid(maker, low, start=own), laid(maker, backwards(high), -1, own)
    height = up_to_row(max(3 * ROW, upper.extent[3] - lower.extent[1] + ROW))
    start, over = 2 * LEAD, LEAD + height * maker.run
    room = maker.width(within.block) - ROW if within is not None else 0.0
    right = max(start + lower.width + LEAD, over + upper.width, over + room) + 2
    above = over + (right - over - upper.width) / 2
    made = Figure()
    made.line(own, (0, 0), (LEAD, 0), (start, 0))
    made.line(own, (LEAD, 0), (over, -height))
    made.line(maker.end_block(high, first=False) or own, (over, -height), (above, -height))
    made.put(lower, start)
    made.put(upper, above, -height)
    first = maker.end_block(low, first=False) or (within.block if within else own)
    last = maker.end_block(high) or (within.block if within else own)
    ends = (start + lower.width, lower.end), (above + upper.width, upper.end - height)
    bend(maker, made, ends, right, within, (first, last))
    made.add(Fork((LEAD, 0), item.fork, (-1, 0), (1, 0), maker.slope(1, -1)))
    hang_all(maker, made, moved(lower.pending, Moved(start), 1) + moved(upper.pending, Moved(above, -height), -1))
    return made.shaped(made.extent[2])


def moved(pending: Sequence[Pending], by: Moved, side: int) -> list[Pending]:
    """What is pending, where its run has come to lie."""
    return [one.moved(by, side) for one in pending]
