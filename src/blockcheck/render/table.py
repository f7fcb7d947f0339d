"""Tables for people and for other programs: text, markdown, CSV."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Sequence

from blockcheck.render.style import Style

Cell = str | int | float | None
_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r")


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
    from tabulate import tabulate

    cells = [[_escaped(_shown(cell)) for cell in row] for row in rows]
    return tabulate(cells, list(headers), tablefmt="pipe", disable_numparse=True)


def csv_table(headers: Sequence[str], rows: Sequence[Sequence[Cell]]) -> str:
    """A table in CSV (RFC 4180). Text that a spreadsheet would take for a formula is kept as text."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(headers)
    for row in rows:
        writer.writerow(["" if cell is None else _neutral(cell) for cell in row])
    return stream.getvalue()


def _neutral(cell: Cell) -> Cell:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_STARTS_FORMULA) else cell


def _shown(cell: Cell) -> str:
    if isinstance(cell, float):
        return f"{cell:g}"
    return "" if cell is None else str(cell)


def _numeric(rows: Sequence[Sequence[Cell]], column: int) -> bool:
    cells = [row[column] for row in rows if row[column] is not None]
    return bool(cells) and all(isinstance(cell, int | float) for cell in cells)


def _escaped(text: str) -> str:
    for sign in ("\\", "|", "*", "_", "`", "<", "["):
        text = text.replace(sign, "\\" + sign)
    return text.replace("\n", " ")
