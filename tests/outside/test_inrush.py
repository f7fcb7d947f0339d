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
    (district,) = api.wake(api.load("inrush.toml", YARD.format(trip=trip, idle=idle).encode())).districts
    (stage,) = district.stages
    assert stage.inrush_s == pytest.approx(12.784e-3, rel=1e-4)
