"""How long charge resistors hold a breaker over its trip current, against textbook, scipy's root finder and an ODE.

A capacitor C behind R at V: i = V / R e^(-t / RC), and it has Vc after R C ln(V / (V - Vc)) (OpenStax University
Physics 2, section 10.5).
"""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

import blockcheck
from blockcheck.analysis.budgets.charging import Filling
from blockcheck.analysis.budgets.inrush import Charge
from blockcheck.analysis.budgets.waking import Breaker, Sleeper

VOLTS = 15.0
PARTS = st.lists(
    st.tuples(st.sampled_from([22.0, 47.0, 100.0, 220.0]), st.sampled_from([470e-6, 1e-3, 4.7e-3])), max_size=6
)


def filling(parts: list[tuple[float, float]]) -> Filling:
    return Filling.all(Filling.of(farads, ohms, VOLTS) for ohms, farads in parts)


def test_one_by_the_textbook() -> None:
    """100 ohm, 1000 uF at 15 V: 150 mA at first, RC = 0.1 s; above 50 mA until the capacitor has 10 V."""
    one = filling([(100.0, 1e-3)])
    assert one.peak_a == pytest.approx(0.15)
    expected = 0.1 * math.log(15 / (15 - 10))
    assert one.seconds(0.05) == pytest.approx(expected, rel=1e-12)
    assert Charge(one, 1.0).seconds(1.05) == pytest.approx(expected, rel=1e-9)
    assert Breaker(1.05, 1.0).seconds([Sleeper("I1", 0.0, 1.0, one.through)], 0.0) == pytest.approx(expected, rel=1e-9)
    assert one.seconds(0.15) == 0.0
    assert one.seconds(0.0) is None


@given(PARTS, st.floats(0.02, 3.0))
def test_several_by_a_root_finder(parts: list[tuple[float, float]], spare: float) -> None:
    def flows(t: float) -> float:
        return sum(VOLTS / ohms * math.exp(-t / (ohms * farads)) for ohms, farads in parts) - spare

    found = filling(parts).seconds(spare)
    assert found == pytest.approx(0.0 if flows(0) <= 0 else brentq(flows, 0.0, 60.0, xtol=1e-14), rel=1e-9, abs=1e-12)


@given(PARTS, st.floats(0.1, 3.0), st.sampled_from([1e-3, 0.01, 0.05]))
def test_beside_what_nothing_limits_by_a_root_finder(
    parts: list[tuple[float, float]], spare: float, coulombs: float
) -> None:
    whole = Filling.all([filling(parts), Filling(coulombs)])

    def left(t: float) -> float:
        return spare * t - coulombs - sum(farads * VOLTS * -math.expm1(-t / (ohms * farads)) for ohms, farads in parts)

    most = (coulombs + sum(farads * VOLTS for _, farads in parts)) / spare
    assert whole.seconds(spare) == pytest.approx(brentq(left, most * 1e-12, most * 1.001, xtol=1e-15), rel=1e-9)
    assert Filling(coulombs).seconds(spare) == pytest.approx(coulombs / spare, rel=1e-12)


@pytest.mark.parametrize("loop", [0.2, 1.0, 3.0])
def test_a_bound_whatever_the_loop_resistance(loop: float) -> None:
    """Five decoders of 470 uF with nothing in the way, and ten of 1000 uF behind 100 ohm, behind a loop of some ohms:
    the time for which more than 0.8 A flow is less than the bound."""
    bare, ohms, farads, many = 5 * 470e-6, 100.0, 1e-3, 10

    def charge(_t: float, v: np.ndarray[tuple[int], np.dtype[np.float64]]) -> list[float]:
        rail, stay = v
        into = many * (rail - stay) / ohms
        return [((VOLTS - rail) / loop - into) / bare, (rail - stay) / (ohms * farads)]

    run = solve_ivp(charge, (0.0, 0.5), [0.0, 0.0], method="LSODA", rtol=1e-9, atol=1e-9, dense_output=True)
    times = np.linspace(0.0, 0.5, 50_001)
    assert run.sol is not None
    above = times[(VOLTS - run.sol(times)[0]) / loop > 0.8].max()
    bound = Filling.all([Filling(bare * VOLTS), filling([(ohms, farads)] * many)]).seconds(0.8)
    assert bound is not None
    assert 0.05 < above < bound < 1.0


YARD = """
format = 1
layout = {{ name = "Inrush", control = "dcc" }}
boosters.B1 = {{ voltage = "15 V", current = "2 A", trip = "2 A", delay = "{delay}" }}
districts.yard = {{ booster = "B1", expects = [{{ load = "pug", count = 10 }}] }}
board_types.one = {{ channels = 10, threshold = "1 mA" }}
boards.D1 = {{ type = "one" }}
loads.pug = {{ locomotive = true, idle = "0.1 A", capacitance = "1000 uF"{more} }}
isolators.I1-I10 = {{}}
blocks.S1-S10 = {{ channel = "D1.1-10", isolator = "I1-I10" }}
"""
LIMITED = ', charge_resistance = "100 ohm"'


def test_a_district_comes_back() -> None:
    """Ten behind 100 ohm: 1.5 A at first beside 1 A, above 2 A for 0.1 s ln 1.5 = 40.5 ms. Without: 150 mC at 1 A."""
    wakes = [
        blockcheck.wake(blockcheck.loads(YARD.format(delay="45 ms", more=more), "yard.toml")).districts[0]
        for more in (LIMITED, "")
    ]
    assert wakes[0].at_once_s == pytest.approx(0.1 * math.log(1.5), rel=1e-9)
    assert wakes[1].at_once_s == pytest.approx(0.15, rel=1e-9)
    assert [len(one.stages) for one in wakes] == [1, 3]
    (stage,) = wakes[0].stages
    assert stage.peak_a == pytest.approx(2.5)
    assert stage.holds
    assert wakes[1].stages[0].peak_a is None

    def rules(delay: str, more: str) -> set[str]:
        case = blockcheck.loads(YARD.format(delay=delay, more=more), "yard.toml")
        return {one.rule for one in blockcheck.check(case, date(2031, 6, 1)).findings}

    assert "inrush-lockout" not in rules("45 ms", LIMITED)
    assert "inrush-lockout" in rules("45 ms", "")
    assert "inrush-lockout" in rules("40 ms", LIMITED)


def test_what_is_not_modelled_names_those_that_say_none() -> None:
    told = {}
    for more in (LIMITED, ""):
        answer = blockcheck.check(blockcheck.loads(YARD.format(delay="45 ms", more=more), "yard.toml"))
        told[more] = "charge resistors" in str(answer)
    assert told == {LIMITED: False, "": True}
