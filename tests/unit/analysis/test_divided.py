"""Readings explained unit by unit say what one search of the whole says; causes screened at once, what each alone."""

from __future__ import annotations

import random
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from tests.benchmarks import generate

from blockcheck import api, render, types
from blockcheck.analysis.bench import units
from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.trace.screen import flat, screened, tried
from blockcheck.analysis.trace.suspects import Judge
from blockcheck.answers.workshop.explained import explain
from blockcheck.answers.workshop.readings import Reading
from blockcheck.network.built import Change

SMALL = Path(__file__).resolve().parents[3] / "examples" / "small-yard" / "yard.toml"


@cache
def two_yards() -> tuple[Bench, tuple[Bench, ...]]:
    """Two yards of three tracks and a throat that share a district alone, together and each by itself."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(generate, "YARD", 3)
        patch.setattr(units, "WHOLE", 0)
        study = api.loads(generate.layout(6, True))
        return Bench.of(study), units.benches(study)


def readings(faults: tuple[str, ...], chance: random.Random) -> tuple[Reading, ...]:
    """Of most tests, with a percent of noise."""
    own, _ = two_yards()
    steps = [one for one in own.tests if chance.random() < 0.8]
    change = change_of(faults)
    told = predict(own, steps, [change])
    found = []
    for number, step in enumerate(steps):
        value = told.value(number, 1)
        if isinstance(value, float) and value < 1e5:
            value = value * chance.gauss(1.0, 0.01)
        found.append(Reading(step, value if isinstance(value, float) else frozenset(value), str(number)))
    return tuple(found)


def change_of(faults: tuple[str, ...]) -> Change:
    known = {one.id: one for one in causes(two_yards()[0])}
    change = known[faults[0]].change
    for one in faults[1:]:
        change = change.also(known[one].change)
    return change


def leading(answer: types.TraceAnswer) -> set[frozenset[str]]:
    return {frozenset(one.faults) for one in answer.candidates if one.rank == 1}


FAULTS = (  # of each sort: what is measured, what reads, what is felt in the other yard too, what has a size
    "drop-missing:S2.detected.3",
    "channels-swapped:D1.1,D1.2",
    "isolator-stuck:I5.open",
    "ballast-wet:S2",
)


@pytest.mark.parametrize("fault", FAULTS)
def test_units_find_what_one_search_of_the_whole_finds(fault: str) -> None:
    own, parts = two_yards()
    assert len(parts) == 2
    read = readings((fault,), random.Random(fault))
    whole, divided = explain((own,), read, Tolerance()), explain(parts, read, Tolerance())
    assert leading(divided) == leading(whole)
    assert divided.candidates[0].explained == whole.candidates[0].explained
    if whole.off:
        assert divided.single < whole.single  # the other yard was not searched


def test_faults_in_two_units_are_found_by_a_search_of_each() -> None:
    _, parts = two_yards()
    faults = "drop-missing:S1.detected.2", "channels-swapped:D2.1,D2.2"
    answer = explain(parts, readings(faults, random.Random(5)), Tolerance())
    assert set(answer.candidates[0].faults) == {*faults}
    assert answer.candidates[0].explained == answer.candidates[0].of


def test_of_right_wiring_no_unit_is_searched() -> None:
    own, parts = two_yards()
    told = predict(own, own.tests, [])
    values = [told.value(number, 0) for number in range(len(own.tests))]
    some = [one if isinstance(one, float) else frozenset(one) for one in values]
    read = tuple(Reading(step, value, "") for step, value in zip(own.tests, some, strict=True))
    answer = explain(parts, read, Tolerance())
    assert answer.right
    assert answer.single == 0


def test_causes_screened_at_once_read_as_each_does_alone() -> None:
    bench = Bench.of(api.load(SMALL))
    every, steps = causes(bench), [one for one in bench.tests if one.kind == "ohms"][::2]
    missing = next(one for one in every if one.kind == "drop-missing")
    told = predict(bench, steps, [missing.change])
    values = tuple(float(told.numbers[number][1]) for number in range(len(steps)))
    judge = Judge(bench, tuple(steps), values, Tolerance())
    point = judge.dead.point()

    def alone(fault: Fault, ohms: float) -> float:
        read = point.changed((fault,), (ohms,)).told
        return float(judge.dead.weigh(read, (0.05 * np.minimum(read, 50.0)) ** 2)[0].sum())

    some = every[::3]
    for fault, found in zip(some, screened(point, [(one,) for one in some], [(1.0,)] * len(some)), strict=True):
        if not found.seen:
            assert found.value == flat(point)
            continue
        values_ = {ohms: alone(fault, ohms) for ohms in (tried(fault.size) if fault.size is not None else [1.0])}
        assert found.value == pytest.approx(max(values_.values()), abs=1e-6)
        assert values_[found.ohms] == pytest.approx(found.value, abs=1e-6)


def test_units_of_one_shape_share_what_is_worked_out_and_nothing_else() -> None:
    """Yards that are the same but for their names start from one network; the answer is that of each by itself."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(generate, "YARD", 3)
        patch.setattr(units, "WHOLE", 0)
        text = re.sub(r"length = \"2\.\d+ m\"", 'length = "2.6 m"', generate.layout(6, True))
        benches = units.benches(api.loads(text))
    assert benches[0].alike is benches[1].alike
    chance, read = random.Random(3), list[Reading]()
    for number, bench in enumerate(benches):
        fault = next(one for one in causes(bench) if one.id == "drop-missing:S5.detected.3") if number else None
        told = predict(bench, bench.tests, [fault.change if fault else Change()])
        for at, step in enumerate(bench.tests):
            value = told.value(at, 1)
            if step.id not in {one.step.id for one in read}:
                shown = round(value * chance.gauss(1, 0.01), 3) if isinstance(value, float) else frozenset(value)
                read.append(Reading(step, shown, str(at)))
    assert len(benches[0].situations) == 3  # a stage each: dead, with power on, shorted; though there are two yards
    alone = tuple(Bench(bench.study, bench.axle) for bench in benches)
    answers = [render(explain(some, tuple(read), Tolerance()), "json") for some in (benches, alone)]
    assert answers[0] == answers[1]
    assert "drop-missing:S5.detected.3" in answers[0]
