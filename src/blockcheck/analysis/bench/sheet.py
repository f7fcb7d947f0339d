"""Which tests a sheet has, made with what is at hand, in which order; and what they see.

The short order sees every fault that the instruments can see; the other tells each from every other. Both are grouped
by where one probe stays, and what catches most in a minute comes first: dead tests before live ones, a short in a
district before all dead ones, breakers before all live ones.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from functools import cached_property

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.analysis.bench.alike import Shape
from blockcheck.analysis.bench.choose import choose
from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.instruments import Bools, Way, cover, seconds, seen, ways
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import Predicted, Progress, predict
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import DEAD, INSTRUMENTS, OHMS, SILENT_OHM, TRIPS, Step
from blockcheck.network.built import Change

MOST_SHAPES = 8
"""Units of so many shapes are kept for others of the same."""
Case = tuple[Fault, Change]


@frozen
class Row:
    """A test of a sheet: the way to make it, whether its probes are exchanged so that red stays where it is, the node
    at which that is (None: red moves too), and what it catches that nothing before it does: how likely that is."""

    way: Way
    turned: bool
    node: int | None
    caught: float


@frozen(eq=False, repr=False, slots=False)
class Sheet:
    """The tests that can be made on a bench with what is at hand, and the cases that they are to see."""

    bench: Bench
    steps: tuple[Step, ...]
    at_hand: Collection[str]
    tolerance: Tolerance
    names: Collection[str] | None = None
    progress: Progress | None = None
    rim: frozenset[str] = frozenset()
    """Blocks of other units that are there for what lies between: what is about them first is theirs."""
    tells: bool = False
    """Whether faults are told from each other, which takes more of them to be predicted."""

    @cached_property
    def cases(self) -> tuple[Case, ...]:
        """Every fault that readings are searched for, each at the sizes that are typical of it."""
        own, rim = self.names, self.rim
        faults = (one for one in causes(self.bench) if own is None or any(name in own for name in one.subjects))
        return tuple((one, change) for one in faults if not rim & {*one.subjects[:1]} for change in one.changes)

    @cached_property
    def guesses(self) -> tuple[Fault, ...]:
        """What is told from each other."""
        found = every_fault(self.bench, guesses=True, names=self.names) if self.tells else ()
        return tuple(one for one in found if not self.rim & {*one.subjects[:1]})

    @cached_property
    def _columns(self) -> tuple[Predicted, list[int]]:
        """What each test reads in each case, and of each guess that is none of them; and where each guess is."""
        known = {(one.id, one.guess): at for at, (one, _) in enumerate(self.cases, 1) if one.size is None}
        changes, place = [change for _, change in self.cases], list[int]()
        for one in self.guesses:
            at = known.get((one.id, one.guess))
            if at is None:
                changes.append(one.change)
                at = len(changes)
            place.append(at)
        return predict(self.bench, self.steps, changes, self.progress), place

    @cached_property
    def shape(self) -> Shape:
        """It without its names."""
        return Shape.of(self.bench, self.steps, self.cases, sorted(self.at_hand), self.tolerance)

    @cached_property
    def twin(self) -> Sheet | None:
        """A sheet of another unit that is the same but for its names: what is known of it holds of this one."""
        known = self.bench.alike
        if known is None or self.tells:
            return None
        full = sum(isinstance(one, Sheet) for one in known.values()) >= MOST_SHAPES
        first: Sheet = known.get(self.shape.key, self) if full else known.setdefault(self.shape.key, self)
        return None if first is self else first

    @cached_property
    def predicted(self) -> Predicted:
        """What each test reads in each case."""
        if self.twin is not None:
            return self.shape.named(self.twin.predicted, self.twin.shape, self.steps)
        found, _ = self._columns
        return found.only(range(1, len(self.cases) + 1)) if self.guesses else found

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """Every way to make a test with what is at hand."""
        return ways(self.steps, self.at_hand)

    def sees(self, some: Sequence[Way]) -> Bools:
        """Which cases each way tells from wiring that is right, as [way, case]."""
        found = np.zeros((len(some), len(self.cases)), dtype=bool)
        for number, way in enumerate(some):
            found[number] = seen(self.predicted, way, self.tolerance)[1:]
        return found

    @cached_property
    def seen(self) -> Bools:
        """Which cases each way at hand sees."""
        return self.sees(self.ways) if self.twin is None else self.twin.seen

    @cached_property
    def worth(self) -> NDArray[np.float64]:
        """How likely each case is: the sizes of a fault share what it has."""
        sizes = Counter(fault.id for fault, _ in self.cases)
        return np.array([fault.weight / sizes[fault.id] for fault, _ in self.cases])

    @cached_property
    def always(self) -> list[int]:
        """Ways that stand on every sheet: no short in a district, a short that trips each breaker, and every gap that
        is meant to be cut, where the wiring does not join both its sides."""
        safe, gaps = set(safety(self.bench, self.predicted)), self.gaps(silent=True)
        first = dict[int, int]()
        for number, way in enumerate(self.ways):
            if way.test in safe or way.test in gaps:
                first.setdefault(way.test, number)
        return list(first.values())

    def gaps(self, silent: bool) -> set[int]:
        """The gaps that can be metered, or those of which both sides are joined by the wiring."""
        return {
            number
            for number, step in enumerate(self.steps)
            if step.id.startswith("joint.")
            and not step.slack_ohm
            and (float(self.predicted.numbers[number][0]) >= SILENT_OHM) == silent
        }

    def short(self, times: int) -> tuple[Row, ...]:
        """The fewest tests that see all that can be seen, each fault ``times`` times where so many tests see it."""
        if self.twin is not None:
            return self.twin.short(times)
        if times not in self._short:
            costs = [seconds(self.steps[way.test], way.instrument) for way in self.ways]
            self._short[times] = self.ordered(cover(self.seen, self.worth, costs, self.always, times))
        return self._short[times]

    @cached_property
    def _short(self) -> dict[int, tuple[Row, ...]]:
        return {}

    def each(self, times: int) -> tuple[tuple[Row, ...], tuple[Fault, ...], dict[str, set[str]]]:
        """The fewest tests that tell each fault from every other; the faults; and which no test tells apart, by id."""
        guesses, (every, place) = self.guesses, self._columns
        told = every.only(place)
        ids = ["", *(one.id for one in guesses)]
        found = choose(
            told, self.tolerance, self.ways, always=self.always, same=ids, times=times, progress=self.progress
        )
        faults = tuple(one for one in guesses if not one.guess)
        return self.ordered(found.ways), faults, alike_of(found.untold, ids)

    # -- order ----------------------------------------------------------------------------------------------------
    def ordered(self, chosen: Sequence[int]) -> tuple[Row, ...]:
        """Ways in the order of the sheet."""
        ends: Counter[int] = Counter()
        for way in (self.ways[one] for one in chosen):
            step = self.steps[way.test]
            if step.kind == OHMS:
                ends.update((step.red.node, step.black.node))
        groups: dict[tuple[int, str, int | None], list[int]] = {}
        for one in sorted(chosen):
            step = self.steps[self.ways[one].test]
            node = None
            if step.kind == OHMS:
                red, black = step.red.node, step.black.node
                node = black if ends[black] > ends[red] else red
            groups.setdefault((self.turn(step), step.kind, node), []).append(one)
        for key in [key for key, some in groups.items() if key[2] is not None and len(some) == 1]:
            groups.setdefault((key[0], key[1], None), []).extend(groups.pop(key))
        groups = {key: sorted(some) for key, some in groups.items()}
        rows = list[Row]()
        caught: Bools = np.zeros(len(self.cases), dtype=bool)
        for turn in sorted({key[0] for key in groups}):
            left = {key: some for key, some in groups.items() if key[0] == turn}
            while left:
                key = max(left, key=lambda one: self.rate(left[one], caught))
                for one in left.pop(key):
                    more = float(self.worth[self.seen[one] & ~caught].sum())
                    np.logical_or(caught, self.seen[one], out=caught)
                    turned = key[2] is not None and self.steps[self.ways[one].test].red.node != key[2]
                    rows.append(Row(self.ways[one], turned, key[2], more))
        return tuple(rows)

    def rate(self, some: Sequence[int], caught: Bools) -> float:
        """What these ways catch in a second that was not caught."""
        more: Bools = self.seen[some].any(axis=0) & ~caught
        return float(self.worth[more].sum()) / sum(
            seconds(self.steps[self.ways[one].test], self.ways[one].instrument) for one in some
        )

    @staticmethod
    def turn(step: Step) -> int:
        """What is safe first: shorts in a district, dead tests, breakers, live tests."""
        if step.stage == DEAD:
            return 0 if step.id.startswith(("district.", "districts.")) else 1
        return 2 if step.kind == TRIPS else 3

    # -- what is seen ---------------------------------------------------------------------------------------------
    @cached_property
    def found(self) -> Bools:
        """Which cases any way at hand sees."""
        return np.asarray(self.seen.any(axis=0), dtype=np.bool_)

    def kinds(self) -> Iterator[tuple[str, int, int]]:
        """Kind of fault, how many of it are seen, and of how many; each size counts."""
        every, some = Counter[str](), Counter[str]()
        for (fault, _), one in zip(self.cases, self.found.tolist(), strict=True):
            every[fault.kind] += 1
            some[fault.kind] += one
        for kind, count in every.items():
            yield kind, some[kind], count

    @cached_property
    def more(self) -> dict[str, int]:
        """Each instrument that is not at hand, and how many cases it would see besides."""
        if self.twin is not None:
            return self.twin.more
        found = dict[str, int]()
        for one in INSTRUMENTS:
            if one not in self.at_hand:
                other = self.sees([way for way in ways(self.steps, (one,)) if way.instrument == one])
                found[one] = int((other.any(axis=0) & ~self.found).sum())
        return found

    def unseen(self) -> tuple[str, ...]:
        """Ids of faults that are not seen at one of their sizes."""
        rows = zip(self.cases, self.found.tolist(), strict=True)
        return tuple(dict.fromkeys(fault.id for (fault, _), one in rows if not one))


def safety(bench: Bench, predicted: Predicted) -> list[int]:
    """Tests that safety asks for, whatever they tell: no short in a district, and a short that trips each breaker."""
    found = [number for number, step in enumerate(predicted.tests) if step.id.startswith(("district.", "districts."))]
    for name, *_ in bench.breakers:
        able = [one for one in predicted.amperes if name in predicted.known[int(predicted.names[one][0])]]
        if able:
            found.append(min(able, key=lambda one: rounded(float(predicted.amperes[one][0]))))
    return found


def rounded(value: float) -> float:
    """Nine digits: what lies behind them differs with the machine and its threads."""
    return float(f"{value:.9g}")


def alike_of(untold: NDArray[np.bool_], ids: Sequence[str]) -> dict[str, set[str]]:
    """Fault -> those that no test tells from it; the empty id is wiring that is right."""
    found: dict[str, set[str]] = {}
    for one, other in zip(*untold.nonzero(), strict=True):
        found.setdefault(ids[one], set()).add(ids[other])
    return found
