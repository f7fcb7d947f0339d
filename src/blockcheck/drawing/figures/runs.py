"""Parts side by side, and what hangs on their turnouts: placed last, on the nearest row that is free."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from blockcheck.drawing.figures.fans import fanned
from blockcheck.drawing.figures.figure import LEAD, ROW, Extent, Figure, Fork, Moved, Pending, meet
from blockcheck.drawing.figures.helix import coil
from blockcheck.drawing.figures.loops import balloon
from blockcheck.drawing.figures.maker import Maker
from blockcheck.drawing.figures.triangles import triangle
from blockcheck.drawing.plan.parts import (
    Balloon,
    Coil,
    Cut,
    Item,
    Lens,
    Siding,
    Stop,
    Stretch,
    Triangle,
    Yard,
    blocks,
    forks,
)

MOST_ROWS = 60
"""How far from its turnout a pendant is looked a place for."""


def run(
    maker: Maker, items: Sequence[Item], side: int = 1, start: str | None = None, ends: tuple[float, float] = (0, 0)
) -> Figure:
    """A run with all that hangs on it.

    ``start`` is the block before it; ``ends`` how much longer it is at either end.
    """
    made = laid(maker, items, side, start, ends)
    hang_all(maker, made, made.pending)
    return made


def laid(
    maker: Maker, items: Sequence[Item], side: int = 1, start: str | None = None, ends: tuple[float, float] = (0, 0)
) -> Figure:
    """A run; what hangs on it is pending."""
    items = maker.helices(items)
    made = Figure()
    pending: list[Pending] = []
    x = y = 0.0
    block = start or maker.end_block(items) or ""
    last = len(items) - 1 - (len(items) > 1 and isinstance(items[-1], Stop))
    for number, item in enumerate(items):
        before, after = ends[0] * (number == 0), ends[1] * (number == last)
        if isinstance(item, Stretch):
            part = maker.stretch(item, before, after)
        else:
            part = _extended(maker, item, _part(maker, item, number, block, side, len(items)), (before, after))
        pending += [one.moved(Moved(x, y), one.side) for one in part.pending]
        made.put(part, x, y)
        x, y = x + part.width, y + part.end
        block = maker.end_block(items[: number + 1], first=False) or block
    return made.shaped(x, y, tuple(pending))


def _extended(maker: Maker, item: Item, part: Figure, ends: tuple[float, float]) -> Figure:
    """A part with track before and behind it."""
    before, after = ends
    first, last = maker.end_block([item]), maker.end_block([item], first=False)
    if before and first:
        made = Figure(width=part.width + before, end=part.end)
        made.put(part, before)
        made.line(first, (0, 0), (before, 0))
        part = made.shaped(made.width, made.end, tuple(one.moved(Moved(before, 0), one.side) for one in part.pending))
    if after and last:
        part.line(last, (part.width, part.end), (part.width + after, part.end))
        part = part.shaped(part.width + after, part.end, part.pending)
    return part


def _part(maker: Maker, item: Item, number: int, block: str, side: int, count: int) -> Figure:
    match item:
        case Siding():
            return _fork(maker, item, side)
        case Stop() | Cut():
            made = maker.stop(item, block)
        case Yard():
            made = fanned(maker, run, item.fan)
        case Lens():
            made = fanned(maker, run, item.left, item.right)
            made = made.reversed() if item.turned else made
            return made.mirrored() if maker.throat(item.left.fork) in maker.inward else made
        case Balloon():
            made = balloon(maker, laid, hang_all, item)
        case Triangle():
            return triangle(maker, laid, item)
        case Coil():
            return coil(maker, item)
        case _:
            raise TypeError(item)
    return made.flipped() if number == 0 and count > 1 else made


def _fork(maker: Maker, item: Siding, side: int) -> Figure:
    """The turnout of a siding, on its line."""
    block, way = maker.throat(item.fork), -1 if item.turned else 1
    spread = maker.spread.get(item.fork, 0.0)
    if item.leg == "through":
        made = Figure(width=2 * LEAD + 3 + spread)
        made.line(block, (0, 0), (made.width, 0))
        at = (LEAD if way > 0 else made.width - LEAD, 0.0)
        return made.shaped(made.width, 0.0, (Pending(item, at, way, side),))
    rise = ROW * side  # the line itself diverges
    first = LEAD + (spread if way < 0 else 0.0)
    bend = first + ROW * maker.run
    made = Figure(width=LEAD + bend + (spread if way > 0 else 0.0), end=rise)
    made.line(block, (0, 0), (first, 0), (bend, rise), (made.width, rise))
    at = (first, 0.0) if way > 0 else (bend, rise)
    return made.shaped(made.width, made.end, (Pending(item, at, way, side, side * way),))


def hang_all(maker: Maker, figure: Figure, pending: Iterable[Pending]) -> None:
    """Place what hangs, outermost along its direction first."""
    for one in sorted(pending, key=lambda one: -one.at[0] * one.way):
        siding = one.siding
        assert isinstance(siding, Siding)
        whole = siding.fork not in maker.apart
        if whole and _hang(maker, figure, siding, one):
            maker.hung.add(siding.fork)
            maker.extra.pop(siding.fork, None)  # that of another try
        else:
            _elsewhere(maker, figure, siding, one)


def _elsewhere(maker: Maker, figure: Figure, siding: Siding, pending: Pending) -> None:
    """An arrow here, and the pendant by itself."""
    if isinstance(siding.items[0], Cut):
        maker.unplaced.add(siding.fork)
        return
    for inner in [*forks(siding.items)]:  # they are placed where the pendant comes to lie
        maker.extra.pop(inner, None)
    letter = maker.letter(siding.fork)
    names = blocks(siding.items)
    maker.extra[siding.fork] = (Cut(letter, siding.fork), *siding.items)
    to = names[0] if names else maker.end_block(siding.items) or "there"
    if not _hang(maker, figure, Siding(siding.fork, siding.leg, (Cut(letter, to),), siding.turned), pending):
        maker.unplaced.add(siding.fork)


def _hang(maker: Maker, figure: Figure, siding: Siding, pending: Pending) -> bool:
    """Place a pendant on the nearest free row; False where there is none."""
    block, at, way, liked = maker.throat(siding.fork), pending.at, pending.way, pending.side
    straight = siding.leg != "through"  # it is the pendant that goes straight on
    only = siding.items[0]
    sloping = not straight and isinstance(only, Yard)
    if sloping:
        assert isinstance(only, Yard)
        body = fanned(maker, run, only.fan, sloping=True)
    else:
        body = run(maker, siding.items, start=block)
    if liked < 0:
        body = body.mirrored()
    taken = [*figure.boxes()]
    free = _free(taken, at)
    for rows in range(0 if straight else 1, MOST_ROWS):
        for side in (-liked, liked) if straight else (liked, -liked):
            if sloping and side != liked:
                continue
            path, x, y = _path(maker, block, rows * ROW * side, straight, sloping)
            whole = Figure()
            whole.put(body, at[0] + way * x, at[1] + y, way)
            way_there = Figure()
            way_there.put(path, *at, way)
            if free(whole, 0.0) and free(way_there, 7.0):
                figure.put(way_there)
                figure.put(whole)
                figure.add(_sign(maker, siding, pending, side))
                return True
    return False


def _path(maker: Maker, block: str, rise: float, straight: bool, sloping: bool) -> tuple[Figure, float, float]:
    """The way from a turnout to its pendant, and where that begins."""
    level = 2 * LEAD if straight else 0.0
    slope = level + abs(rise) * maker.run
    x = slope if sloping else slope + LEAD
    made = Figure()
    made.line(block, (0, 0), (level, 0), (slope, rise), (x, rise))
    return made, x, rise


def _free(taken: list[Extent], at: tuple[float, float]) -> Callable[[Figure, float], bool]:
    bands: dict[int, list[Extent]] = {}
    for box in taken:
        for band in _bands(box):
            bands.setdefault(band, []).append(box)

    def free(figure: Figure, spared: float) -> bool:
        """Whether nothing is where a figure would be; near the turnout its own track may."""
        for box in figure.boxes():
            close = max(abs(box[0] - at[0]), abs(box[2] - at[0])) < spared and abs(box[1] - at[1]) < spared - 1
            if not close and any(meet(box, other) for band in _bands(box) for other in bands.get(band, ())):
                return False
        return True

    return free


def _bands(box: Extent) -> range:
    return range(int((box[1] - 0.5) // 4), int((box[3] + 0.5) // 4) + 1)


def _sign(maker: Maker, siding: Siding, pending: Pending, side: int) -> Fork:
    way = pending.way
    if siding.leg == "through":
        return Fork(pending.at, siding.fork, (-way, 0), (way, 0), maker.slope(way, side))
    return Fork(pending.at, siding.fork, (-way, 0), (way, 0), maker.slope(way, pending.leaning))
