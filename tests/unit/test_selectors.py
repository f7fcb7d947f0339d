"""Rotary switches: at most one of their tracks has power, whatever anything else does."""

from __future__ import annotations

from itertools import product

import pytest

import blockcheck
from blockcheck.core.errors import CallError, InputError
from blockcheck.model.tables.selectors import place_of

YARD = """\
format = 1
[layout]
name = "Teal Siding"
control = "dcc"
[boosters.B1]
voltage = "14 V"
current = "3 A"
[districts.dock]
booster = "B1"
feed = { wire = "2.5 mm2", length = "3 m" }
[loads.shunter]
locomotive = true
running = "1 A"
[board_types.eight]
channels = 8
threshold = "1.5 mA"
[boards.D1]
type = "eight"
spare = [4, 5, 6, 7, 8]
[harnesses.dock]
bus = "1.5 mm2"
common = "1.5 mm2"
lead = "2 m"
feeder = "0.5 mm2"
feeder_length = "20 cm"
feeder_spacing = "2 m"
rail = "code83"
[blocks.S1-S3]
channel = "D1.1-3"
length = "3 m"
harness = "dock"
kind = "storage"
[selectors.R]
tracks = "S1-S3"
usually = "S1"
contact_resistance = "25 mohm"
rating = "2 A"
[[joints]]
blocks = ["S1", "S2"]
gap = "detected"
[[joints]]
blocks = ["S2", "S3"]
gap = "detected"
[scenarios.night]
set = { R = "off" }
expect = { dead = ["S1-S3"] }
[scenarios.shift]
set = { R = "S2" }
expect = { dead = ["S1", "S3"], lit = ["S2"] }
[trains.coal]
vehicles = { shunter = 1 }
at = "S1"
state = "running"
"""
POLE = YARD.replace('channel = "D1.1-3"', 'channel = "D1.1"').replace(
    'tracks = "S1-S3"', 'tracks = "S1-S3"\nwired = "pole"'
)
BOTH = {
    kind: text.replace("[selectors.R]", "[selectors.R]\npoles = 2").replace('gap = "detected"', 'gap = "both"')
    for kind, text in (("contacts", YARD), ("pole", POLE))
}


def errors(text: str) -> list[str]:
    return [one.rule for one in blockcheck.check(blockcheck.loads(text)).findings if one.severity.value == "error"]


@pytest.mark.parametrize("text", [YARD, POLE, *BOTH.values()])
def test_what_is_sound_draws_no_error(text: str) -> None:
    assert errors(text) == []


def test_two_tracks_on_one_channel_need_the_pole() -> None:
    assert errors(POLE.replace('wired = "pole"', 'wired = "contacts"')) == ["channel-shared"]


def test_a_joint_that_is_not_cut_feeds_a_track_that_should_sleep() -> None:
    assert "gap-missing" in errors(YARD.replace('["S1", "S2"]\ngap = "detected"', '["S1", "S2"]\ngap = "none"'))


@pytest.mark.parametrize("off", ["true", "false"])
def test_by_every_state_of_its_contacts_that_can_be_at_most_one_track_has_power(off: str) -> None:
    text = YARD.replace('{ R = "off" }', '{ R = "S1" }').replace("expect = { dead", "expect = { clear")
    case = blockcheck.loads(text.replace('usually = "S1"', f'usually = "S1"\noff = {off}'))
    contacts = ("R/S1", "R/S2", "R/S3")
    lit = set()
    for places in product(("closed", "open"), repeat=3):
        state = dict(zip(contacts, places, strict=True))
        can_be = places.count("closed") == 1 or (off == "true" and not places.count("closed"))
        assert case.circuit.can_be({**case.circuit.usual, **state}) == can_be
        if can_be:
            lit.add(tuple(name for name in ("S1", "S2", "S3") if case.now(state).power(name) == "on"))
    assert lit == {("S1",), ("S2",), ("S3",), *({()} if off == "true" else set())}


@pytest.mark.parametrize("text", [YARD, POLE, *BOTH.values()])
def test_in_every_state_that_can_be_a_return_is_joined_exactly_where_it_should(text: str) -> None:
    """Brute force over its contacts, told apart by what hangs together and not by who has power."""
    case = blockcheck.loads(text)
    contacts = [f"R/S{number}" for number in (1, 2, 3)]
    both = "poles = 2" in text
    for places in product(("closed", "open"), repeat=3):
        state = dict(zip(contacts, places, strict=True))
        if not case.circuit.can_be({**case.circuit.usual, **state}):
            continue
        now = case.now(state)
        for track, place in zip(("S1", "S2", "S3"), places, strict=True):
            joined = now.pieces[case.circuit.common[track]] == now.pieces[case.circuit.back["B1"]]
            assert joined == (place == "closed" or not both)
            assert (now.power(track) == "on") == (place == "closed")


def test_its_contact_takes_volts() -> None:
    """By hand: at one ampere, 25 mohm are 25 mV."""
    answers = [blockcheck.power(blockcheck.loads(text)) for text in (YARD, YARD.replace("25 mohm", "0 ohm"))]
    volts = [{row.block: row.voltage_v for row in one.rows}["S1"] or 0.0 for one in answers]
    assert volts[1] - volts[0] == pytest.approx(0.025, abs=1e-6)


def test_its_second_pole_takes_as_much() -> None:
    """By hand: at one ampere, two contacts of 25 mohm are 50 mV."""
    text = BOTH["contacts"]
    answers = [blockcheck.power(blockcheck.loads(one)) for one in (text, text.replace("25 mohm", "0 ohm"))]
    volts = [{row.block: row.voltage_v for row in one.rows}["S1"] or 0.0 for one in answers]
    assert volts[1] - volts[0] == pytest.approx(0.050, abs=1e-6)


def test_it_is_one_switch_of_the_panel_and_of_the_sheet_for_tonight() -> None:
    case = blockcheck.loads(YARD)
    (hole,) = blockcheck.panel(case).holes
    assert (hole.isolator, hole.positions) == ("R", ("S1", "S2", "S3", "off"))
    rows = [(row.switch, row.position, row.usual) for row in blockcheck.isolate_state(case, "shift").switches]
    assert rows == [("R", "S2", "S1")]


def test_its_wires() -> None:
    ends = {(piece.from_, piece.to) for piece in blockcheck.wires(blockcheck.loads(YARD)).pieces}
    assert {("D1:1", "R/S1:in"), ("R/S1:out", "S1:end"), ("D1:3", "R/S3:in")} <= ends
    ends = {(piece.from_, piece.to) for piece in blockcheck.wires(blockcheck.loads(POLE)).pieces}
    assert {("D1:1", "R:in"), ("R:S1", "S1:end"), ("R:S3", "S3:end")} <= ends


def test_the_wires_of_its_second_pole() -> None:
    pieces = blockcheck.wires(blockcheck.loads(BOTH["contacts"])).pieces
    ends = {(piece.from_, piece.to) for piece in pieces}
    assert {("dock:return", "R/S1.2:in"), ("R/S1.2:out", "S1.com:end"), ("dock:return", "R/S3.2:in")} <= ends
    pieces = blockcheck.wires(blockcheck.loads(BOTH["pole"])).pieces
    ends = {(piece.from_, piece.to) for piece in pieces}
    assert {("D1:1", "R:in"), ("R:S3", "S3:end"), ("R.2:S1", "S1.com:end"), ("R.2:S3", "S3.com:end")} <= ends
    assert [one.from_ for one in pieces if one.to == "R.2:in"] == ["dock:return"]  # one wire, whatever it chooses from


def test_the_sheet_knows_its_second_pole() -> None:
    """A gap in the common rail is cut now, and is looked at."""
    answer = blockcheck.bench(blockcheck.loads(BOTH["contacts"]), every=True)
    assert {"gap-bridged:S1,S2.common", "gap-bridged:S2,S3.common"} <= {*answer.faults}
    assert [one for one in answer.steps if one.id == "joint.S1.S2.common"]


def test_a_third_pole_has_nothing_to_switch() -> None:
    with pytest.raises(InputError, match="R has 3 poles for each track, which has two rails"):
        blockcheck.loads(YARD.replace("[selectors.R]", "[selectors.R]\npoles = 3"))


def test_the_sheet_turns_it_and_never_asks_for_two_closed_contacts() -> None:
    case = blockcheck.loads(YARD)
    answer = blockcheck.bench(case, every=True)
    words = [step.do for step in answer.steps]
    assert any("Turn R to S2." in one for one in words)
    assert not [one for one in words if "Close R/" in one or "Open R/" in one]
    selector = case.layout.selectors["R"]
    assert place_of(selector, case.circuit.usual) == "S1"


def test_no_plug_of_a_pole_is_told_to_be_anothers() -> None:
    """It holds the wires of all its tracks: a fault that moves one of them alone cannot be."""
    faults = [*blockcheck.bench(blockcheck.loads(POLE), every=True).faults]
    assert "isolators-swapped:R/S1,R/S2" in faults
    assert not [one for one in faults if one.startswith("channels-swapped")]


def test_isolate_takes_it_by_name() -> None:
    assert blockcheck.isolate(blockcheck.loads(YARD), "R").opened == ("R/S1", "R/S2", "R/S3")
    with pytest.raises(CallError):
        blockcheck.isolate(blockcheck.loads(YARD), "Q")


def test_an_interlock_may_name_its_positions() -> None:
    lock = '[blocks.U]\nundetected = "a tramway"\nisolator = "I9"\n[isolators.I9]\nusually = "open"\n'
    lock += '[[interlocks]]\nnever = { R = "S2", I9 = "closed" }\nbecause = "one relay"\n'
    case = blockcheck.loads(YARD + lock)
    assert not case.circuit.can_be({**case.circuit.usual, "R/S1": "open", "R/S2": "closed", "I9": "closed"})
    assert case.circuit.can_be({**case.circuit.usual, "R/S1": "open", "R/S2": "closed"})


@pytest.mark.parametrize(
    ("before", "after", "message"),
    [
        ('tracks = "S1-S3"', 'tracks = ["S1-S3", "S2"]', "R chooses S2 twice"),
        ('tracks = "S1-S3"', 'tracks = "S1"', "R has fewer than two tracks to choose from"),
        ('usually = "S1"', 'usually = "S7"', 'R has no position "S7"'),
        ('usually = "S1"', 'usually = "off"\noff = false', 'R has no position "off"'),
        ('set = { R = "S2" }', 'set = { R = "S9" }', 'R has no position "S9"'),
        (
            'tracks = "S1-S3"',
            'tracks = "S1-S3"\nwired = "pole"',
            "R has one pole on the wire from one channel, and its tracks are on D1.1, D1.2, D1.3",
        ),
    ],
)
def test_what_cannot_be_is_refused_at_its_line(before: str, after: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        blockcheck.loads(YARD.replace(before, after))
    assert message in [one.message for one in caught.value.findings]
