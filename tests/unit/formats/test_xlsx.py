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


def test_a_sheet_before_the_tables_says_what_it_is() -> None:
    made = load_workbook(io.BytesIO(xlsx_of("Yard: Volts", TABLES, ("All hold.", "Confirm with a meter."))))
    assert made.sheetnames[0] == "About"
    assert [cell.value for cell in made.worksheets[0]["A"]] == [
        "Yard: Volts",
        None,
        "All hold.",
        "Confirm with a meter.",
    ]
    assert made.active is made.worksheets[1]


def test_small_currents_are_in_milliamperes_and_signs_are_those_of_print() -> None:
    sheet = book((Table("t", (Column("draws", quantity=Amperes), "of"), ((0.00095, "1.5 mm2"), (0.05, "2 mohm"))),))
    assert [[cell.value for cell in row] for row in sheet.worksheets[0]] == [
        ["draws (mA)", "of"],
        [0.95, "1.5\u00a0mm\u00b2"],
        [50, "2\u00a0m\u03a9"],
    ]


def test_rows_are_as_high_as_their_text_and_text_keeps_clear_of_numbers() -> None:
    sheet = book((Table("t", ("n", "words"), ((1, "word " * 40), (2, "word"))),)).worksheets[0]
    assert sheet.row_dimensions[2].height >= 4 * 15
    assert sheet.row_dimensions[3].height in (None, 15)
    assert sheet["B2"].alignment.wrap_text
    assert sheet["B2"].alignment.indent == 1


def test_the_paper_is_that_of_the_layout() -> None:
    headers = (Column("length", quantity=Metres),)
    metric, imperial = (
        book((Table("t", headers, ((1.0,),), imperial=one),)).worksheets[0].page_setup.paperSize
        for one in (False, True)
    )
    assert (metric, imperial) == (9, 1)


def test_what_is_over_its_limit_is_marked_by_a_rule() -> None:
    rules = [rule for one in book().worksheets[0].conditional_formatting for rule in one.rules]
    assert [(rule.type, rule.operator, rule.formula) for rule in rules] == [("cellIs", "greaterThan", ["1"])]


def test_a_sheet_that_is_filled_in_tells_right_or_off() -> None:
    """What the formula comes to was looked at in another program; here, that it reads the cells of its own row."""
    headers = ("with", "expect", "low", "high", Column("reading", always=True, fills=True))
    sheet = book((Table("t", headers, (("beeper", "silent", 70.0, None, None), ("", "D1.1, and", None, None, None))),))
    rows = sheet.worksheets[0]
    assert rows["F1"].value == "right or off"
    assert rows["F3"].value.startswith('=IF(E3="","",IF(OR(LOWER(E3)="ok",LOWER(E3)=LOWER(B3)')
    first, second = rows.data_validations.dataValidation
    assert (first.type, first.formula1, str(first.sqref)) == ("list", '"beeps,silent,ok"', "E2")
    assert (second.type, str(second.sqref)) == (None, "E3")


def test_a_heading_stands_over_its_numbers_and_every_sheet_has_one_paper() -> None:
    made = load_workbook(io.BytesIO(xlsx_of("A & B", TABLES, ["what it is"])))
    assert {sheet.page_setup.paperSize for sheet in made.worksheets} == {9}  # A4: ECMA-376, part 1, 18.3.1.63
    sheet = made.worksheets[1]
    assert [cell.alignment.horizontal for cell in sheet[1]] == ["left", "right", "right", "right"]
    assert sheet["A2"].alignment.horizontal == "left"
    assert sheet["B2"].number_format == "0.00", "amperes that are not small need no thousandths"
