"""The contacts that alone lead to what lies behind them, in a network as it is solved."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.analysis.power.electrics import Electrics
from blockcheck.solver.superlu import label_parts

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@frozen(eq=False)
class Leaves:
    """What lies behind each contact that alone leads there, with no source and no other such contact: a leaf.

    ``count`` leaves there are. ``isolators``: isolator -> number of its leaf, for those that may be opened without a
    change of another detector's state. ``of_node``: the leaf of every node, or -1. ``before``: a node itself, or for
    one in a leaf the node before the contact. ``unsure``: nodes at detectors whose current the rest may change.
    """

    count: int
    isolators: Mapping[str, int]
    of_node: Ints
    before: Ints
    unsure: Ints


def leaves_of(electrics: Electrics) -> Leaves:
    """The leaves of a loaded network."""
    branches = electrics.loaded.linear.branches
    a, b = np.asarray(branches.a, dtype=np.int64), np.asarray(branches.b, dtype=np.int64)
    names, contacts = _candidates(electrics)
    every = np.ones(len(a), dtype=bool)
    every[contacts] = False
    sources = np.arange(branches.resistors, branches.drops.start)
    count, part = label_parts(branches.nodes, a[every], b[every])
    alone = _alone(count, part, a[contacts], b[contacts], a[sources])
    one = alone[0] != alone[1]  # with neither end fed, nobody knows which is behind
    which = np.flatnonzero(one)
    forth = alone[1][which]
    behind = np.where(forth, b[contacts[which]], a[contacts[which]])
    line = np.where(forth, a[contacts[which]], b[contacts[which]])
    leaf_of_part = np.full(count, -1)
    leaf_of_part[part[behind]] = np.arange(len(which))
    of_node = leaf_of_part[part]
    before = np.where(of_node >= 0, np.append(line, 0)[of_node], np.arange(branches.nodes))
    sure, unsure = _sure(electrics, of_node, line)
    isolators = {names[at]: number for number, at in enumerate(which.tolist()) if sure[number]}
    return Leaves(len(which), isolators, of_node, before, unsure)


def _candidates(electrics: Electrics) -> tuple[list[str], Ints]:
    """Isolators of one closed pole with no resistor across it, and the branches that these are."""
    isolators = electrics.study.layout.isolators
    found = {
        name: numbers[0]
        for name, numbers in electrics.grid.contacts.items()
        if len(numbers) == 1 and isolators[name].contact == "on-off" and isolators[name].hold_ohm is None
    }
    return list(found), np.array(list(found.values()), dtype=np.int64)


def _alone(count: int, part: Ints, a: Ints, b: Ints, fed: Ints) -> Bools:
    """[end, branch]: whether a part hangs on that branch alone, and no source is in it."""
    ends = np.stack([part[a], part[b]])
    ways = np.bincount(ends.ravel(), minlength=count)
    source = np.zeros(count, dtype=bool)
    source[part[fed]] = True
    found: Bools = (ways[ends] == 1) & ~source[ends] & (ends[0] != ends[1])
    return found


def _sure(electrics: Electrics, of_node: Ints, line: Ints) -> tuple[Bools, Ints]:
    """Which leaves may go without a detector that feeds others losing its current; the nodes at detectors elsewhere
    than in leaves that have more ways around them."""
    branches, drops = electrics.loaded.linear.branches, electrics.loaded.linear.branches.drops
    a, b = np.asarray(branches.a, dtype=np.int64), np.asarray(branches.b, dtype=np.int64)
    kept = (of_node[a] < 0) & (of_node[b] < 0)
    mine = drops.start + np.flatnonzero(kept[drops.start :])
    conducting = kept.copy()
    conducting[mine] = False
    count, pocket = label_parts(branches.nodes, a[conducting], b[conducting])
    alone = _alone(count, pocket, a[mine], b[mine], a[branches.resistors : drops.start])
    blocked = np.isin(mine, list(electrics.loaded.linear.blocked))
    unsure = a[mine[blocked | ~alone.any(axis=0)]]
    single = np.zeros(count, dtype=bool)
    for side, ends in enumerate((a, b)):
        single[pocket[ends[mine[alone[side]]]]] = True
    # who would see such a detector's current stop: rails in its pocket, and what else it leads to
    others = np.bincount(pocket[line], minlength=count)
    sure = ~single[pocket[line]] | (others[pocket[line]] == 1)
    rails = np.zeros(count, dtype=bool)
    network = electrics.loaded_network
    for nodes in _rail_nodes(electrics):
        rails[pocket[nodes[of_node[nodes] < 0]]] = True
    sure &= ~(single & rails)[pocket[line]]
    a, b = (np.asarray(ends, dtype=np.int64) for ends in network.sinks[:2])
    for inside, other in ((a, b), (b, a)):
        crossing = (of_node[inside] >= 0) & (of_node[other] < 0)
        turning = crossing & single[pocket[other]]
        sure[of_node[inside[turning]]] = False
    return sure, unsure


def _rail_nodes(electrics: Electrics) -> list[Ints]:
    """A node of either rail of every block."""
    if electrics.grid.bunches:
        return [rail[:, 0] for bunch in electrics.grid.bunches for rail in (bunch.detected, bunch.common)]
    tracks = electrics.grid.tracks.values()
    return [np.array([rail[0] for track in tracks for rail in (track.detected, track.common)], dtype=np.int64)]
