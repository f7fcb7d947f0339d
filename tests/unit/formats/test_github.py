"""Annotations and the job's summary: what went in comes out, worst first, and what is left out is counted."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import attrs
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

import blockcheck
from blockcheck.answers.checking.check import CheckAnswer
from blockcheck.core.findings import Accepted, Finding, Severity, Unchecked, order
from blockcheck.core.shown import on_one_line
from blockcheck.core.spans import Place
from blockcheck.formats.programs.github import MOST_CHARACTERS, MOST_SUMMARY, check_github, summary_markdown

ROOT = Path(__file__).resolve().parents[3]
LEVELS = {"error": Severity.ERROR, "warning": Severity.WARNING, "notice": Severity.NOTE}

Command = tuple[str, dict[str, str], str]


def data(text: str) -> str:
    """Unescape as the runner does (actions/runner, ActionCommand.UnescapeData)."""
    return text.replace("%0D", "\r").replace("%0A", "\n").replace("%25", "%")


def property_(text: str) -> str:
    """Unescape as the runner does (actions/runner, ActionCommand.UnescapeProperty)."""
    return data(text.replace("%3A", ":").replace("%2C", ",").replace("%25", "\0")).replace("\0", "%")


def decoded(line: str) -> Command | None:
    """A workflow command as the runner reads it, or None for a line that is none."""
    if not line.startswith("::"):
        return None
    head, _, message = line[2:].partition("::")
    name, _, rest = head.partition(" ")
    pairs = (one.partition("=") for one in rest.split(","))
    return name, {key: property_(value) for key, _, value in pairs}, data(message)


def commands(text: str) -> list[Command]:
    return [one for one in map(decoded, text.split("\n")) if one is not None]


def finding(number: int = 0, severity: Severity = Severity.ERROR, **more: object) -> Finding:
    made = Finding(f"it is so, {number}", f"S{number}", Place("yard.toml", 3, 2, 3, 9), rule="gap-missing")
    return attrs.evolve(made, severity=severity, **more)  # type: ignore[arg-type]


def answer_of(*findings: Finding) -> CheckAnswer:
    return CheckAnswer("Yard", tuple(sorted(findings, key=order)))


AWKWARD = st.text(st.one_of(st.sampled_from("%:,\r\n\t;=0123ADC "), st.characters(codec="utf-8")), max_size=60)


@given(AWKWARD, AWKWARD, AWKWARD, AWKWARD)
def test_what_goes_in_comes_out(file: str, subject: str, message: str, help_: str) -> None:
    at = Place(f"f{file}", 3, 2, 3, 9)
    one = attrs.evolve(finding(), at=at, subject=f"s{subject}", message=f"m{message}", help=f"h{help_}")
    text = check_github(answer_of(one))
    assert text.count("\n") == 2  # the command, and the sum
    assert "\r" not in text
    assert commands(text) == [
        (
            "error",
            {
                "file": on_one_line(f"f{file}"),
                "line": "3",
                "endLine": "3",
                "col": "2",
                "endColumn": "9",
                "title": on_one_line(f"gap-missing: s{subject}"),
            },
            f"{on_one_line(f'm{message}')}\n{on_one_line(f'mend: h{help_}')}",
        )
    ]


@pytest.mark.parametrize("text", ["100%", "%0A", "%25", "a:b,c", "::error::no", "line line", "%3A%2C", "##[x]"])
def test_awkward_texts(text: str) -> None:
    one = attrs.evolve(finding(), at=Place(text, 1, 1, 1, 2), message=text, subject=text)
    ((_, properties, message),) = commands(check_github(answer_of(one)))
    assert (properties["file"], message, properties["title"]) == (text, text, f"gap-missing: {text}")


def test_ten_of_a_type_are_shown_worst_first_and_the_rest_is_counted() -> None:
    many = [finding(number, severity) for severity in reversed(Severity) for number in range(12)]
    text = check_github(answer_of(*many, finding(12, Severity.NOTE)))
    found = commands(text)
    assert [name for name, _, _ in found] == ["error"] * 10 + ["warning"] * 10 + ["notice"] * 10
    assert [message for _, _, message in found[:10]] == [f"it is so, {number}" for number in range(10)]
    assert "7 more findings are not annotated (2 errors, 2 warnings, 3 notes)" in text


def test_a_long_message_is_cut_and_says_so() -> None:
    ((_, _, message),) = commands(check_github(answer_of(finding(message="x" * 5000))))
    assert len(message) == MOST_CHARACTERS
    assert message.endswith("...")
    ((_, properties, _),) = commands(check_github(answer_of(finding(subject="x" * 5000))))
    assert len(properties["title"]) == 255


def test_a_stretch_of_several_lines_has_no_columns_and_stock_no_file() -> None:
    ((_, properties, _),) = commands(check_github(answer_of(finding(at=Place("yard.toml", 3, 2, 5, 1)))))
    assert (properties["line"], properties["endLine"]) == ("3", "5")
    assert "col" not in properties
    ((_, properties, _),) = commands(check_github(answer_of(finding(at=Place("stock:boards", 3, 2, 3, 4)))))
    assert set(properties) == {"title"}


def test_only_what_is_new_is_annotated() -> None:
    answer = attrs.evolve(answer_of(finding(1, known=True), finding(2, known=False)), gone=("a", "b"))
    text = check_github(answer)
    assert [message for _, _, message in commands(text)] == ["it is so, 2"]
    assert text.endswith("blockcheck: 2 errors; 1 new, 1 known and 2 gone since the baseline.\n")
    summary = summary_markdown(answer)
    assert "| error | known | gap-missing | S1 |" in summary
    assert "| error | **new** | gap-missing | S2 |" in summary
    assert "**Gone since the baseline**" in summary


def test_the_summary_tells_all() -> None:
    path = ROOT / "examples" / "faulty-yard" / "yard.toml"
    answer = blockcheck.check(blockcheck.load(path), date(2031, 6, 1))
    extra = attrs.evolve(
        answer,
        unchecked=(Unchecked("voltage-drop", "S1", ("blocks.S1.length",)),),
        accepted=(Accepted(answer.findings[0], "it | is <meant>"),),
    )
    text = summary_markdown(extra)
    rows = [line for line in text.splitlines() if line.startswith("| error")]
    assert [row.split(" | ")[1] for row in rows] == [one.rule for one in answer.findings]
    assert "- voltage-drop for S1: needs blocks.\\*.length" in text
    assert "it \\| is \\<meant>" in text


@given(AWKWARD, AWKWARD)
@example("**new**", "**new**")
def test_nothing_in_the_summary_is_markup(subject: str, message: str) -> None:
    text = summary_markdown(answer_of(attrs.evolve(finding(), subject=subject, message=message)))
    (row,) = [line for line in text.split("\n") if line.startswith("| error")]
    tokens = (
        MarkdownIt("commonmark").enable(["table", "strikethrough"]).parse(f"| a |{' - |' * 5}\n|{'---|' * 6}\n{row}")
    )
    cells = [one for one in tokens if one.type == "inline"][6:]
    assert len(cells) == 6
    assert not [inner for one in cells for inner in one.children or () if not inner.type.startswith("text")]


def test_a_long_summary_is_cut_to_its_room_and_says_so() -> None:
    many = answer_of(*(finding(number) for number in range(20_000)))
    assert len(summary_markdown(many).encode()) <= MOST_SUMMARY
    for room in (0, 100, 300, 1000, 5000):
        text = summary_markdown(many, room)
        assert len(text.encode()) <= room
        assert not text or re.search(r"\d+ more lines have no room", text)
