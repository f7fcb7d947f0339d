"""One walk over all rules: each is named, told, ranked, shown by cases, and can be switched."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

import blockcheck
from blockcheck.__main__ import main
from blockcheck.answers.check import CheckAnswer
from blockcheck.answers.explain import RuleAnswer
from blockcheck.core.findings import Severity
from blockcheck.rules import RULES, rule_named

HERE = Path(__file__).parent
MODULES = Path(blockcheck.__file__).parent / "rules"

TABLE = {
    "structure": "nothing-described E, names-alike W, unknown-name E, turnouts-disagree E, block-without-channel E, "
    "channel-shared E, channel-out-of-range E, channel-unused N, bank-district-mismatch E, address-clash E, "
    "threshold-too-high E, isolator-unused W, pole-shared E, pole-out-of-range E, track-number-clash E, "
    "harness-two-returns E",
    "isolation": "isolation-leak E, isolation-overreach E, isolation-no-effect E, detection-not-dropped E, "
    "detection-not-held E, isolates-common-rail W, storage-not-isolatable W",
    "joining": "rails-crossed E, reversing-tied E, reversing-neighbours E, reversing-too-short E, "
    "districts-joined E, channel-bypassed E, channel-crosstalk E, gap-missing E, "
    "unpowered-joined E, frog-short E, joint-missing W",
    "budgets": "district-over-current E, district-near-limit W, booster-over-current E, channel-over-current E, "
    "contact-over-current E, wire-over-current E, expectation-impossible W",
    "electrics": "voltage-drop W, short-will-not-trip E, vehicle-unseen E, false-occupancy E, inrush-lockout E",
    "operation": "train-too-long E, trains-do-not-fit E, false-clear W, scenario-expectation E",
    "hygiene": "name-unused N, accept-unused W, accept-expired W",
}
"""Family -> its rules, each with its severity, as the design has them."""

RANKS = {"E": "error", "W": "warning", "N": "note"}
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
    table = {
        name: (family, RANKS[rank])
        for family, rules in TABLE.items()
        for name, rank in (one.split(" ") for one in rules.split(", "))
    }
    assert {rule.name: (rule.family, rule.severity.value) for rule in RULES} == table
    assert len(RULES) == len(table)

    files = {path.stem for path in MODULES.glob("*.py") if not path.stem.startswith("_")}
    assert {rule.name.replace("-", "_") for rule in RULES} == files

    told = {answer.rule: answer for answer in blockcheck.explain(every=True).rules}
    assert list(told) == [rule.name for rule in RULES]
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
        assert answer == told[rule.name]
        assert isinstance(answer, RuleAnswer)
        assert main(["explain", rule.name]) == 0
        shown = " ".join(capsys.readouterr().out.split())
        for text in (rule.name, rule.severity.value, rule.sentence, rule.why, rule.mend):
            assert " ".join(text.split()) in shown, rule.name

        for level in (*Severity, None):
            word = level.value if level is not None else "off"
            assert switched(f'{rule.name} = "{word}"').understood

        cases = HERE / rule.name
        assert (cases / "good.toml").is_file(), rule.name
        assert (cases / "bad.toml").is_file(), rule.name
        for bad in cases.glob("bad*.toml"):
            assert bad.with_suffix(".expected").read_text("utf-8").strip(), bad
    homes = {path.name for path in HERE.iterdir() if path.is_dir() and not path.name.startswith(("_", "."))}
    assert homes <= told.keys()

    with pytest.raises(blockcheck.InputError) as caught:
        switched('gap-mising = "off"')
    assert [(one.message, one.help) for one in caught.value.findings] == [
        ('"gap-mising" is no rule', 'did you mean "gap-missing"?')
    ]
