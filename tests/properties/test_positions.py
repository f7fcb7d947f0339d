"""The scanner finds exactly the paths that the parser finds, and what stands at each spot reads as what is there."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from typing import Any

import tomli
from attrs import frozen
from hypothesis import given, settings
from hypothesis import strategies as st

from blockcheck.core.spans import Path, Span
from blockcheck.text.positions import scan

Text = st.SearchStrategy[str]

NAMES = ("a", "b", "c", "d", "a-b", "1", "", "x.y", "é", "🚂", "]", "[[", "#", "= {", 'q"q', "it's", "\\", "\t\x7f\r")
ESCAPES = {"\b": r"\b", "\t": r"\t", "\n": r"\n", "\f": r"\f", "\r": r"\r", '"': r"\"", "\\": r"\\"}

blanks = st.sampled_from(["", " ", "\t", "   "])
newlines = st.sampled_from(["\n", "\r\n"])
plain = st.sampled_from(["x", "é", "🚂", "#", "[", "]", "{", "}", ",", "=", " ", "\t", "[a]", "b = 1", "# c"])
comments = st.lists(st.one_of(plain, st.sampled_from(['"', '"""', "'", "'''", "\\"])), max_size=4).map(
    lambda pieces: "#" + "".join(pieces)
)


def joined(*parts: Text | str) -> Text:
    """The parts one after another."""
    return st.tuples(*(st.just(part) if isinstance(part, str) else part for part in parts)).map("".join)


def run_of(part: Text, most: int = 4) -> Text:
    return st.lists(part, max_size=most).map("".join)


line_end = joined(blanks, st.one_of(st.just(""), comments), newlines)
loose = joined(run_of(line_end, 2), blanks)
"""What may stand between the items of an array."""


@st.composite
def written_keys(draw: st.DrawFn, name: str) -> str:
    """A name as a bare or quoted key."""
    bare = name != "" and name.isascii() and name.replace("-", "").isalnum()
    literal = "'" not in name and name.isprintable()
    kind = draw(st.sampled_from(["bare"] * bare + ["literal"] * literal + ["basic"]))
    if kind == "bare":
        return name
    if kind == "literal":
        return f"'{name}'"
    return '"' + "".join(draw(st.sampled_from(spellings(char))) for char in name) + '"'


def spellings(char: str) -> list[str]:
    """The ways to write a character in a basic string."""
    ways = [f"\\U{ord(char):08x}"]
    if ord(char) < 0x10000:
        ways.append(f"\\u{ord(char):04X}")
    if char in ESCAPES:
        ways.append(ESCAPES[char])
    elif char.isprintable():
        ways.append(char)
    return ways


one_key = st.sampled_from(NAMES[:4] * 3 + NAMES).flatmap(written_keys)
dotted_key = st.one_of(
    one_key,
    st.lists(st.tuples(blanks, one_key, blanks).map("".join), min_size=2, max_size=3).map(".".join),
).map(str.strip)

escapes = st.sampled_from([*ESCAPES.values(), r"\u00e9", r"\U0001F682"])
basic = joined('"', run_of(st.one_of(plain, escapes, st.just("'"), st.just("'''"))), '"')
literal = joined("'", run_of(st.one_of(plain, st.sampled_from(['"', '"""', "\\"]))), "'")
up_to_two = st.sampled_from([0, 0, 1, 2])
line_folds = joined("\\", blanks, newlines, blanks)
long_basic = joined(
    '"""',
    run_of(joined(up_to_two.map('"'.__mul__), st.one_of(plain, newlines, escapes, line_folds, st.just("'''")))),
    up_to_two.map('"'.__mul__),
    '"""',
)
long_literal = joined(
    "'''",
    run_of(joined(up_to_two.map("'".__mul__), st.one_of(plain, newlines, st.sampled_from(["\\", '"""'])))),
    up_to_two.map("'".__mul__),
    "'''",
)
times = st.times().map(lambda time: time.isoformat())
dates = st.dates().map(lambda date: date.isoformat())
date_times = joined(dates, st.sampled_from("Tt "), times, st.sampled_from(["", "Z", "z", "+05:30", "-11:00"]))
numbers = st.one_of(
    st.integers(-(10**20), 10**20).map(str),
    st.floats().map(repr),
    st.sampled_from(["+7", "1_000", "0xDEAD_beef", "0o17", "0b1_01", "-0.0", "+1e0_6", "6.2E-3", "+inf", "-nan"]),
)
scalars = st.one_of(
    numbers, st.sampled_from(["true", "false"]), dates, times, date_times, basic, literal, long_basic, long_literal
)
newer_scalars = st.one_of(
    scalars, st.sampled_from(["07:32", "1979-05-27 07:32", "1979-05-27T07:32Z", r'"\e\x41"', '"""\\x22\\e"""'])
)


def arrays(values: Text) -> Text:
    items = st.lists(joined(loose, values, loose), min_size=1, max_size=4).map(",".join)
    return st.one_of(
        joined("[", loose, "]"), joined("[", items, "]"), joined("[", items, st.just(",") | joined(",", loose), "]")
    )


def inline_tables(values: Text, newer: bool) -> Text:
    around = loose if newer else blanks
    pair = st.tuples(dotted_key, joined(around), joined(blanks, "=", blanks, values, around))
    pairs = st.lists(pair, min_size=1, max_size=3, unique_by=lambda pair: pair[0]).map(
        lambda all_: ",".join(before + key + rest for key, before, rest in all_)
    )
    end = st.sampled_from(["}", ",}"]) if newer else st.just("}")
    return st.one_of(joined("{", around, "}"), joined("{", pairs, end))


def values_of(newer: bool) -> Text:
    leaves = newer_scalars if newer else scalars
    return st.recursive(leaves, lambda inner: st.one_of(arrays(inner), inline_tables(inner, newer)), max_leaves=6)


def statements(newer: bool) -> st.SearchStrategy[tuple[str, str, str]]:
    """What stands before a header or an entry, the thing itself, and the rest of its line."""
    header = joined("[", blanks, dotted_key, blanks, "]")
    array_header = joined("[[", blanks, dotted_key, blanks, "]]")
    again = st.sampled_from(["[[a]]", "[[ 'a' ]]", "[[a.b]]", "[[a.'b']]", "[a.c]", "[a.b.c]"])  # so that arrays grow
    pair = joined(dotted_key, blanks, "=", blanks, values_of(newer))
    return st.tuples(joined(run_of(line_end, 1), blanks), st.one_of(header, array_header, again, pair, pair), line_end)


@frozen
class Written:
    """A document, the spans of its headers, and the parser for the version of TOML that it is written in."""

    text: str
    headers: tuple[Span, ...]
    parse: Callable[[str], dict[str, Any]]


@st.composite
def documents(draw: st.DrawFn) -> Written:
    """Statements at random, less those that the parser does not take after the ones before them."""
    newer = draw(st.booleans())
    parse = tomli.loads if newer else tomllib.loads
    text = ""
    headers = []
    for before, statement, after in draw(st.lists(statements(newer), max_size=12)):
        longer = text + before + statement + after
        try:
            parse(longer)
        except ValueError:
            continue
        if statement.startswith("["):
            headers.append(Span(len(text + before), len(text + before + statement)))
        text = longer
    if draw(st.booleans()):
        text = text.removesuffix("\n").removesuffix("\r")
    return Written(text, tuple(headers), parse)


def everything(document: dict[str, Any]) -> dict[Path, Any]:
    """All values of a document but the root, by their paths."""
    found: dict[Path, Any] = {}
    left: list[tuple[Path, Any]] = [((), document)]
    while left:
        path, value = left.pop()
        found[path] = value
        inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        left.extend(((*path, step), inner) for step, inner in inside)
    del found[()]
    return found


def same(one: Any, other: Any) -> bool:
    """Equal in kind and value, all the way down; not-a-number is like itself, 0.0 unlike -0.0."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(value, other[key]) for key, value in one.items())
    if isinstance(one, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, float):
        return (
            math.isnan(one) if math.isnan(other) else (one, math.copysign(1, one)) == (other, math.copysign(1, other))
        )
    return bool(one == other)


def header_names(header: str) -> list[str]:
    """The names in a header, by the parser."""
    names = []
    inside: Any = tomllib.loads(header)
    while inside:
        if isinstance(inside, list):
            inside = inside[0]
        else:
            ((name, inside),) = inside.items()
            names.append(name)
    return names


@given(documents())
@settings(deadline=None)
def test_the_paths_are_those_of_the_parser(written: Written) -> None:
    assert scan(written.text).keys() == everything(written.parse(written.text)).keys()


@given(documents())
@settings(deadline=None)
def test_every_value_stands_at_its_spot(written: Written) -> None:
    text = written.text
    spots = scan(text)
    for path, value in everything(written.parse(text)).items():
        spot = spots[path]
        if spot.value == spot.key:  # made by a header or by a dotted key, which only tables and arrays of them are
            assert isinstance(value, dict) or (
                isinstance(value, list) and all(isinstance(item, dict) for item in value)
            )
            continue
        again = written.parse("x = " + text[spot.value.start : spot.value.end])
        assert same(again, {"x": value}), path


@given(documents())
@settings(deadline=None)
def test_every_key_stands_at_its_spot(written: Written) -> None:
    text = written.text
    for path, spot in scan(text).items():
        if spot.key is None:
            assert isinstance(path[-1], int)
            continue
        key = text[spot.key.start : spot.key.end]
        if key.startswith("["):
            assert spot.value == spot.key
            names = [step for step in path if isinstance(step, str)]
            assert header_names(key)[: len(names)] == names
        else:
            assert written.parse(key + " = 0") == {path[-1]: 0}


@given(documents())
@settings(deadline=None, max_examples=50)
def test_what_is_inside_stands_inside(written: Written) -> None:
    """An item or key written inline lies within the array or table around it, and items follow one another."""
    spots = scan(written.text)
    for path, spot in spots.items():
        around = spots.get(path[:-1])
        if around is not None and around.value != around.key:
            assert around.value.start < (spot.key or spot.value).start
            assert spot.value.end < around.value.end
        last = path[-1]
        if isinstance(last, int) and last > 0:
            assert spots[(*path[:-1], last - 1)].value.end < spot.value.start


@given(documents())
@settings(deadline=None, max_examples=50)
def test_every_header_is_the_spot_of_what_it_names(written: Written) -> None:
    """So no header that only mentions a table is kept over the one that opens it."""
    named: dict[Span, list[list[str]]] = {}
    for path, spot in scan(written.text).items():
        if spot.key is not None:
            named.setdefault(spot.key, []).append([step for step in path if isinstance(step, str)])
    for span in written.headers:
        assert header_names(written.text[span.start : span.end]) in named[span]
