"""The sign of a joint: which rail is cut, over the line for the detected one and under it for the common."""

from __future__ import annotations

from collections.abc import Iterable

from blockcheck.drawing.shapes import Belongs, Canvas, Point

UNKNOWN = "unknown"
"""The gap of a meeting that no joint describes."""
TICK = 1.5
LEVEL = (1.0, 0.0)


def gap_sign(
    canvas: Canvas,
    x: float,
    y: float,
    kind: str,
    ringed: bool = False,
    of: Belongs = (None, None),
    along: Point = LEVEL,
) -> None:
    """The sign at a place on a line that leads ``along`` a direction; on an upright one, over it is to its right."""
    dx, dy = along if along[0] > 0.01 or (abs(along[0]) <= 0.01 and along[1] > 0) else (-along[0], -along[1])

    def at(far: float, over: float) -> Point:
        return (x + far * dx + over * dy, y + far * dy - over * dx)

    def line(sign: str, places: Iterable[Point], closed: bool = False) -> None:
        canvas.line(sign, *(at(*place) for place in places), closed=closed, of=of)

    if kind == UNKNOWN:
        line("open-joint", ((-1, 0), (0, 1), (1, 0), (0, -1)), closed=True)
    elif kind == "none":
        line("joint", ((0, 0.7), (0, -0.7)))
    else:
        line("break", ((-0.35, 0), (0.35, 0)))
        for side in (1,) * (kind != "common") + (-1,) * (kind != "detected"):
            for far in (-0.35, 0.35):
                line("cut", ((far, 0), (far, side * TICK)))
    if ringed:
        points = [(2.6, 1.1), (1.1, 2.1), (-1.1, 2.1), (-2.6, 1.1)]
        points += [(-a, -b) for a, b in points]
        line("ringed", (*points, points[0]))
