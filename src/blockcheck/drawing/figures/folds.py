"""A line; one that is too wide, winds up a helix or changes its deck is folded once, one half over the other."""

from __future__ import annotations

from collections.abc import Callable

from blockcheck.drawing.figures.figure import ROW, Figure, Moved
from blockcheck.drawing.figures.loops import bend, moved
from blockcheck.drawing.figures.maker import Maker, up_to_row
from blockcheck.drawing.figures.runs import hang_all, laid, run
from blockcheck.drawing.plan.parts import Coil, Cut, Item, Lens, Siding, Stop, Stretch, Yard

Items = tuple[Item, ...]
BEHIND_HELIX, BEHIND_GROUP = 60.0, 40.0
"""How much wider a half may be where the fold lies behind a helix, or where the group changes."""

MOST_FOLDED = 3.0
"""Times the widest; a line that is longer is cut into pieces."""


def line(maker: Maker, items: Items, widest: float, size: Callable[[Figure], float]) -> Figure:
    """A line, at most so wide if it can be. ``size`` is how large a figure could be drawn."""
    flat = maker.trial()
    plain = run(flat, items)
    items = maker.helices(items)
    climbs = any(isinstance(one, Coil) for one in items) or len(_decks(maker, items)) > 1
    left, _, right, _ = plain.extent
    wide = right - left
    folds = climbs or widest < wide <= MOST_FOLDED * widest
    at = _place(maker.trial(), items, widest) if folds else None
    if at is not None:
        bent = maker.trial()
        made = _folded(bent, items, at)
        if climbs or size(made) > size(plain):
            maker.adopt(bent)
            return made
    maker.adopt(flat)
    return plain


def _place(maker: Maker, items: Items, widest: float) -> int | None:
    """Where to fold: behind the helix, else where the group changes, else about in the middle."""
    best: tuple[float, int] | None = None
    for at in range(1, len(items)):
        one, other = items[at - 1], items[at]
        if (at == 1 and one.ports == 1) or isinstance(other, Stop | Cut):
            continue
        wide = max(_wide(run(maker, items[:at])), _wide(run(maker, items[at:])))
        here, there = maker.groups(_lying(maker, one)), maker.groups(_lying(maker, other))
        under, over = _decks(maker, items[:at]), _decks(maker, items[at:])
        apart = bool(under and over) and not under & over
        bonus = (
            BEHIND_HELIX
            if isinstance(one, Coil) or apart
            else BEHIND_GROUP
            if here and there and here != there
            else 0.0
        )
        key = (3 * max(0.0, wide - widest) + 0.2 * wide - bonus, at)
        best = key if best is None else min(best, key)
    return None if best is None else best[1]


def _wide(figure: Figure) -> float:
    left, _, right, _ = figure.extent
    return right - left


def _lying(maker: Maker, item: Item) -> list[str]:
    """The blocks that a part lies in."""
    match item:
        case Stretch():
            return [item.block]
        case Coil():
            return [one.block for one in item.items]
        case Lens():
            return [maker.throat(fork) for fork in item.left.forks()]
        case Yard():
            return [maker.throat(fork) for fork in item.fan.forks()]
        case Siding():
            return [maker.throat(item.fork)]
    return []


def _decks(maker: Maker, items: Items) -> set[int]:
    """The decks that some parts lie on, as far as they are told."""
    blocks = (block for one in items for block in _lying(maker, one))
    return {maker.decks[block] for block in blocks if block in maker.decks}


def _folded(maker: Maker, items: Items, at: int) -> Figure:
    lower, upper = laid(maker, items[:at]), laid(maker, items[at:])
    over = upper.half_turned()
    height = up_to_row(max(3 * ROW, over.extent[3] - (lower.extent[1] - lower.end) + ROW))
    x, y = lower.width - over.width, lower.end - height
    made = Figure(width=lower.width)
    made.put(lower)
    made.put(over, x, y)
    names = maker.end_block(items[:at], first=False) or "", maker.end_block(items[at:]) or ""
    bend(maker, made, ((lower.width, lower.end), (lower.width, y + over.end)), lower.width + 3, None, names)
    pending = moved(lower.pending, Moved(), 1)
    pending += moved(upper.pending, Moved(x + upper.width, y + upper.end, -1, -1), -1)
    hang_all(maker, made, pending)
    under, over_it = _decks(maker, items[:at]), _decks(maker, items[at:])
    down = bool(under and over_it) and min(under) > max(over_it)
    return made.mirrored() if down else made  # the higher deck above
