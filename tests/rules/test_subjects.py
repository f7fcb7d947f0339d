"""What a rule says that it judges: every finding is about something of it, and it tells no more than it looks at."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

import blockcheck
from blockcheck.answers.checking.check import CheckAnswer
from blockcheck.rules import RULES, example_of, run

HERE = Path(__file__).parent
TODAY = date(2031, 6, 1)
CASES = sorted(HERE.glob("*/*.toml"))
AS_ONE = {"unknown-name", "districts-joined", "nothing-described"}
"""Rules that judge the layout as one: their findings are about what does not exist, or about pairs of districts."""


def held(answer: CheckAnswer, rule: str) -> dict[str | None, bool]:
    return {one.subject: one.clear for one in answer.held() if one.rule == rule}


def check(path: Path) -> CheckAnswer:
    return blockcheck.check(blockcheck.load(path), TODAY)


def test_all_other_rules_tell_their_subjects() -> None:
    applied = [one for path in CASES for one in run(blockcheck.load(path), TODAY).applied]
    assert {one.rule for one in applied if None in one.judged} == AS_ONE
    assert {one.rule for one in applied if one.judged} == {rule.name for rule in RULES}


@pytest.mark.parametrize("path", CASES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_findings_are_about_what_the_rule_judges(path: Path) -> None:
    report = run(blockcheck.load(path), TODAY)
    applied = {one.rule: one for one in report.applied}
    for finding in (*report.findings, *(one.finding for one in report.accepted)):
        one = applied[finding.rule]
        judged = set(one.judged)
        if None not in judged:
            names = (finding.subject, finding.subject.partition(".")[0], *finding.others)
            assert judged & set(names), finding.rule
            told = {name for name, _ in one.held()}
            assert not told & set(names)


@pytest.mark.parametrize("rule", [rule.name for rule in RULES])
def test_a_rule_that_is_kept_holds_of_something(rule: str) -> None:
    """Of the layout that ``explain`` shows, or of a case where there is more to it."""
    example = blockcheck.check(blockcheck.loads(example_of(rule).passing, "yard.toml"), TODAY)
    cases = (check(path) for path in sorted((HERE / rule).glob("good*.toml")))
    assert any(clear for answer in (example, *cases) for clear in held(answer, rule).values())


def test_what_lacks_data_does_not_hold() -> None:
    """Not the scenario either whose block it is, nor the conductor on which it hangs."""
    answer = check(HERE / "scenario-expectation" / "unchecked.toml")
    assert held(answer, "scenario-expectation") == {}
    for path in sorted(HERE.glob("*/unchecked*.toml")):
        answer = check(path)
        for lack in answer.unchecked:
            assert lack.subject not in held(answer, lack.rule)


def test_what_an_earlier_finding_is_about_is_not_clear() -> None:
    answer = blockcheck.check(blockcheck.load(HERE.parents[1] / "examples" / "faulty-yard" / "yard.toml"), TODAY)
    leaks = held(answer, "isolation-leak")
    assert leaks["S6"] is True
    assert leaks["S5"] is False  # gap-missing is about its joint
    assert held(answer, "voltage-drop")["S2"] is False  # isolation-overreach is about it


def test_what_nothing_is_known_of_is_not_judged() -> None:
    for path in sorted(HERE.glob("*/good*.toml")):
        case = blockcheck.load(path)
        answer = blockcheck.check(case, TODAY)
        undetected = {name for name, fed in case.wiring.fed.items() if fed.channel is None}
        for rule in ("channel-bypassed", "channel-crosstalk", "vehicle-unseen", "false-occupancy", "false-clear"):
            assert not undetected & {str(name) for name in held(answer, rule)}
