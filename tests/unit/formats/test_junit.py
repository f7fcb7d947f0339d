"""JUnit XML: read by a library that others use, valid against the schema in pytest's sources, and honest on passes."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import attrs
import pytest
import xmlschema
from hypothesis import given
from hypothesis import strategies as st
from junitparser import Error, Failure, JUnitXml, Skipped

import blockcheck
from blockcheck.answers.checking.check import CheckAnswer, joined
from blockcheck.cli.layouts import check_files
from blockcheck.core.findings import Accepted, Finding, Severity
from blockcheck.core.spans import Place
from blockcheck.formats.programs.junit import WHOLE, check_junit

ROOT = Path(__file__).resolve().parents[3]
TODAY = date(2031, 6, 1)
CASES = sorted([*(ROOT / "tests" / "rules").glob("*/*.toml"), *(ROOT / "examples").glob("*/[yc]*.toml")])
SCHEMA = xmlschema.XMLSchema(ROOT / "tests" / "outside" / "junit-10.xsd")
"""From the source distribution of pytest 9.2 (testing/example_scripts), under the MIT licence that it quotes."""

Told = dict[tuple[str, str], tuple[str, str]]


def check_of(path: Path) -> CheckAnswer:
    return blockcheck.check(blockcheck.load(path), TODAY)


def read(answer: CheckAnswer, fail_on: Severity | None = Severity.ERROR) -> tuple[JUnitXml, Told]:
    """The report, and (rule, subject) -> what became of it and the message."""
    text = check_junit(answer, fail_on)
    SCHEMA.validate(text)
    report = JUnitXml.fromstring(text.encode())
    told: Told = {}
    for suite in report:
        for case in suite:
            result = case.result[0] if case.result else None
            assert len(case.result) <= 1
            key = (case.classname.removeprefix("blockcheck."), case.name)
            assert key not in told
            kind = {type(None): "pass", Failure: "fail", Error: "error", Skipped: "skip"}[type(result)]
            told[key] = (kind, "" if result is None else result.message)
    return report, told


@pytest.mark.parametrize("path", CASES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_case_is_read_and_counted(path: Path) -> None:
    answer = check_of(path)
    report, told = read(answer, Severity.NOTE)
    (suite,) = report
    assert suite.name == answer.layout
    kinds = [kind for kind, _ in told.values()]
    assert (report.tests, report.failures, report.errors) == (len(told), kinds.count("fail"), 0)
    assert (suite.tests, suite.failures, suite.skipped) == (len(told), kinds.count("fail"), kinds.count("skip"))
    failed = {key for key, (kind, _) in told.items() if kind == "fail"}
    assert failed == {(one.rule, name) for one in answer.findings for name in (one.subject, *one.alike)}
    for lack in answer.unchecked:
        kind, message = told[lack.rule, lack.subject]
        assert kind == "fail" or (kind == "skip" and ", ".join(lack.needs) in message)


@pytest.mark.parametrize("path", CASES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_what_passes_is_named_in_no_finding_of_its_rule(path: Path) -> None:
    answer = check_of(path)
    _, told = read(answer, Severity.NOTE)
    for (rule, subject), (kind, _) in told.items():
        if kind == "pass":
            assert all(subject not in (one.subject, *one.others) for one in answer.findings if one.rule == rule)
            assert all(subject != one.subject for one in answer.unchecked if one.rule == rule)


def test_passes_show_and_every_kind_of_skip_says_why() -> None:
    _, told = read(check_of(ROOT / "examples" / "club-yard" / "club.toml"))
    assert told["isolation-leak", "S3"] == ("pass", "")
    assert told["districts-joined", WHOLE] == ("pass", "")
    (skip,) = [item for item in told.items() if item[1][0] == "skip"]
    assert skip[0] == ("storage-not-isolatable", "pilot-road")
    assert skip[1][1].startswith("accepted: the pilot is called out")

    _, told = read(check_of(ROOT / "examples" / "faulty-yard" / "yard.toml"))
    assert told["isolation-overreach", "I4"][0] == "fail"
    assert told["isolation-overreach", "I3"] == ("pass", "")
    assert told["voltage-drop", "S2"][0] == "skip"  # I4 takes it along: it was judged as if that were mended
    assert told["voltage-drop", "S6"] == ("pass", "")

    text = (ROOT / "examples" / "faulty-yard" / "yard.toml").read_text("utf-8") + '\n[rules]\ngap-missing = "off"\n'
    _, told = read(blockcheck.check(blockcheck.loads(text, "yard.toml"), TODAY))
    assert told["gap-missing", WHOLE] == ("skip", "switched off in the layout: 1 finding not told")


def test_a_block_that_a_rule_does_not_judge_is_no_pass() -> None:
    _, told = read(check_of(ROOT / "tests" / "rules" / "channel-bypassed" / "good.toml"))
    assert ("channel-bypassed", "main") in told
    assert ("channel-bypassed", "stub") not in told  # it has no detector
    assert ("frog-short", WHOLE) not in told  # there is no turnout


SEVERE = (Severity.ERROR, Severity.WARNING, Severity.NOTE, None)


@pytest.mark.parametrize("fail_on", SEVERE)
@pytest.mark.parametrize("rule", ["gap-missing", "voltage-drop", "channel-unused"])
def test_failures_agree_with_the_exit_status(rule: str, fail_on: Severity | None) -> None:
    answer = check_of(ROOT / "tests" / "rules" / rule / "bad.toml")
    report, told = read(answer, fail_on)
    assert bool(report.failures) == answer.fails(fail_on)
    (finding,) = answer.findings
    assert told[rule, finding.subject][0] == ("fail" if answer.fails(fail_on) else "pass")
    assert finding.message in " ".join(check_junit(answer, fail_on).replace("&gt;", ">").split())


def test_what_the_baseline_knows_is_skipped() -> None:
    answer = check_of(ROOT / "tests" / "rules" / "gap-missing" / "bad.toml")
    known = attrs.evolve(answer, findings=tuple(attrs.evolve(one, known=True) for one in answer.findings), gone=("x",))
    _, told = read(known)
    (one,) = answer.findings
    assert told[one.rule, one.subject] == ("skip", f"known from the baseline: {one.message}")
    assert "fail" not in {kind for kind, _ in told.values()}
    assert "1 finding of the baseline is gone: x" in check_junit(known)


def test_each_layout_is_a_suite() -> None:
    names = ("small-yard", "faulty-yard")
    answers = [check_of(ROOT / "examples" / name / "yard.toml") for name in names]
    report, _ = read_all(joined(answers))
    assert [suite.name for suite in report] == ["Ropewalk sidings", "Osier Bank"]
    assert report.failures == 5


def read_all(answer: CheckAnswer) -> tuple[JUnitXml, Any]:
    text = check_junit(answer)
    SCHEMA.validate(text)
    return JUnitXml.fromstring(text.encode()), text


def test_input_that_is_not_understood_is_an_error() -> None:
    answer = check_files(["-"], b"format = 1\n[layout]\nname = 3\n", "yard.toml")
    report, told = read(answer, None)
    assert report.errors == 1
    assert {kind for kind, _ in told.values()} == {"error"}


@given(st.text(), st.text(), st.text())
def test_any_text_makes_a_readable_report(name: str, message: str, because: str) -> None:
    place = Place(name, 1, 1, 1, 1)
    finding = Finding(message, name, place, rule="gap-missing")
    answer = CheckAnswer(name, (finding,), accepted=(Accepted(attrs.evolve(finding, rule="frog-short"), because),))
    report, _ = read(answer)
    assert report.tests == 2
