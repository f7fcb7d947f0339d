"""Places of keys and values, by line and column as a reader counts them."""

from __future__ import annotations

import tomllib

import pytest
import tomli

from blockcheck.core.spans import Path, SourceFile
from blockcheck.text.positions import Spot, scan

At = tuple[int, int, int, int]
"""First line and column, then the line and column just after the last character."""


def places(text: str, *path: str | int) -> tuple[At | None, At]:
    """Where the key and the value at a path stand."""
    tomli.loads(text)  # the scanner is for such text alone
    source = SourceFile("yard.toml", text)

    def at(start_end: Spot, key: bool) -> At | None:
        span = start_end.key if key else start_end.value
        if span is None:
            return None
        place = source.place(span)
        return place.line, place.column, place.end_line, place.end_column

    spot = scan(text)[path]
    value = at(spot, key=False)
    assert value is not None
    return at(spot, key=True), value


def cut(text: str, path: Path) -> tuple[str | None, str]:
    """The text of the key and of the value at a path."""
    tomli.loads(text)
    spot = scan(text)[path]
    key = None if spot.key is None else text[spot.key.start : spot.key.end]
    return key, text[spot.value.start : spot.value.end]


def test_an_empty_document_has_no_spots() -> None:
    assert scan("") == {}
    assert scan("\r\n # [none] = { here }\n\n#") == {}


def test_a_key_and_its_value() -> None:
    text = '# layout\n\n  channel =  12 # [not] = "this"\n'
    assert places(text, "channel") == ((3, 3, 3, 10), (3, 14, 3, 16))


def test_the_last_line_may_lack_its_end() -> None:
    assert places("a = 1\nb = true", "b") == ((2, 1, 2, 2), (2, 5, 2, 9))


def test_a_header_is_the_spot_of_its_table() -> None:
    text = "[ districts . lower ] # the yard\nchannel = 1\n"
    assert places(text, "districts", "lower") == ((1, 1, 1, 22), (1, 1, 1, 22))
    assert places(text, "districts", "lower", "channel") == ((2, 1, 2, 8), (2, 11, 2, 12))


def test_a_table_only_mentioned_has_the_first_header_that_does() -> None:
    text = "[a.b.c]\n[a.b.d]\n[a.e]\n"
    assert places(text, "a")[1] == places(text, "a", "b")[1] == (1, 1, 1, 8)
    assert places(text, "a", "b", "d")[1] == (2, 1, 2, 8)


def test_a_header_of_its_own_wins_over_a_mention() -> None:
    text = "[a.b.c]\nx = 1\n[a]\ny = 2\n[a.b]\nz = 3\n"
    assert places(text, "a")[1] == (3, 1, 3, 4)
    assert places(text, "a", "b")[1] == (5, 1, 5, 6)
    assert places(text, "a", "b", "c")[1] == (1, 1, 1, 8)
    assert places(text, "a", "b", "c", "x")[1] == (2, 5, 2, 6)


def test_a_header_keeps_the_first_mentions_of_what_is_in_its_table() -> None:
    text = "[a.b.c]\n[a]\n[a.b.d]\n"
    assert places(text, "a")[1] == (2, 1, 2, 4)
    assert places(text, "a", "b")[1] == (1, 1, 1, 8)


def test_a_dotted_key_gives_each_table_its_part() -> None:
    text = "[feeder]\nrun . 'in'.length = 2.5\nrun.in.wires = 2\n"
    assert places(text, "feeder", "run") == ((2, 1, 2, 4), (2, 1, 2, 4))
    assert places(text, "feeder", "run", "in") == ((2, 7, 2, 11), (2, 7, 2, 11))
    assert places(text, "feeder", "run", "in", "length") == ((2, 12, 2, 18), (2, 21, 2, 24))
    assert places(text, "feeder", "run", "in", "wires") == ((3, 8, 3, 13), (3, 16, 3, 17))


def test_arrays_of_tables_count_their_headers() -> None:
    text = "[[joints]]\ngap = 1\n[joints.at]\nmm = 5\n[[joints]]\ngap = 2\n[joints.at]\nmm = 6\n"
    assert places(text, "joints") == places(text, "joints", 0) == ((1, 1, 1, 11), (1, 1, 1, 11))
    assert places(text, "joints", 1) == ((5, 1, 5, 11), (5, 1, 5, 11))
    assert places(text, "joints", 1, "gap") == ((6, 1, 6, 4), (6, 7, 6, 8))
    assert places(text, "joints", 0, "at")[1] == (3, 1, 3, 12)
    assert places(text, "joints", 1, "at", "mm")[1] == (8, 6, 8, 7)
    assert places(text + "[[ joints ]]", "joints", 2)[1] == (9, 1, 9, 13)


def test_arrays_of_tables_in_arrays_of_tables_begin_anew() -> None:
    text = "[[a]]\n[[a.b]]\n[[a.b]]\n[[a]]\n[[a.b]]\nc = 1\n"
    assert ("a", 0, "b", 1) in scan(text)
    assert ("a", 1, "b", 1) not in scan(text)
    assert places(text, "a", 1, "b")[1] == places(text, "a", 1, "b", 0)[1] == (5, 1, 5, 8)
    assert places(text, "a", 1, "b", 0, "c") == ((6, 1, 6, 2), (6, 5, 6, 6))


def test_inline_tables_in_arrays() -> None:
    text = "[districts.lower]\nexpects = [\n  { kind = 'loco', count = 2 }, # ]\n  {},\n]\n"
    assert places(text, "districts", "lower", "expects") == ((2, 1, 2, 8), (2, 11, 5, 2))
    assert places(text, "districts", "lower", "expects", 0) == (None, (3, 3, 3, 31))
    assert places(text, "districts", "lower", "expects", 0, "count") == ((3, 20, 3, 25), (3, 28, 3, 29))
    assert places(text, "districts", "lower", "expects", 1) == (None, (4, 3, 4, 5))


def test_after_an_inline_value_the_table_goes_on() -> None:
    text = "[a]\nb = [[1, 2], [3]]\nc = { d.e = [4], d.f = 5 }\ng = 6\n"
    assert places(text, "a", "b", 1) == (None, (2, 14, 2, 17))
    assert places(text, "a", "c", "d") == ((3, 7, 3, 8), (3, 7, 3, 8))
    assert places(text, "a", "c", "d", "e", 0) == (None, (3, 14, 3, 15))
    assert places(text, "a", "c", "d", "f") == ((3, 20, 3, 21), (3, 24, 3, 25))
    assert places(text, "a", "g") == ((4, 1, 4, 2), (4, 5, 4, 6))


def test_inline_tables_of_newer_toml() -> None:
    text = "a = {\n  b = 1, # }\n  c = [\n    2,\n  ],\n}\nd = 3\n"
    assert places(text, "a") == ((1, 1, 1, 2), (1, 5, 6, 2))
    assert places(text, "a", "c", 0) == (None, (4, 5, 4, 6))
    assert places(text, "d") == ((7, 1, 7, 2), (7, 5, 7, 6))


def test_columns_count_code_points() -> None:
    text = '"🚂 é" = "🚂🚂" # 🚂\nx = 1\n'
    assert places(text, "🚂 é") == ((1, 1, 1, 6), (1, 9, 1, 13))
    assert places(text, "x")[1] == (2, 5, 2, 6)


def test_lines_that_end_in_cr_lf() -> None:
    text = '[a]\r\nb = """\r\nup\r\n"""\r\nc = 1 # x\r\n'
    assert places(text, "a", "b") == ((2, 1, 2, 2), (2, 5, 4, 4))
    assert places(text, "a", "c") == ((5, 1, 5, 2), (5, 5, 5, 6))


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ('""', ""),
        ("''", ""),
        ("'a.b'", "a.b"),
        ("'\\u0041'", "\\u0041"),
        (r'"\u0041\U0001F682\x42"', "A🚂B"),
        (r'"\b\t\n\f\r\e\"\\"', '\b\t\n\f\r\x1b"\\'),
        (r'"\\u0041"', "\\u0041"),
        ('"]"', "]"),
        ('"# ="', "# ="),
        ("-1_", "-1_"),
    ],
)
def test_keys_are_unquoted(written: str, name: str) -> None:
    assert cut(f"a.{written}=1", ("a", name)) == (written, "1")
    assert cut(f"[ {written} ]", (name,)) == (f"[ {written} ]",) * 2
    assert cut(f"[[{written}.a]]", (name, "a", 0)) == (f"[[{written}.a]]",) * 2


@pytest.mark.parametrize(
    "value",
    [
        '""',
        "''",
        '""""""',
        '"""""x"" y"""""',
        r'"a \" # ] b"',
        r"'C:\'",
        '"""a "" b\\""" # "\n"""""',
        "'''it's ''x''\n'''''",
        '"""\\\n   folded"""',
        "1979-05-27 07:32:00.5-07:00",
        "1979-05-27",
        "07:32:00",
        "0xdead_beef",
        "-1.5e+3",
        "-inf",
        "[ # ]\n ]",
        "[[], [[]],]",
        "{ a.b = [ { c = '}' } ] }",
    ],
)
def test_values_end_where_they_end(value: str) -> None:
    for text in (f"x = {value}", f"x = {value}# ]\ny = 1", f"x = {value} \t# ]\r\n"):
        assert cut(text, ("x",)) == ("x", value)
    assert cut(f"x = [{value},{value}]", ("x", 0)) == cut(f"x = [ {value} , {value} ]", ("x", 1)) == (None, value)
    assert cut(f"x = {{y={value}}}", ("x", "y")) == cut(f"x = {{a=0,y = {value} }}", ("x", "y")) == ("y", value)


def test_nesting_takes_no_recursion() -> None:
    deep = 5000  # far more than the parser takes
    spots = scan(f"a = {'[' * deep}{']' * deep}\nb = 1")
    assert len(spots) == deep + 1
    assert spots["a", *[0] * (deep - 1)].value.start == 4 + deep - 1
    assert len(scan(f"a = {'{a=' * deep}1{'}' * deep}")) == deep + 1


def test_long_runs_of_comments_are_read_once() -> None:
    text = "# [a]\n" * 50_000 + "a = 1\n" + "# b = 2\n" * 50_000
    assert list(scan(text)) == [("a",)] == [(key,) for key in tomllib.loads(text)]
