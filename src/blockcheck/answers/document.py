"""What a command says, as a document: sentences, tables, things to tick, findings, figures. Every format walks it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Literal

from attrs import evolve, field, frozen

from blockcheck.answers.answer import Answer
from blockcheck.answers.tables import Table
from blockcheck.core.findings import Finding

CAUTION = (
    "Track power can start a fire: protect every booster and district by itself, and mend a breaker that fails its "
    "short test before anything runs. Mains wiring and supplies are outside this tool: local codes and licensed "
    "electricians decide. Confirm what is computed here with a meter."
)


@frozen(eq=False, repr=False)
class Says:
    """Sentences.

    ``kind``: the answer itself (``lead``), what goes with it (``plain``), what explains (``note``), what is wrong
    (``alarm``), or what must not be overlooked (``caution``). ``command`` is a line to type that stands below.
    """

    texts: tuple[str, ...] = field(converter=tuple[str, ...])
    kind: Literal["lead", "plain", "note", "alarm", "caution"] = "lead"
    command: str = ""


@frozen(eq=False, repr=False)
class Lines:
    """A list, under a title where it has one; what is wrong where it is an ``alarm``. ``dashes``: in text too."""

    title: str
    lines: tuple[str, ...] = field(converter=tuple[str, ...])
    alarm: bool = False
    dashes: bool = False


@frozen(eq=False, repr=False)
class Todo:
    """Things to tick off: what it is about, and what to do or to expect. ``named``: that does not say about what."""

    headers: tuple[str, str]
    rows: tuple[tuple[str, str], ...] = field(converter=tuple[tuple[str, str], ...])
    named: bool = False

    def table(self) -> Table:
        """As a page has them."""
        return Table("", self.headers, self.rows, ticks=True)


@frozen(eq=False, repr=False)
class Item:
    """One of a numbered list: a title, lines, and a table, for which plain text has lines (its ``brief``)."""

    number: int
    title: str
    lines: tuple[str, ...] = field(converter=tuple[str, ...])
    table: Table | None = None


@frozen(eq=False, repr=False)
class Findings:
    """Findings in a few lines each, with a remark or without."""

    rows: tuple[tuple[Finding, str], ...] = field(converter=tuple[tuple[Finding, str], ...])


@frozen(eq=False, repr=False)
class Cards:
    """Findings whole: what is wrong, the lines where it is, what was measured, how to mend it.

    ``title`` stands over them on a page, where they are numbered.
    """

    findings: tuple[Finding, ...] = field(converter=tuple[Finding, ...])
    title: str = ""


@frozen(eq=False, repr=False)
class Excerpts:
    """The lines that the cards of the document point at, and those around them; on pages alone."""

    title: str


@frozen(eq=False, repr=False)
class Quoted:
    """A file of the document's ``sources``, whole, with its lines numbered; on pages alone."""

    name: str
    digest: str


@frozen(eq=False, repr=False)
class Verdict:
    """What a check comes to. ``name`` is what was checked, empty where it could not be understood.

    ``sentence`` says it in words, of which ``fine`` are good ones; ``badges`` are the same in pieces, each with its
    kind; ``rests`` is what it rests on, under heads.
    """

    name: str
    sentence: str
    fine: str
    badges: tuple[tuple[str, str], ...]
    rests: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """What it rests on, a line each: ``judged: 7 blocks with volts, by 38 of 49 rules``."""
        return tuple(f"{head}: {', '.join(told)}" for head, told in self.rests)


@frozen(eq=False, repr=False)
class Facts:
    """Words, and what is told to each; without a word it stands alone. A tuple holds names as a file has them.

    ``grid``: pages set the words beside what they tell.
    """

    rows: tuple[tuple[str, str | tuple[str, ...]], ...] = field(converter=tuple[tuple[str, str | tuple[str, ...]], ...])
    grid: bool = False


@frozen(eq=False, repr=False)
class Rank:
    """How bad what breaks a rule is, what family the rule is of, and how it is written."""

    severity: str
    family: str
    rule: str


@frozen(eq=False, repr=False)
class Listing:
    """A layout as it is written, with marks at the lines that ``other`` has not. ``code`` is empty for a picture."""

    text: str
    other: str
    code: str = "toml"

    def lines(self) -> Iterator[tuple[str, bool]]:
        """Every line, and whether the other has it not."""
        others = set(self.other.splitlines())
        for line in self.text.splitlines():
            yield line, line not in others


@frozen(eq=False, repr=False)
class Terms:
    """Groups of rows whose cells stand below each other through all groups, the last one wrapped; for plain text."""

    groups: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]


@frozen(eq=False, repr=False)
class Contents:
    """The sections and drawings of the document, on pages alone."""

    title: str


@frozen(eq=False, repr=False)
class Form:
    """Lines to write on, on pages alone."""

    title: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@frozen(eq=False, repr=False)
class Section:
    """Parts under a heading. One of ``level`` 3 belongs to the one before; ``folds``: it may be folded away.

    ``aside`` stands beside its title in plain text and in a table of contents. ``sheet``: on a sheet of paper of its
    own. ``linked``: a column that ``links`` leads to it.
    """

    title: str
    parts: tuple[Part, ...] = field(converter=tuple["Part", ...])
    level: int = 2
    folds: bool = False
    aside: str = ""
    sheet: bool = False
    linked: bool = False

    @property
    def rows(self) -> int:
        """How many rows its tables have."""
        return sum(len(one.rows) for one in self.parts if isinstance(one, Table | Todo))


@frozen(eq=False, repr=False)
class Figure:
    """A drawing (the answer of ``draw``), made where a format shows it; ``name`` is where a link to it leads."""

    drawing: Callable[[], Answer]
    name: str = "drawing"


@frozen(eq=False, repr=False)
class Brief:
    """``parts``, and the shorter ``text`` that plain text has in their place."""

    parts: tuple[Part, ...] = field(converter=tuple["Part", ...])
    text: tuple[Part, ...] = field(converter=tuple["Part", ...])


Shown = (
    Says
    | Lines
    | Item
    | Todo
    | Findings
    | Section
    | Table
    | Figure
    | Cards
    | Excerpts
    | Quoted
    | Verdict
    | Facts
    | Rank
    | Listing
    | Terms
    | Contents
    | Form
)
Part = Shown | Brief


@frozen(eq=False, repr=False)
class Document:
    """What one command answers. ``parts`` stand one after the other; those without anything in them are not shown.

    ``data`` are the tables for programs where those that people read are cut up or cut short; CSV has the first,
    spreadsheets have all. ``head`` is what plain text has over it beside the layout's name: the title where it is None,
    nothing where it is empty; a table of that title goes without its own. ``kind`` is what pages have above the title.
    The sentences of the ``verdict`` come first; plain text has the first of them in place of a head.
    ``sources`` are the texts of the files that findings are in, by name, where they are known. ``imperial``: programs
    have lengths in feet.
    """

    title: str
    layout: str
    parts: tuple[Part, ...] = field(converter=tuple[Part, ...])
    data: tuple[Table, ...] = ()
    head: str | None = None
    kind: str = "Track wiring"
    verdict: tuple[str, ...] = field(default=(), converter=tuple[str, ...])
    sources: Mapping[str, str] = field(factory=dict)
    imperial: bool = False

    @property
    def about(self) -> tuple[str, ...]:
        """What a workbook says before its tables: what it comes to, the files that it rests on, and what to mind."""
        facts = [part for part in self.shown if isinstance(part, Facts) and part.grid]
        told = [
            f"{word}: {', '.join([text] if isinstance(text, str) else text)}"
            for one in facts
            for word, text in one.rows
        ]
        cautions = [
            text for part in self.shown if isinstance(part, Says) and part.kind == "caution" for text in part.texts
        ]
        held = "Numbers are in the unit that their heading names."
        return (*self.verdict, *told, held, *(dict.fromkeys(cautions) or (CAUTION,)))

    @property
    def full_title(self) -> str:
        """Title and layout."""
        return f"{self.title}: {self.layout}" if self.layout else self.title

    @property
    def shown(self) -> tuple[Shown, ...]:
        """The parts with anything in them, as pages have them."""
        return tuple(_shown((*(Says((one,)) for one in self.verdict), *self.parts), brief=False))

    @property
    def told(self) -> tuple[Shown, ...]:
        """The parts with anything in them, as plain text has them."""
        return tuple(_shown((*(Says((one,)) for one in self.verdict[1:]), *self.parts), brief=True))

    @property
    def tables(self) -> tuple[Table, ...]:
        """The tables that people read on pages."""
        return tuple(one for one in self.shown if isinstance(one, Table))

    def programs(self) -> tuple[Table, ...]:
        """The tables for programs; without those that are empty, except the first."""
        tables = [one for one in self.parts if isinstance(one, Table)]
        found = self.data or tables or (Table(self.title, (), ()),)
        first, *rest = (evolve(one, imperial=one.imperial or self.imperial) for one in found)
        return (first, *(table for table in rest if table.rows))


def _shown(parts: Iterable[Part], brief: bool) -> Iterator[Shown]:
    for one in parts:
        if isinstance(one, Section):
            yield evolve(one, parts=_shown(one.parts, brief))
        elif isinstance(one, Brief):
            yield from _shown(one.text if brief else one.parts, brief)
        elif _holds(one):
            yield one


def _holds(part: Shown) -> bool:
    """Whether a part has anything in it."""
    if isinstance(part, Section):
        return part.level == 2 or bool(part.parts)
    if isinstance(part, Table):
        return bool(part.rows or part.notes)
    if isinstance(part, Todo | Findings):
        return bool(part.rows)
    if isinstance(part, Cards):
        return bool(part.findings)
    return not isinstance(part, Says | Lines) or bool(part.texts if isinstance(part, Says) else part.lines)
