"""The worst place of a block whose current comes through several detectors, or may change what others carry.

Where one detector feeds a block, all of a load's current passes it, and one solution tells what any load sees at any
place. Where rails bridge detectors, which of them conduct hangs on the load itself: so it is put to the place found,
the network is solved again, and the place is looked for again with the detectors as they then are.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from attrs import evolve

from blockcheck.analysis.power.stretch import Point, Spot, Stretch, worst
from blockcheck.network.grid import Track
from blockcheck.solver.linear import Linear
from blockcheck.solver.network import Network, Sinks
from blockcheck.solver.solve import Operating, drop_shares, operating_point

TURNS = 12
EXACT_NODES = 1_500
"""Up to this many nodes each bridged block is solved for; beyond, it would cost more than a wiring fault is worth."""
_WHOLE = 1e-7
_SOME, _LITTLE = 1e-3, 1e-6
"""Amperes: about what a wheelset draws, and next to nothing."""


def bridged(network: Network, closed: Linear, track: Track, own: int | None) -> bool:
    """Whether a load in a block may take current through any drop but its ``own`` (None: none), which takes it all.

    ``closed`` is the network with every drop as a plain connection.
    """
    for place in (0, -1):
        shares = drop_shares(network, closed, track.detected[place], track.common[place])
        if any(abs(share - (number == own)) > _WHOLE for number, share in enumerate(shares)):
            return True
    return False


def settle(
    network: Network,
    operating: Operating,
    track: Track,
    find: Callable[[Stretch], Spot],
    amperes: float | None,
    first: Spot,
) -> Spot:
    """The worst place by ``find``, for a load of some amperes, or (None) of the current that ``find`` tells.

    Other loads draw what they draw at the operating point. ``first`` is where to look first.
    """
    found, seen = first, dict[tuple[object, ...], Spot]()
    drawn = found.value if amperes is None else amperes
    if not math.isfinite(drawn):
        drawn = _SOME
    place = track.nearest(found.at_m)
    for _ in range(TURNS):
        drawn = max(drawn, _LITTLE)  # a detector takes off its drop from the first of the current on
        probed = operating_point(with_load(network, operating, track, place, drawn), like=operating)
        state = (place, probed.conduct)
        found = worst(find(one) for one in _stretches(probed, track, place, drawn))
        if state in seen:  # settled; or going round, and then the worst of the round is told
            return worst(list(seen.values())[list(seen).index(state) :])
        seen[state] = found
        place = track.nearest(found.at_m)
        drawn = found.value if amperes is None and math.isfinite(found.value) else drawn
    return worst(seen.values())


def with_load(network: Network, operating: Operating, track: Track, place: int, amperes: float) -> Network:
    """The network with one more load at a place, and the others as they are."""
    sinks, count = network.sinks, len(network.sinks.a) + 1
    return evolve(
        network,
        sinks=Sinks(
            [*sinks.a, track.detected[place]],
            [*sinks.b, track.common[place]],
            [*operating.sink_amperes, amperes],
            [-math.inf] * count,
            [0.0] * count,
        ),
    )


def _stretches(probed: Operating, track: Track, place: int, amperes: float) -> list[Stretch]:
    """The stretches of a block with the detectors as they are while a load draws at a place, the load taken off."""
    pairs = list(zip(track.detected, track.common, strict=True))
    quads = [(a, b, a, b) for a, b in pairs]
    quads += [(*one, *two) for one, two in pairwise(pairs)]
    quads += [(a, b, *pairs[place]) for a, b in pairs]
    ohms = probed.linear.transfer(quads)
    count, rail = len(pairs), track.ladder.rail_ohm_per_m
    points = [
        Point(at_m, probed.volts[a] - probed.volts[b] + amperes * lost, 0.0, own)
        for at_m, (a, b), own, lost in zip(track.at_m, pairs, ohms[:count], ohms[-count:], strict=True)
    ]
    return [
        Stretch(near, far, transfer, 2 * rail * (far.at_m - near.at_m))
        for near, far, transfer in zip(points[:-1], points[1:], ohms[count:-count], strict=True)
    ]
