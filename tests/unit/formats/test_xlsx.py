"""Spreadsheets, read back by another library."""

from __future__ import annotations

import io
import zipfile
from datetime import datetime
from typing import Any

from openpyxl import load_workbook

from blockcheck.answers.tables import Column, Table
from blockcheck.formats.programs.xlsx import xlsx_of
from blockcheck.model.quantities import Amperes, Metres

TABLES = (
    Table(
        "What: it/draws",
        ("what", Column("draws", "current", Amperes), Column("share", share=True), "track"),
        (("=1+1", 0.94, 0.235, 3), ("3-7", -0.5, None, 4), ("http://x.invalid/", 1.0, 1.2, None)),
        ("a note",),
    ),
    Table("what  it draws", ("a",), ()),
    Table("x" * 40, ("a",), (("b",),)),
    Table("x" * 40, ("a",), (("b",),)),
)


def book(tables: tuple[Table, ...] = TABLES) -> Any:
    return load_workbook(io.BytesIO(xlsx_of("A & B", tables)))


def test_text_stays_text_and_numbers_are_numbers() -> None:
    sheet = book().worksheets[0]
    values = [[cell.value for cell in row] for row in sheet.iter_rows(max_row=4)]
    assert values == [
        ["what", "draws (A)", "share", "track"],
        ["=1+1", 0.94, 0.235, 3],
        ["3-7", -0.5, None, 4],
        ["http://x.invalid/", 1, 1.2, None],
    ]
    assert [cell.data_type for cell in sheet["A"][1:4]] == ["s", "s", "s"]
    assert [cell.data_type for cell in sheet["B"][1:4]] == ["n", "n", "n"]
    assert sheet["A4"].hyperlink is None
    assert sheet["C2"].number_format == "0 %"
    assert sheet["A6"].value == "a note"


def test_it_is_made_to_be_read_and_printed() -> None:
    sheet = book().worksheets[0]
    assert sheet.freeze_panes == "B2"
    assert sheet.auto_filter.ref == "A1:D4"
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.page_setup.fitToHeight == 0
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.column_dimensions["A"].width >= len("http://x.invalid/")
    assert "A && B" in str(sheet.oddFooter.left.text)


def test_names_of_sheets_are_legal_and_differ() -> None:
    names = book().sheetnames
    assert names == ["What it draws", "what it draws 2", "x" * 31, "x" * 29 + " 2"]


def test_two_runs_give_the_same_bytes() -> None:
    assert xlsx_of("A", TABLES) == xlsx_of("A", TABLES)


def test_no_time_of_making_stands_in_it() -> None:
    with zipfile.ZipFile(io.BytesIO(xlsx_of("A", TABLES))) as archive:
        assert {one.date_time for one in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}  # the least that zip can say
    assert book().properties.created == datetime(2000, 1, 1)


def test_numbers_lose_the_noise_of_reckoning_and_empty_texts_leave_no_cell() -> None:
    sheet = book((Table("t", ("a", "b"), ((0.1 + 0.2, ""), (1, None))),)).worksheets[0]
    assert [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)] == [[0.3, None], [1, None]]


def test_columns_with_one_title_are_told_apart() -> None:
    headers = (Column("volts", "volts"), Column("at", "volts_at", Metres), Column("at", "short_at", Metres))
    sheet = book((Table("t", headers, ((1, 2, 3),)),)).worksheets[0]
    assert [cell.value for cell in sheet[1]] == ["volts", "volts at (m)", "short at (m)"]


def test_nothing_to_show_is_still_a_workbook() -> None:
    assert book(()).sheetnames == ["empty"]
