"""What is worked out once of a case: kept for what it was made of, and for nothing that only sounds like it."""

from __future__ import annotations

from pathlib import Path

import pytest

from blockcheck import api
from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.analysis.whatif.whatif import WhatIf

YARD = Path(__file__).resolve().parents[3] / "examples" / "small-yard" / "yard.toml"


def busy(scenario: str) -> Study:
    """The small yard with one scenario, in which every locomotive is stalled: 4.8 A, where 3 A is the limit.

    The resistors of 35 wagons, each 15 kohm at 15 V, draw 35 mA besides.
    """
    text, _ = YARD.read_text(encoding="utf-8").split("[scenarios.night]")
    trains = ", ".join(f'{train} = "stalled"' for train in ("coal", "pickup", "timber", "pilot"))
    return api.loads(f"{text}[scenarios.{scenario}]\nstates = {{ {trains} }}\n", "yard.toml")


@pytest.mark.parametrize("scenario", ["Peak", "None", "usual"])
def test_no_name_of_a_scenario_hides_what_is_wrong_in_it(scenario: str) -> None:
    case = busy(scenario)
    found = {one.rule: one.measured for one in api.check(case).findings if scenario in one.others}
    assert found["district-over-current"] == pytest.approx(4.8 + 35 * 15 / 15e3)
    assert "inrush-lockout" in found


def test_every_operation_has_results_of_its_own() -> None:
    case = busy("None")
    for kind in (Budget, Electrics, WhatIf):
        usual, scenario = (kind.of(case, operation) for operation in case.operations)
        assert usual is not scenario
        assert (usual.operation, scenario.operation) == case.operations
        assert kind.of(case, case.operations[0]) is usual


def test_what_is_no_conductor_leaves_every_result_as_it_is() -> None:
    case = busy("Peak")
    joint = ("joints", 0)
    for claim in (("starved", "R1"), ("unseen", "R1"), ("over", "ropewalk", "Peak"), ("anything", "new")):
        claimed = case.mending(frozenset({claim}))
        assert claimed is not case
        assert Budget.of(claimed, case.operations[1]) is Budget.of(case, case.operations[1])
        assert Isolation(claimed).kills is Isolation(case).kills
    mended = case.mending(frozenset({joint}))
    assert Budget.of(mended, case.operations[1]) is not Budget.of(case, case.operations[1])
    assert Electrics.of(mended, case.operations[1]) is Electrics.of(case, case.operations[1])
    assert not Electrics.of(mended, case.operations[1]).study.mended


TWO_DISTRICTS = """
format = 1
[layout]
name = "Two districts"
control = "dcc"
[boosters.B1]
voltage = "15 V"
current = "1 A"
[districts.a]
booster = "B1"
current = "0.5 A"
[districts.b]
booster = "B1"
current = "2 A"
[board_types.four]
channels = 4
bank_size = 2
threshold = "1 mA"
[boards.D1]
type = "four"
banks = ["a", "b"]
[blocks.S1-S4]
channel = "D1.1-4"
[loads.engine]
locomotive = true
idle = "0.1 A"
stalled = "0.6 A"
[trains.p]
vehicles = { engine = 1 }
at = "S1"
state = "stalled"
[trains.q]
vehicles = { engine = 2 }
at = "S3"
[scenarios.NAME]
states = { p = "idle", q = "stalled" }
"""


@pytest.mark.parametrize("scenario", ["Peak", "None"])
def test_what_is_over_as_usual_hides_nothing_in_a_scenario(scenario: str) -> None:
    """Usually a district is over; in the scenario it is not, and the booster of both is."""
    case = api.loads(TWO_DISTRICTS.replace("NAME", scenario), "two.toml")
    found = {(one.rule, one.subject, scenario in one.others) for one in api.check(case).findings}
    assert {("district-over-current", "a", False), ("booster-over-current", "B1", True)} <= found


def test_a_layout_says_what_it_is() -> None:
    told = repr(api.load(YARD))
    assert told.startswith("<Study of Ropewalk sidings (")
    assert told.endswith("yard.toml): 7 blocks, 1 board, 6 isolators, 1 district, 4 trains, 2 scenarios>")
    text = b'format = 1\nlayout = { name = "Bare", control = "dcc" }\n'
    assert repr(api.loads(text, "bare.toml")) == "<Study of Bare (bare.toml): nothing>"
