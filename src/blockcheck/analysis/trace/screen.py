"""The log likelihood of the dead readings with many causes at once, of the material as it is, which may be off a bit.

Causes that change as many branches are one product (Woodbury, `lowrank.py`); what reads best of them is then fitted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from blockcheck.analysis.bench.fault_kinds import Fault, Size
from blockcheck.analysis.bench.lowrank import Floats
from blockcheck.analysis.bench.wired import OPEN_OHM
from blockcheck.analysis.trace.fitting import NEARLY_OPEN_OHM, Bools, Point
from blockcheck.network.built import Row

SIZES = 11
"""So many sizes are looked at before one is fitted."""
MOST_AT_ONCE = 400_000
"""Readings of cases that are worked out at once."""


class Rough(NamedTuple):
    """Of a cause: the size of its last fault that reads best, the log likelihood there, and whether it does anything in
    the dead network."""

    ohms: float
    value: float
    seen: bool


class _Case(NamedTuple):
    """Branches that change, and which islands become which; ``cause`` has it at a size of ``ohms``."""

    cause: int
    ohms: float
    rows: list[Row]
    merged: Mapping[int, int]


def screened(
    point: Point, causes: Sequence[tuple[Fault, ...]], sizes: Sequence[Sequence[float]], kept: bool = False
) -> list[Rough]:
    """Each cause at the best size of its last fault, where that has any; of those before it at the sizes given.

    ``kept``: the size given of the last is tried too.
    """
    right, cases, found = flat(point), list[_Case](), list[Rough]()
    for number, (faults, own) in enumerate(zip(causes, sizes, strict=True)):
        last, tries = faults[-1], [own[-1]]
        if last.size is not None and len(point.told):
            tries = [*tried(last.size), *(tries if kept else [])]
        before = [row for fault, ohms in zip(faults[:-1], own, strict=False) for row in _rows(point, fault, ohms)]
        rows = [*before, *_rows(point, last, tries[0])]
        found.append(Rough(own[-1], right if not rows or not len(point.told) else -np.inf, bool(rows)))
        if rows and len(point.told):
            whole, merged = point.situation.whole(rows)
            cases.append(_Case(number, tries[0], whole, merged))
            for ohms in tries[1:]:
                sized = [*before, *_rows(point, last, ohms), *whole[len(rows) :]]
                cases.append(_Case(number, ohms, sized, merged))
    for case, value in zip(cases, _values(point, cases).tolist(), strict=True):
        best = found[case.cause]
        if value >= best.value:  # of sizes that read alike the largest, and what is kept
            found[case.cause] = Rough(case.ohms, value, True)
    return found


def tried(size: Size) -> list[float]:
    """The sizes that are looked at before one is fitted."""
    found: list[float] = np.geomspace(max(size.least_ohm, 1e-3) * 1.5, size.most_ohm / 1.5, SIZES).tolist()
    return found


def flat(point: Point) -> float:
    """The log likelihood of all readings where nothing is wrong."""
    return float(_likely(point, _read(point.told, _apart(point, {}))))


def _likely(point: Point, told: Floats) -> Floats:
    found: Floats = point.dead.weigh(told, (0.05 * np.minimum(told, 50.0)) ** 2)[0].sum(axis=-1)
    return found


def _rows(point: Point, fault: Fault, ohms: float) -> list[Row]:
    rows = [point.sized(fault, ohms)] if fault.size is not None else point.rows(fault.change)[0]
    return [row for row in rows if row[2] and row[0] != row[1]]


def _values(point: Point, cases: Sequence[_Case]) -> Floats:
    found, by_rank = np.zeros(len(cases)), dict[int, list[int]]()
    for number, case in enumerate(cases):
        by_rank.setdefault(len(case.rows), []).append(number)
    size = max(1, MOST_AT_ONCE // max(1, len(point.told)))
    apart: dict[tuple[tuple[int, int], ...], Bools] = {}
    for some in by_rank.values():
        for start in range(0, len(some), size):
            mine = some[start : start + size]
            found[mine] = _part(point, [cases[one] for one in mine], apart)
    return found


def _part(point: Point, cases: Sequence[_Case], apart: dict[tuple[tuple[int, int], ...], Bools]) -> Floats:
    """Cases whose changes have one number of branches."""
    table = np.array([case.rows for case in cases])
    a, b, change = table[:, :, 0].astype(np.int64), table[:, :, 1].astype(np.int64), table[:, :, 2]
    z, rank = point.inverse, a.shape[1]
    i, j, k, m = a[:, :, None], b[:, :, None], a[:, None, :], b[:, None, :]
    core = z[i, k] - z[i, m] - z[j, k] + z[j, m]
    core[:, np.arange(rank), np.arange(rank)] += 1 / change
    seen = point.columns[a] - point.columns[b]  # [case, branch, test]
    answer = seen / core if rank == 1 else np.linalg.solve(core, seen)
    told = point.told - (seen * answer).sum(axis=1)
    for case in cases:
        key = tuple(case.merged.items())
        if key not in apart:
            apart[key] = _apart(point, case.merged)
    return _likely(point, _read(told, np.array([apart[tuple(case.merged.items())] for case in cases])))


def _read(told: Floats, apart: Bools) -> Floats:
    """What is read: open where the probes are apart."""
    lost = apart | (np.abs(told) > NEARLY_OPEN_OHM) | (told < -1e-3)
    return np.where(lost, OPEN_OHM, np.maximum(told, 0.0))


def _apart(point: Point, merged: Mapping[int, int]) -> Bools:
    """Which tests have their probes in islands of their own."""
    of, dead = point.situation.of, point.dead
    to = np.arange(int(of.max()) + 1)
    for one, other in merged.items():
        to[one] = other
    found: Bools = to[of[dead.red]] != to[of[dead.black]]
    return found
