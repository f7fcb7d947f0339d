"""Which faults explain readings: how likely each is, and which test would split those that are left.

First the material, then the faults: factors of rail and wire are fitted to all readings (`fitting.py`), each cause
about them with its size, and the causes put into an order by their evidence and by how likely such a fault is by
itself (Bayes). "Something that is not on the list" competes with them: where it wins, nothing listed is the answer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np
from attrs import evolve, frozen

from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.lowrank import Floats
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import Predicted, Progress, predict
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import OHMS, OPEN_OHM, Beep, Step
from blockcheck.analysis.trace.coarse import both_open, likelihood_of
from blockcheck.analysis.trace.fitting import HARDLY_OPEN, SPAN, Dead, Fit, Point
from blockcheck.analysis.trace.screen import flat, screened
from blockcheck.analysis.trace.suspect import Suspect, near, offered, with_one_less
from blockcheck.network.built import Change

SCALE = 0.002
"""Times its weight: how likely a fault is, against wiring that is right. Common practice, no source."""
UNKNOWN = -5.0
"""Log of how likely something is that is not on the list. Common practice, no source."""
ODD = (0.02, 0.06, 0.15, 0.4)
"""The share of readings that such a thing disturbs, each as likely."""
UNEXPLAINED = 4.0
"""A reading that lies more standard deviations off than this is not explained."""
MOST_FITTED = 120
"""Of all causes, so many that read best are fitted."""
MOST_ANEW = 12
"""So many are fitted about their own material, twice."""
MOST_CLASSED = 24
MOST_SHOWN = 60
SEEDS, MORE_SEEDS = 14, 76
MOST_PAIRS_FITTED = 40
Value = float | frozenset[str] | Beep | None
"""A reading; None stands for "as expected"."""


@frozen(eq=False, repr=False)
class Search:
    """All suspects, the best first; ``tied`` of them cannot be told from the first by the readings taken.

    ``right`` is wiring without a fault; ``unknown`` the share of what is not on the list; ``material`` the factors of
    rail and wire. ``pairs`` counts the pairs of faults that were looked at, of ``all_pairs`` that might have been.
    """

    suspects: tuple[Suspect, ...]
    tied: int
    right: Suspect
    unknown: float
    material: Mapping[str, float]
    pairs: int = 0
    all_pairs: int = 0


@frozen(eq=False, repr=False, slots=False)
class Judge:
    """Readings, and what is made of them. The tolerance is taken as two standard deviations of the meter."""

    bench: Bench
    steps: tuple[Step, ...]
    values: tuple[Value, ...]
    tolerance: Tolerance
    progress: Progress | None = None

    @cached_property
    def fine(self) -> tuple[int, ...]:
        """Readings in ohms with every isolator closed: material and sizes are fitted to these."""
        return tuple(at for at in range(len(self.steps)) if self._fine(at))

    @cached_property
    def coarse(self) -> tuple[int, ...]:
        """The others: what reads, volts, contacts that are moved, connected or not."""
        return tuple(at for at in range(len(self.steps)) if not self._fine(at))

    def _fine(self, at: int) -> bool:
        step = self.steps[at]
        whole = at in self._as_shut if self.bench.shut else not step.state
        return step.kind == OHMS and whole and not step.rough and not isinstance(self.values[at], Beep)

    @cached_property
    def _as_shut(self) -> frozenset[int]:
        """Where interlocks keep isolators open: the readings in ohms that are as if all were closed at once."""
        some = [at for at, step in enumerate(self.steps) if step.kind == OHMS]
        steps = [self.steps[at] for at in some]
        told = predict(self.bench, [*steps, *(evolve(one, state=self.bench.shut) for one in steps)], [])
        one, other = np.array([told.numbers[test][0] for test in range(len(told.tests))]).reshape(2, -1)
        return frozenset(np.array(some)[np.abs(one - other) <= 1e-6 * (1 + one)].tolist())

    @cached_property
    def expected(self) -> Predicted:
        """What wiring as the tables have it reads."""
        return predict(self.bench, self.steps, [])

    @cached_property
    def dead(self) -> Dead:
        """The fine readings. Of one that is as expected, all that is known is that it lies within the tolerance."""
        steps = tuple(self.steps[at] for at in self.fine)
        read, slack = np.zeros(len(steps)), np.array([step.slack_ohm for step in steps])
        for number, at in enumerate(self.fine):
            value = self.values[at]
            if value is None:
                value = self.expected.value(at, 0)
                slack[number] += 2 * float(self.tolerance.of(steps[number], np.array([value]))[0])
            assert isinstance(value, float)
            read[number] = value
        return Dead(self.bench, steps, read, slack, self.tolerance.share / 2, self.tolerance.ohms / 2)

    def likely(self, at: int, told: float | Names, right: float | Names) -> float:
        """Log likelihood of a coarse reading where ``told`` is predicted, and wiring that is right gives ``right``."""
        value = self.values[at]
        return likelihood_of(self.steps[at], told, right if value is None else value, value is None, self.tolerance)

    def coarsely(self, changes: Sequence[Change]) -> tuple[Floats, list[list[bool]], Predicted | None]:
        """Log likelihood of the coarse readings in each case, and which of them are explained."""
        found, fits = np.zeros(len(changes)), [list[bool]() for _ in changes]
        if not self.coarse:
            return found, fits, None
        end = self.progress if len(changes) > 1 else None  # wiring that is right is always judged
        told = predict(self.bench, [self.steps[at] for at in self.coarse], changes, end)
        for test, at in enumerate(self.coarse):
            known: dict[float | int, float] = {}
            column = told.numbers[test] if test in told.numbers else told.names[test]
            right = told.value(test, 0)
            for case, one in enumerate(column[1:].tolist()):
                if one not in known:
                    known[one] = self.likely(at, one if test in told.numbers else told.known[one], right)
                found[case] += known[one]
                fits[case].append(known[one] > -6.0)
        return found, fits, told

    def suspect(self, faults: tuple[Fault, ...], fit: Fit, coarse: float) -> Suspect:
        """A cause at the sizes that were fitted."""
        sized = tuple(one.at(ohms) for one, ohms in zip(faults, fit.sizes, strict=True))
        if not self.fine:  # nothing was measured that tells a size
            sized = tuple(evolve(one, words=bare.words, value=None) for one, bare in zip(sized, faults, strict=True))
        evidence = fit.evidence + coarse
        return Suspect(sized, evidence, evidence + prior(faults), fit, coarse)

    def anew(self, one: Suspect) -> Suspect:
        """A suspect fitted about its own material, and its coarse readings at its own size."""
        fit = one.fit
        for _ in range(2 if self.fine else 0):
            fit = self.dead.fit(self.dead.point(fit.logs), one.faults, fit.sizes, 4, fit.logs)
        again = self.suspect(one.faults, fit, 0.0)
        return self.suspect(one.faults, fit, float(self.coarsely([again.change])[0][0]))

    def under(self, change: Change) -> Suspect:
        """Wiring without a fault of its own, while a change from outside disturbs what is read with power on."""
        fits, told = self.coarsely([change])[1:]
        (found,) = self._finished([self.right], fits, told)
        return found

    def finished(self, suspects: Sequence[Suspect]) -> list[Suspect]:
        """Suspects with what they predict for each reading."""
        return self._finished(suspects, *self.coarsely([one.change for one in suspects])[1:])

    def _finished(
        self, suspects: Sequence[Suspect], fits: Sequence[list[bool]], told: Predicted | None
    ) -> list[Suspect]:
        found = []
        for case, one in enumerate(suspects):
            mine: dict[int, tuple[float | Names, bool]] = {}
            for number, at in enumerate(self.fine):
                explained = abs(float(one.fit.off[number])) <= UNEXPLAINED and both_open(
                    float(self.dead.read[number]), float(one.fit.told[number])
                )
                mine[at] = float(one.fit.told[number]), explained
            for number, at in enumerate(self.coarse):
                assert told is not None
                mine[at] = told.value(number, case + 1), fits[case][number]
            rows = [mine[at] for at in range(len(self.steps))]
            found.append(evolve(one, told=tuple(row[0] for row in rows), fits=tuple(row[1] for row in rows)))
        return found

    @cached_property
    def centre(self) -> tuple[Point, Fit]:
        """The network about the material that fits best without a fault, and that fit."""
        dead = self.dead
        fit = dead.fit(dead.point(), (), ())
        for _ in range(2):
            fit = dead.fit(dead.point(fit.logs), (), (), 3, fit.logs)
        point = dead.point(fit.logs)
        return point, dead.fit(point, (), (), 2, fit.logs)

    @cached_property
    def right(self) -> Suspect:
        """Wiring without a fault."""
        coarse = self.coarsely([Change()])
        (found,) = self._finished([self.suspect((), self.centre[1], float(coarse[0][0]))], *coarse[1:])
        return found

    def search(self, faults: Sequence[Fault], most_pairs: int) -> Search:
        """No fault, every single one, and pairs where the best of those leaves a reading unexplained."""
        right, (point, fit) = self.right, self.centre
        coarse = self._typical(faults)
        rough = self._singles(point, faults, coarse)
        singles = sorted([*map(self.anew, rough[:MOST_ANEW]), *rough[MOST_ANEW:]], key=lambda one: -one.score)
        unknown = UNKNOWN + self._odd(fit)
        (first,) = self.finished([max((right, *singles[:1]), key=lambda one: one.score)])
        couples, all_pairs, pairs = list[Suspect](), 0, 0
        if first.against or unknown > first.score:
            couples, pairs, all_pairs = self._pairs(point, singles, most_pairs)
        return self._ranked(right, [*singles, *couples], unknown, fit, pairs, all_pairs)

    def _typical(self, faults: Sequence[Fault]) -> list[float]:
        """The coarse readings' log likelihood with each fault, at the typical size at which it is best."""
        cases = [(at, change) for at, fault in enumerate(faults) for change in fault.changes]
        found = [-math.inf] * len(faults)
        for (at, _), value in zip(cases, self.coarsely([change for _, change in cases])[0].tolist(), strict=True):
            found[at] = max(found[at], value)
        return found

    def _singles(self, point: Point, faults: Sequence[Fault], coarse: Sequence[float]) -> list[Suspect]:
        """Every single fault, those that read best fitted, by their score."""
        dead = self.dead
        bare = dead.fit(point, (), (), 3)
        right = flat(point)
        tried = list[tuple[float, int, float, bool]]()
        rough = screened(point, [(fault,) for fault in faults], [(1.0,)] * len(faults))
        for at, (ohms, value, seen) in enumerate(rough):
            tried.append((value - right + coarse[at] + prior((faults[at],)), at, ohms, seen))
        tried.sort(key=lambda one: (-one[0], one[1]))
        found = []
        for number, (gain, at, ohms, seen) in enumerate(tried):
            fault = faults[at]
            if seen and self.fine and number < MOST_FITTED:
                found.append(
                    self.suspect((fault,), dead.fit(point, (fault,), (ohms,), 5 if fault.size else 3), coarse[at])
                )
            else:
                less = gain - coarse[at] - prior((fault,))
                each = bare.each + less / max(1, len(bare.each))  # nobody knows which of them it reads worse
                same = evolve(bare, evidence=bare.evidence + less, each=each, sizes=(ohms,))
                found.append(self.suspect((fault,), same if seen else evolve(bare, sizes=(ohms,)), coarse[at]))
        return sorted(found, key=lambda one: -one.score)

    def _odd(self, fit: Fit) -> float:
        """The evidence of something that is not on the list: some readings are as they should be, some anything."""
        read = self.dead.read
        odd = np.where(read < OPEN_OHM, -np.log(SPAN * np.maximum(read, fit.sigma)), HARDLY_OPEN)
        told = self.right.told
        own = [*fit.each.tolist(), *(self.likely(at, told[at], told[at]) for at in self.coarse)]
        other = [*odd.tolist(), *(-2.0 for _ in self.coarse)]
        mine, others = np.array(own), np.array(other)
        width = fit.evidence - float(fit.each.sum())
        each = [np.logaddexp(math.log(1 - part) + mine, math.log(part) + others).sum() for part in ODD]
        return width + float(np.logaddexp.reduce(each)) - math.log(len(ODD))

    def _pairs(self, point: Point, singles: Sequence[Suspect], most: int) -> tuple[list[Suspect], int, int]:
        """Pairs of faults: the likeliest with each other and with the next."""
        own = {one.ids: one for one in reversed(singles)}
        lead = [own[one.ids] for one in singles if own[one.ids] is one]
        couples = [
            (one, two)
            for number, one in enumerate(lead[:SEEDS])
            for two in lead[number + 1 : SEEDS + MORE_SEEDS]
            if not one.change.touched & two.change.touched
        ][:most]
        every = len(lead) * (len(lead) - 1) // 2
        coarse, _, _ = self.coarsely([one.change.also(two.change) for one, two in couples])
        tried, causes = [], [(one.faults[0], two.faults[0]) for one, two in couples]
        sizes = [(one.fit.sizes[0], two.fit.sizes[0]) for one, two in couples]
        for number, rough in enumerate(screened(point, causes, sizes, kept=True)):
            score = rough.value + float(coarse[number]) + prior(causes[number])
            tried.append((score, number, (sizes[number][0], rough.ohms)))
        tried.sort(key=lambda one: (-one[0], one[1]))
        found = []
        for _, number, sizes_ in tried[:MOST_PAIRS_FITTED]:
            faults = couples[number][0].faults[0], couples[number][1].faults[0]
            found.append(self.suspect(faults, self.dead.fit(point, faults, sizes_, 4), float(coarse[number])))
        found.sort(key=lambda one: -one.score)
        return [*(self.anew(one) for one in found[:MOST_ANEW]), *found[MOST_ANEW:]], len(couples), every

    def _ranked(
        self, right: Suspect, found: Sequence[Suspect], unknown: float, fit: Fit, pairs: int, all_pairs: int
    ) -> Search:
        """Equal ids are one, and what is one circuit is one; then by likelihood."""
        best: dict[tuple[str, ...], list[Suspect]] = {}
        for one in sorted((right, *found), key=lambda one: -one.score):
            best.setdefault(one.ids, []).append(one)
        merged = [evolve(same[0], score=_summed(one.score for one in same)) for same in best.values()]
        merged.sort(key=lambda one: (-round(one.score, 6), one.ids))
        head = self._classes(merged[:MOST_CLASSED])
        order = sorted([*head, *merged[MOST_CLASSED:]], key=lambda one: (-round(one.score, 6), one.ids))
        whole = _summed([unknown, *(one.score for one in order)])
        close = [near(one, order[0]) for one in order]
        some = [
            evolve(one, share=math.exp(one.score - whole))
            for _, one in sorted(zip(close, order, strict=True), key=lambda one: not one[0])
        ]
        fewer = {ids for one in some[:MOST_SHOWN] for ids in with_one_less(one)}
        head = [one for at, one in enumerate(some) if at < MOST_SHOWN or one.ids in fewer]
        shown, tied = offered(self.finished(head), sum(close))
        rest = [one for one in some[MOST_SHOWN:] if one.ids not in fewer]
        kinds = self.dead.material.kinds
        factors = {kind: float(np.exp(log)) for kind, log in zip(kinds, fit.logs.tolist(), strict=False)}
        mine = next(one for one in (*shown, *rest, right) if not one.faults)
        return Search(
            (*shown, *rest),
            tied,
            mine if mine.told else right,
            math.exp(unknown - whole),
            factors,
            pairs,
            all_pairs,
        )

    def _classes(self, suspects: Sequence[Suspect]) -> list[Suspect]:
        """Causes that read the same in every test that there is, as one with several names."""
        tests = (*self.bench.tests, *self.bench.further)
        told = predict(self.bench, tests, [one.change for one in suspects])
        found: list[tuple[int, list[Suspect]]] = []
        for case, one in enumerate(suspects, 1):
            mine = next((same for other, same in found if one.faults and _same(told, case, other)), None)
            if mine is None:
                found.append((case, [one]))
            else:
                mine.append(one)
        return [
            evolve(same[0], score=_summed(one.score for one in same), others=tuple(one.faults for one in same[1:]))
            for _, same in found
        ]


def prior(cause: Sequence[Fault]) -> float:
    """The log of how likely a cause is by itself, against wiring that is right."""
    return sum(math.log(one.weight * SCALE) for one in cause)


def _summed(logs: Sequence[float] | Iterator[float]) -> float:
    return float(np.logaddexp.reduce(list(logs)))


def _same(told: Predicted, one: int, other: int) -> bool:
    """Whether two cases read the same in every test, but for what fitting leaves."""
    for column in told.numbers.values():
        mine, theirs = float(column[one]), float(column[other])
        if abs(mine - theirs) > 0.02 * min(mine, theirs) + 5e-4:
            return False
    return all(column[one] == column[other] for column in told.names.values())
