"""A drawing in words, for who cannot see it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from blockcheck.drawing.plan.parts import Balloon, Coil, Cut, Item, Lens, Siding, Stretch, Triangle, Yard
from blockcheck.drawing.plan.reduce import Reduced
from blockcheck.drawing.shapes import short

MOST = 12
"""Lines and rings that are told."""


def described(reduced: Reduced) -> str:
    """The lines and rings of a layout, one sentence each."""
    runs = [("A closed ring", run) for run in reduced.rings] + [("A line", run) for run in reduced.lines]
    told = [f"{kind}: {'; '.join(_parts(run)) or 'nothing'}." for kind, run in runs[:MOST]]
    if len(runs) > MOST:
        told.append(f"{len(runs) - MOST} lines more.")
    return " ".join(told)


def _parts(items: Iterable[Item]) -> Iterator[str]:
    blocks: list[str] = []
    for item in (*items, None):
        if isinstance(item, Stretch):
            blocks.append(short(item.block))
            continue
        if blocks:
            yield blocks[0] if len(blocks) == 1 else f"{blocks[0]} to {blocks[-1]}, {len(blocks)} blocks"
            blocks = []
        if item is not None:
            text = _part(item)
            if text:
                yield text


def _part(item: Item) -> str:
    match item:
        case Yard(fan):
            return f"{_count(fan.leaves())} behind {short(fan.fork)}"
        case Lens():
            first, last = (item.right, item.left) if item.turned else (item.left, item.right)
            return f"{_count(first.leaves())} between {short(first.fork)} and {short(last.fork)}"
        case Balloon():
            return f"a balloon loop at {short(item.fork)}, of {', '.join(_parts(item.items))}"
        case Siding():
            return f"at {short(item.fork)} a branch: {', '.join(_parts(item.items)) or 'a stub'}"
        case Triangle():
            return f"a triangle of {short(item.left)}, {short(item.right)} and {short(item.top)}"
        case Coil():
            return f"a helix of {len(item.items)} blocks"
        case Cut():
            return f"on to {short(item.to)} at {item.letter}"
    return ""


def _count(leaves: Iterable[object]) -> str:
    return f"{sum(1 for _ in leaves)} tracks"
