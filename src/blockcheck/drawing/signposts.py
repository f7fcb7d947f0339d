"""Signs of what has no line of its own: groups at a corner of their track, boards near the middle of theirs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import hypot

from attrs import frozen

from blockcheck.drawing.figures.figure import Extent, Point, Stroke
from blockcheck.drawing.shapes import short
from blockcheck.model.layout import Layout

STEP = 1.5
"""How far apart places are that are tried."""
BESIDE = 24.0
"""How far beyond the track of a board its sign may stand."""
Place = tuple[Point, str]


@frozen
class Signpost:
    """Something that is told once, where it is free, near the track of its blocks. ``kind`` is group or board."""

    kind: str
    name: str
    text: str
    blocks: frozenset[str]

    def places(self, strokes: Iterable[Stroke], least: float, most: float) -> Sequence[Place]:
        """Where it may stand from ``least`` to ``most``, the best first: baselines, and the end of the text there."""
        points = [point for one in strokes if one.block in self.blocks for point in one.points]
        if not points:
            return ()
        xs, ys = zip(*points, strict=True)
        own = (min(xs), min(ys), max(xs), max(ys))
        middle = (sum(xs) / len(xs), sum(ys) / len(ys))
        found = _corners(own) if self.kind == "group" else _middle(own, middle)
        inside = (one for one in found if least + 3.0 <= one[1][0][1] <= most - 1.0)
        return [place for _, place in sorted(inside)]


def groups(layout: Layout) -> Iterator[Signpost]:
    """The groups of a layout that has several, with their decks."""
    own: dict[str, set[str]] = {}
    for name, block in layout.blocks.items():
        if block.group is not None:
            own.setdefault(str(block.group), set()).add(name)
    decks = {name: group.deck for name, group in layout.groups.items() if group.deck is not None}
    if len(own) > 1 or decks:
        for name, blocks in own.items():
            lead = f"deck {decks[name]}" if name in decks else "group"
            yield Signpost("group", name, f"{lead}: {short(name)}", frozenset(blocks))


def boards(layout: Layout) -> Iterator[Signpost]:
    """The boards of a layout, with the places where they hang."""
    for name, board in layout.boards.items():
        blocks = {one.name for one in layout.blocks.values() if one.channel is not None and one.channel.board == name}
        if blocks:
            hangs = f": {short(board.at, 60)}" if board.at else ""
            yield Signpost("board", name, f"board {short(name)}{hangs}", frozenset(blocks))


def _steps(start: float, end: float) -> Iterator[float]:
    for number in range(int((end - start) / STEP) + 1):
        yield start + number * STEP


def _corners(own: Extent) -> Iterator[tuple[float, Place]]:
    """Near the lower corners of an area, or else the upper ones: fans leave those empty."""
    left, top, right, bottom = own
    for y in _steps(top - 2.0, bottom + 3.0):
        rise = min(2 * abs(bottom - y), 2 * abs(y - top) + 1)
        for x in _steps(left, (left + right) / 2):
            yield x - left + rise, ((x, y), "start")
            yield x - left + rise + 0.5, ((left + right - x, y), "end")


def _middle(own: Extent, middle: Point) -> Iterator[tuple[float, Place]]:
    """Around a point."""
    left, top, right, bottom = own
    for y in _steps(top - BESIDE, bottom + BESIDE):
        for x in _steps(left - BESIDE, right + BESIDE):
            yield hypot(x - middle[0], 2 * (y - middle[1])), ((x, y), "middle")
