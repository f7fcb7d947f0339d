"""Readings explained: from the filled sheet to the answer of ``trace``."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from attrs import evolve, frozen

from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.instructions import what_to_do
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import Progress, predict
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.units import benches
from blockcheck.analysis.bench.wired import BEEPS_OHM, SILENT_OHM, Beep, Step
from blockcheck.analysis.study import Study
from blockcheck.analysis.trace.divided import Part, search_parts
from blockcheck.analysis.trace.splitting import next_test
from blockcheck.analysis.trace.suspect import Suspect
from blockcheck.analysis.trace.suspects import Search
from blockcheck.answers.workshop.drift import drift
from blockcheck.answers.workshop.pieces import counted
from blockcheck.answers.workshop.readings import (
    AsExpected,
    Reading,
    read_readings,
    shown_names,
    shown_value,
    understood,
)
from blockcheck.answers.workshop.trace import (
    MOST_LIKELY,
    MOST_PAIRS,
    MOST_SHOWN,
    NEARER,
    UNLIKELY,
    Candidate,
    MaterialFactor,
    NextTest,
    Prediction,
    SuspectFault,
    Told,
    TraceAnswer,
)
from blockcheck.core.natural import natural_key


def trace(
    study: Study,
    data: bytes,
    name: str,
    tolerance: Tolerance | None = None,
    *,
    most_pairs: int = MOST_PAIRS,
    since: tuple[bytes, str] | None = None,
    progress: Progress | None = None,
) -> TraceAnswer:
    """Rank the faults by how well they explain a filled test sheet; ``since`` is an earlier one and its name.

    Raises InputError for what cannot be read in it, CallError for a layout that is too large for one sheet.
    """
    counted(study)
    parts, within = benches(study), tolerance or Tolerance()
    tests = {id_: step for part in parts for id_, step in part.by_id.items()}
    own = Bench.of(study)
    readings = read_readings(data, name, own, tests)
    before = None if since is None else read_readings(*since, own, tests)
    found = explain(parts, readings, within, most_pairs, progress)
    if before is None:
        return found
    told = [one for part in parts for one in drift(part, _of(part, before), _of(part, readings), within)]
    return evolve(found, drifted=tuple({one.id: one for one in told}.values()))


def explain(
    benches: tuple[Bench, ...],
    readings: tuple[Reading, ...],
    tolerance: Tolerance,
    most_pairs: int = MOST_PAIRS,
    progress: Progress | None = None,
) -> TraceAnswer:
    """As ``trace``, from readings that are understood already, on the benches of all units."""
    name = benches[0].study.layout.about.name
    if not readings:
        return TraceAnswer(name, tolerance, 0, (), (), 0, 0, 0, 0, None)
    number = {one.step.id: at for at, one in enumerate(readings)}
    known, parts = list(readings), list[Part]()
    for bench in benches:
        some = understood(bench, _of(bench, readings))
        values = tuple(None if isinstance(one.value, AsExpected) else one.value for one in some)
        at = tuple(number[one.step.id] for one in some)
        for place, one in zip(at, some, strict=True):
            known[place] = one
        if some:
            parts.append(Part.of(bench, at, tuple(one.step for one in some), values))
    found = search_parts(parts, tolerance, most_pairs, progress)
    search = found.search
    shown, tied = _worth_telling(search)
    teller = _Teller(tuple(known), tolerance, search, tied)
    following = next_test(found.judge, found.within.suspects) if len(shown) > 1 else None
    causes = [tuple(fault for fault in one.faults if fault.id in found.faults) for one in shown]
    return TraceAnswer(
        name,
        tolerance,
        len(readings),
        teller.off(search.right),
        teller.candidates(shown),
        tied,
        found.single,
        search.pairs,
        search.all_pairs,
        None if following is None else _following(found.judge.bench, following, shown, causes),
        float(f"{search.unknown:.3g}"),
        teller.off(search.suspects[0]),
        tuple(MaterialFactor(kind, float(f"{factor:.3g}")) for kind, factor in search.material.items()),
        left=tuple(
            sorted({name for one in found.left for name in parts[one].bench.study.layout.blocks}, key=natural_key)
        ),
    )


def _of(bench: Bench, readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """The readings of a unit's tests."""
    return tuple(evolve(one, step=bench.by_id[one.step.id]) for one in readings if one.step.id in bench.by_id)


def _worth_telling(search: Search) -> tuple[tuple[Suspect, ...], int]:
    """What is tied first and what is likely enough beside it, as far as it explains some reading that is off, or comes
    nearer to it than wiring that is right; and how many of those are tied."""
    right = search.right
    off = [at for at, fits in enumerate(right.fits) if not fits]

    def helps(one: Suspect) -> bool:
        nearer = one.evidence > right.evidence + NEARER or any(one.fits[at] for at in off if one.told)
        return bool(one.told) and (not off or not one.faults or nearer)

    tied = list(filter(helps, search.suspects[: search.tied])) or [right]
    more = [one for one in search.suspects[search.tied :] if one.share > UNLIKELY and helps(one)]
    shown = tied[: 2 * MOST_SHOWN]
    return (*shown, *more[: max(MOST_SHOWN - len(shown), 0)]), len(tied)


@frozen(eq=False, repr=False, slots=False)
class _Teller:
    """A search in words."""

    readings: tuple[Reading, ...]
    tolerance: Tolerance
    found: Search
    tied: int

    def candidates(self, suspects: tuple[Suspect, ...]) -> tuple[Candidate, ...]:
        told = []
        for number, one in enumerate(suspects):
            rows = [self.told(test, one) for test in range(len(self.readings))]
            kept = [row for test, row in enumerate(rows) if not row.fits or self._differ(test, one)]
            kept.sort(key=lambda row: row.fits)
            share = min(one.share, MOST_LIKELY) if one.against else one.share
            own = {fault.id for fault in one.faults}
            others = (
                other for other in one.others if not own <= {fault.id for fault in other}
            )  # beside it, what does not show
            told.append(
                Candidate(
                    1 if number < self.tied else number + 1,
                    tuple(SuspectFault(fault.id, fault.kind, fault.words, fault.look) for fault in one.faults),
                    len(self.readings) - one.against,
                    len(self.readings),
                    float(f"{share:.3g}"),
                    tuple(kept),
                    tuple("; and ".join(fault.words for fault in other) for other in others),
                    None if one.rests is None else self.readings[one.rests].step.title,
                )
            )
        return tuple(told)

    def _differ(self, test: int, suspect: Suspect) -> bool:
        """Whether the meter tells a reading with a cause from that with none."""
        one, other = suspect.told[test], self.found.right.told[test]
        if isinstance(one, float):
            assert isinstance(other, float)
            if isinstance(self.readings[test].value, Beep):
                return max(one, other) >= SILENT_OHM and min(one, other) <= BEEPS_OHM
            room = self.tolerance.of(self.readings[test].step, np.array([one, other])).sum()
            return abs(one - other) > float(room) * (1 + 1e-6)
        assert not isinstance(other, float)
        return one.differs(other)

    def off(self, suspect: Suspect) -> tuple[Told, ...]:
        """The readings that a cause leaves unexplained."""
        return tuple(self.told(test, suspect) for test, fits in enumerate(suspect.fits) if not fits)

    def told(self, test: int, suspect: Suspect) -> Told:
        reading = self.readings[test]
        mine, right = (
            shown_value(reading.step, value, isinstance(reading.value, Beep))
            if isinstance(value, float)
            else shown_names(value)
            for value in (suspect.told[test], self.found.right.told[test])
        )
        return Told(reading.step.id, reading.step.title, reading.words, mine, right, suspect.fits[test])


def _following(bench: Bench, step: Step, suspects: Sequence[Suspect], causes: Sequence[tuple[Fault, ...]]) -> NextTest:
    """The next test, and what each suspect predicts for it by those of its faults that lie on its bench."""
    changes = [evolve(one, faults=own).change for one, own in zip(suspects, causes, strict=True)]
    predicted, groups = predict(bench, [step], changes), dict[str, list[int]]()
    for number in range(1, len(suspects) + 1):
        value = predicted.value(0, number)
        words = shown_value(step, value) if isinstance(value, float) else shown_names(value)
        groups.setdefault(words, []).append(number)
    return NextTest(
        step.id,
        step.title,
        what_to_do(bench, step),
        step.red.words,
        step.black.words,
        tuple(Prediction(words, tuple(numbers)) for words, numbers in groups.items()),
    )
