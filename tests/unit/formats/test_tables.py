"""A table said once: what every format makes of it."""

from __future__ import annotations

import csv
import io

import pytest

from blockcheck.answers.document import Document, Says
from blockcheck.answers.tables import Column, Table
from blockcheck.core.errors import CallError
from blockcheck.formats.csv_table import csv_of, dialect_named
from blockcheck.formats.markdown import document_markdown
from blockcheck.formats.style import Style
from blockcheck.formats.text_table import text_of
from blockcheck.model.quantities import Amperes, Metres

TABLE = Table(
    "What it draws",
    (
        "what",
        Column("draws", "current", Amperes),
        Column("at", "at", Metres, zero="near end"),
        Column("of its limit", "share", share=True),
        Column("inside", only="programs"),
        "empty",
        Column("kept", always=True),
        "tracks",
    ),
    (
        ("=1+1", 0.94, 2.5, 0.235, "x", None, None, 3),
        ("-3", 0.00095, 0.0, 1.5, None, "", None, -4),
    ),
    ("a note",),
)


def cells(text: str, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))


def test_text_shows_quantities_and_leaves_out_what_is_empty_or_for_programs() -> None:
    assert text_of(TABLE, Style()).splitlines() == [
        "What it draws",
        "",
        "what  draws   at        of its limit                       kept  tracks",
        "----  ------  --------  ---------------------------------  ----  ------",
        "=1+1  940 mA  2.5 m     [#####...............]  24 %                  3",
        "-3    950 uA  near end  [####################] 150 % OVER            -4",
        "",
        "a note",
    ]


def test_lengths_follow_the_units_of_the_layout() -> None:
    table = Table("t", (Column("at", "at", Metres),), ((3.048,),), imperial=True)
    assert "10 ft" in text_of(table, Style())


def test_csv_keeps_numbers_in_si_and_text_as_text() -> None:
    assert cells(csv_of([TABLE], Style())) == [
        ["what", "current", "at", "share", "inside", "empty", "kept", "tracks"],
        ["'=1+1", "0.94", "2.5", "0.235", "x", "", "", "3"],
        ["'-3", "0.00095", "0.0", "1.5", "", "", "", "-4"],
    ]


def test_csv_for_a_spreadsheet_with_decimal_commas() -> None:
    text = csv_of([TABLE], Style(csv_dialect="semicolon"))
    assert text.encode().startswith(b"\xef\xbb\xbfwhat;current;")
    assert cells(text[1:], ";")[1:] == [
        ["'=1+1", "0,94", "2,5", "0,235", "x", "", "", "3"],
        ["'-3", "0,00095", "0,0", "1,5", "", "", "", "-4"],
    ]


def test_csv_with_tabs() -> None:
    assert cells(csv_of([TABLE], Style(csv_dialect="tab")), "\t")[1][:2] == ["'=1+1", "0.94"]


def test_several_tables_in_one_csv_each_stand_under_their_title() -> None:
    second = Table("Second", ("a",), (("b",),))
    lines = cells(csv_of([TABLE, second], Style(csv_dialect="semicolon"))[1:], ";")
    assert lines[0] == ["What it draws"]
    assert lines[-4:] == [[], ["Second"], ["a"], ["b"]]


@pytest.mark.parametrize("sign", "=+-@\uff1d")
def test_text_that_would_be_a_formula_is_neutral_in_headers_too(sign: str) -> None:
    line = cells(csv_of([Table("t", (f"{sign}x",), ((f"{sign}1",), (-1.5,)))], Style()))
    assert line == [[f"'{sign}x"], [f"'{sign}1"], ["-1.5"]]


def test_a_dialect_that_there_is_not() -> None:
    assert dialect_named("tab") == "tab"
    with pytest.raises(CallError, match='cannot be "semi"'):
        dialect_named("semi")


def test_markdown_escapes_what_it_would_read_as_its_own() -> None:
    text = document_markdown(
        Document(
            "Volts",
            "A|B *yard*",
            (Says(("lead",)), Table("t", ("a|b",), (("x_<i>",),), ("n[1]",)), Says(("end",), "caution")),
        )
    )
    assert text.startswith("# Volts: A\\|B \\*yard\\*\n\nlead\n\n## t\n\n")
    assert "| x\\_\\<i>" in text
    assert text.endswith("- n\\[1]\n\nend\n")


def test_a_row_of_another_width_is_refused() -> None:
    with pytest.raises(ValueError, match="does not have 2 cells"):
        Table("t", ("a", "b"), (("c",),))
