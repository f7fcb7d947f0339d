"""The track of a layout: its figures, laid on a sheet as large as they can be."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from attrs import frozen

from blockcheck.drawing.figures.figure import Figure
from blockcheck.drawing.figures.maker import Maker
from blockcheck.drawing.figures.making import Making
from blockcheck.drawing.figures.sheet import LARGE, SHEETS, SMALLEST, Laid, Sheet, fits, lay, size
from blockcheck.drawing.listed import alone
from blockcheck.drawing.plan.reduce import Reduced, reduced
from blockcheck.drawing.shapes import text_width
from blockcheck.drawing.words import FINE
from blockcheck.model.layout import Layout

SLOPES = (1.0, 0.5, 0.25)
"""How far a slope leads along for each unit that it rises: 45 degrees; steeper where that makes the type too small."""
MOST_PAGES = 2.5
"""A layout that takes more of them is not on one page with steeper slopes either."""
MOST_TURNOUTS = 250
"""Turnouts of a layout whose track is drawn; more are told in lists."""


@frozen(eq=False)
class Track:
    """What is drawn of a layout, and what is told instead."""

    laid: Laid
    reduced: Reduced
    listed: tuple[str, ...]
    """Blocks that are drawn by themselves."""
    left_out: tuple[str, ...]
    """Turnouts that are told in words."""
    maker: Maker

    @property
    def notes(self) -> tuple[str, ...]:
        """What could not be tied."""
        return tuple(self.maker.ports.notes)


def track(layout: Layout, room: Callable[[str], float]) -> Track:
    """The track of a layout; ``room`` is what the words of a block take of its line."""
    made = reduced(layout, MOST_TURNOUTS)
    best: Track | None = None
    for sheets in (SHEETS, *((one,) for one in SHEETS), LARGE):
        if best is not None and best.listed and len(sheets) == 1:
            continue  # what fits neither fits none of them
        for slope in SLOPES:
            found = _drawn(layout, made, room, slope, sheets)
            if best is None or _rank(found) > _rank(best):
                best = found
            if not best.listed and (best.laid.whole or best.laid.pages > MOST_PAGES):
                return best
        if best is not None and not best.listed and best.laid.fits:
            return best
    assert best is not None
    return best


def _rank(track: Track) -> tuple[float, ...]:
    return (-len(track.listed), track.laid.fits, track.laid.whole, -track.laid.pages, track.laid.scale)


def _drawn(layout: Layout, made: Reduced, room: Callable[[str], float], slope: float, sheets: Iterable[Sheet]) -> Track:
    groups = {name: str(block.group) for name, block in layout.blocks.items() if block.group is not None}

    def having(**said: object) -> frozenset[str]:
        """Blocks of groups of which something is said."""
        of = {name for name, group in layout.groups.items() if all(getattr(group, k) == v for k, v in said.items())}
        return frozenset(name for name, group in groups.items() if group in of)

    sheets = tuple(sheets)
    maker = Maker(
        made.ports,
        room,
        lambda text: text_width(text, FINE),
        frozenset(name for name, block in layout.blocks.items() if block.helix is not None),
        lambda name: layout.blocks[name].helix or 1,
        slope,
        having(shape="eight"),
        having(side="inward"),
        {
            name: layout.groups[of].deck or 0
            for name, of in groups.items()
            if of in layout.groups and layout.groups[of].deck
        },
    )
    widest = max(one.width_mm for one in sheets) / SMALLEST
    making = Making(maker, made.ports.meetings, widest, lambda one: any(fits(one, sheet) for sheet in sheets), _size)
    figures = making.figures(made)
    drawn = {stroke.block for one in figures for stroke in one.strokes}
    listed = tuple(name for name in layout.blocks if name not in drawn)
    forks = {fork.name for one in figures for fork in one.forks}
    left_out = tuple(name for name in layout.turnouts if name not in forks)
    return Track(lay((*figures, *(alone(maker, name) for name in listed)), sheets), made, listed, left_out, maker)


def _size(figure: Figure) -> float:
    """How large a figure could be drawn by itself."""
    wide, high = size(figure)
    return max(min(one.width_mm / wide, one.page_mm / high) for one in SHEETS)
