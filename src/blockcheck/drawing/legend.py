"""What the signs of a drawing mean, and how each is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from blockcheck.circuit.state import OFF, ON, TRICKLE
from blockcheck.core.findings import Finding, Severity
from blockcheck.drawing.entries import Entry, Piece, draw_piece, switch_sign
from blockcheck.drawing.meetings import UNKNOWN
from blockcheck.drawing.panel import Panel
from blockcheck.drawing.shapes import SMALL, Canvas

Sign = Callable[[Canvas, float, float], None]


def signs(
    panels: list[Panel], entries: Iterable[Entry], findings: Iterable[Finding], ringed: bool
) -> Iterator[tuple[float, Sign, str]]:
    """What the signs that are used mean: width, how to draw it, words."""
    yield 9.0, _rails(ON), "block: detected rail above, common rail below"
    powers = {entry.power for entry in entries}
    for power, text in ((OFF, "no power"), (TRICKLE, "a trickle, by a hold resistor")):
        if power in powers:
            yield 9.0, _rails(power), f"{power}: {text}"
    if None in powers:
        yield 9.0, _rails("unknown"), "feed not known"
    if any(", blind" in entry.word or ", held" in entry.word for entry in entries):
        yield 0.0, lambda *_: None, "blind: its channel reads clear whatever stands there; held: it still reads"
    gaps = {edge.meeting.gap for panel in panels for edge in panel.edges}
    gaps |= {meeting.gap for panel in panels for meeting in panel.glyphs.values()}
    words = {
        "detected": "joint, detected rail cut",
        "both": "both rails cut",
        "common": "common rail cut",
        "none": "no rail cut",
        UNKNOWN: "joint not described",
    }
    for gap, text in words.items():
        if gap in gaps:
            yield 6.0, _gap(gap), text
    if ringed:
        yield 6.0, _ringed, "joint with a finding"
    switches = [switch for entry in entries for switch in entry.switches]
    if any(switch.throw is None for switch in switches):
        yield 6.0, _switch("closed"), "isolator closed"
        yield 6.0, _switch("open"), "open"
    if any(switch.throw is not None for switch in switches):
        yield 6.0, _switch("first"), "changeover, its position beside it"
        yield 6.0, _switch("off"), "off"
    if any(node.kind == "tag" for panel in panels for node in panel.rows):
        yield 2.0, _arrow, "leads on, drawn elsewhere"
    for severity in Severity:
        if any(finding.severity is severity for finding in findings):
            piece = Piece("mark", "1", SMALL, True, None, severity.value)
            yield piece.width, _piece(piece), f"{severity.value}, by its number in the list"


def _rails(state: str) -> Sign:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        canvas.line("detected", (x, y - 0.8), (x + 9, y - 0.8), state=state)
        canvas.line("common", (x, y + 0.8), (x + 9, y + 0.8), state=state)

    return draw


def _gap(gap: str) -> Sign:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        for rail, side in (("detected", y - 0.8), ("common", y + 0.8)):
            if gap == UNKNOWN:
                canvas.line(f"{rail}-unknown", (x, side), (x + 6, side))
            elif gap in (rail, "both"):
                for end, edge in ((x, x + 2.4), (x + 6, x + 3.6)):
                    canvas.line(rail, (end, side), (edge, side))
                    canvas.line("cut", (edge, side - 0.65), (edge, side + 0.65))
            else:
                canvas.line(rail, (x, side), (x + 6, side))

    return draw


def _ringed(canvas: Canvas, x: float, y: float) -> None:
    points = [(2.6, 1.1), (1.1, 2.1), (-1.1, 2.1), (-2.6, 1.1)]
    points += [(-a, -b) for a, b in points]
    canvas.line("ringed", *((x + 3 + a, y + b) for a, b in (*points, points[0])))


def _switch(form: str) -> Sign:
    return lambda canvas, x, y: switch_sign(canvas, x, y, form)


def _arrow(canvas: Canvas, x: float, y: float) -> None:
    canvas.line("arrow", (x, y - 0.8), (x + 1.6, y), (x, y + 0.8), closed=True)


def _piece(piece: Piece) -> Sign:
    return lambda canvas, x, y: draw_piece(canvas, piece, x, y + 0.9)
