"""Axles with a resistor draw V / R, in every budget as in the network: by hand, and by ngspice.

NEM 624 has resistor axles of 1 kohm to 20 kohm (references in the design); the yard is invented.
"""

from __future__ import annotations

import pytest

from blockcheck import api
from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.solver.netlist import name_of
from tests.outside.networks.spice import run_ngspice

VOLTS = 14.4
YARD = """
format = 1
layout = { name = "Coal yard", control = "dcc" }
boosters.B1 = { voltage = "14.4 V", current = "3 A", trip = "0.6 A", delay = "50 ms" }
districts.yard = { booster = "B1", current = "0.5 A", feed = { wire = "2.5 mm2", length = "3 m" } }
board_types.four = { channels = 4, threshold = "1 mA", channel_current = "0.15 A" }
boards.D1 = { type = "four" }
blocks.S1-S4 = { channel = "D1.1-4", isolator = "I1-I4", length = "3 m", harness = "h", kind = "storage" }
isolators.I1-I4 = { rating = "0.15 A" }
harnesses.h = { bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "0.5 mm2", feeder_length = "0.2 m", \
feeder_spacing = "1 m", rail = "code83" }
loads.wagon = { axle = "5 kohm" }
loads.engine = { locomotive = true, idle = "0.1 A" }
"""
PLACED = "".join(f'trains.T{n} = {{ vehicles = {{ wagon = 60 }}, at = "S{n}" }}\n' for n in range(1, 5))


def case_of(text: str, *changes: tuple[str, str]) -> Study:
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return api.loads(text, "coal.toml")


def draws(case: Study) -> dict[tuple[str, str], float]:
    budget = Budget.of(case, case.operations[0])
    every = (*budget.boosters(), *budget.districts(), *budget.channels(), *budget.contacts())
    return {(one.kind, one.name): one.current_a for one in every}


def test_placed_axles_are_in_every_budget_as_ngspice_has_them() -> None:
    """240 axles of 5 kohm at 14.4 V: 0.691 A by hand, and a little less for what the wires take off."""
    case = case_of(YARD + PLACED)
    electrics, found = Electrics.of(case, case.operations[0]), run_ngspice(api.power(case).netlist())
    loaded, sums = electrics.loaded, dict[str, float]()
    for one in electrics.loads.across:
        a, b = (found.get(f"v({name_of(loaded, node)})", 0.0) for node in (one.a, one.b))
        sums[one.block] = (a - b) / (5000 / 60)
    by_hand = 240 * VOLTS / 5000
    assert by_hand == pytest.approx(0.691, abs=5e-4)
    assert sum(sums.values()) == pytest.approx(0.688, abs=1e-3)
    told = draws(case)
    for kind, name in (("booster", "B1"), ("district", "yard")):
        assert told[kind, name] == pytest.approx(by_hand, rel=1e-9)
        assert sum(sums.values()) < told[kind, name] < 1.005 * sum(sums.values())
    for number, block in enumerate(sums, 1):
        for kind, name in (("channel", f"D1.{number}"), ("contact", f"I{number}")):
            assert told[kind, name] == pytest.approx(by_hand / 4, rel=1e-9)
            assert sums[block] < told[kind, name] < 1.005 * sums[block]
    rules = {one.rule for one in api.check(case).findings}
    assert {"district-over-current", "channel-over-current", "contact-over-current"} <= rules


def test_a_club_yard_of_wagons() -> None:
    """216 axles of 10 kohm are 0.31 A."""
    case = case_of(YARD + PLACED, ('axle = "5 kohm"', 'axle = "10 kohm"'), ("wagon = 60", "wagon = 54"))
    assert pytest.approx(0.31, abs=2e-3) == 216 * VOLTS / 10_000
    assert draws(case)["district", "yard"] == pytest.approx(216 * VOLTS / 10_000)


def test_isolating_frees_what_the_axles_drew() -> None:
    case = case_of(YARD + PLACED)
    one = api.isolate(case, "S1-S3").districts[0]
    assert one.before_a == pytest.approx(0.6912)
    assert one.after_a == pytest.approx(60 * VOLTS / 5000)
    sleep = api.budget(case).scenarios[0].sleep
    assert sleep is not None
    assert len(sleep.blocks) == 2  # of 0.691 A, 0.5 A may flow: each track draws 0.173 A


def test_axles_behind_a_hold_resistor_draw_through_it() -> None:
    """60 of 5 kohm are 83.3 ohm; behind 1 kohm 14.4 / 1083 A flow. Nothing sleeps and nothing wakes by that."""
    case = case_of(YARD + PLACED, ('rating = "0.15 A"', 'hold = "1 kohm", detection = "held"'))
    answer = api.isolate(case, "S1-S4")
    assert answer.districts[0].after_a == pytest.approx(4 * VOLTS / (1000 + 5000 / 60), rel=1e-3)
    assert not answer.unintended


@pytest.mark.parametrize("wired", [True, False])
def test_expected_wagons_count(wired: bool) -> None:
    """200 wagons of 5 kohm and 3 locomotives: 0.576 A and 0.3 A, whether the wires are known or not."""
    expects = 'booster = "B1", expects = [{ load = "wagon", count = 200 }, { load = "engine", count = 3 }]'
    case = case_of(YARD, ('booster = "B1"', expects), *([] if wired else [('length = "3 m", harness = "h", ', "")]))
    whole = 200 * VOLTS / 5000 + 0.3
    assert draws(case)["district", "yard"] == pytest.approx(whole, rel=1e-9)
    assert not [one for one in api.check(case).unchecked if one.rule == "district-over-current"]
    loaded = Electrics.of(case, case.operations[0]).loaded
    assert loaded.source_amperes[0] == pytest.approx(whole, rel=1e-6)


def test_a_wagon_without_axles_or_currents_is_not_known() -> None:
    expects = (
        'booster = "B1", expects = [{ load = "van", count = 9 }, { load = "engine", state = "running", count = 1 }]'
    )
    case = case_of(YARD + "loads.van = {}\n", ('booster = "B1"', expects))
    needs = {need for one in api.budget(case).unchecked if one.rule == "budget" for need in one.needs}
    assert needs == {"loads.van.axle", "loads.engine.running"}


def test_one_expected_wagon_is_the_least_that_a_channel_carries() -> None:
    expects = 'booster = "B1", expects = [{ load = "wagon", count = 1 }]'
    case = case_of(YARD, ('booster = "B1"', expects))
    assert draws(case)["channel", "D1.1"] == pytest.approx(VOLTS / 5000)
    assert draws(case)["district", "yard"] == pytest.approx(VOLTS / 5000)
