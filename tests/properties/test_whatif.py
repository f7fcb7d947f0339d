"""What-ifs on islands say what solving the whole layout anew says."""

from __future__ import annotations

from itertools import islice
from pathlib import Path

import pytest
from attrs import evolve
from hypothesis import event, given, settings
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.analysis.whatif.whatif import WhatIf
from blockcheck.answers import isolate as answers
from blockcheck.answers import states
from blockcheck.answers.each import isolate_each
from blockcheck.core.errors import CallError
from blockcheck.model.operate import Operation, after_opening, open_position
from tests.benchmarks.generate import layout
from tests.outside.yards import Values, case_of, yards
from tests.properties.test_large import EXAMPLES, LAYOUTS

FILES = [file for file in EXAMPLES + LAYOUTS if "[layout]" in file.read_text("utf-8")]
MOST = 12
"""So many isolators of a layout are tried."""


def same(one: float | None, other: float | None) -> bool:
    """Both within 1e-9 V, both floating, or both unknown."""
    if one is None or other is None:
        return one is other
    return abs(one - other) <= 1e-9 or (one != one and other != other)


def hold(case: Study, operation: Operation, isolators: list[str]) -> None:
    """Every block, inside the islands and out of them, is what it is in the whole solution."""
    change = WhatIf.of(case, operation).opened(isolators)
    opened = after_opening(case.wiring, operation, isolators)
    before, after = Electrics(case, operation), Electrics(case, opened)
    found = {one.block: one for one in change.blocks}
    for block in case.blocks:
        volts = change.volts.get(block, before.volts(block))
        assert same(volts, after.volts(block)), (isolators, block)
        was = before.feeding.now.power(block), before.volts(block)
        now = after.feeding.now.power(block), after.volts(block)
        if block in found:
            assert (found[block].before.power, found[block].after.power) == (was[0], now[0])
            assert same(found[block].before.volts, was[1])
        else:
            assert was[0] == now[0]
            assert same(was[1], now[1]) or abs((was[1] or 0.0) - (now[1] or 0.0)) < 2e-9
    amperes = {one.district: (one.before_a, one.after_a) for one in change.districts}
    pairs = zip(Budget.of(case, operation).districts(), Budget.of(case, opened).districts(), strict=True)
    for draw, later in pairs:
        before_a, after_a = amperes.get(draw.name, (draw.current_a, draw.current_a))
        assert before_a == pytest.approx(draw.current_a, abs=1e-12)
        assert after_a == pytest.approx(later.current_a, abs=1e-12)


def cutting(case: Study) -> list[str]:
    return [name for name in case.layout.isolators if open_position(case.wiring, name) is not None]


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_examples(file: Path) -> None:
    case = api.load(file)
    for operation in case.operations:
        for name in islice(cutting(case), MOST):
            hold(case, operation, [name])
        hold(case, operation, cutting(case))


@settings(max_examples=40, deadline=None)
@given(yards(), st.data())
def test_made_layouts(values: Values, data: st.DataObject) -> None:
    case = case_of(values)
    names = cutting(case)
    if names:
        chosen = data.draw(st.lists(st.sampled_from(names), min_size=1, max_size=3, unique=True))
        hold(case, case.operations[0], chosen)
    event(f"islands: {max(WhatIf.of(case, case.operations[0])._islands.islands.of_node) + 1}")


def test_a_large_layout() -> None:
    case = api.loads(layout(224, wired=True), "yard.toml")
    for names in (["I1"], ["I7", "I100"], ["I222"]):
        hold(case, case.operations[0], names)
    change = WhatIf.of(case, case.operations[0]).opened(["I1"])
    assert len(change.volts) == 102
    assert [one.district for one in change.districts] == ["d1"]


def each_as_isolate(case: Study, scenario: str | None = None) -> None:
    found = isolate_each(case, scenario)
    assert {row.isolator for row in found.rows} | {*found.open, *found.cannot} == case.layout.isolators.keys()
    for row in found.rows:
        alone = answers.isolate(case, ",".join([row.isolator]), scenario)
        assert alone.opened == (row.isolator,)
        now = case.now(case.operation(scenario).positions)
        lost = {one.block: one.power for one in alone.blocks if one.changed and one.power != "on"}
        lost = {name: power for name, power in lost.items() if now.power(name) == "on"}
        assert {*row.off} == {name for name, power in lost.items() if power == "off"}
        assert {*row.held} == {name for name, power in lost.items() if power == "trickle"}
        assert row.freed_a == pytest.approx(sum(one.before_a - one.after_a for one in alone.districts), abs=1e-8)
        left = [one.voltage_v for one in alone.blocks if one.power == "on" and one.voltage_v is not None]
        assert row.lowest_v is None or row.lowest_v >= min(left) - 1e-8


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_each_isolator_alone_does_what_isolate_says_of_it(file: Path) -> None:
    case = api.load(file)
    for operation in case.operations[:2]:
        each_as_isolate(case, operation.scenario)


@settings(max_examples=25, deadline=None)
@given(yards())
def test_each_isolator_of_a_made_layout(values: Values) -> None:
    each_as_isolate(case_of(values))


@pytest.mark.parametrize(("resistance", "within"), [("", 102), ('\nresistance = "50 mohm"', 238)])
def test_what_hangs_on_one_booster_is_apart_where_it_keeps_its_volts(resistance: str, within: int) -> None:
    case = api.loads(layout(224, True, 'current = "50 A"' + resistance), "yard.toml")
    hold(case, case.operations[0], ["I7", "I8"])
    assert len(WhatIf.of(case, case.operations[0]).opened(["I1"]).volts) == within


def test_a_changeover_without_off_cuts_nothing() -> None:
    text = next(file for file in LAYOUTS if file.stem == "two-pole").read_text("utf-8")
    both = 'between = ["main", "workshop"]'
    case = api.loads(text.replace(both, f"{both}\ncentre_off = false").replace("centre_off = true", ""), "yard.toml")
    name = next(name for name, one in case.layout.isolators.items() if one.contact == "changeover")
    with pytest.raises(CallError, match="no off position"):
        WhatIf.of(case, case.operations[0]).opened([name])


@pytest.mark.parametrize("tracks", ["y1:1-3", "y2:1,y9:4", "y1:1-16,y2:1-16,y7:1-16,y14:1-16"])
def test_isolate_answers_as_it_did(tracks: str, monkeypatch: pytest.MonkeyPatch) -> None:
    case = api.loads(layout(224, wired=True), "yard.toml")
    found = answers.isolate(case, tracks)
    monkeypatch.setattr(states, "LARGE_BLOCKS", 10**9)
    whole = answers.isolate(case, tracks)
    for one, other in zip(found.blocks, whole.blocks, strict=True):
        assert same(one.voltage_v, other.voltage_v)
        assert evolve(one, voltage_v=None) == evolve(other, voltage_v=None)
    assert evolve(found, blocks=()) == evolve(whole, blocks=())


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_isolate_answers_examples_as_it_did(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Islands are meant for large layouts; here they are forced on small ones, which have trains and every oddity."""
    case = api.load(file)
    for operation in case.operations:
        for name in islice(cutting(case), MOST):
            with monkeypatch.context() as patch:
                whole = answers.isolate(case, name, operation.scenario)
                patch.setattr(states, "LARGE_BLOCKS", -1)
                patch.setattr("blockcheck.analysis.whatif.whatif.FEW", 1.0)
                found = answers.isolate(case, name, operation.scenario)
            for one, other in zip(found.blocks, whole.blocks, strict=True):
                assert same(one.voltage_v, other.voltage_v)
            stripped = [
                evolve(one, blocks=tuple(evolve(row, voltage_v=None) for row in one.blocks)) for one in (found, whole)
            ]
            assert stripped[0] == stripped[1]


def test_a_switch_elsewhere_that_a_scenario_opened_is_known_in_an_island(monkeypatch: pytest.MonkeyPatch) -> None:
    """I1 is said to isolate A1 and B1, and lies in the feed of A1 alone; opened with it is I2, in the other island."""
    case = api.loads(ELSEWHERE, "yard.toml")
    whole = answers.isolate(case, "I2", "night")
    monkeypatch.setattr(states, "LARGE_BLOCKS", -1)
    monkeypatch.setattr("blockcheck.analysis.whatif.whatif.FEW", 1.0)
    found = answers.isolate(case, "I2", "night")
    assert found == whole
    assert [row.block for row in found.unintended] == ["B1"]


ELSEWHERE = """format = 1
layout = { name = "Mallow Wharf", control = "dcc" }
boosters.B1-B2 = { voltage = "14 V", current = "3 A" }
districts.east = { booster = "B1" }
districts.west = { booster = "B2" }
board_types.plain = { channels = 2, threshold = "1.5 mA" }
boards.D1 = { type = "plain", banks = ["east"] }
boards.D2 = { type = "plain", banks = ["west"] }
blocks.A1 = { channel = "D1.1", isolator = "I1" }
blocks.B1 = { channel = "D2.1" }
blocks.B2 = { channel = "D2.2", isolator = "I2" }
isolators.I1 = { isolates = ["A1", "B1"] }
isolators.I2 = {}
scenarios.night = { open = ["I1"] }
"""
