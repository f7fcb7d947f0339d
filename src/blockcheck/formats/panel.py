"""The panel sheet: a drawing at 1:1 to drill by, pages that are laid together, and a table of the holes."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

from attrs import frozen

from blockcheck.answers.document import CAUTION
from blockcheck.answers.workshop.panel import LOW_VOLTAGE
from blockcheck.core.errors import CallError
from blockcheck.core.shown import shown
from blockcheck.formats.elements import Html, element, label, number
from blockcheck.formats.page import caution, header, paragraphs, table_html
from blockcheck.formats.paper import PRINTING, SCALE_MM, Size, paper_of, scale_bar, sheet_style, sheet_svg, sheets_html

if TYPE_CHECKING:
    from blockcheck.answers.workshop.panel import Hole, PanelAnswer

MEASURE = "Measure the scale bar on every sheet before you drill; a print that was fitted to the page is wrong."
_MARGIN = 6.0  # of the paper; what most printers cannot print on is less
_LEFT, _RIGHT = 6.0, 2.0  # beside the plate
_FOOT = 16.0  # below it, for the scale bar
_OVERLAP = 15.0
_STYLE = (
    ".plate{fill:none;stroke:#111;stroke-width:.35}.hair{fill:none;stroke:#111;stroke-width:.15}"
    ".ring{fill:none;stroke:#777;stroke-width:.15}.strong{font-weight:bold}.dim{fill:#444}"
    ".fold{fill:none;stroke:#777;stroke-width:.15;stroke-dasharray:2 1.5}.mid{text-anchor:middle}"
)


@frozen
class Tiling:
    """How a drawing is spread over sheets: the paper as it lies, the window on each, and how many both ways."""

    paper: Size
    window: Size
    columns: int
    rows: int


# --- the drawing ---------------------------------------------------------------------------------------------------
def panel_svg(answer: PanelAnswer, hole_mm: float | None = None) -> str:
    """The whole panel as one drawing at 1:1. ``hole_mm`` draws the hole itself, of that diameter, round each centre."""
    drawing = _drawing(answer, hole_mm)
    holes = [markup for _, _, markup in drawing.holes]
    title = f"Control panel: {answer.layout}"
    return f"{sheet_svg(drawing.size, title, *drawing.frame, *holes, style=_STYLE)}\n"


@frozen
class Plate:
    """The whole drawing: the plate with a head above it and the scale bar below, and the holes with their places."""

    size: Size
    frame: tuple[Html, ...]
    holes: tuple[tuple[float, float, Html], ...]


def _drawing(answer: PanelAnswer, hole_mm: float | None) -> Plate:
    """All parts at their places."""
    room = max(answer.width_mm, SCALE_MM + 20)
    lines = textwrap.wrap(LOW_VOLTAGE, int(room / 1.35))
    left, top = _LEFT, 12 + 3.2 * len(lines)
    bottom = top + answer.height_mm
    size = Size(room + _LEFT + _RIGHT, bottom + _FOOT + 6)
    parts = [
        label(_shortened(f"Control panel: {answer.layout}", int(room / 2.6)), left, 8, 4, class_="strong"),
        *(label(line, left, 12 + 3.2 * index, 2.4) for index, line in enumerate(lines)),
        element("rect", x=left, y=top, width=answer.width_mm, height=answer.height_mm, class_="plate"),
        element("path", d=f"M{number(left - 4)} {number(bottom)}h4v4", class_="hair"),
        label("0, 0", left + 1, bottom + 3, 2, class_="dim"),
    ]
    told: set[str | None] = {None}
    holes: list[tuple[float, float, Html]] = []
    for hole in answer.holes:
        x, y = left + hole.x_mm, bottom - hole.y_mm
        if hole.group not in told:
            told.add(hole.group)
            name = _shortened(str(hole.group), int(answer.width_mm / (0.09 * answer.pitch_mm)))
            holes.append((left, y, label(name, left + 2, y - 0.42 * answer.pitch_mm, 0.14 * answer.pitch_mm)))
        holes.append((x, y, _hole(hole, x, y, answer.pitch_mm, hole_mm)))
    parts.append(scale_bar(left, bottom + 11))
    parts.append(label(MEASURE, left, bottom + 15.5, min(2.4, room / 54), class_="dim"))
    return Plate(size, tuple(parts), tuple(holes))


def _hole(hole: Hole, x: float, y: float, pitch_mm: float, hole_mm: float | None) -> Html:
    """Cross-hairs to drill at, and the legend below them, no wider than the pitch."""
    arm = min(0.22 * pitch_mm, 6)
    hairs = f"M{number(x - arm)} {number(y)}h{number(2 * arm)}M{number(x)} {number(y - arm)}v{number(2 * arm)}"
    ring = element("circle", cx=x, cy=y, r=(hole_mm or 0.2 * pitch_mm) / 2, class_="plate" if hole_mm else "ring")
    lines = [
        (_shortened(", ".join(map(str, hole.tracks)) or hole.isolator, 10), 0.20, "strong mid"),
        (_shortened(" ".join([hole.isolator, "\u00b7", ", ".join(hole.blocks)]), 26), 0.11, "mid"),
        (_shortened(hole.does if "on" in hole.positions else " / ".join(hole.positions), 34), 0.10, "mid dim"),
    ]
    parts, at = [ring, element("path", d=hairs, class_="hair")], y + max(arm, (hole_mm or 0) / 2) + 0.03 * pitch_mm
    for text, share, class_ in lines:
        high = min(share * pitch_mm, 5.0, 0.94 * pitch_mm / (0.6 * max(len(text), 1)))
        at += 0.95 * high  # the line's own height above its baseline, and below what the face needs there
        parts.append(label(text, x, at, high, class_=class_))
        at += 0.25 * high
    return element("g", element("title", f"{hole.isolator}: {hole.x_mm:g}, {hole.y_mm:g} mm"), *parts)


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "\u2026"


# --- pages to lay together -----------------------------------------------------------------------------------------
def tiling(drawing: Size, paper: Size) -> Tiling:
    """The fewest sheets of a paper, upright or lying, that hold a drawing with overlaps."""

    def across(whole: float, window: float) -> int:
        return max(1, math.ceil((whole - _OVERLAP) / (window - _OVERLAP) - 1e-9))

    choices = []
    for lying in (paper, Size(paper.height, paper.width)):
        window = Size(lying.width - 2 * _MARGIN, lying.height - 2 * _MARGIN - _FOOT)
        if window.width > 2 * _OVERLAP and window.height > 2 * _OVERLAP:
            count = across(drawing.width, window.width), across(drawing.height, window.height)
            choices.append(Tiling(lying, window, *count))
    lies = drawing.width > drawing.height
    return min(choices, key=lambda one: (one.columns * one.rows, (one.paper.width > one.paper.height) != lies))


def paper_and_hole(answer: PanelAnswer, paper: str | None, hole: str | None) -> tuple[Size, float | None]:
    """The paper, and the diameter of the holes in millimetres. Raises CallError for one that is none."""
    from blockcheck.answers.workshop.panel import millimetres

    hole_mm = None if hole is None else millimetres(hole, "hole")
    if hole_mm is not None and not 0.5 <= hole_mm < answer.pitch_mm:
        raise CallError(f"hole cannot be {shown(str(hole))}", "write a diameter from 0.5 mm, less than the pitch")
    return paper_of(paper, answer.imperial), hole_mm


def panel_html(answer: PanelAnswer, paper: Size, hole_mm: float | None = None) -> str:
    """The table of the holes and the cautions, then the drawing at 1:1 on as many sheets as it takes."""
    drawing = _drawing(answer, hole_mm)
    tiles = tiling(drawing.size, paper)
    count = tiles.columns * tiles.rows
    how = (
        "The sheet behind this page is the panel at 1:1."
        if count == 1
        else f"The {count} sheets behind this page are the panel at 1:1, {tiles.columns} across and {tiles.rows} down. "
        "Cut one of two neighbours at its dashed line, lay the diamonds over each other, and tape them."
    )
    sheets = [
        _tile(answer, drawing, tiles, row, column) for row in range(tiles.rows) for column in range(tiles.columns)
    ]
    intro: list[Html] = [
        header("Control panel", answer.layout),
        paragraphs([how, PRINTING]),
        caution(LOW_VOLTAGE),
        caution(CAUTION),
        table_html(answer.table()),
    ]
    return sheets_html(tiles.paper, f"Control panel: {answer.layout}", sheets, intro)


def _tile(answer: PanelAnswer, drawing: Plate, tiles: Tiling, row: int, column: int) -> Html:
    """One sheet: a window on the drawing, where it meets its neighbours, and a scale bar of its own."""
    window, paper = tiles.window, tiles.paper
    x, y = column * (window.width - _OVERLAP), row * (window.height - _OVERLAP)
    near = answer.pitch_mm  # no legend reaches farther from its hole
    holes = [
        markup
        for at_x, at_y, markup in drawing.holes
        if x - near < at_x < x + window.width + near and y - near < at_y < y + window.height + near
    ]
    view = element(
        "svg",
        *drawing.frame,
        *holes,
        *_meetings(drawing.size, tiles),
        x=_MARGIN,
        y=_MARGIN,
        width=window.width,
        height=window.height,
        viewBox=f"{number(x)} {number(y)} {number(window.width)} {number(window.height)}",
    )
    title = f"{answer.layout}: panel, sheet {row * tiles.columns + column + 1} of {tiles.columns * tiles.rows}"
    place = f"row {row + 1}, column {column + 1}"
    foot = paper.height - 8
    told = [
        label(f"{title} ({place})", _MARGIN, foot - 5, 2.6),
        scale_bar(_MARGIN, foot),
        label(PRINTING, _MARGIN + SCALE_MM + 16, foot, 1.8) if paper.width > 200 else None,
    ]
    return sheet_svg(paper, title, view, *told, style=_STYLE + sheet_style(paper))


def _meetings(drawing: Size, tiles: Tiling) -> Iterator[Html]:
    """Dashed lines in the middle of every overlap, and marks on them that must lie over each other.

    A mark is a diamond, so that nobody drills there.
    """
    step = Size(tiles.window.width - _OVERLAP, tiles.window.height - _OVERLAP)
    upright = [step.width * (index + 1) + _OVERLAP / 2 for index in range(tiles.columns - 1)]
    level = [step.height * (index + 1) + _OVERLAP / 2 for index in range(tiles.rows - 1)]
    for x in upright:
        yield element("path", d=f"M{number(x)} 0v{number(drawing.height)}", class_="fold")
    for y in level:
        yield element("path", d=f"M0 {number(y)}h{number(drawing.width)}", class_="fold")
    marks = {(x, y) for x in upright for y in _spread(tiles.rows, step.height, drawing.height)}
    marks |= {(x, y) for y in level for x in _spread(tiles.columns, step.width, drawing.width)}
    for x, y in sorted(marks):
        shape = f"M{number(x - 3)} {number(y)}l3 -3 3 3 -3 3z"
        saltire = f"M{number(x - 1.5)} {number(y - 1.5)}l3 3m-3 0l3 -3"
        yield element("path", d=shape + saltire, class_="hair register")


def _spread(count: int, step: float, whole: float) -> list[float]:
    """Two places on each sheet, clear of its overlaps and within the drawing."""
    found = []
    for index in range(count):
        low = index * step + (_OVERLAP if index else 0)
        high = min((index + 1) * step, whole)
        found += [low + 4, high - 4] if high - low > 20 else [(low + high) / 2]
    return found
