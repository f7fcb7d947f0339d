"""The names of terminals: each screw has one of its own, whatever the districts and tracks are called."""

from __future__ import annotations

import pytest
from hypothesis import given

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.circuit.wires import lines
from tests.properties.layouts import Values, layouts, load

YARD = """
format = 1
[layout]
name = "Bramble Dock"
control = "dcc"
[boosters.B1]
voltage = "14 V"
current = "3 A"
[districts.{east}]
booster = "B1"
[districts.west]
booster = "B1"
[board_types.eight]
channels = 8
threshold = "1 mA"
[boards.D1]
type = "eight"
banks = "west"
[blocks.S1]
channel = "D1.1"
isolator = "X"
[isolators.X]
contact = "changeover"
between = ["{east}", "west"]
"""


def sides_hold(case: Study) -> None:
    """No terminal of a switch has a wire that comes to it and one that goes from it."""
    wires = [line for line in lines(case.wiring, case.circuit).wires if line.kind != "run"]
    for kind in ("isolator", "turnout"):
        fed = {line.end.name for line in wires if line.end.kind == kind and line.end.fixing == "screw"}
        feeding = {line.start.name for line in wires if line.start.kind == kind}
        assert not fed & feeding


@given(layouts())
def test_no_switch_has_both_its_wires_on_one_terminal(values: Values) -> None:
    sides_hold(load(values))


@pytest.mark.parametrize(("east", "out"), [("east", "out"), ("out", "common"), ("common", "out")])
def test_a_district_may_be_called_as_a_side_of_a_switch(east: str, out: str) -> None:
    case = api.loads(YARD.format(east=east), "dock.toml")
    sides_hold(case)
    strip = next(one for one in api.wires(case).strips if one.kind == "isolators")
    assert {clamp.terminal for clamp in strip.clamps} == {f"X:{east}", "X:west", f"X:{out}"}
    assert all(len(clamp.labels) == 1 for clamp in strip.clamps)
