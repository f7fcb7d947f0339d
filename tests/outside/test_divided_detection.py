"""Two channels share what stands on rails without a gap: what each carries, by ngspice, and what is told of it.

The layout is invented: two blocks of one length, each with a channel of its own, and no gap between them.
"""

from __future__ import annotations

import pytest

from blockcheck import api
from blockcheck.analysis.power import detection
from blockcheck.analysis.power.detection import least_detected
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.network import expand
from blockcheck.solver.netlist import name_of
from tests.outside.networks.spice import run_ngspice

PAIR = """
format = 1
layout = { name = "Pair", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A", trip = "4 A" }
districts.d = { booster = "B1", feed = { wire = "2.5 mm2", length = "4 m" } }
board_types.four = { channels = 4, threshold = "0.5 mA", drop = "0.7 V" }
boards.D1 = { type = "four" }
blocks.A1-A2 = { channel = "D1.1-2", length = "6 m", harness = "h" }
joints = [{ blocks = ["A1", "A2"], gap = "none", ends = ["far", "far"] }]
harnesses.h = { bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "0.5 mm2", feeder_length = "0.2 m", \
feeder_spacing = "2 m", rail = "code83" }
loads.wagon = { axle = "15 kohm" }
"""
OFF = "rules = { gap-missing = 'off', channel-bypassed = 'off', channel-crosstalk = 'off' }\n"


def case_of(text: str, *changes: tuple[str, str]) -> Study:
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return api.loads(text, "pair.toml")


def spice_amperes(case: Study, block: str) -> float:
    """What flows from a block's channel into its bus, by the volts that ngspice has at both ends of the first wire."""
    electrics, found = Electrics.of(case, case.operations[0]), run_ngspice(api.power(case).netlist())
    wire = electrics.grid.parts["bus", block, 0]
    ends = electrics.loaded_network.resistors
    volts = [found.get(f"v({name_of(electrics.loaded, node[wire])})", 0.0) for node in (ends.a, ends.b)]
    return (volts[0] - volts[1]) / ends.ohms[wire]


def told(case: Study, block: str = "A1") -> tuple[float, float]:
    spot = least_detected(Electrics.of(case, case.operations[0]), block)
    assert spot is not None
    return spot.value, spot.at_m


@pytest.mark.parametrize("sensing", ["series", "coil"])
def test_at_the_joint_each_channel_carries_half(sensing: str) -> None:
    change = ('drop = "0.7 V"', f'drop = "0.7 V", sensing = "{sensing}"')
    amperes, at_m = told(case_of(PAIR, change))
    whole = (15 - 0.7 * (sensing == "series")) / 15_000
    assert at_m == 6.0
    assert amperes == pytest.approx(whole / 2, rel=1e-3)
    near = case_of(PAIR + 'trains.t = { vehicles = { wagon = 1 }, at = "A1", offset = "0 m" }', change)
    far = case_of(PAIR + 'trains.t = { vehicles = { wagon = 1 }, at = "A1", offset = "6 m" }', change)
    assert spice_amperes(far, "A1") == pytest.approx(amperes, rel=1e-4)
    assert amperes < spice_amperes(near, "A1") < 0.95 * whole  # already at the far end of it the other takes a part
    for case, at in ((near, "A1"), (far, "A1"), (near, "A2"), (far, "A2")):
        found = Electrics.of(case, case.operations[0]).channel_amperes(at)
        assert found == pytest.approx(spice_amperes(case, at), rel=1e-4)


def test_the_rest_of_the_load_is_none_of_the_vehicles() -> None:
    """A locomotive in the other block flows through both channels, whatever stands in this one."""
    rest = 'loads.engine = { locomotive = true, idle = "0.2 A" }\ntrains.e = { vehicles = { engine = 1 }, at = "A2" }\n'
    case = case_of(PAIR + rest)
    carried = Electrics.of(case, case.operations[0]).channel_amperes("A1")
    assert carried is not None
    assert carried > 0.02
    assert told(case)[0] == pytest.approx(told(case_of(PAIR))[0], rel=5e-3)  # the locomotive takes some volts off


def test_a_channel_beside_a_feed_without_detector_carries_nothing() -> None:
    """What needs no volts for a detector takes all of it."""
    text = PAIR.replace('blocks.A1-A2 = { channel = "D1.1-2"', 'blocks.A1 = { channel = "D1.1"').replace(
        "joints =", 'blocks.A2 = { undetected = "plain", district = "d", length = "6 m", harness = "h" }\njoints ='
    )
    assert told(case_of(text))[0] == pytest.approx(0.0, abs=1e-12)


def test_power_and_the_rule_judge_what_the_channel_carries() -> None:
    case = case_of(OFF + PAIR)
    row = api.power(case).rows[0]
    assert row.detection_a == pytest.approx(told(case)[0], rel=1e-8)
    found = [one for one in api.check(case).findings if one.rule == "vehicle-unseen"]
    assert {name for one in found for name in (one.subject, *one.alike)} == {"A1", "A2"}
    assert found[0].measured == pytest.approx(row.detection_a, rel=1e-3)
    assert "of what one wagon draws at the far end of A1 channel D1.1 carries 477 uA" in found[0].message
    assert not [
        one for one in api.check(case_of(OFF + PAIR, ('gap = "none"', 'gap = "detected"'))).findings if one.measured
    ]


def test_what_the_missing_gap_explains_is_one_finding() -> None:
    found = {one.rule for one in api.check(case_of(PAIR)).findings}
    assert "gap-missing" in found
    assert "vehicle-unseen" not in found


def test_behind_hold_resistors_too() -> None:
    """Both open behind 10 kohm: the axle's current divides there as well."""
    hold = 'isolators.I1-I2 = { hold = "10 kohm", detection = "held", usually = "open" }\n'
    case = case_of(PAIR + hold, ('channel = "D1.1-2", ', 'channel = "D1.1-2", isolator = "I1-I2", '))
    spot = least_detected(Electrics.of(case, case.operations[0]), "A1", held=True)
    assert spot is not None
    assert spot.value == pytest.approx((15 - 0.7) / (15_000 + 5_000) / 2, rel=1e-3)


@pytest.mark.parametrize("sensing", ["series", "coil"])
@pytest.mark.parametrize("large", [False, True])
def test_a_large_network_is_told_nearly_the_same(sensing: str, large: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """There one solution serves all blocks, node by node or by arrays."""
    case = case_of(PAIR, ('drop = "0.7 V"', f'drop = "0.7 V", sensing = "{sensing}"'))
    exact = told(case)
    monkeypatch.setattr(detection, "EXACT_NODES", 0)
    monkeypatch.setattr(expand, "LARGE_BLOCKS", -1 if large else 10**9)
    spot = detection.least_detected(Electrics(case, case.operations[0]), "A1")
    assert spot is not None
    assert spot.value == pytest.approx(exact[0], rel=1e-3)
    assert spot.at_m == exact[1]


def test_a_large_network_too_has_nothing_for_the_channel_that_takes_off_more(monkeypatch: pytest.MonkeyPatch) -> None:
    more = 'board_types.soft = { channels = 1, threshold = "0.5 mA", drop = "0.4 V" }\nboards.D2 = { type = "soft" }\n'
    text = PAIR + more + '[blocks.A2]\nchannel = "D2.1"\n'
    for limit in (10**9, 0):
        monkeypatch.setattr(detection, "EXACT_NODES", limit)
        assert told(case_of(text))[0] == pytest.approx(0.0, abs=1e-9)
        other = told(case_of(text), "A2")[0]
        assert other <= (15 - 0.4) / 15_000
    assert other > 0.49 * (15 - 0.4) / 15_000  # a bound: as if the other took its part


def test_what_hangs_on_a_block_without_data_is_not_computed() -> None:
    """A2 is open, and fed over the rails of A1 alone, of which no length is given."""
    change = ('blocks.A1-A2 = { channel = "D1.1-2", length = "6 m", ', 'blocks.A1-A2 = { channel = "D1.1-2", ')
    more = """
[blocks.A2]
length = "6 m"
isolator = "I1"
[isolators.I1]
usually = "open"
[loads.e]
locomotive = true
running = "1 A"
"""
    case = case_of(PAIR + more, change)
    rows = {row.block: row for row in api.power(case).rows}
    assert (rows["A2"].power, rows["A2"].voltage_v, rows["A2"].short_a, rows["A2"].detection_a) == ("on", *[None] * 3)
    needs = {(one.rule, one.subject): one.needs for one in api.check(case).unchecked}
    for rule in ("voltage-drop", "short-will-not-trip", "vehicle-unseen"):
        assert needs[rule, "A2"] == ("blocks.A1.length",)
    assert [row.voltage_v for row in api.isolate(case, "A2").blocks] == [None, None]
