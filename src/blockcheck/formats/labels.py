"""Labels for the ends of the wires, on sheets to print and cut or on sheets of adhesive labels; and as CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from attrs import frozen

from blockcheck.answers.tables import Cell, Column
from blockcheck.core.errors import CallError
from blockcheck.formats.csv_table import csv_table
from blockcheck.formats.elements import Html, element, label
from blockcheck.formats.paper import PRINTING, SCALE_MM, Size, scale_bar, sheet_style, sheet_svg, sheets_html, size_of
from blockcheck.formats.style import Style
from blockcheck.model.quantities import Metres

if TYPE_CHECKING:
    from blockcheck.answers.workshop.wires import WireList

COLUMNS = ("label", "here", "there", "colour", "conductor", "length")
_MARGIN = 8.0
_FOOT = 12.0  # mm kept free below the labels, for the scale bar, where the margins are ours to choose
_EM = 0.61  # width of a sign of a monospaced face, in its size
_STYLE = (
    ".cut{fill:none;stroke:#999;stroke-width:.1}"
    ".end{font-family:'DejaVu Sans Mono','Liberation Mono',monospace;font-weight:bold}"
    ".far{font-family:'DejaVu Sans Mono','Liberation Mono',monospace}.small{fill:#444}"
)


class EndLabel(NamedTuple):
    """What one label says: where the end belongs, where it comes from, and the wire."""

    text: str
    here: str
    there: str
    colour: str | None
    size: str | None
    length_m: float | None


@frozen
class LabelSheet:
    """A sheet of labels: sizes in millimetres, ``columns`` by ``rows`` of them, the first one's corner at ``origin``.

    ``start`` is the place of the first label on the first sheet, counted from 1 along the rows.
    """

    paper: Size
    size: Size
    gap: Size
    origin: Size
    columns: int
    rows: int
    start: int
    outline: bool


def sheet_of(
    paper: Size, size: str = "38x12", gap: str = "2x0", margin: str | None = None, start: int = 1, outline: bool = True
) -> LabelSheet:
    """A sheet as the options ask for it: as many labels as the paper holds. Raises CallError.

    ``margin`` is what is free left and above; left out, the labels are centred and room is left for the scale bar.
    """
    one = size_of(size, "label size", 4, 300, "38x12")
    space = size_of(gap, "gap", 0, 100, "2x0")
    if margin is not None:
        edge = size_of(margin, "margin", 0, 200, "8x12")
        free = Size(paper.width - edge.width, paper.height - edge.height)
    else:
        edge = None
        free = Size(paper.width - 2 * _MARGIN, paper.height - _MARGIN - _FOOT)
    columns = int((free.width + space.width + 1e-6) // (one.width + space.width))
    rows = int((free.height + space.height + 1e-6) // (one.height + space.height))
    if columns < 1 or rows < 1:
        raise CallError(
            f"no label of {one.width:g} x {one.height:g} mm fits on {paper.width:g} x {paper.height:g} mm",
            "choose a smaller label size, or a larger paper",
        )
    if not 1 <= start <= columns * rows:
        message = f"start cannot be {start}: a sheet has {columns} x {rows} labels"
        raise CallError(message, f"write a number from 1 to {columns * rows}")
    if edge is None:
        whole = columns * one.width + (columns - 1) * space.width
        edge = Size((paper.width - whole) / 2, _MARGIN)
    return LabelSheet(paper, one, space, edge, columns, rows, start, outline)


def labels(answer: WireList) -> Iterator[EndLabel]:
    """One label for each end, in the order of the wire list: the two of a piece follow each other."""
    for piece in answer.pieces:
        for end in (piece.start, piece.end):
            here, _, there = end.label.partition(" > ")
            yield EndLabel(end.label, here, there, piece.colour, piece.size, piece.cut_m)


def labels_csv(answer: WireList, style: Style) -> str:
    """One row a label, for label printers; lengths in metres, or in feet, as the heading then says."""
    *others, length = COLUMNS
    column = Column(length, quantity=Metres).for_programs(answer.imperial)
    rows: list[list[Cell]] = [[*one[:-1], column.value_in(one.length_m, answer.imperial)] for one in labels(answer)]
    return csv_table((*others, column.key or length), rows, style.csv_dialect)


def sheet_count(answer: WireList, sheet: LabelSheet) -> int:
    """How many sheets the labels take."""
    return max(1, -(-(answer.sums.labels + sheet.start - 1) // (sheet.columns * sheet.rows)))


def labels_svg(answer: WireList, sheet: LabelSheet, number: int = 1) -> str:
    """One sheet of labels as a drawing. Raises CallError for a sheet that there is none of."""
    count = sheet_count(answer, sheet)
    if not 1 <= number <= count:
        raise CallError(f"sheet cannot be {number}: the labels take {count}", f"write a number from 1 to {count}")
    return f"{_sheet(answer, sheet, number, list(labels(answer)))}\n"


def labels_html(answer: WireList, sheet: LabelSheet) -> str:
    """All sheets of labels as a page to print."""
    told = list(labels(answer))
    style = sheet_style(sheet.paper)
    pages = [_sheet(answer, sheet, number, told, style) for number in range(1, sheet_count(answer, sheet) + 1)]
    return sheets_html(sheet.paper, f"Labels: {answer.layout}", pages)


def _sheet(answer: WireList, sheet: LabelSheet, number: int, told: list[EndLabel], style: str = "") -> Html:
    places = sheet.columns * sheet.rows
    first = (number - 1) * places - (sheet.start - 1)
    parts = [_label(sheet, place, told[first + place]) for place in range(places) if 0 <= first + place < len(told)]
    count = sheet_count(answer, sheet)
    title = f"Labels: {answer.layout}, sheet {number} of {count}"
    return sheet_svg(sheet.paper, title, *parts, *_foot(sheet, title, answer.imperial), style=_STYLE + style)


def _foot(sheet: LabelSheet, title: str, imperial: bool) -> list[Html]:
    """The scale bar and a line of words below the labels, where there is room for them."""
    bottom = sheet.origin.height + sheet.rows * (sheet.size.height + sheet.gap.height) - sheet.gap.height
    if sheet.paper.height - bottom < 10 or sheet.paper.width < SCALE_MM + 2 * _MARGIN + 15:
        return []
    y = sheet.paper.height - 4.5
    told = [label(title, _MARGIN, y - 3.5, 2.4)] if sheet.paper.height - bottom >= 11 else []
    return [scale_bar(_MARGIN, y, imperial), *told, label(PRINTING, _MARGIN + SCALE_MM + 18, y, 1.9)]


def _label(sheet: LabelSheet, place: int, one: EndLabel) -> Html:
    """A label: where this end belongs, large; where the wire comes from; and, small, the wire itself."""
    row, column = divmod(place, sheet.columns)
    x = sheet.origin.width + column * (sheet.size.width + sheet.gap.width)
    y = sheet.origin.height + row * (sheet.size.height + sheet.gap.height)
    width, height = sheet.size.width, sheet.size.height
    room = width - 2.4
    wire = " ".join(filter(None, [one.colour, one.size]))
    large = min(0.33 * height, room / (_EM * max(len(one.here), 4)))
    middle = min(0.25 * height, room / (_EM * max(len(one.there) + 2, 4)))
    small = min(0.15 * height, room / (0.58 * max(len(wire), 4)))
    parts = [
        label(one.here, x + 1.2, y + 0.35 * height, large, class_="end"),
        label(f"> {one.there}", x + 1.2, y + 0.67 * height, middle, class_="far"),
        label(wire, x + 1.2, y + 0.89 * height, small, class_="small") if wire else None,
    ]
    if sheet.outline:
        parts.insert(0, element("rect", x=x, y=y, width=width, height=height, class_="cut"))
    return element("g", *parts)
