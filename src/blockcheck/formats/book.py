"""The whole record of a layout as one page to print, to sign, and to file."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from attrs import evolve, frozen

from blockcheck.answers.document import CAUTION, Document, Says, Table
from blockcheck.answers.lacking import LEFT_OUT, taken, unchecked_table
from blockcheck.core.words import listed, plural
from blockcheck.formats.check import accepted_table, check_document, finding_html, kept_back_table, sources_of, sum_html
from blockcheck.formats.html import (
    DRAWING,
    Child,
    Html,
    anchor,
    caution,
    document_body,
    drawing_figures,
    element,
    page,
    table_html,
)
from blockcheck.formats.programs.sources import Sources

if TYPE_CHECKING:
    from blockcheck.answers.workshop.book import BookAnswer

_SIGNED = ("Wired by", "Checked with a meter by", "Handed over to")
_DIGEST = 16  # of 64 digits: enough to tell versions of one description apart
_BLANK_LINES = 8
_CONTROL = {"dcc": "digital (dcc)", "dc": "direct current, with cabs (dc)"}


@frozen
class Part:
    """A part of the book, on a new sheet of paper; ``told`` stands beside it in the contents."""

    title: str
    body: tuple[Child, ...]
    told: str = ""
    class_: str = "part"


def book_html(answer: BookAnswer) -> str:
    """Title, contents, and one part after the other."""
    parts = [*_parts(answer)]
    contents = [
        element("li", element("a", part.title, href=f"#{anchor(part.title)}"), _aside(part.told)) for part in parts
    ]
    front = [
        element(
            "header",
            element("p", "Wiring record", class_="eyebrow"),
            element("h1", answer.layout),
            class_="title",
        ),
        sum_html(answer.check),
        _facts(answer),
        element("nav", element("h2", "Contents"), element("ol", *contents), class_="contents", aria_label="Contents"),
        caution(CAUTION),
    ]
    sections = [
        element("section", element("h2", part.title), *part.body, class_=part.class_, id=anchor(part.title))
        for part in parts
    ]
    return page(f"Wiring record: {answer.layout}", [*front, *sections])


def _aside(told: str) -> Html | None:
    return element("span", f" {told}", class_="muted") if told else None


def _facts(answer: BookAnswer) -> Html:
    facts: list[Child] = [
        element("dt", "consists of"),
        element("dd", listed([plural(count, word) for word, count in answer.counts])),
        element("dt", "control"),
        element("dd", _CONTROL[answer.control]),
    ]
    if answer.scale is not None:
        facts += [element("dt", "scale"), element("dd", answer.scale)]
    facts += [element("dt", "described in")]
    own = [file for file in answer.files if not file.stock]
    facts += [
        element("dd", *(element("div", element("code", f"{one.name}  {one.digest[:_DIGEST]}")) for one in own)),
    ]
    return element("dl", *facts, class_="facts")


def _parts(answer: BookAnswer) -> Iterator[Part]:
    check = answer.check
    sources = sources_of(check, {file.name: file.text for file in answer.files if not file.stock})
    yield Part(DRAWING, drawing_figures(answer.drawing, anchor(DRAWING)), class_="part drawing")
    yield _document(answer.channels.document())
    yield _document(answer.budget.document())
    yield _document(answer.power.document())
    yield _document(answer.wake.document())
    yield Part("Findings", tuple(_findings(answer, sources)), _count(answer))
    left_out = taken([*answer.budget.defaults, *answer.power.defaults, *answer.wake.defaults])
    if left_out.rows:
        lead = "Where the description is silent, this was taken. Write it down where it is otherwise."
        once = sorted(dict.fromkeys(left_out.rows), key=lambda row: str(row[0]))
        yield Part(LEFT_OUT, (element("p", lead, class_="lead"), table_html(evolve(left_out, title="", rows=once))))
    yield Part("The description", tuple(_description(answer, sources)), "(what all of this rests on)")
    yield Part("Handed over", tuple(_handed_over()))


def _document(document: Document) -> Part:
    """The cautions come first: at the end they might stand on a sheet of paper of their own."""
    kept = tuple(one for one in document.parts if not (isinstance(one, Table) and one.title == LEFT_OUT))
    first = sorted(kept, key=lambda one: not (isinstance(one, Says) and one.kind == "caution"))
    return Part(document.title, (document_body(evolve(document, parts=first), "h3"),))


def _count(answer: BookAnswer) -> str:
    check = answer.check
    told = [plural(len(check.findings), "finding") if check.findings else "none"]
    told += [f"{len(check.unchecked)} not checked"] if check.unchecked else []
    told += [f"{len(check.accepted)} accepted"] if check.accepted else []
    return f"({', '.join(told)})"


def _findings(answer: BookAnswer, sources: Sources) -> Iterator[Html]:
    """What was found, what could not be checked, what was accepted: each is said even where there is nothing."""
    check = answer.check
    if not check.findings:
        yield element("p", "Nothing was found.", class_="lead")
    for number, finding in enumerate(check.findings, 1):
        yield finding_html(finding, number, sources, "h3")
    if check.unchecked:
        yield table_html(unchecked_table(check.unchecked, "Not checked, for want of data"), "h3")
    else:
        yield element("p", "Every check was made: no datum was missing.", class_="lead")
    if check.accepted:
        yield table_html(accepted_table(check), "h3")
    else:
        yield element("p", "No finding was accepted.", class_="lead")
    if check.off or check.milder or check.laxer:
        yield table_html(kept_back_table(check), "h3")
    else:
        yield element("p", "No rule is off or ranked down, and no limit is laxer than its default.", class_="lead")


def _description(answer: BookAnswer, sources: Sources) -> Iterator[Html]:
    """Every file with its lines numbered; of stock files the names."""
    yield element("p", "Everything in this book follows from these files, as they were when it was made.")
    for file in answer.files:
        if not file.stock:
            yield element("h3", element("code", file.name))
            yield element("p", "SHA-256 ", element("code", file.digest), class_="muted digest")
            yield sources.whole(file.name)
    stock = [file for file in answer.files if file.stock]
    if stock:
        rows = [(file.name, file.digest[:_DIGEST]) for file in stock]
        yield table_html(Table("Stock data that came with blockcheck", ("file", "SHA-256 begins"), rows), "h3")


def _handed_over() -> Iterator[Html]:
    """Lines to write on: who stands for it, and what was changed since."""
    yield element(
        "p",
        "This book tells what was meant and what follows from it. Whether it was wired so, a meter tells. "
        "What is changed later is changed in the description first, and the book is made anew.",
    )
    yield _form(("", "name", "date", "signature"), [(word, "", "", "") for word in _SIGNED])
    yield element("h3", "Changed since, and not yet in the description")
    yield _form(("date", "what was changed, and where", "by"), [("", "", "")] * _BLANK_LINES)


def _form(headers: tuple[str, ...], rows: list[tuple[str, ...]]) -> Html:
    head = element("thead", element("tr", *(element("th", one, scope="col") for one in headers)))
    body = element("tbody", *(element("tr", *(element("td", one) for one in row)) for row in rows))
    return element("table", head, body, class_="form")


def book_sheets(answer: BookAnswer) -> tuple[Document, ...]:
    """The parts that are tables, for spreadsheets."""
    return (
        answer.channels.document(),
        answer.budget.document(),
        answer.power.document(),
        answer.wake.document(),
        check_document(answer.check),
    )


def book_xlsx(answer: BookAnswer) -> bytes:
    """One workbook with every table."""
    from blockcheck.formats.programs.xlsx import xlsx_of

    tables = [table for sheet in book_sheets(answer) for table in sheet.programs()]
    return xlsx_of(f"Wiring record: {answer.layout}", tables)
