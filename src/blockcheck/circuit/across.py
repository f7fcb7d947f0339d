"""What lies across the rails, or across a bus pair, for good: lamps, filters, and what each of them draws."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from blockcheck.core.spans import Path
from blockcheck.model.layout import Across
from blockcheck.model.quantities import DIMENSIONS, Farads, Ohms, show
from blockcheck.model.wiring import Wiring

ONES_HERTZ = 1 / 116e-6
"""Frequency of the track signal during a stream of ones (NMRA S-9.1, table 1: half a bit is 58 us)."""


class Lying(NamedTuple):
    """Something across the rails of a block, or (``at_bus``) across the far end of its bus pair, where it is written,
    and what it looks like to the track signal, in ohms."""

    path: Path
    part: Across
    ohms: float
    at_bus: bool

    @property
    def words(self) -> str:
        """What it is, for people: ``100 ohm and 0.1 uF in series``."""
        resistance, farads = self.part.resistance_ohm, self.part.capacitance_f
        told = [
            *([show(resistance, DIMENSIONS[Ohms], digits=6)] if resistance is not None else []),
            *([show(farads, DIMENSIONS[Farads], digits=6)] if farads is not None else []),
        ]
        return " and ".join(told) + (" in series" if len(told) > 1 else "")


def track_ohm(part: Across, digital: bool) -> float:
    """What a part looks like to the track signal: volts over the rectified mean of its current, in ohms.

    Under dcc a capacitance C behind R swings between +U and -U, U = V tanh(h / 2RC) with h half a period, and takes
    2 C U with each edge: the mean is 4 C f V tanh(1 / 4fRC), during a stream of ones, when it is most. Under dc
    nothing flows through it once it is charged.
    """
    ohms, farads = part.resistance_ohm or 0.0, part.capacitance_f
    if farads is None:
        return ohms
    if not digital:
        return math.inf
    charged = 1.0 / (4 * ONES_HERTZ * farads)
    return charged / math.tanh(charged / ohms) if ohms else charged


def lying_across(wiring: Wiring, block: str) -> Iterator[Lying]:
    """What lies across a block for good, its bus pair first."""
    layout, own = wiring.layout, wiring.layout.blocks[block]
    if own.unpowered is not None:
        return
    harness = layout.harnesses.get(own.harness) if own.harness is not None and own.fed_through is None else None
    digital = layout.about.control == "dcc"
    if harness is not None and harness.terminator is not None:
        part = harness.terminator
        yield Lying(("harnesses", harness.name, "terminator"), part, track_ohm(part, digital), at_bus=True)
    if own.across is not None:
        yield Lying(("blocks", block, "across"), own.across, track_ohm(own.across, digital), at_bus=False)


def across_siemens(wiring: Wiring, block: str) -> float:
    """What lies across a block for good conducts, all together."""
    return math.fsum(1.0 / one.ohms for one in lying_across(wiring, block))
