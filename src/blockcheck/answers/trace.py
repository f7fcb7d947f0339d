"""Which wiring faults explain the readings that were taken."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from attrs import frozen

from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import OHMS, OPEN_OHM, VOLTS, Step
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.pieces import counted
from blockcheck.answers.readings import AsExpected, Reading, read_readings
from blockcheck.model.quantities import DIMENSIONS, Ohms, Volts, show

if TYPE_CHECKING:
    from blockcheck.analysis.bench.predict import Names, Progress
    from blockcheck.analysis.bench.suspects import Search, Suspect, Value

MOST_SHOWN = 10
MOST_PAIRS = 800
"""Pairs of faults that are looked at where no single one explains everything."""


@frozen
class Told:
    """One reading beside what a candidate, and wiring that is right, would give; ``fits`` says whether it fits."""

    id: str
    title: str
    read: str
    predicted: str
    expected: str
    fits: bool


@frozen
class Candidate:
    """What may be wrong: no fault (``faults`` is empty), one, or two. ``rank`` 1 is the best; equals share a rank.

    ``explained`` of ``readings`` fit; ``likelihood`` is its share among all that was looked at. ``words`` say what is
    wrong and ``look`` where to look first. ``readings`` holds those that it, or they, have something to say about.
    """

    rank: int
    faults: tuple[str, ...]
    kinds: tuple[str, ...]
    words: tuple[str, ...]
    look: tuple[str, ...]
    explained: int
    of: int
    likelihood: float
    readings: tuple[Told, ...]


@frozen
class NextTest:
    """The test that would split the candidates best; ``predictions`` are each candidate's rank and reading."""

    id: str
    title: str
    do: str
    red: str
    black: str
    predictions: tuple[tuple[str, tuple[int, ...]], ...]


@frozen
class TraceAnswer(Answer):
    """The candidates, the best first. ``tied`` of them cannot be told apart by the readings that were taken.

    ``off`` are the readings that are not as expected. ``single`` counts the single faults looked at, ``pairs`` the
    pairs of ``all_pairs``; fewer means that the search was cut short.
    """

    command = "trace"

    layout: str
    tolerance: Tolerance
    taken: int
    off: tuple[Told, ...]
    candidates: tuple[Candidate, ...]
    tied: int
    single: int
    pairs: int
    all_pairs: int
    next: NextTest | None

    @property
    def right(self) -> bool:
        """Whether wiring that is right explains every reading, and best."""
        return bool(self.candidates) and not self.off and not self.candidates[0].faults and self.tied >= 1


def trace(
    study: Study,
    data: bytes,
    name: str,
    tolerance: Tolerance | None = None,
    *,
    most_pairs: int = MOST_PAIRS,
    progress: Progress | None = None,
) -> TraceAnswer:
    """Rank the faults by how well they explain a filled test sheet.

    Raises InputError for what cannot be read in it, CallError for a layout that is too large for one sheet.
    """
    counted(study)
    own = Bench.of(study)
    readings = read_readings(data, name, own)
    return explain(own, readings, tolerance or Tolerance(), most_pairs, progress)


def explain(
    own: Bench,
    readings: tuple[Reading, ...],
    tolerance: Tolerance,
    most_pairs: int = MOST_PAIRS,
    progress: Progress | None = None,
) -> TraceAnswer:
    """As ``trace``, from readings that are understood already."""
    from blockcheck.analysis.bench.suspects import Judge

    name = own.study.layout.about.name
    if not readings:
        return TraceAnswer(name, tolerance, 0, (), (), 0, 0, 0, 0, None)
    values: list[Value] = [None if isinstance(one.value, AsExpected) else one.value for one in readings]
    judge = Judge(own, tuple(one.step for one in readings), tuple(values), tolerance, progress)
    faults = every_fault(own, guesses=True)
    search = judge.search(faults, most_pairs)
    shown = _worth_telling(search)
    teller = _Teller(own, readings, tolerance, search)
    candidates = teller.candidates(shown)
    following = judge.next_test(search.suspects)
    return TraceAnswer(
        name,
        tolerance,
        len(readings),
        teller.off(),
        candidates,
        search.tied,
        len({one.id for one in faults}),
        search.pairs,
        search.all_pairs,
        None if following is None else teller.following(following, shown),
    )


def _worth_telling(search: Search) -> tuple[Suspect, ...]:
    """What is tied first, and what is likely enough beside it; where nothing explains all, also what comes near: what
    does better with some reading than wiring that is right."""
    from blockcheck.analysis.bench.suspects import LIKELY

    tied = min(search.tied, 2 * MOST_SHOWN)
    best = search.suspects[0]
    right = next((one.fit for one in search.suspects if not one.faults), math.inf)
    more = [
        one
        for one in search.suspects[search.tied :][:MOST_SHOWN]
        if one.score > best.score + LIKELY or (best.against > 0 and (not one.faults or one.fit > right + 1e-9))
    ]
    return (*search.suspects[:tied], *more[: max(MOST_SHOWN - tied, 0)])


@frozen(eq=False, repr=False, slots=False)
class _Teller:
    """A search in words."""

    own: Bench
    readings: tuple[Reading, ...]
    tolerance: Tolerance
    found: Search

    def candidates(self, suspects: tuple[Suspect, ...]) -> tuple[Candidate, ...]:
        from blockcheck.analysis.bench.predict import predict

        steps = [one.step for one in self.readings]
        predicted = predict(self.own, steps, [one.change for one in suspects])
        top = max(one.score for one in self.found.suspects)
        whole = sum(math.exp(one.score - top) for one in self.found.suspects)
        told: list[Candidate] = []
        for number, one in enumerate(suspects):
            rows = []
            for test in range(len(steps)):
                mine, right = predicted.value(test, number + 1), predicted.value(test, 0)
                row = self.told(test, mine, right)
                if not row.fits or self._differ(test, mine, right):
                    rows.append(row)
            rows.sort(key=lambda row: row.fits)
            share = math.exp(one.score - top) / whole
            told.append(
                Candidate(
                    self._rank(number, suspects, told),
                    tuple(fault.id for fault in one.faults),
                    tuple(fault.kind for fault in one.faults),
                    tuple(fault.words for fault in one.faults),
                    tuple(fault.look for fault in one.faults),
                    len(steps) - one.against,
                    len(steps),
                    float(f"{share:.3g}"),
                    tuple(rows),
                )
            )
        return tuple(told)

    def _differ(self, test: int, one: float | Names, other: float | Names) -> bool:
        """Whether the meter tells two readings apart."""
        import numpy as np

        if isinstance(one, float):
            assert isinstance(other, float)
            room = self.tolerance.of(self.readings[test].step, np.array([one, other])).sum()
            return abs(one - other) > float(room) * (1 + 1e-6)
        assert not isinstance(other, float)
        return one.differs(other)

    def _rank(self, number: int, suspects: tuple[Suspect, ...], before: list[Candidate]) -> int:
        if number < self.found.tied:
            return 1
        one, last = suspects[number], suspects[number - 1]
        if number > self.found.tied and (one.against, round(one.score, 6)) == (last.against, round(last.score, 6)):
            return before[-1].rank
        return number + 1

    def off(self) -> tuple[Told, ...]:
        """The readings that are not as expected."""
        from blockcheck.analysis.bench.predict import predict

        predicted = predict(self.own, [one.step for one in self.readings], [])
        rows = (
            self.told(test, predicted.value(test, 0), predicted.value(test, 0)) for test in range(len(self.readings))
        )
        return tuple(row for row in rows if not row.fits)

    def told(self, test: int, predicted: float | Names, expected: float | Names) -> Told:
        import numpy as np

        reading = self.readings[test]
        step, value = reading.step, reading.value
        if isinstance(predicted, float):
            assert isinstance(expected, float)
            room = self.tolerance.of(step, np.array([predicted, expected]))
            if isinstance(value, AsExpected):
                fits = abs(predicted - expected) <= float(room[0] + room[1]) * (1 + 1e-6)
            else:
                assert isinstance(value, float)
                fits = abs(predicted - value) <= float(room[0]) * (1 + 1e-6)
            words = shown_value(step, predicted), shown_value(step, expected)
        else:
            assert not isinstance(expected, float)
            if isinstance(value, AsExpected):
                fits = not predicted.differs(expected)
            else:
                assert not isinstance(value, float)
                fits = predicted.may_be(value)
            words = shown_names(predicted), shown_names(expected)
        return Told(step.id, step.title, reading.words, *words, fits)

    def following(self, step: Step, suspects: tuple[Suspect, ...]) -> NextTest:
        from blockcheck.analysis.bench.predict import predict
        from blockcheck.answers.bench import what_to_do

        predicted = predict(self.own, [step], [one.change for one in suspects])
        groups: dict[str, list[int]] = {}
        for number in range(1, len(suspects) + 1):
            value = predicted.value(0, number)
            words = shown_value(step, value) if isinstance(value, float) else shown_names(value)
            groups.setdefault(words, []).append(number)
        return NextTest(
            step.id,
            step.title,
            what_to_do(self.own, step),
            step.red.words,
            step.black.words,
            tuple((words, tuple(numbers)) for words, numbers in groups.items()),
        )


def shown_value(step: Step, value: float) -> str:
    """A number as it would be read."""
    if step.kind == OHMS and value >= OPEN_OHM:
        return "open"
    return show(value, DIMENSIONS[Volts if step.kind == VOLTS else Ohms])


def shown_names(names: Names) -> str:
    """Names as they would be read."""
    found = ", ".join(sorted(names)) or "none"
    return f"{found} ({', '.join(sorted(names.doubtful))} perhaps)" if names.doubtful else found
