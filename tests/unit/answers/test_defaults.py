"""Answers say which defaults decided their figures, and why; bounds are called bounds."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from jsonschema import Draft7Validator

from blockcheck import api
from blockcheck.formats.markdown import document_markdown
from blockcheck.formats.programs.json_v1 import answer_json
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text
from blockcheck.text.includes import shipped

BARE = """
format = 1
layout = { name = "Teal Wharf", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "4 A", trip = "5 A", delay = "50 ms" }
boosters.B2 = { voltage = "15 V", current = "3 A", trip = "3.5 A", delay = "50 ms", resistance = "0.05 ohm" }
districts.east = { booster = "B1", \
feed = { wire = "1.5 mm2", length = "2 m" }, expects = [{ load = "pug", count = 1 }]}
districts.west = { booster = "B2", feed = { wire = "1.5 mm2", length = "2 m" }, current = "2 A" }
board_types.two = { channels = 2, threshold = "1 mA" }
boards.D1 = { type = "two", banks = ["east"] }
boards.D2 = { type = "two", banks = ["west"] }
loads.pug = { locomotive = true, idle = "90 mA", running = "0.3 A", capacitance = "500 uF" }
loads.van = { axle = "10 kohm" }
trains.coal = { vehicles = { pug = 1 }, at = "W1" }
isolators.I1 = {}
isolators.I2 = { contact_resistance = "20 mohm" }
harnesses.main = { bus = "1.5 mm2", common = "2.5 mm2", lead = "3 m", feeder = "0.5 mm2", feeder_length = "0.2 m", \
feeder_spacing = "2 m", rail = "code83", segment = "1 m", capacitance = "50 pF/m" }
harnesses.other = { bus = "1.5 mm2", common = "brown", lead = "3 m", feeder = "0.5 mm2", feeder_length = "0.2 m", \
feeder_spacing = "2 m", rail = "code83", capacitance = "50 pF/m" }
wires.brown = { size = "2.5 mm2", current = "12 A" }
blocks.E1 = { channel = "D1.1", isolator = "I1", length = "3 m", harness = "main" }
blocks.W1 = { channel = "D2.1", isolator = "I2", length = "3 m", harness = "other" }
"""


def told(text: str) -> dict[tuple[str, str], tuple[list[str], str]]:
    answer = json.loads(text)
    return {(one["key"], one["value"]): (one["of"], one["why"]) for one in answer["defaults"]}


def valid(name: str, text: str) -> Any:
    schema = json.loads((shipped("schemas") / f"{name}.schema.json").read_text("utf-8"))
    answer = json.loads(text)
    Draft7Validator(schema).validate(answer)
    return answer


def case(text: str = BARE) -> Any:
    return api.loads(text, "teal.toml")


def test_power_says_what_was_left_out() -> None:
    answer = api.power(case())
    assert told(answer_json(answer)) == {
        ("boosters.*.resistance", "0 ohm"): (["B1"], "a regulated output holds its voltage"),
        ("districts.*.trip", "5 A"): (["east"], "that of its booster B1"),
        ("districts.*.trip", "3.5 A"): (["west"], "that of its booster B2"),
        ("board_types.*.drop", "0 V"): (["two"], "left out of its data sheet's entry"),
        ("boards.*.feed", "none"): (["D1", "D2"], "a board beside its district's terminal"),
        ("harnesses.*.joint_resistance", "0 ohm"): (["main"], "a good crimp adds next to nothing"),
        ("isolators.*.contact_resistance", "0 ohm"): (["I1"], "a good contact adds next to nothing"),
        ("limits.conductor_temperature", "20 degC"): ([], "the temperature of the tables"),
        ("trains.*.state", "idle"): (["coal"], "most trains in a yard stand still"),
        ("districts.*.expects.state", "idle"): (["east"], "most vehicles in a yard stand still"),
        ("limits.voltage_drop", "10 %"): ([], "common practice, no source"),
        ("wires.*.resistance", "6.9 mohm/m"): (["brown"], "copper of 2.5 mm2"),  # 1/58/2.5, by IEC 60028
        ("wires.*.resistance", "11.5 mohm/m"): (["1.5 mm2"], "copper of 1.5 mm2"),
        ("wires.*.resistance", "34.5 mohm/m"): (["0.5 mm2"], "copper of 0.5 mm2"),
        ("harnesses.*.leakage", "none"): (["main", "other"], "left out: only the cable counts for an empty block"),
        ("trains.*.offset", "the middle of its block"): (["coal"], "left out"),
    }
    line = "isolators.*.contact_resistance: 0 ohm for I1 (a good contact adds next to nothing)"
    assert line in document_text(answer.document(), Style(200))
    document = document_markdown(answer.document())
    assert re.search(
        r"isolators\.\\\*\.contact\\_resistance +\| 0 ohm +\| a good contact adds next to nothing +\| I1", document
    )


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("boosters.*.resistance", 'delay = "50 ms", resistance = "0.1 ohm" }\nboosters.B2'),
        ("harnesses.*.joint_resistance", 'joint_resistance = "1 mohm", segment = "1 m"'),
        ("isolators.*.contact_resistance", 'isolators.I1 = { contact_resistance = "1 mohm" }'),
        ("board_types.*.drop", 'threshold = "1 mA", drop = "0 V" }'),
        ("limits.voltage_drop", 'limits = { voltage_drop = "12 %" }\nisolators.I1 = {}'),
    ],
)
def test_what_is_written_is_no_default(key: str, text: str) -> None:
    old = {
        "boosters.*.resistance": 'delay = "50 ms" }\nboosters.B2',
        "harnesses.*.joint_resistance": 'segment = "1 m"',
        "board_types.*.drop": 'threshold = "1 mA" }',
    }.get(key, "isolators.I1 = {}")
    assert old in BARE
    assert key not in {one for one, _ in told(answer_json(api.power(case(BARE.replace(old, text)))))}


def test_the_least_voltage_is_the_limit_that_decides() -> None:
    """(1 - 60 %) of 15 V is 6 V: then the 7 V of NMRA S-9.1 decide."""
    found = told(answer_json(api.power(case(BARE + 'limits = { voltage_drop = "60 %" }\n'))))
    assert ("limits.minimum_voltage", "7 V") in found
    assert "NMRA S-9.1" in found["limits.minimum_voltage", "7 V"][1]


def test_a_locomotive_asleep_draws_its_default() -> None:
    starved = BARE.replace('idle = "90 mA"', 'idle = "9 A"').replace(
        'length = "2 m" }, current', 'length = "90 m" }, current'
    )
    assert ("loads.*.asleep", "0 A") in told(answer_json(api.power(case(starved))))


def test_budget_says_whose_limits_it_took() -> None:
    answer = api.budget(case())
    found = told(answer_json(answer))
    assert found["districts.*.current", "4 A"] == (["east"], "that of its booster B1")
    assert found["limits.headroom", "20 %"] == ([], "common practice, no source")
    tables = {names[0]: why for (key, _), (names, why) in found.items() if key == "wires.*.current"}
    assert set(tables) == {"0.5 mm2", "1.5 mm2", "2.5 mm2"}  # brown has its own
    assert all(why.startswith("IEC 60204-1 Table 6") for why in tables.values())
    assert "thermal limit" in document_text(answer.document(), Style(200))


def test_wake_says_whose_breaker_it_is() -> None:
    found = valid("wake", answer_json(api.wake(case())))["defaults"]
    assert [(one["key"], one["value"], one["of"], one["why"]) for one in found if one["key"].startswith("d")] == [
        ("districts.*.trip", "5 A", ["east"], "that of its booster B1"),
        ("districts.*.trip", "3.5 A", ["west"], "that of its booster B2"),
        ("districts.*.delay", "50 ms", ["east"], "that of its booster B1"),
        ("districts.*.delay", "50 ms", ["west"], "that of its booster B2"),
        ("districts.*.expects.state", "idle", ["east"], "most vehicles in a yard stand still"),
    ]


def test_what_is_not_known_is_told_in_every_form() -> None:
    """A locomotive without a current: all it may add to is at least what is known. A breaker without delay: nothing."""
    text = BARE.replace('idle = "90 mA", ', "").replace(', delay = "50 ms", resistance', ", resistance")
    budget, wake, power = api.budget(case(text)), api.wake(case(text)), api.power(case(text))
    answer = valid("budget", answer_json(budget))
    assert {one["subject"]: one["needs"] for one in answer["unchecked"]} == {
        "east": ["loads.pug.idle"],
        "west": ["loads.pug.idle"],
    }
    bound = {row["name"] for row in answer["scenarios"][0]["loads"] if row["bound"]}
    assert {"B1", "B2", "east", "west", "D1.1", "D2.1"} <= bound
    assert "at least 0 A" in document_text(budget.document(), Style(200))
    assert "(a bound)" in document_text(budget.document(), Style(200))
    assert {one["subject"]: one["needs"] for one in valid("wake", answer_json(wake))["unchecked"]} == {
        "east": ["loads.pug.idle"],
        "west": ["loads.pug.idle", "districts.west.delay"],
    }
    assert "east: needs loads.*.idle" in document_text(wake.document(), Style(200))
    assert valid("power", answer_json(power))["probe"] == {"name": "pug", "current": 0.3}


def test_a_block_without_wires_is_told_by_the_budget() -> None:
    text = BARE.replace('length = "3 m", harness = "other"', 'length = "3 m"')
    answer = valid("budget", answer_json(api.budget(case(text))))
    assert [(one["rule"], one["subject"], one["needs"]) for one in answer["unchecked"]] == [
        ("conductors", "W1", ["blocks.W1.harness"])
    ]


def test_a_block_that_sleeps_says_so() -> None:
    text = BARE.replace("isolators.I1 = {}", 'isolators.I1 = { usually = "open" }')
    answer = api.power(case(text))
    rows = {row["block"]: row for row in valid("power", answer_json(answer))["rows"]}
    assert (rows["E1"]["power"], rows["E1"]["voltage"], rows["W1"]["power"]) == ("off", None, "on")
    assert "E1 has no power as the layout usually stands" in document_text(answer.document(), Style(200))
