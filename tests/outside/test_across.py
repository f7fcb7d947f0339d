"""What lies across rails and bus pairs for good, against sums by hand and figures of an ngspice transient run.

Copper: rho = 1/58 ohm mm2/m at 20 degC (IEC 60028). Half a one-bit of the track signal is 58 us (NMRA S-9.1).
"""

from __future__ import annotations

import math
from datetime import date

import pytest

import blockcheck
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.circuit.across import track_ohm
from blockcheck.model.layout import Across

RHO = 1 / 58
YARD = """
format = 1
layout = { name = "Larch Lamps", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A", trip = "4 A", delay = "50 ms" }
districts.quay = { booster = "B1", feed = { wire = "2.5 mm2", length = "3 m" } }
board_types.two = { channels = 2, threshold = "1 mA", drop = "0.7 V" }
boards.D1 = { type = "two" }
loads.pug = { locomotive = true, idle = "0.1 A", running = "0.4 A", capacitance = "100 uF" }
harnesses.main = { bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "1 mm2", feeder_length = "0.2 m", \
rail = "code83", capacitance = "50 pF/m" }
isolators.I1-I2 = { rating = "6 A" }
blocks.Q1-Q2 = { channel = "D1.1-2", isolator = "I1-I2", length = "1 m", harness = "main", feeders_at = ["0.5 m"] }
joints = [{ blocks = ["Q1", "Q2"], gap = "detected" }]
rules = { same-start = "off" }
"""
LAMP = 'blocks.Q1.across = { resistance = "1.5 kohm" }\n'
FILTER = ', terminator = { resistance = "150 ohm", capacitance = "0.1 uF" }'
MAIN = 'capacitance = "50 pF/m"'


def study(*more: str, text: str = YARD) -> blockcheck.types.Study:
    return blockcheck.loads(text + "".join(more), "quay.toml")


def told(*more: str, text: str = YARD) -> list[tuple[str, str]]:
    found = blockcheck.check(study(*more, text=text), date(2031, 6, 1)).findings
    return [(one.rule, one.subject) for one in found]


def test_a_lamp_draws_what_the_wires_leave_it() -> None:
    """At the far end of Q1, half a metre of rails beyond its only drops: code 83 has 108 mohm a metre of one rail."""
    case = study(LAMP)
    electrics = Electrics.of(case, case.operations[0])
    wires = RHO * (2 * 3 / 2.5 + 2.5 / 1.5 + 2.5 / 2.5 + 2 * 0.2 / 1) + 2 * 0.5 * 0.108
    amperes = (15 - 0.7) / (1500 + wires)
    # the common rails of both blocks are one, and a part of the return goes by the other's drop
    assert electrics.channel_amperes("Q1") == pytest.approx(amperes, rel=1e-4)
    apart = study(LAMP, text=YARD.replace('gap = "detected"', 'gap = "both"'))
    electrics = Electrics.of(apart, apart.operations[0])
    assert electrics.channel_amperes("Q1") == pytest.approx(amperes, rel=1e-9)
    assert electrics.channel_amperes("Q2") == pytest.approx(0.0, abs=1e-12)


def test_it_is_in_every_budget_of_its_way() -> None:
    """A bound: all of the booster's 15 V over 1.5 kohm."""
    draws = {(one.kind, one.name): one.current_a for one in blockcheck.budget(study(LAMP)).scenarios[0].loads}
    for what in (("booster", "B1"), ("district", "quay"), ("channel", "D1.1"), ("contact", "I1")):
        assert draws[what] == pytest.approx(15 / 1500, rel=1e-9)
    assert draws.get(("channel", "D1.2"), 0.0) == 0.0
    expected = YARD.replace('length = "3 m" }', 'length = "3 m" }, expects = [{ load = "pug", count = 2 }]')
    more = {
        (one.kind, one.name): one.current_a for one in blockcheck.budget(study(LAMP, text=expected)).scenarios[0].loads
    }
    assert more["district", "quay"] == pytest.approx(0.2 + 0.01, rel=1e-9)
    assert more["channel", "D1.1"] == pytest.approx(0.1 + 0.01, rel=1e-9)  # one pug, and the lamp


@pytest.mark.parametrize(("ohms", "volts", "simulated"), [(150.0, 15.0, 49.53)])
def test_a_filter_draws_its_rectified_mean(ohms: float, volts: float, simulated: float) -> None:
    """Mean of |i| in an ngspice 39.3 transient run, mA: 0.1 uF behind 150 ohm under a stream of ones."""
    part = Across(resistance_ohm=ohms, capacitance_f=0.1e-6)  # type: ignore[arg-type]
    assert volts / track_ohm(part, digital=True) * 1000 == pytest.approx(simulated, rel=2e-3)
    assert track_ohm(part, digital=False) == math.inf
    bare = Across(capacitance_f=0.1e-6)  # type: ignore[arg-type]
    assert volts / track_ohm(bare, digital=True) == pytest.approx(4 * 0.1e-6 * volts / 116e-6, rel=1e-12)
    long = Across(resistance_ohm=ohms, capacitance_f=1.0)  # type: ignore[arg-type]
    assert track_ohm(long, digital=True) == pytest.approx(ohms, rel=1e-9)


def test_a_terminator_lies_at_the_end_of_each_bus_pair() -> None:
    """Beyond the feeds, 2.5 m of bus and of common, and no drop nor rail."""
    both = YARD.replace('gap = "detected"', 'gap = "both"').replace(MAIN, MAIN + FILTER)
    case = study(
        text=both.replace(
            'blocks.Q1-Q2 = { channel = "D1.1-2", isolator = "I1-I2"',
            'blocks.Q1-Q1 = { channel = "D1.1-1", isolator = "I1-I1"',
        )
        .replace("I1-I2 =", "I1-I1 =")
        .replace('joints = [{ blocks = ["Q1", "Q2"], gap = "both" }]', "")
    )
    electrics = Electrics.of(case, case.operations[0])
    own = track_ohm(Across(resistance_ohm=150.0, capacitance_f=1e-7), digital=True)  # type: ignore[arg-type]
    wires = RHO * (2 * 3 / 2.5 + 2.5 / 1.5 + 2.5 / 2.5)
    assert electrics.channel_amperes("Q1") == pytest.approx((15 - 0.7) / (own + wires), rel=1e-9)
    two = study(text=both)
    found = Electrics.of(two, two.operations[0])
    assert all(found.channel_amperes(block) > 0.04 for block in ("Q1", "Q2"))  # type: ignore[operator]
    assert told(text=both) == [("occupied-for-ever", "Q1")]


def test_cable_and_what_was_put_there_are_told_once() -> None:
    """50 pF/m over 3 m are 0.0776 mA at 15 V. Of 1 mA with a margin of 1.5 that leaves 0.589 mA: 25.5 kohm."""
    for ohms, rules in (("26 kohm", []), ("25 kohm", ["occupied-for-ever"]), ("1 kohm", ["occupied-for-ever"])):
        assert [rule for rule, _ in told(LAMP.replace("1.5 kohm", ohms))] == rules
    wet = YARD.replace(MAIN, 'capacitance = "1 nF/m"')
    assert [rule for rule, _ in told(LAMP.replace("1.5 kohm", "26 kohm"), text=wet)] == ["false-occupancy"]
    assert [rule for rule, _ in told(LAMP, text=wet)] == ["false-occupancy", "occupied-for-ever"]


def test_an_empty_block_that_reads_is_no_clear_one() -> None:
    night = 'scenarios.night = {{ expect = {{ {} = ["Q1"] }} }}\nrules.occupied-for-ever = "off"\n'
    text = YARD.replace('rules = { same-start = "off" }', 'rules.same-start = "off"')
    assert told(LAMP, night.format("occupied"), text=text) == []
    assert told(LAMP, night.format("clear"), text=text) == [("scenario-expectation", "night")]


def test_under_dc_a_capacitor_is_charged_once() -> None:
    """C V is served by all that the breaker lets through above what flows; nothing flows afterwards."""
    cab = YARD.replace('control = "dcc"', 'control = "dc"')
    lamp = 'blocks.Q1.across = { capacitance = "4700 uF" }\n'
    case = study(lamp, text=cab)
    assert Electrics.of(case, case.operations[0]).channel_amperes("Q1") == pytest.approx(0.0, abs=1e-12)
    (district,) = blockcheck.wake(case).districts
    assert district.at_once_s == pytest.approx(4700e-6 * 15 / 4, rel=1e-9)


def test_behind_a_hold_resistor_it_draws_less() -> None:
    held = YARD.replace('rating = "6 A"', 'rating = "6 A", hold = "15 kohm", usually = "open"')
    draws = {
        (one.kind, one.name): one.current_a for one in blockcheck.budget(study(LAMP, text=held)).scenarios[0].loads
    }
    assert draws["district", "quay"] == pytest.approx(15 / (1500 + 15000), rel=1e-2)
    assert ("occupied-for-ever", "Q1") in told(LAMP, text=held)
    assert "occupied-for-ever" not in dict(told(LAMP.replace("1.5 kohm", "15 kohm"), text=held))


def test_the_bench_sees_a_missing_lamp_and_a_filter_under_power() -> None:
    """A meter reads the lamp across the rails with the buses pulled off; direct current sees no filter."""
    case = study(LAMP, text=YARD.replace(MAIN, MAIN + FILTER))
    bench = Bench.of(case)
    rails, axle = bench.by_id["rails.Q1"], bench.by_id["axle.Q2.near"]
    faults = [one for one in every_fault(bench) if one.kind.startswith("across")]
    assert {one.id for one in faults if one.kind == "across-missing"} == {
        "across-missing:Q1.bus",
        "across-missing:Q1.rails",
        "across-missing:Q2.bus",
    }
    found = predict(bench, [rails, axle], [one.change for one in faults])
    numbers = {one.id: found.value(0, case_) for case_, one in enumerate(faults, 1)}
    assert found.value(0, 0) == pytest.approx(1500, rel=1e-3)
    assert numbers["across-missing:Q1.rails"] == 1e5
    assert numbers["across-wrong:Q1.rails.0.1"] == pytest.approx(150, rel=1e-2)
    assert numbers["across-missing:Q1.bus"] == pytest.approx(1500, rel=1e-3)
    read = {one.id: found.value(1, case_) for case_, one in enumerate(faults, 1)}
    assert found.value(1, 0) == frozenset({"D1.1", "D1.2"})  # Q1 reads for ever
    assert read["across-missing:Q2.bus"] == frozenset({"D1.1", "D1.2"})  # the axle in it reads all the same


def test_it_is_on_the_shopping_list_and_a_change_to_fit() -> None:
    with_both = study(LAMP, text=YARD.replace(MAIN, MAIN + FILTER))
    text = " ".join(str(blockcheck.wires(with_both)).split())
    assert "Across rails and bus pairs for good: 2 of 150 ohm and 100 nF, 1 of 1.5 kohm." in text
    answer = " ".join(str(blockcheck.compare(study(), with_both, date(2031, 6, 1))).split())
    assert "fit 1.5 kohm across the rails of Q1, at the far end" in answer
    assert "fit 150 ohm and 100 nF in series across the bus pair of Q2, at the far end" in answer
    other = " ".join(str(blockcheck.compare(study(LAMP), study(LAMP.replace("1.5", "2")), date(2031, 6, 1))).split())
    assert "exchange what lies across the rails of Q1: 2 kohm (was 1.5 kohm)" in other
    assert "take 1.5 kohm off the rails of Q1" in " ".join(
        str(blockcheck.compare(study(LAMP), study(), date(2031, 6, 1))).split()
    )


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ("blocks.Q1.across = {}\n", "nothing is said of what lies here"),
        ("harnesses.other.terminator = {}\n", "nothing is said of what lies here"),
        ('blocks.Q1.across = { resistance = "0 ohm" }\n', "above 0"),
        ('blocks.P = { unpowered = "a plinth", across = { resistance = "1 kohm" } }\n', "plain track without power"),
    ],
)
def test_what_cannot_be_is_refused(more: str, message: str) -> None:
    with pytest.raises(blockcheck.InputError) as caught:
        study(more)
    assert message in str(caught.value)
