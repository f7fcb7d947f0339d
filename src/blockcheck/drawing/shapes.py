"""The shapes of a drawing, in millimetres, and a cautious measure of text.

Everything that a drawing shows is a box, a line or a label with a kind; how a kind looks is the renderer's.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from attrs import evolve, field, frozen

from blockcheck.core.columns import column
from blockcheck.core.shown import plain

Point = tuple[float, float]
Belongs = tuple[str | None, str | None]
"""What a shape is part of, and the name of that."""
Extent = tuple[float, float, float, float]
"""Left, top, right, bottom."""

SMALL, BODY, NAME, TITLE = 2.3, 2.5, 3.0, 5.0
"""Sizes of text in millimetres; nothing on a drawing is smaller than 2.2."""
LONGEST = 28
"""Signs of a name that are shown; the rest is in the list of names below the drawing."""

# Advance widths of the printable ASCII signs, in hundredths of the size: the wider one of DejaVu Sans and Liberation
# Sans (metric-compatible with Arial and Helvetica), measured in a browser.
# fmt: off
_REGULAR = (
    32, 41, 46, 84, 64, 96, 78, 28, 40, 40, 50, 84, 32, 37, 32, 34, 64, 64, 64, 64, 64, 64, 64, 64, 64, 64, 34, 34, 84,
    84, 84, 56, 102, 69, 69, 73, 78, 67, 62, 78, 76, 30, 50, 67, 56, 87, 75, 79, 67, 79, 73, 67, 62, 74, 69, 99, 69, 67,
    69, 40, 34, 40, 84, 56, 50, 62, 64, 55, 64, 62, 36, 64, 64, 28, 28, 58, 28, 98, 64, 62, 64, 64, 42, 53, 40, 64, 60,
    82, 60, 60, 53, 64, 34, 64, 84,
)
_BOLD = (
    35, 46, 53, 84, 70, 101, 88, 31, 46, 46, 53, 84, 38, 42, 38, 37, 70, 70, 70, 70, 70, 70, 70, 70, 70, 70, 40, 40, 84,
    84, 84, 62, 100, 78, 77, 74, 84, 69, 69, 83, 84, 38, 56, 78, 64, 100, 84, 86, 74, 86, 78, 73, 69, 82, 78, 111, 78,
    73, 73, 46, 37, 46, 84, 56, 50, 68, 72, 60, 72, 68, 44, 72, 72, 35, 35, 67, 35, 105, 72, 69, 72, 72, 50, 60, 48, 72,
    66, 93, 65, 66, 59, 72, 37, 72, 84,
)
# fmt: on


def text_width(text: str, size_mm: float, bold: bool = False) -> float:
    """The most that a text takes of a line, in millimetres."""
    table = _BOLD if bold else _REGULAR
    hundredths = 0
    for sign in text:
        code = ord(sign)
        if 32 <= code < 127:
            hundredths += table[code - 32]
        elif unicodedata.combining(sign):
            continue
        else:
            wide = code > 0xFFFF or unicodedata.east_asian_width(sign) in "WF"
            hundredths += 140 if wide else 88 if code < 0x250 else 120
    return hundredths * size_mm / 100


def short(name: str, most: int = LONGEST) -> str:
    """A name as a drawing shows it: on one line, signs that do not print escaped, the middle left out if too long."""
    text = plain(name, 1000)
    if len(text) <= most:
        return text
    return f"{text[: most - 9]}…{text[-8:]}"


@frozen
class Box:
    """A rectangle: a block with all that is written about it, a channel, a hop of a feed, a panel."""

    kind: str = column(
        "What it is: block (the area of what is written about a block), channel, or hop (booster, district or board)."
    )
    name: str = column("Of what.")
    x_mm: float = column("Left edge.", key="x")
    y_mm: float = column("Upper edge.", key="y")
    width_mm: float = column("Width.", key="width")
    height_mm: float = column("Height.", key="height")
    shown: bool = column("Whether its outline is drawn.", key="outlined", default=True)

    @property
    def extent(self) -> Extent:
        """The area that it covers."""
        return (self.x_mm, self.y_mm, self.x_mm + self.width_mm, self.y_mm + self.height_mm)


@frozen
class Line:
    """A line through points; closed, it is a filled sign. ``state`` is a block's power, where it shows one."""

    kind: str = column(
        "What it is: track, behind (the far side of a turn), cut (a rail's gap), set (the leg that points are set "
        "for), way (a wire), arm, train (its bar; inside is what is bright in it), drop, and others."
    )
    points: tuple[Point, ...] = column("Its points, each as x and y.")
    closed: bool = column("Whether it is closed and filled.", default=False)
    state: str | None = column(
        "Power of the block whose rail it is: on, off, trickle or unknown; null for what has none.", default=None
    )
    of: str | None = column(
        "What it belongs to: block, turnout, joint, train, district, group, board, channel or isolator; or null.",
        default=None,
    )
    name: str | None = column("The name of that; of a joint its number, counted from 0.", default=None)


@frozen
class Text:
    """Text on one line; x and y are where its baseline begins (``anchor`` start) or ends (``end``)."""

    kind: str = column(
        "What it tells: name, track, channel, switch, word (a state), mark (a finding), points (turnouts), tag (what "
        "is drawn elsewhere), and others."
    )
    text: str = column("The text.")
    x_mm: float = column("Where its baseline begins, or ends (see anchor).", key="x")
    y_mm: float = column("Its baseline.", key="y")
    size_mm: float = column("Size of the text.", key="size", default=BODY)
    bold: bool = column("Whether it is bold.", default=False)
    anchor: str = column("Which end of the text x is.", choices=("start", "middle", "end"), default="start")
    state: str | None = column("The state that it tells, or null.", default=None)
    of: str | None = column("What it belongs to, as with lines.", default=None)
    name: str | None = column("The name of that.", default=None)
    width_mm: float = column(
        "The most that it takes of the line.",
        key="width",
        of=lambda one: round(text_width(one.text, one.size_mm, one.bold), 2),
    )

    @property
    def extent(self) -> Extent:
        """The area that it covers at most, with what hangs below the line."""
        left = self.x_mm - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width_mm
        return (left, self.y_mm - 0.8 * self.size_mm, left + self.width_mm, self.y_mm + 0.22 * self.size_mm)


@frozen(eq=False)
class Canvas:
    """Shapes while they are being put together."""

    boxes: list[Box] = field(factory=list)
    lines: list[Line] = field(factory=list)
    labels: list[Text] = field(factory=list)

    def box(self, kind: str, name: str, extent: Extent, shown: bool = True) -> None:
        """Add a box, given by its edges."""
        left, top, right, bottom = map(_round, extent)
        self.boxes.append(Box(kind, name, left, top, _round(right - left), _round(bottom - top), shown))

    def line(
        self, kind: str, *points: Point, closed: bool = False, state: str | None = None, of: Belongs = (None, None)
    ) -> None:
        """Add a line. ``of`` is what it belongs to, and the name of that."""
        self.lines.append(Line(kind, tuple((_round(x), _round(y)) for x, y in points), closed, state, *of))

    def label(
        self,
        kind: str,
        text: str,
        at: Point,
        size: float = BODY,
        bold: bool = False,
        anchor: str = "start",
        state: str | None = None,
        of: Belongs = (None, None),
    ) -> float:
        """Add text; returns the most that it takes of the line."""
        made = Text(kind, text, _round(at[0]), _round(at[1]), round(size, 2), bold, anchor, state, *of)
        self.labels.append(made)
        return made.width_mm

    def put(self, other: Canvas, x: float, y: float) -> None:
        """Add all shapes of another canvas, moved."""
        for box in other.boxes:
            place = (_round(box.x_mm + x), _round(box.y_mm + y))
            self.boxes.append(Box(box.kind, box.name, *place, box.width_mm, box.height_mm, box.shown))
        for line in other.lines:
            moved = tuple((_round(px + x), _round(py + y)) for px, py in line.points)
            self.lines.append(evolve(line, points=moved))
        for one in other.labels:
            self.labels.append(evolve(one, x_mm=_round(one.x_mm + x), y_mm=_round(one.y_mm + y)))

    @property
    def right(self) -> float:
        """How far its shapes reach to the right."""
        return max(self._ends(0), default=0.0)

    @property
    def bottom(self) -> float:
        """How far its shapes reach down."""
        return max(self._ends(1), default=0.0)

    @property
    def top(self) -> float:
        """How far its shapes reach up."""
        return min(self._ends(1, 0), default=0.0)

    def _ends(self, axis: int, side: int = 2) -> Iterable[float]:
        yield from (box.extent[axis + side] for box in self.boxes)
        yield from (point[axis] for line in self.lines for point in line.points)
        yield from (label.extent[axis + side] for label in self.labels)


def _round(value: float) -> float:
    return round(value, 2) + 0.0
