"""The panel sheet: a drawing at 1:1 to drill by, pages that are laid together, and a table of the holes."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from attrs import frozen

from blockcheck.answers.document import CAUTION
from blockcheck.answers.workshop.panel import BY_TRACK, LOW_VOLTAGE
from blockcheck.core.errors import CallError
from blockcheck.core.shown import shown
from blockcheck.formats.elements import Html, element, label, number
from blockcheck.formats.page import caution, header, paragraphs, table_html
from blockcheck.formats.paper import PRINTING, SCALE_MM, Size, paper_of, scale_bar, sheet_style, sheet_svg, sheets_html

if TYPE_CHECKING:
    from blockcheck.answers.workshop.panel import Hole, PanelAnswer, Plate

MEASURE = "Measure the scale bar on every sheet before you drill; a print that was fitted to the page is wrong."
_MARGIN = 6.0  # of the paper; what most printers cannot print on is less
_LEFT, _RIGHT = 6.0, 2.0  # beside the plate
_FOOT = 16.0  # below it, for the scale bar
_OVERLAP = 15.0
_RIM, _NEAR = 5.0, 20.0  # round a plate, for its corner; round its holes, where its margins are left out
_TOO_MANY = 10_000  # sheets
_ONE = "The sheet behind this page is the panel at 1:1."
_STYLE = (
    ".plate{fill:none;stroke:#111;stroke-width:.35}.hair{fill:none;stroke:#111;stroke-width:.15}"
    ".ring{fill:none;stroke:#777;stroke-width:.15}.strong{font-weight:bold}.dim{fill:#444}"
    ".fold{fill:none;stroke:#777;stroke-width:.15;stroke-dasharray:2 1.5}.mid{text-anchor:middle}"
)


@frozen
class Tiling:
    """How a drawing is spread over sheets: the paper as it lies, the window on each, and how many both ways. Windows
    are spread evenly, so that the last is as full as the first: ``step`` lies between two."""

    paper: Size
    window: Size
    columns: int
    rows: int
    step: Size


# --- the drawing ---------------------------------------------------------------------------------------------------
def panel_svg(answer: PanelAnswer, hole_mm: float | None = None) -> str:
    """All panels as one drawing at 1:1, one below the other. ``hole_mm`` draws the hole itself, of that diameter, round
    each centre."""
    drawings = [_drawing(answer, plate, hole_mm) for plate in answer.plates]
    parts, down = [], 0.0
    for one in drawings:
        parts.append(element("g", *one.around, *one.frame, *one.marks, transform=f"translate(0 {number(down)})"))
        down += one.size.height
    size = Size(max(one.size.width for one in drawings), down)
    return f"{sheet_svg(size, _title(answer), *parts, style=_STYLE)}\n"


def _title(answer: PanelAnswer, plate: Plate | None = None) -> str:
    return f"Control panel: {answer.layout}" + (f", {plate.title}" if plate is not None and plate.title else "")


@frozen
class Drawn:
    """A whole drawing: the plate with its corner, ``around`` it a head above and the scale bar below, and the holes
    with their places. ``plate`` is where it lies: left, top, width, height."""

    size: Size
    plate: tuple[float, float, float, float]
    around: tuple[Html, ...]
    frame: tuple[Html, ...]
    holes: tuple[tuple[float, float, Html], ...]

    @property
    def at(self) -> list[tuple[float, float]]:
        """The places of the holes."""
        return [(x, y) for x, y, _ in self.holes if x > self.plate[0]]  # the names of groups stand at the edge

    @property
    def marks(self) -> list[Html]:
        """The holes."""
        return [markup for _, _, markup in self.holes]


def _drawing(answer: PanelAnswer, plate: Plate, hole_mm: float | None) -> Drawn:
    """All parts at their places."""
    room = max(plate.width_mm, SCALE_MM + 20)
    lines = textwrap.wrap(" ".join([LOW_VOLTAGE, *(() if plate.ordered else (BY_TRACK,))]), int(room / 1.35))
    left, top = _LEFT, 12 + 3.2 * len(lines)
    bottom = top + plate.height_mm
    size = Size(room + _LEFT + _RIGHT, bottom + _FOOT + 6)
    around = (
        label(_shortened(_title(answer, plate), int(room / 2.6)), left, 8, 4, class_="strong"),
        *(label(line, left, 12 + 3.2 * index, 2.4) for index, line in enumerate(lines)),
        scale_bar(left, bottom + 11, answer.imperial),
        label(MEASURE, left, bottom + 15.5, min(2.4, room / 54), class_="dim"),
    )
    frame = (
        element("rect", x=left, y=top, width=plate.width_mm, height=plate.height_mm, class_="plate"),
        element("path", d=f"M{number(left - 4)} {number(bottom)}h4v4", class_="hair"),
        label("0, 0", left + 1, bottom + 3, 2, class_="dim"),
    )
    told: set[str | None] = {None}
    holes: list[tuple[float, float, Html]] = []
    for hole in plate.holes:
        x, y = left + hole.x_mm, bottom - hole.y_mm
        if hole.group not in told:
            told.add(hole.group)
            name = _shortened(str(hole.group), int(plate.width_mm / (0.09 * plate.pitch_mm)))
            holes.append((left, y, label(name, left + 2, y - 0.42 * plate.pitch_mm, 0.14 * plate.pitch_mm)))
        holes.append((x, y, _hole(hole, x, y, plate.pitch_mm, hole_mm, answer.imperial)))
    return Drawn(size, (left, top, plate.width_mm, plate.height_mm), around, frame, tuple(holes))


def _hole(hole: Hole, x: float, y: float, pitch_mm: float, hole_mm: float | None, imperial: bool) -> Html:
    """Cross-hairs to drill at, and the legend below them, no wider than the pitch."""
    arm = min(0.22 * pitch_mm, 6)
    hairs = f"M{number(x - arm)} {number(y)}h{number(2 * arm)}M{number(x)} {number(y - arm)}v{number(2 * arm)}"
    ring = element("circle", cx=x, cy=y, r=(hole_mm or 0.2 * pitch_mm) / 2, class_="plate" if hole_mm else "ring")
    lines = [
        (_shortened(", ".join(map(str, hole.tracks)) or hole.isolator, 10), 0.20, 5.0, "strong mid"),
        (_shortened(" ".join([hole.isolator, "\u00b7", ", ".join(hole.blocks)]), 26), 0.12, 3.0, "mid"),
        (_shortened(hole.does if "on" in hole.positions else " / ".join(hole.positions), 34), 0.10, 2.5, "mid dim"),
    ]
    parts, at = [ring, element("path", d=hairs, class_="hair")], y + max(arm, (hole_mm or 0) / 2) + 0.03 * pitch_mm
    for text, share, most, class_ in lines:
        high = min(share * pitch_mm, most, 0.94 * pitch_mm / (0.6 * max(len(text), 1)))
        at += 0.95 * high  # the line's own height above its baseline, and below what the face needs there
        parts.append(label(text, x, at, high, class_=class_))
        at += 0.25 * high
    at_x, at_y, unit = (hole.x_in, hole.y_in, "in") if imperial else (hole.x_mm, hole.y_mm, "mm")
    return element("g", element("title", f"{hole.isolator}: {at_x:g}, {at_y:g} {unit}"), *parts)


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "\u2026"


# --- pages to lay together -----------------------------------------------------------------------------------------
def spread_over(drawing: Size, paper: Size) -> Tiling:
    """The fewest sheets of a paper that lies as it does."""

    def across(whole: float, window: float) -> int:
        if window <= 2 * _OVERLAP:
            return _TOO_MANY
        return max(1, math.ceil((whole - _OVERLAP) / (window - _OVERLAP) - 1e-9))

    window = Size(paper.width - 2 * _MARGIN, paper.height - 2 * _MARGIN - _FOOT)
    columns, rows = across(drawing.width, window.width), across(drawing.height, window.height)
    width, height = (
        (drawing.width - window.width) / max(columns - 1, 1),
        (drawing.height - window.height) / max(rows - 1, 1),
    )
    return Tiling(paper, window, columns, rows, Size(width, height))


_Region = tuple[float, float, float, float]


def paper_and_hole(answer: PanelAnswer, paper: str | None, hole: str | None) -> tuple[Size, float | None]:
    """The paper, and the diameter of the holes in millimetres. Raises CallError for one that is none."""
    from blockcheck.answers.workshop.panel import millimetres

    hole_mm = None if hole is None else millimetres(hole, "hole")
    if hole_mm is not None and not 0.5 <= hole_mm < min(plate.pitch_mm for plate in answer.plates):
        raise CallError(f"hole cannot be {shown(str(hole))}", "write a diameter from 0.5 mm, less than the pitch")
    return paper_of(paper, answer.imperial), hole_mm


def panel_html(answer: PanelAnswer, paper: Size, hole_mm: float | None = None) -> str:
    """The table of the holes and the cautions, then the drawing at 1:1 on as many sheets as it takes."""
    sheets, how = list[Html](), list[str]()
    drawings = [_drawing(answer, plate, hole_mm) for plate in answer.plates]
    ways = [_laid(answer, drawings, lying) for lying in _ways(drawings, paper)]
    laid = min(
        ways,
        key=lambda one: (sum(_bare(drawing, *each) for drawing, each in zip(drawings, one, strict=True)), _count(one)),
    )
    if _count(laid) >= _TOO_MANY:
        raise CallError("no panel fits on sheets of this paper", "write a larger one, such as A4")
    for plate, drawing, (region, tiles) in zip(answer.plates, drawings, laid, strict=True):
        every = [(row, column) for row in range(tiles.rows) for column in range(tiles.columns)]
        sheets += [_tile(answer, plate, drawing, region, tiles, *one) for one in every]
        how.append(_how(plate, tiles, len(answer.plates) > 1))
    intro: list[Html] = [
        header("Control panel", answer.layout),
        paragraphs([*how, PRINTING]),
        caution(LOW_VOLTAGE),
        caution(CAUTION),
        *map(table_html, answer.tables()),
    ]
    return sheets_html(laid[0][1].paper, _title(answer), sheets, intro)


def _ways(drawings: Sequence[Drawn], paper: Size) -> tuple[Size, Size]:
    """Paper upright and lying, first as most of the first panel lies: all sheets lie one way."""
    turned, (_, _, width, height) = Size(paper.height, paper.width), drawings[0].plate
    return (turned, paper) if (paper.width > paper.height) != (width > height) else (paper, turned)


_Laid = list[tuple[_Region, Tiling]]


def _laid(answer: PanelAnswer, drawings: Sequence[Drawn], paper: Size) -> _Laid:
    """How the drawings are spread over sheets of a paper that lies as it does: none without a hole, and as few as can
    be."""
    found: _Laid = []
    for plate, drawing in zip(answer.plates, drawings, strict=True):
        choices = [(region, spread_over(Size(*region[2:]), paper)) for region in _regions(plate, drawing)]
        found.append(min(choices, key=lambda one: (_bare(drawing, *one), one[1].columns * one[1].rows)))
    return found


def _count(laid: _Laid) -> int:
    return sum(tiles.columns * tiles.rows for _, tiles in laid)


def _how(plate: Plate, tiles: Tiling, several: bool) -> str:
    count, of = tiles.columns * tiles.rows, f" {plate.title}" * bool(several and plate.title)
    if count == 1:
        return f"One sheet behind this page is the panel{of} at 1:1." if several else _ONE
    return (
        f"{'' if several else 'The '}{count} sheets behind this page are the panel{of} at 1:1, {tiles.columns} across "
        f"and {tiles.rows} down. Cut one of two neighbours at its dashed line, lay the diamonds over each other, and "
        "tape them."
    )


def _regions(plate: Plate, drawing: Drawn) -> Iterator[_Region]:
    """What may be spread over sheets: the plate, or only what is near its holes. Left, top, width, height."""
    left, top, width, height = drawing.plate
    whole = (left - _RIM, top - _RIM, width + 2 * _RIM, height + 2 * _RIM)
    yield whole
    xs, ys = [left + hole.x_mm for hole in plate.holes], [top + height - hole.y_mm for hole in plate.holes]
    near = max(0.6 * plate.pitch_mm, _NEAR)  # no legend reaches farther from its hole
    low_x, low_y = max(whole[0], min(xs) - near), max(whole[1], min(ys) - near)
    high_x, high_y = min(whole[0] + whole[2], max(xs) + near), min(whole[1] + whole[3], max(ys) + near)
    yield low_x, low_y, high_x - low_x, high_y - low_y


def _window(region: _Region, tiles: Tiling, row: int, column: int) -> tuple[float, float]:
    """Left and top of the window of a sheet; where one sheet is enough, in its middle."""
    x, y = region[0] + column * tiles.step.width, region[1] + row * tiles.step.height
    if tiles.columns == 1:
        x = region[0] - (tiles.window.width - region[2]) / 2
    if tiles.rows == 1:
        y = region[1] - (tiles.window.height - region[3]) / 2
    return x, y


def _bare(drawing: Drawn, region: _Region, tiles: Tiling) -> int:
    """How many sheets would show no hole."""
    if tiles.columns * tiles.rows >= _TOO_MANY:
        return _TOO_MANY
    corners = (_window(region, tiles, row, column) for row in range(tiles.rows) for column in range(tiles.columns))
    return sum(
        not any(
            x <= at_x <= x + tiles.window.width and y <= at_y <= y + tiles.window.height for at_x, at_y in drawing.at
        )
        for x, y in corners
    )


def _tile(
    answer: PanelAnswer, plate: Plate, drawing: Drawn, region: _Region, tiles: Tiling, row: int, column: int
) -> Html:
    """One sheet: a window on the drawing, where it meets its neighbours, and a scale bar of its own."""
    window, paper = tiles.window, tiles.paper
    x, y = _window(region, tiles, row, column)
    near = plate.pitch_mm  # no legend reaches farther from its hole
    holes = [
        markup
        for at_x, at_y, markup in drawing.holes
        if x - near < at_x < x + window.width + near and y - near < at_y < y + window.height + near
    ]
    view = element(
        "svg",
        *drawing.frame,
        *holes,
        *_meetings(region, tiles),
        x=_MARGIN,
        y=_MARGIN,
        width=window.width,
        height=window.height,
        viewBox=f"{number(x)} {number(y)} {number(window.width)} {number(window.height)}",
    )
    name = f"{answer.layout}: panel{f' {plate.title}' if plate.title else ''}"
    count = row * tiles.columns + column + 1
    title = f"{_shortened(name, 60)}, sheet {count} of {tiles.columns * tiles.rows}"
    place, foot = f"row {row + 1}, column {column + 1}", paper.height - 8
    told = [
        label(f"{title} ({place}{_clipped(drawing, region, answer.imperial)})", _MARGIN, foot - 5, 2.6),
        scale_bar(_MARGIN, foot, answer.imperial),
        label(PRINTING, _MARGIN + SCALE_MM + 16, foot, 1.8) if paper.width > 200 else None,
    ]
    return sheet_svg(paper, title, view, *told, style=_STYLE + sheet_style(paper))


def _clipped(drawing: Drawn, region: _Region, imperial: bool) -> str:
    """How far the edges of the plate are beyond what the sheets show."""
    left, top, width, height = drawing.plate
    beyond = {
        "left": region[0] - left,
        "right": left + width - region[0] - region[2],
        "top": region[1] - top,
        "bottom": top + height - region[1] - region[3],
    }
    told = [
        f"{side} {mm / 25.4:.2f} in" if imperial else f"{side} {mm:.1f} mm" for side, mm in beyond.items() if mm > 0
    ]
    return f"; the panel goes on beyond: {', '.join(told)}" if told else ""


def _meetings(region: _Region, tiles: Tiling) -> Iterator[Html]:
    """Dashed lines in the middle of every overlap, and marks on them that must lie over each other.

    A mark is a diamond, so that nobody drills there.
    """
    left, top, width, height = region
    step, window = tiles.step, tiles.window
    upright = [left + step.width * index + (step.width + window.width) / 2 for index in range(tiles.columns - 1)]
    level = [top + step.height * index + (step.height + window.height) / 2 for index in range(tiles.rows - 1)]
    for x in upright:
        yield element("path", d=f"M{number(x)} {number(top)}v{number(height)}", class_="fold")
    for y in level:
        yield element("path", d=f"M{number(left)} {number(y)}h{number(width)}", class_="fold")
    marks = {(x, y) for x in upright for y in _spread(tiles.rows, step.height, window.height, top, height)}
    marks |= {(x, y) for y in level for x in _spread(tiles.columns, step.width, window.width, left, width)}
    for x, y in sorted(marks):
        shape = f"M{number(x - 3)} {number(y)}l3 -3 3 3 -3 3z"
        saltire = f"M{number(x - 1.5)} {number(y - 1.5)}l3 3m-3 0l3 -3"
        yield element("path", d=shape + saltire, class_="hair register")


def _spread(count: int, step: float, window: float, first: float, whole: float) -> list[float]:
    """Two places on each sheet, clear of its overlaps and within the drawing."""
    found, overlap = [], window - step
    for index in range(count):
        low = index * step + (overlap if index else 0)
        high = min((index + 1) * step, whole) if index + 1 < count else whole
        found += [low + 4, high - 4] if high - low > 20 else [(low + high) / 2]
    return [first + one for one in found]
