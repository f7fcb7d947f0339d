"""Sheets of paper that are printed at 1:1: sizes in millimetres, a scale bar to measure, pages one after the other.

A drawing is SVG whose user unit is one millimetre, so that what it says is what a ruler finds.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from attrs import frozen

from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.formats.elements import Child, Html, element, label, number, raw
from blockcheck.formats.marks import GENERATOR
from blockcheck.formats.page import page

PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4), "Legal": (215.9, 355.6)}
"""Name of a paper -> width and height in mm (ISO 216; ANSI/ASME Y14.1)."""
SCALE_MM = 100.0
"""Length of the scale bar."""
_INCH = 25.4
_PAIR = re.compile(
    r"(?P<x>[0-9]{1,4}(?:\.[0-9]{1,4})?) ?(?P<first>mm|in)? ?[xX×] ?"
    r"(?P<y>[0-9]{1,4}(?:\.[0-9]{1,4})?) ?(?P<unit>mm|in)?"
)
PRINTING = "Print at 100 % (actual size), without fitting to the page, and measure the bar first."


_SIDES = (("x", "first"), ("y", "unit"))


def _factor(unit: str | None) -> float:
    return _INCH if unit == "in" else 1.0


@frozen
class Size:
    """Width and height in millimetres."""

    width: float
    height: float


def size_of(text: str, what: str, least: float, most: float, example: str) -> Size:
    """A size such as ``38x12`` (mm) or ``1.5x0.5in``, each side from ``least`` to ``most`` mm.

    Raises CallError that names ``what``.
    """
    match = _PAIR.fullmatch(text.strip())
    if match is None:
        raise CallError(f"{what} cannot be {shown(text)}", f"write width and height in mm, such as {example}")
    size = Size(*(float(match[side]) * _factor(match[side_unit] or match["unit"]) for side, side_unit in _SIDES))
    if not (least <= size.width <= most and least <= size.height <= most):
        raise CallError(f"{what} cannot be {shown(text)}", f"each side is from {least:g} to {most:g} mm")
    return size


def paper_of(text: str | None, imperial: bool) -> Size:
    """A paper by its name or its size in mm; left out: A4, for imperial layouts Letter. Raises CallError."""
    if text is None:
        return Size(*PAPERS["Letter" if imperial else "A4"])
    for name, size in PAPERS.items():
        if text.casefold() == name.casefold():
            return Size(*size)
    if _PAIR.fullmatch(text.strip()) is None:
        near = did_you_mean(text, PAPERS)
        raise CallError(f"paper cannot be {shown(text)}", near or f"write {', '.join(PAPERS)}, or a size: 210x297")
    return size_of(text, "paper", 50, 2000, "210x297")


def scale_bar(x: float, y: float, imperial: bool = False) -> Html:
    """A bar of 100 mm, or of 4 in, from ``x`` on, its line at ``y``, with a tick every 10 mm or half inch."""
    whole, step_mm, every, words = (4 * _INCH, _INCH / 2, 2, "4 in") if imperial else (SCALE_MM, 10.0, 5, "100 mm")
    ticks = "".join(
        f"M{number(x + step_mm * step)} {number(y)}v{-2.5 if step % every == 0 else -1.5}"
        for step in range(round(whole / step_mm) + 1)
    )
    bar = element("path", d=f"M{number(x)} {number(y)}h{number(whole)}", class_="scale")
    told = label(words, x + whole + 2, y, 2.8)
    return element("g", bar, element("path", d=ticks, class_="scale"), told)


STYLE = (
    "text{font-family:'DejaVu Sans','Liberation Sans',Arial,sans-serif;fill:#111}"
    ".scale{stroke:#111;stroke-width:.25;fill:none}"
)


def sheet_svg(size: Size, title: str, *parts: Child, style: str = "") -> Html:
    """One sheet as a whole SVG drawing of real millimetres."""
    return element(
        "svg",
        element("title", title),
        element("style", raw(STYLE + style)),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        data_generator=GENERATOR,
        width=f"{number(size.width)}mm",
        height=f"{number(size.height)}mm",
        viewBox=f"0 0 {number(size.width)} {number(size.height)}",
    )


def sheets_html(size: Size, title: str, sheets: Iterable[Html], before: Iterable[Html] = ()) -> str:
    """A page to print: what stands before, then one sheet of paper after the other, without margins or scaling.

    The drawings must carry ``sheet_style`` of that size.
    """
    placed = [
        element("div", sheet, class_="sheet", role="group", aria_label=f"sheet {number}", tabindex=0)
        for number, sheet in enumerate(sheets, 1)
    ]
    head = [*before] or [element("h1", title, class_="unseen")]
    return page(title, [*head, *placed], landscape=size.width > size.height and not before)


def sheet_style(size: Size) -> str:
    """What makes a page lay its drawings on paper of their own size; it stands within the drawings."""
    paper = f"{number(size.width)}mm {number(size.height)}mm"
    return (
        f"@page sheet{{size:{paper};margin:0;@bottom-left{{content:none}}@bottom-right{{content:none}}}}"
        ".sheet{page:sheet;break-after:page;break-inside:avoid}.sheet:last-child{break-after:auto}"
        f".sheet>svg{{display:block;max-width:none;width:{number(size.width)}mm;height:{number(size.height)}mm}}"
        "@media screen{.sheet{overflow-x:auto;margin:1rem 0}.sheet>svg{outline:1px solid #999;outline-offset:-1px}}"
    )
