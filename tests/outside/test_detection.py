"""Detection against the standards: what a wheelset draws, and what an empty block draws all the same."""

from __future__ import annotations

import math

import pytest

from blockcheck import api
from blockcheck.analysis.power.false_occupancy import pair_current
from blockcheck.answers.power import PowerRow
from blockcheck.circuit.across import ONES_HERTZ

LAYOUT = """\
format = 1
layout = {{ name = "Seen", control = "{control}" }}
boosters.B1 = {{ voltage = "{volts} V", current = "3 A" }}
districts.d = {{ booster = "B1", feed = {{ wire = "2.5 mm2", length = "2 m" }} }}
board_types.eight = {{ channels = 8, threshold = "{threshold}", drop = "{drop}" }}
boards.D1 = {{ type = "eight" }}
loads.wagon = {{ axle = "{axle}" }}
blocks.S1 = {{ channel = "D1.1", length = "{length} m", harness = "h" }}

[harnesses.h]
bus = "1.5 mm2"
common = "1.5 mm2"
lead = "{lead} m"
feeder = "0.5 mm2"
feeder_length = "0.2 m"
feeder_spacing = "2 m"
rail = "code83"
capacitance = "50 pF/m"
{more}
"""
PLAIN = {
    "control": "dcc",
    "volts": 15,
    "threshold": "0.5 mA",
    "drop": "0 V",
    "axle": "15 kohm",
    "length": 4,
    "lead": 2,
    "more": "",
}


def row(**changes: object) -> PowerRow:
    answer = api.power(api.loads(LAYOUT.format(**PLAIN | changes), "seen.toml"))
    assert not [one for one in answer.unchecked if one.rule == "power"]
    return answer.rows[0]


def rules(**changes: object) -> set[str]:
    """The rules about detection that find something."""
    found = api.check(api.loads(LAYOUT.format(**PLAIN | changes), "seen.toml")).findings
    return {str(one.rule) for one in found} & {"vehicle-unseen", "false-occupancy"}


@pytest.mark.parametrize(
    ("axle", "milliamperes"),
    [
        # NEM 624:1997: 15 kohm +- 20 % across an unpowered wheelset; at 15 V by Ohm's law
        ("15 kohm", 1.0),
        ("12 kohm", 1.25),
        ("18 kohm", 0.8333),
        # NEM 625:1997, section 4: the detector should be set to less than 100 kohm
        ("100 kohm", 0.15),
        # common practice, no source
        ("10 kohm", 1.5),
        ("5 kohm", 3.0),
    ],
)
def test_a_wheelset_at_15_volts(axle: str, milliamperes: float) -> None:
    """Wires and rails take off less than a thousandth, and never add."""
    seen = row(axle=axle)
    assert seen.detection_vehicle == "wagon"
    assert seen.detection_a is not None
    assert seen.detection_a * 1000 == pytest.approx(milliamperes, rel=1e-3)
    assert seen.detection_a < 15 / (float(axle.split()[0]) * 1000)


def test_a_detector_takes_off_a_twentieth() -> None:
    """0.7 V of 15 V: 4.7 %."""
    with_drop, without = row(drop="0.7 V").detection_a, row().detection_a
    assert with_drop is not None
    assert without is not None
    assert with_drop / without == pytest.approx(14.3 / 15, rel=1e-6)


def test_the_threshold_decides() -> None:
    """NEM 624's wheelset, at the upper end of its tolerance, draws 0.83 mA: with a margin of 1.5 it is seen at
    0.55 mA and not at 0.56 mA."""
    assert rules(axle="18 kohm", threshold="0.55 mA") == set()
    assert rules(axle="18 kohm", threshold="0.56 mA") == {"vehicle-unseen"}


@pytest.mark.parametrize(
    ("nanofarads", "volts", "hertz", "simulated", "within"),
    [
        # mean of |i| in ngspice 39.3 transient runs of a square wave into a capacitor, mA
        (1.0, 15, 1 / 116e-6, 0.51735, 5e-4),  # 12 us edges
        (1.0, 15, 1 / 116e-6, 0.51754, 1e-3),  # 1 us edges: the mean does not depend on the slew rate
        (1.0, 15, 1 / 200e-6, 0.30007, 5e-4),  # a stream of zeros of 100 us halves
        (4.7, 15, 1 / 116e-6, 2.43103, 5e-4),  # behind 100 ohm: it settles within the half
        (1.0, 12, 1 / 116e-6, 0.41391, 5e-4),
    ],
)
def test_the_cable_against_a_simulator(
    nanofarads: float, volts: float, hertz: float, simulated: float, within: float
) -> None:
    assert pair_current(nanofarads * 1e-9, volts, hertz) * 1000 == pytest.approx(simulated, rel=within)


@pytest.mark.parametrize(("volts", "ones", "zeros"), [(12, 0.414, 0.240), (15, 0.517, 0.300), (18, 0.621, 0.360)])
def test_the_cable_a_nanofarad(volts: float, ones: float, zeros: float) -> None:
    """4 C V f for 1 nF, computed; half a bit is 58 us for a one and 100 us for a zero (NMRA S-9.1, table 1)."""
    assert round(pair_current(1e-9, volts) * 1000, 3) == ones
    assert round(pair_current(1e-9, volts, 1 / 200e-6) * 1000, 3) == zeros
    assert pytest.approx(8620.7, abs=0.05) == ONES_HERTZ
    # 20 m of pair at 50 pF/m is that nanofarad: lead and block are counted, once
    assert row(volts=volts, lead=12, length=8).false_a == pytest.approx(4e-9 * volts / 116e-6, rel=1e-8)


@pytest.mark.parametrize(
    ("ohms", "volts", "simulated"),
    [
        # mean of |i| in an ngspice 39.3 transient run, mA: 0.1 uF behind 150 ohm at 15 V does not settle within 58 us
        (150.0, 15.0, 49.53),
    ],
)
def test_the_cable_that_does_not_settle(ohms: float, volts: float, simulated: float) -> None:
    """With a resistance R in the way the mean is 4 C V f tanh(T / (2 R C)), T half a period, by the charge of an RC
    (OpenStax University Physics 2, section 10.5): 49.60 mA here. What is taken without R is a bound from above."""
    farads, half = 0.1e-6, 58e-6
    bound = pair_current(farads, volts)
    settled = bound * math.tanh(half / (2 * ohms * farads))
    assert settled * 1000 == pytest.approx(49.60, abs=0.01)
    assert settled * 1000 == pytest.approx(simulated, rel=2e-3)
    assert bound > settled


def test_the_cable_behind_diodes() -> None:
    """Behind two diodes back to back 0.7 V are missing: 0.4931 mA by the formula, 0.5059 mA in an ngspice run with real
    ones. The bound leaves the drop on."""
    assert pair_current(1e-9, 15 - 0.7) * 1000 == pytest.approx(0.4931, abs=5e-5)
    assert pair_current(1e-9, 15) * 1000 > 0.5059
    empty = row(lead=12, length=8, drop="0.7 V").false_a
    assert empty == pytest.approx(pair_current(1e-9, 15), rel=1e-8)


def test_mean_peak_and_root_mean_square() -> None:
    """Linear edges of a given slope into 1 nF at 15 V: peak C dV/dt, r.m.s. C dV sqrt(2 f / t), and the mean, which is
    what a threshold means, the same for both slopes. 2.5 V/us is the slowest that NEM 670 lets a power station send.

    Figures of an ngspice 39.3 run in mA: 2.5 V/us 0.5172, 1.137, 2.5; 30 V/us the same mean, 3.94, 30.
    """
    for slope, root, peak in ((2.5e6, 1.137, 2.5), (30e6, 3.94, 30.0)):
        rise, period, steps = 30 / slope, 116e-6, 200_000
        step = period / steps
        amperes = [1e-9 * slope if (n + 0.5) * step % (period / 2) < rise else 0.0 for n in range(steps)]
        assert math.fsum(amperes) / steps == pytest.approx(pair_current(1e-9, 15), rel=1e-3)
        assert math.sqrt(math.fsum(one * one for one in amperes) / steps) * 1000 == pytest.approx(root, rel=1e-3)
        assert max(amperes) * 1000 == pytest.approx(peak)


def test_the_sensitivity_of_nem_625_is_a_cable() -> None:
    """100 kohm at 15 V is 0.15 mA, what 0.29 nF take: 5.8 m of an ordinary pair read as a train at that setting."""
    empty = row(lead=2.8, length=3)
    assert empty.false_a is not None
    assert empty.false_a * 1000 == pytest.approx(0.15, rel=1e-3)
    assert rules(lead=2.8, length=3, threshold="0.15 mA", axle="15 kohm") == {"false-occupancy"}
    assert rules(lead=2.8, length=3, threshold="0.24 mA", axle="15 kohm") == set()


def test_the_roadbed() -> None:
    """V x length / leakage, by Ohm's law: 10 m of 5 Mohm m are 500 kohm, 30 uA at 15 V; under dc it is all."""
    leaky = 'leakage = "5 Mohm m"'
    assert row(control="dc", length=10, lead=2, more=leaky).false_a == pytest.approx(30e-6, rel=1e-8)
    cable = pair_current(12 * 50e-12, 15)
    assert row(length=10, lead=2, more=leaky).false_a == pytest.approx(30e-6 + cable, rel=1e-8)
    assert row(length=10, lead=2).false_a == pytest.approx(cable, rel=1e-8)
    assert row(control="dc", length=10, lead=2).false_a is None
