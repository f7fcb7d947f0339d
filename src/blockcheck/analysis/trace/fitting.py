"""Material and the sizes of faults fitted to the dead readings, by weighted least squares.

With an ampere at the probes, a piece of R ohms that carries i adds i^2 to the slope of the reading by R (Tellegen's
theorem); so all slopes come from the currents of one solution. With Z the inverse of the conductances and B, d a
fault's branches and their changes, V' = V - Z B (1/d + B'Z B)^-1 B'V (Sherman, Morrison and Woodbury).

Readings are taken to be off by Student's t with 5 degrees, above a floor for slips of the person (robust regression:
Lange, Little and Taylor 1989); a size's evidence is weighed by Laplace's approximation, so that a fault that may have
any size does not win by that alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np
from attrs import evolve, frozen
from numpy.typing import NDArray

from blockcheck.analysis.bench.fault_kinds import Fault, Size
from blockcheck.analysis.bench.lowrank import Floats, Ints, Situation
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.wired import OHMS, OPEN_OHM, Step
from blockcheck.analysis.trace.material import Material
from blockcheck.network.built import Change, Row, Stage

Bools = NDArray[np.bool_]

DEGREES = 5.0
SLIP = 0.004
"""So often a reading means nothing: a wrong decade, a probe that slipped. Common practice, no source."""
SPAN = 18.0
"""Decades of ohms, as a logarithm, over which a reading may lie that means nothing."""
NO_CONTACT, HARDLY_OPEN, CLOSED_NOT_OPEN = -8.0, -3.0, -2.0
"""Log likelihood of "open" where ohms are expected, where many are; and what ohms cost besides where open is."""
NOTICED = 0.02
"""A test that a fault moves by less than this share of the meter's room keeps the slopes that it has without it."""
NEARLY_OPEN_OHM = 0.5 * OPEN_OHM
_PEAK = math.lgamma((DEGREES + 1) / 2) - math.lgamma(DEGREES / 2) - 0.5 * math.log(DEGREES * math.pi)


@frozen(eq=False, repr=False)
class Fit:
    """A cause fitted: its evidence without its own likelihood, logarithms of the unknowns, sizes of its faults, and of
    each reading what is predicted, the standard deviation, how many of those it lies off, and its log likelihood."""

    evidence: float
    logs: Floats
    sizes: tuple[float, ...]
    told: Floats
    sigma: Floats
    off: Floats
    each: Floats


@frozen(eq=False, repr=False, slots=False)
class Point:
    """The dead network at some material, and every test on it: the point about which is fitted."""

    dead: Dead
    logs: Floats

    @cached_property
    def ohms(self) -> Floats:
        return self.dead.material.each(self.logs)

    @cached_property
    def siemens(self) -> Floats:
        found = np.zeros(len(self.ohms))
        on = self.dead.conducts
        found[on] = 1 / np.maximum(self.ohms[on], self.dead.least_ohm)
        return found

    @cached_property
    def by_piece(self) -> list[float]:
        return self.siemens.tolist()  # type: ignore[no-any-return]

    @cached_property
    def situation(self) -> Situation:
        dead = self.dead
        make = Situation.of_pieces if self.logs.any() else dead.bench.situation  # as tabled, units may be alike
        return make(dead.nodes, dead.a, dead.b, self.siemens)

    @property
    def inverse(self) -> Floats:
        return self.situation.inverse

    @cached_property
    def columns(self) -> Floats:
        """[node, test]: volts at each node for an ampere through each test's probes."""
        return self.inverse[:, self.dead.red] - self.inverse[:, self.dead.black]

    @cached_property
    def told(self) -> Floats:
        every = np.arange(len(self.dead.red))
        found: Floats = self.columns[self.dead.red, every] - self.columns[self.dead.black, every]
        return found

    @cached_property
    def across(self) -> Floats:
        """[piece, test]: volts across each piece."""
        found: Floats = self.columns[self.dead.a] - self.columns[self.dead.b]
        return found

    @cached_property
    def parts(self) -> Floats:
        return self.dead.material.slopes(self.logs)

    @cached_property
    def squares(self) -> Floats:
        """What pieces differ by among themselves, in square ohms."""
        material = self.dead.material
        found: Floats = ((self.parts * material.apart) ** 2).sum(axis=1)
        found[material.own] = 0.0
        return found

    @cached_property
    def slopes(self) -> tuple[Floats, Floats]:
        """[test, unknown] slopes, and [test] the variance by pieces that differ."""
        share = (self.across * self.siemens[:, None]) ** 2
        return share.T @ self.parts, (share.T**2) @ self.squares

    def rows(self, change: Change) -> tuple[list[Row], set[int]]:
        """What a fault changes, and the pieces that it takes out of the material."""
        built, stage, state = self.dead.bench.built, self.dead.stage, self.dead.state
        change = self.dead.seen(change)
        return built.rows(stage, state, change, self.by_piece), built.touched(stage, state, change)

    def sized(self, fault: Fault, ohms: float) -> Row:
        """The branch that a fault of a size changes."""
        size = fault.size
        assert size is not None
        if size.piece is None:
            a, b = size.between
            return a, b, 1 / ohms
        dead, number = self.dead, size.piece
        after = 1 / (max(float(self.ohms[number]), dead.least_ohm) + ohms)
        return int(dead.a[number]), int(dead.b[number]), after - float(self.siemens[number])

    def changed(self, faults: Sequence[Fault], sizes: Sequence[float]) -> Changed:
        """What the tests read with some faults."""
        rows, gone = list[Row](), set[int]()
        for fault, ohms in zip(faults, sizes, strict=True):
            if fault.size is not None:
                rows.append(self.sized(fault, ohms))
            else:
                more, out = self.rows(fault.change)
                rows += more
                gone |= out
        return Changed.of(self, [row for row in rows if row[2] and row[0] != row[1]], gone)


@frozen(eq=False, repr=False)
class Changed:
    """Readings with some branches changed, and what their slopes are made from."""

    point: Point
    told: Floats
    lost: Bools
    moved: Floats
    ends: tuple[Ints, Ints]
    answer: Floats
    gone: set[int]

    @classmethod
    def of(cls, point: Point, rows: list[Row], gone: set[int]) -> Changed:
        dead = point.dead
        of = point.situation.of
        red, black = of[dead.red], of[dead.black]
        if not rows:
            none = np.zeros(0, dtype=np.int64)
            told, moved = point.told, np.zeros(len(red))
            ends, answer = (none, none), np.zeros((0, len(red)))
        else:
            whole, merged = point.situation.whole(rows)
            if merged:
                to = np.arange(int(of.max()) + 1)
                for one, other in merged.items():
                    to[one] = other
                red, black = to[red], to[black]
            a, b = np.array([row[0] for row in whole]), np.array([row[1] for row in whole])
            z = point.inverse
            core = z[np.ix_(a, a)] - z[np.ix_(a, b)] - z[np.ix_(b, a)] + z[np.ix_(b, b)]
            core[np.diag_indices(len(a))] += 1 / np.array([row[2] for row in whole])
            seen = point.columns[a] - point.columns[b]
            answer = np.linalg.solve(core, seen)
            moved, ends = (seen * answer).sum(axis=0), (a, b)
            told = point.told - moved
        lost = (red != black) | (np.abs(told) > NEARLY_OPEN_OHM) | (told < -1e-3)
        return cls(point, np.where(lost, OPEN_OHM, np.maximum(told, 0.0)), lost, moved, ends, answer, gone)

    def slopes(self, faults: Sequence[Fault], sizes: Sequence[float]) -> tuple[Floats, Floats, Floats]:
        """[test, unknown], [test, size of a sized fault] slopes by logarithms, and the variance by pieces."""
        point, dead = self.point, self.point.dead
        every, variance = (one.copy() for one in point.slopes)
        own = [(fault.size, ohms) for fault, ohms in zip(faults, sizes, strict=True) if fault.size is not None]
        by_size = np.zeros((len(self.told), len(own)))
        room = dead.share * np.abs(self.told) + dead.lead
        near = np.flatnonzero((np.abs(self.moved) > NOTICED * room) & ~self.lost)
        if len(self.ends[0]) and len(near):
            a, b = self.ends
            z, answer = point.inverse, self.answer[:, near]
            into = (z[np.ix_(dead.a, a)] - z[np.ix_(dead.a, b)]) - (z[np.ix_(dead.b, a)] - z[np.ix_(dead.b, b)])
            volts = point.across[:, near] - into @ answer
            share = (volts * point.siemens[:, None]) ** 2
            share[list(self.gone)] = 0.0  # what is cut, moved or thrown has no part in the material
            for at, (size, ohms) in enumerate(own):
                if size.piece is not None:
                    whole = max(float(point.ohms[size.piece]), dead.least_ohm) + ohms
                    share[size.piece] = (volts[size.piece] / whole) ** 2
                    by_size[near, at] = share[size.piece] * ohms
                else:
                    one, two = size.between
                    cross = (z[one, a] - z[one, b]) - (z[two, a] - z[two, b])
                    there = (point.columns[one] - point.columns[two])[near] - cross @ answer
                    by_size[near, at] = there**2 / ohms
            every[near], variance[near] = share.T @ point.parts, (share.T**2) @ point.squares
        every[self.lost], by_size[self.lost], variance[self.lost] = 0.0, 0.0, 0.0
        return every, by_size, variance


@frozen(eq=False, repr=False, slots=False)
class Dead:
    """Readings in ohms with every isolator closed, and how well a meter tells them: a share, and some ohms."""

    bench: Bench
    steps: tuple[Step, ...]
    read: Floats
    slack: Floats
    share: float
    lead: float

    @cached_property
    def material(self) -> Material:
        return Material.of(self.bench)

    @cached_property
    def state(self) -> dict[str, str]:
        """Every isolator closed, also those that interlocks keep open."""
        return {**self.bench.state, **dict(self.bench.shut)}

    def seen(self, change: Change) -> Change:
        """A change as these readings see it: of contacts that change places, and of which one alone closes, each is
        open while its own is tested."""
        kept_open = {name for name, _ in self.bench.shut}
        if not kept_open & {*change.acts}:
            return change
        return evolve(change, acts={}, stuck={**dict.fromkeys(change.acts, "open"), **change.stuck})

    @cached_property
    def stage(self) -> Stage:
        return self.bench.stages[OHMS]

    @property
    def least_ohm(self) -> float:
        return float(self.stage.least_ohm)

    @property
    def nodes(self) -> int:
        return self.bench.built.grid.network.nodes

    @cached_property
    def a(self) -> Ints:
        return np.array([piece.a for piece in self.bench.built.pieces])

    @cached_property
    def b(self) -> Ints:
        return np.array([piece.b for piece in self.bench.built.pieces])

    @cached_property
    def conducts(self) -> Bools:
        built = self.bench.built
        return np.array(
            [built.siemens(number, self.stage, self.state) > 0 for number in range(len(built.pieces))], dtype=bool
        )

    @cached_property
    def red(self) -> Ints:
        return np.array([step.red.node for step in self.steps], dtype=np.int64)

    @cached_property
    def black(self) -> Ints:
        return np.array([step.black.node for step in self.steps], dtype=np.int64)

    def weigh(self, told: Floats, variance: Floats | float) -> tuple[Floats, Floats, Floats, Bools]:
        """Of each reading: log likelihood, how many standard deviations it lies off, those, and whether both are
        ohms and not open."""
        read = self.read
        finite = (read < OPEN_OHM) & (told < NEARLY_OPEN_OHM)
        small = np.minimum(told, OPEN_OHM)
        sigma = np.sqrt((self.share * small) ** 2 + self.lead**2 + 8e-8 + variance + (0.4 * self.slack) ** 2)
        off = np.where(finite, (read - told) / sigma, 0.0)
        slip = math.log(SLIP / SPAN) - np.log(np.maximum(read, sigma))
        each = _PEAK - np.log(sigma) - (DEGREES + 1) / 2 * np.log1p(off * off / DEGREES)
        each = np.where(finite, np.logaddexp(each, slip), 0.0)
        is_open = read >= OPEN_OHM
        each = np.where(is_open & (told < NEARLY_OPEN_OHM), np.where(told > 2000, HARDLY_OPEN, NO_CONTACT), each)
        each = np.where(~is_open & (told >= NEARLY_OPEN_OHM), slip + CLOSED_NOT_OPEN, each)
        return each, off, sigma, finite

    def point(self, logs: Floats | None = None) -> Point:
        """The network at some material; as the tables have it by default."""
        return Point(self, np.zeros(len(self.material.spread)) if logs is None else logs)

    def fit(
        self,
        point: Point,
        faults: Sequence[Fault],
        sizes: Sequence[float],
        turns: int = 3,
        start: Floats | None = None,
    ) -> Fit:
        """The material, which is linear about the point, and the sizes: Gauss and Newton, weighted anew each turn."""
        logs = (point.logs if start is None else start).copy()
        count, penalty = len(logs), 1 / self.material.spread**2
        sized = [at for at, fault in enumerate(faults) if fault.size is not None]
        bounds = [fault.size for fault in faults if fault.size is not None]
        log_sizes = np.log([sizes[at] for at in sized]) if sized else np.zeros(0)
        best: tuple[float, Floats, list[float], tuple[Floats, ...], Floats] | None = None
        for turn in range(turns + 1):
            now = list(sizes)
            for number, at in enumerate(sized):
                now[at] = float(np.exp(log_sizes[number]))
            changed = point.changed(faults, now)
            every, by_size, variance = changed.slopes(faults, now)
            told = np.where(changed.lost, changed.told, np.maximum(changed.told + every @ (logs - point.logs), 0.0))
            each, off, sigma, finite = self.weigh(told, variance)
            value = float(each.sum() - 0.5 * (penalty * logs**2).sum())
            weight = np.where(finite, (DEGREES + 1) / (DEGREES + off * off) / sigma**2, 0.0)
            slopes = np.hstack([every, by_size])
            bent = (slopes.T * weight) @ slopes
            bent[np.arange(count), np.arange(count)] += penalty
            bent[np.diag_indices(len(bent))] += 1e-9
            if best is None or value > best[0] + 1e-9:
                best = value, logs.copy(), now, (told, sigma, off, each), bent
            if turn == turns:
                break
            down = (slopes.T * weight) @ np.where(finite, self.read - told, 0.0)
            down[:count] -= penalty * logs
            damped = bent.copy()
            damped[np.arange(count, len(bent)), np.arange(count, len(bent))] += 0.2
            step = np.linalg.solve(damped, down)
            logs = np.clip(logs + step[:count], -1.2, 1.2)
            for number, size in enumerate(bounds):
                new = log_sizes[number] + np.clip(step[count + number], -1.5, 1.5)
                log_sizes[number] = min(max(new, math.log(size.least_ohm)), math.log(size.most_ohm))
        assert best is not None
        value, logs, now, (told, sigma, off, each), bent = best
        return Fit(value + self._width(bent, bounds), logs, tuple(now), told, sigma, off, each)

    def _width(self, bent: Floats, bounds: Sequence[Size]) -> float:
        """Laplace's part of the evidence: the width of what fits, against that of what might be."""
        count = len(self.material.spread)
        free = bent[:count, :count]
        found = -float(np.log(self.material.spread).sum()) - 0.5 * float(np.linalg.slogdet(free)[1])
        for number, size in enumerate(bounds):
            at = count + number
            left = bent[at, at] - bent[at, :count] @ np.linalg.solve(free, bent[:count, at])
            wide = math.log(size.most_ohm / size.least_ohm)
            found += math.log(min(1.0, math.sqrt(2 * math.pi / max(float(left), 1e-3)) / wide))
        return found
