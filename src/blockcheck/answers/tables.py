"""Tables, said once for every format.

Text, markdown and pages show quantities with a unit that suits their size (``940 mA``); CSV and spreadsheets keep
them as numbers in SI units (amperes, volts, metres, seconds), which they can reckon with.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from attrs import evolve, field, frozen

from blockcheck.core.natural import condensed
from blockcheck.model.quantities import DIMENSIONS, Dimension, show

Cell = str | int | float | None
_ROWS_ALIKE, _COLUMNS_ALIKE = 3, 4
"""A table of so many rows and columns may have what is the same in all rows said above it."""


@frozen
class Column:
    """What stands over a column, and what its cells are.

    ``title`` is for people, ``key`` for CSV (the title where it is empty). ``quantity`` is a dimension such as
    ``Amperes``: the cells are then numbers in its SI unit. A ``share`` is a number of which 1 is the whole, and reads
    as a bar. ``zero`` is shown for 0. ``always`` keeps a column of which every cell is empty. ``only`` may be
    ``people`` (not in CSV and spreadsheets) or ``programs`` (only there). The column that ``heads`` names the row, the
    first where none does. A cell that says ``alarm`` is set in heavy type. One that ``links`` leads to the section of
    that title; ``verbatim`` ones are written so in a file, and have nothing that markdown must have escaped.
    ``written_in`` is the unit of its cells in CSV and spreadsheets, where it is not that of SI.
    One that is ``coded`` holds keys of the layout or names of rules: pages say them in words, the code small behind.
    One that ``fills`` is written into by hand: a page has a field in each of its cells. Where a terminal is too narrow
    for all, those that can be ``spare``d are left out, the highest first.
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
    links: bool = False
    verbatim: bool = False
    fills: bool = False
    spare: int = 0
    written_in: str = ""
    coded: bool = False

    @property
    def dimension(self) -> Dimension | None:
        """The dimension of its cells."""
        return None if self.quantity is None else DIMENSIONS[self.quantity]

    @property
    def unit(self) -> str:
        """The SI unit of its cells; empty for words and bare numbers."""
        dimension = self.dimension
        return "" if dimension is None else next(unit for unit, factor in dimension.units.items() if factor == 1.0)

    def for_programs(self, imperial: bool) -> Column:
        """The column as CSV and spreadsheets have it; of an imperial layout the heading names the unit, and is told
        apart by it."""
        unit = self.unit_in(imperial)
        return self if unit == self.unit else evolve(self, key=f"{self.key or self.title} ({unit})", written_in=unit)

    def unit_in(self, imperial: bool) -> str:
        """The unit of its cells in CSV and spreadsheets: that of SI, or the largest of those an imperial layout has."""
        dimension = self.dimension
        return dimension.imperial[0] if imperial and dimension is not None and dimension.imperial else self.unit

    def value_in(self, cell: Cell, imperial: bool) -> Cell:
        """A cell in that unit, without what is only the noise of reckoning: nine digits, as much as anybody
        measures."""
        if not isinstance(cell, float):
            return cell
        unit, dimension = self.unit_in(imperial), self.dimension
        if dimension is not None and unit != self.unit:
            cell = cell / dimension.units[unit] + dimension.zeros.get(unit, 0.0)
        return float(f"{cell:.9g}")

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
    at the end of each row. ``brief`` are lines that plain text has in its place. ``ranges``: rows that say the same of
    names that follow one another are one row in plain text, with their range. ``card``: it is kept whole on paper, and
    may stand beside others. ``boxes``: how many there are to tick in each row, where that is not one.

    Raises ValueError for a row of another width.
    """

    title: str
    headers: tuple[Column, ...] = field(converter=_columns)
    rows: tuple[tuple[Cell, ...], ...] = field(converter=_rows)
    notes: tuple[str, ...] = field(default=(), converter=tuple[str, ...])
    imperial: bool = False
    ticks: bool = False
    brief: tuple[str, ...] = field(default=(), converter=tuple[str, ...])
    ranges: bool = False
    card: bool = False
    boxes: tuple[int, ...] = ()

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

    def alike(self) -> tuple[int, ...]:
        """The columns that say the same in every row, and can be said once above; never the one that names the row."""
        kept = self.kept()
        if len(self.rows) < _ROWS_ALIKE or len(kept) < _COLUMNS_ALIKE:
            return ()
        heads = next((i for i in kept if self.headers[i].heads), kept[0])
        told = (i for i in kept if i != heads and not (self.headers[i].share or self.headers[i].fills))
        return tuple(i for i in told if self.rows[0][i] not in (None, "") and len({row[i] for row in self.rows}) == 1)

    def for_programs(self) -> Table:
        """The table as CSV and spreadsheets have it, without the columns that are for people only."""
        kept = [i for i, column in enumerate(self.headers) if column.only != "people"]
        rows = [[self.headers[i].value_in(row[i], self.imperial) for i in kept] for row in self.rows]
        return evolve(self, headers=[self.headers[i].for_programs(self.imperial) for i in kept], rows=rows)

    def in_ranges(self) -> Table:
        """The table with one row for those, one below the other, that read the same of names in a row."""
        kept = self.kept()
        heads = next((i for i in kept if self.headers[i].heads), kept[0])

        def read(row: tuple[Cell, ...]) -> list[str]:
            return [self.headers[i].shown(row[i], self.imperial) for i in kept if i != heads]

        rows = list[tuple[Cell, ...]]()
        for _, alike in groupby(self.rows, key=read):
            first, *others = alike
            names = condensed(str(row[heads]) for row in (first, *others)) if others else (first[heads],)
            rows += [(*first[:heads], name, *first[heads + 1 :]) for name in names]
        return evolve(self, rows=rows)

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


def in_words(code: str) -> str:
    """A key or names of rules in words: ``isolators.*.contact_resistance`` is the contact resistance of isolators."""
    table, *others, key = code.split(".") if "." in code else ("", code)
    words = key.replace("_", " ").replace("-", " ")
    return f"{words} of {table.replace('_', ' ')}" if others else words


def numeric(rows: Sequence[Sequence[Cell]], column: int) -> bool:
    """Whether a column holds numbers and nothing else but gaps."""
    cells = [row[column] for row in rows if row[column] is not None]
    return bool(cells) and all(isinstance(cell, int | float) for cell in cells)


def written(cell: Cell) -> str:
    """A cell as it stands, a number without needless digits."""
    if isinstance(cell, float):
        return f"{cell:g}"
    return "" if cell is None else str(cell)
