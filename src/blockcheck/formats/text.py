"""Answers as text for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from blockcheck.answers.document import (
    Brief,
    Document,
    Figure,
    Findings,
    Item,
    Lines,
    Says,
    Section,
    Shown,
    Table,
    Todo,
)
from blockcheck.answers.lacking import unchecked_table
from blockcheck.core.findings import Finding, likewise
from blockcheck.core.natural import condensed
from blockcheck.core.spans import Place
from blockcheck.core.words import cut_short
from blockcheck.formats import sums
from blockcheck.formats.escape import for_source, for_text
from blockcheck.formats.style import Style
from blockcheck.formats.table import text_of

if TYPE_CHECKING:  # the answers of other commands are not loaded
    from blockcheck.answers.check import CheckAnswer


def check_text(answer: CheckAnswer, style: Style) -> str:
    """Findings worst first, then what was not checked and what was accepted, then the sum."""
    parts = [_finding(finding, style) for finding in likewise(answer.new)]
    parts += list(_compared(answer, style))
    if answer.accepted:
        lines = [style.paint("Accepted", "bold")]
        lines += [
            style.wrap(f"{one.finding.rule}  {one.finding.subject}: {one.because}", "  ", "      ")
            for one in answer.accepted
        ]
        parts.append("\n".join(lines))
    if answer.unchecked:
        parts.append(part_text(unchecked_table(answer.unchecked), style))
    kept_back = [style.wrap(line, "  ", "      ") for line in sums.kept_back(answer)]
    if kept_back:
        parts.append("\n".join([style.paint("Off or lax", "bold"), *kept_back]))
    parts.append("\n".join([_sum(answer, style), *_rests_on(answer, style)]))
    return "\n\n".join(parts) + "\n"


def _compared(answer: CheckAnswer, style: Style) -> Iterator[str]:
    """What an earlier answer had: known findings in a line each, and what is gone."""
    known = [finding for finding in answer.findings if finding.known]
    if known:
        lines = [f"{one.severity.value}  {one.rule}  {one.subject}: {one.message}" for one in likewise(known)]
        heading = style.paint("Known from the baseline", "bold")
        yield "\n".join([heading, *(style.wrap(line, "  ", "      ") for line in lines)])
    if answer.gone:
        lines = [style.wrap(one, "  ", "      ") for one in answer.gone]
        yield "\n".join([style.paint("Gone since the baseline", "bold"), *lines])


def _sum(answer: CheckAnswer, style: Style) -> str:
    told = sums.sum_of(answer)
    if not answer.understood:
        return f"{told[0].upper()}{told[1:]}."
    name, fine = for_text(answer.layout or ""), style.paint(sums.NO_ERRORS, "bold", "green")
    return f"{name}: {told.replace(sums.NO_ERRORS, fine, 1)}."


def _rests_on(answer: CheckAnswer, style: Style) -> Iterator[str]:
    """What the verdict rests on, in three lines at most: of many items as many as the reader's width holds."""
    for head, told in sums.rests_on(answer):
        shown = next((n for n in range(len(told), 1, -1) if len(cut_short(told, n)) + len(head) + 4 <= style.width), 1)
        yield style.wrap(f"{head}: {cut_short(told, shown)}", "  ", "    ")


def _finding(finding: Finding, style: Style) -> str:
    subject, *alike = condensed((finding.subject, *finding.alike))
    names = names_of(subject, (*alike, *finding.others))
    head = f"{style.severity(finding.severity)}  {style.paint(finding.rule, 'bold')}"
    lines = [head if finding.rule == "input" else f"{head}  {for_text(names)}"]
    lines.append(style.wrap(finding.message, "  "))
    assert isinstance(finding.at, Place)
    lines += _excerpt(finding.at, None, "^", style)
    together: dict[Place, list[str]] = {}  # a range's line stands for many blocks, and is shown once
    for label in finding.related:
        assert isinstance(label.at, Place)
        together.setdefault(label.at, []).append(label.message)
    for at, messages in together.items():
        lines += _excerpt(at, "; ".join(dict.fromkeys(messages)), "-", style)
    if finding.measured is not None and finding.limit is not None:
        unit = finding.unit or ""
        lines.append(f"  computed  {number_of(finding.measured, unit)}, limit {number_of(finding.limit, unit)}")
    if finding.way:
        lines.append(style.wrap("current   " + way_of(finding), "  ", "            "))
    elif finding.state:
        lines.append(style.wrap("with      " + positions_of(finding), "  ", "            "))
    if finding.help:
        lines.append(style.wrap("mend      " + finding.help, "  ", "            "))
    return "\n".join(lines)


def number_of(value: float, unit: str) -> str:
    """With four digits, and the prefix that people would write: 1.418 mA."""
    if unit in ("A", "V", "s") and 0 < abs(value) < 0.1:
        factor, prefix = (1e-3, "m") if abs(value) >= 1e-4 else (1e-6, "u")
        value, unit = value / factor, prefix + unit
    return f"{value:.4g} {unit}".strip()


def way_of(finding: Finding) -> str:
    """The path of the current, with the position of every switch on it; then the switches that stand beside it."""
    state = dict(finding.state or {})
    hops = []
    passed = set()
    for name in finding.way or ():
        control = name if name in state else name.partition(".")[0]
        if control in state:
            passed.add(control)
            hops.append(f"{name} ({state[control]})")
        else:
            hops.append(name)
    beside = [f"{name} {place}" for name, place in state.items() if name not in passed]
    return " > ".join(hops) + (f"; with {', '.join(beside)}" if beside else "")


def positions_of(finding: Finding) -> str:
    items = [f"{name} {place}" for name, place in (finding.state or {}).items()]
    return cut_short(items, 12)


def _excerpt(place: Place, message: str | None, mark: str, style: Style) -> Iterator[str]:
    """Where it stands, the line, and a mark under what is meant."""
    where = f"{place.file}:{place.line}:{place.column}"
    yield "  " + for_text(where if message is None else f"{where}  {message}")
    if not place.source.strip():
        return
    source, column = cut(place.source, place.column - 1, style.width - 12)
    end = place.end_column if place.end_line == place.line else len(place.source) + 1
    marks = max(min(end - place.column, len(source) - column), 1)
    yield f"{place.line:>6} | {for_source(source)}"
    yield " " * 6 + " | " + " " * column + style.paint(mark * marks, "bold")


def cut(source: str, column: int, width: int) -> tuple[str, int]:
    """A stretch of a long line around a column, and the column in it."""
    width = max(width, 30)
    if len(source) <= width:
        return source, column
    start = max(0, min(column - width // 3, len(source) - width))
    return ("..." if start else "") + source[start : start + width], column - start + (3 if start else 0)


def document_text(document: Document, style: Style) -> str:
    """A whole answer in plain text."""
    head = document.title if document.head is None else document.head
    parts = [style.paint(f"{document.layout}: {head[:1].lower()}{head[1:]}", "bold")] if head else []
    tables = [one.title for one in document.told if isinstance(one, Table)]
    said = document.head if document.head is not None else tables[0] if len(tables) == 1 else ""  # above, by the head
    parts += [
        part_text(one, style, not isinstance(one, Table) or one.title != said)
        for one in document.told
        if not isinstance(one, Figure)
    ]
    return "\n\n".join(parts) + "\n"


def part_text(part: Shown, style: Style, titled: bool = True) -> str:
    """One part of an answer in plain text."""
    if isinstance(part, Table):
        return _lines(part.title, part.brief, style) if part.brief else text_of(part, style, titled=titled)
    if isinstance(part, Lines):
        lines = [f"- {line}" for line in part.lines] if part.dashes else part.lines
        return _lines(part.title, lines, style, part.alarm, 4 if part.dashes else 6)
    if isinstance(part, Section):
        head = style.paint(part.title, "bold") if part.level == 2 else style.paint(f"{part.title}:")
        own = [part_text(one, style) for one in part.parts if not isinstance(one, Figure | Brief)]
        return ("\n\n" if part.level == 2 else "\n").join([head, *own])
    if isinstance(part, Item):
        return "\n".join(_item(part, style))
    if isinstance(part, Todo):
        return "\n".join(_ticks(part, style))
    if isinstance(part, Findings):
        return "\n".join(line for finding, remark in part.rows for line in _brief(finding, remark, style))
    assert isinstance(part, Says)
    how = ("bold", "red") if part.kind == "alarm" else ()
    lines = [style.wrap(one, "", "  " if part.kind == "note" else "", *how) for one in part.texts]
    return "\n".join([*lines, *([f"  {for_text(part.command)}"] if part.command else [])])


def _lines(title: str, lines: Iterable[str], style: Style, alarm: bool = False, hang: int = 6) -> str:
    head = [style.paint(title, *(("bold", "red") if alarm else ("bold",)))] if title else []
    return "\n".join([*head, *(style.wrap(one, "  ", " " * hang) for one in lines)])


def _item(part: Item, style: Style) -> Iterator[str]:
    head = f"{'[ ] ' if part.ticks else ''}{part.number:>3}  "
    indent = " " * len(head)
    yield style.wrap(part.title, head, indent, "bold")
    for line in part.lines:
        yield style.wrap(line, indent, indent + " " * (5 if ": " in line[:12] else 0))  # below what stands behind it
    if part.table is not None:
        yield from (style.wrap(f"- {line}", indent, f"{indent}  ") for line in part.table.brief)


def _ticks(part: Todo, style: Style) -> Iterator[str]:
    width = max(len(what) for what, _ in part.rows)
    for what, do in part.rows:
        told, hang = (f"{what:<{width}}  {do}", min(width, 30) + 8) if part.named else (do, 6)
        yield style.wrap(f"[ ] {told}", "  ", " " * hang)


def _brief(finding: Finding, remark: str, style: Style) -> Iterator[str]:
    yield f"  {style.severity(finding.severity)}  {finding.rule}  {for_text(names_of(finding.subject, finding.others))}"
    yield style.wrap(finding.message, "    ")
    yield f"    {for_text(finding.where)}"
    if remark:
        yield style.wrap(remark, "    ")


def names_of(subject: str, others: Sequence[str]) -> str:
    """What a finding is about; of many others the rest is counted."""
    return cut_short((subject, *others), 5)
