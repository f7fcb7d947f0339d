"""A table in plain text is as wide as its lines, and says what it left out."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blockcheck.answers.tables import Column, Table
from blockcheck.formats.style import Style
from blockcheck.formats.text_table import text_of
from blockcheck.model.quantities import Amperes

WORDS = st.lists(st.text("abc", min_size=1, max_size=9), max_size=6).map(" ".join)
TABLES = st.integers(1, 7).flatmap(
    lambda n: st.tuples(
        st.lists(st.builds(Column, WORDS, spare=st.integers(0, 3), always=st.just(True)), min_size=n, max_size=n),
        st.lists(st.lists(WORDS, min_size=n, max_size=n), min_size=1, max_size=5),
    )
)


@given(TABLES, st.integers(12, 90))
def test_no_line_is_too_long_and_no_column_is_lost(made: tuple[list[Column], list[list[str]]], width: int) -> None:
    columns, rows = made
    columns = [Column(f"{i}. {one.title}".strip(), spare=one.spare, always=True) for i, one in enumerate(columns)]
    text = text_of(Table("", columns, rows), Style(width))
    (table,) = [part for part in text.split("\n\n") if "--" in part or part.endswith("-")]
    assert max(map(len, table.splitlines())) <= width
    for column in columns:  # each is in the table, or told
        assert column.title.split()[0] in text


@pytest.fixture
def wide() -> Table:
    columns = (
        "block",
        Column("what it draws", quantity=Amperes),
        Column("place", spare=1),
        "panel",
        Column("of", share=True),
    )
    return Table("", columns, [(f"S{i}", 0.5, f"at {i} m", "left", 0.5) for i in range(1, 4)])


def test_what_goes_first_loses_least(wide: Table) -> None:
    def first(width: int) -> list[str]:
        return text_of(wide, Style(width)).splitlines()

    whole = "block  what it draws  place   panel  of"
    assert first(70)[0] == whole
    assert first(60)[1].split() == ["block", "draws", "place", "panel", "of"]  # a heading in two lines
    assert "[#####.....]  50 %" in "\n".join(first(50))  # a shorter bar
    assert first(20)[:2] == ["In every row: what it draws: 500 mA;", "  panel: left."]
    one = Table("", (Column("a name"), Column("place", spare=1), "way"), [("S1", "at 1 m", "round it")])
    assert text_of(one, Style(16)).endswith("\n\nLeft out, for these lines are too short:\n  place.")


def test_rows_that_read_the_same_are_one(wide: Table) -> None:
    table = Table(
        "",
        ("block", "panel"),
        [("S1", "left"), ("S2", "left"), ("S3", "left"), ("S5", "right"), ("S4", "left")],
        ranges=True,
    )
    assert [line.split() for line in text_of(table, Style()).splitlines()[2:]] == [
        ["S1-S3", "left"],
        ["S5", "right"],
        ["S4", "left"],
    ]
    assert wide.in_ranges().rows == wide.rows
