"""What is told of a block, and the pieces that a line of words is set of."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from blockcheck.drawing.shapes import BODY, SMALL, Belongs, Canvas, short, text_width

SPACE = 1.8
"""Between two things on one line."""
SWITCH_MM = 6.0


@frozen
class Switch:
    """An isolator in the way to a block: how it stands, in a word, and whether it cuts there."""

    name: str
    position: str
    open: bool
    throw: int | None = None
    """For a changeover: 0 or 1 for the district that it has chosen, -1 where it stands off."""
    positions: tuple[str, ...] = ()
    """All that it may stand in."""

    @property
    def form(self) -> str:
        """How it is drawn."""
        if self.throw is None:
            return "open" if self.open else "closed"
        return ("first", "second", "off")[self.throw]

    @property
    def text(self) -> str:
        """Its name, with its position where that is not plainly closed."""
        return short(self.name) if self.position == "closed" else f"{short(self.name)} {short(self.position, 16)}"


@frozen
class Mark:
    """A finding where it is: the number that it has in the list, how bad it is, its rule."""

    number: int
    severity: str
    rule: str


@frozen
class Entry:
    """All that is written about one block. ``power`` is None where it cannot be told."""

    name: str
    track: int | None
    channel: str | None
    switches: tuple[Switch, ...]
    power: str | None
    word: str
    """Its state in words; empty where it need not be told."""
    marks: tuple[Mark, ...] = ()
    without: bool = False
    """Whether to say that it has no channel, on a layout where blocks have one."""


@frozen
class Piece:
    """A thing on a line of a label."""

    kind: str
    text: str
    size: float = BODY
    bold: bool = False
    state: str | None = None
    form: str = ""
    of: Belongs = (None, None)
    """What it is the name of, where a link may lead to it."""

    @property
    def width(self) -> float:
        """How much of the line it takes."""
        text = text_width(self.text, self.size, self.bold)
        return text + {"channel": 1.6, "hop": 1.6, "switch": SWITCH_MM + 0.8, "mark": 3.4}.get(self.kind, 0.0)


def marks(found: Sequence[Mark], named: int = 2) -> tuple[Piece, ...]:
    """Findings as pieces: the first with the names of their rules, the others by number."""
    pieces = []
    for index, one in enumerate(found):
        text = f"{one.number} {one.rule}" if index < named else str(one.number)
        pieces.append(Piece("mark", text, SMALL, bold=True, form=one.severity))
    if len(pieces) > named + 4:
        pieces = [*pieces[: named + 3], Piece("note", f"and {len(pieces) - named - 3} more", SMALL)]
    return tuple(pieces)


def draw_line(canvas: Canvas, line: Sequence[Piece], x: float, y: float) -> float:
    """Set a line of pieces on a baseline; returns where it ends."""
    for number, piece in enumerate(line):
        x += SPACE if number else 0
        draw_piece(canvas, piece, x, y)
        x += piece.width
    return x


def draw_piece(canvas: Canvas, piece: Piece, x: float, y: float) -> None:
    """Set one piece on a baseline, with the sign that belongs to it."""
    kind, state = piece.kind, piece.state
    if kind in ("channel", "hop"):
        canvas.box(kind, piece.text, (x, y - 0.95 * piece.size, x + piece.width, y + 0.32 * piece.size))
        x += 0.8
    elif kind == "switch":
        switch_sign(canvas, x, y - 0.35 * piece.size, piece.form)
        x += SWITCH_MM + 0.8
    elif kind == "mark":
        mark_sign(canvas, piece.form, x, y)
        x += 3.4
    canvas.label(kind, piece.text, (x, y), piece.size, piece.bold, state=state, of=piece.of)


def switch_sign(canvas: Canvas, x: float, y: float, form: str) -> None:
    """A switch between contacts: its arm lies on the one that it has chosen, and points away from all when it is off.

    ``form`` is ``closed`` or ``open``; ``first``, ``second`` or ``off`` for a changeover.
    """
    left, right, end = x + 1.6, x + SWITCH_MM - 1.6, x + SWITCH_MM
    changeover = form in ("first", "second", "off")
    tips = {"closed": (right, y), "open": (right - 0.3, y - 1.6), "first": (right, y - 0.9), "second": (right, y + 0.9)}
    canvas.line("way", (x, y), (left, y))
    canvas.line("arm", (left, y), tips.get(form, (right - 0.4, y)))
    for contact in (y - 0.9, y + 0.9) if changeover else (y,):
        canvas.line("way", (right, contact), (end, contact))
        ring(canvas, right, contact)
    ring(canvas, left, y)


def ring(canvas: Canvas, x: float, y: float, radius: float = 0.38, kind: str = "ring") -> None:
    """A contact: a small ring, as an octagon."""
    half = radius * 0.414
    points = [(radius, half), (half, radius), (-half, radius), (-radius, half)]
    points += [(-a, -b) for a, b in points]
    canvas.line(kind, *((x + a, y + b) for a, b in points), closed=True)


def mark_sign(
    canvas: Canvas, severity: str, x: float, y: float, of: Belongs = (None, None), scale: float = 1.0
) -> None:
    """The sign of a finding: a full triangle for an error, an open one for a warning, a diamond for a note."""
    points = [(0.0, 0.1), (1.3, -2.2), (2.6, 0.1)]
    if severity == "note":
        points = [(0.0, -1.0), (1.2, -2.2), (2.4, -1.0), (1.2, 0.2)]
    placed = ((x + a * scale, y + b * scale) for a, b in points)
    canvas.line(f"mark-{severity}", *placed, closed=True, of=of)
