"""The time that decoders keep a breaker over its trip current, against a charge at constant current.

t = C dV / I: 10 x 470 uF to 13.6 V at 5 A take 12.784 ms, by the formula and in an ngspice 39.3 transient run alike.
"""

from __future__ import annotations

import pytest

from blockcheck import api

YARD = """
format = 1
layout = {{ name = "Inrush", control = "dcc" }}
boosters.B1 = {{ voltage = "13.6 V", current = "5 A", trip = "{trip} A", delay = "20 ms" }}
districts.yard = {{ booster = "B1", expects = [{{ load = "pug", count = 10 }}] }}
board_types.one = {{ channels = 1, threshold = "1 mA" }}
boards.D1 = {{ type = "one" }}
loads.pug = {{ locomotive = true, idle = "{idle} A", capacitance = "470 uF" }}
isolators.I1 = {{}}
blocks.S1 = {{ channel = "D1.1", isolator = "I1" }}
"""


@pytest.mark.parametrize(("trip", "idle"), [(5, 0.0), (6, 0.1)])
def test_constant_current(trip: float, idle: float) -> None:
    """What flows all the time is not there to charge: 6 A less ten times 0.1 A are the same 5 A."""
    (district,) = api.wake(api.loads(YARD.format(trip=trip, idle=idle), "inrush.toml")).districts
    (stage,) = district.stages
    assert stage.inrush_s == pytest.approx(12.784e-3, rel=1e-4)


SHARED = """
format = 1
layout = { name = "Inrush", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "5 A", trip = "5 A", delay = "20 ms" }
districts.east = { booster = "B1", expects = [{ load = "pug", count = 10 }] }
districts.west = { booster = "B1", expects = [{ load = "pug", count = 10 }] }
districts.own = { booster = "B1", trip = "4 A", delay = "50 ms", expects = [{ load = "pug", count = 5 }] }
board_types.three = { channels = 3, threshold = "1 mA", bank_size = 1 }
boards.D1 = { type = "three", banks = ["east", "west", "own"] }
loads.pug = { locomotive = true, idle = "0.1 A", capacitance = "500 uF" }
isolators.I1-I3 = {}
blocks.S1-S3 = { channel = "D1.1-3", isolator = "I1-I3" }
"""


def test_a_breaker_that_districts_share() -> None:
    """Districts without a breaker of their own are behind their booster's, with all that it feeds.

    25 x 500 uF x 15 V = 187.5 mC beside 2.5 A are 75 ms when the booster comes back. Woken by itself, with the others
    on, east charges 75 mC beside 2.5 A: 30 ms. With a breaker of its own, of 4 A: 37.5 mC / (4 A - 0.5 A) = 10.7 ms.
    """
    case = api.loads(SHARED, "shared.toml")
    (found,) = [one for one in api.check(case).findings if one.rule == "inrush-lockout"]
    assert (found.subject, found.alike) == ("east", ("west",))
    assert found.measured == pytest.approx(0.075)
    assert found.message.startswith(
        "when east comes back along with west and own, behind the same breaker, its decoders"
    )
    districts = {one.district: one for one in api.wake(case).districts}
    assert districts["east"].beside == ("west", "own")
    assert districts["east"].refused == ("I1",)  # 30 ms are more than 20 ms
    (stage,) = districts["own"].stages
    assert stage.inrush_s == pytest.approx(0.0375 / 3.5)
