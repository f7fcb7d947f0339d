"""Tables as a spreadsheet: text stays text, numbers are numbers in SI units, one sheet a table."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from blockcheck.answers.tables import Cell, Column, Table
from blockcheck.formats.escape import for_workbook, with_signs
from blockcheck.formats.marks import CREATED, SIGNATURE

if TYPE_CHECKING:
    from xlsxwriter.worksheet import Worksheet

_FORMATS = {
    "V": "0.00", "A": "0.000###", "mA": "0.000", "m": "0.00#", "ft": "0.00#", "s": "0.000###", "ohm": "0.000###",
    "F": "0.00E+00",
}  # fmt: skip
_NAME = 31  # characters that a sheet's name may have
_SMALL_A = 0.1  # a column of currents that are all less is in milliamperes
_LINE = 15  # points of a row
_WIDEST = 50  # characters of a column
_A4, _LETTER = 9, 1  # as workbooks number papers (ECMA-376, part 1, 18.3.1.63)
ABOUT = "About"
"""What the first sheet of a workbook is called."""


def xlsx_of(title: str, tables: Iterable[Table], about: Iterable[str] = ()) -> bytes:
    """A workbook with one sheet a table; ``title`` is its title in the file's properties. ``about`` are lines for a
    sheet before them, which says what it is and what to mind."""
    from xlsxwriter import Workbook

    title, stream = for_workbook(title), io.BytesIO()
    book = Workbook(stream, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": title, "created": CREATED, "comments": SIGNATURE})
    found = [table.for_programs() for table in tables]
    told = [*about]
    if told:
        _about(book, title, told, any(one.imperial for one in found))
    for name, table in zip(_names(found), found, strict=True):
        _Sheet(book, book.add_worksheet(name), table).fill(title)
    if not found:
        book.add_worksheet("empty")
    if told and found:
        book.worksheets()[1].activate()
    book.close()
    return stream.getvalue()


def _about(book: Any, title: str, lines: Sequence[str], imperial: bool) -> None:
    """What the workbook is, and what to mind."""
    sheet = book.add_worksheet(ABOUT)
    sheet.set_column(0, 0, _WIDEST)
    sheet.write_string(0, 0, title, book.add_format({"bold": True, "font_size": 14}))
    wrapped = book.add_format({"text_wrap": True, "valign": "top"})
    for number, line in enumerate(lines, 2):
        sheet.set_row(number, _LINE * math.ceil(len(line) / _WIDEST * 1.1))
        sheet.write_string(number, 0, for_workbook(with_signs(line)), wrapped)
    sheet.set_paper(_LETTER if imperial else _A4)
    sheet.fit_to_pages(1, 0)


class _Sheet:
    """A sheet as it is being filled with a table."""

    def __init__(self, book: Any, sheet: Worksheet, table: Table) -> None:
        self.book, self.sheet, self.table = book, sheet, table
        self.small = [_small(table, place) for place in range(len(table.headers))]
        self.formats: dict[str, Any] = {}
        self.wrapped = book.add_format(
            {"text_wrap": True, "valign": "top", "align": "left", "indent": 1}
        )  # clear of a number before
        self.widths = [_width(table, place) for place in range(len(table.headers))]

    def fill(self, title: str) -> None:
        look = {"bold": True, "bottom": 2, "text_wrap": True, "valign": "bottom"}
        head, over_numbers = (
            self.book.add_format({**look, **more}) for more in ({"align": "left", "indent": 1}, {"align": "right"})
        )
        for place, column in enumerate(self.table.headers):
            self.sheet.set_column(place, place, self.widths[place])
            unit = "mA" if self.small[place] else column.written_in or column.unit
            numbers = [abs(row[place]) for row in self.table.rows if isinstance(row[place], int | float)]  # type: ignore[arg-type]
            shown = (
                "0.00" if unit == "A" and min(filter(None, numbers), default=1) >= _SMALL_A else _FORMATS.get(unit, "")
            )
            heading = for_workbook(_header(self.table, column, unit))
            self.sheet.write_string(0, place, heading, over_numbers if numbers else head)
            for line, row in enumerate(self.table.rows, 1):
                self.cell(line, place, row[place], "0 %" if column.share else shown)
        for line, row in enumerate(self.table.rows, 1):
            deep = max((self.deep(place, cell) for place, cell in enumerate(row)), default=1)
            if deep > 1:
                self.sheet.set_row(line, _LINE * deep)
        self.marks()
        if any(column.fills for column in self.table.headers):
            _to_fill(self.book, self.sheet, self.table, head)
        _furnish(self.sheet, self.table, title)

    def cell(self, line: int, place: int, cell: Cell, number: str) -> None:
        if isinstance(cell, str) and cell:
            self.sheet.write_string(line, place, for_workbook(with_signs(cell)), self.wrapped)
        elif isinstance(cell, int | float):
            if number not in self.formats:
                made = {"num_format": number, "valign": "top"} if number else {"valign": "top"}
                self.formats[number] = self.book.add_format(made)
            value = float(f"{cell * 1000:.9g}") if self.small[place] else cell
            self.sheet.write_number(line, place, value, self.formats[number])

    def deep(self, place: int, cell: Cell) -> int:
        """How many lines a text takes in its column."""
        return math.ceil((len(cell) + 2) / self.widths[place]) if isinstance(cell, str) else 1

    def marks(self) -> None:
        """What is over its limit stands out, also once somebody changes a number."""
        over, last = self.book.add_format({"bold": True, "font_color": "#9b1c1c", "border": 1}), len(self.table.rows)
        for place, column in enumerate(self.table.headers):
            if column.share and last:
                self.sheet.conditional_format(
                    1, place, last, place, {"type": "cell", "criteria": ">", "value": 1, "format": over}
                )
            if column.alarm and last:
                rule = {"type": "cell", "criteria": "==", "value": f'"{column.alarm}"', "format": over}
                self.sheet.conditional_format(1, place, last, place, rule)


def _small(table: Table, place: int) -> bool:
    """Whether a column of currents is in milliamperes."""
    cells = [abs(row[place]) for row in table.rows if isinstance(row[place], int | float)]  # type: ignore[arg-type]
    return table.headers[place].unit == "A" and bool(cells) and max(cells) < _SMALL_A


def _to_fill(book: Any, sheet: Worksheet, table: Table, head: Any) -> None:
    """A sheet that is filled in: what may be written, and whether it is as expected."""
    keys = [column.key or column.title for column in table.headers]
    reading, last = next(i for i, column in enumerate(table.headers) if column.fills), len(table.headers)
    sheet.set_column(reading, reading, 18)
    sheet.set_column(last, last, 14)
    sheet.write_string(0, last, "right or off", head)
    off = book.add_format({"bold": True, "font_color": "#9b1c1c"})
    for line, row in enumerate(table.rows, 1):
        cells = dict(zip(keys, row, strict=True))
        at = {key: f"{_letters(keys.index(key))}{line + 1}" for key in ("expect", "low", "high", "reading")}
        sheet.write_formula(line, last, _RIGHT.format(**at), None, "")
        told = 'With its unit, such as 46 mohm or 14.2 V; channels by name, D1.3, or none; "ok" as expected.'
        rule: dict[str, Any] = {"validate": "any", "input_title": "Reading", "input_message": told}
        if cells.get("with") == "beeper":
            rule = {"validate": "list", "source": ["beeps", "silent", "ok"], "error_type": "warning"}
        sheet.data_validation(line, reading, line, reading, rule)
    if table.rows:
        rule = {"type": "cell", "criteria": "==", "value": '"off"', "format": off}
        sheet.conditional_format(1, last, len(table.rows), last, rule)


_SIZE = 'CODE(MID({reading},FIND(" ",{reading})+1,1))'
_VALUE = (
    f'VALUE(LEFT({{reading}},FIND(" ",{{reading}})-1))'
    f"*IF({_SIZE}=109,0.001,IF({_SIZE}=107,1000,IF({_SIZE}=77,1000000,1)))"
)
_RIGHT = (
    '=IF({reading}="","",IF(OR(LOWER({reading})="ok",LOWER({reading})=LOWER({expect}),'
    'LEFT({expect},LEN({reading})+1)={reading}&",",LEFT({expect},LEN({reading})+1)={reading}&" "),"right",'
    f'IF({{low}}="","off",IFERROR(IF(AND({_VALUE}>={{low}},OR({{high}}="",{_VALUE}<={{high}})),"right","off"),"off"))))'
)
"""Whether a reading is as expected: the words, the first of the names, or a number with its unit within its bounds."""


def _letters(place: int) -> str:
    return (chr(64 + place // 26) if place >= 26 else "") + chr(65 + place % 26)


def _furnish(sheet: Worksheet, table: Table, title: str) -> None:
    """Frozen header, filter, notes under the table, and how it prints."""
    last = len(table.headers) - 1
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(len(table.rows), 1), last)
    for line, note in enumerate(table.notes, len(table.rows) + 2):
        sheet.write_string(line, 0, for_workbook(note))
    sheet.repeat_rows(0)
    sheet.set_paper(_LETTER if table.imperial else _A4)
    sheet.fit_to_pages(1, 0)
    sheet.set_landscape() if last > 6 else sheet.set_portrait()
    sheet.set_footer(f"&L{_plain(title)}: {_plain(table.title)}&Rpage &P of &N")


def _header(table: Table, column: Column, unit: str) -> str:
    """The title with its unit; of columns with one title, the keys tell which is which."""
    same = [one for one in table.headers if one.title == column.title]
    title = column.key.partition(" (")[0].replace("_", " ") if len(same) > 1 and column.key else column.title
    return f"{title} ({unit})" if unit else title


def _width(table: Table, place: int) -> float:
    cells = [len(table.headers[place].shown(row[place])) for row in table.rows]
    return min(
        max(
            [
                len(_header(table, table.headers[place], table.headers[place].written_in or table.headers[place].unit))
                + 4,
                *(one + 3 for one in cells),
            ]
        ),
        _WIDEST,
    )


def _plain(text: str) -> str:
    return for_workbook(text[:100]).replace("&", "&&")


def _names(tables: Iterable[Table]) -> Iterator[str]:
    """The titles as names of sheets: short, without the signs that those may not have, each once."""
    used: set[str] = {"history", ABOUT.casefold()}  # taken by spreadsheet programs themselves
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
