"""Every rule against layouts that keep it and layouts that break it.

A directory here is a rule. ``good*.toml`` gives no finding of any rule; ``bad*.toml`` gives exactly the lines of the
``.expected`` file beside it, all of that rule; ``unchecked*.toml`` lists for the rule what its ``.expected`` says.
"""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

import blockcheck
from blockcheck.core.findings import Severity
from blockcheck.core.spans import Place
from blockcheck.types import Finding

HERE = Path(__file__).parent
TODAY = date(2031, 6, 1)
ON_VOLTS = (
    "voltage-drop",
    "short-will-not-trip",
    "vehicle-unseen",
    "false-occupancy",
    "inrush-lockout",
    "wire-over-current",
)


def cases(kind: str) -> list[Any]:
    return [pytest.param(path, id=f"{path.parent.name}-{path.stem}") for path in sorted(HERE.glob(f"*/{kind}*.toml"))]


def line(finding: Finding) -> str:
    """``severity rule subject [with,with] file-line:column | message``."""
    at = finding.at
    assert isinstance(at, Place)
    names = ",".join((*finding.others, *finding.alike))
    where = f"{Path(at.file).name}-{at.line}:{at.column}"
    return f"{finding.severity.value} {finding.rule} {finding.subject} [{names}] {where} | {finding.message}"


def expected(path: Path) -> list[str]:
    return path.with_suffix(".expected").read_text("utf-8").splitlines()


@pytest.mark.parametrize("path", cases("good"))
def test_good_gives_no_finding(path: Path) -> None:
    answer = blockcheck.check(blockcheck.load(path), TODAY)
    assert [line(finding) for finding in answer.findings] == []


@pytest.mark.parametrize("path", cases("bad"))
def test_bad_gives_exactly_what_is_expected(path: Path) -> None:
    answer = blockcheck.check(blockcheck.load(path), TODAY)
    assert [line(finding) for finding in answer.findings] == expected(path)
    assert {finding.rule for finding in answer.findings} == {path.parent.name}


@pytest.mark.parametrize("path", cases("bad"))
def test_a_finding_can_be_shown_and_mended(path: Path) -> None:
    """What a renderer relies on: a stretch of a line, a mend, a value with its limit, related lines that exist."""
    for finding in blockcheck.check(blockcheck.load(path), TODAY).findings:
        assert finding.help
        assert not finding.message.endswith(".")
        assert (finding.measured is None) == (finding.limit is None)
        for at in (finding.at, *(label.at for label in finding.related)):
            assert isinstance(at, Place)
            text = path.read_text("utf-8").splitlines()[at.line - 1]
            assert at.source == text
            assert at.end_line > at.line or at.column < at.end_column <= len(text) + 1


@pytest.mark.parametrize("path", [one for one in cases("bad") if "rules" not in one.values[0].read_text("utf-8")])
def test_a_rule_can_be_ranked_and_switched_off(path: Path) -> None:
    """Ranked below what it is by itself it hides no more of what follows from it than switched off."""
    rule, default = path.parent.name, {one.split()[0] for one in expected(path)}

    def findings(level: str) -> tuple[list[str], list[str]]:
        """Those of the rule and those of others."""
        text = f'{path.read_text("utf-8")}\n[rules]\n{rule} = "{level}"\n'
        told = blockcheck.check(blockcheck.loads(text, path), TODAY).findings
        own = sorted(line(finding) for finding in told if finding.rule == rule)
        return own, sorted(line(finding) for finding in told if finding.rule != rule)

    own, following = findings("off")
    assert own == []
    for level in ("error", "warning", "note"):
        own, others = findings(level)
        assert own == sorted(re.sub("^[a-z]+", level, one) for one in expected(path))
        lower = {Severity(one).rank < Severity(level).rank for one in default}
        assert lower == {True, False} or others == (following if lower == {True} else [])


@pytest.mark.parametrize("path", cases("unchecked"))
def test_what_cannot_be_checked_is_listed(path: Path) -> None:
    answer = blockcheck.check(blockcheck.load(path), TODAY)
    rule = path.parent.name
    told = [f"{one.rule} {one.subject}: {', '.join(one.needs)}" for one in answer.unchecked if one.rule == rule]
    assert told == expected(path)
    assert [finding.rule for finding in answer.findings if finding.rule == rule] == []


def test_the_rules_on_volts_say_what_they_lack() -> None:
    """A layout without wires and lengths: each of them is listed, with what it needs."""
    answer = blockcheck.check(blockcheck.load(HERE / "district-over-current" / "good.toml"), TODAY)
    for rule in ON_VOLTS:
        listed = [one for one in answer.unchecked if one.rule == rule]
        assert listed, rule
        for one in listed:
            assert one.needs
            assert all(need.split(".")[0] in ("blocks", "boosters", "districts", "loads") for need in one.needs)
