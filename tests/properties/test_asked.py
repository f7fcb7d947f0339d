"""A state is asked for in the same words everywhere, and is the same state: in ``budget``, ``power``, ``wake``,
``isolate`` and ``draw``, as in what ``check`` finds."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.answers.budget import LoadRow
from blockcheck.core.errors import CallError, InputError
from blockcheck.model.link import link
from blockcheck.model.tables.selectors import place_of, selector_of

ROOT = Path(__file__).resolve().parents[2]
SMALL = ROOT / "examples" / "small-yard" / "yard.toml"


def studies() -> dict[str, Study]:
    """Every layout of the examples, of the rules' cases and of their examples that has a scenario."""
    found = {}
    for path in sorted([*ROOT.glob("examples/*/*.toml"), *ROOT.glob("tests/rules/*/*.toml")]):
        if "scenarios." in path.read_text("utf-8") and path.name != "bad.expected":
            try:
                found[str(path.relative_to(ROOT))] = api.load(path)
            except InputError:
                continue
    return found


STUDIES = studies()
CASES = [(name, one.scenario) for name, study in STUDIES.items() for one in study.operations if one.scenario]


def standing_so(study: Study, scenario: str) -> Study:
    """The layout that usually stands as it does in a scenario."""
    operation, layout = study.operation(scenario), study.layout
    moved: Mapping[str, Any] = operation.positions
    trains = dict(layout.trains)
    for one in operation.trains:
        own = trains[one.train]
        offset = own.offset_m if one.path[0] == "trains" else None
        trains[one.train] = evolve(own, **dict[str, Any](at=one.block, state=one.state, offset_m=offset))
    layout = evolve(
        layout,
        isolators={name: evolve(one, usually=moved.get(name, one.usually)) for name, one in layout.isolators.items()},
        turnouts={name: evolve(one, usually=moved.get(name, one.usually)) for name, one in layout.turnouts.items()},
        trains=trains,
    )
    return Study.of(link(study.wiring.document, layout))


PLACED = [case for case in CASES if not any(one.expects for one in STUDIES[case[0]].layout.districts.values())]
"""Where no share of what a district expects stays with blocks that usually are awake."""


@pytest.mark.parametrize(("name", "scenario"), PLACED)
def test_a_scenario_is_what_the_layout_is_that_usually_stands_so(name: str, scenario: str) -> None:
    study = STUDIES[name]
    so = standing_so(study, scenario)
    asked, plain = api.budget(study, scenario).scenarios[0], api.budget(so).scenarios[0]
    assert (asked.loads, asked.fits) == (plain.loads, plain.fits)
    assert (asked.sleep is None) == (plain.sleep is None)
    assert api.power(study, scenario).rows == api.power(so).rows
    assert api.wake(study, scenario).districts == api.wake(so).districts


@pytest.mark.parametrize(("name", "scenario"), CASES)
def test_a_scenario_asked_for_is_that_of_all(name: str, scenario: str) -> None:
    study = STUDIES[name]
    (alone,) = api.budget(study, scenario).scenarios
    assert alone in api.budget(study).scenarios
    assert alone.scenario == scenario


@pytest.mark.parametrize("name", STUDIES)
def test_answers_are_what_check_finds(name: str) -> None:
    """What is over a limit or locks out in some state is found, of that state or as usual; and the other way round."""
    study = STUDIES[name]
    findings = api.check(study).findings
    states: dict[str | None, dict[str, dict[str, float | None]]] = {}
    for operation in study.operations:
        scenario = operation.scenario
        loads = api.budget(study, scenario).scenarios[0].loads
        districts = api.wake(study, scenario).districts
        states[scenario] = {
            f"{kind}-over-current": {row.name: row.current_a for row in loads if row.kind == kind and _over(row)}
            for kind in ("district", "booster", "channel", "contact")
        }
        late = [one for one in districts if one.at_once_s is None or one.at_once_s > one.delay_s * (1 + 1e-9)]
        states[scenario]["inrush-lockout"] = {one.district: one.at_once_s for one in late}
    for scenario, bad in states.items():
        for rule in ("district-over-current", "inrush-lockout"):  # what hangs on these is not told again
            told = [one for one in findings if one.rule == rule]
            here = [one for one in told if scenario in one.others or not _scenarios(study, one.others)]
            assert bad[rule].keys() <= {name for one in here for name in (one.subject, *one.others)}, (rule, scenario)
    for one in findings:
        if one.rule in states[None]:
            when: list[str | None] = [*_scenarios(study, one.others)] or [None]
            assert all(one.subject in states[each][one.rule] for each in when)
            measured = [states[each][one.rule][one.subject] for each in when]
            assert any(value is None or value == pytest.approx(one.measured) for value in measured), one


def _over(row: LoadRow) -> bool:
    return row.limit_a is not None and row.current_a > row.limit_a


def _scenarios(study: Study, others: tuple[str, ...]) -> list[str]:
    return [name for name in others if name in study.layout.scenarios]


@pytest.mark.parametrize("tracks", ["1-2", "R3,I5", "R1-R6"])
def test_opened_is_as_a_scenario_that_opens_it(tracks: str) -> None:
    text = SMALL.read_text("utf-8")
    plain, described = api.load(SMALL), api.loads(f'{text}\n[scenarios.asked]\nopen = ["{tracks}"]\n', SMALL)
    (opened,), (scenario,) = (
        api.budget(plain, opened=tracks).scenarios,
        api.budget(described, "asked").scenarios,
    )
    assert opened.opened == api.isolate(plain, tracks).opened
    assert (opened.loads, opened.fits, opened.sleep) == (scenario.loads, scenario.fits, scenario.sleep)
    assert api.power(plain, opened=tracks).rows == api.power(described, "asked").rows
    assert api.wake(plain, opened=tracks).districts == api.wake(described, "asked").districts
    drawn = api.draw(plain, opened=tracks)
    assert drawn.lines == api.draw(described, "asked").lines


@pytest.mark.parametrize("scenario", [None, "morning"])
def test_what_isolate_leaves_is_the_budget_of_it(scenario: str | None) -> None:
    study = api.load(SMALL)
    after = {one.district: one.after_a for one in api.isolate(study, "1-2", scenario).districts}
    (budget,) = api.budget(study, scenario, "1-2").scenarios
    assert after == {row.name: row.current_a for row in budget.loads if row.kind == "district"}
    assert (budget.scenario, budget.opened) == (scenario, ("I1", "I2"))
    power = {row.block: row.power for row in api.power(study, scenario, "1-2").rows}
    assert power == {one.block: one.power for one in api.isolate(study, "1-2", scenario).blocks}


@pytest.mark.parametrize("name", STUDIES)
def test_the_sheet_of_a_scenario_is_how_it_stands(name: str) -> None:
    study = STUDIES[name]
    for operation in study.operations:
        scenario = operation.scenario
        sheet, now = api.isolate_state(study, scenario), study.now(operation.positions)
        stands, usually = knobs(study, now.state), knobs(study, study.circuit.usual)
        assert {one.switch: one.position for one in sheet.switches} == stands
        assert {one.switch for one in sheet.switches if one.moved} == {
            one for one, place in stands.items() if place != usually[one]
        }
        assert {one.block: one.power for one in sheet.blocks if one.block in study.blocks} == {
            block: now.power(block) for block in study.blocks
        }
        assert [(one.train, one.block) for one in sheet.trains] == [(one.train, one.block) for one in operation.trains]
        loads = api.budget(study, scenario).scenarios[0].loads if scenario else api.budget(study).scenarios[0].loads
        carried = {row.name: (row.current_a, row.limit_a) for row in loads if row.kind == "district"}
        assert {one.district: (one.current_a, one.limit_a) for one in sheet.districts} == carried


def knobs(study: Study, state: Mapping[str, str]) -> dict[str, str]:
    """Where each switch stands, a rotary one by the track that it has chosen."""
    rotary = {one: selector_of(study.layout, one) for one in state}
    found = {one: place for one, place in state.items() if rotary[one] is None}
    return found | {one.name: place_of(one, state) for one in rotary.values() if one is not None}


def test_the_sheet_says_what_is_lit_held_and_dead() -> None:
    told = str(api.isolate_state(STUDIES["examples/club-yard/club.toml"], "night"))
    assert "Held by a resistor: Q1, Q2, Q3, Q4 and Q5." in told
    assert "Dead: S1, S2, S3, S4, S5, S6, S7, S8, S9 and S10." in told
    assert "Asleep: boat-train, " in told
    assert "Not as meant" not in told


ASK = {"budget": api.budget, "power": api.power, "wake": api.wake, "draw": api.draw}


@pytest.mark.parametrize("command", ASK)
def test_what_is_not_there_is_refused_alike(command: str) -> None:
    study = api.load(SMALL)
    for scenario, opened, message in (
        ("nigth", None, 'there is no scenario "nigth"'),
        (None, "9", "there is no track 9"),
        (None, "neck", "neck has no isolator"),
    ):
        with pytest.raises(CallError) as told:
            ASK[command](study, scenario, opened)
        assert str(told.value) == message
        assert told.value.help


YARD = """
format = 1
layout = { name = "Withy", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A", trip = "4 A", delay = "20 ms" }
districts.yard = { booster = "B1" }
board_types.eight = { channels = 8, threshold = "1 mA" }
boards.D1 = { type = "eight", spare = [8] }
isolators.I1-I6 = { usually = "open" }
blocks.S1-S6 = { channel = "D1.1-6", isolator = "I1-I6", kind = "storage" }
blocks.lead = { channel = "D1.7", kind = "throat" }
loads.crane = { locomotive = true, idle = "300 mA", capacitance = "2 mF" }
trains.T1-T5 = { vehicles = { crane = 1 }, at = "S1-S5" }
scenarios.tonight = { closed = ["1-4", "6"] }
"""


def test_a_yard_that_sleeps_as_usual_is_woken_to_what_a_scenario_lights() -> None:
    """Four of 28 mC: 20 ms bear 2 at once, with 4 - 0.6 = 3.4 A for them, 68 mC; behind those two more take
    56 mC / (4 - 1.2) = 20 ms, no more than the delay."""
    study = api.loads(YARD)
    asleep = api.wake(study)
    assert not asleep.districts
    assert "I1, I2, I3, I4, I5 and 1 more stay open as usual" in str(asleep)
    assert "--scenario: tonight" in str(asleep)
    (yard,) = api.wake(study, "tonight").districts
    assert [(stage.close, stage.blocks) for stage in yard.stages] == [
        (("I1", "I2"), ("S1", "S2")),
        (("I3", "I4"), ("S3", "S4")),
    ]
    assert all(stage.holds for stage in yard.stages)
    assert [stage.inrush_s for stage in yard.stages] == pytest.approx([56e-3 / 3.4, 56e-3 / 2.8])
    assert yard.at_once_s == pytest.approx(112e-3 / 2.8)
    assert yard.at_any_time == ("I6",)
    assert "does NOT hold" in str(api.wake(study, "tonight"))
    (fewer,) = api.wake(study, "tonight", "3").districts
    assert [stage.close for stage in fewer.stages] == [("I1", "I2"), ("I4",)]
