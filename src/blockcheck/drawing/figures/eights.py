"""A figure of eight, where a group says that it is one: two rings, with the track that they share between them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from blockcheck.drawing.figures.figure import LEAD, ROW, Figure, Fork
from blockcheck.drawing.figures.maker import Maker
from blockcheck.drawing.plan.parts import Item, Lens, Stretch, blocks


def eight(maker: Maker, run: Callable[..., Figure], items: Sequence[Item]) -> Figure | None:
    """The eight of a ring of two legs and a shared run of plain blocks; None for any other ring."""
    lens, shared = items[0], items[1:]
    if not isinstance(lens, Lens) or lens.turned or not shared:
        return None
    legs = [*lens.left.leaves()]
    runs = [shared, *(leaf.items for leaf in legs)]
    if len(legs) != 2 or not all(one and all(isinstance(item, Stretch) for item in one) for one in runs):
        return None
    if len([*lens.right.leaves()]) != 2 or not maker.eights & {name for one in runs for name in blocks(one)}:
        return None
    return _drawn(maker, run, lens, tuple(shared))


def _drawn(maker: Maker, run: Callable[..., Figure], lens: Lens, shared: tuple[Item, ...]) -> Figure:
    middle = run(maker, shared)
    rings = [run(maker, leaf.items).half_turned() for leaf in lens.left.leaves()]
    width = max(middle.width + 2 * (2 * ROW + LEAD), *(one.width for one in rings))
    start = (width - middle.width) / 2
    right, left = start + middle.width + LEAD, start - LEAD
    own = maker.throat(lens.left.fork), maker.throat(lens.right.fork)
    made = Figure(width=width)
    made.put(middle, start)
    made.line(own[0], (start + middle.width, 0), (right, 0))
    made.line(own[1], (start, 0), (left, 0))
    for side, leaf, body in zip((-1, 1), lens.left.leaves(), rings, strict=True):
        x = (width - body.width) / 2
        made.put(body, x, 3 * ROW * side)
        names = blocks(leaf.items)
        for way, fork, throat, name in ((1, right, own[0], names[0]), (-1, left, own[1], names[-1])):
            target = x + body.width if way > 0 else x
            _half(
                maker,
                made,
                (way, side),
                fork,
                target,
                max(way * fork + ROW, way * (width if way > 0 else 0)),
                (throat, name),
            )
    upper = next(lens.left.leaves()).edge
    crossed = next(lens.right.leaves()).edge != upper
    up, down = maker.slope(1, -1), maker.slope(1, 1)
    made.add(Fork((right, 0), lens.left.fork, (-1, 0), up, down))
    up, down = maker.slope(-1, -1), maker.slope(-1, 1)
    made.add(Fork((left, 0), lens.right.fork, (1, 0), *((down, up) if crossed else (up, down))))
    return made


def _half(
    maker: Maker, made: Figure, ways: tuple[int, int], fork: float, target: float, edge: float, blocks: tuple[str, str]
) -> None:
    """From a turnout round one end of one ring to where its track begins."""
    way, side = ways
    run, half = maker.run, ROW / 2
    lead = (fork + way * half * run, side * half)
    made.line(blocks[0], (fork, 0), lead)
    out = way * edge + way * half
    points = [lead, (fork + way * ROW * run, side * ROW), (out - way * half, side * ROW)]
    points += [
        (out, side * 1.5 * ROW),
        (out, side * 2.5 * ROW),
        (out - way * half, side * 3 * ROW),
        (target, side * 3 * ROW),
    ]
    made.line(blocks[1], *points)
