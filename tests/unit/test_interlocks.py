"""Interlocks: what they keep out is not looked at, not told, and cannot be asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

import blockcheck
from blockcheck.circuit import allowed
from blockcheck.circuit.allowed import nearest
from blockcheck.core.errors import CallError

CASES = Path(__file__).resolve().parents[1] / "rules"
YARD = """\
format = 1
[layout]
name = "Tansy Wharf"
control = "dcc"
[boosters.B1]
voltage = "14 V"
current = "3 A"
trip = "4 A"
delay = "30 ms"
[districts.east]
booster = "B1"
current = "0.15 A"
[districts.west]
booster = "B1"
[loads.shunter]
locomotive = true
idle = "90 mA"
capacitance = "470 uF"
[board_types.eight]
channels = 8
bank_size = 4
threshold = "1.5 mA"
[boards.D1]
type = "eight"
banks = ["east", "west"]
[blocks.T1-T3]
channel = "D1.1-3"
isolator = "I1-I3"
[blocks.U]
undetected = "the fuelling point"
district = "west"
isolator = "X"
[isolators.I1-I3]
[isolators.X]
contact = "changeover"
between = ["west", "east"]
usually = "off"
[trains.E1-E3]
vehicles = { shunter = 1 }
at = "T1-T3"
"""
BECAUSE = 'because = "the lever frame"\n'
ONE_OPEN = f'[[interlocks]]\ncontrols = ["I1-I3"]\nat_most_one = "open"\n{BECAUSE}'
FIRST_SLEEPS_LAST = f'[[interlocks]]\nnever = {{ I1 = "open", I3 = "closed" }}\n{BECAUSE}'


def test_a_selection_that_an_interlock_keeps_out_is_refused() -> None:
    study = blockcheck.loads(YARD + ONE_OPEN)
    assert blockcheck.isolate(study, "T1").opened == ("I1",)
    words = "I1 and I2 open cannot be: at most one of I1-I3 is open, because the lever frame"
    for ask in (blockcheck.draw, blockcheck.budget, blockcheck.power, blockcheck.wake):
        with pytest.raises(CallError) as caught:
            ask(study, opened="T1-T2")
        assert words in str(caught.value)
    with pytest.raises(CallError, match="because the lever frame"):
        blockcheck.isolate(study, "T1-T2")


def test_each_isolator_alone_tells_which_cannot_be_opened() -> None:
    answer = blockcheck.isolate_each(blockcheck.loads(YARD + FIRST_SLEEPS_LAST))
    assert [row.isolator for row in answer.rows] == ["I2", "I3"]
    assert answer.cannot == ("I1",)


def asleep(interlock: str) -> list[tuple[str, ...]]:
    """The isolators that budget opens so that two tracks sleep."""
    answer = blockcheck.budget(blockcheck.loads(YARD + interlock))
    return [one.sleep.isolators for one in answer.scenarios if one.sleep is not None]


def test_what_is_put_to_sleep_can_be() -> None:
    """Three engines of 90 mA in a district for 150 mA: two sleep, whichever may."""
    assert asleep("") == [("I1", "I2")]
    assert asleep(FIRST_SLEEPS_LAST) == [("I1", "I3")]
    assert asleep(ONE_OPEN) == [()]


def test_stages_that_an_interlock_keeps_out_are_not_told() -> None:
    plain, bound = (blockcheck.wake(blockcheck.loads(YARD + more)) for more in ("", ONE_OPEN))
    assert [one.district for one in plain.districts] == ["east"]
    assert not bound.districts
    assert ("east", ("stages that no interlock keeps out",)) in [(one.subject, one.needs) for one in bound.unchecked]


RELAYS = YARD.replace("[isolators.I1-I3]", '[isolators.I1]\n[isolators.I2-I3]\nusually = "open"') + (
    '[[interlocks]]\ncontrols = ["I1-I3"]\nat_most_one = "closed"\nbecause = "relays"\n'
)


def test_the_sheet_closes_what_it_measures_through_and_no_more() -> None:
    sheet = blockcheck.bench(blockcheck.loads(RELAYS), every=True)
    assert any("Close every isolator but I2 and I3, which interlocks keep open" in line for line in sheet.setup.dead)
    do = {step.id: step.do for step in sheet.steps}
    assert do["axle.T2.any"].startswith("Open I1. Close I2. Lay the test axle across the rails of T2")
    assert do["asleep.I2.open.T2"].startswith("Lay the test axle")
    assert do["asleep.I1.open.T1"].startswith("Open I1. Lay the test axle")
    names = {step.id: step.names for step in sheet.steps}
    assert names["axle.T2.any"] == ("D1.2",)
    assert names["asleep.I2.open.T2"] == ()


def test_the_nearest_state_moves_no_more_than_it_must() -> None:
    circuit = blockcheck.loads(RELAYS).circuit
    assert nearest(circuit, {}) == {"I1": "closed", "I2": "open", "I3": "open"}
    assert nearest(circuit, {"I3": "closed"}) == {"I1": "open", "I2": "open", "I3": "closed"}
    assert nearest(circuit, {"I1": "open"}) == {"I1": "open", "I2": "open", "I3": "open"}
    assert nearest(circuit, {"I1": "closed", "I2": "closed"}) is None
    every = [("I2", "closed"), ("I3", "closed"), ("I1", "closed")]
    assert nearest(circuit, {}, every) == {"I1": "open", "I2": "closed", "I3": "open"}


SIDING = """\
format = 1
layout = { name = "Spindle Row", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts = { east = { booster = "B1" }, west = { booster = "B1" } }
[blocks.S1]
undetected = "in plain sight"
district = "east"
isolator = "I1"
[blocks.S2]
undetected = "in plain sight"
district = "west"
isolator = "I2"
[isolators.I1]
[isolators.I2]
usually = "open"
[[joints]]
blocks = ["S1", "S2"]
gap = "none"
"""


def rules(text: str) -> set[str]:
    return {finding.rule for finding in blockcheck.check(blockcheck.loads(text)).findings}


def test_districts_that_relays_keep_apart_are_not_joined() -> None:
    """Of the feeds of one siding from either district the relays let one through; without them both may."""
    relays = '[[interlocks]]\ncontrols = ["I1-I2"]\nat_most_one = "closed"\nbecause = "relays"\n'
    assert "districts-joined" in rules(SIDING)
    assert "districts-joined" not in rules(SIDING + relays)
    assert "districts-joined" in rules(SIDING + relays.replace("closed", "open"))


def test_a_lever_that_moves_both_switches_leaves_no_leak() -> None:
    """Held back one way only, or not at all, one of the tracks feeds the other."""
    text = (CASES / "isolation-leak" / "good-2.toml").read_text("utf-8")
    assert rules(text) == set()
    assert "isolation-leak" in rules(text.replace('{ I1 = "closed", I2 = "open" }', '{ I1 = "open", I2 = "open" }'))
    assert "isolation-leak" in rules(text[: text.index("[[interlocks]]")] + text[text.index("[[joints]]") :])


def test_what_is_not_decided_in_bounds_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the solver gives up, no isolator passes for one that takes power from nothing else."""
    monkeypatch.setattr(allowed, "_solved", lambda *_: None)
    study = blockcheck.loads(RELAYS)
    assert nearest(study.circuit, {"I3": "closed"}) == allowed.NOT_DECIDED
    rows = [(one.subject, one.undecided) for one in blockcheck.check(study).unchecked if "overreach" in one.rule]
    assert rows == [("I1", True), ("I2", True), ("I3", True)]
