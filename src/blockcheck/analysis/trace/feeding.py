"""What a fault of one unit does to others that hang on its district: with power on it is a load at the terminals."""

from __future__ import annotations

import numpy as np

from blockcheck.analysis.bench.lowrank import islands
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.wired import CHANNELS
from blockcheck.network.built import Change

FELT_OHM = 1_000.0
"""A load of more than so many ohms moves nothing that is read elsewhere."""


def loads(bench: Bench, change: Change) -> dict[str, float]:
    """District -> ohms between its terminals with power on and no booster, of all that a unit hangs there."""
    built, stage, state = bench.built, bench.stages[CHANNELS], bench.state
    elsewhere = {**change.moved, **change.plugged}
    rows = [(a, b, 1 / max(ohms, stage.least_ohm)) for a, b, ohms in change.added]
    for number, piece in enumerate(built.pieces):
        if not piece.part or piece.part[0] != "source":
            rows.append((*elsewhere.get(number, (piece.a, piece.b)), built.siemens(number, stage, state, change)))
    rows = [row for row in rows if row[2]]
    nodes, circuit = built.grid.network.nodes, bench.study.circuit
    a, b = (np.array([row[end] for row in rows], dtype=np.int64) for end in (0, 1))
    siemens = np.array([row[2] for row in rows])
    island, found = islands(nodes, a, b)[0], dict[str, float]()
    for name, feed in circuit.feeds.items():
        back = circuit.returns[name]
        if island[feed] != island[back]:
            continue
        place = np.full(nodes, -1)
        own = np.flatnonzero(island == island[feed])
        place[own] = np.arange(len(own))
        mine = island[a] == island[feed]
        i, j, matrix = place[a[mine]], place[b[mine]], np.zeros((len(own), len(own)))
        for one, other, sign in ((i, i, 1), (j, j, 1), (i, j, -1), (j, i, -1)):
            np.add.at(matrix, (one, other), sign * siemens[mine])
        rest = np.flatnonzero(np.arange(len(own)) != place[back])
        push = np.zeros(len(own))
        push[place[feed]] = 1.0
        ohms = float(np.linalg.solve(matrix[np.ix_(rest, rest)], push[rest])[rest.tolist().index(int(place[feed]))])
        if ohms < FELT_OHM:
            found[name] = ohms
    return found


def loaded(bench: Bench, ohms: dict[str, float]) -> Change:
    """The same loads on the bench of another unit."""
    circuit = bench.study.circuit
    return Change(
        added=tuple(
            (circuit.feeds[name], circuit.returns[name], one) for name, one in ohms.items() if name in circuit.feeds
        )
    )
