"""What a wheel lets flow that bridges a gap between two boosters."""

from __future__ import annotations

import math

from blockcheck.analysis.power.electrics import Electrics
from blockcheck.model.layout import Joint


def boosters_at(electrics: Electrics, joint: Joint) -> tuple[str, str] | None:
    """The boosters that feed the blocks on either side of a joint that cuts the detected rail, where they differ."""
    supply, districts = electrics.feeding.supply, electrics.study.layout.districts
    if joint.gap not in ("detected", "both") or not all(block in supply for block in joint.blocks):
        return None
    first, second = (str(districts[supply[block]].booster) for block in joint.blocks)
    return (first, second) if first != second else None


def bridging_amperes(electrics: Electrics, joint: Joint) -> float:
    """Amperes from the one booster into the other through a wheel across a joint, with no load drawing.

    A wheel joins the two detected rails; where nothing else joins the two tracks, its axle joins the common rails as
    well. The detectors on both sides take off their drops. Both blocks are in the network and live.
    """
    first, second = (
        (track.detected[place], track.common[place])
        for track, place in (
            (electrics.grid.tracks[block], 0 if end == "near" else -1)
            for block, end in zip(joint.blocks, joint.ends, strict=True)
        )
    )
    volts, closed = electrics.unloaded.volts, electrics.unloaded.linear.closed
    component = electrics.unloaded.component
    if component[first[0]] == component[second[0]]:
        apart = abs(volts[first[0]] - volts[second[0]])
        ohms = closed.transfer([(first[0], second[0], first[0], second[0])])[0]
    else:
        apart = abs(volts[first[0]] - volts[first[1]] - volts[second[0]] + volts[second[1]])
        ohms = sum(closed.transfer([(*first, *first), (*second, *second)]))
    lost = sum(electrics.study.wiring.fed[block].lost_v for block in joint.blocks)
    left = max(0.0, apart - lost)
    return left / ohms if ohms > 0 else math.inf if left else 0.0
