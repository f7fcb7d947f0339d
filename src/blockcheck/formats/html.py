"""Answers as pages: every part of a document below the other, findings with links to the lines that they are on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from blockcheck.answers.document import (
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
    Part,
    Quoted,
    Rank,
    Says,
    Section,
    Todo,
    Verdict,
)
from blockcheck.answers.facts import facts_of, place_of, related_of
from blockcheck.answers.tables import Table
from blockcheck.core.findings import Finding
from blockcheck.core.spans import Place
from blockcheck.core.words import cut_short
from blockcheck.formats.elements import Child, Html, element, joined, raw
from blockcheck.formats.escape import with_signs
from blockcheck.formats.page import anchor, badge, caution, header, notes, page, paragraphs, table_html
from blockcheck.formats.paper import paper_of
from blockcheck.formats.quotes import Quotes
from blockcheck.formats.svg import drawing_svg
from blockcheck.formats.text import cut

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing

DRAWING = "Drawing"
"""What stands over a drawing."""
_NARROW = 39  # characters of a card of which three stand beside each other
_LONGEST = 120  # characters of a line that are shown on a card


def document_html(document: Document, paper: str | None = None) -> str:
    """A whole answer as a page, for a ``paper`` or what the printer holds. Raises CallError for one that is none."""
    made = _Walk(document)
    size = None if paper is None else paper_of(paper, document.imperial)
    landscape = any(len(one.kept()) - len(one.alike()) > 11 for one in document.tables)
    return page(
        document.full_title,
        [made.head(), made.body(made.shown, "h2")],
        landscape=landscape,
        paper=None if size is None else (size.width, size.height),
    )


class _Walk:
    """Walks a document. ``shown`` are its parts; ``sources`` know which lines its findings are on."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.shown = document.shown
        self.sources = Quotes.of(
            (
                [place_of(finding), *(at for at, _ in related_of(finding))]
                for cards in _cards_of(self.shown)
                for finding in cards.findings
            ),
            document.sources,
        )

    def head(self) -> Html:
        """What stands at the head of the page."""
        return header(self.document.title, self.document.layout, self.document.kind)

    def body(self, parts: Iterable[Part], heading: str) -> Html:
        """Parts one below the other, those without a form for pages left out; ``heading`` is what is over each."""
        made = list[Html]()
        for card, run in groupby(parts, key=lambda one: isinstance(one, Table) and one.card):
            some = [*run]
            told = [_PARTS[type(one)](self, one, heading) for one in some if type(one) in _PARTS]
            made += [element("div", *told, class_="cards narrow" if _narrow(some) else "cards")] if card else told
        return joined(made, "\n")

    def table(self, part: Table, heading: str) -> Html:
        return table_html(part, heading)

    def lines(self, part: Lines, heading: str) -> Html:
        lines = notes(part.lines)
        return joined([element(heading, part.title), lines]) if part.title else lines

    def section(self, part: Section, heading: str) -> Html:
        level = heading if part.level == 2 else f"h{int(heading[1]) + 1}"
        if part.sheet:
            body = self.body(part.parts, f"h{int(level[1]) + 1}")
            head = element(level, self.number(part), part.title)
            return element("section", head, body, class_="part", id=anchor(part.title))
        linked = part.linked or self.numbered(part)
        head = element(level, self.number(part), with_signs(part.title), id=anchor(part.title) if linked else None)
        below = level if any(isinstance(one, Section) for one in part.parts) else f"h{int(level[1]) + 1}"
        made = joined([head, self.body(part.parts, below)], "\n")
        return element("section", made) if part.linked else made

    def item(self, part: Item, heading: str) -> Html:
        head, lines = element(heading, with_signs(f"{part.number}  {part.title}")), paragraphs(part.lines, "muted")
        return element("section", head, lines, table_html(part.table) if part.table else None, class_="card")

    def ticks(self, part: Todo, _: str) -> Html:
        return table_html(part.table())

    def says(self, part: Says, _: str) -> Html:
        if part.kind == "caution":
            return joined(map(caution, part.texts), "\n")
        if part.kind == "note":
            return notes(part.texts)
        command = element("p", element("code", part.command)) if part.command else None
        return joined([paragraphs(part.texts, {"lead": "lead", "alarm": "over"}.get(part.kind)), command])

    def figure(self, part: Figure, _: str) -> Html:
        """It has sheets of paper of its own in print, and no heading but its own."""
        from blockcheck.answers.draw import Drawing

        drawn = part.drawing()
        assert isinstance(drawn, Drawing)
        figures = _figures(drawn, part.name)
        whole = "part drawing own" if drawn.lying or drawn.sheets > 1 else "part drawing"
        return element("section", element("h2", self.number(part), DRAWING), *figures, class_=whole, id=part.name)

    @property
    def listed(self) -> list[Section | Figure]:
        """What the contents list; nothing where there are none."""
        contents = any(isinstance(one, Contents) for one in self.shown)
        return [one for one in self.shown if isinstance(one, Section | Figure)] if contents else []

    def numbered(self, part: Part) -> bool:
        """Whether the contents list it."""
        return any(one is part for one in self.listed)

    def number(self, part: Part) -> Html | None:
        """The number of a part, as the contents have it."""
        count = next((number for number, one in enumerate(self.listed, 1) if one is part), None)
        return None if count is None else element("span", f"{count}\u2002", class_="no")

    def findings(self, part: Findings, _: str) -> Html:
        return joined([_brief(*row) for row in part.rows], "\n")

    def cards(self, part: Cards, heading: str) -> Html:
        head = [element(heading, part.title)] if part.title else []
        cards = [self._card(finding, number) for number, finding in enumerate(part.findings, 1)]
        return joined([*head, *cards], "\n")

    def _card(self, finding: Finding, number: int) -> Html:
        """What is wrong, where, what was measured, how the current goes, how to mend it."""
        names = None if finding.rule == "input" else f" {', '.join((finding.subject, *finding.others))}"
        known = " (known from the baseline)" if finding.known else None
        facts: list[Child] = [element("dt", "where"), element("dd", self.sources.link(place_of(finding)))]
        for at, told in related_of(finding):
            facts += [element("dt", "see also"), element("dd", self.sources.link(at), with_signs(f" {told}"))]
        for word, told in facts_of(finding):
            told = told.replace(" > ", " \u2192 ") if word == "current" else told
            facts += [element("dt", word), element("dd", with_signs(told))]
        return element(
            "article",
            element("h3", f"{number} ", badge(finding.severity.value), with_signs(f" {finding.message}")),
            element("p", element("code", finding.rule), names, known, class_="names"),
            _line(place_of(finding)),
            element("dl", *facts, class_="facts"),
            class_=f"card {finding.severity.value}",
            id=f"finding-{number}",
        )

    def excerpts(self, part: Excerpts, heading: str) -> Html:
        return joined([element(heading, part.title), *self.sources.excerpts()], "\n")

    def source(self, part: Quoted, heading: str) -> Html:
        digest = element("p", "SHA-256 ", element("code", part.digest), class_="muted digest")
        return joined([element(heading, element("code", part.name)), digest, self.sources.whole(part.name)])

    def verdict(self, part: Verdict, _: str) -> Html:
        told = [badge(kind, words) if kind else element("span", words) for kind, words in part.badges]
        return joined(
            [
                element("p", joined(told, " "), class_="sum"),
                notes(part.lines, "muted") if part.rests else None,
            ]
        )

    def facts(self, part: Facts, _: str) -> Html:
        if part.grid:
            told = [
                (
                    with_signs(text)
                    if isinstance(text, str)
                    else joined([element("div", element("code", one)) for one in text])
                )
                for _, text in part.rows
            ]
            rows = zip(part.rows, told, strict=True)
            return element(
                "dl",
                *(one for (word, _), text in rows for one in (element("dt", word), element("dd", text))),
                class_="facts",
            )
        return joined(
            [_fact(word, text if isinstance(text, str) else ", ".join(text)) for word, text in part.rows], "\n"
        )

    def rank(self, part: Rank, _: str) -> Html:
        return element("p", badge(part.severity), f" {part.family}, ", element("code", part.rule))

    def listing(self, part: Listing, _: str) -> Html:
        """A layout with the lines set bold that the other has not."""
        lines = [element("strong", line) if own else line for line, own in part.lines()]
        pieces = [piece for line in lines for piece in (line, raw("\n"))]
        return element("pre", element("code", *pieces), tabindex=0)

    def contents(self, part: Contents, _: str) -> Html:
        places = [
            (one.title, anchor(one.title), f" {one.aside}" if one.aside else None)
            if isinstance(one, Section)
            else (DRAWING, one.name, None)
            for one in self.listed
        ]
        lines = [
            element("li", element("a", title, href=f"#{name}"), element("span", told, class_="muted") if told else None)
            for title, name, told in places
        ]
        list_ = element("ol", *lines)
        return element("nav", element("h2", part.title), list_, class_="contents", aria_label=part.title)

    def form(self, part: Form, heading: str) -> Html:
        heads = (element("th", one, scope="col") if one else element("td") for one in part.headers)
        head = element("thead", element("tr", *heads))
        body = element(
            "tbody",
            *(
                element("tr", *(element("th", one, scope="row") if one else element("td") for one in row))
                for row in part.rows
            ),
        )
        title = element(heading, part.title) if part.title else None
        return joined([title, element("table", head, body, class_="form")])


_PARTS: Mapping[type, Callable[..., Html]] = {
    Table: _Walk.table,
    Lines: _Walk.lines,
    Section: _Walk.section,
    Item: _Walk.item,
    Todo: _Walk.ticks,
    Says: _Walk.says,
    Figure: _Walk.figure,
    Findings: _Walk.findings,
    Cards: _Walk.cards,
    Excerpts: _Walk.excerpts,
    Quoted: _Walk.source,
    Verdict: _Walk.verdict,
    Facts: _Walk.facts,
    Rank: _Walk.rank,
    Listing: _Walk.listing,
    Contents: _Walk.contents,
    Form: _Walk.form,
}


def _narrow(cards: Sequence[Part]) -> bool:
    """Whether three of these fit beside each other on a sheet."""
    tables = [one for one in cards if isinstance(one, Table)]
    return all(sum(widths(one)) <= _NARROW for one in tables)


def widths(table: Table) -> Iterator[float]:
    """Characters of each column, with what stands between it and the next; what heads a row is in heavier type."""
    kept = table.kept()
    heads = next((place for place, i in enumerate(kept) if table.headers[i].heads), 0)
    titles = [table.headers[i].title for i in kept]
    for place, column in enumerate(zip(titles, *table.shown(), strict=True)):
        yield (max(map(len, column)) + 2) * (1.1 if place == heads else 0.9)


def _cards_of(parts: Iterable[Part]) -> Iterator[Cards]:
    for one in parts:
        if isinstance(one, Cards):
            yield one
        elif isinstance(one, Section):
            yield from _cards_of(one.parts)


def _fact(word: str, told: str) -> Html:
    return (
        element("p", element("strong", f"{word}: ") if told else element("strong", f"{word}:"), with_signs(told))
        if word
        else element("p", with_signs(told))
    )


def _brief(finding: Finding, remark: str) -> Html:
    names = cut_short((finding.subject, *finding.others), 5)
    told = f" {finding.rule}, {names}: {finding.message}; {finding.where}" + (f" ({remark})" if remark else "")
    return element("p", badge(finding.severity.value), with_signs(told))


def _line(place: Place) -> Html | None:
    """The line that a place is on, with what is meant marked; None where there is nothing to show."""
    if not place.source.strip():
        return None
    source, start = cut(place.source, place.column - 1, _LONGEST)
    end = start + max(place.end_column - place.column, 1) if place.end_line == place.line else len(source)
    gutter = element("span", f"{place.line:>4}  ", class_="line")
    return element("pre", gutter, source[:start], element("mark", source[start:end]), source[end:], tabindex=0)


def _figures(drawing: Drawing, id_: str) -> tuple[Child, ...]:
    """The drawing as it is; of one that is longer than a sheet also the cuts, which only paper shows.

    The cuts lie where nothing that fits a sheet lies across.
    """
    svg, cuts = drawing_svg(drawing), list[Html]()
    if drawing.sheets > 1:
        whole = f"{id_}-whole"
        svg = svg.replace("<svg ", f'<svg id="{whole}" ', 1)
        for number in range(drawing.sheets):
            top = number * drawing.page_mm
            height = min(drawing.page_mm, drawing.height_mm - top)
            use = f'<use href="#{whole}" width="{drawing.width_mm:g}" height="{drawing.height_mm:g}"/>'
            box = f"0 {top:g} {drawing.width_mm:g} {height:g}"
            size = f'width="{drawing.width_mm:g}mm" height="{height:g}mm"'
            cuts.append(raw(f'<svg {size} viewBox="{box}" aria-hidden="true">{use}</svg>'))
    label = f"{DRAWING}: {drawing.title}"
    kind = "drawing lying" if drawing.lying else "drawing"
    figure = element("figure", raw(svg), class_=f"{kind} screen" if cuts else kind, tabindex=0, aria_label=label)
    return (figure, *(element("figure", cut, class_=f"{kind} paper") for cut in cuts))
