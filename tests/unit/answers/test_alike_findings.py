"""Findings that differ by their block alone are one to people, with a range; programs have each by itself."""

from __future__ import annotations

import json
from datetime import date
from xml.etree import ElementTree

import blockcheck
from blockcheck.answers.checking.baseline import compared, fingerprints
from blockcheck.answers.checking.check import CheckAnswer

YARD = """format = 1
layout = { name = "Burnet Shed", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts.yard = { booster = "B1" }
board_types.plain = { channels = 8, threshold = "1.5 mA" }
boards.D1 = { type = "plain" }
isolators.I1 = {}
blocks.S1-7 = { channel = "D1.1-7", kind = "storage" }
blocks.S8 = { channel = "D1.8", kind = "storage", isolator = "I1" }
"""
ACCEPT = '[[accept]]\nrule = "storage-not-isolatable"\nwhere = "S3"\nbecause = "it has none"\n'


def check(text: str) -> CheckAnswer:
    return blockcheck.check(blockcheck.loads(text, "yard.toml"), date(2031, 6, 1))


def junit(answer: CheckAnswer) -> str:
    return str(blockcheck.render(answer, "junit"))


def told(answer: CheckAnswer) -> list[str]:
    """The lines of text on the findings."""
    _, _, findings = str(blockcheck.render(answer, "text")).split("Not checked")[0].partition("\n\n")
    return [line.strip() for line in findings.splitlines()]


def test_alike_findings_are_one_with_a_range() -> None:
    answer = check(YARD)
    assert [one.subject for one in answer.findings] == [f"S{number}" for number in range(1, 8)]
    assert told(answer)[:2] == [
        "warning  storage-not-isolatable  S1-S7",
        "storage track S1 cannot be put to sleep; likewise S2-S7",
    ]
    assert sum("cannot be put to sleep" in line for line in told(answer)) == 1
    assert "7 warnings" in str(blockcheck.render(answer, "text"))


def test_one_written_out_is_told_the_same() -> None:
    """But for its place."""
    lines = "".join(f'blocks.S{n} = {{ channel = "D1.{n}", kind = "storage" }}\n' for n in range(1, 8))
    range_ = YARD.splitlines(keepends=True)[7]
    assert told(check(YARD))[:2] == told(check(YARD.replace(range_, lines)))[:2]


def test_one_that_differs_stands_by_itself() -> None:
    """S7 names an isolator without an off position, and its mend is another."""
    other = YARD.replace('S1-7 = { channel = "D1.1-7"', 'S1-6 = { channel = "D1.1-6"').replace(
        'boards.D1 = { type = "plain" }',
        'boards.D1 = { type = "plain", banks = ["yard"] }\nboards.D2 = { type = "plain", banks = ["yard"] }\n'
        'districts.dock = { booster = "B1" }\nisolators.X1 = '
        '{ centre_off = false, contact = "changeover", between = ["yard", "dock"] }\n'
        'blocks.S7 = { channel = "D2.1", kind = "storage", isolator = "X1" }',
    )
    heads = [line for line in told(check(other)) if "storage-not-isolatable" in line]
    assert heads == ["warning  storage-not-isolatable  S1-S6", "warning  storage-not-isolatable  S7"]


def test_programs_have_each() -> None:
    answer = check(YARD)
    findings = json.loads(blockcheck.render(answer, "json"))["findings"]
    assert [one["subject"] for one in findings] == [one.subject for one in answer.findings]
    assert len(json.loads(blockcheck.render(answer, "sarif"))["runs"][0]["results"]) == 7
    told = [ElementTree.tostring(one, "unicode") for one in ElementTree.fromstring(junit(answer)).iter("testcase")]
    assert sum("cannot be put to sleep" in one for one in told) == 7


def test_one_that_is_accepted_or_known_is_no_longer_in_the_range() -> None:
    assert told(check(YARD + ACCEPT))[0] == "warning  storage-not-isolatable  S1, S2, S4-S7"
    before = fingerprints(str(blockcheck.render(check(YARD + ACCEPT), "json")), "before.json")
    after = compared(check(YARD), before)
    assert told(after)[:2] == ["warning  storage-not-isolatable  S3", "storage track S3 cannot be put to sleep"]
    known = " ".join(told(after)).partition("Known from the baseline ")[2]
    said = "warning  storage-not-isolatable  S1: storage track S1 cannot be put to sleep; likewise S2 and S4-S7"
    assert known.startswith(said)
