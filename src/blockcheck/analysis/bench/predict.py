"""What every test would read on the wiring as it should be, and with every fault.

A fault changes a few conductances. With Z the inverse of a state's conductances, B the changed branches and d their
changes, Z' = Z - Z B (1/d + B'Z B)^-1 B'Z (Sherman, Morrison and Woodbury), so that one factorisation a stage serves
all faults and tests. numpy only; what an exact solution of the changed network gives is held against it by the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from attrs import field, frozen
from numpy.typing import NDArray

from blockcheck.analysis.bench.lowrank import Floats, Out, Rows, Situation, batches, changed, islands
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names, Naming
from blockcheck.analysis.bench.wired import OHMS, OPEN_OHM, TRIPS, VOLTS, Step
from blockcheck.analysis.study import Study
from blockcheck.core.errors import CallError
from blockcheck.network.built import Change, Row, Stage

Progress = Callable[[str, int, int], None]
"""Called with what is going on, how far it is, and how far it goes."""

MOST_NODES = 4_000
"""Places of a layout that is tested at one go: the inverse of more would not fit."""
MOST_AT_ONCE = 2_000_000
"""Numbers that one step of the work holds, 16 MB, as a processor has at hand: what a current at each test does to each
sensor in each case."""
MOST_READINGS = 20_000_000
"""Tests times cases that are read at one go: what of them is kept comes to 400 MB, and to a minute."""
Moved = tuple[tuple[str, str], ...]
Jumper = tuple[int, int] | None
"""Controls that do not stand as usual, with their positions."""
TOGETHER, APART = -2, -1
"""Tests with power on, and those whose probes stand in two islands, are taken together; the others by their island."""


@frozen(eq=False, repr=False)
class Predicted:
    """What each test reads in each case: row 0 is the wiring as it should be, then one row a change.

    ``numbers[test]`` holds ohms or volts; ``names[test]`` what reads occupied or trips, as a number into ``known``.
    """

    tests: tuple[Step, ...]
    numbers: Mapping[int, Floats]
    names: Mapping[int, NDArray[np.int64]]
    known: Sequence[Names]
    amperes: Mapping[int, Floats]
    """Short tests -> the current of each case."""

    def value(self, test: int, case: int) -> float | Names:
        """One reading."""
        if test in self.numbers:
            return float(self.numbers[test][case])
        return self.known[int(self.names[test][case])]

    def only(self, cases: Sequence[int]) -> Predicted:
        """Some of the cases, the wiring as it should be before them."""
        rows = [0, *cases]
        return Predicted(
            self.tests,
            {test: one[rows] for test, one in self.numbers.items()},
            {test: one[rows] for test, one in self.names.items()},
            self.known,
            {test: one[rows] for test, one in self.amperes.items()},
        )


def predict(
    bench: Bench, tests: Sequence[Step], changes: Sequence[Change], progress: Progress | None = None
) -> Predicted:
    """Read every test in every case. Raises CallError for a layout that is too large to be done at one go."""
    if bench.built.grid.network.nodes > MOST_NODES:
        raise CallError(
            f"the layout has more than {MOST_NODES:,} places to probe, which is too many for one sheet",
            "keep each yard in a file of its own, and make a sheet of each",
        )
    if len(tests) * (len(changes) + 1) > MOST_READINGS:
        raise CallError(
            f"{len(tests):,} tests of {len(changes):,} single faults hang together, and are too many for one sheet",
            "narrow it with --only GROUP, or keep each yard in a file of its own, and make a sheet of each",
        )
    engine = _Engine(bench, tests, (Change(), *changes))
    groups: dict[tuple[Stage, Moved, Jumper], list[int]] = {}
    for number, test in enumerate(tests):
        groups.setdefault((bench.stages[test.kind], test.state, test.jumper), []).append(number)
    for (stage, state, jumper), mine in groups.items():
        engine.group(stage, state, jumper, mine, progress)
    return Predicted(tuple(tests), engine.numbers, engine.names, engine.naming.known, engine.amperes)


@frozen(eq=False, repr=False)
class _Kept:
    """Of a study, what every prediction starts from: each stage as it usually is."""

    study: Study
    usual: dict[str, Situation] = field(factory=dict)
    siemens: dict[str, Floats] = field(factory=dict)


class _Engine:
    def __init__(self, bench: Bench, tests: Sequence[Step], changes: Sequence[Change]) -> None:
        self.bench, self.tests, self.changes = bench, tests, changes
        self.numbers: dict[int, Floats] = {}
        self.names: dict[int, NDArray[np.int64]] = {}
        self.amperes: dict[int, Floats] = {}
        self.naming = Naming()
        pieces = bench.built.pieces
        self._a = [piece.a for piece in pieces]
        self._b = [piece.b for piece in pieces]
        self._ends = np.array(self._a), np.array(self._b)
        self._kept = bench.study.always(_Kept)
        self._rows: dict[str, Rows] = {}
        self._silent = np.array(
            [[block in change.silent for block, *_ in bench.detectors] for change in changes], dtype=bool
        ).reshape(len(changes), len(bench.detectors))

    # -- linear algebra -------------------------------------------------------------------------------------------
    def usual(self, stage: Stage) -> Situation:
        """A stage with every isolator closed."""
        if stage.name not in self._kept.usual:
            built = self.bench.built
            siemens = np.array([built.siemens(one, stage, self.bench.state) for one in range(len(built.pieces))])
            self._kept.siemens[stage.name] = siemens
            self._kept.usual[stage.name] = self.bench.situation(built.grid.network.nodes, *self._ends, siemens)
        return self._kept.usual[stage.name]

    def situation(self, stage: Stage, state: Mapping[str, str], moved: Moved, jumper: Jumper) -> Situation:
        """A stage with a few controls moved: contacts opened, others closed, and a tie for what is cut loose; two
        nodes may be joined by a jumper."""
        usual, built = self.usual(stage), self.bench.built
        if not moved and jumper is None:
            return usual
        rows: list[Row] = []
        siemens = self._kept.siemens[stage.name].copy()
        for number in (number for name, _ in moved for number in built.moved_by.get(name, ())):
            before, siemens[number] = float(siemens[number]), built.siemens(number, stage, state)
            rows.append((self._a[number], self._b[number], float(siemens[number]) - before))
        on = np.flatnonzero(siemens)
        joined = [] if jumper is None else [jumper]
        rows += [(a, b, 1 / stage.least_ohm) for a, b in joined]
        key = stage.least_ohm, tuple(rows)
        if key in usual.moved:
            return usual.moved[key]
        ends = (np.append(one[on], [pair[side] for pair in joined]) for side, one in enumerate(self._ends))
        of, first = islands(len(usual.island), *(one.astype(np.int64) for one in ends))
        island: list[int] = of.tolist()
        ties, more = {island[node]: node for node in usual.ties.values()}, list[Row]()
        kept = set(ties.values())
        more += [(node, usual.earth, -1.0) for node in usual.ties.values() if node not in kept]
        for number, node in enumerate(first.tolist()):
            if number not in ties:
                ties[number] = node
                more.append((node, usual.earth, 1.0))
        every = [row for row in (*rows, *more) if row[2] and row[0] != row[1]]
        found = Situation(usual.inverse, island, ties, every)
        self.bench.keep(usual, key, found)
        return found

    def rows(self, stage: Stage) -> Rows:
        """Every change's rows with every isolator closed."""
        if stage.name not in self._rows:
            rows = [self.bench.built.rows(stage, self.bench.state, change) for change in self.changes]
            self._rows[stage.name] = Rows.of(rows, self.bench.built.grid.network.nodes)
        return self._rows[stage.name]

    @cached_property
    def _turns(self) -> dict[int, list[int]]:
        """Piece that a control moves -> the cases that change it; contacts that follow no switch are among them."""
        found: dict[int, list[int]] = {}
        moved_by = self.bench.built.moved_by
        for case, change in enumerate(self.changes):
            touched = {*change.off, *change.moved, *change.ohms, *change.plugged}
            touched |= {number for name in change.contacts for number in moved_by.get(name, ())}
            touched |= {
                number
                for name, other in change.acts.items()
                for number in (*moved_by.get(name, ()), *moved_by.get(other, ()))
            }
            for number in touched:
                if self.bench.built.pieces[number].control is not None:
                    found.setdefault(number, []).append(case)
        return found

    def group(
        self, stage: Stage, moved: Moved, jumper: Jumper, mine: Sequence[int], progress: Progress | None = None
    ) -> None:
        """All tests of one stage and state. Dead ones are taken island by island: what lies elsewhere is out of it."""
        state = {**self.bench.state, **dict(moved)}
        now = self.situation(stage, state, moved, jumper)
        turned = {
            case
            for name, _ in moved
            for number in self.bench.built.moved_by.get(name, ())
            for case in self._turns.get(number, ())
        }
        anew = {case: self.bench.built.rows(stage, state, self.changes[case]) for case in sorted(turned)}
        rows = self.rows(stage).but(anew)
        parts: dict[int, list[int]] = {}
        for number in mine:
            red, black = (now.island[probe.node] for probe in (self.tests[number].red, self.tests[number].black))
            parts.setdefault(TOGETHER if stage.powered else red if red == black else APART, []).append(number)
        for where, some in parts.items():
            size = max(1, MOST_AT_ONCE // (len(self.changes) * max(1, len(self._sensors(stage)))))
            for start in range(0, len(some), size):
                self._part(stage, state, now, some[start : start + size], where, rows)
                if progress is not None:
                    progress("readings", len(self.numbers) + len(self.names), len(self.tests))

    def _part(
        self,
        stage: Stage,
        state: Mapping[str, str],
        now: Situation,
        mine: Sequence[int],
        where: int,
        rows: Rows,
    ) -> None:
        """Some tests of one situation, in those cases that may make a difference."""
        built = self.bench.built
        sensors = self._sensors(stage)
        pairs = [(self.tests[one].red.node, self.tests[one].black.node) for one in mine]
        pairs += [(self._a[k], self._b[k]) for k in sensors]
        elsewhere = self._elsewhere(stage, sensors)
        pairs += dict.fromkeys(ends for *_, ends in elsewhere)
        probes = np.array(pairs)
        columns = now.between(probes[:, 0], probes[:, 1])
        if stage.powered:
            push = np.zeros(now.earth + 1)
            for k, volts in built.volts.items():
                amperes = volts * built.siemens(k, stage, state)
                push[self._a[k]] += amperes
                push[self._b[k]] -= amperes
            columns = np.column_stack([columns, now.driven(push)])
        whole = columns[probes[:, 0]] - columns[probes[:, 1]]  # [pair, column]
        islands = now.of[probes[: len(mine)]]
        apart = islands[:, 0] != islands[:, 1]
        of = np.append(now.of, -1)  # earth belongs nowhere
        if where == TOGETHER:  # most faults lie where no test and no booster has volts
            felt = rows.lit(columns[:, [*np.flatnonzero(~apart), -1]]) | rows.joins(of).any(axis=1)
        elif where == APART:  # what reads open until a fault joins both sides
            joins = rows.joins(of)
            felt = np.asarray((joins[:, islands[:, 0]] & joins[:, islands[:, 1]]).any(axis=1))
        else:
            felt = rows.lying_in(of == where)
        told = felt.copy()
        told[0] = True
        if sensors:
            told[self._odd] = True
        cases = np.flatnonzero(told)
        at = np.cumsum(told) - 1
        out = Out(len(cases), len(mine), whole)
        out.apart[:] = apart
        for some, ends, joined in batches(now, rows, np.flatnonzero(felt), islands):
            if joined is not None:
                out.apart[at[some]] = joined
            changed(now.inverse, columns, whole, ends, out, at[some])
        extra = {ends: at for at, ends in enumerate(dict.fromkeys(ends for *_, ends in elsewhere), len(sensors))}
        for one, sensor, put in elsewhere:  # where a fault has put it
            out.volts[at[one], len(mine) + sensor] = out.volts[at[one], len(mine) + extra[put]]
            out.shares[at[one], :, sensor] = out.shares[at[one], :, extra[put]]
        out.volts, out.shares = out.volts[:, : len(mine) + len(sensors)], out.shares[:, :, : len(sensors)]
        self._read(stage, mine, sensors, out, cases)

    @cached_property
    def _odd(self) -> NDArray[np.bool_]:
        """The cases in which a sensor reads otherwise whatever flows: silent, by another name, or lying elsewhere."""
        found: NDArray[np.bool_] = np.asarray(self._silent.any(axis=1))
        found[[*self._renamed, *(case for case, *_ in self._put)]] = True
        return found

    def _elsewhere(self, stage: Stage, sensors: Sequence[int]) -> list[tuple[int, int, tuple[int, int]]]:
        """Case, sensor and its ends, of those that a fault has put between other nodes."""
        number, plugs = {k: at for at, k in enumerate(sensors)}, stage.detectors is not None
        return (
            []
            if not sensors
            else [
                (case, number[k], ends)
                for case, k, ends, by_plug in self._put
                if k in number and (plugs or not by_plug)
            ]
        )

    @cached_property
    def _put(self) -> list[tuple[int, int, tuple[int, int], int]]:
        """Case, piece, the ends that a fault has put it between, and whether so only with the buses plugged in."""
        return [
            (case, k, ends, by_plug)
            for case, change in enumerate(self.changes)
            for by_plug, put in enumerate((change.moved, change.plugged))
            for k, ends in put.items()
        ]

    def _sensors(self, stage: Stage) -> list[int]:
        if stage.name == "live":
            return [number for _, number, *_ in self.bench.detectors]
        return [number for _, number, _ in self.bench.breakers] if stage.name == "short" else []

    # -- readings -------------------------------------------------------------------------------------------------
    def _read(
        self, stage: Stage, mine: Sequence[int], sensors: Sequence[int], out: Out, cases: NDArray[np.int64]
    ) -> None:
        """What is read in some cases; the others read what wiring that is right does."""
        built = self.bench.built
        silent, own = self._silent[cases], [one[3] for one in self.bench.detectors]
        live = stage.name == "live"
        renamed = {at: self._renamed[case] for at, case in enumerate(cases.tolist()) if live and case in self._renamed}
        strange = np.zeros((len(cases), len(sensors)), dtype=np.bool_)  # named otherwise
        for at, some in renamed.items():
            strange[at] = [one != other for one, other in zip(some, own, strict=True)]
        shared = [(at, group) for at, some in renamed.items() for group in alike(some)]
        usual = np.array([at for at in range(len(cases)) if at not in renamed])

        def every(values: NDArray[Any]) -> NDArray[Any]:
            found = np.full(len(self.changes), values[0])
            found[cases] = values
            return found

        siemens = np.array([built.siemens(k, stage, self.bench.state) for k in sensors])
        emf = np.array([built.volts.get(k, 0.0) for k in sensors])
        for at, number in enumerate(mine):
            test = self.tests[number]
            if test.kind == OHMS:
                ohms = out.ohms[:, at]
                lost = out.apart[:, at] | (np.abs(ohms) > OPEN_OHM) | (ohms < -1e-3)  # below nought: cut, and rounded
                self.numbers[number] = every(np.where(lost, OPEN_OHM, np.maximum(ohms, 0.0)))
                continue
            assert test.across is not None
            less = opposing(self.bench, test)
            volts = out.volts[:, at]
            driving = np.sign(volts) * np.maximum(np.abs(volts) - less, 0.0)
            amperes = driving / (test.across + np.abs(out.ohms[:, at]))
            amperes[out.apart[:, at]] = 0.0
            if test.kind == VOLTS:
                self.numbers[number] = every(np.abs(amperes) * test.across)
                continue
            left = out.volts[:, len(mine) :] - amperes[:, None] * out.shares[:, at]
            flows = (left - emf) * siemens
            if test.kind == TRIPS:
                currents = np.abs(flows)
                self.amperes[number] = every(np.abs(amperes))
                least = [trip for *_, trip in self.bench.breakers]
                names = [name for name, *_ in self.bench.breakers]
                self.names[number] = every(self.naming.named(currents, least, names, {}, strange))
            else:  # what several buses carry, a channel sees together
                for group in self._shared:
                    flows[usual[:, None], group] = flows[usual[:, None], group].sum(axis=1, keepdims=True)
                for case, group in shared:
                    flows[case, group] = flows[case, group].sum()
                currents = np.abs(flows)
                currents[silent] = 0.0
                least = [threshold for _, _, threshold, _ in self.bench.detectors]
                self.names[number] = every(self.naming.named(currents, least, own, renamed, strange))

    @cached_property
    def _shared(self) -> list[list[int]]:
        return alike([channel for *_, channel in self.bench.detectors])

    @cached_property
    def _renamed(self) -> dict[int, list[str]]:
        """Buses that were plugged in elsewhere read by another channel's name: case -> the names of the detectors."""
        return {
            case: [change.renamed.get(block, channel) for block, *_, channel in self.bench.detectors]
            for case, change in enumerate(self.changes)
            if change.renamed
        }


def alike(names: Sequence[str]) -> list[list[int]]:
    """The places of each name that stands at several."""
    at: dict[str, list[int]] = {}
    for number, name in enumerate(names):
        at.setdefault(name, []).append(number)
    return [some for some in at.values() if len(some) > 1]


def opposing(bench: Bench, test: Step) -> float:
    """What the detector takes off a short's voltage; of other tests, nothing."""
    fed = bench.study.wiring.fed
    kinds = [fed[one].type for one in test.about if one in fed] if test.kind == TRIPS else []
    return max((kind.drop_v for kind in kinds if kind is not None and kind.sensing == "series"), default=0.0)
