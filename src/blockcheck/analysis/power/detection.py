"""What a block's channel carries of the smallest vehicle, at the place of the block where that is least."""

from __future__ import annotations

import math

from blockcheck.analysis.power.bridged import EXACT_NODES, with_load
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.power.stretch import Find, Spot, worst
from blockcheck.model.layout import Load
from blockcheck.solver.solve import operating_point

TURNS = 3
"""One solution tells what an axle draws as long as the same detectors conduct; that changes once or twice at most."""


def least_detected(electrics: Electrics, block: str, held: bool = False, divided: bool | None = None) -> Spot | None:
    """The least current of the smallest vehicle, alone in a block, that its channel carries, and where it stands then.

    Where current reaches the block past its own detector too, the channel carries a part; ``divided`` says whether that
    is so, where the wiring is to be judged as if it were mended. ``held`` asks it of a block that has voltage through a
    hold resistor only. None where there is no voltage, or data lack.
    """
    load = electrics.smallest
    if (
        load is None
        or block not in electrics.grid.tracks
        or block in electrics.lacking
        or not (held or electrics.live(block))
    ):
        return None
    if electrics.feeding.divided(block) if divided is None else divided:
        return _least_share(electrics, load, block, held)
    if held:
        return _least_held(electrics, load, block)
    idle = load.idle_a or 0.0
    if not load.axle_ohm:
        return Spot(idle, electrics.grid.tracks[block].ladder.length_m)
    found = electrics.alone(block, Find("least", load.axle_ohm))
    return Spot(found.value + idle, found.at_m)


def _steady(electrics: Electrics, load: Load, held: bool) -> float:
    """What a vehicle draws beside its axles: a decoder sleeps behind a hold resistor."""
    asleep = held and load.locomotive and electrics.study.layout.about.control == "dcc"
    return (load.asleep_a if asleep else load.idle_a) or 0.0


def _least_held(electrics: Electrics, load: Load, block: str) -> Spot:
    """As `least_detected`, of a block that is held: no more than the current of a short flows."""
    drawn = _steady(electrics, load, held=True)
    most = electrics.alone(block, Find("least", 0.0))
    axle = electrics.alone(block, Find("least", load.axle_ohm)) if load.axle_ohm else None
    found = Spot((axle.value if axle else 0.0) + drawn, axle.at_m if axle else most.at_m)
    return min(found, most, key=lambda spot: spot.value)


def _least_share(electrics: Electrics, load: Load, block: str, held: bool) -> Spot:
    """The least that the channel carries more for the vehicle in a block that current reaches by other ways as well.

    The share of a detector falls towards where the other ways come in, which is at the ends of the block: a potential
    has its least value at a border.
    """
    track, drawn = electrics.grid.tracks[block], _steady(electrics, load, held)
    if electrics.grid.network.nodes > EXACT_NODES:
        return _rough_share(electrics, block, held)
    network, operating = electrics.emptied(block)
    before = electrics.through_channel(operating, block) or 0.0
    most = electrics.alone(block, Find("least", 0.0)).value if held else None
    found = []
    for place in (0, len(track.at_m) - 1):
        a, b = track.detected[place], track.common[place]
        axle = load.axle_ohm or math.inf
        amperes, probed = drawn + max(operating.volts[a] - operating.volts[b], 0.0) / axle, operating
        for _ in range(TURNS if load.axle_ohm else 1):
            amperes = amperes if most is None else min(amperes, most)
            probed = operating_point(with_load(network, operating, track, place, amperes), like=operating)
            ohms = probed.linear.transfer([(a, b, a, b)])[0]
            if not math.isfinite(ohms):  # no detector conducts
                break
            left = probed.volts[a] - probed.volts[b] + ohms * (amperes - drawn)  # for the axles, less what they lose
            amperes = drawn + max(left, 0.0) / (axle + ohms)
        carried = abs((electrics.through_channel(probed, block) or 0.0) - before)
        found.append(Spot(carried, track.at_m[place]))
    return worst(found)


def _rough_share(electrics: Electrics, block: str, held: bool) -> Spot:
    """As `_least_share`, without a solution for each block: a bound, as if every other way in took its part."""
    track = electrics.grid.tracks[block]
    if electrics.feeding.easier(block):
        return Spot(0.0, 0.0)
    whole = least_detected(electrics, block, held, divided=False)
    assert whole is not None
    operating = electrics.loaded
    shares = (electrics.share(electrics.loaded_network, operating, block, place) for place in (0, -1))
    return worst(
        Spot(whole.value * share, at_m) for share, at_m in zip(shares, (0.0, track.ladder.length_m), strict=True)
    )
