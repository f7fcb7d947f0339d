"""What the signs of a drawing mean, and how each is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from attrs import frozen

from blockcheck.circuit.state import OFF, ON, TRICKLE
from blockcheck.core.findings import Finding, Severity
from blockcheck.drawing.entries import Entry, Piece, Switch, draw_piece, ring, switch_sign
from blockcheck.drawing.gaps import UNKNOWN, gap_sign
from blockcheck.drawing.painter import BANDS
from blockcheck.drawing.shapes import SMALL, Canvas

Sign = Callable[[Canvas, float, float], None]


GAPS = {
    "detected": "joint, detected rail cut",
    "both": "both rails cut",
    "common": "common rail cut",
    "none": "no rail cut",
    UNKNOWN: "joint not described",
}


def signs(
    gaps: Iterable[str], entries: Sequence[Entry], findings: Sequence[Finding], track: Shown
) -> Iterator[tuple[float, Sign, str]]:
    """What the signs that are used mean: width, how to draw it, words."""
    yield from _powers(entries)
    if track.points:
        yield 6.0, _points, "turnout; the bar is over the leg it is set for"
    if track.guessed:
        yield 3.0, _guessed, "turnout that is not described: guessed, in the order of the joints"
    for gap, text in GAPS.items():
        if gap in gaps:
            yield 6.0, _gap(gap), text
    if track.ringed:
        yield 6.0, _ringed, "joint with a finding"
    yield from _switches([switch for entry in entries for switch in entry.switches])
    if track.arrows:
        yield 2.0, _arrow, "leads on, where the same letter or number stands"
    if track.trains:
        yield 9.0, _train, "train, as long as it is against its block"
    if track.drops:
        yield 9.0, _drops, "drops to the rails"
    for number, name in enumerate(track.districts):
        yield 9.0, _district(number), f"district {name}"
    for severity in Severity:
        if any(finding.severity is severity for finding in findings):
            piece = Piece("mark", "1", SMALL, True, None, severity.value)
            yield piece.width, _piece(piece), f"{severity.value}, by its number in the list"


def _powers(entries: Sequence[Entry]) -> Iterator[tuple[float, Sign, str]]:
    yield 9.0, _track(ON), "track of a block"
    powers = {entry.power for entry in entries}
    for power, text in ((OFF, "no power"), (TRICKLE, "a trickle, by a hold resistor")):
        if power in powers:
            yield 9.0, _track(power), f"{power}: {text}"
    if None in powers:
        yield 9.0, _track("unknown"), "feed not known"
    if any(", blind" in entry.word or ", held" in entry.word for entry in entries):
        yield 0.0, lambda *_: None, "blind: its channel reads clear whatever stands there; held: it still reads"


def _switches(switches: Sequence[Switch]) -> Iterator[tuple[float, Sign, str]]:
    if any(switch.throw is None for switch in switches):
        yield 6.0, _switch("closed"), "isolator closed"
        yield 6.0, _switch("open"), "open"
    if any(switch.throw is not None for switch in switches):
        yield 6.0, _switch("first"), "changeover, its position beside it"
        yield 6.0, _switch("off"), "off"


@frozen
class Shown:
    """What there is in the picture of the track."""

    points: bool
    guessed: bool
    ringed: bool
    arrows: bool
    districts: tuple[str, ...] = ()
    trains: bool = False
    drops: bool = False


def _track(state: str) -> Sign:
    return lambda canvas, x, y: canvas.line("track", (x, y), (x + 9, y), state=state)


def _points(canvas: Canvas, x: float, y: float) -> None:
    canvas.line("track", (x, y), (x + 6, y), state=ON)
    canvas.line("track", (x + 1.5, y), (x + 4, y - 1.8), state=ON)
    ring(canvas, x + 1.5, y, 0.8, "points")
    canvas.line("set", (x + 2.6, y), (x + 4.6, y))


def _guessed(canvas: Canvas, x: float, y: float) -> None:
    ring(canvas, x + 1.5, y, 0.8, "guessed")


def _gap(gap: str) -> Sign:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        canvas.line("track", (x, y), (x + 6, y), state=ON)
        gap_sign(canvas, x + 3, y, gap)

    return draw


def _district(number: int) -> Sign:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        for layer in ("tint", "hatch"):
            canvas.line(f"{layer}-{number % BANDS}", (x, y), (x + 9, y))

    return draw


def _train(canvas: Canvas, x: float, y: float) -> None:
    canvas.line("track", (x, y), (x + 9, y), state=ON)
    for kind in ("train", "inside"):
        canvas.line(kind, (x + 2, y), (x + 7, y))


def _drops(canvas: Canvas, x: float, y: float) -> None:
    canvas.line("track", (x, y), (x + 9, y), state=ON)
    for far in (2.0, 7.0):
        canvas.line("drop", (x + far, y), (x + far, y + 2.0))


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
