"""The two ways to make and solve a grid say the same, whatever the layout: node by node, and by arrays.

The arrays are meant for large layouts; here they are forced on small ones, which have every oddity.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.analysis.power.detection import least_detected
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.power.stretch import Spot
from blockcheck.analysis.study import Study
from blockcheck.core.errors import InputError
from blockcheck.core.findings import Severity
from blockcheck.model.operate import Operation
from blockcheck.network import expand
from blockcheck.network.grid import Run
from tests.benchmarks.generate import layout
from tests.outside.yards import Values, case_of, yards
from tests.properties.less import places, without

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*/[yc]*.toml"))
LAYOUTS = sorted((ROOT / "tests" / "outside" / "layouts").glob("*.toml"))


@contextmanager
def above(blocks: int) -> Iterator[None]:
    """Grids of more blocks than this are made by arrays."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(expand, "LARGE_BLOCKS", blocks)
        yield


def near(one: float | None, other: float | None) -> bool:
    """Both within 1e-6, and 1e-6 of themselves; or both infinite, both unknown."""
    if one is None or other is None or math.isnan(one) or math.isinf(one):
        return one is other or (one is not None and other is not None and str(one) == str(other))
    return abs(one - other) <= 1e-6 and abs(one - other) <= 1e-6 * abs(one) + 1e-9


def compare(case: Study, operation: Operation) -> None:
    with above(10**9):
        direct = Electrics(case, operation)
        _ = direct.grid
    with above(-1):
        swept = Electrics(case, operation)
        _ = swept.grid
    assert not direct.grid.bunches
    assert bool(swept.grid.bunches) == bool(swept.grid.tracks)
    assert set(direct.grid.tracks) == set(swept.grid.tracks)
    assert direct.grid.lacking == swept.grid.lacking
    for way in ("loaded", "unloaded"):
        one, other = getattr(direct, way), getattr(swept, way)
        assert one.converged == other.converged
        assert len(one.asleep) == len(other.asleep)
        for block, track in direct.grid.tracks.items():
            again = swept.grid.tracks[block]
            assert again.at_m == track.at_m
            for rail in ("detected", "common"):
                for a, b in zip(getattr(track, rail), getattr(again, rail), strict=True):
                    assert near(one.volts[a], other.volts[b]), (way, block, rail)
    _same_currents(direct, swept)
    for block in case.circuit.detected:
        assert near(direct.volts(block), swept.volts(block)), block
        for quantity in (Electrics.lowest_voltage, Electrics.least_short, least_detected):
            _same_spot(quantity(direct, block), quantity(swept, block), (quantity.__name__, block))


def _same_currents(direct: Electrics, swept: Electrics) -> None:
    runs: dict[str, list[Run]] = {}
    for run in swept.grid.runs:
        runs.setdefault(run.name, []).append(run)
    assert sum(map(len, runs.values())) == len(direct.grid.runs)
    for run in direct.grid.runs:
        again = runs[run.name].pop(0)  # a harness with two returns has two commons, in one order
        assert (again.size, again.path, len(again.resistors)) == (run.size, run.path, len(run.resistors))
        for a, b in zip(run.resistors, again.resistors, strict=True):
            assert near(direct.loaded.resistor_amperes[a], swept.loaded.resistor_amperes[b]), run.name


def _same_spot(one: Spot | None, other: Spot | None, what: object) -> None:
    """The same value; where it is may differ between places that are as bad."""
    assert (one is None) == (other is None), what
    if one is not None and other is not None:
        assert near(one.value, other.value), (what, one, other)


@pytest.mark.parametrize("file", EXAMPLES + LAYOUTS, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_examples_agree(file: Path) -> None:
    try:
        case = api.load(file)
    except InputError:
        assert file.name not in ("yard.toml", "club.toml")  # a part that another file includes
        return
    for operation in case.operations:
        compare(case, operation)


@settings(max_examples=settings().max_examples * 2 // 5, deadline=None)
@given(yards())
def test_made_layouts_agree(values: Values) -> None:
    case = case_of(values)
    compare(case, case.operations[0])
    event(f"asleep: {bool(Electrics.of(case, case.operations[0]).loaded.asleep)}")


@settings(max_examples=settings().max_examples // 2, deadline=None)
@given(yards(), st.data())
def test_layouts_with_anything_left_out_agree(values: Values, data: st.DataObject) -> None:
    """Keys and tables of every kind go, few or nearly all: what is left is often without wires, lengths or boosters."""
    all_places = list(places({key: one for key, one in values.items() if key != "format"}))
    share = data.draw(st.sampled_from([0.02, 0.1, 0.3, 0.6]))
    away = data.draw(st.lists(st.sampled_from(all_places), max_size=max(1, int(share * len(all_places)))))
    try:
        case = case_of(without(values, away))
    except InputError:
        event("refused")
        return
    compare(case, case.operations[0])
    event(f"some block left out of the network: {bool(Electrics.of(case, case.operations[0]).grid.lacking)}")


BARE = """
format = 1
layout = { name = "Bare", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts.a = { booster = "B1" }
board_types.t = { channels = 4000, threshold = "1 mA" }
boards.D1 = { type = "t" }
blocks.S1-S%d = { channel = "D1.1-%d" %s }
"""


@pytest.mark.parametrize("more", ["", ', harness = "h" }\nharnesses.h = { bus = "1.5 mm2"', ', length = "2 m"'])
@pytest.mark.parametrize("blocks", [expand.LARGE_BLOCKS, expand.LARGE_BLOCKS + 1, 500])
def test_blocks_without_wires(blocks: int, more: str) -> None:
    """Somebody's first evening: blocks and channels alone, on both sides of the switch between the two ways."""
    case = api.loads(BARE % (blocks, blocks, more), "bare.toml")
    compare(case, case.operations[0])
    checked = api.check(case)
    assert not [one for one in checked.findings if one.severity is Severity.ERROR]
    assert {one.rule for one in checked.unchecked} >= {"voltage-drop", "short-will-not-trip"}


def test_a_block_that_is_left_out() -> None:
    """It hangs on the far end of its harness's common bus, and its neighbours are what they are without it."""
    text = layout(16, wired=True).replace('length = "2.585 m"', "", 1)
    case = api.loads(text, "yard.toml")
    compare(case, case.operations[0])
    assert len(Electrics.of(case, case.operations[0]).grid.lacking) == 1


def test_a_layout_above_the_limit_goes_by_arrays_of_itself() -> None:
    case = api.loads(layout(expand.LARGE_BLOCKS + 1, wired=True), "yard.toml")
    assert Electrics.of(case, case.operations[0]).grid.bunches
    compare(case, case.operations[0])


def test_drops_with_one_way_in_take_one_solution_and_columns_are_plain_numbers() -> None:
    case = api.loads(layout(16, wired=True), "yard.toml")
    with above(-1):
        swept = Electrics(case, case.operations[0])
        assert (swept.loaded.iterations, swept.unloaded.iterations) == (1, 1)
    for column in (swept.loaded.volts, swept.loaded.resistor_amperes, swept.loaded.component):
        numbers = list(column)
        assert len(column) == len(numbers)
        assert np.asarray(column).tolist() == numbers == list(column[:])
        assert type(column[-1]) in (int, float)
    assert any(swept.loaded.resistor_amperes)
