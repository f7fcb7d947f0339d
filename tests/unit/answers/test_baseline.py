"""Held against an earlier answer: new, known and gone, by fingerprint and count; what is no answer is refused."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import blockcheck
from blockcheck.__main__ import main
from blockcheck.answers.checking.baseline import compared, fingerprints
from blockcheck.answers.checking.check import CheckAnswer, joined
from blockcheck.core.errors import CallError
from blockcheck.core.findings import Finding, Severity
from blockcheck.core.spans import Place

FAULTY = Path(__file__).resolve().parents[3] / "examples" / "faulty-yard" / "yard.toml"
PLACE = Place("yard.toml", 1, 1, 1, 2)


def answer_of(*subjects: str) -> CheckAnswer:
    return CheckAnswer("Yard", tuple(Finding("so", subject, PLACE, rule="gap-missing") for subject in subjects))


def text_of(*prints: str) -> str:
    return json.dumps({"format": 1, "findings": [{"fingerprint": one, "rule": "gap-missing"} for one in prints]})


NAMES = st.lists(st.sampled_from("abc"), max_size=8)


@given(NAMES, NAMES, NAMES)
def test_counts_are_those_of_multisets(before: list[str], first: list[str], second: list[str]) -> None:
    earlier = fingerprints(text_of(*(f"gap-missing:{one}" for one in before)), "old.json")
    answer = compared(joined([answer_of(*first), answer_of(*second)]), earlier)
    old, now = Counter(before), Counter([*first, *second])
    new = Counter(finding.subject for finding in answer.new)
    known = Counter(finding.subject for finding in answer.findings if finding.known)
    assert new == now - old
    assert known == now & old
    assert Counter(one.removeprefix("gap-missing:") for one in answer.gone or ()) == old - now
    assert answer.fails(Severity.ERROR) == bool(new)
    assert Counter(f.known for part in answer.parts for f in part.findings) == Counter(f.known for f in answer.findings)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "it is not JSON"),
        ("[[boosters]]", "it is not JSON"),
        ("[" * 100_000, "it is not JSON"),
        ("[]", "is no answer of a check"),
        ("{}", "is no answer of a check"),
        ('{"format": 1, "rows": []}', "is no answer of a check"),
        ('{"format": true, "findings": []}', "is no answer of a check"),
        ('{"format": 2, "findings": []}', "has format 2, and this version reads format 1"),
        ('{"format": 1, "findings": [3]}', "finding 1 has no fingerprint"),
        ('{"format": 1, "findings": [{"fingerprint": 3}]}', "finding 1 has no fingerprint"),
        ('{"format": 1, "findings": [{"fingerprint": "x", "rule": "input"}]}', "could not be understood"),
    ],
)
def test_what_is_no_answer_is_refused(text: str, message: str) -> None:
    with pytest.raises(CallError) as caught:
        fingerprints(text, "old.json")
    assert '"old.json"' in str(caught.value)
    assert message in str(caught.value)
    assert caught.value.help


def check(*arguments: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, Any]]:
    status = main(["check", *arguments, "--format", "json"])
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return status, found


def test_from_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, first = check(str(FAULTY), capsys=capsys)
    assert (status, first["baseline"]) == (1, None)
    assert {one["known"] for one in first["findings"]} == {None}
    old = tmp_path / "old.json"
    old.write_text(json.dumps(first), "utf-8")

    status, same = check(str(FAULTY), "--baseline", str(old), capsys=capsys)
    assert (status, same["baseline"]) == (0, {"new": 0, "known": 5, "gone": []})
    assert {one["known"] for one in same["findings"]} == {True}

    yard = tmp_path / "yard.toml"  # one mended, one made, and all lines moved
    text = "# moved\n\n" + FAULTY.read_text("utf-8").replace("wagon = 18", "wagon = 17")
    yard.write_text(text.replace('gap = "both"', 'gap = "none"', 1), "utf-8")
    status, changed = check(str(yard), "--baseline", str(old), capsys=capsys)
    assert status == 1
    assert changed["baseline"]["known"] == 4
    assert changed["baseline"]["gone"] == ["train-too-long:clay:S6"]
    assert changed["baseline"]["new"] == sum(not one["known"] for one in changed["findings"]) > 0

    old.write_text(json.dumps(changed), "utf-8")  # an answer that was itself held against one is a baseline too
    assert check(str(yard), "--baseline", str(old), capsys=capsys)[0] == 0


def test_what_is_not_understood_is_never_known(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    old = tmp_path / "old.json"
    old.write_text(text_of(), "utf-8")
    yard = tmp_path / "yard.toml"
    yard.write_text("format = 1\n[layout]\nname = 3\n")
    assert main(["check", str(yard), "--baseline", str(old)]) == 2
    assert main(["check", str(yard), "--baseline", "/none.json"]) == 2
    assert "none.json" in capsys.readouterr().err


def test_the_text_tells_new_ones_whole_and_known_ones_in_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    answer = blockcheck.check(blockcheck.load(FAULTY))
    prints = [one.fingerprint for one in answer.findings if one.rule != "gap-missing"]
    from blockcheck.formats.style import Style
    from blockcheck.formats.text import document_text

    text = document_text(compared(answer, Counter([*prints, "voltage-drop:S1"])).document(), Style())
    head, _, tail = text.partition("Known from the baseline")
    assert "gap-missing" in head
    assert "channel-shared" not in head
    assert tail.count("\n  error  ") == 4
    assert "Gone since the baseline\n  voltage-drop:S1" in tail
    assert "5 errors; 1 new, 4 known and 1 gone since the baseline.\n" in text
