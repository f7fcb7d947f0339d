"""What an empty block draws all the same: its cable's capacitance and its roadbed."""

from __future__ import annotations

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.model.datum import datum

ONES_HERTZ = 1 / 116e-6
"""Frequency of the track signal during a stream of ones (NMRA S-9.1, table 1: half a bit is 58 us)."""


@frozen(eq=False, repr=False)
class Empty:
    """A bound on the current of an empty block, in amperes: what its cable's capacitance and its roadbed take.

    ``needs`` lists the data without which nothing is known.
    """

    cable_a: float = 0.0
    roadbed_a: float = 0.0
    needs: tuple[str, ...] = ()

    @property
    def amperes(self) -> float:
        """Both together."""
        return self.cable_a + self.roadbed_a


def pair_current(farads: float, volts: float, hertz: float = ONES_HERTZ) -> float:
    """Rectified mean of the current that charges a pair's capacitance from -V to V and back, ``hertz`` times a second.

    Each edge moves Q = 2 C V, two edges a period: 4 C V f, whatever the slew rate, as long as the edges settle.
    """
    return 4 * farads * volts * hertz


def empty_current(study: Study, block: str, district: str) -> Empty:
    """What a block draws while it is empty, fed from a district. The drop of its detector is not taken off.

    Under dcc it takes the pair's capacitance, over lead and block; the roadbed counts where its leakage is given.
    Under dc only the roadbed counts.
    """
    layout, own = study.layout, study.layout.blocks[block]
    lengthless = [datum("blocks", block, "length")] if not own.length_m else []
    harness = layout.harnesses.get(own.harness) if own.harness is not None else None
    if harness is None:
        return Empty(needs=(datum("blocks", block, "harness"), *lengthless))
    home = layout.districts.get(district)
    booster = layout.boosters.get(home.booster) if home is not None else None
    if booster is None:
        return Empty(needs=(datum("districts", district, "booster"),))
    volts = booster.voltage_v
    rail = layout.rails.get(str(harness.rail))
    leakage, where = harness.leakage_ohm_m, datum("harnesses", harness.name, "leakage")
    if rail is not None:
        leakage, where = rail.leakage_ohm_m, datum("rails", rail.name, "leakage")
    lead_m = own.lead_m if own.lead_m is not None else harness.lead_m
    digital = layout.about.control == "dcc"
    needs = [*lengthless]
    if digital:
        needs += [datum("harnesses", harness.name, "lead")] if lead_m is None else []
        needs += [datum("harnesses", harness.name, "capacitance")] if harness.capacitance_f_per_m is None else []
    elif not leakage:
        needs.append(where)
    if needs:
        return Empty(needs=tuple(needs))
    length_m = own.length_m or 0.0
    farads = (harness.capacitance_f_per_m or 0.0) * ((lead_m or 0.0) + length_m) if digital else 0.0
    return Empty(pair_current(farads, volts), volts * length_m / leakage if leakage else 0.0)
