"""Which values along the wires are bounds, since a neighbour's data are incomplete and it was left out."""

from __future__ import annotations

from collections.abc import Mapping

from blockcheck.analysis.case import Case
from blockcheck.analysis.electrics import Electrics
from blockcheck.core.natural import natural_key


def unbuilt(case: Case) -> Mapping[str, tuple[str, ...]]:
    """Block -> what it lacks to be joined to anything, for those that are: a channel or district that exists."""
    circuit, fed = case.circuit, case.wiring.fed
    return {
        block: tuple(".".join(map(str, path)) for path in one.missing) or (f"blocks.{block}.district",)
        for block, one in fed.items()
        if block not in circuit.detected
    }


def bounded(case: Case, electrics: Electrics) -> Mapping[str, str]:
    """Block -> the first block that was left out of those with which its rails hang together.

    What was left out could only add copper beside its neighbours: their values come out no better than they are. A
    block that was left out itself stands for itself.
    """
    left_out = sorted(electrics.grid.lacking, key=natural_key)
    if not left_out:
        return {}
    beside: dict[str, set[str]] = {}
    for joint in case.layout.joints:
        if joint.gap != "both":
            first, second = joint.blocks
            beside.setdefault(first, set()).add(second)
            beside.setdefault(second, set()).add(first)
    found: dict[str, str] = {}
    for cause in left_out:
        ring = [cause]
        while ring:
            block = ring.pop()
            if block not in found:
                found[block] = cause
                ring += beside.get(block, ())
    return found
