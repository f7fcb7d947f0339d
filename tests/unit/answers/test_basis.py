"""A verdict says on what it rests: what was judged, what was taken for granted and which way that errs, what is not
modelled. An empty verdict does not look like a full one."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest

import blockcheck
from blockcheck.analysis import not_modelled
from blockcheck.analysis.power.defaults import HOPEFUL
from blockcheck.answers.checking.basis import Basis
from blockcheck.answers.checking.check import CheckAnswer, joined, rests_on, verdict
from blockcheck.formats.escape import with_signs
from blockcheck.formats.programs.github import summary_markdown
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text

ROOT = Path(__file__).resolve().parents[3]
BARE = """
format = 1
layout = { name = "Teal Wharf", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "4 A", trip = "5 A", delay = "50 ms" }
districts.east = { booster = "B1", feed = { wire = "1.5 mm2", length = "2 m" }, expects = [{ load = "pug", count = 1 }]}
districts.west = { booster = "B1", feed = { wire = "1.5 mm2", length = "2 m" }}
board_types.two = { channels = 2, threshold = "1 mA" }
boards.D1 = { type = "two", banks = ["east"] }
boards.D2 = { type = "two", banks = ["west"] }
loads.pug = { locomotive = true, idle = "9 A", running = "0.3 A" }
loads.van = { axle = "10 kohm" }
trains.coal = { vehicles = { pug = 1, van = 2 }, at = "W1" }
trains.empties = { vehicles = { van = 2 }, at = "W1", offset = "1 m" }
isolators.I1-I2 = { panel = "fascia" }
panels.fascia = { wire = "brown" }
limits = { voltage_drop = "60 %" }
wires.brown = { size = "1.5 mm2", resistance = "12 ohm/km" }
harnesses.main = { bus = "brown", common = "2.5 mm2", lead = "3 m", feeder = "brown", feeder_length = "0.2 m", \
feeder_spacing = "2 m", rail = "code83", segment = "1 m", capacitance = "50 pF/m" }
blocks.E1 = { channel = "D1.1", isolator = "I1", length = "3 m", harness = "main" }
blocks.W1 = { channel = "D2.1", isolator = "I2", length = "3 m", harness = "main", lead = "90 m" }
"""
GIVEN = {
    "boosters.*.resistance": ('delay = "50 ms"', 'delay = "50 ms", resistance = "0 ohm"'),
    "harnesses.*.joint_resistance": ('segment = "1 m"', 'segment = "1 m", joint_resistance = "0 ohm"'),
    "isolators.*.contact_resistance": ("I1-I2 = {", 'I1-I2 = { contact_resistance = "0 ohm",'),
    "panels.*.from_board": ("panels.fascia = {", 'panels.fascia = { from_board = "1 mm",'),
    "panels.*.to_bus": ("panels.fascia = {", 'panels.fascia = { to_bus = "1 mm",'),
    "boards.*.feed": ('type = "two",', 'type = "two", feed = { wire = "brown", length = "1 mm" },'),
    "board_types.*.drop": ('threshold = "1 mA"', 'threshold = "1 mA", drop = "0 V"'),
    "loads.*.asleep": ('idle = "9 A"', 'idle = "9 A", asleep = "0 A"'),
    "limits.minimum_voltage": ('voltage_drop = "60 %"', 'voltage_drop = "60 %", minimum_voltage = "7 V"'),
    "limits.conductor_temperature": (
        'voltage_drop = "60 %"',
        'voltage_drop = "60 %", conductor_temperature = "20 degC"',
    ),
    "wires.*.resistance": ('"2.5 mm2"', '"brown"'),
    "harnesses.*.leakage": ('capacitance = "50 pF/m"', 'capacitance = "50 pF/m", leakage = "5 Mohm m"'),
    "trains.*.state": ("pug = 1, van = 2 }", 'pug = 1, van = 2 }, state = "idle"'),
    "districts.*.expects.state": ("count = 1", 'count = 1, state = "idle"'),
    "trains.*.offset": ("trains.coal = { ", 'trains.coal = { offset = "1 m", '),
}
"""Key -> what is written in place of what, so that the layout gives it; the values are the defaults."""


def checked(text: str) -> CheckAnswer:
    return blockcheck.check(blockcheck.loads(text, "teal.toml"), date(2031, 6, 1))


def basis(text: str) -> Basis:
    found = checked(text).basis
    assert found is not None
    return found


def written(text: str, key: str) -> str:
    old, new = GIVEN[key]
    if key == "wires.*.resistance":
        text = text.replace('"1.5 mm2", length', '"brown", length')
    assert old in text
    return text.replace(old, new)


def lines(answer: CheckAnswer) -> dict[str, str]:
    return {head: ", ".join(told) for head, told in rests_on(answer)}


def test_every_default_that_may_err_is_told_with_its_way() -> None:
    answer = checked(BARE)
    assert answer.basis is not None
    assert {one.key: one.worse for one in answer.basis.defaults} == {
        key: worse for key, (_, _, worse) in HOPEFUL.items()
    }
    assert lines(answer)["defaults"] == (
        "boosters, bench joints, isolators 0 ohm (more is worse), detectors 0 V (more is worse), sleeping locomotives "
        "0 A (more is worse), decoders from 7 V (more is worse), wires 20 degC (warmer is worse), wires nominal copper "
        "(stranded is worse), board feeds, wires to panels, wires from panels, roadbed leakage none "
        "(any is worse), trains, expected vehicles idle "
        "(running is worse), trains in mid-block (elsewhere may be worse)"
    )
    names = {one.key: one.of for one in answer.basis.defaults}
    assert names["trains.*.state"] == names["trains.*.offset"] == ("coal",)  # vans draw the same whatever they do


@pytest.mark.parametrize("key", HOPEFUL)
def test_a_default_goes_when_the_datum_is_given(key: str) -> None:
    before, after = checked(BARE), checked(written(BARE, key))
    assert before.basis is not None
    assert after.basis is not None
    gone = {one.key for one in before.basis.defaults} - {one.key for one in after.basis.defaults}
    assert gone == {key}
    assert lines(after)["defaults"] != lines(before)["defaults"]


def test_nothing_is_taken_for_granted_where_all_is_given() -> None:
    text = BARE
    for key in GIVEN:
        text = written(text, key)
    assert basis(text).defaults == ()
    assert "defaults" not in lines(checked(text))


def test_a_scenario_that_says_what_a_train_does_leaves_nothing_to_take() -> None:
    """As usual it stands nowhere, so that what the scenario says is all that counts."""
    text = BARE.replace('at = "W1" }\ntrains.empties', "}\ntrains.empties")
    placed = 'scenarios.night = { at = { coal = "W1" } }\n'
    assert "trains.*.state" not in {one.key for one in basis(text).defaults}
    assert "trains.*.state" in {one.key for one in basis(text + placed).defaults}
    said = placed.replace("} }", '}, states = { coal = "idle" } }')
    assert "trains.*.state" not in {one.key for one in basis(text + said).defaults}


def test_an_empty_verdict_does_not_look_like_a_full_one() -> None:
    full = basis(BARE)
    assert (full.blocks, full.with_volts, full.contacts, full.scenarios) == (2, 2, 2, 0)
    assert lines(checked(BARE))["judged"].startswith("2 blocks with volts, by ")
    asleep = checked(BARE.replace("I1-I2 = { ", 'I1-I2 = { usually = "open", '))
    assert lines(asleep)["judged"].startswith("2 blocks without volts, by ")
    half = checked(BARE.replace("I1-I2 = {", 'I1.usually = "open"\nisolators.I1-I2 = {'))
    assert lines(half)["judged"].startswith("2 blocks, 1 with volts, by ")
    bare = re.sub(r", length = \"3 m\".*? }", " }", BARE)
    assert basis(bare).with_volts == 0
    assert basis(bare).active < full.active
    nothing = basis('format = 1\nlayout = { name = "T", control = "dcc" }\n')
    assert (nothing.blocks, nothing.contacts, nothing.defaults, nothing.not_modelled) == (0, 0, (), ())
    assert nothing.active < 7 < basis(bare).active


def test_a_rule_that_lacks_data_has_judged_nothing() -> None:
    """Each rule on volts is listed as not checked for E1, or has judged it: never both, never neither."""
    for text in (BARE, BARE.replace('isolator = "I1", length = "3 m"', 'isolator = "I1"')):
        answer = checked(text)
        assert answer.basis is not None
        judged = answer.basis.judged
        lacks = {one.subject for one in answer.unchecked if one.rule == "short-will-not-trip"}
        assert judged["short-will-not-trip"] == 2 - len(lacks)
    assert lacks == {"E1"}


def test_a_rule_that_is_off_judges_nothing() -> None:
    names = basis(BARE).judged.keys()
    off = basis(BARE + 'rules = { voltage-drop = "off" }\n').judged.keys()
    assert names - off == {"voltage-drop"}


TWO = BARE.replace('districts.west = { booster = "B1"', 'districts.west = { booster = "B2"') + (
    'boosters.B2 = { voltage = "16 V", current = "4 A", trip = "5 A" }\n'
    'joints = [{ blocks = ["E1", "W1"], gap = "both" }]\n'
)
SEEN = {
    not_modelled.POLARITY: (TWO.replace("16 V", "15 V"), ("B1", "B2")),
    not_modelled.POINTS: (BARE + 'turnouts.P1 = { block = "E1" }\n', ("P1",)),
    not_modelled.CHARGING: (BARE.replace('running = "0.3 A"', 'running = "0.3 A", capacitance = "1 mF"'), ("pug",)),
    not_modelled.RESISTORS: (BARE.replace('running = "0.3 A"', 'running = "0.3 A", capacitance = "1 mF"'), ("pug",)),
    not_modelled.RINGING: (BARE, ()),
}
"""What is not modelled -> a layout that shows it to be there, and by which names."""
WHATS = {value for name, value in vars(not_modelled).items() if name.isupper()}


@pytest.mark.parametrize("what", SEEN)
def test_what_is_not_modelled_is_told_where_it_is_there(what: str) -> None:
    text, names = SEEN[what]
    assert {one.what: one.of for one in basis(text).not_modelled}[what] == names
    assert what in lines(checked(text))["not modelled"]
    assert {one.what for one in basis(BARE).not_modelled} == {not_modelled.RINGING}
    assert basis(BARE.replace('"dcc"', '"dc"')).not_modelled == ()  # nothing rings there


def test_the_front_page_tells_all_that_is_not_modelled() -> None:
    page = (ROOT / "README.md").read_text("utf-8")
    told = " ".join(page.partition("## What blockcheck cannot know")[2].split())
    assert SEEN.keys() == WHATS
    for what in WHATS:
        assert what in told, what


@pytest.mark.parametrize("width", [40, 60, 80, 100, 600])
@pytest.mark.parametrize("text", [BARE, TWO, *(text for text, _ in SEEN.values())])
def test_in_text_it_is_three_lines_at_most(text: str, width: int) -> None:
    answer = checked(text)
    last = document_text(answer.document(), Style(width)).splitlines()
    first = max(number for number, line in enumerate(last) if line.startswith("Teal Wharf: "))
    told = [line for line in last[first + 1 :] if not line.startswith("    ")]
    assert [line.split(":")[0].strip() for line in told] == [head for head, _ in rests_on(answer)]
    assert len(told) <= 3
    if width >= 100:
        assert told == last[first + 1 :]  # a line each
        assert all(len(line) <= width for line in told)
    if width == 600:
        assert [line.strip() for line in told] == list(verdict(answer).lines)  # nothing is cut


def test_it_stands_in_every_format() -> None:
    answer = checked(TWO)
    made = {name: blockcheck.render(answer, name) for name in answer.formats}
    text = {name: one for name, one in made.items() if isinstance(one, str)}
    told = list(verdict(answer).lines)
    assert len(told) == 3
    for line in told:
        assert with_signs(line) in text["html"]
        assert line in text["markdown"].replace("\\", "")
        assert f"blockcheck: {line}." in text["github"].splitlines()
        assert f"- {line}" in summary_markdown(answer).splitlines()
        assert line in [
            row["message"] for row in csv.DictReader(io.StringIO(text["csv"])) if row["status"] == "rests on"
        ]
    (suite,) = ElementTree.fromstring(text["junit"])
    assert {one.attrib["name"]: one.attrib["value"] for one in suite.iter("property")} == lines(answer)
    whole = json.loads(text["json"])["basis"]
    assert json.loads(text["sarif"])["runs"][0]["properties"]["basis"] == whole
    assert answer.basis is not None
    assert [one["key"] for one in whole["defaults"]] == [one.key for one in answer.basis.defaults]
    assert {one["what"] for one in whole["not_modelled"]} == {
        not_modelled.POLARITY,
        not_modelled.RINGING,
    }
    assert whole["judged"] == answer.basis.judged
    assert "stranded is worse" in text["html"]  # the table has it too, default by default


def test_of_several_layouts_it_is_told_as_one() -> None:
    one, other = checked(BARE), checked(TWO)
    both = joined([one, other]).basis
    assert both is not None
    assert one.basis is not None
    assert other.basis is not None
    assert (both.blocks, both.with_volts, both.contacts) == (4, 4, 4)
    assert both.judged == {rule: count + other.basis.judged[rule] for rule, count in one.basis.judged.items()}
    assert {what.what for what in both.not_modelled} == {what.what for what in other.basis.not_modelled}


def test_what_could_not_be_understood_rests_on_nothing(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("format = 1\n")
    from blockcheck.answers.checking.check import refused
    from blockcheck.core.errors import InputError

    with pytest.raises(InputError) as caught:
        blockcheck.load(tmp_path / "bad.toml")
    answer = refused(caught.value)
    assert answer.basis is None
    assert list(rests_on(answer)) == []
    assert "judged" not in document_text(answer.document(), Style())
    assert json.loads(blockcheck.render(answer, "json"))["basis"] is None
