"""Which values along the wires are bounds, since a neighbour's data are incomplete and it was left out."""

from __future__ import annotations

from collections.abc import Mapping

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.core.natural import natural_key
from blockcheck.model.datum import feed_of
from blockcheck.model.operate import Operation


def unbuilt(study: Study) -> Mapping[str, tuple[str, ...]]:
    """Block -> what it lacks to be joined to anything, for those that are: a channel or district that exists."""
    circuit, fed = study.circuit, study.wiring.fed
    return {
        block: feed_of(one)
        for block, one in fed.items()
        if block not in circuit.detected and one.block.unpowered is None
    }


def bounded(study: Study, operation: Operation) -> Mapping[str, str]:
    """Block -> the first block that was left out of those with which its rails hang together, or that draws something
    through the same common bus.

    What was left out could only add copper beside its neighbours, and takes the longest way through the bus: their
    values come out no better than they are. A block that was left out itself stands for itself.
    """
    electrics = Electrics.of(study, operation)
    left_out = sorted(electrics.grid.lacking, key=natural_key)
    if not left_out:
        return {}
    beside: dict[str, set[str]] = {}
    for joint in study.layout.joints:
        if joint.gap != "both":
            first, second = joint.blocks
            beside.setdefault(first, set()).add(second)
            beside.setdefault(second, set()).add(first)
    blocks, found = study.layout.blocks, dict[str, str]()
    for cause in left_out:
        ring = [cause]
        harness = blocks[cause].harness
        if harness is not None and cause in Budget.of(study, operation).blocks:
            ring += [name for name, block in blocks.items() if block.harness == harness]
        while ring:
            block = ring.pop()
            if block not in found:
                found[block] = cause
                ring += beside.get(block, ())
    return found
