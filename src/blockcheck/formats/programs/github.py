"""A check as GitHub Actions shows it: annotations, as workflow commands, and the job's summary, in markdown.

Of annotations 10 of a type and 50 of a job are shown, each of 4,096 characters at most; a summary may have 1 MiB.
(GitHub's documentation of workflow commands.) What is left out is counted.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from blockcheck.answers.checking.check import kept_back, sum_of, verdict
from blockcheck.answers.lacking import kind_of_need
from blockcheck.core.findings import Finding, Severity
from blockcheck.core.shown import on_one_line
from blockcheck.core.spans import Place
from blockcheck.core.words import cut_short, plural
from blockcheck.formats.escape import for_command, for_markdown, for_property, for_text

if TYPE_CHECKING:
    from blockcheck.answers.checking.check import CheckAnswer

MOST_OF_A_TYPE = 10
MOST_OF_A_JOB = 50
MOST_CHARACTERS = 4096
MOST_SUMMARY = 1 << 20
_COMMAND = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "notice"}


def check_github(answer: CheckAnswer, in_repository: Callable[[str], str] = str) -> str:
    """The findings that are new as workflow commands, worst first, and a line that says what is left out."""
    shown: list[Finding] = []
    left = dict.fromkeys(Severity, 0)
    for finding in answer.new:
        of_its_type = sum(one.severity is finding.severity for one in shown)
        if of_its_type < MOST_OF_A_TYPE and len(shown) < MOST_OF_A_JOB:
            shown.append(finding)
        else:
            left[finding.severity] += 1
    lines = [_command(finding, in_repository) for finding in shown]
    counts = ", ".join(plural(count, severity.value) for severity, count in left.items() if count)
    if counts:
        total = sum(left.values())
        lines.append(
            f"{plural(total, 'more finding')} {'is' if total == 1 else 'are'} not annotated ({counts}): GitHub shows "
            f"{MOST_OF_A_TYPE} of a type. The job's summary lists them."
        )
    told = (*kept_back(answer), *verdict(answer).lines, sum_of(answer))
    lines += [for_text(f"blockcheck: {one}.") for one in told]
    return "\n".join(lines) + "\n"


def _command(finding: Finding, in_repository: Callable[[str], str]) -> str:
    at = finding.at
    properties: dict[str, object] = {}
    if isinstance(at, Place) and not at.file.startswith("stock:"):
        properties = {"file": in_repository(at.file), "line": at.line, "endLine": max(at.end_line, at.line)}
        if at.end_line == at.line:  # columns are for one line only
            properties |= {"col": at.column, "endColumn": max(at.end_column, at.column)}
    names = (
        ", ".join(filter(None, (finding.subject, *(*finding.others, *finding.alike)[:4])))
        if finding.rule != "input"
        else ""
    )
    properties["title"] = cut(f"{finding.rule}: {names}" if names else finding.rule, 255)
    told = [finding.message, *([f"mend: {finding.help}"] if finding.help else [])]
    message = cut("\n".join(map(on_one_line, told)), MOST_CHARACTERS)
    named = ",".join(f"{name}={for_property(str(value))}" for name, value in properties.items())
    return f"::{_COMMAND[finding.severity]} {named}::{for_command(message)}"


def cut(text: str, most: int) -> str:
    """A text of at most that many characters; one that is cut says so."""
    return text if len(text) <= most else text[: most - 3] + "..."


def summary_markdown(answer: CheckAnswer, most_bytes: int = MOST_SUMMARY) -> str:
    """The job's summary: all findings in a table, what is not checked, accepted, off or lax; cut to ``most_bytes``."""
    told = sum_of(answer)
    head = [
        f"## blockcheck: {for_markdown(answer.layout or 'a layout that could not be understood')}",
        "",
        f"{told[0].upper()}{told[1:]}.",
        "",
    ]
    rows: list[str] = []
    if answer.findings:
        known = answer.gone is not None
        columns = ["", *(["since"] if known else []), "rule", "names", "what", "where", "mend"]
        rows += [_row(columns), _row(["---"] * len(columns))]
        rows += [_finding_row(finding, known) for finding in answer.findings]
    for title, lines in (
        ("Gone since the baseline", _gone(answer)),
        ("Not checked", _unchecked(answer)),
        ("Accepted", _accepted(answer)),
        ("Off or lax", [f"- {for_markdown(one)}" for one in kept_back(answer)]),
        ("What it rests on", [f"- {for_markdown(one)}" for one in verdict(answer).lines]),
    ):
        if lines:
            rows += ["", f"**{title}**", "", *lines]
    text = "\n".join([*head, *rows]) + "\n"
    if len(text.encode("utf-8", "replace")) <= most_bytes:
        return text
    room = most_bytes - len("\n".join(head).encode("utf-8", "replace")) - 200
    kept: list[str] = []
    for row in rows:
        room -= len(row.encode("utf-8", "replace")) + 1
        if room < 0:
            break
        kept.append(row)
    if room >= 0 or not kept:
        return ""
    left = f"{len(rows) - len(kept)} more lines have no room in a summary; `blockcheck check` shows all."
    return "\n".join([*head, *kept, "", left]) + "\n"


def _finding_row(finding: Finding, known: bool) -> str:
    at = finding.at
    where = f"{at.file}:{at.line}:{at.column}" if isinstance(at, Place) else ""
    names = ", ".join((finding.subject, *(*finding.others, *finding.alike)[:4])) if finding.rule != "input" else ""
    since = ["known" if finding.known else "**new**"] if known else []
    words = (finding.rule, names, finding.message, where, finding.help or "")
    return _row([finding.severity.value, *since, *(for_markdown(one, inside=True) for one in words)])


def _gone(answer: CheckAnswer) -> list[str]:
    return [f"- {for_markdown(one)}" for one in answer.gone or ()]


def _unchecked(answer: CheckAnswer) -> list[str]:
    groups: dict[tuple[str, str], list[str]] = {}
    for one in answer.unchecked:
        needs = ", ".join(dict.fromkeys(map(kind_of_need, one.needs)))
        groups.setdefault((one.rule, needs), []).append(one.subject)
    return [
        f"- {for_markdown(rule)} for {for_markdown(cut_short(names, 8))}: needs {for_markdown(needs)}"
        for (rule, needs), names in groups.items()
    ]


def _accepted(answer: CheckAnswer) -> list[str]:
    return [
        f"- {for_markdown(one.finding.rule)} {for_markdown(one.finding.subject)}: {for_markdown(one.because)}"
        for one in answer.accepted
    ]


def _row(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |"
