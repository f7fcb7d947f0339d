"""What a hold resistor keeps awake, by hand and by ngspice: what V - R I leaves its least volts.

The layouts are invented. NMRA S-9.1: decoders work down to 7 V.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from blockcheck import api
from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.answers.states import BlockState, TrainState
from blockcheck.cli.app import app_of
from blockcheck.solver.netlist import name_of
from tests.outside.networks.spice import run_ngspice

VOLTS, IDLE, OHMS = 14.4, 0.048, 47.0
YARD = """
format = 1
layout = { name = "Held", control = "dcc" }
boosters.B1 = { voltage = "14.4 V", current = "3 A", trip = "4 A", delay = "50 ms" }
districts.yard = { booster = "B1", feed = { wire = "2.5 mm2", length = "2 m" } }
board_types.eight = { channels = 8, threshold = "0.5 mA" }
boards.D1 = { type = "eight" }
blocks.S1-S4 = { channel = "D1.1-4", isolator = "I1-I4", length = "2 m", harness = "h", kind = "storage" }
isolators.I1-I4 = { detection = "held", hold = "47 ohm" }
loads.engine = { locomotive = true, idle = "48 mA", running = "0.3 A", capacitance = "100 uF" }
trains.sleeper = { vehicles = { engine = 1 }, at = "S4" }
scenarios.night = { open = ["S1-S4"], expect = { dead = ["S4"] } }
"""
WIRES = """
harnesses.h = { bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "0.5 mm2", feeder_length = "0.2 m", \
feeder_spacing = "1 m", rail = "code83" }
"""
EXPECTING = YARD.replace('trains.sleeper = { vehicles = { engine = 1 }, at = "S4" }\n', "").replace(
    'districts.yard = { booster = "B1"', 'districts.yard = { expects = [{ load = "engine", count = 2 }], booster = "B1"'
)


def case_of(text: str, *changes: tuple[str, str]) -> Study:
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return api.loads(text, "held.toml")


def isolated(case: Study) -> tuple[BlockState, TrainState]:
    """S4 and its train, with S4 isolated."""
    answer = api.isolate(case, "S4")
    return next(row for row in answer.blocks if row.block == "S4"), answer.trains[0]


def district(case: Study, scenario: str | None = "night") -> float:
    operation = next(one for one in case.operations if one.scenario == scenario)
    return next(Budget.of(case, operation).districts()).current_a


def test_a_locomotive_that_the_resistor_leaves_enough_is_awake_everywhere() -> None:
    case = case_of(YARD + WIRES)
    block, train = isolated(case)
    assert block.power == "trickle"
    assert block.voltage_v == pytest.approx(VOLTS - OHMS * IDLE, rel=1e-3)
    assert (block.awake, block.intended) == (("sleeper",), False)
    assert (train.powered, train.reads) == (True, "occupied")
    answer = api.isolate(case, "S4")
    assert [(one.before_a, one.after_a) for one in answer.districts] == [(IDLE, IDLE)]
    assert [one.block for one in answer.unintended] == ["S4"]
    assert district(case) == pytest.approx(IDLE)
    assert ("detection-not-held", "S4") in {(one.rule, one.subject) for one in api.check(case).findings}
    case = case_of(YARD + WIRES + '[rules]\ndetection-not-held = "off"\n')  # else one cause gives one finding
    found = next(one for one in api.check(case).findings if one.rule == "scenario-expectation")
    assert found.message == 'scenario "night" expects S4 to be dead, and it keeps sleeper awake through a hold resistor'


def test_ngspice_has_the_same_volts_and_current_behind_the_resistor() -> None:
    case = case_of(YARD + WIRES, ('detection = "held"', 'detection = "held", usually = "open"'))
    electrics = Electrics.of(case, case.operations[0])
    track, volts = electrics.grid.tracks["S4"], run_ngspice(api.power(case).netlist())
    a, b = (volts.get(f"v({name_of(electrics.loaded, rail[1])})", 0.0) for rail in (track.detected, track.common))
    assert electrics.loaded.volts[track.detected[1]] - electrics.loaded.volts[track.common[1]] == pytest.approx(a - b)
    assert a - b == pytest.approx(VOLTS - OHMS * IDLE, rel=1e-3)
    assert district(case, None) == pytest.approx((VOLTS - (a - b)) / OHMS, rel=2e-3)  # wires besides the resistor


def test_one_that_it_leaves_too_little_is_asleep_everywhere() -> None:
    assert VOLTS - 1000 * IDLE < 7
    case = case_of(YARD + WIRES, ("47 ohm", "1 kohm"))
    block, train = isolated(case)
    assert (block.awake, block.intended, train.powered) == ((), True, False)
    assert api.isolate(case, "S4").districts[0].after_a == 0.0
    assert district(case) == 0.0
    assert "scenario-expectation" not in {one.rule for one in api.check(case).findings}


def test_awake_ends_where_the_least_volts_do() -> None:
    """Awake from 7 V on: the resistor that leaves just that is (14.4 - 7) / 0.048 = 154.2 ohm."""
    limit = (VOLTS - 7) / IDLE
    for ohms, awake in ((limit - 1, True), (limit + 1, False)):
        block, train = isolated(case_of(YARD + WIRES, ("47 ohm", f"{ohms} ohm")))
        assert (bool(block.awake), train.powered, block.intended) == (awake, awake, not awake)


def test_a_track_without_a_train_is_judged_by_any_locomotive() -> None:
    for ohms, names in (("47 ohm", ("engine",)), ("1 kohm", ())):
        answer = api.isolate(case_of(YARD + WIRES, ("47 ohm", ohms)), "S1")
        block = answer.blocks[0]
        assert (block.block, block.awake, block.intended) == ("S1", names, not names)


def test_the_command_says_so_and_fails(tmp_path: Path) -> None:
    file = tmp_path / "held.toml"
    file.write_text(YARD + WIRES)
    found = CliRunner().invoke(app_of(), ["isolate", str(file), "S4"])
    told = " ".join(found.output.split())
    assert found.exit_code == 1
    assert "puts no block to sleep; S4 keeps sleeper awake through its hold resistor" in told
    assert "Train sleeper in S4 stays awake and reads occupied" in told
    assert "freed" not in told
    assert "loses" not in told


@pytest.mark.parametrize(("ohms", "asleep"), [("47 ohm", False), ("10 kohm", True)])
def test_putting_to_sleep_counts_on_no_track_that_stays_awake(ohms: str, asleep: bool) -> None:
    case = case_of(YARD + WIRES, ("47 ohm", ohms), ('current = "3 A"', 'current = "40 mA"'))
    found = api.budget(case).scenarios[0].sleep
    assert found is not None
    assert found.isolators == (("I4",) if asleep else ())


def test_waking_starts_with_what_is_awake_already() -> None:
    stages = api.wake(case_of(YARD + WIRES)).districts[0].stages
    assert [(one.close, round(one.steady_a, 9)) for one in stages] == [((), IDLE), (("I4",), IDLE)]
    stages = api.wake(case_of(YARD + WIRES, ("47 ohm", "10 kohm"))).districts[0].stages
    assert [(one.close, round(one.steady_a, 9)) for one in stages] == [(("I4",), IDLE)]


def test_what_is_awake_charges_when_the_district_comes_back() -> None:
    """100 uF at 14.4 V against a breaker that bears nothing beyond its trip current."""
    limits = ('trip = "4 A", delay = "50 ms"', 'trip = "0.1 A", delay = "1 us"')
    for ohms, told in (("47 ohm", True), ("10 kohm", False)):
        case = case_of(YARD + WIRES, limits, ("47 ohm", ohms), ('"held"', '"held", usually = "open"'))
        assert ("inrush-lockout" in {one.rule for one in api.check(case).findings}) == told


def test_without_data_of_the_wires_it_is_not_known() -> None:
    """Wires could still take off what keeps it awake; what sleeps without their resistance sleeps."""
    bare = [('length = "2 m", harness = "h", ', "")]
    answer = api.isolate(case_of(YARD, *bare), "S4")
    state = next(row for row in answer.blocks if row.block == "S4")
    assert (state.power, state.awake, state.intended, answer.trains[0].powered) == ("trickle", (), True, None)
    assert [(one.subject, one.needs) for one in answer.unchecked] == [("S4", ("blocks.S4.length", "blocks.S4.harness"))]
    case = case_of(YARD, *bare)
    night = api.budget(case).scenarios[1]
    assert [(one.current_a, one.bound) for one in night.loads if one.kind == "district"] == [(0.0, True)]
    assert any(one.rule == "scenario-expectation" and one.subject == "S4" for one in api.check(case).unchecked)
    sure = api.isolate(case_of(YARD, *bare, ("47 ohm", "10 kohm")), "S4")
    assert (sure.trains[0].powered, sure.unchecked) == (False, ())


def test_expected_locomotives_are_judged_one_by_one() -> None:
    """Two in four tracks are 24 mA a track; one draws 48 mA, and is awake behind 47 ohm, not behind 200 ohm, where the
    share would leave 14.4 - 200 x 0.024 = 9.6 V."""
    case = case_of(EXPECTING + WIRES)
    assert district(case) == pytest.approx(2 * IDLE)
    assert VOLTS - 200 * IDLE / 2 > 7 > VOLTS - 200 * IDLE
    assert district(case_of(EXPECTING + WIRES, ("47 ohm", "200 ohm"))) == 0.0


@pytest.mark.parametrize(
    ("change", "draws"),
    [
        (('"dcc"', '"dc"'), IDLE),
        (('running = "0.3 A"', 'running = "0.3 A", asleep = "5 mA"'), 0.005),
    ],
    ids=["dc", "asleep"],
)
def test_no_resistor_lets_through_more_than_a_short_behind_it(change: tuple[str, str], draws: float) -> None:
    """Under dc nothing sleeps, and a sleeper may draw: through 10 kohm no more than 14.4 V / 10 kohm."""
    case = case_of(YARD + WIRES, change, ("47 ohm", "10 kohm"))
    block, train = isolated(case)
    assert draws > VOLTS / 10_000
    assert block.voltage_v is not None
    assert 0 <= block.voltage_v < 0.01
    assert district(case) == pytest.approx(VOLTS / 10_000, rel=1e-3)
    assert (block.awake, train.powered, train.reads) == ((), False, "occupied")
