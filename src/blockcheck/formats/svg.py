"""A drawing as SVG: one element with its own style, to be a file as it is, or a part of a page as it is.

No script, no identifier, nothing fetched. Black on white carries everything: colour only repeats what line style and
words say.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.formats.elements import Html, element, joined, number, raw
from blockcheck.formats.marks import GENERATOR

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing
    from blockcheck.drawing.shapes import Box, Line, Text

INK = "#1a1a1a"
COLOURS = {"off": "#8a3b00", "trickle": "#5b2a86", "unknown": "#555555", "open": "#8a3b00"}
"""Of states; each at least 7 to 1 on white, so that it prints as black where there is no colour."""
FAULT = "#8f1010"

_STYLE = f"""
.bc-drawing {{ background: #ffffff; font-family: "Liberation Sans", Arial, Helvetica, sans-serif; }}
.bc-drawing text {{ fill: {INK}; white-space: pre; }}
.bc-drawing .bc-bold {{ font-weight: bold; }}
.bc-drawing polyline, .bc-drawing rect {{ fill: none; stroke: {INK}; stroke-width: 0.3; }}
.bc-drawing polygon {{ fill: {INK}; stroke: {INK}; stroke-width: 0.25; stroke-linejoin: round; }}
.bc-drawing .bc-channel {{ stroke-width: 0.25; }}
.bc-drawing .bc-hop {{ stroke-width: 0.35; }}
.bc-drawing .bc-rule {{ stroke-width: 0.2; }}
.bc-drawing .bc-detected {{ stroke-width: 0.75; }}
.bc-drawing .bc-common {{ stroke-width: 0.35; }}
.bc-drawing .bc-detected-unknown {{ stroke-width: 0.75; stroke-dasharray: 0.4 0.7; }}
.bc-drawing .bc-common-unknown {{ stroke-width: 0.35; stroke-dasharray: 0.4 0.7; }}
.bc-drawing .bc-lead {{ stroke-width: 0.75; stroke-linejoin: round; }}
.bc-drawing .bc-fork {{ stroke-width: 0.45; stroke-linejoin: round; }}
.bc-drawing .bc-cut {{ stroke-width: 0.3; }}
.bc-drawing .bc-stop {{ stroke-width: 0.7; }}
.bc-drawing .bc-arm {{ stroke-width: 0.5; stroke-linecap: round; }}
.bc-drawing .bc-ring, .bc-drawing .bc-mark-warning, .bc-drawing .bc-mark-note {{ fill: #ffffff; }}
.bc-drawing .bc-ringed {{ stroke: {FAULT}; stroke-width: 0.4; }}
.bc-drawing .bc-mark-error {{ fill: {FAULT}; stroke: {FAULT}; }}
.bc-drawing .bc-mark-warning, .bc-drawing .bc-mark-note {{ stroke: {FAULT}; stroke-width: 0.4; }}
.bc-drawing polyline.bc-off {{ stroke: {COLOURS["off"]}; stroke-dasharray: 2.4 1.6; }}
.bc-drawing polyline.bc-trickle {{ stroke: {COLOURS["trickle"]}; stroke-dasharray: 3.2 1 0.6 1; }}
.bc-drawing polyline.bc-unknown {{ stroke: {COLOURS["unknown"]}; stroke-dasharray: 0.6 1; }}
.bc-drawing text.bc-off, .bc-drawing text.bc-open {{ fill: {COLOURS["off"]}; }}
.bc-drawing text.bc-trickle {{ fill: {COLOURS["trickle"]}; }}
.bc-drawing text.bc-unknown {{ fill: {COLOURS["unknown"]}; }}
"""


def drawing_svg(drawing: Drawing) -> str:
    """A drawing as one ``svg`` element, as large as it says in millimetres."""
    width, height = _number(drawing.width_mm), _number(drawing.height_mm)
    parts = [
        element("title", drawing.title),
        element("desc", drawing.description),
        element("style", raw(_STYLE)),
        *(_box(box) for box in drawing.boxes if box.shown),
        *(_line(line) for line in drawing.lines),
        *(_label(label) for label in drawing.labels),
    ]
    drawn = element(
        "svg",
        joined([raw(""), *parts, raw("")], "\n"),
        xmlns="http://www.w3.org/2000/svg",
        data_generator=GENERATOR,
        class_="bc-drawing",
        role="img",
        width=f"{width}mm",
        height=f"{height}mm",
        viewBox=f"0 0 {width} {height}",
    )
    return f"{drawn}\n"


def _number(value: float) -> str:
    return number(value, 2)


def _classes(kind: str, state: str | None, bold: bool = False) -> str:
    return " ".join([f"bc-{kind}", *([f"bc-{state}"] if state else []), *(["bc-bold"] if bold else [])])


def _box(box: Box) -> Html:
    numbers = map(_number, (box.x_mm, box.y_mm, box.width_mm, box.height_mm))
    x, y, width, height = numbers
    return element("rect", class_=_classes(box.kind, None), x=x, y=y, width=width, height=height, rx="0.5")


def _line(line: Line) -> Html:
    points = " ".join(f"{_number(x)},{_number(y)}" for x, y in line.points)
    return element("polygon" if line.closed else "polyline", class_=_classes(line.kind, line.state), points=points)


def _label(label: Text) -> Html:
    return element(
        "text",
        label.text,
        class_=_classes(label.kind, label.state, label.bold),
        x=_number(label.x_mm),
        y=_number(label.y_mm),
        font_size=_number(label.size_mm),
        text_anchor=None if label.anchor == "start" else label.anchor,
    )
