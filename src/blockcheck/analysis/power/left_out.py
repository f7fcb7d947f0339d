"""Which blocks are not in the network for want of which data, their own or a neighbour's."""

from __future__ import annotations

import math
from collections.abc import Mapping

from blockcheck.analysis.study import Study
from blockcheck.circuit.state import OFF, Now
from blockcheck.model.datum import wires_of
from blockcheck.network.grid import Grid
from blockcheck.solver.solve import Operating


def lacking(study: Study, now: Now, grid: Grid, operating: Operating) -> Mapping[str, tuple[str, ...]]:
    """Block -> the data that keep it out of the network, as they are written; of a block that current reaches through
    left out ones alone, so that the network has no volts there, those of these."""
    own = {block: wires_of(lacks) for block, lacks in grid.lacking.items()}
    if not own:
        return own
    beside: dict[str, list[str]] = {}
    for joint in study.layout.joints:
        for one, other in (joint.blocks, joint.blocks[::-1]):
            beside.setdefault(one, []).append(other)
    found, volts = dict(own), operating.volts
    for block, track in grid.tracks.items():
        if math.isnan(volts[track.detected[0]] - volts[track.common[0]]) and now.power(block) != OFF:
            ring, seen = [block], {block}
            while ring:
                more = [other for one in ring if one not in own for other in beside.get(one, ()) if other not in seen]
                seen.update(more)
                ring = list(dict.fromkeys(more))
            found[block] = tuple(dict.fromkeys(need for one in sorted(seen & own.keys()) for need in own[one]))
    return found
