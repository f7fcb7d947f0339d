"""Tables as text, markdown and CSV."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Iterable, Mapping, Sequence

from attrs import frozen

from blockcheck.answers.tables import Cell, Table, numeric, written
from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.formats.escape import for_csv, for_text
from blockcheck.formats.style import Style

_BAR = 20
_LONG = 8  # rows of a section that folds, which stay open


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
    parts = [style.paint(table.title, "bold")] if titled and table.title else []
    parts += [text_table(headers, rows, style)] if rows else []
    parts += ["\n".join(style.wrap(note, "", "  ") for note in table.notes)] if table.notes else []
    return "\n\n".join(parts)


def bar(share: float) -> str:
    """A share of a limit as a bar that reads without colour: ``[#########...........]  45 %``, over it ``OVER``."""
    filled = min(_BAR, round(share * _BAR))
    return f"[{'#' * filled}{'.' * (_BAR - filled)}] {share * 100:3.0f} %{' OVER' if share > 1 else ''}"


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


def text_table(headers: Sequence[str], rows: Sequence[Sequence[Cell]], style: Style) -> str:
    """A table in plain text; the last column wraps where the lines would be too long."""
    headers, cells = [*map(for_text, headers)], [[for_text(written(cell)) for cell in row] for row in rows]
    widths = [max(len(line) for line in [header, *(row[i] for row in cells)]) for i, header in enumerate(headers)]
    widths[-1] = min(widths[-1], max(style.width - sum(widths[:-1]) - 2 * (len(widths) - 1), 12))
    numbers = [numeric(rows, i) for i in range(len(headers))]
    lines: list[str] = []
    for row in [list(headers), ["-" * width for width in widths], *cells]:
        last = textwrap.wrap(row[-1], widths[-1], break_long_words=False, break_on_hyphens=False) or [""]
        for index, tail in enumerate(last):
            line = [*(row[:-1] if index == 0 else [""] * (len(row) - 1)), tail]
            padded = zip(line, widths, numbers, strict=True)
            lines.append("  ".join(cell.rjust(width) if right else cell.ljust(width) for cell, width, right in padded))
    return "\n".join(line.rstrip() for line in lines)


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
