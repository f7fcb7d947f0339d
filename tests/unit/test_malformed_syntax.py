"""Slips of the pen: text that is no TOML is told of where the slip is, with what was meant."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Refused = Callable[..., list[dict[str, Any]]]

# what is wrong: the text, what is written for it, line:column, words of the message, words of the advice
SLIPS: dict[str, tuple[str, str, str, str, str]] = {
    "text without quotes": ('"throat"', "throat", "26:8", "text stands in quotes", 'write kind = "throat"'),
    "words without quotes": ('"Tannery sidings"', "Tannery sidings", "3:8", "stands in quotes", '= "Tannery sidings"'),
    "text with a comment": ('"throat"', "throat # all of it", "26:8", "text stands in quotes", 'write kind = "throat"'),
    "a channel without quotes": ('"D1.8"', "D1.8", "25:11", "text stands in quotes", 'write channel = "D1.8"'),
    "a range without quotes": ('"D1.1-4"', "D1.1-4", "21:11", "text stands in quotes", 'write channel = "D1.1-4"'),
    "a list without quotes": ('["neck", "S1-S4"]', "[neck, S1-S4]", "29:11", "stands in quotes", 'write "neck"'),
    "an inline table without quotes": ('load = "shunter"', "load = shunter", "10:21", "in quotes", 'write "shunter"'),
    "a quantity without quotes": ('"1.8 m"', "1.8 m", "23:10", "a quantity is text", 'write length = "1.8 m"'),
    "a quantity without a blank": ('"90 mA"', "90mA # asleep", "13:8", "a quantity is text", 'write idle = "90 mA"'),
    "a quantity with a comma": ('"1.8 m"', "1,8 m", "23:10", "a quantity is text", 'write length = "1.8 m"'),
    "a percentage without quotes": ('"1.8 m"', "20 %", "23:10", "a quantity is text", 'write length = "20 %"'),
    "ohms without quotes": ('"1.8 m"', "10 kΩ", "23:10", "a quantity is text", 'write length = "10 kΩ"'),
    "ohms per metre without quotes": ('"1.8 m"', "0.06 ohm/m", "23:10", "a quantity is text", '= "0.06 ohm/m"'),
    "a number with a comma": ('"1.8 m"', "1,8", "23:10", "before decimals is the point", "length = 1.8"),
    "no closing quote": ('"Tannery sidings"', '"Tannery sidings', "3:8", "no closing quote", 'write "Tannery sidings"'),
    "no closing quote, a comment": ('"14 V"', '"14 V # no load', "6:11", "no closing quote", 'write "14 V"'),
    "no closing single quote": ('"Tannery sidings"', "'Tannery sidings", "3:8", "no closing", "'Tannery sidings'"),
    "no opening quote": (
        '"Tannery sidings"',
        'Tannery sidings"',
        "3:8",
        "stands in quotes",
        'name = "Tannery sidings"',
    ),
    "two kinds of quotes": ('"Tannery sidings"', "'Tannery sidings\"", "3:8", "no closing quote", "'Tannery sidings"),
    "three quotes never closed": (
        '"Tannery sidings"',
        '"""Tannery sidings',
        "3:8",
        'never closed: """',
        'end it with """',
    ),
    "typographic quotes": ('"Tannery sidings"', "“Tannery sidings”", "3:8", "typographic", 'name = "Tannery sidings"'),
    "quotes in quotes": ('"Tannery sidings"', '"the "old" yard"', "3:8", "ends at its second", "'the \"old\" yard'"),
    "an apostrophe in quotes": (
        '"Tannery sidings"',
        "'the fox's yard'",
        "3:8",
        "its second quote",
        '"the fox\'s yard"',
    ),
    "a backslash": ('"Tannery sidings"', '"C:\\yard"', "3:11", "a backslash in double quotes", "'single quotes'"),
    "a backslash and a U": ('"Tannery sidings"', '"C:\\Users"', "3:11", "a backslash in double", "'single quotes'"),
    "a backslash at the end": ('"Tannery sidings"', '"yard\\"', "3:8", "no closing quote", "'yard\\'"),
    "no closing bracket": ('["neck", "S1-S4"]', '["neck", "S1-S4"', "29:10", "list that begins here is not", "with ]"),
    "a comma, and no bracket": (
        '["neck", "S1-S4"]',
        '["neck",',
        "29:10",
        "list that begins here is not closed",
        "with ]",
    ),
    "a brace closed by a bracket": ("count = 2 }]", "count = 2 ]", "10:12", "inline table that begins here", "with }"),
    "no opening brace": (
        '[{ load = "shunter"',
        '[load = "shunter"',
        "10:12",
        "a table in a list",
        '{ load = "shunter"',
    ),
    "no comma in a list": ('"neck", "S1-S4"', '"neck" "S1-S4"', "29:18", "no comma between two items", "with a comma"),
    "no comma in a table": (
        '"shunter", count',
        '"shunter" count',
        "10:31",
        "no comma between two keys",
        "with a comma",
    ),
    "a colon": ('booster = "B1"', 'booster: "B1"', "9:8", "joined by =, not by a colon", 'write booster = "B1"'),
    "a colon in a table": ("count = 2", "count: 2", "10:37", "joined by =, not by a colon", "write count = 2"),
    "no equals sign": ('booster = "B1"', 'booster "B1"', "9:9", "no = between booster", 'write booster = "B1"'),
    "two equals signs": ('booster = "B1"', 'booster == "B1"', "9:10", "one = joins", 'write booster = "B1"'),
    "no value": ('booster = "B1"', "booster =", "9:10", "booster has no value", "write booster ="),
    "a key alone": ('booster = "B1"', "booster", "9:1", "booster has no value", "write booster ="),
    "no key": ('booster = "B1"', '= "B1"', "9:1", "no key before the =", "write the key"),
    "a key with a blank": ('kind = "throat"', 'the kind = "throat"', "26:5", "stands in quotes", '"the key" ='),
    "a key with an umlaut": ('kind = "throat"', 'länge = "3 m"', "26:2", "stands in quotes", '"the key" ='),
    "a header not closed": ("[layout]", "[layout", "2:1", "header is not closed", "write [layout]"),
    "a header not opened": ("[layout]", "layout]", "2:7", "header has no opening bracket", "write [layout]"),
    "a header half closed": ("[[joints]]", "[[joints]", "28:1", "header is not closed", "write [[joints]]"),
    "a header in round brackets": ("[layout]", "(layout)", "2:1", "in square brackets", "write [layout]"),
    "a header without a name": ("[blocks.neck]", "[blocks.]", "24:1", "header lacks a name", "write [blocks.NAME]"),
    "an empty header": ("[blocks.neck]", "[]", "24:1", "header lacks a name", "write [blocks.NAME]"),
    "a header with a blank": ("[blocks.neck]", "[blocks neck]", "24:9", "follows a dot", "write [blocks.neck]"),
    "a header with a colon": ("[blocks.neck]", "[blocks:neck]", "24:8", "follows a dot", "write [blocks.neck]"),
    "a header with words": ("[blocks.neck]", "[blocks.the neck]", "24:13", "in quotes", 'write [blocks."the neck"]'),
    "a header with an umlaut": ("[blocks.neck]", "[blocks.Gürtel]", "24:10", "in quotes", 'write [blocks."Gürtel"]'),
    "a header of two": ("[blocks.neck]", "[blocks.S5,S6]", "24:11", "one name, or a range", "for several"),
    "a slash for a comment": ('"throat"', '"throat" // all of it', "26:17", "comment begins with #", "# all of it"),
    "a line of slashes": ('kind = "throat"', "// all of it", "26:1", "comment begins with #", "# all of it"),
    "a semicolon for a comment": ('kind = "throat"', "; all of it", "26:1", "comment begins with #", "# all of it"),
    "a semicolon at the end": ('"throat"', '"throat";', "26:16", "nothing stands behind a value", "leave it out"),
    "a comma at the end": ('"throat"', '"throat",', "26:16", "nothing stands behind a value", "leave it out"),
    "two keys on a line": ('"throat"', '"throat" length = "3 m"', "26:17", "two keys on one line", "line of its own"),
    "True": ("= true", "= True", "12:14", "written small and without quotes", "write locomotive = true"),
    "yes": ("= true", "= yes", "12:14", "written small and without quotes", "write locomotive = true"),
    "null": ("= true", "= null", "12:14", "no value for nothing", "leave the key out"),
    "a nought before": ("channels = 8", "channels = 08", "15:12", "no nought before it", "write channels = 8"),
    "a point before": ("channels = 8", "channels = .8", "15:12", "begins with a digit", "write channels = 0.8"),
    "a point behind": ("channels = 8", "channels = 8.", "15:12", "not end with a point", "write channels = 8.0"),
    "no date of the calendar": ('"Tannery sidings"', "2031-13-45", "3:8", "no date of the calendar", "2031-12-31"),
    "a NUL": ('"Tannery', '"Tan\0nery', "3:12", "U+0000", "take it out"),
    "a bell in a comment": ("channels = 8", "channels = 8 # \a", "15:16", "U+0007", "take it out"),
    "a lone carriage return": ("channels = 8\n", "channels = 8\r", "15:13", "a carriage return alone", "LF or CR LF"),
}

# what is written twice: behind the right layout (from line 31 on), line:column, message, advice, place of the first
TWICE: dict[str, tuple[str, str, str, str, str]] = {
    "a table": ("[blocks.neck]\nkind = 1\n", "31:1", "[blocks.neck] is written twice", "under one header", "24:1"),
    "a table in quotes": ('[blocks."neck"]\n', "31:1", '[blocks."neck"] is written twice', "under one header", "24:1"),
    "a table with blanks": ("[ blocks . neck ]\n", "31:1", "is written twice", "under one header", "24:1"),
    "the layout": ("[layout]\n", "31:1", "[layout] is written twice", "under one header", "2:1"),
    "a range": ("[blocks.S1-S4]\n", "31:1", "[blocks.S1-S4] is written twice", "under one header", "20:1"),
    "a key": ("[loads.a]\nidle = 1\nrunning = 2\nidle = 3\n", "34:1", "idle is given twice", "keep one", "32:1"),
    "a key in a table": ("[loads]\na = { idle = 1, idle = 2 }\n", "32:17", "idle is given twice", "keep one", "32:7"),
    "a dotted key": ("[loads]\na.idle = 1\na.idle = 2\n", "33:3", "idle is given twice", "keep one", "32:3"),
    "a value and a table": ("[layout.name]\n", "31:1", "cannot be a table: name has a value", "keep one", "3:1"),
    "a list and a table": ("[joints]\n", "31:1", "[joints] cannot stand beside [[joints]]", "write [[joints]]", "28:1"),
    "tables and a list": ("[[blocks]]\n", "31:1", "[[blocks]] cannot stand beside", "write [blocks.NAME]", "20:1"),
}


@pytest.mark.parametrize("ends", ["\n", "\r\n"], ids=["LF", "CR LF"])
@pytest.mark.parametrize("name", SLIPS)
def test_a_slip(name: str, ends: str, good: str, refused: Refused) -> None:
    before, after, at, message, advice = SLIPS[name]
    assert good.count(before) == 1, "the text to change stands there once"
    if name == "a lone carriage return":
        text = good.replace("\n", ends).replace(before.replace("\n", ends), after)
    else:
        text = good.replace(before, after).replace("\n", ends)
    (finding,) = refused(text)
    assert f"{finding['line']}:{finding['column']}" == at
    assert message in finding["message"]
    assert advice in finding["help"]


@pytest.mark.parametrize("name", TWICE)
def test_what_is_written_twice_names_both_places(name: str, good: str, refused: Refused) -> None:
    text, at, message, advice, first = TWICE[name]
    (finding,) = refused(good + text)
    assert f"{finding['line']}:{finding['column']}" == at
    assert message in finding["message"]
    assert advice in finding["help"]
    (related,) = finding["related"]
    assert f"{related['line']}:{related['column']}" == first


def test_both_places_are_found_in_a_long_file_too(good: str, refused: Refused) -> None:
    long = good + "# a long story about the sidings and how they came to be\n" * 40_000
    lines = long.count("\n")
    (finding,) = refused(long + "[blocks.neck]\n")
    assert (finding["line"], finding["related"][0]["line"]) == (lines + 1, 24)
    (finding,) = refused(long + "[loads.a]\nidle = 1\nidle = 2\n")
    assert (finding["line"], finding["related"][0]["line"]) == (lines + 3, lines + 2)


@pytest.mark.parametrize(
    "text", ["]", "[[", "=", '"', "'", "a.", "a = {", "a = [[", "a = 1_", "a = 0x", "\\", "a = +", "é"]
)
def test_any_scrap_has_its_place_and_advice(text: str, refused: Refused) -> None:
    (finding,) = refused(f"format = 1\n{text}")
    assert finding["line"] == 2
