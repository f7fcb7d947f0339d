"""Findings for paper, spreadsheets and documents."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from blockcheck.answers.document import Cell, Document, Table
from blockcheck.answers.lacking import taken, unchecked_table
from blockcheck.core.findings import Finding, Severity
from blockcheck.core.spans import Place
from blockcheck.core.words import plural
from blockcheck.formats.escape import for_markdown, for_source
from blockcheck.formats.html import Child, Html, badge, drawing_part, element, header, joined, page, table_html
from blockcheck.formats.programs.sources import Sources
from blockcheck.formats.sums import NO_ERRORS, kept_back, reservations_of, rests_on_lines, sum_of
from blockcheck.formats.table import markdown_parts
from blockcheck.formats.text import cut, number_of, positions_of, way_of

if TYPE_CHECKING:
    from blockcheck.answers.check import CheckAnswer
    from blockcheck.answers.draw import Drawing

_COLUMNS = (
    *("status", "rule", "subject", "with", "message", "help", "needs", "because"),
    *("file", "line", "column", "measured", "limit", "unit"),
)
_NO_NAME = "not understood"
_LONGEST = 120  # characters of a line that are shown on a card


def check_document(answer: CheckAnswer) -> Document:
    """For programs, one table: findings, what may have kept others from being told, what it rests on, the sum.

    ``status`` tells which a row is.
    """
    rows = [_row(finding.severity.value, finding) for finding in answer.findings]
    rows += [
        (
            "undecided" if one.undecided else "not checked",
            one.rule,
            one.subject,
            None,
            None,
            None,
            ", ".join(one.needs),
            *[None] * 7,
        )
        for one in answer.unchecked
    ]
    rows += [_row("accepted", one.finding, one.because) for one in answer.accepted]
    rows += [_said("off or lax", told) for told in kept_back(answer)]
    rows += [_said("rests on", told) for told in rests_on_lines(answer)]
    rows += [_said("sum", sum_of(answer))]
    return Document("Check", answer.layout or _NO_NAME, (), (Table("Findings", _COLUMNS, rows),))


def _row(status: str, finding: Finding, because: str | None = None) -> tuple[Cell, ...]:
    at = _place(finding)
    return (
        *(status, finding.rule, finding.subject, ", ".join(finding.others), finding.message, finding.help),
        *(None, because, at.file, at.line, at.column, finding.measured, finding.limit, finding.unit),
    )


def _said(status: str, told: str) -> tuple[Cell, ...]:
    return (status, None, None, None, told, *[None] * 9)


def _place(finding: Finding) -> Place:
    assert isinstance(finding.at, Place)
    return finding.at


def _sum(answer: CheckAnswer) -> str:
    told = sum_of(answer)
    return f"{told[0].upper()}{told[1:]}."


def kept_back_table(answer: CheckAnswer) -> Table:
    """The rules that are off, and the limits that are lax."""
    return Table("Off or lax", ("what may have kept findings from being told",), [(one,) for one in kept_back(answer)])


def accepted_table(answer: CheckAnswer) -> Table:
    """What the layout accepts, with its reasons."""
    rows = [(one.finding.rule, _names(one.finding), one.finding.message, one.because) for one in answer.accepted]
    return Table("Accepted", ("rule", "of", "what it says", "accepted because"), rows)


def _names(finding: Finding) -> str:
    return ", ".join((finding.subject, *finding.others))


def check_markdown(answer: CheckAnswer) -> str:
    """A markdown document: findings worst first, what was accepted, what was not checked."""
    parts = [f"# Check: {for_markdown(answer.layout or _NO_NAME)}", for_markdown(_sum(answer))]
    if basis := [f"- {for_markdown(one)}" for one in rests_on_lines(answer)]:
        parts.append("\n".join(basis))
    for finding in answer.findings:
        names = "" if finding.rule == "input" else f" {for_markdown(_names(finding))}"
        known = ", known from the baseline" if finding.known else ""
        parts.append(f"## {finding.severity.value}{known}: {finding.rule}{names}")
        parts.append(for_markdown(finding.message))
        lines = [f"where: {_markdown_place(_place(finding))}"]
        lines += [f"see also: {_markdown_place(at, told)}" for at, told in _related(finding)]
        lines += [f"{name}: {for_markdown(told)}" for name, told in _facts(finding)]
        parts.append("\n".join(f"- {line}" for line in lines))
    for table in _rest(answer):
        parts += markdown_parts(table)
    if answer.gone:
        parts += ["## Gone since the baseline", "\n".join(f"- {for_markdown(one)}" for one in answer.gone)]
    return "\n\n".join(parts) + "\n"


def _markdown_place(place: Place, told: str = "") -> str:
    line = for_source(place.source).strip()
    ticks = "`" * (max((len(run) for run in re.findall("`+", line)), default=0) + 1)
    pad = " " if "`" in line else ""
    source = f" {ticks}{pad}{line}{pad}{ticks}" if line else ""
    where = for_markdown(f"{place.file}:{place.line}:{place.column}")
    return f"{where}{source}{f': {for_markdown(told)}' if told else ''}"


def _related(finding: Finding) -> Iterator[tuple[Place, str]]:
    """Further places, each once: a range's line stands for many blocks."""
    together: dict[Place, list[str]] = {}
    for label in finding.related:
        if isinstance(label.at, Place):
            together.setdefault(label.at, []).append(label.message)
    for at, messages in together.items():
        yield at, "; ".join(messages)


def _facts(finding: Finding) -> Iterator[tuple[str, str]]:
    if finding.measured is not None and finding.limit is not None:
        unit = finding.unit or ""
        yield "computed", f"{number_of(finding.measured, unit)}, limit {number_of(finding.limit, unit)}"
    if finding.way:
        yield "current", way_of(finding)
    elif finding.state:
        yield "with", positions_of(finding)
    if finding.help:
        yield "mend", finding.help


def _rest(answer: CheckAnswer) -> Iterator[Table]:
    if answer.accepted:
        yield accepted_table(answer)
    if answer.unchecked:
        yield unchecked_table(answer.unchecked)
    if answer.off or answer.milder or answer.laxer:
        yield kept_back_table(answer)
    if answer.basis is not None and answer.basis.defaults:
        yield taken(answer.basis.defaults)


def check_html(answer: CheckAnswer, drawings: Sequence[Drawing] = ()) -> str:
    """A page: the sum, a card for each finding that links to its lines, the rest, the lines; then the drawings."""
    sources = sources_of(answer, answer.sources)
    parts: list[Child] = [header("Check", answer.layout or _NO_NAME), sum_html(answer)]
    parts += [element("h2", "Findings")] if answer.findings else []
    parts += [finding_html(finding, number, sources, "h3") for number, finding in enumerate(answer.findings, 1)]
    parts += [table_html(table) for table in _rest(answer)]
    if answer.gone:
        parts += [element("h2", "Gone since the baseline"), element("ul", *(element("li", one) for one in answer.gone))]
    parts += [element("h2", "Where it stands"), *sources.excerpts()] if answer.findings else []
    parts += [drawing_part(one, f"drawing-{number}") for number, one in enumerate(drawings, 1)]
    return page(f"Check: {answer.layout or _NO_NAME}", parts)


def sources_of(answer: CheckAnswer, texts: Mapping[str, str] | None = None) -> Sources:
    """The lines that the findings point at; ``texts`` are the files, by name, where they are known."""
    return Sources.of(([_place(one), *(at for at, _ in _related(one))] for one in answer.findings), texts or {})


def sum_html(answer: CheckAnswer) -> Html:
    """What was found, in badges; in a sentence where the layout could not be understood. Then what it rests on."""
    badges = [
        badge(severity.value, plural(answer.count(severity), severity.value))
        for severity in Severity
        if answer.count(severity)
    ]
    if not answer.understood:
        badges.insert(0, element("span", "The input could not be understood."))
    elif not answer.count(Severity.ERROR):
        badges.insert(0, badge("fine", NO_ERRORS))
    badges += [badge("plain", told) for told in reservations_of(answer)]
    basis = [element("li", told) for told in rests_on_lines(answer)]
    verdict = element("p", joined(badges, " "), class_="sum")
    return joined([verdict, element("ul", *basis, class_="muted")]) if basis else verdict


def finding_html(finding: Finding, number: int, sources: Sources, heading: str) -> Html:
    """A card: what is wrong, where, what was measured, how the current goes, how to mend it."""
    names = None if finding.rule == "input" else f" {_names(finding)}"
    known = " (known from the baseline)" if finding.known else None
    facts: list[Child] = [element("dt", "where"), element("dd", sources.link(_place(finding)))]
    for at, told in _related(finding):
        facts += [element("dt", "see also"), element("dd", sources.link(at), f" {told}")]
    for name, told in _facts(finding):
        told = told.replace(" > ", " \u2192 ") if name == "current" else told
        facts += [element("dt", name), element("dd", told)]
    return element(
        "article",
        element(heading, f"{number} ", badge(finding.severity.value), f" {finding.message}"),
        element("p", element("code", finding.rule), names, known, class_="names"),
        line_html(_place(finding)),
        element("dl", *facts, class_="facts"),
        class_=f"card {finding.severity.value}",
        id=f"finding-{number}",
    )


def line_html(place: Place) -> Html | None:
    """The line that a place is on, with what is meant marked; None where there is nothing to show."""
    if not place.source.strip():
        return None
    source, start = cut(place.source, place.column - 1, _LONGEST)
    end = start + max(place.end_column - place.column, 1) if place.end_line == place.line else len(source)
    gutter = element("span", f"{place.line:>4}  ", class_="line")
    return element("pre", gutter, source[:start], element("mark", source[start:end]), source[end:])
