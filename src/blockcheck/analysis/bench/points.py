"""Points that pass power to the leg for which they are set: what is tried there, and what may be wrong with it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from blockcheck.analysis.bench import fault_kinds as kinds
from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.wired import Meeting, Wired
from blockcheck.network.built import Change


class Routed(NamedTuple):
    """A joint whose rail runs through with the points set for its leg alone; ``away`` is how they stand for another."""

    points: str
    leg: str
    away: str
    meet: Meeting


def routed(bench: Wired) -> Iterator[Routed]:
    """Every such joint, in the order of the joints."""
    for meet in bench.meetings():
        points = bench.study.wiring.routed.get((meet.joint, meet.rail))
        if points is not None and not meet.cut:
            name, leg = points
            yield Routed(name, leg, "diverging" if leg == "through" else "through", meet)


def bridged(bench: Wired) -> Iterator[Fault]:
    """Rails that are joined past the points."""
    for one in routed(bench):
        first, second = one.meet.blocks
        words = f"power passes between {first} and {second} however {one.points} is set: their rails are joined past it"
        look = f"{one.points}: wires and rail joiners between {first} and {second}, and its blades where it is set away"
        change = Change(added=((*one.meet.nodes, 0.0),))
        yield Fault.of(
            kinds.POINTS_BRIDGED, f"{one.points}.{one.leg}", (one.points, first, second), words, look, change
        )
