"""Tables for people and for other programs. A command says its tables once; every format follows from them.

Text, markdown and pages show quantities with a unit that suits their size (``940 mA``); CSV and spreadsheets keep
them as numbers in SI units (amperes, volts, metres, seconds), which they can reckon with.
"""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence

from attrs import evolve, field, frozen

from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.model.quantities import DIMENSIONS, Dimension, show
from blockcheck.render.style import Style

Cell = str | int | float | None
_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_BAR = 20


@frozen
class Column:
    """What stands over a column, and what its cells are.

    ``title`` is for people, ``key`` for CSV (the title where it is empty). ``quantity`` is a dimension such as
    ``Amperes``: the cells are then numbers in its SI unit. A ``share`` is a number of which 1 is the whole, and reads
    as a bar. ``zero`` is shown for 0. ``always`` keeps a column of which every cell is empty. ``only`` may be
    ``people`` (not in CSV and spreadsheets) or ``programs`` (only there). The column that ``heads`` names the row, the
    first where none does. A cell that says ``alarm`` is set in heavy type.
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
        if isinstance(cell, int | float):
            if self.zero and not cell:
                return self.zero
            if self.share:
                return f"{cell * 100:.0f} %"
            if self.dimension is not None:
                return show(cell, self.dimension, imperial)
        return _shown(cell)


def _columns(headers: Iterable[str | Column]) -> tuple[Column, ...]:
    return tuple(Column(one) if isinstance(one, str) else one for one in headers)


def _rows(rows: Iterable[Iterable[Cell]]) -> tuple[tuple[Cell, ...], ...]:
    return tuple(map(tuple, rows))


@frozen
class Table:
    """A table, said once. ``headers`` are columns, or mere titles; every row has a cell for each.

    ``notes`` stand under it. ``imperial`` shows lengths in feet. Raises ValueError for a row of another width.
    """

    title: str
    headers: tuple[Column, ...] = field(converter=_columns)
    rows: tuple[tuple[Cell, ...], ...] = field(converter=_rows)
    notes: tuple[str, ...] = field(default=(), converter=tuple[str, ...])
    imperial: bool = False

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

    def numeric(self, index: int) -> bool:
        """Whether a column holds numbers, and is set flush right."""
        return self.headers[index].dimension is None and not self.headers[index].share and _numeric(self.rows, index)

    def shown(self) -> Iterator[list[str]]:
        """The rows as people read them, in the columns that they see."""
        kept = self.kept()
        for row in self.rows:
            yield [self.headers[i].shown(row[i], self.imperial) for i in kept]


@frozen
class Sheet:
    """What one command answers, as something to print and to file: tables, with words before and after them.

    ``lead`` answers in a sentence, ``notes`` explain all tables, ``closing`` must not be overlooked.
    ``data`` are the tables for programs where those that people read are cut up or cut short; CSV has the first,
    spreadsheets have all.
    """

    title: str
    layout: str
    tables: tuple[Table, ...] = ()
    lead: tuple[str, ...] = ()
    closing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    data: tuple[Table, ...] = ()

    def programs(self) -> tuple[Table, ...]:
        """The tables for programs; without those that are empty, except the first."""
        first, *rest = self.data or self.tables or (Table(self.title, (), ()),)
        return (first, *(table for table in rest if table.rows))


def text_of(table: Table, style: Style, *, titled: bool = True) -> str:
    """A table in plain text, its title above it and its notes below."""
    kept = table.kept()
    headers = [table.headers[i].title for i in kept]
    numeric = [table.numeric(i) for i in kept]
    rows: list[list[Cell]] = [[*row] for row in table.shown()]
    for line, row in zip(rows, table.rows, strict=True):
        for place, i in enumerate(kept):
            cell = row[i]
            if numeric[place]:
                line[place] = cell
            elif table.headers[i].share and isinstance(cell, int | float):
                line[place] = bar(cell)
    parts = [style.paint(table.title, "bold")] if titled else []
    parts += [text_table(headers, rows, style)] if rows else []
    parts += ["\n".join(style.wrap(note, "", "  ") for note in table.notes)] if table.notes else []
    return "\n\n".join(parts)


def bar(share: float) -> str:
    """A share of a limit as a bar that reads without colour: ``[#########...........]  45 %``, over it ``OVER``."""
    filled = min(_BAR, round(share * _BAR))
    return f"[{'#' * filled}{'.' * (_BAR - filled)}] {share * 100:3.0f} %{' OVER' if share > 1 else ''}"


def markdown_of(sheet: Sheet) -> str:
    """A whole answer as a markdown document."""
    parts = [f"# {escape_markdown(sheet.title)}: {escape_markdown(sheet.layout)}", *map(escape_markdown, sheet.lead)]
    for table in sheet.tables:
        parts += markdown_parts(table)
    return "\n\n".join([*parts, *map(escape_markdown, (*sheet.notes, *sheet.closing))]) + "\n"


def markdown_parts(table: Table) -> Iterator[str]:
    """The title of a table, the table, and its notes, in markdown."""
    yield f"## {escape_markdown(table.title)}"
    if table.rows:
        yield markdown_table([table.headers[i].title for i in table.kept()], list(table.shown()))
    if table.notes:
        yield "\n".join(f"- {escape_markdown(note)}" for note in table.notes)


@frozen
class Dialect:
    """How a CSV is written: what stands between cells and before a decimal, and whether a byte order mark leads."""

    delimiter: str
    decimal: str = "."
    mark: bool = False


DIALECTS: Mapping[str, Dialect] = {
    "comma": Dialect(","),
    "semicolon": Dialect(";", ",", True),  # where a comma is the decimal sign, spreadsheets expect this
    "tab": Dialect("\t"),
}


def dialect_named(name: str) -> str:
    """The name of a CSV dialect, if there is one. Raises CallError for another word."""
    if name not in DIALECTS:
        help_ = did_you_mean(name, DIALECTS) or f"write {', '.join(DIALECTS)}"
        raise CallError(f"--csv-dialect cannot be {shown(name)}", help_)
    return name


def csv_of(tables: Iterable[Table], style: Style) -> str:
    """Tables in CSV, numbers in SI units; a second table stands under its title, after an empty line."""
    found = [table.for_programs() for table in tables]
    parts = []
    for table in found:
        headers = [column.key or column.title for column in table.headers]
        title = csv_table([table.title], [], style.csv_dialect, mark=False) if len(found) > 1 else ""
        parts.append(title + csv_table(headers, table.rows, style.csv_dialect, mark=False))
    return ("\ufeff" if DIALECTS[style.csv_dialect].mark else "") + "\r\n".join(parts)


def text_table(headers: Sequence[str], rows: Sequence[Sequence[Cell]], style: Style) -> str:
    """A table in plain text; the last column wraps where the lines would be too long."""
    cells = [[_shown(cell) for cell in row] for row in rows]
    widths = [max(len(line) for line in [header, *(row[i] for row in cells)]) for i, header in enumerate(headers)]
    widths[-1] = min(widths[-1], max(style.width - sum(widths[:-1]) - 2 * (len(widths) - 1), 12))
    numbers = [_numeric(rows, i) for i in range(len(headers))]
    lines: list[str] = []
    for row in [list(headers), ["-" * width for width in widths], *cells]:
        last = textwrap.wrap(row[-1], widths[-1], break_long_words=False, break_on_hyphens=False) or [""]
        for index, tail in enumerate(last):
            line = [*(row[:-1] if index == 0 else [""] * (len(row) - 1)), tail]
            padded = zip(line, widths, numbers, strict=True)
            lines.append("  ".join(cell.rjust(width) if right else cell.ljust(width) for cell, width, right in padded))
    return "\n".join(line.rstrip() for line in lines)


def markdown_table(headers: Sequence[str], rows: Sequence[Sequence[Cell]]) -> str:
    """A table in markdown; what markdown would read as its own is escaped."""
    cells = [[f"{header}  " for header in headers], *([escape_markdown(_shown(cell)) for cell in row] for row in rows)]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    head, *rest = ("| " + " | ".join(map(str.ljust, row, widths)) + " |" for row in cells)
    return "\n".join([head, f"|{'|'.join(':' + '-' * (width + 1) for width in widths)}|", *rest])


def csv_table(
    headers: Sequence[str], rows: Sequence[Sequence[Cell]], dialect: str = "comma", *, mark: bool = True
) -> str:
    """A table in CSV (RFC 4180). Text that a spreadsheet would take for a formula is kept as text."""
    how = DIALECTS[dialect]
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n", delimiter=how.delimiter)
    writer.writerow([_neutral(header) for header in headers])
    for row in rows:
        writer.writerow([_csv_cell(cell, how) for cell in row])
    return ("\ufeff" if mark and how.mark else "") + stream.getvalue()


def _settled(cell: Cell) -> Cell:
    """A number without what is only the noise of reckoning: nine digits, as much as anybody measures."""
    return float(f"{cell:.9g}") if isinstance(cell, float) else cell


def _csv_cell(cell: Cell, dialect: Dialect) -> Cell:
    if isinstance(cell, float) and dialect.decimal != ".":
        return repr(cell).replace(".", dialect.decimal)
    return "" if cell is None else _neutral(cell)


def _neutral(cell: Cell) -> Cell:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_STARTS_FORMULA) else cell


def _shown(cell: Cell) -> str:
    if isinstance(cell, float):
        return f"{cell:g}"
    return "" if cell is None else str(cell)


def _numeric(rows: Sequence[Sequence[Cell]], column: int) -> bool:
    cells = [row[column] for row in rows if row[column] is not None]
    return bool(cells) and all(isinstance(cell, int | float) for cell in cells)


def escape_markdown(text: str) -> str:
    """Text that means itself in markdown."""
    for sign in ("\\", "|", "*", "_", "`", "<", "["):
        text = text.replace(sign, "\\" + sign)
    return text.replace("\n", " ")
