"""Waking in stages, against every grouping tried."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.budgets.charging import Filling
from blockcheck.analysis.budgets.inrush import Charge, district_charge
from blockcheck.analysis.budgets.waking import EXACT_UP_TO, Breaker, Sleeper, Waking, wake

MILLIAMPERES = st.sampled_from([0, 0, 50, 90, 120, 250, 400, 900])
MILLICOULOMBS = st.sampled_from([0, 6.5, 7, 9.5, 20, 33, 47])


@st.composite
def sleepers(draw: st.DrawFn, least: int = 0, most: int = 6) -> list[Sleeper]:
    count = draw(st.integers(least, most))
    return [
        Sleeper(f"I{number}", draw(MILLICOULOMBS) / 1000, draw(MILLIAMPERES) / 1000) for number in range(1, count + 1)
    ]


@st.composite
def breakers(draw: st.DrawFn) -> Breaker:
    return Breaker(draw(st.sampled_from([1.0, 1.5, 2.5, 4.0])), draw(st.sampled_from([0.01, 0.02, 0.05])))


AWAKE = st.sampled_from([0.0, 0.0, 0.3, 0.9])


def clears(group: list[Sleeper], breaker: Breaker, on: float) -> bool:
    """Charge over what is left below the trip once the group is on, by hand."""
    left = breaker.trip_a - on - sum(one.amperes for one in group)
    charge = sum(one.coulombs for one in group)
    through = [one for member in group for one in member.through]
    if charge == 0:  # what still flows through charge resistors after the delay
        still = sum(peak * math.exp(-breaker.delay_s / tau) for tau, peak in through)
        return left >= -1e-12 and (not through or (left > 1e-12 and still <= left * (1 + 1e-9)))
    charge += sum(peak * tau * (1 - math.exp(-breaker.delay_s / tau)) for tau, peak in through)
    return left > 1e-12 and charge / left <= breaker.delay_s * (1 + 1e-9)


def fewest(group: list[Sleeper], breaker: Breaker, on: float) -> int | None:
    """The fewest stages, by trying every set of sleepers first, then every set of the rest, and so on."""
    known: dict[int, int | None] = {0: 0}

    def stages(left: int) -> int | None:
        if left not in known:
            awake = on + sum(one.amperes for number, one in enumerate(group) if not left >> number & 1)
            best = None
            first = left
            while first:
                if clears([one for number, one in enumerate(group) if first >> number & 1], breaker, awake):
                    rest = stages(left & ~first)
                    if rest is not None and (best is None or rest + 1 < best):
                        best = rest + 1
                first = (first - 1) & left
            known[left] = best
        return known[left]

    return stages((1 << len(group)) - 1)


def serves(plan: Waking, group: list[Sleeper], breaker: Breaker, on: float) -> None:
    """Every stage clears within the delay, and every sleeper is somewhere once."""
    for stage in plan.stages:
        assert stage
        assert clears(list(stage), breaker, on)
        on += sum(one.amperes for one in stage)
    found = [one.isolator for stage in (*plan.stages, plan.refused) for one in stage]
    assert sorted(found) == sorted(one.isolator for one in group)


@given(sleepers(), breakers(), AWAKE)
def test_fewest_stages(group: list[Sleeper], breaker: Breaker, on: float) -> None:
    plan = wake(group, breaker, on)
    serves(plan, group, breaker, on)
    able = [one for one in group if one not in plan.refused]
    assert len(plan.stages) == plan.least == fewest(able, breaker, on)
    event(f"{len(plan.stages)} stages, {len(plan.refused)} refused")


THROUGH = st.sampled_from([(), (), ((0.01, 0.5),), ((0.03, 0.2),), ((0.01, 0.15), (0.1, 0.15))])


@given(sleepers(), breakers(), AWAKE, st.data())
def test_fewest_stages_through_charge_resistors(
    group: list[Sleeper], breaker: Breaker, on: float, data: st.DataObject
) -> None:
    """All through resistors they are the fewest; beside others there are never fewer than said."""
    pure = data.draw(st.booleans())
    group = [Sleeper(one.isolator, 0.0 if pure else one.coulombs, one.amperes, data.draw(THROUGH)) for one in group]
    plan = wake(group, breaker, on)
    serves(plan, group, breaker, on)
    best = fewest([one for one in group if one not in plan.refused], breaker, on)
    assert best is not None
    assert plan.least <= best <= len(plan.stages)
    assert not pure or plan.least == len(plan.stages)


@given(sleepers(), breakers(), AWAKE)
def test_no_more_are_refused_than_must_be(group: list[Sleeper], breaker: Breaker, on: float) -> None:
    plan = wake(group, breaker, on)
    best = max(
        (
            one.bit_count()
            for one in range(1 << len(group))
            if fewest([group[n] for n in range(len(group)) if one >> n & 1], breaker, on) is not None
        ),
        default=0,
    )
    assert len(group) - len(plan.refused) == best


@settings(max_examples=40)
@given(sleepers(least=EXACT_UP_TO + 1, most=60), st.sampled_from([20.0, 60.0]), AWAKE)
def test_many(group: list[Sleeper], trip_a: float, on: float) -> None:
    """Beyond what is exact the stages serve all the same, and there are no fewer than said."""
    breaker = Breaker(trip_a, 0.05)
    assume(sum(one.amperes for one in group) < trip_a - 1)
    plan = wake(group, breaker, on)
    serves(plan, group, breaker, on)
    assert plan.least <= len(plan.stages)


def test_who_charges_much_wakes_before_who_draws_much() -> None:
    """First the larger of two does not serve here: once 0.95 A flow, 9 mC no longer clear within 10 ms at 1 A."""
    drawing, charging = Sleeper("I1", 0.0, 0.95), Sleeper("I2", 0.009, 0.0)
    plan = wake([drawing, charging], Breaker(1.0, 0.01))
    assert plan.stages == ((charging,), (drawing,))
    assert plan.refused == ()


def test_a_constant_current_charges_a_capacitor() -> None:
    """t = C dV / I (constant-current charge): 10 x 470 uF to 13.6 V at 5 A takes 12.784 ms, as in ngspice 39.3."""
    assert Charge(Filling(10 * 470e-6 * 13.6)).seconds(5.0) == pytest.approx(12.784e-3, rel=1e-4)
    # 6 A less a steady ampere are 5 A
    assert Charge(Filling(10 * 470e-6 * 13.6), 1.0).seconds(6.0) == pytest.approx(12.784e-3, rel=1e-4)
    ten = [Sleeper(f"I{number}", 470e-6 * 13.6, 0.0) for number in range(10)]
    assert Breaker(5.0, 0.1).seconds(ten, 0.0) == pytest.approx(12.784e-3, rel=1e-4)
    assert len(wake(ten, Breaker(5.0, 12.785e-3)).stages) == 1
    assert len(wake(ten, Breaker(5.0, 12.783e-3)).stages) == 2


def test_what_is_never_served() -> None:
    assert Charge(Filling(0.01), 5.0).seconds(5.0) is None
    assert Charge(Filling(0.01), 6.0).seconds(5.0) is None
    assert Charge(Filling(), 4.0).seconds(5.0) == 0.0
    assert Breaker(5.0, 0.1).seconds([Sleeper("I1", 0.01, 2.0)], 3.0) is None


LAYOUT = """\
format = 1
layout = {{ name = "Waking", control = "dcc" }}
boosters.B1 = {{ voltage = "13.6 V", current = "4 A", trip = "5 A", delay = "{delay}" }}
districts.d = {{ booster = "B1" }}
board_types.twelve = {{ channels = 12, threshold = "1 mA" }}
boards.D1 = {{ type = "twelve" }}
loads.engine = {{ locomotive = true, idle = "{idle}", running = "0.3 A", capacitance = "470 uF" }}
blocks = {{ S1-S10 = {{ channel = "D1.1-10", isolator = "I1-I10", kind = "storage" }}, neck = {{ channel = "D1.11" }} }}
isolators.I1-I10 = {{}}
"""
TRAINS = "\n".join(f'trains.T{number} = {{ vehicles = {{ engine = 1 }}, at = "S{number}" }}' for number in range(1, 11))


def test_ten_engines_on_a_layout() -> None:
    """The same ten of 470 uF, in a district of 13.6 V that trips at 5 A."""
    case = api.loads(LAYOUT.format(delay="30 ms", idle="0 A") + TRAINS, "wake.toml")
    bound = district_charge(case, Budget.of(case, case.operations[0]), "d")
    assert bound is not None
    assert bound.seconds(5.0) == pytest.approx(12.784e-3, rel=1e-4)
    (district,) = api.wake(case).districts
    assert [len(stage.close) for stage in district.stages] == [10]
    assert district.stages[0].inrush_s == pytest.approx(12.784e-3, rel=1e-4)


@pytest.mark.parametrize(
    ("delay", "idle", "stages"),
    [("12.8 ms", "0 A", 1), ("12.7 ms", "0 A", 2), ("8 ms", "0.1 A", 2), ("7.9 ms", "0.1 A", 3)],
)
def test_stages_on_a_layout(delay: str, idle: str, stages: int) -> None:
    """Of 0.1 A each, n engines clear on top of m while 6.392 mC n <= delay x (5 A - 0.1 A (m + n)): five clear on top
    of five in 7.99 ms, and in 7.9 ms only four do."""
    case = api.loads(LAYOUT.format(delay=delay, idle=idle) + TRAINS, "wake.toml")
    (district,) = api.wake(case).districts
    assert len(district.stages) == district.least == stages
    assert district.refused == ()
    for stage in district.stages:
        assert stage.inrush_s is not None
        assert stage.inrush_s <= district.delay_s * (1 + 1e-9)
    assert district.stages[-1].steady_a == pytest.approx(10 * float(idle.removesuffix(" A")))
    assert sorted(one for stage in district.stages for one in stage.close) == sorted(f"I{n}" for n in range(1, 11))
