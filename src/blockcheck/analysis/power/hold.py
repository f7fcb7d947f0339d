"""What hold resistor an isolator may have: the smallest vehicle still reads through it, and no locomotive wakes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from blockcheck.analysis.power.probes import smallest
from blockcheck.analysis.study import Study
from blockcheck.model.operate import vehicles
from blockcheck.model.standards import E12

_SPARE = 0.05
"""What is kept free at either end, for the tolerance of resistors and for wires and other loads."""


class Hold(NamedTuple):
    """From and to what an isolator's hold resistor does what it should, in ohms."""

    least_ohm: float
    most_ohm: float

    @property
    def preferred_ohm(self) -> float | None:
        """The largest resistor of the E12 series between the two, from 10 ohm to 1 Mohm; None where none is."""
        series = (one * 10**decade for decade in range(1, 6) for one in E12)
        return max((ohms for ohms in series if self.least_ohm <= ohms <= self.most_ohm), default=None)


def hold_of(study: Study, isolator: str, blocks: Sequence[str]) -> Hold | None:
    """What an isolator's hold resistor may be for all of its blocks; wires and what else draws are left aside.

    None where nothing tells the smallest vehicle, or several blocks share the resistor.
    """
    layout, load = study.layout, smallest(study)
    shared = layout.isolators[isolator].side == "before-detector" and len(blocks) > 1
    if load is None or shared:
        return None
    wakes_v, least, most = layout.least_voltage_v, [0.0], list[float]()
    idle = [one.idle_a for one in vehicles(study.wiring) if one.locomotive and one.idle_a]
    drawn = (load.asleep_a if load.locomotive and wakes_v is not None else load.idle_a) or 0.0
    for block in blocks:
        fed = study.wiring.fed[block]
        home = layout.districts.get(str(fed.district))
        booster = layout.boosters.get(home.booster) if home is not None else None
        if fed.type is None or booster is None:
            continue
        volts, wanted = booster.voltage_v - fed.lost_v, layout.limits.detection_margin * fed.threshold_a
        if wanted <= drawn:
            most.append(volts / wanted)
        else:
            most.append(volts / (wanted - drawn) - load.axle_ohm if load.axle_ohm else 0.0)
        if idle and wakes_v is not None:
            least.append((volts - wakes_v) / min(idle))
    return Hold(max(least) * (1 + _SPARE), min(most) * (1 - _SPARE)) if most else None
