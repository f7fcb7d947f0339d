"""Answers as text for people."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from blockcheck.answers.document import (
    Brief,
    Cards,
    Contents,
    Document,
    Excerpts,
    Facts,
    Figure,
    Findings,
    Form,
    Item,
    Lines,
    Listing,
    Quoted,
    Rank,
    Says,
    Section,
    Shown,
    Terms,
    Todo,
    Verdict,
)
from blockcheck.answers.facts import facts_of, place_of, related_of
from blockcheck.answers.tables import Table
from blockcheck.core.findings import Finding
from blockcheck.core.natural import condensed
from blockcheck.core.spans import Place
from blockcheck.core.words import capital, cut_short
from blockcheck.formats.escape import for_source, for_text
from blockcheck.formats.style import Style
from blockcheck.formats.text_table import text_of

_UNSEEN = Brief | Contents | Excerpts | Figure | Form | Rank | Quoted
"""What only pages have."""


def document_text(document: Document, style: Style) -> str:
    """A whole answer in plain text."""
    title = document.title if document.head is None else document.head
    head = document.verdict[0] if document.verdict else title
    if document.layout and head:
        head = f"{document.layout}: {head[:1].lower()}{head[1:]}"
    parts = [style.wrap(head, "", "  ", "bold")] if head else []
    tables = [one.title for one in document.told if isinstance(one, Table)]
    alone = tables[0] if len(tables) == 1 and not document.verdict else ""
    said = title if document.head is not None else alone  # above, by the head
    for one in document.told:
        if isinstance(one, Table) and one.title == said:
            parts.append(_table(one, style, titled=False))
        else:
            parts += _parts([one], style)
    return "\n\n".join(parts) + "\n"


def _parts(parts: Iterable[object], style: Style) -> list[str]:
    return [part_text(one, style) for one in parts if not isinstance(one, _UNSEEN)]  # type: ignore[arg-type]


def part_text(part: Shown, style: Style) -> str:
    """One part of an answer in plain text."""
    return _PARTS[type(part)](part, style)


def _table(part: Table, style: Style, titled: bool = True) -> str:
    return _list(part.title, part.brief, style) if part.brief else text_of(part, style, titled=titled)


def _lines(part: Lines, style: Style) -> str:
    lines = [f"- {line}" for line in part.lines] if part.dashes else part.lines
    return _list(part.title, lines, style, part.alarm, 4 if part.dashes else 6)


def _section(part: Section, style: Style) -> str:
    level = part.level == 2
    head = style.wrap(part.title, "", "  ", "bold") if level else style.wrap(f"{part.title}:", "", "  ")
    beside = len(part.title) + 2 + len(part.aside) <= style.width
    aside = (
        (f"  {style.paint(part.aside)}" if beside else "\n" + style.wrap(part.aside, "  ", "  ")) if part.aside else ""
    )
    return ("\n\n" if level else "\n").join([f"{head}{aside}", *_parts(part.parts, style)])


def _says(part: Says, style: Style) -> str:
    how = ("bold", "red") if part.kind == "alarm" else ()
    lines = [style.wrap(one, "", "  " if part.kind == "note" else "", *how) for one in part.texts]
    return "\n".join([*lines, *([f"  {for_text(part.command)}"] if part.command else [])])


def _list(title: str, lines: Iterable[str], style: Style, alarm: bool = False, hang: int = 6) -> str:
    head = [style.paint(title, *(("bold", "red") if alarm else ("bold",)))] if title else []
    return "\n".join([*head, *(style.wrap(one, "  ", " " * hang) for one in lines)])


def _item(part: Item, style: Style) -> str:
    return "\n".join(_item_lines(part, style))


def _item_lines(part: Item, style: Style) -> Iterator[str]:
    head = f"{part.number:>3}  "
    indent = " " * len(head)
    yield style.wrap(part.title, head, indent, "bold")
    for line in part.lines:
        yield style.wrap(line, indent, indent + " " * (5 if ": " in line[:12] else 0))  # below what stands behind it
    if part.table is not None:
        yield from (style.wrap(f"- {line}", indent, f"{indent}  ") for line in part.table.brief)


def _ticks(part: Todo, style: Style) -> str:
    return "\n".join(_tick_lines(part, style))


def _tick_lines(part: Todo, style: Style) -> Iterator[str]:
    width = max(len(what) for what, _ in part.rows)
    for what, do in part.rows:
        told, hang = (f"{what:<{width}}  {do}", min(width, 30) + 8) if part.named else (do, 6)
        yield style.wrap(f"[ ] {told}", "  ", " " * hang)


def _findings(part: Findings, style: Style) -> str:
    return "\n".join(line for finding, remark in part.rows for line in _brief(finding, remark, style))


def _brief(finding: Finding, remark: str, style: Style) -> Iterator[str]:
    yield f"  {style.severity(finding.severity)}  {finding.rule}  {for_text(_names(finding.subject, finding.others))}"
    yield style.wrap(finding.message, "    ")
    yield f"    {for_text(finding.where)}"
    if remark:
        yield style.wrap(remark, "    ")


def _names(subject: str, others: Sequence[str]) -> str:
    """What a finding is about; of many others the rest is counted."""
    return cut_short((subject, *others), 5)


def _cards(part: Cards, style: Style) -> str:
    return "\n\n".join("\n".join(_card(finding, style)) for finding in part.findings)


def _card(finding: Finding, style: Style) -> Iterator[str]:
    subject, *alike = condensed((finding.subject, *finding.alike))
    names = _names(subject, (*alike, *finding.others))
    head = f"{style.severity(finding.severity)}  {style.paint(finding.rule, 'bold')}"
    yield head if finding.rule == "input" else f"{head}  {for_text(names)}"
    yield style.wrap(finding.message, "  ")
    yield from _excerpt(place_of(finding), None, "^", style)
    for at, told in related_of(finding):
        yield from _excerpt(at, told, "-", style)
    for word, told in facts_of(finding):
        yield style.wrap(f"{word:<10}{told}", "  ", " " * 12)


def _excerpt(place: Place, message: str | None, mark: str, style: Style) -> Iterator[str]:
    """Where it stands, the line, and a mark under what is meant."""
    where = f"{place.file}:{place.line}:{place.column}"
    yield style.wrap(where if message is None else f"{where}  {message}", "  ", " " * 6)
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


def _verdict(part: Verdict, style: Style) -> str:
    """What a check comes to, and what it rests on: of many items as many as the reader's width holds."""
    told = f"{part.name}: {part.sentence}" if part.name else capital(part.sentence)
    fine = for_text(part.fine)
    lines = [style.wrap(f"{told}.", "", "    ").replace(fine, style.paint(part.fine, "bold", "green"), 1)]
    for head, items in part.rests:
        fits = (n for n in range(len(items), 1, -1) if len(cut_short(items, n)) + len(head) + 4 <= style.width)
        lines.append(style.wrap(f"{head}: {cut_short(items, next(fits, 1))}", "  ", "    "))
    return "\n".join(lines)


def _facts(part: Facts, style: Style) -> str:
    told = [(word, text if isinstance(text, str) else ", ".join(text)) for word, text in part.rows]
    return "\n\n".join(style.wrap(f"{word}: {text}".rstrip() if word else text, "  ") for word, text in told)


def _listing(part: Listing, style: Style) -> str:  # noqa: ARG001 - as the others are called
    return "\n".join(f"    {'>' if own else ' '} {line}".rstrip() for line, own in part.lines())


def _terms(part: Terms, style: Style) -> str:
    groups = [(title, [[*map(for_text, row)] for row in rows]) for title, rows in part.groups]
    widths: dict[int, list[int]] = {}  # of the cells but the last, for rows of each length
    for row in (row for _, rows in groups for row in rows):
        known = widths.setdefault(len(row), [0] * (len(row) - 1))
        widths[len(row)] = [max(width, len(cell)) for width, cell in zip(known, row[:-1], strict=True)]
    told = []
    for title, rows in groups:
        lines = [style.paint(title, "bold")] if title else []
        for *cells, last in rows:
            head = "".join(f"{cell:<{width}}  " for cell, width in zip(cells, widths[len(cells) + 1], strict=True))
            lines.append(style.wrap(last, f"  {head}", " " * (len(head) + 2)))
        told.append("\n".join(lines))
    return "\n\n".join(told)


_PARTS: Mapping[type, Callable[..., str]] = {
    Table: _table,
    Lines: _lines,
    Section: _section,
    Item: _item,
    Todo: _ticks,
    Findings: _findings,
    Cards: _cards,
    Says: _says,
    Verdict: _verdict,
    Facts: _facts,
    Listing: _listing,
    Terms: _terms,
}
