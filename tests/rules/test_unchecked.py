"""What the rules on volts and amperes say they lack, datum by datum: exactly the keys that they need."""

from __future__ import annotations

import typing
from datetime import date
from pathlib import Path

import attrs
import pytest

import blockcheck
from blockcheck.model.layout import Layout

HERE = Path(__file__).parent
TODAY = date(2031, 6, 1)

WHOLE = """format = 1
layout = { name = "Betony Quay", control = "dcc" }
wires.plain = { size = "1.5 mm2" }
board_types.plain = { channels = 1, threshold = "0.3 mA" }
boards.D1 = { type = "plain" }

[boosters.B1]
voltage = "15 V"
current = "3 A"
trip = "4 A"
delay = "100 ms"

[districts.quay]
booster = "B1"
feed = { wire = "plain", length = "5 m" }
expects = [{ load = "pug", count = 1 }]

[loads.pug]
locomotive = true
idle = "50 mA"
running = "0.3 A"
capacitance = "100 uF"

[loads.wagon]
axle = "15 kohm"

[harnesses.quay]
bus = "plain"
common = "plain"
lead = "3 m"
feeder = "plain"
feeder_length = "0.2 m"
feeder_spacing = "2 m"
rail = "code100"
capacitance = "10 pF/m"

[blocks.Q1]
channel = "D1.1"
kind = "storage"
isolator = "I1"
length = "2 m"
harness = "quay"

[isolators.I1]
detection = "held"
hold = "10 kohm"
"""

ON_PLACES = ("detection-not-held", "short-will-not-trip", "vehicle-unseen", "voltage-drop", "wire-over-current")
"""The rules that look at the places of a block, which need all of its wires and rails."""
RULES = (*ON_PLACES, "false-occupancy", "inrush-lockout")


def lacking(text: str) -> dict[str, list[str]]:
    """Rule -> subject: needs, for the rules on volts and amperes."""
    answer = blockcheck.check(blockcheck.loads(text, "betony.toml"), TODAY)
    assert [finding for finding in answer.findings if finding.rule in RULES] == []
    found: dict[str, list[str]] = {}
    for one in answer.unchecked:
        if one.rule in RULES:
            found.setdefault(one.rule, []).append(f"{one.subject}: {', '.join(one.needs)}")
    return found


def without(*lines: str) -> str:
    text = WHOLE
    for line in lines:
        assert text.count(line + "\n") == 1, line
        text = text.replace(line + "\n", "")
    return text


def on_places(needs: str) -> dict[str, list[str]]:
    return {rule: [f"Q1: {needs}"] for rule in ON_PLACES}


def test_nothing_is_lacking() -> None:
    assert lacking(WHOLE) == {}


def test_no_harness_at_all() -> None:
    start, end = WHOLE.index("[harnesses.quay]"), WHOLE.index("[blocks.Q1]")
    bare = (WHOLE[:start] + WHOLE[end:]).replace('length = "2 m"\nharness = "quay"\n', "")
    assert lacking(bare) == {
        **on_places("blocks.Q1.length, blocks.Q1.harness"),
        "false-occupancy": ["Q1: blocks.Q1.harness, blocks.Q1.length"],
    }
    feedless = bare.replace('feed = { wire = "plain", length = "5 m" }\n', "")
    assert lacking(feedless)["voltage-drop"] == ["Q1: blocks.Q1.length, districts.quay.feed, blocks.Q1.harness"]


@pytest.mark.parametrize(
    ("line", "need"),
    [
        ('bus = "plain"', "harnesses.quay.bus"),
        ('common = "plain"', "harnesses.quay.common"),
        ('feeder = "plain"', "harnesses.quay.feeder"),
        ('feeder_length = "0.2 m"', "harnesses.quay.feeder_length"),
        ('feeder_spacing = "2 m"', "harnesses.quay.feeder_spacing"),
        ('rail = "code100"', "harnesses.quay.rail"),
        ('feed = { wire = "plain", length = "5 m" }', "districts.quay.feed"),
    ],
)
def test_a_datum_of_the_way_to_the_wheel(line: str, need: str) -> None:
    """What a block draws while it is empty, and what charges, need none of it."""
    assert lacking(without(line)) == on_places(need)


@pytest.mark.parametrize(
    ("line", "need"), [('lead = "3 m"', "harnesses.quay.lead"), ('length = "2 m"', "blocks.Q1.length")]
)
def test_a_length_that_the_cable_needs_too(line: str, need: str) -> None:
    assert lacking(without(line)) == {**on_places(need), "false-occupancy": [f"Q1: {need}"]}


def test_a_datum_of_one_rule_alone() -> None:
    assert lacking(without('capacitance = "10 pF/m"')) == {"false-occupancy": ["Q1: harnesses.quay.capacitance"]}
    assert lacking(without('running = "0.3 A"')) == {
        "voltage-drop": ["Q1: loads.*.running"],
        "wire-over-current": ["quay feeder: loads.*.running"],
    }
    assert lacking(without('capacitance = "100 uF"')) == {"inrush-lockout": ["quay: loads.pug.capacitance"]}
    assert lacking(without('delay = "100 ms"')) == {"inrush-lockout": ["quay: districts.quay.delay"]}


def test_no_trip_current() -> None:
    assert lacking(without('trip = "4 A"')) == {
        "short-will-not-trip": ["Q1: districts.quay.trip"],
        "inrush-lockout": ["quay: districts.quay.trip"],
        "wire-over-current": [f"quay {what}: districts.quay.trip" for what in ("bus", "common", "feed")],
    }


def test_nothing_that_could_be_seen() -> None:
    blind = without("[loads.wagon]", 'axle = "15 kohm"', 'idle = "50 mA"').replace(
        'expects = [{ load = "pug", count = 1 }]\n', ""
    )
    assert lacking(blind) == {"vehicle-unseen": ["Q1: loads.*.axle"], "detection-not-held": ["Q1: loads.*.axle"]}


def test_a_locomotive_of_which_it_is_not_known_what_wakes_it() -> None:
    text = without('idle = "50 mA"').replace('expects = [{ load = "pug", count = 1 }]\n', "")
    assert lacking(text) == {"detection-not-held": ["Q1: loads.pug.idle"]}


def test_a_conductor_thinner_than_the_table_is_judged() -> None:
    """Of the drops by what the locomotive draws, 0.3 A, which 0.1 mm2 bears."""
    assert lacking(WHOLE.replace('feeder = "plain"', 'feeder = "hair"') + '\n[wires.hair]\nsize = "0.1 mm2"\n') == {}
    assert lacking(WHOLE.replace('feeder = "plain"', 'feeder = "27 AWG"')) == {}


def test_a_datum_is_called_as_it_is_written() -> None:
    """Whatever is lacking and reads like a key is one, of a table of the language."""
    layout = attrs.fields_dict(attrs.resolve_types(Layout))
    for path in sorted(HERE.glob("*/unchecked*.toml")):
        for one in blockcheck.check(blockcheck.load(path), TODAY).unchecked:
            for need in one.needs:
                table, _, key = need.partition(".")
                if key and table != "joints":
                    row = typing.get_args(layout[table].type)[-1]
                    keys = {field.metadata["toml"] for field in attrs.fields(row)}
                    assert key.split(".")[1].split(" or ")[0] in keys, need


def test_under_direct_current_the_roadbed_counts_and_the_pair_does_not() -> None:
    direct = without('capacitance = "10 pF/m"').replace('"dcc"', '"dc"')
    assert lacking(direct)["false-occupancy"] == ["Q1: harnesses.quay.leakage"]
    assert "false-occupancy" not in lacking(direct.replace("rail =", 'leakage = "5 Mohm m"\nrail ='))
    named = direct.replace('"code100"', '"old"') + '\n[rails.old]\nresistance = "0.1 ohm/m"\n'
    assert lacking(named)["false-occupancy"] == ["Q1: rails.old.leakage"]
