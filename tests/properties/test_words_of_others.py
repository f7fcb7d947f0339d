"""No word of a layout leaves its place: no line, no markup, no formula and no command in any format of any command.

One layout says something in every key that takes words, and all names are as bad as names may be. What is made of it is
read as its readers read it: markdown by a CommonMark parser, pages and drawings by HTML's and XML's, and so on.
"""

from __future__ import annotations

import copy
import csv
import io
import json
import re
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache, partial
from html.parser import HTMLParser
from typing import Any, get_args
from xml.etree import ElementTree

import attrs
import openpyxl
import pytest
import tomli_w
from hypothesis import example, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from blockcheck import api, render
from blockcheck.answers.answer import Answer
from blockcheck.answers.checking.check import refused
from blockcheck.answers.document import (
    Cards,
    Document,
    Facts,
    Findings,
    Form,
    Item,
    Lines,
    Part,
    Says,
    Section,
    Terms,
    Todo,
    Verdict,
)
from blockcheck.answers.tables import Column, Table
from blockcheck.core.errors import InputError
from blockcheck.core.findings import Finding, Label
from blockcheck.core.shown import unseen
from blockcheck.core.spans import Place
from blockcheck.formats.csv_table import DIALECTS, csv_of
from blockcheck.formats.html import document_html
from blockcheck.formats.markdown import document_markdown
from blockcheck.formats.programs.github import summary_markdown
from blockcheck.formats.programs.xlsx import xlsx_of
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text
from blockcheck.model.keys import Reason
from tests.properties.test_every_key import LEAVES, VALUES

PIECES = (
    *("\n", "\r\n", "\t", "::error::", "##[add-mask]", "##vso[x]", "# ", "- ", "1. ", "> ", "---", "===", "***"),
    *("`", "```", "_x_", "**x**", "~~x~~", "$x$", "[x](y)", "![x](y)", "<b>", "<!--", "&lt;", "|", "\\", "http://x.y"),
    *("www.x.y", "=1+1", "@x", ";=1", ",@x", '"', "'", "'''", "]]>", "{{x}}", "%0A", "&L", "_x000D_", "x", "0", " "),
)
BREAKS = ("\x85", "\u2028")
UNSEEN = (
    "\x1b[31m",
    "\u202e",
    "\u2066",
    "\u200b",
    "\ufeff",
    "\u3164",
    "\U000e0041",
    "\x00",
    "\x85",
    "\u2028",
    "\ud800",
)
WORDS = st.lists(st.sampled_from(PIECES), min_size=1, max_size=6).map("".join)
ANYTHING = st.lists(st.sampled_from((*PIECES, *UNSEEN)), min_size=1, max_size=6).map("".join)
NAMES = ("S1", "S2", "quay", "tank", "milk", "night", "motor", "octet", "thick", "X", "Y")
OURS = re.compile(r"::(error|warning|notice) [a-zA-Z]+=[^:]*::")


# --- what each format must not hold ----------------------------------------------------------------------------------
def lines_hold_nothing(made: str, format_: str) -> None:
    """What holds of every line of whatever is text."""
    for line in made.replace("\t", " " if format_ == "tab-csv" else "\t").split("\r\n" if "csv" in format_ else "\n"):
        assert unseen(line) is None, ascii(line)
        if not (format_ == "github" and OURS.match(line)):  # which is read to its end as the command that it is
            assert not re.search(r"##\w*\[", line), line
            assert not line.lstrip().startswith("::"), line


class _Tags(HTMLParser):
    def __init__(self, made: str) -> None:
        super().__init__()
        self.found: Counter[str] = Counter()
        self.drawn = False
        self.feed(made)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.drawn = self.drawn or tag == "svg"
        one = " ".join([tag, *(name for name, _ in attrs if name != "class")])
        self.found[one] = 1 if self.drawn else self.found[one] + 1  # a drawing has more lines for longer words

    def handle_endtag(self, tag: str) -> None:
        self.drawn = self.drawn and tag != "svg"

    def handle_comment(self, _: str) -> None:
        self.found["comment"] += 1


def shape_of_markdown(made: str) -> Counter[str]:
    """How much of what a CommonMark parser finds, words left out."""
    tokens = MarkdownIt("commonmark").enable(["table", "strikethrough"]).parse(made)
    every = (one.type for top in tokens for one in (top, *(top.children or ())))
    return Counter(one for one in every if not one.startswith("text"))


def shape_of_csv(made: str, delimiter: str = ",") -> list[int]:
    rows = list(csv.reader(io.StringIO(made.removeprefix("\ufeff")), delimiter=delimiter))
    assert not [cell for row in rows for cell in row if re.match(r"\s*[=@]|\s*[-+](?![\d.]+$)", cell)]
    return [*map(len, rows)]


def shape_of_json(made: str) -> set[str]:
    found = set[str]()
    json.loads(made, object_hook=lambda value: found.update(value))
    return found


def shape_of_toml(made: str) -> set[str]:
    return shape_of_json(json.dumps(tomllib.loads(made)))


def shape_of_xml(made: str) -> list[str]:
    return sorted({one.tag for one in ElementTree.fromstring(made).iter()})


def shape_of_xlsx(made: bytes) -> list[tuple[str, int, int]]:
    sheets = openpyxl.load_workbook(io.BytesIO(made)).worksheets
    formulas = [cell for sheet in sheets for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
    told = {re.sub(r"\b[A-Z]\d+\b", "CELL", str(cell.value)) for cell in formulas}
    assert len(told) <= 1, "the one formula there is has no word of the layout"
    assert {cell.column for cell in formulas} <= {sheet.max_column for sheet in sheets}
    return [(sheet.title, sheet.max_row, sheet.max_column) for sheet in sheets]


_DRAWN = re.compile(r'<figure class="drawing.*?</figure>', re.S)
"""A drawing in a page, which takes more sheets where names are longer; as SVG it is looked at by itself."""
SHAPES: dict[str, Callable[[Any], object]] = {
    "markdown": shape_of_markdown,
    "html": lambda made: _Tags(_DRAWN.sub("", made)).found,
    "labels-html": lambda made: _Tags(made).found,
    "svg": shape_of_xml,
    "labels-svg": shape_of_xml,
    "junit": shape_of_xml,
    "csv": shape_of_csv,
    "comma-csv": shape_of_csv,
    "labels-csv": shape_of_csv,
    "semicolon-csv": partial(shape_of_csv, delimiter=";"),
    "tab-csv": partial(shape_of_csv, delimiter="\t"),
    "json": shape_of_json,
    "sarif": shape_of_json,
    "toml": shape_of_toml,
    "xlsx": shape_of_xlsx,
    "netlist": lambda made: made.count("\n"),
    "github": lambda made: made.count("\n"),
}


# --- a layout whose every word is bad --------------------------------------------------------------------------------
BAD_NAMES = (
    "=|<b>S1",
    "-*x*S2",
    "@q[S1](x)",
    "# tank",
    "1) milk",
    "\"night'",
    "##[x]m",
    "`eight`",
    "\\thick",
    "&lt;X",
    "~~Y~~$x$",
)
BAD_FILE = "a\n::error::b\u202e##[x].toml"
KEYS = [path for _, _, hint, path in LEAVES if {hint, *get_args(hint)} & {str, Reason, tuple[str, ...]}]
CHOSEN = {("layout", "scale"), ("accept", 0, "rule"), ("rules",), ("selectors", "Z", "panel")}
"""Words that the language knows, and the name of the panel in whose rows a switch stands."""


def said(words: Iterator[str]) -> dict[str, Any]:
    """The layout that says something under every key, with these words where words stand."""
    values: Any = copy.deepcopy(VALUES)
    for path in KEYS:
        if path not in CHOSEN:
            table = values
            for step in path[:-1]:
                table = table[step]
            one = table[path[-1]]
            table[path[-1]] = [next(words) for _ in one] if isinstance(one, list) else next(words)
    return values  # type: ignore[no-any-return]


def written(words: Iterator[str], names: dict[str, str], file: str) -> dict[tuple[str, str], str | bytes]:
    """Command and format -> what is made of a layout with these words and names."""
    values = _renamed(said(words), names)
    # an array of tables that fits one line has one, and else several: the source in the book would tell the two apart
    values["accept"] = [{**one, "because": f"{one['because']}{'.' * 100}"} for one in values["accept"]]
    layout = tomli_w.dumps(values)
    before, study = api.loads(layout.replace('"3 m"', '"4 m"'), file), api.loads(layout, file)
    block = names.get("S1", "S1")
    sheet = tomli_w.dumps({"format": 1, "steps": [{"id": f"rails.{block}", "reading": "open"}]})
    checked = api.check(study)
    answers: list[Answer] = [
        *(ask(study) for ask in (api.channels, api.power, api.budget, api.wake, api.wires, api.panel, api.page)),
        api.book(study, without=["labels"]),  # which are taken together by the numbers in their names
        *(checked, api.isolate(study, block), api.draw(study), api.compare(before, study), api.bench(study)),
        api.trace(study, "readings.toml", data=sheet),
    ]
    made = {(one.command, name): render(one, name) for one in answers for name in one.formats}
    return {**made, ("summary", "markdown"): summary_markdown(checked)}


def _renamed(value: Any, names: dict[str, str]) -> Any:
    if isinstance(value, dict):
        return {names.get(key, key): _renamed(one, names) for key, one in value.items()}
    if isinstance(value, list):
        return [_renamed(one, names) for one in value]
    return names.get(value, value) if isinstance(value, str) else value


@cache
def plainly() -> dict[tuple[str, str], str | bytes]:
    return written((f"word {number}" for number in range(100)), {}, "plain.toml")


@pytest.mark.parametrize("first", range(0, len(PIECES), 15))
def test_no_word_of_a_layout_leaves_its_place(first: int) -> None:
    pieces = [*PIECES[first:], *PIECES[:first]]
    made = written(
        (f"{piece}x{number}{piece}" for number, piece in enumerate(pieces)),
        dict(zip(NAMES, BAD_NAMES, strict=True)),
        BAD_FILE,
    )
    assert made.keys() == plainly().keys()
    for (command, format_), one in made.items():
        if isinstance(one, str):
            lines_hold_nothing(one, format_)
        if format_ in SHAPES:
            shape = SHAPES[format_]
            assert shape(one) == shape(plainly()[command, format_]), (command, format_)


def document(words: list[str]) -> Document:
    """A document with all that one is made of; every word of it somebody else's."""
    next_ = iter(words).__next__
    headers = (Column(next_()), Column(next_(), heads=True), Column(next_(), always=True), Column("n"))
    rows = [(next_(), next_(), None, 1), (next_(), next_(), next_(), 2.5)]
    says = [Says((next_(), next_()), kind, next_()) for kind in get_args(attrs.fields(Says).kind.type)]
    lines = [Lines(next_(), (next_(), next_())), Lines(next_(), (next_(),), alarm=True), Lines("", (next_(),))]
    todo = [Todo((next_(), next_()), [(next_(), next_())], named) for named in (True, False)]
    found = Finding(next_(), next_(), Place(next_(), 1, 1, 1, 1, ""), (next_(), next_()), rule="input")
    item = Item(1, next_(), [next_()], Table("", (next_(), "n"), [(next_(), 1)], brief=[next_()]))
    parts: tuple[Part, ...] = (*todo, item, Findings([(found, next_())]), Table("", (next_(), "n"), [(next_(), 1)] * 9))
    sections = [Section(next_(), parts, level, folds=folds) for level in (2, 3) for folds in (True, False)]
    at = Place(next_(), 1, 1, 1, 3, "one line of a file")
    cards = Cards([Finding(next_(), next_(), at, (next_(),), (Label(at, next_()),), next_(), rule="input")], next_())
    verdict = Verdict(next_(), next_(), next_(), (("plain", next_()),), ((next_(), (next_(), next_())),))
    rest = (verdict, cards, Facts([("", next_()), (next_(), next_())]), Terms(((next_(), ((next_(), next_()),)),)))
    form = Form(next_(), (next_(), next_()), ((next_(), ""),))
    return Document(
        next_(), next_(), (*says, *lines, *rest, form, *sections, Table(next_(), headers, rows, (next_(), next_())))
    )


WANTED = 83
PLAIN = document([f"word {number}" for number in range(WANTED)])


def renderings(made: Document) -> dict[str, str | bytes]:
    """All that the walkers of documents make of one."""
    dialects = {f"{name}-csv": csv_of(made.programs(), Style(csv_dialect=name)) for name in DIALECTS}
    title = f"{made.layout}: {made.title}"
    texts = {"text": document_text(made, Style()), "markdown": document_markdown(made), "html": document_html(made)}
    return {**texts, **dialects, "xlsx": xlsx_of(title, made.programs())}


@given(st.lists(ANYTHING, min_size=WANTED, max_size=WANTED))
@settings(max_examples=40)
@example([f"{sign}x" for sign in (*UNSEEN, *PIECES, *UNSEEN, *PIECES)][:WANTED])
@example([f"{sign}x" for sign in (*PIECES, *PIECES, *PIECES)][-WANTED:])
def test_no_word_of_a_document_leaves_its_place(words: list[str]) -> None:
    made, plain = document([f"{word}x{number}" for number, word in enumerate(words)]), renderings(PLAIN)
    for name, one in renderings(made).items():
        if isinstance(one, str):
            lines_hold_nothing(one.removeprefix("\ufeff"), name)
        shape = SHAPES.get(name, lambda _: None)
        if name != "xlsx":  # sheets are named as the tables are
            assert shape(one) == shape(plain[name]), name
        else:
            shape(one)
    painted, ours = (document_text(one, Style(colour=True)) for one in (made, PLAIN))
    assert painted.count("\x1b") == ours.count("\x1b")


@pytest.mark.parametrize("sign", UNSEEN[:-1], ids=ascii)
def test_what_is_not_seen_is_refused_in_words_that_show_it(sign: str) -> None:
    try:
        api.loads(tomli_w.dumps(said(f"a{sign}{number}" for number in range(100))), BAD_FILE)
    except InputError as error:
        told = [(one.message, one.at) for one in error.findings]
        assert not any(map(unseen, str(error).split("\n")))
        for name in ("text", "markdown", "github"):
            lines_hold_nothing(render(refused(error), name), name)
    else:
        told = []
    if sign in BREAKS:
        assert not told
    else:
        assert len(told) == len(KEYS) - len(CHOSEN) + 3  # each key, and of three lists both
        assert {message for message, _ in told} == {f"the sign U+{ord(sign[0]):04X} cannot stand in a text"}
