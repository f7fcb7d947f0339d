"""What is really on paper: pages printed to PDF by chromium, and their lines measured in millimetres."""

from __future__ import annotations

import io
from itertools import pairwise
from typing import NamedTuple

from playwright.sync_api import Browser
from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

_POINT_MM = 25.4 / 72  # ISO 32000: the unit of a PDF is 1/72 inch

Matrix = tuple[float, float, float, float, float, float]


class Line(NamedTuple):
    """A straight line, in millimetres from the page's lower left corner."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def level(self) -> bool:
        """Whether it runs across."""
        return abs(self.y1 - self.y0) < 1e-3

    @property
    def upright(self) -> bool:
        """Whether it runs up and down."""
        return abs(self.x1 - self.x0) < 1e-3

    @property
    def length(self) -> float:
        """In millimetres, of a line that runs across or up and down."""
        return abs(self.x1 - self.x0) + abs(self.y1 - self.y0)


class Printer:
    """Prints pages as a browser does that is told to use the paper that the page asks for."""

    def __init__(self, browser: Browser) -> None:
        self.browser = browser

    def pages(self, html: str) -> list[PageObject]:
        """The sheets of a page."""
        tab = self.browser.new_page()
        tab.set_content(html)
        data = tab.pdf(prefer_css_page_size=True, print_background=True)
        tab.close()
        return list(PdfReader(io.BytesIO(data)).pages)


def size_mm(page: PageObject) -> tuple[float, float]:
    """Width and height of a sheet."""
    return float(page.mediabox.width) * _POINT_MM, float(page.mediabox.height) * _POINT_MM


def _product(inner: Matrix, outer: Matrix) -> Matrix:
    a, b, c, d, e, f = inner
    g, h, i, j, k, m = outer
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m)


def _moved(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def lines(page: PageObject) -> list[Line]:
    """Every straight line that is drawn on a sheet, from the drawing operators of its PDF."""
    matrix: Matrix = (_POINT_MM, 0, 0, _POINT_MM, 0, 0)
    kept: list[Matrix] = []
    here = (0.0, 0.0)
    found: list[Line] = []
    contents = page.get_contents()
    assert contents is not None
    for numbers, operator in ContentStream(contents, page.pdf).operations:
        if operator == b"q":
            kept.append(matrix)
        elif operator == b"Q":
            matrix = kept.pop()
        elif operator == b"cm":
            matrix = _product(tuple(map(float, numbers)), matrix)  # type: ignore[arg-type]
        elif operator == b"re":
            x, y, width, height = map(float, numbers)
            round_ = [(x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y)]
            corners = [_moved(matrix, *corner) for corner in round_]
            found += [Line(*one, *two) for one, two in pairwise(corners)]
        elif operator in (b"m", b"l"):
            there = _moved(matrix, *map(float, numbers))
            if operator == b"l":
                found.append(Line(*here, *there))
            here = there
    return found


def scale_bars(page: PageObject) -> list[list[float]]:
    """The scale bars of a sheet: of each the places of its eleven ticks, from its own beginning."""
    drawn = lines(page)
    ticks = [line for line in drawn if line.upright and line.length < 3]
    found = []
    for bar in (line for line in drawn if line.level and line.length > 50):
        low, high = sorted((bar.x0, bar.x1))
        on = sorted({round(tick.x0, 4) for tick in ticks if abs(min(tick.y0, tick.y1) - bar.y0) < 0.05})
        on = [x for x in on if low - 0.5 < x < high + 0.5]
        if len(on) == 11:
            assert abs(on[0] - low) < 0.02
            assert abs(on[-1] - high) < 0.02
            found.append([x - low for x in on])
    return found


def crosses(page: PageObject) -> list[tuple[float, float]]:
    """The middles of all cross-hairs: a line across and one up and down, as long as each other, through one point."""
    drawn = lines(page)
    upright = {
        (round(line.x0, 2), round((line.y0 + line.y1) / 2, 2), round(line.length, 1)) for line in drawn if line.upright
    }
    found = []
    for line in drawn:
        if line.level:
            x, y = (line.x0 + line.x1) / 2, line.y0
            if any(
                abs(x - one) < 0.02 and abs(y - two) < 0.02 and abs(line.length - long) < 0.11
                for one, two, long in upright
            ):
                found.append((x, y))
    return sorted(found)
