"""Answers as markdown documents."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from blockcheck.answers.document import (
    Cards,
    Document,
    Facts,
    Findings,
    Item,
    Lines,
    Listing,
    Part,
    Rank,
    Says,
    Section,
    Todo,
    Verdict,
)
from blockcheck.answers.facts import facts_of, place_of, related_of
from blockcheck.answers.tables import Column, Table
from blockcheck.core.findings import Finding
from blockcheck.core.spans import Place
from blockcheck.core.words import capital, cut_short
from blockcheck.formats.escape import for_markdown, for_source, for_text

_LONG = 8  # rows of a section that folds, which stay open


def document_markdown(document: Document) -> str:
    """A whole answer as a markdown document."""
    return "\n\n".join([f"# {for_markdown(document.full_title)}", *_blocks(document.shown)]) + "\n"


def _blocks(parts: Iterable[Part]) -> Iterator[str]:
    """The blocks of parts of a document; pages have some that this has not."""
    for one in parts:
        if type(one) in _PARTS:
            yield from _PARTS[type(one)](one)


def _section(part: Section) -> Iterator[str]:
    title, body = for_markdown(part.title), _blocks(part.parts)
    if part.folds and part.rows > _LONG:
        yield from ("<details>\n<summary><b>" + f"{title}</b> ({part.rows})</summary>", *body, "</details>")
    else:
        yield from (f"{'#' * part.level} {title}", *body)


def _item(part: Item) -> Iterator[str]:
    yield f"### {part.number}  {for_markdown(part.title)}"
    yield from map(for_markdown, part.lines)
    yield from markdown_parts(part.table) if part.table is not None else ()


def _ticks(part: Todo) -> Iterator[str]:
    yield "\n".join(f"- [ ] {for_markdown(f'{what}: {do}' if part.named else do)}" for what, do in part.rows)


def _lines(part: Lines) -> Iterator[str]:
    yield from [f"## {for_markdown(part.title)}"] if part.title else []
    yield _list(part.lines)


def _list(lines: Iterable[str]) -> str:
    return "\n".join(f"- {for_markdown(line)}" for line in lines)


def _says(part: Says) -> Iterator[str]:
    yield from map(for_markdown, part.texts)
    yield from [f"    {for_text(part.command)}"] if part.command else []


def _findings(part: Findings) -> Iterator[str]:
    yield "\n".join(f"- {_brief(*row)}" for row in part.rows)


def _brief(finding: Finding, remark: str) -> str:
    names = for_markdown(cut_short((finding.subject, *finding.others), 5))
    told = f"{for_markdown(finding.message)} ({for_markdown(finding.where)})"
    said = f" ({for_markdown(remark)})" if remark else ""
    return f"**{finding.severity.value}** {finding.rule} {names}: {told}{said}"


def _cards(part: Cards) -> Iterator[str]:
    for finding in part.findings:
        names = "" if finding.rule == "input" else f" {for_markdown(', '.join((finding.subject, *finding.others)))}"
        known = ", known from the baseline" if finding.known else ""
        yield f"## {finding.severity.value}{known}: {finding.rule}{names}"
        yield for_markdown(finding.message)
        lines = [f"where: {_place(place_of(finding))}"]
        lines += [f"see also: {_place(at, told)}" for at, told in related_of(finding)]
        lines += [f"{word}: {for_markdown(told)}" for word, told in facts_of(finding)]
        yield "\n".join(f"- {line}" for line in lines)


def _place(place: Place, told: str = "") -> str:
    line = for_source(place.source).strip()
    ticks = "`" * (max((len(run) for run in re.findall("`+", line)), default=0) + 1)
    pad = " " if "`" in line else ""
    source = f" {ticks}{pad}{line}{pad}{ticks}" if line else ""
    where = for_markdown(f"{place.file}:{place.line}:{place.column}")
    return f"{where}{source}{f': {for_markdown(told)}' if told else ''}"


def _verdict(part: Verdict) -> Iterator[str]:
    yield for_markdown(f"{capital(part.sentence)}.")
    yield from [_list(part.lines)] if part.rests else []


def _facts(part: Facts) -> Iterator[str]:
    for word, text in part.rows:
        told = for_markdown(text) if isinstance(text, str) else ", ".join(f"`{name}`" for name in text)
        yield f"**{for_markdown(word)}:** {told}".rstrip() if word else told


def _rank(part: Rank) -> Iterator[str]:
    yield f"*{part.severity}, {part.family}*, `{part.rule}`"


def _listing(part: Listing) -> Iterator[str]:
    yield f"```{part.code}\n{part.text.rstrip()}\n```"


def markdown_parts(table: Table) -> Iterator[str]:
    """The title of a table, the table, and its notes, in markdown."""
    if table.title:
        yield f"## {for_markdown(table.title)}"
    if table.rows:
        columns = [table.headers[i] for i in table.kept()]
        rows = [[_cell(*one) for one in zip(columns, row, strict=True)] for row in table.shown()]
        yield _grid([column.title for column in columns], rows)
    if table.notes:
        yield "\n".join(f"- {for_markdown(note)}" for note in table.notes)


def _grid(headers: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table whose cells are markdown already."""
    cells = [[f"{_inside(header)}  " for header in headers], *rows]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    head, *rest = ("| " + " | ".join(map(str.ljust, row, widths)) + " |" for row in cells)
    return "\n".join([head, f"|{'|'.join(':' + '-' * (width + 1) for width in widths)}|", *rest])


def _cell(column: Column, text: str) -> str:
    if column.links:
        return f"[{_inside(text)}](#{text})"
    return f"`{text}`" if column.verbatim else _inside(text)


def _inside(text: str) -> str:
    return for_markdown(text, inside=True)


_PARTS: Mapping[type, Callable[..., Iterator[str]]] = {
    Table: markdown_parts,
    Section: _section,
    Item: _item,
    Todo: _ticks,
    Findings: _findings,
    Cards: _cards,
    Lines: _lines,
    Says: _says,
    Verdict: _verdict,
    Facts: _facts,
    Rank: _rank,
    Listing: _listing,
}
