"""What the rules on volts and amperes measure, against sums done by hand in the comments of their cases.

A case says in words how its figure comes about; here is the same sum, and the line that is to blame.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

import blockcheck
from blockcheck.core.spans import Place

HERE = Path(__file__).parent
TODAY = date(2031, 6, 1)

FEED, LEAD, DROPS = 0.1, 11 * 0.02, 2 * 0.002
"""Ohm there and back: 5 m of feed at 20 mohm/m, 11 m of bus and common, two drops of 0.2 m at 10 mohm/m."""
RAILS = 2 * 1 * 0.05
"""Ohm of a metre of both rails."""
WAY = FEED + LEAD + DROPS + RAILS
ONES = 1 / 116e-6
"""Hertz of a stream of ones: half a bit is 58 us (NMRA S-9.1, table 1)."""

CASES = {
    "voltage-drop/bad": (15 - 1.2 * (FEED + 11 * 0.1 + 11 * 0.01 + DROPS + RAILS), "V", 'bus = "thin"'),
    "voltage-drop/bad-2": (15 - 2.6 * (2 * 0.9 / 4 + 0.04 + 0.1), "V", 'rail = "plain"'),
    "voltage-drop/bad-3": (15 - 1.4 - 1.2 * WAY, "V", 'drop = "1.4 V"'),
    "voltage-drop/bad-4": (15 - 2.4 * (0.8 + LEAD + DROPS) - 1.2 * RAILS, "V", 'length = "40 m"'),
    "short-will-not-trip/bad": (15 / (2 * 40 * 0.04 + LEAD + DROPS + RAILS), "A", 'length = "40 m"'),
    "short-will-not-trip/bad-2": (15 / (FEED + 10 * 0.02 + DROPS + 2 * 30 * 0.05), "A", 'rail = "plain"'),
    "short-will-not-trip/bad-3": ((15 - 0.7) / (2 * 5 * 0.21 + LEAD + DROPS + RAILS), "A", 'wire = "thin"'),
    "vehicle-unseen/bad": (15 / (20e3 + WAY), "A", "threshold"),
    "vehicle-unseen/bad-2": ((15 - 0.7) / (15e3 + WAY), "A", "threshold"),
    "vehicle-unseen/bad-3": (2e-3, "A", "threshold"),
    "false-occupancy/bad": (4 * 40 * 50e-12 * 15 * ONES, "A", "capacitance"),
    "false-occupancy/bad-2": (15 * 10 / 100e3, "A", "leakage"),
    "false-occupancy/bad-3": (4 * 20 * 50e-12 * 15 * ONES + 15 * 10 / 250e3, "A", "leakage"),
    "inrush-lockout/bad": (20 * 1000e-6 * 15 / (4 - 20 * 0.05), "s", "delay"),
    "inrush-lockout/bad-2": (20 * 0.05, "A", "trip"),
    "inrush-lockout/bad-3": (20 * 0.05, "A", "trip"),
    "vehicle-unseen/bad-4": (15 / 20e3, "A", "threshold"),
    "short-will-not-trip/bad-4": (15 / (3.2 + 0.02 + DROPS + RAILS), "A", "feed"),
    "voltage-drop/bad-6": (15 - 1.2 * (FEED + 11 * 0.1 + 11 * 0.01 + DROPS), "V", 'bus = "thin"'),
    "inrush-lockout/bad-5": (20 * 1000e-6 * 15 / (4 - 20 * 0.05), "s", "delay"),
    "inrush-lockout/bad-6": (20 * 0.05, "A", "trip"),
    "wire-over-current/bad": (4.0, "A", "trip"),
    "wire-over-current/bad-2": (2.3, "A", None),
    "wire-over-current/bad-3": (2.3, "A", "wires.braid"),
    "wire-over-current/bad-4": (2.3, "A", None),
    "wire-over-current/bad-5": (4.0, "A", "trip"),
    "wire-over-current/bad-9": (2.5, "A", "trip"),
    "detection-not-held/bad-4": (15 / (25e3 + WAY), "A", "channel"),
    "detection-not-held/bad-5": (15 - 0.05 * (100 + FEED + LEAD + DROPS), "V", "channel"),
    "detection-not-held/bad-6": (0.0, "A", "channel"),
}
"""Case -> what is measured, its unit, and what stands on the first of the related lines."""


@pytest.mark.parametrize("name", CASES)
def test_the_measured_value_is_the_one_worked_out_by_hand(name: str) -> None:
    measured, unit, blamed = CASES[name]
    (finding,) = blockcheck.check(blockcheck.load(HERE / f"{name}.toml"), TODAY).findings
    assert finding.measured == pytest.approx(measured, rel=1e-8, abs=1e-12)
    assert finding.unit == unit
    lines = [label.at.source for label in finding.related if isinstance(label.at, Place)]
    assert blamed in lines[0] if blamed else not lines


RULES = sorted({name.split("/")[0] for name in CASES})


@pytest.mark.parametrize("rule", RULES)
def test_the_good_case_lacks_nothing(rule: str) -> None:
    """It is good because it was looked at, and not because it could not be."""
    good = "good-2" if rule == "detection-not-held" else "good"
    answer = blockcheck.check(blockcheck.load(HERE / rule / f"{good}.toml"), TODAY)
    assert [one for one in answer.unchecked if one.rule in RULES] == []


TRACKS = """
[blocks.L2-L10]
channel = "D1.2-10"
kind = "running"
length = "2 m"
harness = "line"
"""


def test_a_thin_bus_is_one_cause() -> None:
    """It starves ten blocks alike: one finding, which names them all; what is accepted for one hides no other."""

    def found(rule: str, more: str = "") -> list[tuple[str, tuple[str, ...]]]:
        text = (HERE / rule / "bad.toml").read_text("utf-8").replace("channels = 1", "channels = 10")
        answer = blockcheck.check(blockcheck.loads(text + TRACKS + more, HERE / rule / "many.toml"), TODAY)
        assert {finding.rule for finding in answer.findings} == {rule}
        return [(finding.subject, finding.alike) for finding in answer.findings]

    names = tuple(f"L{number}" for number in range(1, 11))
    assert found("voltage-drop") == [("L1", names[1:])]
    accepted = '[[accept]]\nrule = "voltage-drop"\nwhere = "L1,L3"\nbecause = "they are shunted only"\n'
    assert found("voltage-drop", accepted) == [("L2", names[3:])]
    assert found("wire-over-current") == [("line bus", ())]


def test_a_train_behind_a_hold_resistor_without_a_length_spoils_no_other_check() -> None:
    """What draws through a hold resistor is in the budget of the district that reaches it, without feeding it."""
    text = (HERE / "voltage-drop" / "bad.toml").read_text("utf-8").replace("channels = 1,", "channels = 2,")
    text += """
[blocks.L2]
channel = "D1.2"
kind = "storage"
harness = "line"
isolator = "I2"
[isolators.I2]
detection = "held"
hold = "4.7 kohm"
usually = "open"
[trains.resting]
vehicles = { pug = 1 }
at = "L2"
"""
    found = [one for one in blockcheck.check(blockcheck.loads(text)).findings if one.rule == "voltage-drop"]
    assert [one.subject for one in found] == ["L1"]
    assert "a bound" in found[0].message


@pytest.mark.parametrize(("american", "metric"), [("18 AWG", "0.823 mm2"), ("24 AWG", "0.2047 mm2")])
@pytest.mark.parametrize("trip", ["2.3 A", "2.4 A", "8.4 A", "8.6 A"])
def test_the_same_copper_has_the_same_verdict(american: str, metric: str, trip: str) -> None:
    """0.75 mm2 may carry 8.5 A (IEC 60204-1 Table 6, B2), so that 24 AWG, 0.2047 mm2, may carry 2.32 A at least."""
    text = (HERE / "wire-over-current" / "bad-9.toml").read_text("utf-8").replace('"2.5 A"', f'"{trip}"')

    def over(size: str) -> list[str]:
        answer = blockcheck.check(blockcheck.loads(text.replace("24 AWG", size), "one.toml"), TODAY)
        return [one.message.replace(size, "X") for one in answer.findings if one.rule == "wire-over-current"]

    assert over(american) == over(metric)
    assert bool(over(american)) == (float(trip[:3]) > (2.32 if american == "24 AWG" else 8.5))
