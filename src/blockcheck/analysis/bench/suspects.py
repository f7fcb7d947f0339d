"""Which faults explain readings: how well each does, and which test would split those that are left.

Every fault predicts every reading. One that lies outside the tolerance speaks against the fault; how far the others
lie from what was predicted, and how likely such a fault is by itself, put the rest into an order (Bayes, with the
tolerance as two standard deviations, and a floor, since a person may also misread).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.analysis.bench.choose import apart
from blockcheck.analysis.bench.faults import Fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import Names, Predicted, Progress, predict
from blockcheck.analysis.bench.tolerance import Tolerance, normal
from blockcheck.analysis.bench.wired import Step
from blockcheck.network.built import Change

Floats = NDArray[np.float64]

WORST = -12.0
"""Least log likelihood of one reading: a slip of the person, one in some hundred thousand."""
DOUBT = -0.7
"""What a name costs that may or may not read: even odds."""
RIGHT_WEIGHT = 30.0
"""How likely it is that nothing is wrong, against the weight of single faults. Common practice, no source."""
MOST_SEEDS = 40
"""So many faults that explain something are put together to pairs."""
MOST_REFINED = 24
LIKELY = -7.0
"""A suspect that is a thousand times less likely than the first is none."""
MOST_SPLIT = 12
"""So many candidates count when the next test is looked for."""

Value = float | frozenset[str] | None
"""A reading; None stands for "as expected"."""


@frozen(eq=False, repr=False)
class Suspect:
    """A cause that was looked at: no fault, one, or two. ``against`` counts the readings that speak against it.

    ``fit`` is the log likelihood of the readings, ``score`` that and its own. ``told`` are the readings that it
    predicts, and ``case`` its row there.
    """

    faults: tuple[Fault, ...]
    against: int
    fit: float
    score: float
    told: Predicted
    case: int

    @property
    def change(self) -> Change:
        """What it makes of the wiring."""
        found = Change()
        for one in self.faults:
            found = found.also(one.change)
        return found


@frozen(eq=False, repr=False)
class Search:
    """All suspects, the best first; ``tied`` of them cannot be told from the first by the readings taken.

    ``pairs`` counts the pairs of faults that were looked at, of ``all_pairs`` of which each explains something.
    """

    suspects: tuple[Suspect, ...]
    tied: int
    pairs: int = 0
    all_pairs: int = 0


@frozen(eq=False, repr=False, slots=False)
class Judge:
    """Readings, and what is made of them."""

    bench: Bench
    steps: tuple[Step, ...]
    values: tuple[Value, ...]
    tolerance: Tolerance
    progress: Progress | None = None

    def judge(self, causes: Sequence[tuple[Fault, ...]]) -> list[Suspect]:
        """How each cause explains the readings."""
        predicted = predict(self.bench, self.steps, [_change(one) for one in causes], self.progress)
        against, fit = self.weigh(predicted)
        return [
            Suspect(cause, int(against[case]), float(fit[case]), float(fit[case]) + prior(cause), predicted, case)
            for case, cause in enumerate(causes, 1)
        ]

    def weigh(self, predicted: Predicted) -> tuple[NDArray[np.int64], Floats]:
        """Readings against each case, and the log likelihood of all."""
        cases = len(next(iter([*predicted.numbers.values(), *predicted.names.values()])))
        against, fit = np.zeros(cases, dtype=np.int64), np.zeros(cases)
        for test, (step, value) in enumerate(zip(self.steps, self.values, strict=True)):
            one, other = _weigh(predicted, test, step, value, self.tolerance)
            against += one
            fit += other
        return against, fit

    def search(self, faults: Sequence[Fault], most_pairs: int) -> Search:
        """No fault, every single one, and pairs where none of those explains all."""
        whole = self.judge([(), *((one,) for one in faults)])
        singles = _best_guess(whole)
        if min(one.against for one in singles) > 0:
            singles = self._refined(singles, whole[0].fit)
        pairs = all_pairs = 0
        if min(one.against for one in singles) > 0:
            none = next(one for one in singles if not one.faults)
            helps = sorted((one for one in singles if one.fit > none.fit + 1e-9), key=lambda one: -one.score)
            couples = [
                (*one.faults, *other.faults)
                for one, other in combinations(helps[:MOST_SEEDS], 2)
                if not _contradict(one, other)
            ]
            left = max(len(helps) - MOST_SEEDS, 0)
            all_pairs = len(couples) + left * MOST_SEEDS + left * (left - 1) // 2
            pairs = min(len(couples), most_pairs)
            if couples[:most_pairs]:
                singles += self.judge(couples[:most_pairs])
        return self._ranked(singles, whole, pairs, all_pairs)

    def _refined(self, suspects: list[Suspect], right: float) -> list[Suspect]:
        """Faults that may have any value (a poor joint) at the value that fits best."""
        able = [one for one in suspects if one.faults and one.faults[0].value is not None and one.fit > right + 1e-9]
        able = sorted(able, key=lambda one: -one.fit)[:MOST_REFINED]
        better = {one.faults[0].id: one for one in able if one.against or one.fit < -1e-9}
        span = 2.5
        for _ in range(3):
            if not better:
                break
            steps = np.geomspace(1 / span, span, 9)
            tries = [(at_value(one.faults[0], float(factor)),) for one in better.values() for factor in steps]
            for found in self.judge(tries):
                if (found.against, -found.fit) < (better[found.faults[0].id].against, -better[found.faults[0].id].fit):
                    better[found.faults[0].id] = found
            span **= 0.3
        return [better.get(one.faults[0].id, one) if one.faults else one for one in suspects]

    def _ranked(self, suspects: list[Suspect], guesses: list[Suspect], pairs: int, all_pairs: int) -> Search:
        """The one that explains most comes first, and with it those that the readings do not tell from it, at any of
        the values that were guessed."""
        leader = min(suspects, key=lambda one: (one.against, -round(one.fit, 6), -one.score, _name(one)))
        every = [*suspects, *(one for one in guesses if one.faults)]
        names = {_name(one) for one, same in zip(every, self._alike(leader, every), strict=True) if same}
        alike = [_name(one) in names for one in suspects]
        order = sorted(
            range(len(suspects)),
            key=lambda at: (
                not alike[at],
                *(() if alike[at] else (suspects[at].against,)),
                -suspects[at].score,
                _name(suspects[at]),
            ),
        )
        return Search(tuple(suspects[at] for at in order), sum(alike), pairs, all_pairs)

    def _alike(self, leader: Suspect, suspects: Sequence[Suspect]) -> list[bool]:
        """Those that no reading taken can tell from one, whatever the meter made of it."""
        found = np.ones(len(suspects), dtype=bool)
        tables: dict[int, tuple[Predicted, list[int]]] = {}  # who is told of in which table
        for at, one in enumerate(suspects):
            tables.setdefault(id(one.told), (one.told, []))[1].append(at)
        for told, places in tables.values():
            mine, cases = np.array(places), np.array([suspects[at].case for at in places])
            for test, step in enumerate(self.steps):
                if test in told.numbers:
                    value, own = told.numbers[test][cases], leader.told.numbers[test][leader.case : leader.case + 1]
                    room = self.tolerance.of(step, value) + self.tolerance.of(step, own)
                    found[mine] &= np.abs(value - own) <= room * (1 + 1e-6)
                    continue
                names = leader.told.known[int(leader.told.names[test][leader.case])]
                numbers = told.names[test][cases]
                for number in np.unique(numbers).tolist():
                    if told.known[number].differs(names):
                        found[mine[numbers == number]] = False
        return [bool(one) for one in found]

    def next_test(self, suspects: Sequence[Suspect]) -> Step | None:
        """The test, not made yet, that tells most of the leading suspects apart; None where none does."""
        top = suspects[0].score
        some = [one for one in suspects if one.score > top + LIKELY][:MOST_SPLIT]
        made = {one.id for one in self.steps}
        left = [one for one in (*self.bench.tests, *self.bench.further) if one.id not in made]
        if len(some) < 2 or not left:
            return None
        predicted = predict(self.bench, left, [one.change for one in some])
        weights = np.array([math.exp(one.score - top) for one in some])
        best, chosen = 1e-12, None
        for test, step in enumerate(left):
            table, at = apart(predicted, test, self.tolerance)
            split = table[at[1:][:, None], at[1:][None, :]]
            gain = float(weights @ split @ weights)
            if gain > best * (1 + 1e-9):
                best, chosen = gain, step
        return chosen


def prior(cause: Sequence[Fault]) -> float:
    """The log of how likely a cause is by itself."""
    if not cause:
        return math.log(RIGHT_WEIGHT)
    return sum(math.log(one.weight) for one in cause) - 7.0 * (len(cause) - 1)


def at_value(fault: Fault, factor: float) -> Fault:
    """The same poor joint with another resistance."""
    from blockcheck.analysis.bench.faults import poor_joint

    assert fault.value is not None
    return poor_joint(fault, fault.value * factor)


def _change(cause: Sequence[Fault]) -> Change:
    found = Change()
    for one in cause:
        found = found.also(one.change)
    return found


def _name(one: Suspect) -> tuple[str, ...]:
    return tuple(fault.id for fault in one.faults)


def _contradict(one: Suspect, other: Suspect) -> bool:
    """Two faults of one and the same thing are no pair."""
    pieces = [
        {
            *fault.change.off,
            *fault.change.moved,
            *fault.change.ohms,
            *fault.change.contacts,
            *fault.change.silent,
            *fault.change.plugged,
        }
        for fault in (*one.faults, *other.faults)
    ]
    return bool(pieces[0] & pieces[1])


def _best_guess(suspects: Sequence[Suspect]) -> list[Suspect]:
    """Of the values that one fault may have, the one that fits best."""
    found: dict[tuple[str, ...], Suspect] = {}
    for one in suspects:
        known = found.get(_name(one))
        if known is None or (one.against, -one.fit) < (known.against, -known.fit):
            found[_name(one)] = one
    return list(found.values())


def _weigh(
    predicted: Predicted, test: int, step: Step, value: Value, tolerance: Tolerance
) -> tuple[NDArray[np.int64], Floats]:
    """One reading against every case: whether it speaks against it, and its log likelihood."""
    if test in predicted.numbers:
        told = predicted.numbers[test]
        room = tolerance.of(step, told)
        if value is None:  # as expected: anywhere within the tolerance of what is right
            off = np.maximum(np.abs(told - told[0]) - room[0], 0.0) / room
        else:
            assert isinstance(value, float)
            off = np.abs(told - value) / room
        return (off > 1 + 1e-6).astype(np.int64), np.where(off > 1 + 1e-6, WORST, normal(off))
    numbers = predicted.names[test]
    seen = predicted.known[int(numbers[0])] if value is None else value
    assert not isinstance(seen, float)
    against: dict[int, tuple[int, float]] = {}
    for one in np.unique(numbers):
        told_names = predicted.known[int(one)]
        if value is None:
            fits = not told_names.differs(Names(seen, predicted.known[int(numbers[0])].doubtful))
        else:
            fits = told_names.may_be(frozenset(seen))
        against[int(one)] = (0, DOUBT * len(told_names.doubtful)) if fits else (1, WORST)
    return (
        np.array([against[int(one)][0] for one in numbers], dtype=np.int64),
        np.array([against[int(one)][1] for one in numbers]),
    )
