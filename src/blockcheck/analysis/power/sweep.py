"""The worst place of every block of a large layout at once: `stretch` and `Electrics.stretches`, as numpy operations.

Arrays have one row a block of a `Bunch`, and a column a place or a stretch.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.analysis.power.stretch import Between, Find, Spot
from blockcheck.network.bunch import Bunch
from blockcheck.network.grid import Grid
from blockcheck.solver.drops import Conduct
from blockcheck.solver.large import LargeLinear
from blockcheck.solver.network import Network
from blockcheck.solver.solve import Operating

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

BATCH = 512
"""Blocks looked at together."""


class _Ohms:
    """Of a bunch: ohms at each place (``own``), from each to the next (``across``), and the volts that an ampere in the
    middle takes off each (``middle``). ``astray`` tells the blocks for which this way does not serve."""

    def __init__(self, grid: Grid, linear: LargeLinear, bunch: Bunch) -> None:
        self._linear, self._bunch = linear, bunch
        own, along = linear.along()
        cells, where = linear.cells, linear.cluster_at
        a, b = bunch.detected, bunch.common
        assert grid.network.grouping is not None
        home, other = (np.asarray(grid.network.grouping.of_node)[rail[:, 0]] for rail in (a, b))
        self._follow, astray = cells.follow(home, where[a])
        follow, astray_too = cells.follow(other, where[b])
        # what the core has between each port of the detected side and each place of the common rail
        self._reach: Floats = np.einsum("pqb,qbl->pbl", cells.between(home, other), follow)
        self.own = own[a] + own[b] - 2 * self._cross(slice(None), slice(None))
        self.across = along[bunch.rails[:, 0]] + along[bunch.rails[:, 1]]
        self.across -= self._cross(slice(-1), slice(1, None)) + self._cross(slice(1, None), slice(-1))
        self.astray: Bools = np.asarray((astray | astray_too | ~linear.alike(a, b)).any(axis=1))

    def _cross(self, detected: slice, common: slice) -> Floats:
        """The inverse between places of the detected rail and of the common rail."""
        found: Floats = (self._follow[..., detected] * self._reach[..., common]).sum(axis=0)
        return found

    @cached_property
    def middle(self) -> Floats:
        bunch, where, columns = self._bunch, self._linear.cluster_at, self._linear.cells.columns
        at = slice(bunch.middle, bunch.middle + 1)
        away = sum(columns(where[rail[:, bunch.middle]], where[rail]) for rail in (bunch.detected, bunch.common))
        found: Floats = away - self._cross(slice(None), at) - self._cross(at, slice(None))
        return found


@frozen(eq=False)
class Stretches(Between):
    """The stretches of a bunch, a row a block: what their ends look like."""

    at_m: Floats
    ends_v: Floats
    ends_ohm: Floats
    transfer_ohm: Floats
    rails_ohm: Floats

    @property
    def volts(self) -> tuple[Floats, Floats]:
        return self.ends_v[:, :-1], self.ends_v[:, 1:]

    @property
    def ohms(self) -> tuple[Floats, Floats]:
        return self.ends_ohm[:, :-1], self.ends_ohm[:, 1:]

    def lowest(self, amperes: float) -> tuple[Floats, Floats]:
        """As `stretch.Stretch.lowest`, the worst of each block: values and places."""
        level, rest = self.lowest_level(amperes)
        turn = np.divide(-rest, level, out=np.zeros_like(level), where=level != 0)
        return self._worst(lambda t: self.source(t) - amperes * self.resistance(t), (turn,))

    def least_current(self, ohms: float) -> tuple[Floats, Floats]:
        """As `stretch.Stretch.least_current`, the worst of each block: values and places."""

        def amperes(t: Floats) -> Floats:
            whole: Floats = self.resistance(t) + ohms
            source: Floats = np.maximum(self.source(t), 0.0)
            return np.divide(source, whole, out=np.full_like(whole, np.inf), where=whole > 0)

        return self._worst(amperes, _roots(*self.least_level(ohms)))

    def _worst(self, value: Callable[[Floats], Floats], turns: tuple[Floats, ...]) -> tuple[Floats, Floats]:
        near, far = self.at_m[:, :-1], self.at_m[:, 1:]
        places = [np.zeros_like(near), *(np.where((t > 0) & (t < 1), t, 0.0) for t in turns), np.ones_like(near)]
        values = np.concatenate([value(t) for t in places], axis=1)
        at_m = np.concatenate([near + t * (far - near) for t in places], axis=1)
        told = _told(values)
        first = np.where(told == told.min(axis=1, keepdims=True), at_m, np.inf).argmin(axis=1)
        rows = np.arange(len(values))
        return values[rows, first], at_m[rows, first]


def _found(find: Find, bunch: Bunch, volts: Floats, ohms: _Ohms) -> tuple[Floats, Floats]:
    """The worst of each block of a bunch, some blocks at a time: what lies between stays in the cache."""
    values, places = np.empty(len(volts)), np.empty(len(volts))
    for start in range(0, len(volts), BATCH):
        rows = slice(start, start + BATCH)
        rails = 2 * bunch.rail_ohm_per_m[rows, None] * np.diff(bunch.at_m[rows], axis=1)
        some = Stretches(bunch.at_m[rows], volts[rows], ohms.own[rows], ohms.across[rows], rails)
        with np.errstate(invalid="ignore"):
            worst = some.lowest(find.of) if find.what == "lowest" else some.least_current(find.of)
        values[rows], places[rows] = worst
    return values, places


def _roots(a: Floats, b: Floats, c: Floats) -> tuple[Floats, Floats]:
    """As `stretch._roots`, nan where there is none."""
    inside = b * b - 4 * a * c
    with np.errstate(invalid="ignore", divide="ignore"):
        half = -(b + np.copysign(np.sqrt(np.where(inside >= 0, inside, np.nan)), b)) / 2
        straight = a == 0
        first = np.where(straight, -c / b, half / a)
        second = np.where(straight | (half == 0), np.nan, c / half)
        return np.where(~straight & (half == 0), 0.0, first), second


def _told(values: Floats) -> Floats:
    """To nine digits, as `stretch` compares."""
    size = np.abs(values)
    usual = (size > 0) & np.isfinite(size)
    digits = 10.0 ** (8 - np.floor(np.log10(np.where(usual, size, 1.0))))
    return np.where(usual, np.round(values * digits) / digits, values)


class Sweep:
    """Of one operating point: the stretches of every block, and where something is worst."""

    def __init__(self, grid: Grid, network: Network, operating: Operating) -> None:
        linear = operating.linear
        assert isinstance(linear, LargeLinear)
        self.grid, self.network, self.operating, self.linear = grid, network, operating, linear
        self._known: dict[object, dict[str, Spot]] = {}

    @cached_property
    def volts(self) -> Floats:
        """Of every node."""
        return np.array(self.operating.volts)

    def worst(self, find: Find, drawn: Mapping[int, float] | None = None) -> Mapping[str, Spot]:
        """Block -> its worst place by ``find``; what its middle draws by ``drawn`` is taken off. Blocks that this way
        does not serve are absent."""
        key = find, drawn is not None
        if key not in self._known:
            found = self._known[key] = {}
            for bunch, ohms, lost in zip(
                self.grid.bunches, _ohms(self.grid, self.linear), self._opposing(), strict=True
            ):
                away = np.zeros(1)
                if drawn:
                    middles = bunch.detected[:, bunch.middle].tolist()
                    amperes = np.array([drawn.get(node, 0.0) for node in middles])[:, None]
                    away = np.where(amperes != 0, amperes * ohms.middle, 0.0)
                volts = self.volts[bunch.detected] - self.volts[bunch.common] + away - lost
                values, at_m = _found(find, bunch, volts, ohms)
                bad = (ohms.astray | ~np.isfinite(values)).tolist()
                rows = zip(bunch.blocks, values.tolist(), at_m.tolist(), bad, strict=True)
                found.update((block, Spot(value, place)) for block, value, place, wrong in rows if not wrong)
        return self._known[key]

    def _opposing(self) -> Iterator[Floats]:
        """What idle detectors take off at each place, bunch by bunch."""
        kept, idle = self.linear.closed.pockets, np.array(self.operating.conduct) == Conduct.IDLE
        volts = np.asarray(self.network.drops.volts, dtype=np.float64)
        lost = np.where(idle, volts, 0.0)
        alone = np.append(lost, 0.0)[kept.drop_of]  # of each node: what the one drop that feeds its pocket takes off
        responses = [
            (self.linear.response(self.linear.branches.drops[k]), lost[k]) for k in kept.several if idle[k] and lost[k]
        ]
        for bunch in self.grid.bunches:
            a, b = bunch.detected, bunch.common
            apart, both = kept.pocket[a] != kept.pocket[b], kept.drop_of[a] != kept.drop_of[b]
            found = np.where(apart, alone[a] + np.where(both, alone[b], 0.0), 0.0)
            for response, one in responses:
                found = found + one * np.abs(response[a] - response[b])
            yield found


def _ohms(grid: Grid, linear: LargeLinear) -> list[_Ohms]:
    """The ohms of every bunch; they depend on what conducts alone, so that operating points share them."""
    found: list[_Ohms] | None = linear.known.get("ohms")
    if found is None:
        found = linear.known["ohms"] = [_Ohms(grid, linear, bunch) for bunch in grid.bunches]
    return found
