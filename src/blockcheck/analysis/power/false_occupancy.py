"""What an empty block draws all the same: its cable's capacitance, its roadbed, and what lies across it for good."""

from __future__ import annotations

import math
from typing import NamedTuple

from blockcheck.analysis.study import Study
from blockcheck.circuit.across import ONES_HERTZ, across_siemens
from blockcheck.core.spans import Path
from blockcheck.model.datum import datum


class Empty(NamedTuple):
    """A bound on the current of an empty block, in amperes: what its cable's capacitance and its roadbed take, and what
    lies across it for good, each with those of the blocks that it feeds by its rails.

    ``needs`` lists the data without which nothing is known of cable and roadbed.
    """

    cable_a: float = 0.0
    roadbed_a: float = 0.0
    across_a: float = 0.0
    needs: tuple[str, ...] = ()

    @property
    def leaks_a(self) -> float:
        """Cable and roadbed together."""
        return self.cable_a + self.roadbed_a

    @property
    def amperes(self) -> float:
        """All together."""
        return self.leaks_a + self.across_a


def pair_current(farads: float, volts: float, hertz: float = ONES_HERTZ) -> float:
    """Rectified mean of the current that charges a pair's capacitance from -V to V and back, ``hertz`` times a second.

    Each edge moves Q = 2 C V, two edges a period: 4 C V f, whatever the slew rate, as long as the edges settle.
    """
    return 4 * farads * volts * hertz


def empty_current(study: Study, block: str, district: str, hold_ohm: float = 0.0) -> Empty:
    """What a block draws while it is empty, fed from a district. The drop of its detector is not taken off.

    Under dcc it takes the pair's capacitance, over lead and block; the roadbed counts where its leakage is given.
    Under dc only the roadbed counts. What it feeds by its rails has no cable of its own, and counts wherever points
    stand. ``hold_ohm`` is a hold resistor before what lies across it.
    """
    layout = study.layout
    home = layout.districts.get(district)
    booster = layout.boosters.get(home.booster) if home is not None else None
    if booster is None:
        return Empty(needs=(datum("districts", district, "booster"),))
    volts, digital = booster.voltage_v, layout.about.control == "dcc"
    every = study.wiring.with_hung(block)
    siemens = math.fsum(across_siemens(study.wiring, name) for name in every)
    across_a = volts / (1 / siemens + hold_ohm) if siemens else 0.0
    own, farads, leaks, needs = layout.blocks[block], 0.0, 0.0, list[str]()
    harness = layout.harnesses.get(own.harness) if own.harness is not None else None
    if harness is None:
        needs.append(datum("blocks", block, "harness"))
    needs += [datum("blocks", block, "length")] if not own.length_m else []
    if harness is not None and digital:
        lead_m = own.lead_m if own.lead_m is not None else harness.lead_m
        needs += [datum("harnesses", harness.name, "lead")] if lead_m is None else []
        needs += [datum("harnesses", harness.name, "capacitance")] if harness.capacitance_f_per_m is None else []
        farads = (harness.capacitance_f_per_m or 0.0) * ((lead_m or 0.0) + (own.length_m or 0.0))
    for name in every:
        bed = leakage(study, name)
        leaks += bed.siemens
        if not bed.known and not digital and bed.path:
            needs.append(datum(*bed.path))
    if needs:
        return Empty(across_a=across_a, needs=tuple(dict.fromkeys(needs)))
    return Empty(pair_current(farads, volts), volts * leaks, across_a)


class Leakage(NamedTuple):
    """What a block's roadbed conducts, in siemens, and where its leakage is written; no path without a harness."""

    siemens: float
    path: Path
    known: bool = False


def leakage(study: Study, block: str) -> Leakage:
    """The leakage of a block's roadbed; nought where it is not told."""
    layout, own = study.layout, study.layout.blocks[block]
    harness = layout.harnesses.get(own.harness) if own.harness is not None else None
    if harness is None:
        return Leakage(0.0, ())
    rail = layout.rails.get(str(harness.rail))
    ohm_m, path = (
        (harness.leakage_ohm_m, ("harnesses", harness.name))
        if rail is None
        else (rail.leakage_ohm_m, ("rails", rail.name))
    )
    return Leakage((own.length_m or 0.0) / ohm_m if ohm_m else 0.0, (*path, "leakage"), ohm_m is not None)
