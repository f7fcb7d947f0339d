"""One walk over all rules: each is named, told, ranked, shown by cases, and can be switched."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

import blockcheck
from blockcheck.__main__ import main
from blockcheck.answers.checking.check import CheckAnswer
from blockcheck.answers.explain import RuleAnswer
from blockcheck.core.findings import Severity
from blockcheck.rules import RULES, rule_named

HERE = Path(__file__).parent
MODULES = Path(blockcheck.__file__).parent / "rules"

FAMILIES = ("structure", "isolation", "joining", "budgets", "electrics", "operation", "hygiene")
LAYOUT = """format = 1
layout = {{ name = "Sandling", control = "dcc" }}
boosters.B1 = {{ voltage = "14 V", current = "3 A" }}
districts.yard = {{ booster = "B1" }}
[rules]
{}
"""


def switched(lines: str) -> CheckAnswer:
    case = blockcheck.loads(LAYOUT.format(lines), "sandling.toml")
    return blockcheck.check(case, date(2031, 6, 1))


def test_all_rules(capsys: pytest.CaptureFixture[str]) -> None:
    assert {rule.family for rule in RULES} == {*FAMILIES}
    assert len({rule.name for rule in RULES}) == len(RULES)

    files = {path.stem for path in MODULES.glob("*.py") if not path.stem.startswith("_")}
    assert {rule.name.replace("-", "_") for rule in RULES} == files

    answers = {answer.rule: answer for answer in blockcheck.explain(every=True).rules}
    assert list(answers) == [rule.name for rule in RULES]
    for rule in RULES:
        assert re.fullmatch(r"[a-z]+(-[a-z]+)+", rule.name), rule.name
        assert rule_named(rule.name) is rule
        assert (rule.check is None) != (rule.review is None), rule.name
        for text in (rule.sentence, rule.why, rule.mend):
            assert text.endswith("."), rule.name
            assert not text.endswith(".."), rule.name
            assert len(text.split()) >= 4, rule.name
            assert "  " not in text, rule.name
            assert "\n" not in text, rule.name
        assert rule.sentence[0].isupper(), rule.name

        answer = blockcheck.explain(rule.name)
        assert answer == answers[rule.name]
        assert isinstance(answer, RuleAnswer)
        assert main(["explain", rule.name]) == 0
        shown = " ".join(capsys.readouterr().out.split())
        for text in (rule.name, rule.severity.value, rule.sentence, rule.why, rule.mend):
            assert " ".join(text.split()) in shown, rule.name

        for level in (*Severity, None):
            word = level.value if level is not None else "off"
            assert switched(f'{rule.name} = "{word}"').understood

        bad = [*(HERE / rule.name).glob("bad*.toml")]
        told = [one.with_suffix(".expected").read_text("utf-8").splitlines() for one in bad]
        assert told, rule.name
        assert all(told), rule.name
        assert rule.severity.value in {one.partition(" ")[0] for lines in told for one in lines}, rule.name
    homes = {path.name for path in HERE.iterdir() if path.is_dir() and not path.name.startswith(("_", "."))}
    assert homes == answers.keys()

    with pytest.raises(blockcheck.InputError) as caught:
        switched('gap-mising = "off"')
    assert [(one.message, one.help) for one in caught.value.findings] == [
        ('"gap-mising" is no rule', 'did you mean "gap-missing"?')
    ]
