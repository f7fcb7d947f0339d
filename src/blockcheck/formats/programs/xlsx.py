"""Tables as a spreadsheet: text stays text, numbers are numbers in SI units, one sheet a table."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from blockcheck.answers.tables import Column, Table
from blockcheck.formats.escape import for_workbook
from blockcheck.formats.marks import CREATED, SIGNATURE

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

_FORMATS = {"V": "0.00", "A": "0.000###", "m": "0.00#", "s": "0.000###", "ohm": "0.000###", "F": "0.00E+00"}
_NAME = 31  # characters that a sheet's name may have


def xlsx_of(title: str, tables: Iterable[Table]) -> bytes:
    """A workbook with one sheet a table; ``title`` is its title in the file's properties."""
    from xlsxwriter import Workbook

    title, stream = for_workbook(title), io.BytesIO()
    book = Workbook(stream, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": title, "created": CREATED, "comments": SIGNATURE})
    head = book.add_format({"bold": True, "bottom": 2, "text_wrap": True, "valign": "bottom"})
    wrapped = book.add_format({"text_wrap": True, "valign": "top"})
    formats: dict[str, Any] = {}
    found = [table.for_programs() for table in tables]
    for name, table in zip(_names(found), found, strict=True):
        sheet = book.add_worksheet(name)
        for place, column in enumerate(table.headers):
            number = "0 %" if column.share else _FORMATS.get(column.unit, "")
            if number not in formats:
                formats[number] = book.add_format(
                    {"num_format": number, "valign": "top"} if number else {"valign": "top"}
                )
            sheet.set_column(place, place, _width(table, place))
            sheet.write_string(0, place, for_workbook(_header(table, column)), head)
            for line, row in enumerate(table.rows, 1):
                cell = row[place]
                if cell == "":
                    continue
                if isinstance(cell, str):
                    sheet.write_string(line, place, for_workbook(cell), wrapped)
                elif cell is not None:
                    sheet.write_number(line, place, cell, formats[number])
        _furnish(sheet, table, title)
    if not found:
        book.add_worksheet("empty")
    book.close()
    return stream.getvalue()


def _furnish(sheet: Worksheet, table: Table, title: str) -> None:
    """Frozen header, filter, notes under the table, and how it prints."""
    last = len(table.headers) - 1
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(len(table.rows), 1), last)
    for line, note in enumerate(table.notes, len(table.rows) + 2):
        sheet.write_string(line, 0, for_workbook(note))
    sheet.repeat_rows(0)
    sheet.fit_to_pages(1, 0)
    sheet.set_landscape() if last > 6 else sheet.set_portrait()
    sheet.set_footer(f"&L{_plain(title)}: {_plain(table.title)}&Rpage &P of &N")


def _header(table: Table, column: Column) -> str:
    """The title with its unit; of columns with one title, the keys tell which is which."""
    same = [one for one in table.headers if one.title == column.title]
    title = column.key.partition(" (")[0].replace("_", " ") if len(same) > 1 and column.key else column.title
    unit = column.written_in or column.unit
    return f"{title} ({unit})" if unit else title


def _width(table: Table, place: int) -> float:
    cells = [len(table.headers[place].shown(row[place])) for row in table.rows]
    return min(max([len(_header(table, table.headers[place])) + 3, *(one + 2 for one in cells)]), 60)


def _plain(text: str) -> str:
    return for_workbook(text[:100]).replace("&", "&&")


def _names(tables: Iterable[Table]) -> Iterator[str]:
    """The titles as names of sheets: short, without the signs that those may not have, each once."""
    used: set[str] = {"history"}  # taken by spreadsheet programs themselves
    for table in tables:
        plain = " ".join(re.sub(r"[\[\]:*?/\\]", " ", for_workbook(table.title)).split())
        name = plain.strip("' ")[:_NAME].rstrip("' ") or "table"
        number = 1
        base = name
        while name.casefold() in used:
            number += 1
            tail = f" {number}"
            name = base[: _NAME - len(tail)] + tail
        used.add(name.casefold())
        yield name
