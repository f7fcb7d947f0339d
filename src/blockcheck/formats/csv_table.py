"""Tables as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from blockcheck.answers.tables import Cell, Table
from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.formats.escape import for_csv
from blockcheck.formats.style import Style


class Dialect(NamedTuple):
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
        raise CallError(f"CSV dialect cannot be {shown(name)}", help_)
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


def csv_table(
    headers: Sequence[str], rows: Sequence[Sequence[Cell]], dialect: str = "comma", *, mark: bool = True
) -> str:
    """A table in CSV (RFC 4180). Text that a spreadsheet would take for a formula is kept as text."""
    how = DIALECTS[dialect]
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n", delimiter=how.delimiter)
    writer.writerow(map(for_csv, headers))
    for row in rows:
        writer.writerow([_csv_cell(cell, how) for cell in row])
    return ("\ufeff" if mark and how.mark else "") + stream.getvalue()


def _csv_cell(cell: Cell, dialect: Dialect) -> Cell:
    if isinstance(cell, float) and dialect.decimal != ".":
        return repr(cell).replace(".", dialect.decimal)
    return for_csv(cell) if isinstance(cell, str) else "" if cell is None else cell
