"""Places in long texts, and how messages quote what a person wrote."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blockcheck.core.errors import MOST_FINDINGS, InputError
from blockcheck.core.findings import Finding
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import shown
from blockcheck.core.spans import Place, SourceFile, Span


@given(st.lists(st.sampled_from(["\n", "\r\n", "ab", "é", "x" * 9000, "\n" * 9000]), max_size=12), st.data())
def test_a_place_is_counted_from_the_start_of_the_text(parts: list[str], data: st.DataObject) -> None:
    text = "".join(parts)
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, len(text)))
    place = SourceFile("yard.toml", text).place(Span(start, end))
    lines = text.split("\n")
    assert place.line == text[:start].count("\n") + 1
    assert place.column == len(text[:start].rpartition("\n")[2]) + 1
    assert (place.end_line, place.end_column) == (
        text[:end].count("\n") + 1,
        len(text[:end].rpartition("\n")[2]) + 1,
    )
    assert place.source == lines[place.line - 1].rstrip("\r")


def test_the_places_of_one_long_line_share_its_text() -> None:
    source = SourceFile("yard.toml", "x" * 1_000_000)
    assert source.place(Span(1, 2)).source is source.place(Span(3, 4)).source


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("S1", '"S1"'),
        ("", "an empty text"),
        ("a\x1b[2J\n", '"a\\u001b[2J\\u000a"'),
        ("x" * 100, '"' + "x" * 57 + '..."'),
        (True, "true"),
        (3, "3"),
        (-(10**30), "a very large number"),
        pytest.param(16**4500, "a very large number", id="more digits than Python converts"),
        (float("nan"), "nan"),
        (float("-inf"), "-inf"),
        ([1], "a list"),
        ({"a": 1}, "a table"),
        (datetime.date(2031, 1, 1), "a date"),
        (datetime.datetime(2031, 1, 1), "a date and time"),
        (datetime.time(1), "a time of day"),
    ],
)
def test_a_value_is_quoted_in_a_few_words(value: object, words: str) -> None:
    assert shown(value) == words


def test_names_with_more_digits_than_python_converts_are_sorted_too() -> None:
    long = "S" + "9" * 5000
    assert sorted([long, "S10", "S2", "S02", long + "0", "T1"], key=natural_key) == [
        "S02",
        "S2",
        "S10",
        long,
        long + "0",
        "T1",
    ]


def test_faults_are_told_in_the_order_of_the_text_each_once() -> None:
    def at(line: int, message: str) -> Finding:
        return Finding(message, "yard.toml", Place("yard.toml", line, 1, line, 2))

    error = InputError([at(3, "c"), at(1, "a"), at(3, "c"), at(2, "b")])
    assert [finding.message for finding in error.findings] == ["a", "b", "c"]
    error = InputError(at(line, "x") for line in range(1, 1000))
    assert len(error.findings) == MOST_FINDINGS + 1
    assert error.findings[-1].message == "there are more faults from here on"
