"""The operating point by trying every combination of the drops' states, with dense algebra that shares nothing
with ours."""

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from blockcheck.solver.linear import branches_of
from blockcheck.solver.network import Network


def feasible_currents(network: Network, drawn: Sequence[float]) -> list[NDArray[np.float64]]:
    """Branch currents of every combination that holds: resistors, sources, drops. Combinations that leave parts
    afloat are left out."""
    branches = branches_of(network)
    a, b, ohms = branches.a, branches.b, branches.ohms
    first, volts = branches.drops.start, list(network.drops.volts)
    emf = [0.0] * branches.resistors + list(network.sources.volts)
    count, edges = network.nodes, len(a)
    injected = np.zeros(count)
    for x, y, amperes in zip(network.sinks.a, network.sinks.b, drawn, strict=True):
        injected[x] -= amperes
        injected[y] += amperes
    incidence = np.zeros((count, edges))
    for k in range(edges):
        incidence[a[k], k] += 1
        incidence[b[k], k] -= 1
    found = []
    for states in product((0, 1, -1), repeat=edges - first):
        # unknowns: potentials, then currents; a blocked drop's equation is current = 0
        open_ = np.array([0] * first + [state == 0 for state in states], dtype=bool)
        right = np.array(emf + [v * state for v, state in zip(volts, states, strict=True)])
        top = np.hstack([np.zeros((count, count)), incidence])
        bottom = np.hstack([np.where(open_[:, None], 0.0, incidence.T), -np.diag(np.where(open_, 1.0, ohms))])
        matrix, target = np.vstack([top, bottom]), np.concatenate([injected, np.where(open_, 0.0, right)])
        solution = np.linalg.lstsq(matrix, target, rcond=1e-13)[0]
        if np.abs(matrix @ solution - target).max() > 1e-7:
            continue
        current, gap = solution[count:], incidence.T @ solution[:count]
        kept = [k for k in range(edges) if not open_[k]]
        if _parts(count, a, b, kept) != _parts(count, a, b, range(edges)):
            continue
        if all(
            (state * current[first + k] >= -1e-8 if state else abs(gap[first + k]) <= volts[k] + 1e-7)
            for k, state in enumerate(states)
        ):
            found.append(current)
    return found


def _parts(count: int, a: Sequence[int], b: Sequence[int], edges: Sequence[int] | range) -> int:
    label = list(range(count))
    for k in edges:
        old, new = label[a[k]], label[b[k]]
        label = [new if x == old else x for x in label]
    return len(set(label))
