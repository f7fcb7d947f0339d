"""What a pair of nodes looks like from outside: what the laws of networks are stated in, for tests."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from blockcheck.analysis.power.stretch import Point, Stretch
from blockcheck.solver.linear import Linear, branches_of
from blockcheck.solver.network import Network
from blockcheck.solver.solve import Operating
from blockcheck.solver.sparse import PLAIN_UNKNOWNS


class Thevenin(NamedTuple):
    """A pair of nodes from outside. volts: without current. ohms: volts lost for an ampere (infinite: no way
    through)."""

    volts: float
    ohms: float


def thevenin(operating: Operating, pairs: Sequence[tuple[int, int]]) -> list[Thevenin]:
    """What each pair of nodes looks like from outside at an operating point: its drops stay as they are, its loads
    draw on.

    For a short circuit, where no load draws, give the operating point of the network without sinks; see
    `opposing_volts` then.
    """
    ohms = operating.linear.transfer([(a, b, a, b) for a, b in pairs])
    volts = operating.volts
    return [Thevenin(volts[a] - volts[b], loop) for (a, b), loop in zip(pairs, ohms, strict=True)]


def effective_resistance(
    network: Network, pairs: Sequence[tuple[int, int]], *, plain_up_to: int = PLAIN_UNKNOWNS
) -> list[float]:
    """Ohms between pairs of nodes with sources and drops as plain connections behind their resistances and no load."""
    linear = Linear(branches_of(network), plain_up_to=plain_up_to)
    return linear.transfer([(a, b, a, b) for a, b in pairs])


def along_rail(z00: float, z01: float, z11: float, ra: float, rb: float) -> tuple[float, float]:
    """Where between two pairs of nodes on two rails the loop resistance is largest, from 0 to 1, and that resistance.

    z00, z11: ohms of the pair at either end; z01: transfer ohms from one pair to the other; ra, rb: ohms of the two
    rails between the pairs.
    """
    spot = Stretch(Point(0.0, 0.0, 0.0, z00), Point(1.0, 0.0, 0.0, z11), z01, ra + rb).lowest(1.0)
    return spot.at_m, -spot.value
