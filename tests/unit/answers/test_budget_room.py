"""Room for more: district by district, and none where something is over."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

import blockcheck
from blockcheck import api
from blockcheck.analysis.budgets.budgets import Draw, above
from blockcheck.analysis.study import Study
from blockcheck.cli.app import app_of
from blockcheck.formats.programs.json_v1 import answer_json

SMALL = Path(__file__).resolve().parents[3] / "examples/small-yard/yard.toml"

TWO = """
format = 1
layout = { name = "Two districts", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "5 A" }
boosters.B2 = { voltage = "15 V", current = "8 A" }
districts.a = { booster = "B1", current = "1 A", expects = [{ load = "loco", count = A }] }
districts.b = { booster = "B1", current = "3 A", expects = [{ load = "loco", count = B }] }
districts.main = { booster = "B2", expects = [{ load = "loco", count = 1 }] }
board_types.four = { channels = 4, bank_size = 2, threshold = "1 mA" }
boards.D1 = { type = "four", banks = ["a", "b"] }
blocks.S1-S4 = { channel = "D1.1-4" }
loads.loco = { locomotive = true, idle = "0.1 A" }
"""


def case_of(a: int, b: int, old: str = "", new: str = "", more: str = "") -> Study:
    assert old in TWO
    text = TWO.replace("count = A", f"count = {a}").replace("count = B", f"count = {b}").replace(old, new) + more
    return api.loads(text, "two.toml")


def room(case: Study) -> dict[str, int]:
    return {fit.district: fit.more for fit in api.budget(case).scenarios[0].fits}


def test_each_district_has_its_own_room() -> None:
    """1 A and 3 A less a fifth, less 0.1 A a locomotive; what has no track has no room, however large its booster."""
    assert room(case_of(2, 4)) == {"a": 6, "b": 20}


def test_what_is_over_has_none() -> None:
    assert room(case_of(20, 1)) == {"b": 19}  # 4 A less 2.1 A of the booster; the district has 2.4 A less 0.1 A


def test_where_the_booster_is_over_no_district_has_any() -> None:
    assert room(case_of(8, 29)) == {"a": 0, "b": 0}  # 3.7 A of 5 A: within every limit, and no fifth is free
    assert room(case_of(8, 9, '"5 A"', '"1.5 A"')) == {}


def test_the_booster_may_leave_less_than_the_district() -> None:
    assert room(case_of(2, 9, '"5 A"', '"1.5 A"')) == {
        "a": 1,
        "b": 1,
    }  # 1.2 A less 1.1 A, though a has 0.6 A and b 1.5 A left


def test_its_own_axles_are_part_of_a_locomotive() -> None:
    assert room(case_of(1, 1, 'idle = "0.1 A"', 'idle = "0.1 A", axle = "1 kohm"'))["a"] == int((0.8 - 0.115) / 0.115)


def test_what_is_not_known_makes_it_a_bound() -> None:
    more = "\nloads.other = { locomotive = true }\ntrains.x = { vehicles = { other = 1 }, at = 'S1' }\n"
    fits = json.loads(answer_json(api.budget(case_of(1, 1, more=more))))["scenarios"][0]["fits"]
    assert {(fit["district"], fit["bound"]) for fit in fits} == {("a", True), ("b", True)}  # of b for what B1 has left
    assert not any(fit.bound for fit in api.budget(case_of(1, 1)).scenarios[0].fits)


@pytest.mark.parametrize("format_", ["text", "markdown"])
def test_people_are_told_a_line_a_district(tmp_path: Path, format_: str) -> None:
    file = tmp_path / "two.toml"
    file.write_text(TWO.replace("= A", "= 2").replace("= B", "= 24"))
    told = " ".join(CliRunner().invoke(app_of(), ["budget", str(file), "--format", format_]).stdout.split())
    assert "With 20 % kept free, district a has room for one of: 6 loco idle." in told
    assert "district b has no room for more." in told
    assert "Districts of one booster share what it has left: these are no sum." in told
    assert "main has" not in told
    file.write_text(TWO.replace("= A", "= 20").replace("= B", "= 1"))
    told = " ".join(CliRunner().invoke(app_of(), ["budget", str(file), "--format", format_]).stdout.split())
    assert "district a has" not in told
    assert "no sum" not in told


def test_the_trains_that_are_heard_are_told_in_every_scenario() -> None:
    found = {one.scenario: one.sounding for one in api.budget(api.load(SMALL)).scenarios}
    assert found[None] == ("coal", "pickup", "pilot", "timber")
    assert found["night"] == ()
    quiet = SMALL.read_text("utf-8").replace("sound = true", "sound = false")
    told = api.budget(api.loads(quiet))
    assert {one.sounding for one in told.scenarios} == {()}
    assert "Awake with sound" not in str(told)
    assert "Awake with sound: coal, pickup, pilot and timber." in str(api.budget(api.load(SMALL)))


def test_a_scenario_in_which_nothing_draws_is_a_sentence() -> None:
    """A table of noughts is no news; what there is room for is."""
    told = blockcheck.render(api.budget(api.load(SMALL), "night"), "markdown")
    assert 'In scenario "night", nothing draws.' in told
    assert "room for one of" in told
    assert "| booster" not in told


def test_budget_and_check_advise_alike_where_no_train_is_placed() -> None:
    """What is expected is spread over the tracks that are awake as usual: some asleep, and less expected."""
    isolators = ('"D1.1-4" }', '"D1.1-4", isolator = "I1-I4" }', "isolators.I1-I4 = {}\n")
    case = case_of(20, 1, *isolators)
    sleep = api.budget(case).scenarios[0].sleep
    assert sleep is not None
    assert sleep.blocks == ("S1",)
    assert sleep.expecting == ("a",)
    (over,) = [one for one in api.check(case).findings if one.rule == "district-over-current"]
    for advice in (sleep.sentence, str(over.help)):
        assert "sleep" in advice
        assert "(expects)" in advice
    slept = case_of(10, 1, *isolators[:2], 'isolators.I1-I4 = {}\nisolators.I1 = { usually = "open" }\n')
    assert not [one for one in api.check(slept).findings if one.rule == "district-over-current"]
    assert api.budget(slept).scenarios[0].sleep is None


SHIFTS = """\
format = 1
layout = { name = "Two shifts", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "5 A", trip = "6 A", delay = "60 ms" }
districts.shed = { booster = "B1", expects = [{ load = "shunter", count = 9 }] }
loads.shunter = { locomotive = true, sound = true, idle = "0.1 A", capacitance = "470 uF" }
board_types.eight = { channels = 8, threshold = "1.5 mA" }
boards.D1 = { type = "eight", spare = [7, 8] }
isolators.I1-I3 = {}
isolators.I4-I6 = { usually = "open" }
blocks.S1-S6 = { channel = "D1.1-6", isolator = "I1-I6", kind = "storage" }
[scenarios.other.set]
I1 = "open"
I2 = "open"
I3 = "open"
I4 = "closed"
I5 = "closed"
I6 = "closed"
[scenarios.every.set]
I4 = "closed"
I5 = "closed"
I6 = "closed"
[scenarios.few.set]
I2 = "open"
I3 = "open"
"""


@pytest.mark.parametrize(
    ("scenario", "tracks", "carried"),
    [
        (None, None, 0.9),
        (None, "1", 0.6),  # what sleeps takes its third along
        ("other", None, 0.9),  # other tracks are awake, and what is expected stands there
        ("other", "4", 0.6),
        ("every", None, 0.9),
        ("every", "4,6", 0.6),  # of six
        ("few", None, 0.3),
        ("few", "1", 0.0),
    ],
)
def test_what_a_district_expects_stands_in_the_tracks_that_are_awake(
    scenario: str | None, tracks: str | None, carried: float
) -> None:
    shed = blockcheck.loads(SHIFTS)
    rows = blockcheck.budget(shed, scenario=scenario, opened=tracks).scenarios[0].loads
    assert next(row.current_a for row in rows if row.kind == "district") == pytest.approx(carried)
    if scenario and not tracks:
        assert blockcheck.wake(shed, scenario=scenario).districts


def test_budget_and_check_judge_alike_what_is_above_a_limit() -> None:
    """By more than rounding: 0.1 A and 0.2 A are not above 0.3 A."""
    draw = Draw("district", "a", 0.1 + 0.2, 0.3, ("districts", "a", "current"))
    assert draw.current_a > 0.3
    assert not above(draw)
    assert above(draw._replace(current_a=0.31))
    assert not above(draw._replace(current_a=0.31), less_a=0.01)
