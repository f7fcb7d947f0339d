"""Self-contained pages: no script, no request to anywhere, made to be printed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from importlib.resources import files

from blockcheck.answers.tables import Cell, Column, Table, in_words
from blockcheck.formats.elements import Child, Html, element, joined, raw, thing
from blockcheck.formats.escape import for_markup, with_signs
from blockcheck.formats.marks import GENERATOR

_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
"""What a browser may load for a page: nothing but the page itself."""
_WIDE, _SHORT, _WORDY, _NAME = 4, 6, 24, 20
"""More columns than this are set smaller in print; so many rows stay on one sheet; longer cells need a wider column;
a column of names up to that length has each on one line."""
_QUANTITY = re.compile(
    r"(?<=\d) (?=(?:[cmk]?m|ft|in|[mk]?[AVs]|[µmpn]F|%)(?:[,;)]|$| |/))|(?<=\d) (?=x \d)|(?<=\d x) (?=\d)"
)
_NAMED = ("block", "channel", "isolator", "switch", "turnout", "board")
"""Columns whose cells a link may lead to by their names."""
_IDS, _THINGS_IN = re.compile(r'<(\w+)[^<>]* id="([^"]*)"'), ("g", "td", "th")
SIGNS = {"error": "\u00d7", "warning": "!", "note": "i", "fine": "\u2713", "plain": "\u00b7"}
"""What stands before the word in a badge; the word says the same."""


def page(
    title: str,
    parts: Iterable[Child],
    *,
    language: str = "en",
    landscape: bool = False,
    paper: tuple[float, float] | None = None,
) -> str:
    """A whole page. ``parts`` stand one below the other; ``title`` is repeated on each printed sheet.

    ``landscape`` turns the paper, whatever its size, for wide tables and drawings; ``paper`` is its size in mm,
    and what the printer holds where it is left out.
    """
    head = html_head(title, _POLICY, f"\n{_style()}{_paper(title, landscape, paper)}")
    body = _once(joined(parts, "\n").markup)
    return (
        f'<!DOCTYPE html>\n<html lang="{for_markup(language)}">\n<head>\n{head}\n</head>\n'
        f"<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def _once(body: str) -> str:
    """A page in which each ``id`` stands once: that of a part, then that of the first thing of a name."""
    taken = {of for tag, of in _IDS.findall(body) if tag not in _THINGS_IN}

    def kept(found: re.Match[str]) -> str:
        return (
            found[0] if found[1] not in _THINGS_IN or thing(found[2], taken) else found[0][: -len(f' id="{found[2]}"')]
        )

    return _IDS.sub(kept, body)


def html_head(title: str, policy: str, style: str, *more: Html) -> Html:
    """What stands in the head of a page: ``policy`` is what its browser may do, ``more`` what no other page has."""
    return joined(
        [
            element("meta", charset="utf-8"),
            element("meta", name="generator", content=GENERATOR),
            element("meta", name="viewport", content="width=device-width, initial-scale=1"),
            raw(f'<meta http-equiv="Content-Security-Policy" content="{policy}">'),
            *more,
            element("link", rel="icon", href="data:,"),
            element("title", title),
            raw(f"<style>{style}</style>"),
        ],
        "\n",
    )


@cache
def _style() -> str:
    return files("blockcheck.formats").joinpath("page.css").read_text("utf-8")


def _paper(title: str, landscape: bool, paper: tuple[float, float] | None) -> str:
    """What stands in the margins of every printed sheet; the paper is A4, Letter, or what the printer holds."""
    size, lying = "  size: landscape;\n" if landscape else "", ""
    if paper is not None:
        sides = sorted(paper)
        upright, lies = (" ".join(f"{one:g}mm" for one in pair) for pair in (sides, sides[::-1]))
        size, lying = f"  size: {lies if landscape else upright};\n", f"@page lying {{ size: {lies}; }}\n"
    quoted = "".join(
        sign if (sign.isascii() and sign.isalnum()) or sign == " " else f"\\{ord(sign):x} " for sign in title
    )
    font = "font: 8pt system-ui, 'Liberation Sans', 'DejaVu Sans', Arial, sans-serif; color: #333;"
    return (
        f"@page {{\n{size}  margin: 12mm 15mm 14mm;\n"
        f'  @bottom-left {{ content: "{quoted}"; {font} }}\n'
        f'  @bottom-right {{ content: "page " counter(page) " of " counter(pages); {font} }}\n}}\n{lying}'
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
    return joined([element("p", with_signs(text), class_=class_) for text in texts], "\n")


def header(title: str, layout: str = "", eyebrow: str = "Track wiring") -> Html:
    """What stands at the head of a page."""
    return element(
        "header",
        element("p", eyebrow, class_="eyebrow"),
        element("h1", title),
        element("p", layout) if layout else None,
        class_="title",
    )


def table_html(table: Table, heading: str = "h2", *, id_: str | None = None) -> Html:
    """A table with its title above and its notes below. It scrolls by itself where the page is too narrow for it."""
    parts: list[Child] = [element(heading, with_signs(table.title), id=id_)] if table.title else []
    if table.rows:
        parts += _grid(table)
    if table.notes:
        parts.append(notes(table.notes))
    made = joined(parts, "\n")
    return element("div", made, class_="card-table") if table.card else made


def _grid(table: Table) -> Iterator[Html]:
    """The rows, and above them what all of them say."""
    said = table.alike()
    kept = [i for i in table.kept() if i not in said]
    numbers = {i for i in kept if table.numeric(i) or table.headers[i].dimension is not None}
    heads = next((i for i in kept if table.headers[i].heads), kept[0])
    if said:
        told = (f"{table.headers[i].title} {typeset(table.headers[i], table.rows[0][i], table.imperial)}" for i in said)
        yield element("p", f"In every row: {'; '.join(told)}.", class_="alike")
    head = [element("th", table.headers[i].title, scope="col", class_=_kind(table, i, numbers)) for i in kept]
    kinds = {i: "number" if i in numbers else "name" if _short(table, i) else None for i in kept}
    head += [element("th", "done", scope="col")] if table.ticks else []
    rows = [
        element(
            "tr",
            *(_cell(table, i, row[i], i == heads, kinds[i], row[heads]) for i in kept),
            _ticks(str(row[heads]), table.boxes[number] if table.boxes else 1) if table.ticks else None,
        )
        for number, row in enumerate(table.rows)
    ]
    grid = element(
        "table",
        element("thead", element("tr", *head)),
        raw(f"<tbody>\n{joined(rows, chr(10))}\n</tbody>"),
        class_=" ".join(_kinds(table, kept)) or None,
    )
    yield element("div", grid, class_="scroll", role="group", aria_label=table.title or head_of(table), tabindex=0)


def head_of(table: Table) -> str:
    """What a table without a title is called: its first heading."""
    return next((one.title for one in table.headers if one.title), "table")


def _ticks(name: str, count: int) -> Html:
    """Boxes to tick, on the screen too: one for each thing that the row stands for."""
    boxes = (
        element("input", type="checkbox", aria_label=f"done: {name}" + (f", {one}" if count > 1 else ""))
        for one in range(1, count + 1)
    )
    return element("td", *boxes, class_="ticks")


def notes(lines: Iterable[str], class_: str = "notes") -> Html:
    """A list."""
    return element("ul", *(element("li", with_signs(line)) for line in lines), class_=class_)


def _kind(table: Table, index: int, numbers: set[int]) -> str | None:
    if table.headers[index].share:
        return "share"
    if index in numbers:
        return "number"
    return "wordy" if any(len(str(row[index] or "")) > _WORDY for row in table.rows) else None


def _short(table: Table, index: int) -> bool:
    """Whether a column has names alone, which no line ends in: not at a hyphen, and not before a unit."""
    return all(len(table.headers[index].shown(row[index])) <= _NAME for row in table.rows)


def _kinds(table: Table, kept: Sequence[int]) -> Iterator[str]:
    if len(kept) + table.ticks > _WIDE:
        yield "wide"
    if len(table.rows) <= _SHORT:
        yield "short"


def _cell(table: Table, index: int, cell: Cell, heads: bool, kind: str | None, name: Cell) -> Html:
    column = table.headers[index]
    if column.fills:
        value = None if cell is None else str(cell)
        field = element("input", type="text", aria_label=f"{column.title} {name}", value=value)
        return element("td", field, class_="fills")
    text: Child = _QUANTITY.sub("\u00a0", typeset(column, cell, table.imperial))
    if column.coded and isinstance(cell, str):
        text = joined([in_words(cell), " ", element("code", cell, class_="as-written")])
    if column.links:
        text = element("a", text, href=f"#{anchor(str(cell))}")
    single = column.title in _NAMED and isinstance(cell, str) and ", " not in cell
    id_ = thing(str(cell), set()) if single else None
    if heads:
        return element("th", text, scope="row", class_=kind, id=id_)
    if column.share and isinstance(cell, int | float):
        over = element("span", " OVER", class_="over") if cell > 1 else None
        return element("td", _bar(cell), text, over, class_="share")
    alarm = "over" if column.alarm and cell == column.alarm else None
    return element("td", text, class_=alarm or kind, id=id_)


def typeset(column: Column, cell: Cell, imperial: bool = False) -> str:
    """A cell as a page shows it: its unit with the signs of print, and never parted from its number."""
    text = column.shown(cell, imperial)
    if column.verbatim:
        return text
    return with_signs(text) if isinstance(cell, str) else with_signs(text).replace("-", "\u2212").replace(" ", "\u00a0")


def _bar(share: float) -> Html:
    """A share of a limit, drawn: a frame that is filled so far, and hatched where it is over."""
    width = min(max(share, 0.0), 1.0) * 98
    fill = f'<rect x="1" y="1" width="{width:.1f}" height="10" fill="currentColor"/>'
    cut = '<path d="M70 12 76 0M80 12 86 0M90 12 96 0" class="hatch"/>' if share > 1 else ""
    frame = '<rect x=".5" y=".5" width="99" height="11" fill="none" stroke="currentColor"/>'
    return raw(f'<svg viewBox="0 0 100 12" aria-hidden="true">{fill}{cut}{frame}</svg>')
