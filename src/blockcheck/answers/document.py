"""What a command says, as a document: sentences, tables, things to tick, findings, figures. Every format walks it.

Text, markdown and pages show quantities with a unit that suits their size (``940 mA``); CSV and spreadsheets keep
them as numbers in SI units (amperes, volts, metres, seconds), which they can reckon with.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Literal

from attrs import evolve, field, frozen

from blockcheck.answers.answer import Answer
from blockcheck.core.findings import Finding
from blockcheck.model.quantities import DIMENSIONS, Dimension, show

Cell = str | int | float | None

CAUTION = (
    "Track power can start a fire: protect every booster and district by itself, and mend a breaker that fails its "
    "short test before anything runs. Mains wiring and supplies are outside this tool: local codes and licensed "
    "electricians decide. Confirm what is computed here with a meter."
)


@frozen
class Column:
    """What stands over a column, and what its cells are.

    ``title`` is for people, ``key`` for CSV (the title where it is empty). ``quantity`` is a dimension such as
    ``Amperes``: the cells are then numbers in its SI unit. A ``share`` is a number of which 1 is the whole, and reads
    as a bar. ``zero`` is shown for 0. ``always`` keeps a column of which every cell is empty. ``only`` may be
    ``people`` (not in CSV and spreadsheets) or ``programs`` (only there). The column that ``heads`` names the row, the
    first where none does. A cell that says ``alarm`` is set in heavy type. One that ``fills`` is written into by
    hand: a page has a field in each of its cells.
    """

    title: str
    key: str = ""
    quantity: object = None
    share: bool = False
    zero: str = ""
    always: bool = False
    only: str = ""
    heads: bool = False
    alarm: str = ""
    fills: bool = False

    @property
    def dimension(self) -> Dimension | None:
        """The dimension of its cells."""
        return None if self.quantity is None else DIMENSIONS[self.quantity]

    @property
    def unit(self) -> str:
        """The SI unit of its cells; empty for words and bare numbers."""
        dimension = self.dimension
        return "" if dimension is None else next(unit for unit, factor in dimension.units.items() if factor == 1.0)

    def shown(self, cell: Cell, imperial: bool = False) -> str:
        """A cell as people read it."""
        if self.fills and cell is None:
            return "________"
        if isinstance(cell, int | float):
            if self.zero and not cell:
                return self.zero
            if self.share:
                return f"{cell * 100:.0f} %"
            if self.dimension is not None:
                return show(cell, self.dimension, imperial)
        return written(cell)


def _columns(headers: Iterable[str | Column]) -> tuple[Column, ...]:
    return tuple(Column(one) if isinstance(one, str) else one for one in headers)


def _rows(rows: Iterable[Iterable[Cell]]) -> tuple[tuple[Cell, ...], ...]:
    return tuple(map(tuple, rows))


@frozen
class Table:
    """A table, said once. ``headers`` are columns, or mere titles; every row has a cell for each.

    ``notes`` stand under it. ``imperial`` shows lengths in feet. ``ticks``: a page has a box to tick
    at the end of each row. ``brief`` are lines that plain text has in its place.

    Raises ValueError for a row of another width.
    """

    title: str
    headers: tuple[Column, ...] = field(converter=_columns)
    rows: tuple[tuple[Cell, ...], ...] = field(converter=_rows)
    notes: tuple[str, ...] = field(default=(), converter=tuple[str, ...])
    imperial: bool = False
    ticks: bool = False
    brief: tuple[str, ...] = field(default=(), converter=tuple[str, ...])

    def __attrs_post_init__(self) -> None:
        """Hold every row to the headers."""
        if any(len(row) != len(self.headers) for row in self.rows):
            raise ValueError(f"a row of the table {self.title!r} does not have {len(self.headers)} cells")

    def kept(self) -> tuple[int, ...]:
        """The columns that people see: none for programs only, and none that is empty all the way down."""
        return tuple(
            i
            for i, column in enumerate(self.headers)
            if column.only != "programs" and (column.always or any(row[i] not in (None, "") for row in self.rows))
        )

    def for_programs(self) -> Table:
        """The table as CSV and spreadsheets have it, without the columns that are for people only."""
        kept = [i for i, column in enumerate(self.headers) if column.only != "people"]
        rows = [[_settled(row[i]) for i in kept] for row in self.rows]
        return evolve(self, headers=[self.headers[i] for i in kept], rows=rows)

    def beside(self, title: str, cells: Iterable[Cell]) -> Table:
        """The table with a column before its own: what every row belongs to."""
        rows = [(cell, *row) for cell, row in zip(cells, self.rows, strict=True)]
        return evolve(self, headers=(Column(title), *self.headers), rows=rows)

    def numeric(self, index: int) -> bool:
        """Whether a column holds numbers, and is set flush right."""
        return self.headers[index].dimension is None and not self.headers[index].share and numeric(self.rows, index)

    def shown(self) -> Iterator[list[str]]:
        """The rows as people read them, in the columns that they see."""
        kept = self.kept()
        for row in self.rows:
            yield [self.headers[i].shown(row[i], self.imperial) for i in kept]


@frozen
class Says:
    """Sentences.

    ``kind``: the answer itself (``lead``), what goes with it (``plain``), what explains (``note``), what is wrong
    (``alarm``), or what must not be overlooked (``caution``). ``command`` is a line to type that stands below.
    """

    texts: tuple[str, ...] = field(converter=tuple[str, ...])
    kind: Literal["lead", "plain", "note", "alarm", "caution"] = "lead"
    command: str = ""


@frozen
class Lines:
    """A list, under a title where it has one; what is wrong where it is an ``alarm``. ``dashes``: in text too."""

    title: str
    lines: tuple[str, ...] = field(converter=tuple[str, ...])
    alarm: bool = False
    dashes: bool = False


@frozen
class Todo:
    """Things to tick off: what it is about, and what to do or to expect. ``named``: that does not say about what."""

    headers: tuple[str, str]
    rows: tuple[tuple[str, str], ...] = field(converter=tuple[tuple[str, str], ...])
    named: bool = False

    def table(self) -> Table:
        """As a page has them."""
        return Table("", self.headers, self.rows, ticks=True)


@frozen
class Item:
    """One of a numbered list: a title, lines, and a table, for which plain text has lines (its ``brief``).

    ``ticks``: plain text has a box to tick before it.
    """

    number: int
    title: str
    lines: tuple[str, ...] = field(converter=tuple[str, ...])
    table: Table | None = None
    ticks: bool = False


@frozen
class Findings:
    """Findings in a few lines each, with a remark or without."""

    rows: tuple[tuple[Finding, str], ...] = field(converter=tuple[tuple[Finding, str], ...])


@frozen
class Section:
    """Parts under a heading. One of ``level`` 3 belongs to the one before; ``folds``: it may be folded away."""

    title: str
    parts: tuple[Part, ...] = field(converter=tuple["Part", ...])
    level: int = 2
    folds: bool = False

    @property
    def rows(self) -> int:
        """How many rows its tables have."""
        return sum(len(one.rows) for one in self.parts if isinstance(one, Table | Todo))


@frozen
class Figure:
    """A drawing (the answer of ``draw``), made where a format shows it."""

    drawing: Callable[[], Answer]


@frozen
class Brief:
    """``parts``, and the shorter ``text`` that plain text has in their place."""

    parts: tuple[Part, ...] = field(converter=tuple["Part", ...])
    text: tuple[Part, ...] = field(converter=tuple["Part", ...])


Shown = Says | Lines | Item | Todo | Findings | Section | Table | Figure
Part = Shown | Brief


@frozen
class Document:
    """What one command answers. ``parts`` stand one after the other; those without anything in them are not shown.

    ``data`` are the tables for programs where those that people read are cut up or cut short; CSV has the first,
    spreadsheets have all. ``head`` is what plain text has over it beside the layout's name: the title where it is None,
    nothing where it is empty; a table of that title goes without its own.
    """

    title: str
    layout: str
    parts: tuple[Part, ...] = field(converter=tuple[Part, ...])
    data: tuple[Table, ...] = ()
    head: str | None = None

    @property
    def shown(self) -> tuple[Shown, ...]:
        """The parts with anything in them, as pages have them."""
        return tuple(_shown(self.parts, brief=False))

    @property
    def told(self) -> tuple[Shown, ...]:
        """The parts with anything in them, as plain text has them."""
        return tuple(_shown(self.parts, brief=True))

    @property
    def tables(self) -> tuple[Table, ...]:
        """The tables that people read on pages."""
        return tuple(one for one in self.shown if isinstance(one, Table))

    def programs(self) -> tuple[Table, ...]:
        """The tables for programs; without those that are empty, except the first."""
        tables = [one for one in self.parts if isinstance(one, Table)]
        first, *rest = self.data or tables or (Table(self.title, (), ()),)
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
    return isinstance(part, Figure | Item) or bool(part.texts if isinstance(part, Says) else part.lines)


def numeric(rows: Sequence[Sequence[Cell]], column: int) -> bool:
    """Whether a column holds numbers and nothing else but gaps."""
    cells = [row[column] for row in rows if row[column] is not None]
    return bool(cells) and all(isinstance(cell, int | float) for cell in cells)


def written(cell: Cell) -> str:
    """A cell as it stands, a number without needless digits."""
    if isinstance(cell, float):
        return f"{cell:g}"
    return "" if cell is None else str(cell)


def _settled(cell: Cell) -> Cell:
    """A number without what is only the noise of reckoning: nine digits, as much as anybody measures."""
    return float(f"{cell:.9g}") if isinstance(cell, float) else cell
