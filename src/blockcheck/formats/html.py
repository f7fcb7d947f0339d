"""Self-contained pages: no script, no request to anywhere, made to be printed. Text is escaped by construction."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from attrs import evolve

from blockcheck.answers.document import (
    Brief,
    Cell,
    Column,
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
from blockcheck.core.findings import Finding
from blockcheck.core.words import cut_short
from blockcheck.formats.elements import Child as Child
from blockcheck.formats.elements import Html as Html
from blockcheck.formats.elements import element as element
from blockcheck.formats.elements import joined as joined
from blockcheck.formats.elements import raw as raw
from blockcheck.formats.escape import for_markup
from blockcheck.formats.marks import GENERATOR
from blockcheck.formats.svg import drawing_svg

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing

_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""What a browser may load for a page: nothing but the page itself."""
_WIDE, _SHORT, _WORDY = 9, 12, 24
"""More columns than this are set smaller in print; so many rows stay on one sheet; longer cells need a wider column."""
SIGNS = {"error": "\u00d7", "warning": "!", "note": "i", "fine": "\u2713", "plain": "\u00b7"}
"""What stands before the word in a badge; the word says the same."""


DRAWING = "Drawing"
"""What stands over a drawing."""


def page(title: str, parts: Iterable[Child], *, language: str = "en", landscape: bool = False) -> str:
    """A whole page. ``parts`` stand one below the other; ``title`` is repeated on each printed sheet.

    ``landscape`` turns the paper, whatever its size, for wide tables and drawings.
    """
    head = joined(
        [
            element("meta", charset="utf-8"),
            element("meta", name="generator", content=GENERATOR),
            element("meta", name="viewport", content="width=device-width, initial-scale=1"),
            Html(f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'),
            element("link", rel="icon", href="data:,"),
            element("title", title),
            Html(f"<style>\n{_style()}{_paper(title, landscape)}</style>"),
        ],
        "\n",
    )
    body = joined(parts, "\n")
    return (
        f'<!DOCTYPE html>\n<html lang="{for_markup(language)}">\n<head>\n{head}\n</head>\n'
        f"<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


@cache
def _style() -> str:
    return files("blockcheck.formats").joinpath("page.css").read_text("utf-8")


def _paper(title: str, landscape: bool) -> str:
    """What stands in the margins of every printed sheet; the paper is A4, Letter, or what the printer holds."""
    size = "  size: landscape;\n" if landscape else ""
    quoted = "".join(
        sign if (sign.isascii() and sign.isalnum()) or sign == " " else f"\\{ord(sign):x} " for sign in title
    )
    font = "font: 8pt system-ui, 'Liberation Sans', 'DejaVu Sans', Arial, sans-serif; color: #333;"
    return (
        f"@page {{\n{size}  margin: 16mm 15mm 18mm;\n"
        f'  @bottom-left {{ content: "{quoted}"; {font} }}\n'
        f'  @bottom-right {{ content: "page " counter(page) " of " counter(pages); {font} }}\n}}\n'
    )


def anchor(*words: str) -> str:
    """The name of a place in a page, for ``id`` and, behind ``#``, for ``href``."""
    return "-".join(re.sub("[^a-z0-9]+", "-", word.casefold()).strip("-") or "x" for word in words)


def badge(kind: str, word: str | None = None) -> Html:
    """A word in a frame: ``error``, ``warning``, ``note``, ``fine``, ``plain``. Sign and frame say the same again."""
    return element("span", f"{SIGNS[kind]} {word or kind}", class_=f"badge {kind}")


def caution(text: str) -> Html:
    """What must not be overlooked, framed."""
    return element(
        "div",
        element("p", element("span", "! Caution", class_="badge")),
        element("p", text),
        class_="caution",
        role="note",
    )


def paragraphs(texts: Iterable[str], class_: str | None = None) -> Html:
    """Texts, each a paragraph."""
    return joined([element("p", text, class_=class_) for text in texts], "\n")


def header(title: str, layout: str, eyebrow: str = "Track wiring") -> Html:
    """What stands at the head of a page."""
    return element(
        "header", element("p", eyebrow, class_="eyebrow"), element("h1", title), element("p", layout), class_="title"
    )


def document_html(document: Document, before: Iterable[Child] = (), after: Iterable[Child] = ()) -> str:
    """A whole answer as a page; ``before`` and ``after`` stand around its parts."""
    parts = [header(document.title, document.layout), *before, document_body(document), *after]
    landscape = any(len(one.kept()) > 11 for one in document.tables)
    return page(f"{document.title}: {document.layout}", parts, landscape=landscape)


def document_body(document: Document, heading: str = "h2") -> Html:
    """The parts of an answer, one below the other."""
    return joined([_part(one, heading) for one in document.shown], "\n")


def _part(part: Shown, heading: str) -> Html:
    if isinstance(part, Figure):
        from blockcheck.answers.draw import Drawing

        drawn = part.drawing()
        assert isinstance(drawn, Drawing)
        return drawing_part(drawn)
    if isinstance(part, Table):
        return table_html(part, heading)
    if isinstance(part, Lines):
        lines = element("ul", *(element("li", one) for one in part.lines), class_="notes")
        return joined([element(heading, part.title), lines]) if part.title else lines
    if isinstance(part, Section):
        level = heading if part.level == 2 else f"h{int(heading[1]) + 1}"
        own = [_part(one, level) for one in part.parts if not isinstance(one, Brief)]
        return joined([element(level, part.title), *own], "\n")
    if isinstance(part, Item):
        head, lines = element("h3", f"{part.number}  {part.title}"), paragraphs(part.lines, "muted")
        return element("section", head, lines, table_html(part.table) if part.table else None, class_="card")
    if isinstance(part, Todo):
        return table_html(part.table())
    if isinstance(part, Findings):
        return joined([_finding(*row) for row in part.rows], "\n")
    assert isinstance(part, Says)
    if part.kind == "caution":
        return joined(map(caution, part.texts), "\n")
    if part.kind == "note":
        return _notes(part.texts)
    command = element("p", element("code", part.command)) if part.command else None
    return joined([paragraphs(part.texts, {"lead": "lead", "alarm": "over"}.get(part.kind)), command])


def drawing_part(drawing: Drawing, id_: str = "drawing") -> Html:
    """A part of a page with a drawing; in print it has sheets of paper of its own, and no heading but its own."""
    return element("section", element("h2", DRAWING), *drawing_figures(drawing, id_), class_="part drawing", id=id_)


def drawing_figures(drawing: Drawing, id_: str) -> tuple[Child, ...]:
    """The drawing as it is; of one that is longer than a sheet also the cuts, which only paper shows.

    The cuts lie where nothing that fits a sheet lies across.
    """
    from blockcheck.drawing.flow import PAGE_MM  # drawings are loaded where one is shown

    svg, cuts = drawing_svg(drawing), list[Html]()
    if drawing.sheets > 1:
        whole = f"{id_}-whole"
        svg = svg.replace("<svg ", f'<svg id="{whole}" ', 1)
        for number in range(drawing.sheets):
            top = number * PAGE_MM
            height = min(PAGE_MM, drawing.height_mm - top)
            use = f'<use href="#{whole}" width="{drawing.width_mm:g}" height="{drawing.height_mm:g}"/>'
            box = f"0 {top:g} {drawing.width_mm:g} {height:g}"
            size = f'width="{drawing.width_mm:g}mm" height="{height:g}mm"'
            cuts.append(raw(f'<svg {size} viewBox="{box}" aria-hidden="true">{use}</svg>'))
    label = f"{DRAWING}: {drawing.title}"
    figure = element("figure", raw(svg), class_="drawing screen" if cuts else "drawing", tabindex=0, aria_label=label)
    return (figure, *(element("figure", cut, class_="drawing paper") for cut in cuts))


def _finding(finding: Finding, remark: str) -> Html:
    names = cut_short((finding.subject, *finding.others), 5)
    told = f" {finding.rule}, {names}: {finding.message}; {finding.where}" + (f" ({remark})" if remark else "")
    return element("p", badge(finding.severity.value), told)


def table_html(table: Table, heading: str = "h2", *, id_: str | None = None) -> Html:
    """A table with its title above and its notes below. It scrolls by itself where the page is too narrow for it."""
    parts: list[Child] = [element(heading, table.title, id=id_)] if table.title else []
    if table.ticks:
        boxes = [(*row, "\u2610") for row in table.rows]
        table = evolve(table, headers=(*table.headers, Column("done")), rows=boxes, ticks=False)
    if table.rows:
        kept = table.kept()
        numbers = {i for i in kept if table.numeric(i) or table.headers[i].dimension is not None}
        heads = next((i for i in kept if table.headers[i].heads), kept[0])
        head = [element("th", table.headers[i].title, scope="col", class_=_kind(table, i, numbers)) for i in kept]
        rows = [
            element("tr", *(_cell(table, i, row[i], i == heads, i in numbers, row[heads]) for i in kept))
            for row in table.rows
        ]
        grid = element(
            "table",
            element("thead", element("tr", *head)),
            Html(f"<tbody>\n{joined(rows, chr(10))}\n</tbody>"),
            class_=" ".join(_kinds(table, kept)) or None,
        )
        parts.append(element("div", grid, class_="scroll", role="region", aria_label=table.title or None, tabindex=0))
    if table.notes:
        parts.append(_notes(table.notes))
    return joined(parts, "\n")


def _notes(notes: Iterable[str]) -> Html:
    return element("ul", *(element("li", note) for note in notes), class_="notes")


def _kind(table: Table, index: int, numbers: set[int]) -> str | None:
    if table.headers[index].share:
        return "share"
    if index in numbers:
        return "number"
    return "wordy" if any(len(str(row[index] or "")) > _WORDY for row in table.rows) else None


def _kinds(table: Table, kept: Sequence[int]) -> Iterator[str]:
    if len(kept) > _WIDE:
        yield "wide"
    if len(table.rows) <= _SHORT:
        yield "short"


def _cell(table: Table, index: int, cell: Cell, heads: bool, number: bool, name: Cell) -> Html:
    column = table.headers[index]
    text = typeset(column, cell, table.imperial)
    if column.fills:
        return element("td", element("input", type="text", aria_label=f"{column.title} {name}"), class_="fills")
    if heads:
        return element("th", text, scope="row", class_="number" if number else None)
    if column.share and isinstance(cell, int | float):
        over = element("span", " OVER", class_="over") if cell > 1 else None
        return element("td", _bar(cell), text, over, class_="share")
    alarm = "over" if column.alarm and cell == column.alarm else None
    return element("td", text, class_="number" if number else alarm)


def typeset(column: Column, cell: Cell, imperial: bool = False) -> str:
    """A cell as a page shows it: its unit with the signs of print, and never parted from its number."""
    text = column.shown(cell, imperial)
    if column.dimension is None or not isinstance(cell, int | float):
        return text
    number, space, unit = text.partition(" ")
    unit = {"ohm": "Ω", "mohm": "mΩ", "kohm": "kΩ", "Mohm": "MΩ"}.get(unit, re.sub("^u(?=[A-Z])", "µ", unit))
    return number.replace("-", "\u2212") + space.replace(" ", "\u00a0") + unit if space else text


def _bar(share: float) -> Html:
    """A share of a limit, drawn: a frame that is filled so far, and hatched where it is over."""
    width = min(max(share, 0.0), 1.0) * 98
    fill = f'<rect x="1" y="1" width="{width:.1f}" height="10" fill="currentColor"/>'
    cut = '<path d="M70 12 76 0M80 12 86 0M90 12 96 0" stroke="#fff" stroke-width="2.5"/>' if share > 1 else ""
    frame = '<rect x=".5" y=".5" width="99" height="11" fill="none" stroke="currentColor"/>'
    return Html(f'<svg viewBox="0 0 100 12" aria-hidden="true">{fill}{cut}{frame}</svg>')
