"""Bad values, keys, names and references: where each is told of, and what it says to write instead."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Refused = Callable[..., list[dict[str, Any]]]

# what is wrong: the text, what is written for it, line:column, words of the message, words of the advice
VALUES: dict[str, tuple[str, str, str, str, str]] = {
    "a number without a unit": ('"14 V"', "14", "6:11", 'a voltage such as "14 V", got 14', 'write "14 V"'),
    "a text without a unit": ('"1.8 m"', '"1.8"', "23:10", 'a length such as "9.0 m"', 'write "1.8 m" or "1.8 ft"'),
    "a decimal comma": ('"1.8 m"', '"1,8 m"', "23:10", "a length", 'write "1.8 m"'),
    "a unit of another dimension": ('"1.8 m"', '"1.8 V"', "23:10", "a length", '"V" is a voltage'),
    "a unit in words": ('"14 V"', '"14 volts"', "6:11", "a voltage", 'write "14 V"'),
    "a unit in capitals": ('"90 mA"', '"90 MA"', "13:8", "a current", 'write "90 mA"'),
    "no number": ('"14 V"', '"V"', "6:11", "a voltage", "write a number before the unit"),
    "negative": ('"3 A"', '"-3 A"', "7:11", "a current", "cannot be negative"),
    "a negative number": ('"3 A"', "-3", "7:11", 'a current such as "1.2 A", got -3', "cannot be negative"),
    "nan": ('"14 V"', "nan", "6:11", "got nan", 'such as "14 V"'),
    "inf": ('"14 V"', "inf", "6:11", "got inf", 'such as "14 V"'),
    "minus inf": ('"14 V"', "-inf", "6:11", "got -inf", 'such as "14 V"'),
    "nan in text": ('"14 V"', '"nan V"', "6:11", 'got "nan V"', 'such as "14 V"'),
    "inf in text": ('"14 V"', '"inf V"', "6:11", 'got "inf V"', 'such as "14 V"'),
    "1e400 in text": ('"14 V"', '"1e400 V"', "6:11", 'got "1e400 V"', "too large"),
    "1e400": ('"14 V"', "1e400", "6:11", "got inf", 'such as "14 V"'),
    "too large to be meant": ('"14 V"', '"1e30 V"', "6:11", 'got "1e30 V"', "1e30 is too large to be a voltage"),
    "too small to be meant": ('"3 A"', '"1e-300 A"', "7:11", 'got "1e-300 A"', "the least here is 0.001 uA"),
    "a date for a quantity": ('"14 V"', "2031-12-31", "6:11", "got a date", 'such as "14 V"'),
    "a table for a quantity": ('"14 V"', "{ volts = 14 }", "6:11", "got a table", 'such as "14 V"'),
    "a share above the whole": ("[isolators.I1", '[limits]\nheadroom = "120 %"\n[isolators.I1', "28:12", "%", "100 %"),
    "a share without a sign": ("[isolators.I1", "[limits]\nheadroom = 0.2\n[isolators.I1", "28:12", "0.2", '"20 %"'),
    "a margin of nought": ("[isolators.I1", "[limits]\ntrip_margin = 0\n[isolators.I1", "28:15", "above 0", "1.5"),
    "a margin of nan": ("[isolators.I1", "[limits]\ntrip_margin = nan\n[isolators.I1", "28:15", "above 0", "1.5"),
    "a margin in quotes": (
        "[isolators.I1",
        '[limits]\ntrip_margin = "2"\n[isolators.I1',
        "28:15",
        '"2"',
        "= 2, without",
    ),
    "a size with a comma": ("[isolators.I1", '[wires.w]\nsize = "1,5 mm2"\n[isolators.I1', "28:8", "size", '"1.5 mm2"'),
    "a size without a unit": ("[isolators.I1", "[wires.w]\nsize = 1.5\n[isolators.I1", "28:8", "text", '"1.5 mm2"'),
    "text for a number": ("channels = 8", 'channels = "8"', "15:12", "takes a whole number", "channels = 8, without"),
    "words for a number": ("channels = 8", 'channels = "eight"', "15:12", "takes a whole number", "channels = 8"),
    "true for a number": ("channels = 8", "channels = true", "15:12", "takes a whole number, got true", "channels = 8"),
    "a number with a point": ("channels = 8", "channels = 8.5", "15:12", "takes a whole number", "channels = 8"),
    "a number with a nought behind": (
        "channels = 8",
        "channels = 8.0",
        "15:12",
        "takes a whole number",
        "channels = 8",
    ),
    "nought channels": ("channels = 8", "channels = 0", "15:12", "at least 1, got 0", "channels = 8"),
    "minus one": ("channels = 8", "channels = -1", "15:12", "at least 1, got -1", "channels = 8"),
    "more than a thousand million": ("channels = 8", "channels = 2000000000", "15:12", "to 1000000000", "channels = 8"),
    "more channels than a board has": ("channels = 8", "channels = 5000", "15:12", "5000 channels", "one board"),
    "integer overflow": ("channels = 8", "channels = 999999999999999999999", "15:12", "too many digits", "nine digits"),
    "five thousand digits": ("channels = 8", f"channels = {'9' * 5000}", "15:12", "too many digits", "nine digits"),
    "hexadecimal of any length": (
        "channels = 8",
        f"channels = 0x{'f' * 4500}",
        "15:12",
        "too many digits",
        "nine digits",
    ),
    "a long number in a list": (
        "spare = [5, 6, 7]",
        f"spare = [5, {'7' * 30}]",
        "19:13",
        "too many digits",
        "nine digits",
    ),
    "text for true": ("= true", '= "true"', "12:14", 'takes true or false, got "true"', "locomotive = true"),
    "one for true": ("= true", "= 1", "12:14", "takes true or false, got 1", "locomotive = true"),
    "a number for text": ('"Tannery sidings"', "7", "3:8", "takes text, in quotes, got 7", 'name = "7"'),
    "a date for text": ('"Tannery sidings"', "2031-12-31", "3:8", "text, in quotes, got a date", 'name = "2031-12-31"'),
    "a time for text": (
        '"Tannery sidings"',
        "07:32:00",
        "3:8",
        "text, in quotes, got a time",
        'name = "Ropewalk sidings"',
    ),
    "a list for text": ('"Tannery sidings"', '["a", "b"]', "3:8", "got a list", 'name = "Ropewalk sidings"'),
    "a table for a name": ('type = "eight"', "type = {}", "18:8", "got a table", 'type = "eight"'),
    "a command to the terminal": ('"Tannery', '"\\u001b[2JTannery', "3:8", "U+001B", "take it out"),
    "text for a list": ("[5, 6, 7]", '"5-7"', "19:9", "takes a list", "spare = [7, 8]"),
    "a number for a list": ("[5, 6, 7]", "5", "19:9", "takes a list", "spare = [5]"),
    "text in a list of numbers": ("[5, 6, 7]", '[5, "6-7"]', "19:13", "an item of spare", "spare = [7, 8]"),
    "a table for a list": (
        '[{ load = "shunter", count = 2 }]',
        '{ load = "shunter", count = 2 }',
        "10:11",
        "expects takes a list, in [ ], got a table",
        'expects = [{ load = "shunter", count = 4 }]',
    ),
    "text for a table": (
        '[{ load = "shunter", count = 2 }]',
        '["shunter"]',
        "10:12",
        "an item of expects takes a table",
        'expects = [{ load = "shunter", count = 4 }]',
    ),
    "a list for a table": (
        "[isolators.I1",
        '[trains.coal]\nvehicles = ["shunter"]\n[isolators.I1',
        "28:12",
        "vehicles takes a table, got a list",
        "vehicles = { shunter = 1 }",
    ),
    "no vehicle of a kind": (
        "[isolators.I1",
        "[trains.coal]\nvehicles = { shunter = 0 }\n[isolators.I1",
        "28:24",
        "shunter takes a whole number of at least 1",
        "write shunter = 1",
    ),
    "no vehicle of a kind of its own": (
        "[isolators.I1",
        '[loads."lit coach"]\n[trains.coal]\nvehicles = { "lit coach" = 0 }\n[isolators.I1',
        "29:28",
        "lit coach takes a whole number of at least 1",
        'write "lit coach" = 1',
    ),
    "a choice that is none": (
        '"throat"',
        '"ladder"',
        "26:8",
        'kind cannot be "ladder"',
        '"storage", "running", "throat"',
    ),
    "a choice in capitals": ('"dcc"', '"DCC"', "4:11", 'control cannot be "DCC"', 'did you mean "dcc"?'),
    "a number for a choice": ('"throat"', "3", "26:8", "kind cannot be 3", '"storage", "running", "throat"'),
    "an empty choice": ('"dcc"', '""', "4:11", "control cannot be an empty text", '"dcc", "dc"'),
    "an unknown scale": ('"dcc"', '"dcc"\nscale = "HOO"', "5:9", '"HOO" is no scale', "HO, H0, OO"),
    "a channel without a number": ('"D1.8"', '"D1"', "25:11", 'expected a channel, got "D1"', '"D1.3"'),
    "a channel with a colon": ('"D1.8"', '"D1:8"', "25:11", 'expected a channel, got "D1:8"', '"D1.3"'),
    "a channel as a number": ('"D1.8"', "1.8", "25:11", "expected a channel, got 1.8", '"D1.3"'),
    "two channels": ('"D1.8"', '["D1.7", "D1.8"]', "25:11", "expected a channel, got a list", '"D1.3"'),
    "a pole that is no number": (
        '"throat"',
        '"throat"\nisolator = "I1.left"',
        "27:12",
        "expected an isolator",
        '"I3.2"',
    ),
    "an isolator as a number": ('"throat"', '"throat"\nisolator = 3', "27:12", "expected an isolator, got 3", '"I3"'),
    "a date in quotes": (
        "[isolators.I1",
        '[[accept]]\nrule = "gap-missing"\nwhere = "S1"\nbecause = "so"\nuntil = "2031-12-31"\n[isolators.I1',
        "31:9",
        'expected a date, got "2031-12-31"',
        "without quotes: 2031-12-31",
    ),
    "a year for a date": (
        "[isolators.I1",
        '[[accept]]\nrule = "gap-missing"\nwhere = "S1"\nbecause = "so"\nuntil = 2031\n[isolators.I1',
        "31:9",
        "expected a date, got 2031",
        "2031-12-31",
    ),
    "a date with a time": (
        "[isolators.I1",
        '[[accept]]\nrule = "gap-missing"\nwhere = "S1"\nbecause = "so"\nuntil = 2031-12-31T10:00:00\n[isolators.I1',
        "31:9",
        "expected a date, got a date and time",
        "2031-12-31",
    ),
}

KEYS: dict[str, tuple[str, str, str, str, str]] = {
    "an unknown key, near": ("kind =", "kin =", "26:1", 'no key "kin" in [blocks.neck]', 'did you mean "kind"?'),
    "an unknown key": (
        'kind = "throat"',
        "zzz = 1",
        "26:1",
        'no key "zzz" in [blocks.neck]',
        "the keys here are across, channel",
    ),
    "a key of another table": (
        'kind = "throat"',
        'threshold = "1 mA"',
        "26:1",
        'no key "threshold" in [blocks.neck]',
        "threshold is a key of [board_types.NAME]",
    ),
    "a key of a range": ("isolator =", "isolater =", "22:1", "in [blocks.S1-S4]", 'did you mean "isolator"?'),
    "a key above all headers": (
        "format = 1\n",
        'format = 1\nname = "x"\n',
        "2:1",
        "above the first",
        "a key of [layout]",
    ),
    "a key in an inline table": (
        "count = 2 }",
        "count = 2, counts = 3 }",
        "10:43",
        'no key "counts" in expects of [districts.sidings]',
        'did you mean "count"?',
    ),
    "an unknown table, near": (
        "[boosters.B1]",
        "[booster.B1]",
        "5:1",
        "no table [booster]",
        'did you mean "boosters"?',
    ),
    "an unknown table": (
        "[isolators.I1",
        "[gadgets.A]\n[isolators.I1",
        "27:1",
        "no table [gadgets]",
        "the tables are [",
    ),
    "a name with a dot": (
        "[blocks.neck]",
        "[blocks.the.neck]",
        "24:1",
        'no key "neck" in [blocks.the]',
        "the keys here",
    ),
    "a needed key": ('threshold = "1.5 mA"\n', "", "14:1", "[board_types.eight] has no threshold", '= "1.5 mA"'),
    "a needed key of the layout": ('control = "dcc"\n', "", "2:1", "[layout] has no control", 'control = "dcc"'),
    "a needed key of a joint": ('gap = "detected"\n', "", "28:1", "[[joints]] has no gap", 'gap = "detected"'),
    "a needed key of a list": ('load = "shunter", ', "", "10:12", "expects of [districts.sidings]", 'load = "shunter"'),
    "no layout": (
        '[layout]\nname = "Tannery sidings"\ncontrol = "dcc"\n',
        "",
        "1:1",
        "there is no [layout] table",
        'control = "dcc" or "dc"',
    ),
    "a layout with a slip": ("[layout]", "[layuot]", "2:1", "is it [layuot]?", "write [layout]"),
    "another format": ("format = 1", "format = 2", "1:10", "format 2 is not one", "format = 1"),
    "the format as text": ("format = 1", 'format = "1"', "1:10", 'a whole number, got "1"', "format = 1"),
    "the format with a point": ("format = 1", "format = 1.0", "1:10", "a whole number, got 1.0", "format = 1"),
    "the format as true": ("format = 1", "format = true", "1:10", "a whole number, got true", "format = 1"),
    "no format": ("format = 1\n", "", "1:1", "which format it is in", "format = 1 as its first line"),
    "the format too late": ("format = 1\n[layout]\n", "[layout]\nformat = 1\n", "1:1", "which format", "first line"),
    "a table in double brackets": (
        "[blocks.neck]",
        "[[blocks.neck]]",
        "24:1",
        "[[blocks.neck]] is a single table",
        "write [blocks.neck], in single brackets",
    ),
    "the layout in double brackets": ("[layout]", "[[layout]]", "2:1", "[[layout]] is a single", "write [layout]"),
    "a list in single brackets": (
        "[[joints]]",
        "[joints]",
        "28:1",
        "joints is a list of tables",
        "a header [[joints]]",
    ),
    "text for a block": (
        "[isolators.I1",
        '[blocks]\nS9 = "D1.5"\n[isolators.I1',
        "28:6",
        "a table, got",
        "[blocks.S9]",
    ),
    "a list of blocks": ("format = 1\n", 'format = 1\nwires = ["a"]\n', "2:1", "made of named tables", "[wires.NAME]"),
    "a name with a comma": (
        "[blocks.neck]",
        '[blocks."a,b"]',
        "24:1",
        '"a,b" cannot be a name',
        "a comma, colon or dot",
    ),
    "a name with a colon": (
        "[blocks.neck]",
        '[blocks."a:b"]',
        "24:1",
        '"a:b" cannot be a name',
        "a comma, colon or dot",
    ),
    "a name with a quoted dot": (
        "[blocks.neck]",
        '[blocks."a.b"]',
        "24:1",
        "cannot be a name",
        "a comma, colon or dot",
    ),
    "an empty name": ("[blocks.neck]", '[blocks.""]', "24:1", "an empty text cannot be a name", "such as S1"),
    "a name with a blank before": ("[blocks.neck]", '[blocks." a"]', "24:1", '" a" cannot be a name', 'write "a"'),
    "a name with a line end": ("[blocks.neck]", '[blocks."a\\nb"]', "24:1", '"a\\u000ab" cannot be', "take out U+000A"),
    "a name with a NUL": ("[blocks.neck]", '[blocks."a\\u0000b"]', "24:1", '"a\\u0000b" cannot be', "take out U+0000"),
    "a name that reads the other way": (
        "[blocks.neck]",
        '[blocks."a\u202eb"]',
        "24:1",
        '"a\\u202eb" cannot be',
        "take out U+202E",
    ),
    "a name with a sign of no ink": (
        "[blocks.neck]",
        '[blocks."a\u3164b"]',
        "24:1",
        '"a\\u3164b" cannot be',
        "take out U+3164",
    ),
    "a range with a sign of no ink": (
        "[blocks.neck]",
        '[blocks."a\u200b1-3"]',
        "24:1",
        '"a\\u200b1" cannot be',
        "take out U+200B",
    ),
    "a very long name": ("[blocks.neck]", f"[blocks.{'a' * 101}]", "24:1", 'a..." cannot be', "at most 100 signs"),
    "an unknown rule, near": (
        "[isolators.I1",
        '[rules]\ngap-mising = "off"\n[isolators.I1',
        "28:1",
        '"gap-mising" is no rule',
        'did you mean "gap-missing"?',
    ),
    "an unknown level": (
        "[isolators.I1",
        '[rules]\ngap-missing = "none"\n[isolators.I1',
        "28:15",
        'gap-missing cannot be "none"',
        'did you mean "note"?',
    ),
    "an unknown rule accepted": (
        "[isolators.I1",
        '[[accept]]\nrule = "gap-mising"\nwhere = "S1"\nbecause = "so"\n[isolators.I1',
        "28:8",
        '"gap-mising" is no rule',
        'did you mean "gap-missing"?',
    ),
}


def broken(good: str, case: tuple[str, str, str, str, str]) -> str:
    """The right layout with one text changed."""
    assert good.count(case[0]) == 1, "the text to change stands there once"
    return good.replace(case[0], case[1])


def told(finding: dict[str, Any], case: tuple[str, str, str, str, str]) -> None:
    """The finding stands where the case says, and says what it says."""
    assert (f"{finding['line']}:{finding['column']}", finding["file"]) == (case[2], "yard.toml")
    assert case[3] in finding["message"]
    assert case[4] in finding["help"]


@pytest.mark.parametrize("name", VALUES)
def test_a_value_that_is_none(name: str, good: str, refused: Refused) -> None:
    findings = refused(broken(good, VALUES[name]))
    assert len(findings) == 1
    told(findings[0], VALUES[name])


@pytest.mark.parametrize("name", KEYS)
def test_a_key_or_name_that_is_none(name: str, good: str, refused: Refused) -> None:
    findings = refused(broken(good, KEYS[name]))
    told(findings[0], KEYS[name])


def test_an_example_names_a_load_that_there_is(good: str, refused: Refused) -> None:
    text = good.replace("shunter", "tank").replace("[isolators.I1", '[trains.coal]\nvehicles = ["tank"]\n[isolators.I1')
    (finding,) = refused(text)
    assert finding["help"] == "write vehicles = { tank = 1 }"
