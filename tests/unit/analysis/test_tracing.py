"""Every fault of the list, injected at every place of the small example, is found by its readings.

The wider figures (other layouts, other sheets) are printed by tests/benchmarks/trace.py.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.benchmarks.trace import Trial, exact, noisy

from blockcheck import api
from blockcheck.analysis.bench.choose import apart, choose
from blockcheck.analysis.bench.fault_kinds import KINDS
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.tolerance import Tolerance, tolerance_of
from blockcheck.analysis.bench.wired import CHANNELS, OHMS
from blockcheck.answers.workshop.readings import AsExpected, Reading
from blockcheck.answers.workshop.trace import explain
from blockcheck.core.errors import CallError

EXAMPLES = Path(__file__).parents[3] / "examples"
SMALL, CLUB = EXAMPLES / "small-yard/yard.toml", EXAMPLES / "club-yard/club.toml"


def test_each_fault_is_first_and_tied_with_exactly_what_the_sheet_says() -> None:
    count, first, same, sizes = exact(Trial.of(SMALL))
    assert count == len(every_fault(Bench.of(api.load(SMALL)))) > 200
    assert first == same == count
    assert max(sizes) <= 3


def test_noise_alone_hides_nothing() -> None:
    count, _, three = noisy(Trial.of(SMALL), 11, 0.0, False)
    assert three == count


def test_with_noise_and_a_third_missing_it_is_among_the_first_three() -> None:
    """On a sheet that tells each pair twice: what one missing reading hides, another shows."""
    count, _, three = noisy(Trial.of(SMALL, 2), 7, 1 / 3, False)
    assert three >= 0.95 * count


def test_every_kind_of_the_list_is_looked_for() -> None:
    kinds = {one.kind for path in (SMALL, CLUB) for one in every_fault(Bench.of(api.load(path)))}
    assert kinds == set(KINDS)


def test_plugs_that_were_swapped_after_the_dead_tests_are_found() -> None:
    """All that the dead tests read is right then, and two channels have changed places."""
    bench = Bench.of(api.load(SMALL))
    steps = [one for one in bench.tests if one.kind in (OHMS, CHANNELS) and not one.state]
    names = {"axle.R2.near": "D1.3", "axle.R3.near": "D1.2"}
    read = [Reading(one, frozenset({names[one.id]}), names[one.id]) for one in steps if one.id in names]
    rest = [Reading(one, AsExpected(), "ok") for one in steps if one.id not in names and "R2" not in one.id]
    rest = [one for one in rest if "R3" not in one.step.id or one.step.kind == OHMS]
    answer = explain(bench, (*read, *rest), Tolerance())
    assert (answer.tied, answer.candidates[0].faults) == (1, ("channels-swapped:D1.2,D1.3",))
    assert "plugs" in answer.candidates[0].told[0].words
    assert not answer.right


def test_wiring_is_not_called_right_where_a_reading_is_off() -> None:
    """A reading that no fault explains leaves "nothing is wrong" as the likeliest, but not as the answer."""
    bench = Bench.of(api.load(SMALL))
    shown = [one for one in bench.tests if one.id.startswith("axle.") and one.id.endswith(".near")]
    off = shown[0]
    answer = explain(
        bench,
        (Reading(off, frozenset({"D1.8"}), "D1.8"), *(Reading(one, AsExpected(), "ok") for one in shown[1:])),
        Tolerance(),
    )
    assert not answer.right
    assert [one.id for one in answer.off] == [off.id]
    assert "right, as far" not in " ".join(answer.verdict())


def test_pairs_of_faults_are_found_where_no_single_one_explains() -> None:
    trial = Trial.of(SMALL)
    by_id = {one.id: one for one in reversed(trial.faults)}
    from blockcheck.analysis.bench.suspects import Judge

    for one, other in (
        ("drop-missing:R3.detected.1", "isolators-swapped:I1,I2"),
        ("gap-bridged:neck,R4.detected", "channel-dead:D1.6"),
        ("channels-swapped:D1.1,D1.2", "rail-cut:neck,R5.common"),
    ):
        change = by_id[one].change.also(by_id[other].change)
        steps = [trial.bench.tests[test] for test in trial.choice.tests]
        told = predict(trial.bench, steps, [change])
        values = [told.value(test, 1) for test in range(len(steps))]
        search = Judge(trial.bench, tuple(steps), tuple(values), trial.tolerance).search(trial.faults, 800)
        assert search.suspects[0].against == 0
        assert {one, other} in [{fault.id for fault in each.faults} for each in search.suspects[: search.tied]]


@pytest.mark.parametrize("path", [SMALL, EXAMPLES / "dc-yard/yard.toml"], ids=["small", "dc"])
def test_the_chosen_tests_tell_what_all_of_them_tell_and_none_is_spare(path: Path) -> None:
    """By brute force over pairs: without any one of them, some pair would not be told."""
    bench, tolerance = Bench.of(api.load(path)), Tolerance()
    faults = every_fault(bench)
    predicted = predict(bench, bench.tests, [one.change for one in faults])
    chosen = choose(predicted, tolerance).tests

    def told(test: int) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
        table, at = apart(predicted, test, tolerance)
        return np.asarray(table[at[:, None], at[None, :]])

    by_all = np.logical_or.reduce([told(test) for test in range(len(bench.tests))])
    some = np.array([told(test) for test in chosen])
    assert (some.any(axis=0) == by_all).all()
    times = some.sum(axis=0)
    for mine in some:
        assert (mine & (times == 1)).any()


def test_a_tolerance_is_read_in_parts() -> None:
    assert tolerance_of("2 % + 1 mohm") == Tolerance(0.02, 0.001, 0.3)
    assert tolerance_of(None).words == "5 % + 2 mohm + 300 mV"
    assert tolerance_of(Tolerance(0.1, 0.2, 0.5).words) == Tolerance(0.1, 0.2, 0.5)
    for text in ("5", "5 % + 3 %", "60 %", "1 m", ""):
        with pytest.raises(CallError):
            tolerance_of(text)


def test_a_coarser_meter_tells_less_and_says_so() -> None:
    bench = Bench.of(api.load(SMALL))
    faults = every_fault(bench)
    predicted = predict(bench, bench.tests, [one.change for one in faults])
    fine, coarse = (choose(predicted, one) for one in (Tolerance(), Tolerance(ohms=0.2)))
    assert coarse.untold.sum() > fine.untold.sum()
    assert (coarse.untold | ~fine.untold).all()
