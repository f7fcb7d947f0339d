"""Whatever turns a finding silent is counted and told: in the sum, in every format."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import date
from pathlib import Path
from typing import Any, cast
from xml.etree import ElementTree

import attrs
import pytest
from openpyxl import load_workbook

import blockcheck
from blockcheck.answers.checking.check import CheckAnswer, joined
from blockcheck.core.findings import UNDECIDED, Laxer, Milder, Off, Severity, Unchecked
from blockcheck.formats.programs.github import summary_markdown
from blockcheck.model.layout import Limits
from blockcheck.types import Study

TODAY = date(2031, 6, 1)
CASES = Path(__file__).resolve().parents[2] / "rules"
LAYOUT = """format = 1
layout = { name = "Tithe Fen", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts.yard = { booster = "B1" }
board_types.plain = { channels = 1, threshold = "1.5 mA" }
boards.D1 = { type = "plain" }
[blocks.P1-P2]
channel = "D1.1"
[[joints]]
blocks = ["P1", "P2"]
gap = "both"
"""
LAX = (
    ("headroom", '"0 %"', "0 %", "20 %"),
    ("voltage_drop", '"100 %"', "100 %", "10 %"),
    ("minimum_voltage", '"0 V"', "0 V", "7 V"),
    ("trip_margin", "0.001", "0.001", "1.5"),
    ("conductor_temperature", '"5 degC"', "5 degC", "20 degC"),
    ("detection_margin", "1e-9", "1e-09", "1.5"),
)
STRICT = '[limits]\nheadroom = "30 %"\nvoltage_drop = "5 %"\nminimum_voltage = "9 V"\ntrip_margin = 2\n'
SUM = (
    "no errors: 1 warning; 3 checks not made, 1 of them undecided; 1 accepted; 2 rules off, hiding 2 findings; "
    "1 rule ranked down; "
    "6 limits laxer than by default"
)


TWO_DISTRICTS = """format = 1
layout = { name = "Tithe Fen", control = "dcc" }
boosters = { B1 = { voltage = "14 V", current = "3 A" }, B2 = { voltage = "14 V", current = "3 A" } }
districts.east = { booster = "B1" }
districts.west = { booster = "B2" }
board_types.plain = { channels = 2, bank_size = 1, threshold = "1.5 mA" }
boards.D1 = { type = "plain", banks = ["east", "west"] }
# more
"""
SWITCHED = '[blocks.P1-P2]\nchannel = "D1.1-2"\nisolator = "I1"\n'
JOINED = [
    (f'{SWITCHED}[isolators.I1]\nside = "before-detector"\n', "pole-shared"),
    (f"{SWITCHED}[isolators.I1]\n", "pole-shared"),
    (f'{SWITCHED}[isolators.I1]\nside = "common-rail"\n', "pole-shared"),
    ('[blocks.P1-P2]\nchannel = "D1.1-2"\nharness = "deck"\n[harnesses.deck]\n', "harness-two-returns"),
]
"""Two conductors that are one -> the rule that tells it."""


def checked(more: str = "", control: str = "dcc") -> CheckAnswer:
    text = LAYOUT.replace('"dcc"', f'"{control}"') + more
    return blockcheck.check(blockcheck.loads(text, "fen.toml"), TODAY)


def hushed() -> CheckAnswer:
    """A layout without errors, in which everything that can hide a finding does so."""
    off = '[rules]\nchannel-shared = "off"\nchannel-crosstalk = "off"\nunknown-name = "warning"\n'
    accept = '[[accept]]\nrule = "gap-missing"\nwhere = "P9"\nbecause = "soon"\nuntil = 2030-01-01\n'
    limits = "[limits]\n" + "".join(f"{key} = {value}\n" for key, value, _, _ in LAX)
    answer = checked(off + limits + accept)
    lacks = tuple(Unchecked("gap-missing", "P1", needs) for needs in (("x",), ("y",), UNDECIDED))
    accepted = checked('[[accept]]\nrule = "channel-shared"\nwhere = "D1.1"\nbecause = "so it is"\n').accepted
    return attrs.evolve(answer, unchecked=lacks, accepted=accepted)


def test_each_limit_that_is_laxer_than_its_default_is_told() -> None:
    assert {key for key, *_ in LAX} == {field.metadata["toml"] for field in attrs.fields(Limits)}
    for key, written, value, default in LAX:
        assert checked(f"[limits]\n{key} = {written}\n").laxer == (Laxer(key, value, default),)
    assert checked().laxer == checked(STRICT).laxer == ()
    assert checked('[limits]\nminimum_voltage = "0 V"\n', "dc").laxer == ()  # under dc there is no least voltage


@pytest.mark.parametrize("path", sorted(CASES.glob("*/bad*.toml")), ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_rule_that_is_off_says_how_much_it_would_have_told(path: Path) -> None:
    rule, case = path.parent.name, blockcheck.load(path)
    told = len(path.with_suffix(".expected").read_text("utf-8").splitlines())
    layout = attrs.evolve(case.layout, rules={**case.layout.rules, rule: "off"})
    answer = blockcheck.check(attrs.evolve(case, wiring=attrs.evolve(case.wiring, layout=layout), memo={}), TODAY)
    assert Off(rule, told) in answer.off
    assert rule not in {finding.rule for finding in answer.findings}


def test_what_follows_from_a_finding_is_told_where_its_rule_is_off() -> None:
    assert [finding.rule for finding in checked().findings] == ["channel-shared"]
    assert [finding.rule for finding in checked('[rules]\nchannel-shared = "off"\n').findings] == ["channel-crosstalk"]


@pytest.mark.parametrize("path", sorted(CASES.glob("*/bad.toml")), ids=lambda path: path.parent.name)
def test_a_rule_that_is_ranked_down_says_how_much_it_made_milder(path: Path) -> None:
    rule, case = path.parent.name, blockcheck.load(path)
    told = [one for one in blockcheck.check(case, TODAY).findings if one.rule == rule]
    for given in Severity:
        layout = attrs.evolve(case.layout, rules={**case.layout.rules, rule: given.value})
        answer = blockcheck.check(attrs.evolve(case, wiring=attrs.evolve(case.wiring, layout=layout), memo={}), TODAY)
        lowered = [one for one in told if one.severity.rank < given.rank]
        worst = min(told, key=lambda one: one.severity.rank).severity.value
        assert answer.milder == ((Milder(rule, given.value, worst, len(lowered)),) if lowered else ())
        assert answer.off == case_off(case, rule)


def case_off(case: Study, rule: str) -> tuple[Off, ...]:
    """The rules that a case itself switches off."""
    return tuple(one for one in blockcheck.check(case, TODAY).off if one.rule != rule)


def test_a_rule_ranked_up_or_as_it_is_by_itself_is_not_told() -> None:
    assert checked('[rules]\nchannel-shared = "error"\nchannel-unused = "error"\n').milder == ()
    answer = checked('[rules]\nchannel-shared = "note"\n')
    assert answer.milder == (Milder("channel-shared", "note", "error", 1),)
    assert blockcheck.render(answer, "text").splitlines()[-2].endswith("; 1 rule ranked down, with 1 finding.")
    both = joined([answer, answer])
    assert both.milder == (Milder("channel-shared", "note", "error", 2),)


@pytest.mark.parametrize(("table", "claimed"), JOINED)
def test_what_joins_districts_is_told_where_its_own_rule_is_off(table: str, claimed: str) -> None:
    """A pole before the detector, behind it and in the return, and a harness with two returns; off, accepted and on."""
    text = TWO_DISTRICTS.replace("# more", table)
    subject = "deck" if claimed == "harness-two-returns" else "I1"
    accept = f'[[accept]]\nrule = "{claimed}"\nwhere = "{subject}"\nbecause = "so it is"\n'

    def errors(more: str) -> list[str]:
        answer = blockcheck.check(blockcheck.loads(text + more, "fen.toml"), TODAY)
        return [one.rule for one in answer.findings if one.severity is Severity.ERROR]

    assert errors("") == [claimed]
    assert errors(f'[rules]\n{claimed} = "off"\n') == errors(accept) == ["districts-joined"]


def test_one_return_for_both_districts_joins_nothing() -> None:
    """Common-rail poles and a harness of districts that share a return on purpose join what is joined already."""
    text = re.sub(r'(booster = "B[12]")', r'\1, return = "R"', TWO_DISTRICTS)
    off = '[rules]\npole-shared = "off"\nharness-two-returns = "off"\n'
    for table, _ in JOINED[2:]:
        answer = blockcheck.check(blockcheck.loads(text.replace("# more", table) + off, "fen.toml"), TODAY)
        assert [one.rule for one in answer.findings if one.severity is Severity.ERROR] == []


def test_blocks_whose_names_lead_nowhere_are_not_checked_and_say_so() -> None:
    """With the rule off that finds the names, more is told of what was not checked, not less."""
    named = LAYOUT.replace('"D1.1"', '"D1.1"\nisolator = "I1-I2"')
    off = '[rules]\nunknown-name = "off"\nisolator-unused = "off"\nstorage-not-isolatable = "off"\n'
    answer = blockcheck.check(blockcheck.loads(named + off, "fen.toml"), TODAY)
    needs = {(one.rule, one.subject): one.needs for one in answer.unchecked}
    for rule in ("isolation-leak", "voltage-drop", "short-will-not-trip", "vehicle-unseen", "false-occupancy"):
        for block in ("P1", "P2"):
            assert needs[rule, block] == (f"blocks.{block}.isolator",), rule


def test_the_sum_of_all_that_is_kept_back_stands_in_every_format() -> None:
    answer = hushed()
    made = {name: blockcheck.render(answer, name) for name in answer.formats}
    text = {name: one for name, one in made.items() if isinstance(one, str)}
    assert " ".join(text["text"].split()).count(f"Tithe Fen: {SUM}.") == 2  # first and last
    assert text["github"].splitlines()[-1] == f"blockcheck: {SUM}."
    assert f"N{SUM[1:]}." in text["markdown"]
    assert f"N{SUM[1:]}." in summary_markdown(answer)
    assert list(csv.DictReader(io.StringIO(text["csv"])))[-1]["message"] == SUM
    assert all(part in text["html"] for part in SUM.split("; ")[1:])
    suites = ElementTree.fromstring(text["junit"])
    assert (suites.findtext("testsuite/system-out") or "").splitlines()[-1] == f"{SUM}."
    rows = list(load_workbook(io.BytesIO(cast("bytes", made["xlsx"]))).worksheets[1].values)
    assert SUM in rows[-1]

    value: dict[str, Any] = json.loads(text["json"])
    counts = {"errors": 0, "warnings": 1, "notes": 0, "unchecked": 3, "undecided": 1, "accepted": 1}
    assert value["summary"] == {**counts, "off": 2, "milder": 1, "laxer": 6}
    assert value["off"] == [{"rule": rule, "findings": 1} for rule in ("channel-shared", "channel-crosstalk")]
    assert value["milder"] == [{"rule": "unknown-name", "severity": "warning", "default": "error", "findings": 0}]
    assert value["laxer"] == [{"limit": key, "value": told, "default": default} for key, _, told, default in LAX]
    run = json.loads(text["sarif"])["runs"][0]
    assert run["properties"]["summary"] == value["summary"]
    assert len([one for one in run["invocations"][0]["toolExecutionNotifications"] if one["level"] == "warning"]) == 9

    text["html"] = text["html"].replace("\u00a0", " ")
    for name in ("text", "github", "markdown", "html", "csv", "junit", "sarif"):  # each by name as well
        assert "channel-crosstalk is off: 1 finding not told" in text[name], name
        assert "unknown-name is ranked down to warning: 0 errors told as warning" in text[name], name
        assert "limits.headroom is 0 %" in text[name].replace("\\_", "_"), name


def test_of_several_layouts_a_rule_and_a_limit_are_told_once() -> None:
    lax = '[rules]\nchannel-shared = "off"\n[limits]\ntrip_margin = 1\n'
    answer = joined([checked(lax), checked(lax)])
    assert answer.off == (Off("channel-shared", 2),)
    assert answer.laxer == (Laxer("trip_margin", "1", "1.5"),)
