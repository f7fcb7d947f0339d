"""All single-isolator what-ifs at once are what each is by itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import event, given, settings

from blockcheck import api
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.analysis.whatif.singles import singles
from blockcheck.analysis.whatif.whatif import WhatIf
from blockcheck.model.operate import Operation, after_opening
from tests.benchmarks.generate import layout
from tests.outside.yards import Values, case_of, yards
from tests.properties.test_large import above
from tests.properties.test_whatif import FILES, cutting, same


def hold(case: Study, operation: Operation, every: int = 1) -> tuple[int, int]:
    """Each (or every so many'th) against the whole layout solved anew; how many there are, and how many went alone."""
    ifs = WhatIf.of(case, operation)
    seen, alone = list[str](), 0
    for found in singles(ifs):
        assert found.volts.shape == (len(found.blocks), len(found.isolators))
        seen += found.isolators
        alone += len(found.changes)
        for at in range(0, len(found.isolators), every):
            name = found.isolators[at]
            whole = Electrics(case, after_opening(case.wiring, operation, [name]))
            for row, block in enumerate(found.blocks):
                value, volts = float(found.volts[row, at]), whole.volts(block)
                assert same(None if np.isnan(value) else value, volts), (name, block, name in found.changes)
    connected = [name for name in cutting(case) if case.circuit.contacts.get(name)]
    assert sorted(seen) == sorted(connected)
    return len(seen), alone


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_examples(file: Path) -> None:
    case = api.load(file)
    for operation in case.operations:
        hold(case, operation)


@settings(max_examples=60, deadline=None)
@given(yards())
def test_made_layouts(values: Values) -> None:
    case = case_of(values)
    count, alone = hold(case, case.operations[0])
    event(f"at once: {count > alone}")


@settings(max_examples=30, deadline=None)
@given(yards())
def test_made_layouts_by_arrays(values: Values) -> None:
    case = case_of(values)
    with above(-1):
        hold(case, case.operations[0])


def test_a_large_layout_needs_none_alone() -> None:
    case = api.loads(layout(224, wired=True), "yard.toml")
    assert hold(case, case.operations[0], every=37) == (224, 0)


def test_a_load_that_sleeps_may_wake() -> None:
    """Opening one engine's isolator keeps another awake that slept: none of that island goes by superposition."""
    text = next(file for file in FILES if file.stem == "starving").read_text("utf-8")
    text = text.replace(", wagon = 3", "")  # wheelsets, too, would keep it from going by superposition
    text = text.replace('channel = "D1.1-3"', 'channel = "D1.1-3"\nisolator = "I1-I3"') + "\n[isolators.I1-I3]\n"
    case = api.loads(text, "yard.toml")
    assert Electrics.of(case, case.operations[0]).loaded.asleep
    woken = Electrics(case, after_opening(case.wiring, case.operations[0], ["I1"]))
    assert not woken.loaded.asleep
    assert hold(case, case.operations[0]) == (3, 3)


def test_blocks_of_which_no_wire_is_known_are_no_reason_to_solve_anything() -> None:
    """Contacts alone tell what 81 bare blocks lose, and there are no volts."""
    case = api.loads(BARE, "yard.toml")
    (found,) = singles(WhatIf.of(case, case.operations[0]))
    assert len(found.isolators) == len(found.blocks) == 81
    assert not found.changes
    assert np.isnan(found.volts).all()
    assert hold(case, case.operations[0], every=9) == (81, 0)


BARE = """format = 1
layout = { name = "Mallow Wharf", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts.yard = { booster = "B1" }
board_types.plain = { channels = 81, threshold = "1.5 mA" }
boards.D1 = { type = "plain" }
blocks.S1-S81 = { channel = "D1.1-81", isolator = "I1-I81" }
isolators.I1-I81 = {}
"""
