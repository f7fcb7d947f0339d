"""Every finding of every rule's cases is mended as its mend says, and checked again: it is gone, nothing new came."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from tests.edited import edited

import blockcheck
from blockcheck.answers.check import CheckAnswer
from blockcheck.core.findings import Edit
from blockcheck.rules import RULES
from blockcheck.rules._examples import example_of
from blockcheck.types import Finding

HERE = Path(__file__).parent
TODAY = date(2031, 6, 1)


def check(text: str) -> CheckAnswer:
    return blockcheck.check(blockcheck.loads(text, "case.toml"), TODAY)


def texts() -> dict[str, str]:
    found = {f"{path.parent.name}/{path.stem}": path.read_text("utf-8") for path in sorted(HERE.glob("*/bad*.toml"))}
    return found | {f"{rule.name}/example": example_of(rule.name).failing for rule in RULES}


def name_of(finding: Finding) -> tuple[str, str, tuple[str, ...]]:
    return finding.rule, finding.subject, finding.others


@pytest.mark.parametrize("name", texts())
def test_mend(name: str) -> None:
    text = texts()[name]
    before = check(text)
    for finding in before.findings:
        if not finding.edits:
            continue
        edits = [one for one in finding.edits if isinstance(one, Edit)]
        after = check(edited({"case.toml": text}, edits)["case.toml"])
        known = {name_of(one) for one in before.findings}
        left = {name_of(one): one.message for one in after.findings if one.severity.rank <= finding.severity.rank}
        assert name_of(finding) not in left
        assert not left.keys() - known, left
