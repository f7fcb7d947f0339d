"""Descriptions that cannot mean anything: ranges, scenarios, changeovers, boards and blocks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

import blockcheck

Refused = Callable[..., list[dict[str, Any]]]

UPPER = '[districts.upper]\nbooster = "B1"\n'

# what is wrong: what is written behind the right layout (from line 31 on), line:column, message, advice
ADDED: dict[str, tuple[str, str, str, str]] = {
    "two joints that contradict each other": (
        '[[joints]]\nblocks = ["S2", "neck"]\nends = ["near", "far"]\ngap = "both"\n',
        "34:7",
        'the near end of S2 meets the far end of neck in two ways: gap = "detected" and gap = "both"',
        "keep one of the two",
    ),
    "an interlock that says nothing": (
        '[[interlocks]]\nbecause = "relays"\n',
        "31:1",
        "an interlock says of which controls at most one has a position, or what never holds at once",
        'write controls = ["I1-I4"] and at_most_one = "closed"; or never',
    ),
    "an interlock that says two things": (
        '[[interlocks]]\ncontrols = ["I1-I2"]\nnever = { I1 = "open", I2 = "open" }\nbecause = "relays"\n',
        "31:1",
        "an interlock says of which controls at most one has a position, or what never holds at once",
        "or never",
    ),
    "an interlock without a reason": (
        '[[interlocks]]\ncontrols = ["I1-I2"]\nat_most_one = "open"\n',
        "31:1",
        "because",
        "because",
    ),
    "an interlock without a position": (
        '[[interlocks]]\ncontrols = ["I1-I2"]\nbecause = "relays"\n',
        "32:12",
        "at most one of these has which position?",
        'write at_most_one = "closed"',
    ),
    "an interlock of one": (
        '[[interlocks]]\ncontrols = ["I1"]\nat_most_one = "open"\nbecause = "relays"\n',
        "32:12",
        "an interlock is between two controls or more",
        'write controls = ["I1", "I2"]',
    ),
    "an interlock of one position": (
        '[[interlocks]]\nnever = { I1 = "open" }\nbecause = "relays"\n',
        "32:9",
        "an interlock is between two controls or more",
        "never = { I1",
    ),
    "an interlock with a position that there is not": (
        '[[interlocks]]\nnever = { I1 = "open", I2 = "west" }\nbecause = "relays"\n',
        "32:29",
        'I2 has no position "west"',
        "write one of closed, open",
    ),
    "an interlock that the usual state breaks": (
        '[[interlocks]]\ncontrols = ["I1-I3"]\nat_most_one = "closed"\nbecause = "relays drop out"\n',
        "33:15",
        "as usual, I1, I2 and I3 closed cannot be: at most one of I1-I3 is closed, because relays drop out",
        'write usually = "open" in I2 and usually = "open" in I3',
    ),
    "a scenario that an interlock keeps out": (
        '[[interlocks]]\nnever = { I1 = "open", I2 = "open" }\nbecause = "r"\n[scenarios.night]\nopen = ["I1-I2"]\n',
        "34:1",
        "in night, I1 and I2 open cannot be: never I1 and I2 open, because r",
        "open, close or set something else here",
    ),
    "a name that begins a line": (
        '[isolators.X]\nisolates = ["x\\n::error::y"]\n',
        "32:13",
        "the sign U+000A cannot stand in a name",
        "take it out",
    ),
    "a text that reads the other way": (
        '[blocks.x]\nundetected = "no \u202e need"\n',
        "32:14",
        "the sign U+202E cannot stand in a text",
        "take it out",
    ),
    "a name in a list with a sign of no ink": (
        '[isolators.X]\nisolates = ["S1\u2060"]\n',
        "32:13",
        "the sign U+2060 cannot stand in a name",
        "it is not seen",
    ),
    "a selection with a sign of no ink": (
        '[scenarios.night]\nopen = ["1-\u200d2"]\n',
        "32:9",
        "the sign U+200D cannot stand in a name",
        "it is not seen",
    ),
    "a vehicle whose name begins a line": (
        '[trains.t]\nvehicles = { "x\\n::error::y" = 1 }\n',
        "32:32",
        "the sign U+000A cannot stand in a name",
        "take it out",
    ),
    "an exception without a reason": (
        '[[accept]]\nrule = "gap-missing"\nwhere = "S1"\nbecause = ""\n',
        "34:11",
        "expected a reason in words, got an empty text",
        "say why",
    ),
    "a reason without words": ('[blocks.x]\nundetected = " - "\n', "32:14", 'in words, got "-"', "say why"),
    "a block that no isolator is for": (
        '[scenarios.night]\nopen = ["neck"]\n',
        "32:9",
        "neck has no isolator",
        "isolated",
    ),
    "a selection of nothing": (
        '[scenarios.night]\nopen = ["S9"]\n',
        "32:9",
        '"S9" is no block',
        "there are S1, S2, S3",
    ),
    "a selection as text": ('[scenarios.night]\nopen = "S9"\n', "32:8", '"S9" is no block', "there are S1, S2, S3"),
    "an empty selection": ('[scenarios.night]\nopen = [""]\n', "32:9", "the selection is empty", "such as 3-7"),
    "a number as a selection": (
        "[scenarios.night]\nopen = [3]\n",
        "32:9",
        "an item of open takes text",
        '["lower:3-7"]',
    ),
    "a track that is none": (
        '[scenarios.night]\nopen = ["3-6"]\n',
        "32:9",
        "there is no track 5",
        "tracks are 1, 2, 3, 4",
    ),
    "a group that is none": ('[scenarios.night]\nopen = ["up:3"]\n', "32:9", 'no group "up"', 'group = "..."'),
    "a descending selection": ('[scenarios.night]\nopen = ["4-2"]\n', "32:9", '"4-2" runs backwards', 'write "2-4"'),
    "an ambiguous selection": (
        '[blocks.R1]\nchannel = "D1.5"\n[scenarios.night]\nopen = ["1"]\n',
        "34:9",
        "track 1 is ambiguous",
        "it may be R1 (the block) or S1 (the block)",
    ),
    "an expectation of nothing": (
        '[scenarios.night]\nexpect = { dead = ["S1", "Q1"] }\n',
        "32:26",
        '"Q1" is no block',
        "there are S1, S2",
    ),
    "an expectation that is none": (
        '[scenarios.night]\nexpect = { dark = ["S1"] }\n',
        "32:12",
        'no key "dark" in expect of [scenarios.night]',
        "clear, dead, lit, occupied",
    ),
    "open and closed at once": (
        '[scenarios.night]\nopen = ["S1"]\nclosed = ["S1-S2"]\n',
        "33:11",
        "I1 is both open and closed",
        "take it out of one of the two",
    ),
    "set in two ways": (
        '[scenarios.night]\nopen = ["I1"]\nset = { I1 = "closed" }\n',
        "33:14",
        "I1 is set in two ways",
        "keep one of the two",
    ),
    "a position that is none": (
        '[scenarios.night]\nset = { I1 = "sideways" }\n',
        "32:14",
        'I1 has no position "sideways"',
        "one of closed, open",
    ),
    "a position of a turnout that is none": (
        '[turnouts.T1]\nblock = "neck"\n[scenarios.night]\nset = { T1 = "left" }\n',
        "34:14",
        'T1 has no position "left"',
        "one of through, diverging",
    ),
    "a state that is none": (
        '[scenarios.night]\nstates = { coal = "asleep" }\n',
        "32:19",
        'coal cannot be "asleep"',
        '"idle", "running", "stalled"',
    ),
    "a changeover without districts": (
        '[isolators.X1]\ncontact = "changeover"\n',
        "31:1",
        "X1 is a changeover between two districts",
        'between = ["A", "B"]',
    ),
    "a changeover of three": (
        '[isolators.X1]\ncontact = "changeover"\nbetween = ["sidings", "a", "b"]\n',
        "33:11",
        "X1 is a changeover between two districts",
        'between = ["A", "B"]',
    ),
    "a changeover of one district twice": (
        '[isolators.X1]\ncontact = "changeover"\nbetween = ["sidings", "sidings"]\n',
        "33:11",
        "X1 is a changeover between two districts",
        'between = ["A", "B"]',
    ),
    "a switch between districts": (
        '[isolators.X1]\nbetween = ["sidings", "upper"]\n',
        "32:11",
        "X1 is no changeover",
        'contact = "changeover"',
    ),
    "a switch that is usually elsewhere": (
        '[isolators.X1]\nusually = "sidings"\n',
        "32:11",
        'X1 cannot usually be "sidings"',
        '"closed" or "open"',
    ),
    "an isolator and a turnout": (
        '[turnouts.I1]\nblock = "neck"\n',
        "31:1",
        "I1 is both an isolator and a turnout",
        "another name",
    ),
    "no banks for two districts": (
        UPPER,
        "17:1",
        "board D1 does not say which districts feed its banks; there are 2",
        'banks = [...], each one of "sidings" or "upper"',
    ),
    "a joint of one": (
        '[[joints]]\nblocks = ["S1"]\ngap = "both"\n',
        "32:10",
        "joins two blocks",
        'blocks = ["A", "B"]',
    ),
    "a joint of three": (
        '[[joints]]\nblocks = ["S1", "S2", "S3"]\ngap = "both"\n',
        "32:10",
        "a joint joins two blocks",
        'blocks = ["A", "B"]',
    ),
    "a joint of numbers": (
        '[[joints]]\nblocks = [1, "S2"]\ngap = "both"\n',
        "32:11",
        "an item of blocks takes text, in quotes, got 1",
        'blocks = ["neck", "R1-R6"]',
    ),
    "a joint with one end": (
        '[[joints]]\nblocks = ["S1", "S2"]\ngap = "both"\nends = ["far"]\n',
        "34:8",
        "a joint has two ends",
        'ends = ["far", "near"]',
    ),
    "a joint with other ends": (
        '[[joints]]\nblocks = ["S1", "S2"]\ngap = "both"\nends = ["far", "east"]\n',
        "34:16",
        'an item of ends cannot be "east"',
        '"near", "far"',
    ),
    "a range that runs backwards in an exception": (
        '[[accept]]\nrule = "gap-missing"\nwhere = "S4-S1"\nbecause = "so"\n',
        "33:9",
        '"S4-S1" runs backwards',
        'write "S1-S4"',
    ),
    "a range that runs backwards in what is isolated": (
        '[isolators.I9]\nisolates = ["S4-S1"]\n',
        "32:13",
        '"S4-S1" runs backwards',
        'write "S1-S4"',
    ),
    "a train of a thousand million": (
        "[trains.coal]\nvehicles = { shunter = 1000000000 }\n",
        "32:12",
        "coal has more than 1000 vehicles",
        "vehicles = { shunter = 1 }",
    ),
    "a run of one end": (
        '[runs.P1]\nwire = "0.5 mm2"\nlength = "2 m"\nends = "panel"\n',
        "34:8",
        "P1 has two ends",
        'ends = ["panel", "machine 1"]',
    ),
    "a run whose ends do not go with its range": (
        '[runs.P1-P3]\nwire = "0.5 mm2"\nlength = "2 m"\nends = ["panel", "W1-W4"]\n',
        "34:18",
        '"W1-W4" is 4 names, but [runs.P1-P3] is 3',
        "the same length",
    ),
    "a run without a wire": ('[runs.P1]\nlength = "2 m"\n', "31:1", "[runs.P1] has no wire", 'wire = "0.5 mm2"'),
    "a run of no length to speak of": (
        '[runs.P1]\nwire = "0.5 mm2"\nlength = "0.1 mm"\n',
        "33:10",
        "P1 is shorter than 1 mm",
        '"4 m"',
    ),
    "a run in segments of nothing": (
        '[runs.P1]\nwire = "0.5 mm2"\nlength = "2 m"\nsegment = "0.1 mm"\n',
        "34:11",
        "P1 has segments of nothing",
        '"1.2 m"',
    ),
    "a run of no wires": (
        '[runs.P1]\nwire = "0.5 mm2"\nlength = "2 m"\ncount = 0\n',
        "34:9",
        "count takes a whole number of at least 1, got 0",
        "count = 2",
    ),
    "a run of a thousand million wires": (
        '[runs.P1]\nwire = "0.5 mm2"\nlength = "2 m"\ncount = 1000000000\n',
        "34:9",
        "P1 is more than 10000 pieces of wire",
        "count = 2",
    ),
    "a run that is no size": ('[runs.P1]\nwire = "2 m"\nlength = "2 m"\n', "32:8", "a conductor size", '"1.5 mm2"'),
    "a conductor that is no size": ('[harnesses.h]\nbus = "2 m"\n', "32:7", "a conductor size", '"1.5 mm2"'),
}

CHANGED: dict[str, tuple[str, str, str, str, str]] = {
    "too many banks": (
        'type = "eight"',
        'type = "eight"\nbanks = ["sidings", "sidings"]',
        "19:9",
        "board D1 has 1 bank, and banks names 2 districts",
        "one district a bank",
    ),
    "a channel and no channel": (
        'kind = "throat"',
        'undetected = "hand laid"',
        "26:1",
        "neck has a channel and a reason for having none",
        "keep channel or undetected",
    ),
    "a drop beyond the end": (
        'kind = "throat"',
        'length = "2 m"\nfeeders_at = ["1 m", "2.5 m"]',
        "27:22",
        "a drop of neck lies beyond its end",
        "at most 2 m",
    ),
    "no drop at all": ('kind = "throat"', "feeders_at = []", "26:14", "neck has no drop", '["0.5 m", "4 m"]'),
    "a thousand million drops": ('kind = "throat"', "feeders = 1000000000", "26:11", "the most here is 1000", "= 3"),
    "a block of no length to speak of": (
        'kind = "throat"',
        'length = "1e-6 m"',
        "26:10",
        "shorter than 1 mm",
        '"9.0 m"',
    ),
    "a drop every nanometre": (
        'kind = "throat"',
        'length = "2 m"\nharness = "h"\n[harnesses.h]\nfeeder_spacing = "1e-6 m"',
        "29:18",
        "this gives neck more than 1000 drops",
        '"2 m"',
    ),
    "a joint every nanometre": (
        'kind = "throat"',
        'length = "2 m"\nharness = "h"\n[harnesses.h]\nsegment = "1e-6 m"',
        "29:11",
        "the bus of neck more than 1000000 joints",
        '"1.2 m"',
    ),
    "a count and a list of drops": (
        'kind = "throat"',
        'feeders = 2\nfeeders_at = ["1 m"]',
        "26:1",
        "neck has both feeders and feeders_at",
        "keep one of the two",
    ),
}

RANGES: dict[str, tuple[str, str, str, str, str]] = {
    "a range of another length": (
        "D1.1-4",
        "D1.1-5",
        "21:11",
        "is 5 names, but [blocks.S1-S4] is 4",
        "the same length",
    ),
    "two ranges in one key": (
        "D1.1-4",
        "D1.1-2, D2.1-2",
        "21:11",
        '"D1.1-2, D2.1-2" is not one range',
        'write a header [blocks.NAME1-NAME2] for each of "D1.1-2" and "D2.1-2": a key takes one range',
    ),
    "isolators of another length": (
        '"I1-I4"',
        '"I1-I3"',
        "22:12",
        "is 3 names, but [blocks.S1-S4] is 4",
        "same length",
    ),
    "tracks of another length": (
        'length = "1.8 m"',
        'track = "1-3"',
        "23:9",
        '"1-3" is 3 names, but [blocks.S1-S4] is 4',
        "the same length",
    ),
    "joints of another length": (
        '"neck", "S1-S4"',
        '"S1-S3", "S1-S4"',
        "29:10",
        '"S1-S3" is 3 names and "S1-S4" is 4',
        "the same count",
    ),
    "a descending range": ("[blocks.S1-S4]", "[blocks.S4-S1]", "20:1", '"S4-S1" runs backwards', 'write "S1-S4"'),
    "a descending range in a value": ('"I1-I4"', '"I4-I1"', "22:12", '"I4-I1" runs backwards', 'write "I1-I4"'),
    "a descending range in a joint": ('"S1-S4"]', '"S4-S1"]', "29:19", '"S4-S1" runs backwards', 'write "S1-S4"'),
    "4,097 names": (
        "[blocks.S1-S4]",
        "[blocks.S1-S4097]",
        "20:1",
        "makes 4097 names; the most is 4096",
        "smaller ranges",
    ),
    "numbers of eleven digits": (
        "[blocks.S1-S4]",
        "[blocks.S1-S99999999999]",
        "20:1",
        "nine digits",
        "smaller numbers",
    ),
    "a range of channels for one block": ('"D1.8"', '"D1.5-8"', "25:11", 'got "D1.5-8"', "a header that is a range"),
    "a range of boosters for one": (
        'booster = "B1"',
        'booster = "B1-B2"',
        "9:11",
        '"B1-B2" is a range',
        'such as "B1"',
    ),
    "a range of types for one": (
        'type = "eight"',
        'type = "T1-2"',
        "18:8",
        "one board type is wanted here",
        'such as "T1"',
    ),
    "a range of isolators for one": (
        'kind = "throat"',
        'isolator = "I1-I2"',
        "26:12",
        "one isolator is wanted here",
        'such as "I1"',
    ),
    "a range of tracks for one": ('kind = "throat"', 'track = "1-2"', "26:9", 'got "1-2"', "a header that is a range"),
    "a range for the layout": ("[layout]", "[layout-2]", "2:1", "is it [layout-2]?", "write [layout]"),
}


@pytest.mark.parametrize("name", ADDED)
def test_what_cannot_mean_anything(name: str, good: str, refused: Refused) -> None:
    text, at, message, advice = ADDED[name]
    findings = refused(good + text)
    assert len(findings) == 1
    assert f"{findings[0]['line']}:{findings[0]['column']}" == at
    assert message in findings[0]["message"]
    assert advice in findings[0]["help"]


@pytest.mark.parametrize("name", [*CHANGED, *RANGES])
def test_what_contradicts_itself(name: str, good: str, refused: Refused) -> None:
    before, after, at, message, advice = {**CHANGED, **RANGES}[name]
    assert good.count(before) == 1, "the text to change stands there once"
    findings = refused(good.replace(before, after))
    assert len(findings) == 1
    assert f"{findings[0]['line']}:{findings[0]['column']}" == at
    assert message in findings[0]["message"]
    assert advice in findings[0]["help"]


def test_a_block_whose_district_nothing_tells(good: str, refused: Refused) -> None:
    text = (
        good.replace('type = "eight"', 'type = "eight"\nbanks = "sidings"')
        + UPPER
        + '[blocks.x]\nundetected = "short"\n'
    )
    (finding,) = refused(text)
    assert (finding["line"], finding["column"]) == (34, 1)
    assert finding["help"] == 'write district = "...", one of "sidings" or "upper"'


def test_an_unknown_position_of_a_changeover(good: str, refused: Refused) -> None:
    text = good.replace('type = "eight"', 'type = "eight"\nbanks = "sidings"') + UPPER
    text += '[isolators.X1]\ncontact = "changeover"\nbetween = ["sidings", "upper"]\nusually = "closed"\n'
    (finding,) = refused(text)
    assert (finding["line"], finding["column"]) == (37, 11)
    assert (finding["message"], finding["help"]) == ('X1 has no position "closed"', "write one of sidings, upper, off")


def test_a_changeover_that_cannot_be_opened(good: str, refused: Refused) -> None:
    text = good.replace('type = "eight"', 'type = "eight"\nbanks = "sidings"') + UPPER
    text += '[isolators.X1]\ncontact = "changeover"\nbetween = ["sidings", "upper"]\ncentre_off = false\n'
    (finding,) = refused(text + '[scenarios.night]\nopen = ["X1"]\n')
    assert (finding["line"], finding["column"]) == (39, 9)
    assert "centre_off = true" in finding["help"]


def test_a_district_called_like_a_position(good: str, refused: Refused) -> None:
    text = good.replace('type = "eight"', 'type = "eight"\nbanks = "sidings"') + UPPER.replace("upper", "off")
    (finding,) = refused(text + '[isolators.X1]\ncontact = "changeover"\nbetween = ["sidings", "off"]\n')
    assert (finding["line"], finding["column"]) == (36, 11)
    assert finding["help"] == "give the district another name"


def test_two_ranges_that_set_one_key_name_both_places(good: str, refused: Refused) -> None:
    (finding,) = refused(good + '[blocks.S3-S6]\nlength = "2 m"\n')
    assert (finding["line"], finding["column"], finding["message"]) == (32, 1, "two ranges set length of S3 and S4")
    assert finding["help"] == "take S3 and S4 out of one range, or length"
    (other,) = finding["related"]
    assert (other["line"], other["column"], other["message"]) == (23, 1, "[blocks.S1-S4] sets it here")


def test_two_ranges_that_set_all_keys_of_several_names_are_one_finding(good: str, refused: Refused) -> None:
    again = '[blocks.S1-4]\nlength = "2 m"\nkind = "storage"\n'
    text = good.replace('length = "1.8 m"', 'length = "1.8 m"\nkind = "storage"')
    (finding,) = refused(text + again)
    assert finding["message"] == "two ranges set length and kind of S1-S4"
    assert finding["help"] == "take S1-S4 out of one range; where other blocks are meant, give those other names"


def test_one_cause_in_a_range_is_told_once(good: str, refused: Refused) -> None:
    (finding,) = refused(good.replace('length = "1.8 m"', 'length = "1,8 m"'))
    assert finding["line"] == 23


def test_all_faults_of_a_stage_are_told_in_the_order_of_the_text(good: str, refused: Refused) -> None:
    text = good.replace('"14 V"', "14").replace('kind = "throat"', "kin = 1").replace('gap = "detected"', 'gap = "all"')
    assert [(one["line"], one["column"]) for one in refused(text)] == [(6, 11), (26, 1), (30, 7)]


def test_faults_beyond_two_hundred_are_not_told(good: str, refused: Refused) -> None:
    findings = refused(good + "".join(f"[loads.x{number}]\nidle = 1\n" for number in range(300)))
    assert len(findings) == 201
    assert findings[-1]["message"] == "there are more faults from here on"


def test_two_joints_that_agree_or_lie_at_other_ends_are_right(good: str) -> None:
    again = '[[joints]]\nblocks = ["S2", "neck"]\nends = ["near", "far"]\ngap = "detected"\n'
    other = '[[joints]]\nblocks = ["S2", "neck"]\nends = ["far", "far"]\ngap = "both"\n'
    blockcheck.loads(good + again + other, "yard.toml")
