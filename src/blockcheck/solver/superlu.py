"""The back end for large systems: scipy's SuperLU. Importing it costs about 0.4 s, so only `sparse` does, when it
must."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from blockcheck.solver.network import Entries

# columns solved at once: enough to keep the factor's pass over memory busy, few enough to stay small
BATCH = 32


def super_components(nodes: int, a: Sequence[int], b: Sequence[int]) -> list[int]:
    """As `sparse.components`."""
    ends = (np.asarray(a, dtype=np.int32), np.asarray(b, dtype=np.int32))
    label = label_parts(nodes, *ends)[1]
    _, first = np.unique(label, return_index=True)
    rank = np.empty(len(first), dtype=np.int32)
    rank[np.argsort(first)] = np.arange(len(first), dtype=np.int32)
    numbers: list[int] = rank[label].tolist()
    return numbers


def label_parts(nodes: int, a: NDArray[Any], b: NDArray[Any]) -> tuple[int, NDArray[np.int64]]:
    """How many connected parts there are, and the number of each node's."""
    graph = coo_array((np.ones(len(a), dtype=np.int8), (a, b)), shape=(nodes, nodes))
    count, label = connected_components(graph.tocsr(), directed=False)
    return int(count), np.asarray(label, dtype=np.int64)


class SuperFactor:
    """As `sparse.PlainFactor`, through SuperLU in symmetric mode with minimum degree."""

    def __init__(self, nodes: int, a: Sequence[int], b: Sequence[int], siemens: Sequence[float]) -> None:
        x, y = np.asarray(a, dtype=np.int32), np.asarray(b, dtype=np.int32)
        g = np.asarray(siemens, dtype=np.float64)
        self.parts, label = label_parts(nodes, x, y)
        self.part: Sequence[int] = label.tolist()
        _, self._grounds = np.unique(label, return_index=True)
        # a loop left in and taken out again would cost the diagonal its precision
        proper = x != y
        x, y, g = x[proper], y[proper], g[proper]
        diagonal = np.bincount(x, g, nodes) + np.bincount(y, g, nodes)
        diagonal[self._grounds] = 1.0
        grounded = np.zeros(nodes, dtype=bool)
        grounded[self._grounds] = True
        off = ~(grounded[x] | grounded[y])
        x, y, g = x[off], y[off], g[off]
        every = np.arange(nodes, dtype=np.int32)
        matrix = coo_array(
            (
                np.concatenate([diagonal, -g, -g]),
                (np.concatenate([every, x, y]), np.concatenate([every, y, x])),
            ),
            shape=(nodes, nodes),
        ).tocsc()
        self._lu = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})

    def solve(self, amperes: Sequence[float]) -> list[float]:
        currents = np.array(amperes, dtype=np.float64)
        currents[self._grounds] = 0.0
        volts: list[float] = self._lu.solve(currents).tolist()
        return volts

    def inverse(self, wanted: Iterable[tuple[int, int]]) -> Entries:
        by_second: dict[int, list[int]] = {}
        for x, y in wanted:
            by_second.setdefault(y, []).append(x)
        seconds = list(by_second)
        found: Entries = {}
        for start in range(0, len(seconds), BATCH):
            batch = seconds[start : start + BATCH]
            unit = np.zeros((len(self.part), len(batch)))
            unit[batch, np.arange(len(batch))] = 1.0
            unit[self._grounds] = 0.0
            columns = self._lu.solve(unit)
            for column, y in enumerate(batch):
                found.update(((x, y), float(columns[x, column])) for x in by_second[y])
        return found
