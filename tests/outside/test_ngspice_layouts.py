"""Whole layouts against another program: node voltages of our networks equal an ngspice operating point.

The deck is the one that ``blockcheck power --netlist`` writes, loads and detector drops included.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import event, given, settings

from blockcheck import api
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.solver.drops import Conduct
from blockcheck.solver.netlist import name_of
from tests.outside.networks.spice import run_ngspice
from tests.outside.yards import Values, case_of, yards

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = (
    "small-yard/yard.toml",
    "club-yard/club.toml",
    "dc-yard/yard.toml",
    "faulty-yard/yard.toml",
    "turning-line/line.toml",
)
LAYOUTS = sorted(path.stem for path in (ROOT / "tests" / "outside" / "layouts").glob("*.toml"))


def electrics_of(case: Study) -> Electrics:
    return Electrics.of(case, case.operations[0])


def agree(case: Study) -> int:
    """Hold every node voltage against ngspice's; returns how many there were."""
    loaded = electrics_of(case).loaded
    assert loaded.converged
    found = run_ngspice(api.power(case).netlist())
    count = 0
    for node, volts in enumerate(loaded.volts):
        name = f"v({name_of(loaded, node)})"
        if name in found:
            assert volts == pytest.approx(found[name], rel=1e-6, abs=1e-9), name
            count += 1
        else:  # the reference of its part, alone on its node, or floating
            assert math.isnan(volts) or name == "v(0)" or node not in _ends(case), name
    return count


def _ends(case: Study) -> set[int]:
    """The nodes between which something lies."""
    network = electrics_of(case).loaded_network
    columns = (network.resistors, network.sources, network.drops, network.sinks)
    return {node for column in columns for ends in column[:2] for node in ends}


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_agrees(name: str) -> None:
    case = api.load(ROOT / "examples" / name)
    assert electrics_of(case).grid.tracks
    assert agree(case) > 50


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_layout_agrees(name: str) -> None:
    case = api.load(ROOT / "tests" / "outside" / "layouts" / f"{name}.toml")
    electrics = electrics_of(case)
    assert not electrics.grid.lacking
    assert bool(electrics.loaded.asleep) == (name in ("starving", "held"))  # what is held starves too
    assert (Conduct.BLOCKED in electrics.loaded.conduct) == (name == "bridged")
    assert agree(case) > 30


def test_there_are_layouts() -> None:
    assert len(LAYOUTS) >= 8


@settings(max_examples=60)
@given(yards())
def test_made_layouts_agree(values: Values) -> None:
    case = case_of(values)
    loaded = electrics_of(case).loaded
    agree(case)
    event(f"asleep: {bool(loaded.asleep)}, held off: {Conduct.BLOCKED in loaded.conduct}")
