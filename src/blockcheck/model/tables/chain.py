"""Blocks that follow one another in a harness: where each begins, along the chain of joints."""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from typing import NamedTuple

from attrs import evolve

from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Layout
from blockcheck.model.quantities import Metres
from blockcheck.model.wiring import Wiring


class Start(NamedTuple):
    """How far a block's near end is from the board, and the block before it, whose lead and length that is."""

    lead_m: float
    before: str


def with_leads(layout: Layout) -> Layout:
    """A layout in which a lead that is left out is taken along the chain of joints from a block that has one."""
    own = {name: block.lead_m for name, block in layout.blocks.items() if block.lead_m is not None}
    found = _starts(layout, own)
    if not found:
        return layout
    blocks = {name: evolve(layout.blocks[name], lead_m=Metres(start.lead_m)) for name, start in found.items()}
    return evolve(layout, blocks={**layout.blocks, **blocks})


def taken(wiring: Wiring) -> Mapping[str, Start]:
    """The blocks whose lead was taken along the chain of joints, in natural order."""
    written = wiring.document.values.get("blocks", {})
    own = {
        name: block.lead_m
        for name, block in wiring.layout.blocks.items()
        if block.lead_m is not None and "lead" in written.get(name, {})
    }
    found = _starts(wiring.layout, own)
    return {name: found[name] for name in sorted(found, key=natural_key)}


def _starts(layout: Layout, own: Mapping[str, float]) -> dict[str, Start]:
    """The starts that follow from those that are told; of several ways there the shortest. What has no drops is passed,
    and has no start of its own."""
    after = _followers(layout)
    ring = [(lead_m, natural_key(name), name, "") for name, lead_m in own.items()]
    heapq.heapify(ring)
    found: dict[str, Start] = {}
    while ring:
        lead_m, _, name, before = heapq.heappop(ring)
        if name in found:
            continue
        found[name] = Start(lead_m, before)
        length_m = layout.blocks[name].length_m
        if length_m is None:
            continue
        for follower in after.get(name, ()):
            if follower not in own and follower not in found:
                heapq.heappush(ring, (lead_m + length_m, natural_key(follower), follower, name))
    return {name: one for name, one in found.items() if one.before and layout.blocks[name].fed_through is None}


def _followers(layout: Layout) -> Mapping[str, list[str]]:
    """Block -> those of its harness whose near ends are on its far end, where the harness tells no lead for all."""
    found: dict[str, list[str]] = {}
    for joint in layout.joints:
        if len(joint.blocks) != 2 or len(joint.ends) != 2:
            continue
        first, second = zip(map(str, joint.blocks), joint.ends, strict=True)
        for (name, end), (other, there) in ((first, second), (second, first)):
            if end == "far" and there == "near" and _one_harness(layout, name, other):
                found.setdefault(name, []).append(other)
    return found


def _one_harness(layout: Layout, one: str, other: str) -> bool:
    blocks = layout.blocks
    if one not in blocks or other not in blocks or blocks[one].harness != blocks[other].harness:
        return False
    harness = layout.harnesses.get(str(blocks[one].harness))
    return harness is not None and harness.lead_m is None
