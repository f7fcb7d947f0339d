"""Runs that are too long for a sheet, cut into pieces that name each other."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from blockcheck.drawing.figures.maker import Maker
from blockcheck.drawing.figures.runs import run
from blockcheck.drawing.figures.sheet import width
from blockcheck.drawing.plan.parts import Cut, Item

Items = tuple[Item, ...]
ARROWS = 60.0
"""What arrows at both ends may take."""


def pieces(maker: Maker, items: Items, widest: float, closed: bool, letter: Callable[[], str]) -> list[Items]:
    """The pieces of a run, each at most so wide where it can be; of a closed one also its last and first are cut."""
    parts = [*_parts(maker, maker.helices(items), widest - ARROWS)]
    if len(parts) < 2:
        return [items]
    joints = [letter() for _ in range(len(parts) - (not closed))]
    made = []
    for number, part in enumerate(parts):
        before = number - 1 if number or closed else None
        after = number if number < len(joints) else None
        lead: Items = (Cut(joints[before], _name(maker, parts[before], last=True)),) if before is not None else ()
        follow = parts[(number + 1) % len(parts)]
        trail: Items = (Cut(joints[after], _name(maker, follow, last=False)),) if after is not None else ()
        made.append((*lead, *part, *trail))
    return made


def _parts(maker: Maker, items: Items, widest: float) -> Iterator[Items]:
    part: list[Item] = []
    for item in items:
        if part and part[-1].ports == item.ports == 2 and width(run(maker, [*part, item])) > widest:
            yield tuple(part)
            part = []
        part.append(item)
    yield tuple(part)


def _name(maker: Maker, items: Items, last: bool) -> str:
    return maker.end_block(items, first=not last) or "there"
