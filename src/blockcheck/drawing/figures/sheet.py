"""How figures lie on paper: which way the sheet is turned, and how large they are drawn."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from blockcheck.drawing.figures.figure import ROW, Figure

LARGEST, SMALLEST = 1.43, 0.893
"""Millimetres a unit: type of 4 and of 2.5 mm."""
STEPS = 12
HEAD_MM = 14.0
"""For the title, over the track."""


@frozen
class Sheet:
    """Paper inside its margins."""

    name: str
    width_mm: float
    page_mm: float

    @property
    def lying(self) -> bool:
        return self.width_mm > self.page_mm


UPRIGHT, LYING = Sheet("A4, upright", 185.0, 277.0), Sheet("A4, lying", 272.0, 190.0)
SHEETS = (UPRIGHT, LYING)
LARGE = (Sheet("A3, upright", 275.0, 400.0), Sheet("A3, lying", 398.0, 277.0))
"""For what does not fit the others."""
Size = tuple[float, float]


@frozen(eq=False)
class Row:
    """Figures side by side, and how high they are with what is between rows."""

    figures: tuple[Figure, ...]
    height: float


@frozen(eq=False)
class Laid:
    """Figures in rows, at a size, on a sheet."""

    sheet: Sheet
    scale: float
    rows: tuple[Row, ...]
    whole: bool
    """Whether all of them are on the first page."""
    fits: bool = True
    """Whether each of them fits a page."""

    @property
    def pages(self) -> float:
        """How many pages they take, about."""
        return self.scale * sum(row.height for row in self.rows) / self.sheet.page_mm


def lay(figures: Sequence[Figure], sheets: Sequence[Sheet] = SHEETS) -> Laid:
    """The largest size at which all figures are on one page; the smallest on several where there is none."""
    sizes = [size(one) for one in figures]
    found: list[tuple[float, int, Laid]] = []
    for number, sheet in enumerate(sheets):
        for step in range(STEPS + 1):
            scale = LARGEST - (LARGEST - SMALLEST) * step / STEPS
            if not all(_fits(one, sheet, scale) for one in sizes):
                continue
            laid = Laid(sheet, scale, _rows(figures, sizes, sheet.width_mm / scale), True)
            if laid.pages * sheet.page_mm <= sheet.page_mm - HEAD_MM:
                found.append((-scale, number, laid))
                break
    if found:
        return min(found, key=lambda one: one[:2])[2]
    fitting = [one for one in sheets if all(_fits(size, one, SMALLEST) for size in sizes)]
    sheet = fitting[0] if fitting else sheets[-1]
    return Laid(sheet, SMALLEST, _rows(figures, sizes, sheet.width_mm / SMALLEST), False, bool(fitting))


def fits(figure: Figure, sheet: Sheet) -> bool:
    """Whether a figure fits a page, at the smallest size."""
    return _fits(size(figure), sheet, SMALLEST)


def _fits(one: Size, sheet: Sheet, scale: float) -> bool:
    return one[0] * scale <= sheet.width_mm and (one[1] + ROW) * scale <= sheet.page_mm - HEAD_MM


def size(figure: Figure) -> Size:
    """Width and height."""
    left, top, right, bottom = figure.extent
    return right - left, bottom - top


def width(figure: Figure) -> float:
    return size(figure)[0]


def _rows(figures: Sequence[Figure], sizes: Sequence[Size], widest: float) -> tuple[Row, ...]:
    rows: list[list[Figure]] = []
    heights: list[float] = []
    left = 0.0
    for one, (wide, high) in zip(figures, sizes, strict=True):
        if not rows or wide > left:
            rows.append([])
            heights.append(0.0)
            left = widest
        rows[-1].append(one)
        heights[-1] = max(heights[-1], high + ROW)
        left -= wide + ROW
    return tuple(Row(tuple(row), height) for row, height in zip(rows, heights, strict=True))
