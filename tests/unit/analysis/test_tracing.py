"""Faults put into a second model of the small example, which shares no code with the predictions, are found.

The wider figures (other layouts, other sheets) are printed by tests/benchmarks/trace.py.
"""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from tests.benchmarks.trace import MATERIAL, METER, Trials
from tests.second_faults import Second
from tests.second_model import shown_by_a_meter

from blockcheck import api
from blockcheck.analysis.bench.choose import apart, choose
from blockcheck.analysis.bench.fault_kinds import KINDS, READ_ALONE
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.instruments import ways
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.tolerance import Tolerance, tolerance_of
from blockcheck.analysis.bench.wired import AXLE, CHANNELS, OHMS, SUPPLY
from blockcheck.analysis.trace.suspects import Judge
from blockcheck.answers.workshop.explained import explain
from blockcheck.answers.workshop.readings import AsExpected, Reading
from blockcheck.core.errors import CallError

EXAMPLES = Path(__file__).parents[3] / "examples"
SMALL, CLUB = EXAMPLES / "small-yard/yard.toml", EXAMPLES / "club-yard/club.toml"


@pytest.fixture(scope="module")
def trials() -> Trials:
    return Trials.of(SMALL.read_text())


def test_single_faults_of_any_size_are_found_whatever_the_material(trials: Trials) -> None:
    """Of 12; tests/benchmarks/trace.py draws more, and prints the shares."""
    chance = random.Random(7)
    found = [trials.run(chance, 1) for _ in range(12)]
    assert sum(one.tied for one in found) >= 11
    assert sum(one.place <= 3 for one in found) >= 11
    sure = [one for one in found if one.told >= 0.8]
    assert sum(one.tied for one in sure) >= 0.95 * len(sure)


def test_of_a_third_left_out_what_is_still_seen_is_found(trials: Trials) -> None:
    chance = random.Random(19)
    found = [one for one in (trials.run(chance, 1, 1 / 3) for _ in range(3)) if one.seen]
    assert found
    assert all(one.place <= 3 or one.tied for one in found)


def test_a_slip_leaves_the_fault_among_the_first_and_is_asked_for_again(trials: Trials) -> None:
    chance = random.Random(23)
    found = [trials.run(chance, 1, misread=1 / 30) for _ in range(2)]
    assert any(one.wrong for one in found)
    assert all(one.place <= 3 or one.tied for one in found)
    assert all(one.asks_again for one in found if one.wrong and one.place == 1)


def test_what_one_reading_alone_speaks_for_comes_behind_the_cause_without_it(trials: Trials) -> None:
    """One channel that does not read once is dead or was overlooked: neither is known before it is tried again."""
    yard, chance = Second(trials.text, random.Random(41)), random.Random(43)
    yard.break_("bus-touches-common:R6.2", 0.05)
    read = [shown_by_a_meter(trials.read(yard, step), chance) for step in trials.pool]
    slip = next(at for at, step in enumerate(trials.pool) if step.id == "axle.R5.near")
    names = read[slip]
    assert isinstance(names, frozenset)
    read[slip] = names - {"D1.5"}
    found = Judge(trials.bench, trials.pool, tuple(read), METER).search(trials.faults, 800)
    first, *others = found.suspects[: found.tied]
    assert [fault.id.rpartition(".")[0] for fault in first.faults] == ["bus-touches-common:R6"]
    assert first.fits.index(False) == slip
    assert first.against == 1
    pairs = [one for one in others if len(one.faults) == 2]
    assert pairs
    assert {one.rests for one in pairs} == {slip}


def test_what_a_beeper_and_a_test_axle_see_is_found(trials: Trials) -> None:
    chance = random.Random(29)
    assert all(trials.hear(chance).tied for _ in range(4))


def test_no_kind_off_the_list_is_replaced_with_confidence(trials: Trials) -> None:
    chance = random.Random(31)
    for _ in range(2):
        found = trials.run(chance, 1, unlisted=True)
        assert found.told <= 0.5 or not found.search.suspects[0].against


def test_two_faults_at_once_are_found(trials: Trials) -> None:
    chance = random.Random(11)
    assert sum(trials.run(chance, 2).tied for _ in range(3)) >= 2


@pytest.mark.parametrize("factors", [None, MATERIAL], ids=["as it comes", "a third off"])
def test_material_is_no_fault(trials: Trials, factors: dict[str, float] | None) -> None:
    chance = random.Random(3)
    for _ in range(3):
        found = trials.run(chance, 0, 0.0, factors)
        assert found.place == 1
        assert found.search.suspects[0].against == 0


def test_the_size_of_a_fault_is_told(trials: Trials) -> None:
    """A bridge of 8 ohm across a gap, and a joint before the first drop that has 150 mohm more."""
    for fault, ohms in (("gap-bridged:neck,R4.detected", 8.0), ("bus-joint-poor:R3.1", 0.15)):
        chance = random.Random(5)
        yard = Second(SMALL.read_text(), chance)
        yard.break_(fault, ohms)
        read = [yard.read(one.id, one.kind, dict(one.state), one.across) for one in trials.pool]
        values = tuple(shown_by_a_meter(one, chance) for one in read)
        best = Judge(trials.bench, trials.pool, values, METER).search(trials.faults, 800).suspects[0]
        assert best.ids == (fault,)
        assert best.faults[0].value == pytest.approx(ohms, rel=0.15)
        assert ": about " in best.faults[0].words


def test_what_is_not_on_the_list_is_not_told_with_confidence(trials: Trials) -> None:
    """Two buses swapped somewhere on their way, where no plug and no label is: taken off the list, nothing else may
    be called likely while a reading speaks against it."""
    chance = random.Random(2)
    yard = Second(SMALL.read_text(), chance)
    yard.break_("rails-exchanged:R2", 1.0)
    values = tuple(
        shown_by_a_meter(yard.read(one.id, one.kind, dict(one.state), one.across), chance) for one in trials.pool
    )
    rest = [one for one in trials.faults if one.kind not in ("rails-exchanged", "drops-crossed", "drop-on-wrong-rail")]
    readings = tuple(Reading(one, value, str(value)) for one, value in zip(trials.pool, values, strict=True))
    search = Judge(trials.bench, trials.pool, values, METER).search(rest, 800)
    answer = explain((trials.bench,), readings, METER)
    assert answer.candidates[0].faults == ("rails-exchanged:R2",)
    assert all(not one.against or min(one.share, 0.5) <= 0.5 for one in search.suspects[:5])
    off = [at for at, fits in enumerate(search.right.fits) if not fits]
    assert off


def test_every_kind_of_the_list_is_looked_for() -> None:
    lamps = SMALL.parents[2] / "tests" / "outside" / "layouts" / "lamps.toml"
    benches = [Bench.of(api.load(path)) for path in (SMALL, CLUB, lamps)]
    benches += [Bench.of(api.loads(FUSED)), Bench.of(api.load(EXAMPLES / "turning-line/line.toml"))]
    assert {one.kind for bench in benches for one in every_fault(bench)} == set(KINDS)
    assert {one.kind for bench in benches for one in causes(bench)} == {*KINDS, *READ_ALONE}


FUSED = SMALL.read_text().replace("[boards.D1]", '[boards.D1]\nfuse = "1 A"')


def test_a_blown_fuse_is_seen_on_the_sheet_and_found() -> None:
    """It differs from a channel that never reports by the volts, and from a missing bus by the dead tests."""
    trials, chance = Trials.of(FUSED), random.Random(13)
    assert {one.id for one in trials.faults if one.kind == "fuse-blown"} >= {"fuse-blown:D1.2"}
    yard = Second(FUSED, chance)
    yard.break_("fuse-blown:D1.2", 0.0)
    pool = [*trials.pool, *(one for one in trials.bench.further if one.kind == "volts" and "R2" in one.id)]
    values = tuple(shown_by_a_meter(yard.read(one.id, one.kind, dict(one.state), one.across), chance) for one in pool)
    search = Judge(trials.bench, tuple(pool), values, METER).search(trials.faults, 800)
    assert search.suspects[0].ids == ("fuse-blown:D1.2",)


def test_plugs_that_were_swapped_after_the_dead_tests_are_found() -> None:
    """All that the dead tests read is right then, and two channels have changed places."""
    bench = Bench.of(api.load(SMALL))
    steps = [one for one in bench.tests if one.kind in (OHMS, CHANNELS) and not one.state]
    names = {"axle.R2.near": "D1.3", "axle.R3.near": "D1.2"}
    read = [Reading(one, frozenset({names[one.id]}), names[one.id]) for one in steps if one.id in names]
    rest = [Reading(one, AsExpected(), "ok") for one in steps if one.id not in names and "R2" not in one.id]
    rest = [one for one in rest if "R3" not in one.step.id or one.step.kind == OHMS]
    answer = explain((bench,), (*read, *rest), Tolerance())
    assert (answer.tied, answer.candidates[0].faults) == (1, ("channels-swapped:D1.2,D1.3",))
    assert "plugs" in answer.candidates[0].told[0].words
    assert not answer.right


def test_wires_swapped_behind_two_switches_are_not_taken_for_buses_swapped_at_the_board() -> None:
    """With all switches closed both read alike: the test of a switch tells them apart, and is asked for."""
    bench = Bench.of(api.load(SMALL))
    shown = [one for one in bench.tests if one.id.startswith("axle.") and one.id.endswith(".near")]
    names = {"axle.R2.near": "D1.3", "axle.R3.near": "D1.2"}
    read = [
        Reading(one, frozenset({names[one.id]}), names[one.id]) if one.id in names else Reading(one, AsExpected(), "ok")
        for one in shown
    ]
    behind, board = ("wires-behind-isolators-swapped:I2,I3",), ("channels-swapped:D1.2,D1.3",)
    answer = explain((bench,), tuple(read), Tolerance())
    assert {one.faults for one in answer.candidates[: answer.tied]} == {behind, board}
    assert answer.next is not None
    told = next(one for one in (*bench.tests, *bench.further) if one.id == answer.next.id)
    answer = explain((bench,), (*read, Reading(told, frozenset({"D1.3"}), "D1.3")), Tolerance())
    assert (answer.tied, answer.candidates[0].faults) == (1, behind)


def test_wiring_is_not_called_right_where_a_reading_is_off() -> None:
    """A reading that no fault explains leaves "nothing is wrong" as the likeliest, but not as the answer."""
    bench = Bench.of(api.load(SMALL))
    shown = [one for one in bench.tests if one.id.startswith("axle.") and one.id.endswith(".near")]
    off = shown[0]
    answer = explain(
        (bench,),
        (Reading(off, frozenset({"D1.8"}), "D1.8"), *(Reading(one, AsExpected(), "ok") for one in shown[1:])),
        Tolerance(),
    )
    assert not answer.right
    assert [one.id for one in answer.off] == [off.id]
    assert "right, as far" not in " ".join(answer.verdict())


@pytest.mark.parametrize("path", [SMALL, EXAMPLES / "dc-yard/yard.toml"], ids=["small", "dc"])
def test_the_chosen_tests_tell_what_all_of_them_tell_and_none_is_spare(path: Path) -> None:
    """By brute force over pairs: without any one of them, some pair would not be told."""
    bench, tolerance = Bench.of(api.load(path)), Tolerance()
    faults = every_fault(bench)
    predicted = predict(bench, bench.tests, [one.change for one in faults])
    chosen = choose(predicted, tolerance, ways(bench.tests, (SUPPLY, AXLE))).ways

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
    some = ways(bench.tests, (SUPPLY, AXLE))
    fine, coarse = (choose(predicted, one, some) for one in (Tolerance(), Tolerance(ohms=0.2)))
    assert coarse.untold.sum() > fine.untold.sum()
    assert (coarse.untold | ~fine.untold).all()


def test_the_wire_of_a_selectors_pole_in_another_channel_is_found() -> None:
    """All of its tracks read there, and what belongs there reads in its place."""
    bench = Bench.of(api.load(SMALL.parents[2] / "tests/outside/layouts/chosen.toml"))
    (fault,) = (one for one in causes(bench) if one.id == "channels-swapped:D1.1,D1.4" and one.guess)
    assert fault.subjects == ("S1", "S2", "S3", "neck")
    steps = [one for one in bench.tests if one.kind in (OHMS, CHANNELS)]
    told = predict(bench, steps, [fault.change])
    read = tuple(Reading(step, told.value(at, 1), str(at)) for at, step in enumerate(steps))
    seen = {one.step.id: one.value for one in read if one.value != told.value(steps.index(one.step), 0)}
    assert seen["axle.S3.near"] == frozenset({"D1.4"})
    assert seen["axle.neck.near"] == frozenset({"D1.1"})
    answer = explain((bench,), read, Tolerance())
    assert answer.candidates[0].faults == ("channels-swapped:D1.1,D1.4",)
    assert "R's bus is in D1:4" in answer.candidates[0].told[0].words
    ids = {one.id for one in causes(bench)}
    assert {
        "bus-on-free-channel:R>D1.2",
        "two-buses-in-one-terminal:R>D1.4",
        "two-buses-in-one-terminal:neck>D1.1",
    } <= ids


def test_a_cab_that_is_crossed_is_seen_across_a_gap() -> None:
    """Two cabs that drive the same way have no volts across a gap between their lines; one that is crossed has both."""
    bench = Bench.of(api.load(EXAMPLES / "dc-yard/yard.toml"))
    (fault,) = (one for one in causes(bench) if one.id == "feed-crossed:east")
    step = bench.by_id["volts.west-loop.east-loop"]
    told = predict(bench, [step], [fault.change])
    assert told.value(0, 0) == pytest.approx(0.0, abs=1e-3)
    assert told.value(0, 1) == pytest.approx(24.0, rel=0.05)
    seen = {one.kind: (one.seen, one.of) for one in api.bench(bench.study, at_hand=("meter",)).kinds}
    assert seen["feed-crossed"] == (2, 2)


def test_a_pair_whose_rails_a_device_exchanges_anyway_is_not_looked_for() -> None:
    """Of three districts of the line that turns its trains two turn by themselves: no reading tells theirs."""
    bench = Bench.of(api.load(EXAMPLES / "turning-line/line.toml"))
    assert not [one.id for one in every_fault(bench) if one.kind == "feed-crossed"]
    assert [one.id for one in every_fault(Bench.of(api.load(CLUB))) if one.kind == "feed-crossed"] != []
