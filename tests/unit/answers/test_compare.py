"""What a change does, one kind of change a test, written in the layout language."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from blockcheck import api
from blockcheck.answers.difference.compare import CompareAnswer
from blockcheck.cli.layouts import load_two
from blockcheck.core.errors import InputError
from blockcheck.formats.html import document_html
from blockcheck.formats.markdown import document_markdown
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text

YARD = """
format = 1
[layout]
name = "Hazel Dock"
control = "dcc"
[boosters.B1]
voltage = "15 V"
current = "3 A"
trip = "4 A"
[boosters.B2]
voltage = "15 V"
current = "3 A"
[districts.dock]
booster = "B1"
feed = { wire = "2.5 mm2", length = "4 m" }
[districts.hill]
booster = "B2"
[board_types.eight]
channels = 8
bank_size = 4
threshold = "1 mA"
[boards.D1]
type = "eight"
banks = ["dock", "hill"]
first_address = 101
[blocks.S1-S3]
channel = "D1.1-3"
isolator = "I1-I3"
length = "4 m"
harness = "dock"
[blocks.neck]
channel = "D1.4"
kind = "throat"
length = "2 m"
harness = "dock"
[isolators.I1-I3]
[[joints]]
blocks = ["neck", "S1-S3"]
gap = "detected"
[harnesses.dock]
bus = "1.5 mm2"
common = "2.5 mm2"
lead = "2 m"
feeder = "0.5 mm2"
feeder_length = "0.2 m"
feeder_spacing = "2 m"
rail = "code83"
"""
FRESH = '\n[blocks.S4]\nchannel = "D1.5"\nlength = "3 m"\n'


def compared(old: str, new: str) -> CompareAnswer:
    return api.compare(api.loads(old, "old.toml"), api.loads(new, "new.toml"), date(2030, 1, 1))


def changed(*replacements: tuple[str, str], base: str = YARD) -> CompareAnswer:
    """The yard against the yard with something replaced."""
    text = base
    for before, after in replacements:
        assert before in text, before
        text = text.replace(before, after)
    return compared(base, text)


def told(answer: CompareAnswer) -> list[tuple[str, str, str, str | None, str | None, str | None]]:
    return [(one.kind, one.subject, one.what, one.key, one.before, one.after) for one in answer.changes if one.wiring]


def does(answer: CompareAnswer, task: str) -> list[str]:
    return [one.does for one in answer.steps if one.task == task]


def readings(answer: CompareAnswer, kind: str) -> dict[str, str]:
    return {one.subject: one.expect for one in answer.tests if one.kind == kind}


def prints(answer: CompareAnswer, wanted: bool = True) -> list[str]:
    return [one.text for one in answer.labels if one.print is wanted]


def test_nothing_changes() -> None:
    answer = compared(YARD, YARD)
    assert not answer.wiring_differs
    assert (answer.changes, answer.steps, answer.labels, answer.tests, answer.values) == ((), (), (), (), ())
    assert all(one.same for one in answer.budgets)
    assert answer.summary == "No change to the wiring, and none to anything else that the layout says."


@pytest.mark.parametrize(
    "replacements",
    [
        (("format = 1\n", "format = 1 # said\n"),),
        (("[boosters.B1]", "# the large one\n[boosters.B1]"),),
        (('feeder_spacing = "2 m"', 'feeder_spacing = "200 cm"'),),
        (('booster = "B1"\n', 'booster = "B1"\ncurrent = "3 A"\n'),),
        (
            ('bus = "1.5 mm2"', 'bus = "red"'),
            ("[harnesses.dock]", '[wires.red]\nsize = "1.5 mm2"\n[harnesses.dock]'),
        ),
        ((("[isolators.I1-I3]", '[isolators.I1-I3]\nusually = "closed"\nisolates = ["S1-S3"]')),),
        ((('type = "eight"', 'type = "plain"')), (("[board_types.eight]", "[board_types.plain]"))),
    ],
    ids=["comment", "more comments", "unit", "default", "named wire", "intent", "type's name"],
)
def test_what_is_written_otherwise_is_no_change(replacements: tuple[tuple[str, str], ...]) -> None:
    answer = changed(*replacements)
    assert told(answer) == []
    assert answer.steps == ()
    assert not answer.wiring_differs


def test_order_and_joints_named_the_other_way_round_are_no_change() -> None:
    tables = ("\n" + YARD.strip()).split("\n[")
    turned = "\n[".join([tables[0], *reversed(tables[1:])])
    turned = turned.replace('["neck", "S1-S3"]', '["S1-S3", "neck"]').replace(
        'gap = "detected"', 'gap = "detected"\nends = ["near", "far"]'
    )
    assert compared(YARD, turned).changes == ()


def test_ranges_written_out_and_split_into_files_are_no_change(tmp_path: Path) -> None:
    folder = tmp_path
    head, _, tail = YARD.partition("[blocks.S1-S3]")
    plain = "".join(
        f'[blocks.S{n}]\nchannel = "D1.{n}"\nisolator = "I{n}"\nlength = "4 m"\nharness = "dock"\n[isolators.I{n}]\n'
        f'[[joints]]\nblocks = ["neck", "S{n}"]\ngap = "detected"\n'
        for n in (1, 2, 3)
    )
    rest = tail[tail.index("[blocks.neck]") : tail.index("[isolators.")] + tail[tail.index("[harnesses.") :]
    (folder / "track.toml").write_text(plain + rest, "utf-8")
    (folder / "yard.toml").write_text(head.replace("format = 1", 'format = 1\ninclude = ["track.toml"]'), "utf-8")
    answer = api.compare(api.loads(YARD, "old.toml"), api.load(folder / "yard.toml"))
    assert answer.changes == ()


def test_a_block_is_added() -> None:
    answer = compared(YARD, YARD + FRESH)
    assert told(answer) == [("block", "S4", "added", None, None, "channel D1.5, district hill, length 3 m")]
    assert does(answer, "lay") == ["lay S4, 3 m"]
    assert does(answer, "run") == [
        "add the feed of D1 bank 2: hill:feed > D1:feed2",
        "add the common of S4: hill:return > S4:common",
    ]
    assert does(answer, "add") == ["add the bus of S4: D1:5 > S4:detected"]
    assert does(answer, "number") == ["S4 reports as 105"]
    assert readings(answer, "block") == {"S4": "D1.5, which reports as 105"}
    assert readings(answer, "short").keys() == {"hill"}


def test_a_block_is_gone() -> None:
    answer = compared(YARD + FRESH, YARD)
    assert [one[:3] for one in told(answer)] == [("block", "S4", "gone")]
    assert does(answer, "remove") == [
        "remove the feed of D1 bank 2: hill:feed > D1:feed2",
        "remove the common of S4: hill:return > S4:common",
        "remove the bus of S4: D1:5 > S4:detected",
    ]
    assert does(answer, "take away") == ["lift S4, 3 m"]
    assert readings(answer, "channel") == {"D1.5": "stays clear; S4 was on it"}
    assert {"D1:5 > S4:detected", "S4:detected > D1:5", "S4:common > hill:return", "hill:return > S4:common"} < set(
        prints(answer, False)
    )


def test_a_block_moves_to_another_channel_and_district() -> None:
    answer = changed(("[blocks.neck]", '[blocks.S3]\nchannel = "D1.7"\n[blocks.neck]'))
    assert told(answer) == [
        ("block", "S3", "changed", "channel", "D1.3", "D1.7"),
        ("block", "S3", "changed", "district", "dock", "hill"),
    ]
    assert "bus of S3: move its end from D1:3 to D1:7: D1:7 > I3 > S3:end (was D1:3 > I3 > S3:end)" in does(
        answer, "move"
    )
    assert "move the common drops of S3 from dock:bus to dock.hill:bus" in does(answer, "move")
    assert does(answer, "number") == ["S3 reports as 107, was 103"]
    assert "D1:7 > I3:in" in prints(answer)
    assert prints(answer, False)[:2] == ["D1:3 > I3:in", "I3:in > D1:3"]
    assert "dock:return > dock:end" not in prints(answer)  # the bus that serves most keeps its name
    assert {"hill:return > dock.hill:end", "S3:drop1c > dock.hill:bus"} < set(prints(answer))
    assert "isolator" in {one.kind for one in answer.tests}
    assert readings(answer, "channel") == {"D1.3": "stays clear; S3 was on it"}


def test_isolators_are_added_to_a_yard_that_had_none() -> None:
    answer = compared(YARD.replace('isolator = "I1-I3"\n', "").replace("[isolators.I1-I3]\n", ""), YARD)
    assert does(answer, "mount") == [f"mount switch I{n} (on-off, 1 pole)" for n in (1, 2, 3)]
    assert does(answer, "move") == [
        f"bus of S{n}: cut it and bring both ends to I{n}: D1:{n} > I{n} > S{n}:end (was D1:{n} > S{n}:end)"
        for n in (1, 2, 3)
    ]
    assert {"D1:1 > I1:in", "I1:in > D1:1", "I1:out > S1:end", "S1:end > I1:out"} < set(prints(answer))
    assert "I1: S1" in prints(answer)
    assert prints(answer, False) == [text for n in (1, 2, 3) for text in (f"D1:{n} > S{n}:end", f"S{n}:end > D1:{n}")]
    assert readings(answer, "isolator")["I2"] == "S2 goes dead and reads clear, then back"
    assert "neck" not in readings(answer, "block")


def test_isolators_are_taken_out() -> None:
    answer = compared(YARD, YARD.replace('isolator = "I1-I3"\n', "").replace("[isolators.I1-I3]\n", ""))
    assert "bus of S2: take both ends off I2 and join them: D1:2 > S2:end (was D1:2 > I2 > S2:end)" in does(
        answer, "move"
    )
    assert "take switch I2 off the panel" in does(answer, "take away")


def test_a_block_moves_to_another_isolator() -> None:
    answer = changed(('isolator = "I1-I3"', 'isolator = "I2-I4"'), ("[isolators.I1-I3]", "[isolators.I1-I4]"))
    assert (
        does(answer, "move")[0] == "bus of S1: move the ends at I1 to I2: D1:1 > I2 > S1:end (was D1:1 > I1 > S1:end)"
    )


def test_an_isolator_moves_to_the_common_rail() -> None:
    answer = changed(("[isolators.I1-I3]", '[isolators.I1-I3]\nside = "common-rail"'))
    assert (
        does(answer, "move")[0]
        == "bus of S1: take both ends off I1 and join them: D1:1 > S1:end (was D1:1 > I1 > S1:end)"
    )
    assert "add the common of S1: dock:return > I1 > S1.com:end (2.5 mm2, 6 m)" in does(answer, "run")
    assert "move the common drops of S1 from dock:bus to S1.com:bus" in does(answer, "move")


def test_an_isolator_moves_before_the_bank() -> None:
    answer = changed(
        ('isolator = "I1-I3"', 'isolator = "I1"'), ("[isolators.I1-I3]", '[isolators.I1]\nside = "before-detector"')
    )
    assert (
        "feed of D1 bank 1: cut it and bring both ends to I1: dock:feed > I1 > D1:feed1 (was dock:feed > D1:feed1)"
        in does(answer, "move")
    )
    assert set(readings(answer, "block")) == {"S1", "S2", "S3", "neck"}


def test_a_hold_resistor_is_fitted_and_exchanged() -> None:
    answer = changed(("[isolators.I1-I3]", '[isolators.I1-I3]\nhold = "10 kohm"\ndetection = "held"'))
    assert does(answer, "add")[0] == "fit a hold resistor of 10 kohm across I1:in and I1:out"
    assert readings(answer, "isolator")["I1"] == "S1 goes dead and still reads, then back"
    held = YARD.replace("[isolators.I1-I3]", '[isolators.I1-I3]\nhold = "10 kohm"')
    again = changed(("10 kohm", "22 kohm"), base=held)
    assert does(again, "replace")[0] == "exchange the hold resistor across I1:in and I1:out: 22 kohm (was 10 kohm)"


def test_a_bank_is_fed_from_another_district() -> None:
    answer = changed(('banks = ["dock", "hill"]', 'banks = ["hill", "hill"]'))
    assert does(answer, "move")[0] == (
        "feed of D1 bank 1: move its end from dock:feed to hill:feed: hill:feed > D1:feed1 (was dock:feed > D1:feed1)"
    )
    assert ("block", "S1", "changed", "district", "dock", "hill") in told(answer)
    assert readings(answer, "short").keys() == {"hill"}


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("detected", "both", "cut the common rail where the far end of neck meets the near end of S1"),
        (
            "detected",
            "common",
            "cut the common rail and bridge the detected rail where the far end of neck meets the near end of S1",
        ),
        ("both", "detected", "bridge the common rail where the far end of neck meets the near end of S1"),
        ("both", "none", "bridge the detected and common rails where the far end of neck meets the near end of S1"),
    ],
)
def test_a_gap_changes(old: str, new: str, expected: str) -> None:
    base = YARD.replace('gap = "detected"', f'gap = "{old}"')
    answer = changed((f'gap = "{old}"', f'gap = "{new}"'), base=base)
    assert does(answer, "gap")[0] == expected
    assert ("joint", "neck (far) / S1 (near)", "changed", "gap", old, new) in told(answer)
    assert "neck (far end) / S1 (near end)" in readings(answer, "gap")


def test_joints_come_and_go() -> None:
    more = YARD + '\n[[joints]]\nblocks = ["S1", "S2"]\ngap = "both"\n'
    assert does(compared(YARD, more), "gap") == [
        "cut the detected and common rails where the far end of S1 meets the near end of S2"
    ]
    assert does(compared(more, YARD), "gap") == [
        "part both rails where the far end of S1 meets the near end of S2: they no longer meet"
    ]


def test_wires_become_thicker_and_longer() -> None:
    answer = changed(('common = "2.5 mm2"', 'common = "4 mm2"'), ('lead = "2 m"', 'lead = "3 m"'))
    assert does(answer, "replace")[0] == (
        "common bus of dock: dock:return > dock:end; make it anew of 4 mm2, 7 m, was 2.5 mm2"
    )
    assert "bus of S1: D1:1 > I1 > S1:end; lengthen it to 7 m, was 6 m" in does(answer, "replace")
    assert ("harness", "dock", "changed", "lead", "2 m", "3 m") in told(answer)
    assert prints(answer) == []


def test_drops_are_added_and_moved() -> None:
    answer = changed(('feeder_spacing = "2 m"', 'feeder_spacing = "1 m"'))
    assert "place the drops of neck anew, 2 to each rail: 50 cm and 1.5 m from its near end (were at 1 m)" in does(
        answer, "move"
    )
    one = YARD.replace("[blocks.neck]", '[blocks.S1]\nfeeders_at = ["1 m"]\n[blocks.neck]')
    answer = changed(('feeders_at = ["1 m"]', 'feeders_at = ["1 m", "3.5 m"]'), base=one)
    assert does(answer, "move") == ["add a drop to each rail of S1 at 3.5 m from its near end"]


def test_the_feed_of_a_district_changes() -> None:
    answer = changed(('wire = "2.5 mm2", length = "4 m"', 'wire = "4 mm2", length = "5 m"'))
    assert does(answer, "replace") == [
        "feed pair of dock: B1 > dock; make it anew of 4 mm2, 5 m, both conductors, was 2.5 mm2"
    ]
    assert ("district", "dock", "changed", "feed", "wire 2.5 mm2, length 4 m", "wire 4 mm2, length 5 m") in told(answer)


def test_a_district_moves_to_another_booster() -> None:
    answer = changed(('[districts.dock]\nbooster = "B1"', '[districts.dock]\nbooster = "B2"'))
    assert does(answer, "move") == ["feed pair of dock: move its end from B1 to B2: B2 > dock (was B1 > dock)"]
    assert set(readings(answer, "short")) == {"dock"}


def test_a_breaker_is_set_otherwise() -> None:
    answer = changed(('trip = "4 A"', 'trip = "5 A"'))
    assert does(answer, "set") == ["booster B1: trip 5 A (was 4 A)", "breaker of dock: trip 5 A (was 4 A)"]
    assert "dock" in readings(answer, "short")


def test_a_district_gets_a_breaker_of_its_own_and_loses_it() -> None:
    own = YARD.replace('booster = "B1"\n', 'booster = "B1"\ntrip = "2 A"\nbreaker = "electronic"\n')
    answer = compared(YARD, own)
    assert ("district", "dock", "changed", "breaker", None, "electronic") in told(answer)
    assert does(answer, "mount") == ["fit the breaker of dock that trips at 2 A: electronic"]
    assert does(answer, "move") == [
        "feed pair of dock: cut it and bring both ends to dock.breaker: B1 > dock.breaker > dock (was B1 > dock)"
    ]
    assert {"B1:feed > dock.breaker:in", "dock.breaker:out > dock:feed"} < set(prints(answer))
    assert "dock" in readings(answer, "short")
    assert does(compared(own, YARD), "take away") == ["take out the breaker of dock"]
    other = compared(own, own.replace("electronic", "a thermal one"))
    assert does(other, "replace") == ["breaker of dock: a thermal one (was electronic)"]
    assert does(compared(own, own.replace("2 A", "3 A")), "set") == ["breaker of dock: trip 3 A (was 2 A)"]


def test_a_board_is_another() -> None:
    answer = changed(('threshold = "1 mA"', 'threshold = "2 mA"'))
    assert does(answer, "replace") == ["board D1 is another: threshold 2 mA (was 1 mA)"]
    assert set(readings(answer, "block")) == {"S1", "S2", "S3", "neck"}


def test_addresses_move() -> None:
    answer = changed(("first_address = 101", "first_address = 201"))
    assert not answer.wiring_differs
    assert does(answer, "number")[0] == "S1 reports as 201, was 101"


def test_a_frog_is_wired() -> None:
    turnout = '\n[turnouts.T1]\nblock = "neck"\nthrough = "S1"\ndiverging = "S2"\n'
    answer = compared(YARD + turnout, YARD + turnout + 'frog = "switched"\nfrog_gaps = true\n')
    assert does(answer, "add") == [
        "wire the frog of T1: T1:through to neck:bus, T1:diverging to dock:bus, T1:out to the frog"
    ]
    assert readings(answer, "frog") == {"T1": "no breaker cuts out"}


def test_a_block_is_perhaps_renamed() -> None:
    renamed = YARD.replace("S1-S3", "R1-R3")
    answer = compared(YARD, renamed)
    assert [(one.subject, one.before) for one in answer.changes if one.what == "renamed"] == [
        ("R1", "S1"),
        ("R2", "S2"),
        ("R3", "S3"),
    ]
    assert told(answer) == []
    assert answer.steps == ()
    assert "I1:out > R1:end" in prints(answer)
    assert "I1:out > S1:end" in prints(answer, False)
    assert answer.summary.startswith("No change to the wiring; labels change. Perhaps renamed: 3 blocks.")


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ('channel = "D1.1-3"', 'channel = "D1.5-7"'),
        ('gap = "detected"', 'gap = "both"'),
        ('isolator = "I1-I3"\n', ""),
    ],
    ids=["channel", "joints", "isolator"],
)
def test_a_rename_is_not_guessed_where_something_does_not_agree(before: str, after: str) -> None:
    answer = compared(YARD, YARD.replace("S1-S3", "R1-R3").replace(before, after))
    assert not any(one.what == "renamed" and one.kind == "block" for one in answer.changes)
    assert {one.subject for one in answer.changes if one.kind == "block" and one.what == "gone"} == {"S1", "S2", "S3"}


def test_isolators_and_blocks_renamed_together_are_recognised() -> None:
    answer = compared(YARD, YARD.replace("S1-S3", "R1-R3").replace("I1-I3", "J1-J3"))
    assert {one.kind for one in answer.changes if one.what == "renamed"} == {"block", "isolator"}
    assert told(answer) == []


def test_names_that_change_places_are_two_moves() -> None:
    plain = YARD.replace('isolator = "I1-I3"\n', "").replace("[isolators.I1-I3]\n", "")
    turned = '[blocks.S1]\nchannel = "D1.2"\n[blocks.S2]\nchannel = "D1.1"\n[blocks.neck]'
    answer = compared(plain, plain.replace("[blocks.neck]", turned))
    assert does(answer, "move") == [
        "bus of S1: move its end from D1:1 to D1:2: D1:2 > S1:end (was D1:1 > S1:end)",
        "bus of S2: move its end from D1:2 to D1:1: D1:1 > S2:end (was D1:2 > S2:end)",
    ]
    assert "D1:1 and D1:2 get other wires: take all ends off, and mark them" in document_text(
        answer.document(), Style(200)
    )


def test_findings_appear_and_go() -> None:
    answer = changed(("[blocks.neck]", '[blocks.S3]\nchannel = "D1.1"\n[blocks.neck]'))
    appear = [one.finding.fingerprint for one in answer.findings.appear]
    assert "channel-shared:D1.1:S1:S3" in appear
    back = changed(
        ('[blocks.S3]\nchannel = "D1.1"\n', ""),
        base=YARD.replace("[blocks.neck]", '[blocks.S3]\nchannel = "D1.1"\n[blocks.neck]'),
    )
    assert [one.finding.fingerprint for one in back.findings.gone] == appear
    assert "old.toml:" in document_text(back.document(), Style())


def test_a_channel_that_was_shared_is_tested_for_the_block_that_stays() -> None:
    shared = YARD.replace("[blocks.neck]", '[blocks.S3]\nchannel = "D1.1"\n[blocks.neck]')
    answer = compared(shared, YARD)
    assert {"S1", "S3"} <= readings(answer, "block").keys()
    assert "S2" not in readings(answer, "block")


def test_what_is_accepted_goes_with_its_reason() -> None:
    wrong = YARD.replace("[blocks.neck]", '[blocks.S3]\nchannel = "D1.1"\n[blocks.neck]')
    accept = '\n[[accept]]\nrule = "channel-shared"\nwhere = "D1.1"\nbecause = "for tonight"\n'
    answer = compared(wrong, wrong + accept)
    assert not answer.wiring_differs
    assert [(one.finding.rule, one.because) for one in answer.findings.gone if one.because] == [
        ("channel-shared", "for tonight")
    ]


def test_checks_that_are_no_longer_made_are_told() -> None:
    answer = changed(('rail = "code83"\n', ""))
    rules = {one.rule for one in answer.unchecked.appear if one.subject == "S1"}
    assert "short-will-not-trip" in rules
    assert answer.unchecked.gone == ()


def test_budgets_before_and_after() -> None:
    loads = '\n[loads.tank]\nlocomotive = true\nidle = "0.1 A"\nrunning = "0.3 A"\n'
    old = YARD.replace('length = "4 m" }', 'length = "4 m" }\nexpects = [{ load = "tank", count = 2 }]') + loads
    answer = compared(old, old.replace("count = 2", "count = 40"))
    assert not answer.wiring_differs
    row = next(one for one in answer.budgets if one.name == "dock")
    assert (row.before_a, row.after_a, row.limit_after_a, row.over) == (0.2, 4.0, 3.0, True)
    assert "OVER its limit: booster B1 and district dock." in answer.summary


def test_values_that_get_worse_are_told_with_their_place() -> None:
    answer = changed(('wire = "2.5 mm2", length = "4 m"', 'wire = "0.5 mm2", length = "20 m"'))
    worse = {(one.block, one.quantity) for one in answer.values if one.worse}
    assert ("S1", "short") in worse
    # resistance of the pair by hand: 2 x 20 m / (58 x 0.5 mm2) = 1.38 ohm, so that no more than 15 V / 1.38 ohm flow
    short = next(one for one in answer.values if (one.block, one.quantity) == ("S1", "short"))
    assert short.after is not None
    assert 0 < short.after < 15 / 1.38
    back = changed(
        ('wire = "0.5 mm2", length = "20 m"', 'wire = "2.5 mm2", length = "4 m"'),
        base=YARD.replace('wire = "2.5 mm2", length = "4 m"', 'wire = "0.5 mm2", length = "20 m"'),
    )
    assert {(one.block, one.quantity) for one in back.values if not one.worse} >= {("S1", "short")}


def test_a_change_within_the_margin_is_not_told() -> None:
    answer = changed(('length = "4 m" }', 'length = "4.001 m" }'))
    assert answer.wiring_differs
    assert answer.values == ()


def test_lengths_are_told_in_feet_where_the_layout_wants_them() -> None:
    imperial = YARD.replace('control = "dcc"', 'control = "dcc"\nunits = "imperial"')
    answer = changed(('lead = "2 m"', 'lead = "8 ft"'), base=imperial)
    assert ("harness", "dock", "changed", "lead", "6.56 ft", "8 ft") in told(answer)
    assert any("21.1 ft" in one for one in does(answer, "replace"))


def test_names_that_mean_something_to_a_format_are_escaped() -> None:
    odd = YARD + '\n[blocks."<b>*x*|y</b>"]\nchannel = "D1.5"\n'
    answer = compared(YARD, odd)
    page, document = document_html(answer.document()), document_markdown(answer.document())
    assert "<b>*x*" not in page
    assert "&lt;b&gt;" in page
    assert "\\<b>\\*x\\*" in document
    assert not re.search(r"(?<!\\)<b>\\*", document)


def test_the_faults_of_both_files_are_told(tmp_path: Path) -> None:
    folder = tmp_path
    for name in ("old.toml", "new.toml"):
        (folder / name).write_text("format = 1\n[layout]\nname = 3\n", "utf-8")
    with pytest.raises(InputError) as raised:
        load_two(str(folder / "old.toml"), str(folder / "new.toml"))
    files = {Path(getattr(one.at, "file", "")).name for one in raised.value.findings}
    assert files == {"old.toml", "new.toml"}


def test_a_limit_and_a_temperature_are_no_wiring() -> None:
    answer = compared(YARD, YARD + '\n[limits]\nconductor_temperature = "60 degC"\nheadroom = "30 %"\n')
    assert not answer.wiring_differs
    assert answer.steps == ()
    assert [(one.key, one.before, one.after) for one in answer.changes] == [
        ("headroom", "20 %", "30 %"),
        ("conductor_temperature", "20 degC", "60 degC"),
    ]


def test_words_and_numbers_of_tracks_are_no_wiring() -> None:
    answer = changed(
        ("[isolators.I1-I3]", '[isolators.I1-I3]\npanel = "left"'),
        ("[blocks.neck]", "[blocks.S1]\ntrack = 9\n[blocks.neck]"),
    )
    assert not answer.wiring_differs
    assert ("block", "S1", "track", "1", "9") in [
        (one.kind, one.subject, one.key, one.before, one.after) for one in answer.changes
    ]
    assert next((one.text, one.at) for one in answer.labels if one.print) == ("I1: S1", "panel: left")
    assert answer.summary.startswith("No change to the wiring; labels change.")


def test_the_current_of_an_empty_block_is_worse_when_it_rises() -> None:
    low = YARD.replace('rail = "code83"', 'rail = "code83"\ncapacitance = "20 pF/m"\nleakage = "5 Mohm m"')
    answer = changed(("20 pF/m", "80 pF/m"), base=low)
    assert {(one.block, one.worse) for one in answer.values if one.quantity == "false"} >= {("S1", True)}
    back = changed(("80 pF/m", "20 pF/m"), base=low.replace("20 pF/m", "80 pF/m"))
    assert {(one.block, one.worse) for one in back.values if one.quantity == "false"} >= {("S1", False)}


def test_a_block_moves_to_another_harness() -> None:
    two = YARD + "\n[harnesses.far]\n" + YARD.partition("[harnesses.dock]\n")[2].replace("1.5 mm2", "4 mm2")
    answer = changed(("[blocks.neck]", '[blocks.S3]\nharness = "far"\n[blocks.neck]'), base=two)
    assert ("block", "S3", "changed", "harness", "dock", "far") in told(answer)
    assert does(answer, "run") == ["add the common bus of far: dock:return > far:end (2.5 mm2, 6 m)"]
    assert "move the common drops of S3 from dock:bus to far:bus" in does(answer, "move")
    assert does(answer, "replace") == ["bus of S3: D1:3 > I3 > S3:end; make it anew of 4 mm2, 6 m, was 1.5 mm2"]


def test_a_harness_under_another_name_is_the_same_harness() -> None:
    answer = changed(("harnesses.dock", "harnesses.quay"), ('harness = "dock"', 'harness = "quay"'))
    assert [(one.kind, one.what) for one in answer.changes] == [("harness", "renamed")]
    assert answer.steps == ()


def test_a_board_a_booster_and_a_district_are_added() -> None:
    more = (
        '\n[boosters.B3]\nvoltage = "15 V"\ncurrent = "2 A"\n[districts.mill]\nbooster = "B3"\ntrip = "1 A"\n'
        '[boards.D2]\ntype = "eight"\nbanks = "mill"\nat = "left of the mill"\n'
    )
    answer = compared(YARD, YARD + more)
    assert does(answer, "mount") == [
        "set up booster B3: voltage 15 V, current 2 A",
        "fit the breaker of mill that trips at 1 A",
        "mount board D2, 8 channels in 2 banks: left of the mill",
    ]
    assert does(answer, "run") == [
        "add the feed pair of mill: B3 > mill.breaker > mill (both conductors)",
    ]
    back = compared(YARD + more, YARD)
    assert "take booster B3 away" in does(back, "take away")


def test_a_block_loses_its_detector() -> None:
    answer = changed(('[blocks.neck]\nchannel = "D1.4"', '[blocks.neck]\nundetected = "a tramway"\ndistrict = "dock"'))
    assert ("block", "neck", "changed", "channel", "D1.4", "none") in told(answer)
    assert "bus of neck: move its end from D1:4 to dock:feed: dock:feed > neck:end (was D1:4 > neck:end)" in does(
        answer, "move"
    )
    assert readings(answer, "channel") == {"D1.4": "stays clear; neck was on it"}
    assert "neck" in readings(answer, "volts")


def test_a_changeover_hands_a_bank_to_one_of_two_districts() -> None:
    plain = YARD.replace('isolator = "I1-I3"\n', "").replace("[isolators.I1-I3]\n", "")
    other = plain.replace('"D1.1-3"\n', '"D1.1-3"\nisolator = "X1"\n').replace(
        'kind = "throat"\n', 'kind = "throat"\nisolator = "X1"\n'
    )
    other += '\n[isolators.X1]\ncontact = "changeover"\nbetween = ["dock", "hill"]\npoles = 2\n'
    answer = compared(plain, other)
    assert (
        "feed of D1 bank 1: move its end from dock:feed to dock:feed or hill:feed, cut it and bring both ends to X1: "
        "dock:feed or hill:feed > X1 > D1:feed1 (was dock:feed > D1:feed1)"
    ) in does(answer, "move")
    assert any("X1.2" in one for one in does(answer, "move"))
    assert readings(answer, "isolator") == {"X1": "S1-S3, neck: dock, hill, off (dead)"}


RUN = '\n[runs.motor]\nwire = "1.5 mm2"\nlength = "4 m"\ncount = 2\nends = ["panel", "machine 1"]\n'


def test_a_run_is_added_and_becomes_another() -> None:
    answer = compared(YARD, YARD + RUN)
    assert answer.wiring_differs
    assert does(answer, "add") == ["add the run motor: panel > machine 1 (2 wires, 1.5 mm2, 4 m)"]
    assert "motor.2 panel > machine 1  motor.2 machine 1 > panel" in document_text(answer.document(), Style(200))
    assert ("run", "motor", "added", None, None, "wire 1.5 mm2, count 2, length 4 m") in told(answer)
    assert does(compared(YARD + RUN, YARD), "remove") == ["remove the run motor: panel > machine 1"]
    other = RUN.replace("count = 2", "count = 3").replace("4 m", "5 m").replace("machine 1", "machine 2")
    assert does(compared(YARD + RUN, YARD + other), "replace") == [
        "run motor: move its end from machine 1 to machine 2: panel > machine 2 (was panel > machine 1); lay 1, so "
        "that there are 3; lengthen it to 5 m, was 4 m"
    ]


def test_a_throw_is_told_where_a_block_is_fed_through_a_changeover() -> None:
    tram = YARD + '\n[blocks.tram]\nundetected = "a tramway"\ndistrict = "dock"\n'
    switch = '\n[isolators.X1]\ncontact = "changeover"\nbetween = ["dock", "hill"]\n'
    answer = compared(tram, tram.replace("undetected", 'isolator = "X1"\nundetected') + switch)
    assert does(answer, "move") == [
        "bus of tram: move its end from dock:feed to dock:feed or hill:feed, cut it and bring both ends to X1: "
        "dock:feed or hill:feed > X1 > tram:detected (was dock:feed > tram:detected)"
    ]
    assert {"dock:feed > X1:dock", "hill:feed > X1:hill", "X1:out > tram:detected"} < set(prints(answer))


def test_returns_are_tied_and_untied() -> None:
    tied = YARD.replace('booster = "B1"\n', 'booster = "B1"\nreturn = "R"\n').replace(
        'booster = "B2"\n', 'booster = "B2"\nreturn = "R"\n'
    )
    assert does(compared(YARD, tied), "run") == [
        "add the tie of dock: dock:return > R:bar",
        "add the tie of hill: hill:return > R:bar",
    ]
    assert does(compared(tied, tied.replace('"R"', '"Q"')), "move") == [
        "tie of dock: move its end from R:bar to Q:bar: dock:return > Q:bar (was dock:return > R:bar)",
        "tie of hill: move its end from R:bar to Q:bar: hill:return > Q:bar (was hill:return > R:bar)",
    ]


def test_the_ties_of_a_frog_are_told() -> None:
    frog = '\n[turnouts.T1]\nblock = "neck"\nthrough = "S1"\ndiverging = "S2"\nfrog = "switched"\nfrog_gaps = true\n'
    answer = compared(YARD + frog, YARD + frog + 'frog_rail = "common"\n')
    assert does(answer, "move") == [
        "frog of T1: exchange the wires at the contact of the points: T1:through to dock:bus, T1:diverging to "
        "neck:bus, T1:out to the frog"
    ]
    assert does(compared(YARD + frog, YARD), "remove") == ["remove the wires of the frog of T1"]


def test_a_length_that_was_not_given_is_told() -> None:
    answer = changed(('lead = "2 m"\n', ""))
    assert "bus of S1: D1:1 > I1 > S1:end; its length is not given, was 6 m" in does(answer, "replace")


def test_labels_are_those_of_the_wire_list() -> None:
    old, new = (api.loads(text, "yard.toml") for text in (YARD, YARD + FRESH))
    ends = [{end.label for piece in api.wires(case).pieces for end in (piece.start, piece.end)} for case in (old, new)]
    told = compared(YARD, YARD + FRESH)
    assert set(prints(told)) == ends[1] - ends[0]
    assert set(prints(told, False)) == ends[0] - ends[1]
