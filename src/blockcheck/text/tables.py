"""Tables that were filled in elsewhere: CSV of any usual delimiter and workbooks, to rows by the names of columns."""

from __future__ import annotations

import csv
import io
import warnings
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from zipfile import ZipFile

from attrs import frozen

from blockcheck.core.errors import InputError
from blockcheck.core.findings import Finding
from blockcheck.core.spans import Place, SourceFile, Span
from blockcheck.core.words import listed
from blockcheck.text.toml import MOST_BYTES, TOO_LARGE, decoded

WORKBOOK = b"PK\x03\x04"
DELIMITERS = ",;\t"
MOST_UNPACKED = 8 * MOST_BYTES
"""Bytes that a workbook may hold once it is unpacked."""


@frozen
class TableRow:
    """A row: its cells by the names of their columns, in lower case, and where it stands."""

    cells: Mapping[str, str]
    place: Place


def is_table(data: bytes, wanted: Collection[str]) -> bool:
    """Whether a file is a workbook, or text whose first line that says anything names these columns."""
    if data.startswith(WORKBOOK):
        return True
    head = next((line for line in data[:4096].decode("utf-8-sig", "replace").splitlines() if line.strip()), "")
    return any({*wanted} <= {*_names(next(csv.reader([head], delimiter=one), []))} for one in DELIMITERS)


def read_table(
    data: bytes, name: str, wanted: Collection[str], named: Callable[[str], str] = str
) -> tuple[TableRow, ...]:
    """The rows below the first line that names all the columns that are wanted; of a workbook, of the first sheet that
    has one. ``named`` makes of a heading, in lower case, the name of its column. Raises InputError where there is none,
    or the file cannot be read."""
    if len(data) > MOST_BYTES:
        raise _fault(name, f"the file {TOO_LARGE}", "keep what is read in a file of its own")
    head = _Head(frozenset(wanted), named)
    rows = _of_workbook(data, name, head) if data.startswith(WORKBOOK) else _of_text(data, name, head)
    try:
        found = _below(rows, head)
    except csv.Error as error:
        raise _fault(name, f"the file cannot be read as CSV: {error}", "save it from a spreadsheet as CSV") from None
    if found is None:
        columns = listed([*wanted])
        raise _fault(name, f"no line names the columns {columns}", "keep the line of headings that the sheet has")
    return tuple(found)


@frozen
class _Head:
    """What the line of headings names, and how a heading is read."""

    wanted: frozenset[str]
    named: Callable[[str], str]

    def names(self, cells: Iterable[object]) -> list[str] | None:
        """The names of the columns; None for a line that is not the one."""
        names = [self.named(one) for one in _names(cells)]
        return names if self.wanted <= {*names} else None


def _names(cells: Iterable[object]) -> list[str]:
    return ["" if cell is None else str(cell).strip().casefold() for cell in cells]


def _below(rows: Iterator[tuple[Place, Sequence[object]]], head: _Head) -> list[TableRow] | None:
    heads: list[str] | None = None
    found = list[TableRow]()
    for place, cells in rows:
        if heads is None:
            heads = head.names(cells)
        elif any(cell not in (None, "") for cell in cells):
            texts = ["" if cell is None else str(cell).strip() for cell in cells]
            found.append(TableRow(dict(zip(heads, texts, strict=False)), place))
    return None if heads is None else found


def _of_text(data: bytes, name: str, head: _Head) -> Iterator[tuple[Place, Sequence[object]]]:
    source = SourceFile(name, decoded(data, name))
    lines = source.text.splitlines(keepends=True)
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line))
    for delimiter in DELIMITERS:
        if any(head.names(row) for row in csv.reader(lines, delimiter=delimiter)):
            break
    reader, before = csv.reader(lines, delimiter=delimiter), 0
    for row in reader:
        at, before = before, reader.line_num
        yield source.place(Span(starts[at], starts[at] + len(lines[at].rstrip("\r\n")))), row


def _of_workbook(data: bytes, name: str, head: _Head) -> Iterator[tuple[Place, Sequence[object]]]:
    from openpyxl import load_workbook

    try:
        with ZipFile(io.BytesIO(data)) as packed:
            if sum(one.file_size for one in packed.infolist()) > MOST_UNPACKED:
                raise _fault(name, "the workbook is too large to be read", "keep what is read alone in it")
        with warnings.catch_warnings(action="ignore"):  # of what it leaves out, such as validations
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        for sheet in book.worksheets:
            rows = [(number, [*row]) for number, row in enumerate(sheet.iter_rows(values_only=True), 1)]
            if any(head.names(row) for _, row in rows):
                for number, row in rows:
                    yield Place(f"{name}, sheet {sheet.title}", number, 1, number, 1), row
                return
    except InputError:
        raise
    except Exception as error:
        told = f"the workbook cannot be read: {type(error).__name__}"
        raise _fault(name, told, "open it in a spreadsheet program and save it again as .xlsx, or as CSV") from None


def _fault(name: str, message: str, help_: str) -> InputError:
    return InputError([Finding(message, name, Place(name, 1, 1, 1, 1), help=help_)])
