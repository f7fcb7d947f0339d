"""Whole layouts against another program: node voltages of our networks equal an ngspice operating point.

The deck is the one that ``blockcheck power --netlist`` writes, loads and detector drops included.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from blockcheck import api
from blockcheck.analysis.case import Case
from blockcheck.analysis.electrics import Electrics
from blockcheck.circuit.solver.netlist import name_of
from tests.outside.networks.spice import run_ngspice

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml", "faulty-yard/yard.toml")

YARD = """\
format = 1
[layout]
name = "Bench"
control = "dcc"
[boosters.B1]
voltage = "15 V"
current = "3 A"
resistance = "0.05 ohm"
[boosters.B2]
voltage = "14 V"
current = "3 A"
[districts.east]
booster = "B1"
return = "earth"
feed = { wire = "1.5 mm2", length = "5 m" }
expects = [{ load = "shunter", count = 2 }]
[districts.west]
booster = "B2"
return = "earth"
feed = { wire = "14 AWG", length = "7 m" }
[loads.shunter]
locomotive = true
idle = "120 mA"
running = "0.4 A"
[loads.wagon]
axle = "10 kohm"
[trains.goods]
vehicles = { shunter = 1, wagon = 3 }
at = "B1"
[board_types.four]
channels = 4
threshold = "1 mA"
drop = "0.7 V"
[boards.D1]
type = "four"
banks = ["east"]
[boards.D2]
type = "four"
banks = ["west"]
[blocks.A1-A3]
channel = "D1.1-3"
isolator = "I1-I3"
length = "4 m"
harness = "bench"
[blocks.B1-B2]
channel = "D2.1-2"
length = "3 m"
harness = "bench"
[isolators.I1-I3]
contact_resistance = "15 mohm"
[isolators.I1]
hold = "10 kohm"
[harnesses.bench]
bus = "0.75 mm2"
common = "1.5 mm2"
lead = "2 m"
feeder = "0.5 mm2"
feeder_length = "0.15 m"
feeder_spacing = "1.5 m"
segment = "1.1 m"
joint_resistance = "3 mohm"
rail = "code70"
[[joints]]
blocks = ["A1-A2", "A2-A3"]
gap = "detected"
[[joints]]
blocks = ["A3", "B1"]
gap = "both"
[[joints]]
blocks = ["B1", "B2"]
gap = "detected"
"""

CHANGES = {
    "as it is": [],
    "an open isolator with a hold resistor": [("[isolators.I1]\n", '[isolators.I1]\nusually = "open"\n')],
    "bridged channels": [('["B1", "B2"]\ngap = "detected"', '["B1", "B2"]\ngap = "none"')],
    "a changeover before a bank": [
        ('harness = "bench"\n[isolators', 'harness = "bench"\nisolator = "X"\n[isolators'),
        ("[isolators.I1]\n", '[isolators.X]\ncontact = "changeover"\nbetween = ["west", "east"]\n[isolators.I1]\n'),
    ],
    "isolators in the common rail": [("[isolators.I1-I3]\n", '[isolators.I1-I3]\nside = "common-rail"\n')],
    "a load that starves": [('lead = "2 m"', 'lead = "700 m"'), ('bus = "0.75 mm2"', 'bus = "0.14 mm2"')],
    "coils instead of drops": [('drop = "0.7 V"', 'sensing = "coil"')],
}


def agree(case: Case) -> int:
    """Hold every node voltage against ngspice's; returns how many there were."""
    electrics = Electrics.of(case, case.operations[0])
    found = run_ngspice(api.netlist(case))
    count = 0
    for node, volts in enumerate(electrics.loaded.volts):
        name = f"v({name_of(electrics.loaded, node)})"
        if name in found:
            assert volts == pytest.approx(found[name], rel=1e-6, abs=1e-9), name
            count += 1
    return count


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_agrees(name: str) -> None:
    case = api.load(ROOT / "examples" / name)
    assert Electrics.of(case, case.operations[0]).grid.tracks
    assert agree(case) > 50


@pytest.mark.parametrize("name", CHANGES)
def test_a_bench_layout_agrees(name: str) -> None:
    text = YARD
    for before, after in CHANGES[name]:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    case = api.load("bench.toml", text.encode())
    electrics = Electrics.of(case, case.operations[0])
    assert not electrics.grid.lacking
    assert electrics.loaded.converged
    assert bool(electrics.loaded.asleep) == (name == "a load that starves")
    assert agree(case) > 50


def test_one_block_by_hand() -> None:
    """One block with one drop in the middle, every resistance added up by hand.

    Copper 1/58 ohm mm2/m (IEC 60028); code 83 rail 0.108 ohm/m (measured, community reference page on rail size).
    """
    text = """\
format = 1
layout = { name = "One", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A", trip = "4 A" }
districts.d = { booster = "B1", feed = { wire = "2 mm2", length = "3 m" } }
board_types.one = { channels = 1, threshold = "1 mA", drop = "0.7 V" }
boards.D1 = { type = "one" }
loads.engine = { locomotive = true, running = "0.5 A" }
harnesses.h = { bus = "1 mm2", common = "2 mm2", lead = "2 m", feeder = "0.5 mm2", feeder_length = "0.1 m", \
feeder_spacing = "10 m", segment = "1 m", joint_resistance = "5 mohm", rail = "code83" }
blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h" }
"""
    row = api.power(api.load("one.toml", text.replace("\\\n", "").encode())).rows[0]
    rho = 1 / 58
    feed = 2 * rho * 3 / 2
    # the drop is 3 m from the board; the bus of 4 m is joined at 1, 2 and 3 m, and so is the common
    bus, common, joints = rho * 3 / 1, rho * 3 / 2, 2 * 3 * 0.005
    drops, rails = 2 * rho * 0.1 / 0.5, 2 * 0.108 * 1.0
    loop = feed + bus + common + joints + drops + rails
    assert row.short_a == pytest.approx((15 - 0.7) / loop, rel=1e-6)
    assert row.voltage_v == pytest.approx(15 - 0.7 - 0.5 * loop, rel=1e-6)
    assert row.voltage_at_m in (0.0, 2.0)
