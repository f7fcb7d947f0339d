"""What a channel reads of the trains in its block: by the current that flows through it, against its threshold."""

from __future__ import annotations

from typing import NamedTuple

from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.power.probes import train_current
from blockcheck.circuit.across import across_siemens
from blockcheck.circuit.state import BLIND
from blockcheck.model.datum import datum
from blockcheck.model.layout import Load


class Reading(NamedTuple):
    """``occupied`` is None where it is not known, and ``needs`` lists the data that are missing for it.

    ``amperes`` flow through the channel; where the block is not in the network that is a bound, since nothing along
    the wires takes any off. None where the channel is blind, or there is none.
    """

    occupied: bool | None
    amperes: float | None = None
    needs: tuple[str, ...] = ()


def reading(electrics: Electrics, block: str) -> Reading:
    """How the channel of a block reads the trains that stand in it; one without a train reads clear, unless what lies
    across it for good reads.

    Without a channel nothing is known of it, and nothing would tell more: None, with no needs.
    """
    study = electrics.study
    fed = study.wiring.fed[block]
    if fed.channel is None or fed.type is None or block not in study.circuit.detected:
        return Reading(None)
    if electrics.feeding.now.detection(block) == BLIND:
        return Reading(False)
    here = electrics.feeding.standing.get(block, ())
    drawn = electrics.channel_amperes(block)
    left_out = electrics.lacking.get(block)
    if drawn is None:
        return Reading(False)
    if not here:  # what lies across it for good may read all the same
        for_good = any(across_siemens(study.wiring, name) for name in study.wiring.with_hung(block))
        occupied = for_good and drawn >= fed.threshold_a * (1 - 1e-9)
        return Reading(None, drawn, left_out) if occupied and left_out is not None else Reading(occupied, drawn)
    if left_out is not None and block in electrics.grid.tracks:
        return Reading(None, needs=left_out)
    if drawn >= fed.threshold_a * (1 - 1e-9):
        steady = 0.0  # what flows whatever the wires are
        if block in electrics.feeding.supply:
            steady = sum(train_current(study, study.layout.trains[one.train], one.state)[0] for one in here)
        if left_out is not None and steady < fed.threshold_a:
            return Reading(None, drawn, left_out)
        return Reading(True, drawn)
    needs: dict[str, None] = {}
    for one in here:
        for name in study.layout.trains[one.train].vehicles:
            load = study.layout.loads.get(name)
            if load is None:
                needs[f"loads.{name}"] = None
            elif load.axle_ohm is None and load.current_a(one.state) is None:
                needs[datum("loads", name, one.state if _draws(load) else "axle")] = None
    return Reading(None, drawn, tuple(needs)) if needs else Reading(False, drawn)


def _draws(load: Load) -> bool:
    """Whether it is a locomotive of which some current is known, and only that of its state is missing."""
    return load.locomotive and any(load.current_a(state) is not None for state in ("idle", "running", "stalled"))
