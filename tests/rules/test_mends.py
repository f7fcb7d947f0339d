"""Every finding of every rule's cases is mended as its mend says, and checked again: it is gone, nothing new came.

Where the mend is data, its edits are applied. Where it is words, what a person would type stands in the case as in the
examples that ``explain`` shows (``# mend:``), or, where there are several mends or lines, in ``typed.py``.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from tests.edited import edited
from tests.rules.typed import OTHERWISE, TYPED, Typed

import blockcheck
from blockcheck.answers.checking.check import CheckAnswer
from blockcheck.core.findings import Edit
from blockcheck.rules import RULES
from blockcheck.rules._examples import example_in, example_of
from blockcheck.types import Finding

HERE = Path(__file__).parent
TODAY = date(2031, 6, 1)
CASES = {f"{path.parent.name}/{path.stem}": path for path in sorted(HERE.glob("*/bad*.toml"))}


def check(text: str) -> CheckAnswer:
    return blockcheck.check(blockcheck.loads(text, "case.toml"), TODAY)


def names_of(finding: Finding) -> tuple[str, str, tuple[str, ...]]:
    return finding.rule, finding.subject, finding.others


def by_edits(text: str, finding: Finding) -> str:
    return edited({"case.toml": text}, (one for one in finding.edits if isinstance(one, Edit)))["case.toml"]


def by_hand(text: str, typed: Typed) -> str:
    for there, instead in typed:
        assert text.count(there) == 1, there
        text = text.replace(there, instead)
    return text


def holds(before: CheckAnswer, finding: Finding, mended: str) -> None:
    """The finding is gone, and there is none of the same or a worse severity that was not there before."""
    after = check(mended)
    known = {names_of(one) for one in before.findings}
    left = {names_of(one): one.message for one in after.findings}
    assert names_of(finding) not in left
    new = [one.message for one in after.findings if names_of(one) not in known]
    assert [
        one.message for one in after.findings if one.message in new and one.severity.rank <= finding.severity.rank
    ] == []


@pytest.mark.parametrize("name", CASES)
def test_a_mend_holds_when_it_is_done(name: str) -> None:
    text = CASES[name].read_text("utf-8")
    before, typed = check(text), iter(TYPED.get(name, ()))
    for finding in before.findings:
        if finding.edits:
            holds(before, finding, by_edits(text, finding))
        elif "# mend:" in text:
            holds(before, finding, example_in(text).passing)
        else:
            holds(before, finding, by_hand(text, next(typed)))
    assert next(typed, None) is None, "more is typed than there are mends in words"


@pytest.mark.parametrize("name", OTHERWISE)
def test_what_else_a_mend_offers_holds_too(name: str) -> None:
    text = CASES[name].read_text("utf-8")
    before = check(text)
    for typed in OTHERWISE[name]:
        holds(before, before.findings[0], by_hand(text, typed))


@pytest.mark.parametrize("rule", [rule.name for rule in RULES])
def test_the_mend_of_an_example_holds(rule: str) -> None:
    example = example_of(rule)
    before = check(example.failing)
    (finding,) = before.findings
    holds(before, finding, by_edits(example.failing, finding) if finding.edits else example.passing)


def test_nothing_is_typed_for_what_is_no_case() -> None:
    assert TYPED.keys() | OTHERWISE.keys() <= CASES.keys()
