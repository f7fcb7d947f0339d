"""Track that could not be drawn clean, or is too large for a sheet: each block by itself, with what it meets."""

from __future__ import annotations

from blockcheck.drawing.figures.figure import End, Figure
from blockcheck.drawing.figures.maker import STUB, Maker
from blockcheck.drawing.names import compact
from blockcheck.drawing.plan.parts import Stretch
from blockcheck.drawing.plan.ports import LEGS


def alone(maker: Maker, block: str) -> Figure:
    """One block, and at its ends the names of what it meets there."""
    made = Figure()
    body = maker.stretch(Stretch(block))
    made.put(body, STUB)
    made.line(block, (0, 0), (STUB, 0))
    made.line(block, (STUB + body.width, 0), (2 * STUB + body.width, 0))
    for way, x, end in ((-1, 0.0, "near"), (1, 2 * STUB + body.width, "far")):
        to = compact(maker.ports.met.get((block, end), ()), 24)
        made.add(End((x, 0), way, "", to, maker.words(f"to {to}") if to else 0.0))
    return made


def sentence(maker: Maker, fork: str) -> str:
    """A turnout in words."""
    legs = [(leg, maker.ports.beyond((fork, leg))) for leg in LEGS]
    return f"{fork} in {maker.throat(fork)}: " + ", ".join(f"{leg} {there or 'to nothing'}" for leg, there in legs)
