"""The sign of a joint: which rail is cut, over the line for the detected one and under it for the common."""

from __future__ import annotations

from blockcheck.drawing.shapes import Belongs, Canvas

UNKNOWN = "unknown"
"""The gap of a meeting that no joint describes."""
TICK = 1.5


def gap_sign(canvas: Canvas, x: float, y: float, kind: str, ringed: bool = False, of: Belongs = (None, None)) -> None:
    """The sign at a place on a level line."""
    if kind == UNKNOWN:
        canvas.line("open-joint", (x - 1, y), (x, y - 1), (x + 1, y), (x, y + 1), closed=True, of=of)
    elif kind == "none":
        canvas.line("joint", (x, y - 0.7), (x, y + 0.7), of=of)
    else:
        canvas.line("break", (x - 0.35, y), (x + 0.35, y), of=of)
        for side in (-1,) * (kind != "common") + (1,) * (kind != "detected"):
            canvas.line("cut", (x - 0.35, y), (x - 0.35, y + side * TICK), of=of)
            canvas.line("cut", (x + 0.35, y), (x + 0.35, y + side * TICK), of=of)
    if ringed:
        points = [(2.6, 1.1), (1.1, 2.1), (-1.1, 2.1), (-2.6, 1.1)]
        points += [(-a, -b) for a, b in points]
        canvas.line("ringed", *((x + a, y + b) for a, b in (*points, points[0])), of=of)
