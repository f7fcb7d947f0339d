"""A drawing as SVG: one element with its own style, to be a file as it is, or a part of a page as it is.

No script, nothing fetched. Black on white carries everything: colour only repeats what line style and
words say. What belongs to a block, a turnout or a joint is one group, with ``data-kind``, ``data-name`` and a title;
``#S3`` leads to the block, turnout, board, channel or isolator of that name.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from blockcheck.formats.elements import Html, element, joined, number, raw, thing
from blockcheck.formats.escape import with_signs
from blockcheck.formats.marks import GENERATOR

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing
    from blockcheck.drawing.shapes import Box, Line, Text

INK, PAPER = "#1a1a1a", "#ffffff"
COLOURS = {"off": "#8a3b00", "trickle": "#5b2a86", "unknown": "#555555", "open": "#8a3b00", "set": "#00574d"}
"""Of states; each at least 7 to 1 on white, so that it prints as black where there is no colour."""
FAULT = "#8f1010"
DARK = {"off": "#ffb27a", "trickle": "#d3b3f5", "unknown": "#b9bec3", "open": "#ffb27a", "set": "#7fe0cf"}
"""The same where the system is dark; print is always light."""
TINTS = ("#dfe6ee", "#ece3d6", "#e0eadb", "#e9e0ec", "#ecead4")
HATCHES = ("0.25 1.1", "0.25 2.6", "0.25 0.5 0.25 2.2", "0.25 4.2", "0.9 0.9")
"""Of the bands behind the tracks of a district, across the track, so that black alone tells them apart."""


def _variables(ink: str, paper: str, fault: str, colours: Mapping[str, str]) -> str:
    named = {"ink": ink, "ground": paper, "fault": fault, **colours}
    return " ".join(f"--bc-{name}: {value};" for name, value in named.items())


_BANDS = "\n".join(
    f".bc-drawing .bc-tint-{number} {{ stroke: {tint}; stroke-width: 2.4; stroke-linejoin: round; }}\n"
    f".bc-drawing .bc-hatch-{number} {{ stroke: #6b7278; stroke-width: 2.4; stroke-dasharray: {hatch}; }}"
    for number, (tint, hatch) in enumerate(zip(TINTS, HATCHES, strict=True))
)
_STYLE = f"""
.bc-drawing {{ {_variables(INK, PAPER, FAULT, COLOURS)} }}
@media screen and (prefers-color-scheme: dark) {{
  .bc-drawing {{ {_variables("#eef1f3", "#14181b", "#ff9d9d", DARK)} }}
  .bc-drawing [class*="bc-tint-"] {{ stroke-opacity: 0.18; }}
}}
.bc-drawing {{ background: var(--bc-ground); font-family: "Liberation Sans", Arial, Helvetica, sans-serif; }}
.bc-drawing text {{ fill: var(--bc-ink); white-space: pre; }}
.bc-drawing .bc-bold {{ font-weight: bold; }}
.bc-drawing polyline, .bc-drawing rect {{ fill: none; stroke: var(--bc-ink); stroke-width: 0.3; }}
.bc-drawing polygon {{ fill: var(--bc-ink); stroke: var(--bc-ink); stroke-width: 0.25; stroke-linejoin: round; }}
.bc-drawing .bc-channel {{ stroke-width: 0.25; }}
.bc-drawing .bc-hop {{ stroke-width: 0.35; }}
.bc-drawing .bc-rule {{ stroke-width: 0.2; }}
.bc-drawing .bc-track {{ stroke-width: 0.9; stroke-linejoin: round; stroke-linecap: round; }}
.bc-drawing .bc-behind {{ stroke-width: 0.35; stroke-dasharray: 1.2 0.8; }}
.bc-drawing .bc-train {{ stroke-width: 1.9; stroke-linejoin: round; }}
.bc-drawing .bc-inside {{ stroke: var(--bc-ground); stroke-width: 1.3; stroke-linejoin: round; }}
.bc-drawing text.bc-train {{ font-style: italic; stroke-width: 0; }}
.bc-drawing text.bc-group {{ font-style: italic; fill: var(--bc-unknown); }}
.bc-drawing .bc-drop {{ stroke-width: 0.45; }}
.bc-drawing .bc-break {{ stroke: var(--bc-ground); stroke-width: 1.3; }}
.bc-drawing .bc-cut {{ stroke-width: 0.3; }}
.bc-drawing .bc-joint {{ stroke-width: 0.3; }}
.bc-drawing .bc-stop {{ stroke-width: 1; }}
.bc-drawing .bc-set {{ stroke: var(--bc-set); stroke-width: 1.6; }}
.bc-drawing .bc-points, .bc-drawing .bc-open-joint {{ fill: var(--bc-ground); stroke-width: 0.4; }}
.bc-drawing .bc-guessed {{ fill: var(--bc-ground); stroke-width: 0.35; stroke-dasharray: 0.5 0.4; }}
.bc-drawing .bc-arm {{ stroke-width: 0.5; stroke-linecap: round; }}
.bc-drawing .bc-ring, .bc-drawing .bc-mark-warning, .bc-drawing .bc-mark-note {{ fill: var(--bc-ground); }}
.bc-drawing .bc-ringed {{ stroke: var(--bc-fault); stroke-width: 0.4; }}
.bc-drawing .bc-mark-error {{ fill: var(--bc-fault); stroke: var(--bc-fault); }}
.bc-drawing .bc-mark-warning, .bc-drawing .bc-mark-note {{ stroke: var(--bc-fault); stroke-width: 0.4; }}
{_BANDS}
.bc-drawing g:target {{ outline: 0.6mm solid var(--bc-set); outline-offset: 0.6mm; }}
.bc-drawing polyline.bc-off {{ stroke: var(--bc-off); stroke-dasharray: 2.4 1.6; stroke-linecap: butt; }}
.bc-drawing polyline.bc-trickle {{ stroke: var(--bc-trickle); stroke-dasharray: 3.2 1 0.6 1; stroke-linecap: butt; }}
.bc-drawing polyline.bc-unknown {{ stroke: var(--bc-unknown); stroke-dasharray: 0.6 1; stroke-linecap: butt; }}
.bc-drawing text.bc-off, .bc-drawing text.bc-open {{ fill: var(--bc-off); }}
.bc-drawing text.bc-trickle {{ fill: var(--bc-trickle); }}
.bc-drawing text.bc-unknown {{ fill: var(--bc-unknown); }}
"""


def style_of() -> str:
    """The style of a drawing as it stands in it, for a page whose policy names what it holds."""
    return _STYLE


_ORDER = (
    "district",
    "block",
    None,
    "train",
    "joint",
    "turnout",
    "group",
    "board",
    "channel",
    "isolator",
)  # signs over what stands on them
"""What lies behind what."""


_LED_TO = ("block", "turnout", "board", "channel", "isolator")
"""What a link may lead to by its name."""


def drawing_svg(drawing: Drawing, places: bool = True) -> str:
    """A drawing as one ``svg`` element, as large as it says in millimetres. ``places``: links may lead into it."""
    width, height = _number(drawing.width_mm), _number(drawing.height_mm)
    parts = [
        element("title", drawing.title),
        element("desc", with_signs(drawing.description)),
        element("style", raw(_STYLE)),
        *(_box(box) for box in drawing.boxes if box.shown),
        *_grouped(drawing, places),
    ]
    drawn = element(
        "svg",
        joined([raw(""), *parts, raw("")], "\n"),
        xmlns="http://www.w3.org/2000/svg",
        data_generator=GENERATOR,
        class_="bc-drawing",
        role="group",
        width=f"{width}mm",
        height=f"{height}mm",
        viewBox=f"0 0 {width} {height}",
    )
    return f"{drawn}\n"


def _grouped(drawing: Drawing, places: bool) -> Iterator[Html]:
    """Lines and texts: those that belong to something in one group, where the first of them stands."""
    from blockcheck.drawing.shapes import Text  # what draws is loaded where one is shown

    groups: dict[tuple[str | None, str | None], list[Line | Text]] = {}
    taken = set[str]()
    shapes: list[Line | Text] = [*drawing.lines, *drawing.labels]
    for shape in shapes:
        groups.setdefault((shape.of, shape.name), []).append(shape)
    for of in sorted(groups, key=lambda of: _ORDER.index(of[0])):
        drawn = [_label(one) if isinstance(one, Text) else _line(one) for one in groups[of]]
        if of[0] is None:
            yield from drawn
            continue
        words = ", ".join(dict.fromkeys(one.text for one in groups[of] if isinstance(one, Text)))
        title = f"{of[0]} {of[1]}" + (f": {words}" if words and words != of[1] else "")
        id_ = thing(of[1], taken) if places and of[0] in _LED_TO and of[1] else None
        yield element("g", element("title", with_signs(title)), *drawn, id=id_, data_kind=of[0], data_name=of[1])


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
        with_signs(label.text),
        class_=_classes(label.kind, label.state, label.bold),
        x=_number(label.x_mm),
        y=_number(label.y_mm),
        font_size=_number(label.size_mm),
        text_anchor=None if label.anchor == "start" else label.anchor,
    )
