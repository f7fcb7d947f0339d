"""Readings of faulty wiring against ngspice, which is given the changed circuit, and against sums by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from attrs import evolve

from blockcheck import api
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.wired import OHMS, VOLTS
from blockcheck.network.built import Change
from blockcheck.solver.netlist import name_of, netlist
from blockcheck.solver.network import Network, Sinks, Sources
from blockcheck.solver.solve import operating_point
from tests.outside.networks.spice import run_ngspice
from tests.unit.analysis.test_predict import changed_network

SMALL = Path(__file__).parents[2] / "examples/small-yard/yard.toml"
CASES = [
    ("wire.R3.detected.drop2", "drop-missing:R3.detected.2"),
    ("wire.R3.detected.near", "drop-on-wrong-rail:R3.detected.1"),
    ("wire.R6.detected.far", "bus-joint-poor:R6.4"),
    ("wire.R5.common.far", "rail-cut:neck,R5.common"),
    ("wire.R2.detected.far", "drop-on-neighbours-bus:R2.1.R3"),
    ("joint.neck.R4.detected", "gap-bridged:neck,R4.detected"),
    ("volts.R1.far", "channels-swapped:D1.1,D1.5"),
    ("volts.I2.open.R2", "isolators-swapped:I1,I2"),
]


@pytest.mark.parametrize(("test", "fault"), CASES)
def test_readings_of_a_faulty_circuit(test: str, fault: str) -> None:
    bench = Bench.of(api.load(SMALL))
    change = next(one.change for one in every_fault(bench) if one.id == fault)
    step = bench.by_id[test]
    told = predict(bench, [step], [change]).value(0, 1)
    assert isinstance(told, float)
    stage, state = bench.stages[step.kind], {**bench.state, **dict(step.state)}
    a, b = step.red.node, step.black.node
    across = (a, b, step.across) if step.across is not None else None
    network, _, _ = changed_network(bench.built, stage, state, change, across)
    if step.kind == OHMS:  # an ampere is sent through, and the volts are read
        network = _with_ampere(network, a, b)
    operating = operating_point(network)
    found = run_ngspice(netlist(network, operating))
    volts = [0.0 if name_of(operating, node) == "0" else found[f"v({name_of(operating, node)})"] for node in (a, b)]
    assert step.kind in (OHMS, VOLTS)
    assert told == pytest.approx(abs(volts[0] - volts[1]), rel=1e-5, abs=1e-6)


def _with_ampere(network: Network, a: int, b: int) -> Network:
    """The network with a source between two places that drives one ampere through it."""
    return Network(network.nodes, network.resistors, Sources([a], [b], [1e6], [1e6]), network.drops, Sinks())


BUS = 1 / 58 / 1.5
"""Ohms of a metre of the bus: copper of 1.5 mm2 at 20 degC, rho = 1/58 ohm mm2/m (IEC 60028)."""
DROP = 0.2 / 58 / 0.5
RAIL = 0.108
"""Ohms of a metre of one rail of code 83, as the layout's own table has it."""
CONTACT = 2e-4
"""What the closed isolator counts as: it is said to have nothing."""


def read(bench: Bench, test: str, fault: str | None) -> float:
    change = next(one.change for one in every_fault(bench) if one.id == fault) if fault else Change()
    told = predict(bench, [bench.by_id[test]], [change]).value(0, 1)
    assert isinstance(told, float)
    return told


def test_readings_summed_by_hand() -> None:
    """R3 is 2.4 m long behind a lead of 2.5 m, with drops at 0.6 m and 1.8 m and joints of 2 mohm every 1.2 m."""
    bench = Bench.of(api.load(SMALL))
    # the second drop is missing: 3.1 m of bus with two joints, the first drop, and 1.2 m of rail
    alone = CONTACT + 3.1 * BUS + 2 * 0.002 + DROP + 1.2 * RAIL
    assert read(bench, "wire.R3.detected.drop2", "drop-missing:R3.detected.2") == pytest.approx(alone, rel=1e-6)
    # all is right: behind the first tap, the drop and 1.2 m of rail beside 1.2 m of bus with a joint and its drop
    one, two = DROP + 1.2 * RAIL, 1.2 * BUS + 0.002 + DROP
    whole = CONTACT + 3.1 * BUS + 2 * 0.002 + one * two / (one + two)
    assert read(bench, "wire.R3.detected.drop2", None) == pytest.approx(whole, rel=1e-6)
    # a poor joint before the first drop stands in series with everything
    assert read(bench, "wire.R3.detected.drop2", "bus-joint-poor:R3.1") == pytest.approx(whole + 0.5, rel=1e-6)
    # swapped isolators: I1 open leaves R1 fed, and its test axle sees the booster less what the detector takes
    volts = read(bench, "volts.I1.open.R1", "isolators-swapped:I1,I2")
    assert volts == pytest.approx(15 - 15 * (0.7 / 15) / (1 + 0.7 / 15), rel=1e-3)
    assert read(bench, "volts.I1.open.R1", None) == 0.0


TWO = """
format = 1
layout = { name = "Two Wharves", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A", trip = "4 A" }
boosters.B2 = { voltage = "14 V", current = "3 A", trip = "4 A" }
districts.east = { booster = "B1", feed = { wire = "2.5 mm2", length = "2 m" } }
districts.west = { booster = "B2", feed = { wire = "2.5 mm2", length = "2 m" } }
board_types.plain = { channels = 2, bank_size = 1, threshold = "1.5 mA" }
boards.D1 = { type = "plain", banks = ["east", "west"] }
harnesses.bus = { bus = "1.5 mm2", common = "2.5 mm2", lead = "1 m", feeder = "0.5 mm2", feeder_length = "0.2 m", \
feeder_spacing = "2 m", rail = "code83" }
blocks.S1 = { channel = "D1.1", length = "2 m", harness = "bus" }
blocks.S2 = { channel = "D1.2", length = "2 m", harness = "other" }
joints = [{ blocks = ["S1", "S2"], gap = "both" }]
"""


def two(text: str = TWO) -> Bench:
    line = next(line for line in text.splitlines() if line.startswith("harnesses.bus"))
    tail = text.partition(line)[2].partition("\n")[0]
    return Bench.of(api.loads(text.replace("blocks.S1", f"{(line + tail).replace('.bus ', '.other ')}\nblocks.S1", 1)))


def test_a_feed_pair_the_wrong_way_round_is_seen_across_the_gap_alone() -> None:
    """Kirchhoff's voltage law: with the common rails joined, equal boosters oppose each other through the axle, and one
    that is crossed adds to the other: V1 + V2 lie across it, but for the wires."""
    bench = two()
    faults = {one.id: one for one in every_fault(bench) if one.kind == "feed-crossed"}
    assert faults.keys() == {"feed-crossed:east", "feed-crossed:west"}
    steps = list(bench.tests)
    told = predict(bench, steps, [one.change for one in faults.values()])
    at = {step.id: number for number, step in enumerate(steps)}
    volts = [told.value(at["volts.S1.S2"], case) for case in (0, 1, 2)]
    assert volts == [pytest.approx(0.0, abs=1e-6), pytest.approx(28.0, rel=2e-3), pytest.approx(28.0, rel=2e-3)]
    assert [told.value(at["polarity.S1.S2"], case) for case in (0, 1, 2)] == [
        frozenset(),
        {"D1.1", "D1.2"},
        {"D1.1", "D1.2"},
    ]
    pairs = [(step.id, *(told.value(number, case) for case in (0, 1))) for number, step in enumerate(steps)]
    seen = {
        id_ for id_, right, wrong in pairs if right != (wrong if isinstance(wrong, frozenset) else pytest.approx(wrong))
    }
    assert seen == {"volts.S1.S2", "polarity.S1.S2"}


def test_without_a_wire_across_the_other_gap_nothing_flows_from_booster_to_booster() -> None:
    bench = two()
    step = evolve(bench.by_id["volts.S1.S2"], jumper=None)
    changes = [one.change for one in every_fault(bench) if one.kind == "feed-crossed"]
    told = predict(bench, [step], changes)
    assert [told.value(0, case) for case in (0, 1, 2)] == [pytest.approx(0.0, abs=1e-6)] * 3


def test_no_polarity_is_asked_for_where_a_device_turns_it_or_one_district_feeds_both() -> None:
    turned = TWO.replace(
        'districts.west = { booster = "B2",', 'districts.west = { booster = "B2", polarity = "automatic",'
    )
    one = TWO.replace('banks = ["east", "west"]', 'banks = ["east", "east"]').replace(
        'gap = "both"', 'gap = "detected"'
    )
    assert "polarity.S1.S2" in two().by_id
    for text in (turned, one):
        assert "polarity.S1.S2" not in two(text).by_id
