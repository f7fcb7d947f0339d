"""What is predicted is what a second model reads, of sound wiring and of every kind of fault, on all examples.

The second model (tests/second_model.py) has its own reader, network and tables, and shares no code with the
predictions. ``SECOND_COUNT`` faults of each kind and layout are looked at, and so many tests of each, some of which the
fault changes.
"""

from __future__ import annotations

import os
import random
from functools import cache
from pathlib import Path

import pytest
from tests.second_faults import Second

from blockcheck import api
from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.wired import OHMS, OPEN_OHM, Step
from blockcheck.network.built import Change

EXAMPLES = Path(__file__).parents[3] / "examples"
LAYOUTS = (
    "small-yard/yard",
    "club-yard/club",
    "dc-yard/yard",
    "faulty-yard/yard",
    "growing-yard/after",
    "turning-line/line",
)
OTHERS = ("chosen", "chosen-both", "common-rail", "lamps", "series")
"""What no example has: a rotary switch with a pole for one rail or both, isolators in the return, what lies across
rails and buses for good and a feed that passes its coil twice, isolators in series."""
OUTSIDE = EXAMPLES.parent / "tests" / "outside" / "layouts"
COUNT = int(os.environ.get("SECOND_COUNT", "1"))


@cache
def made(layout: str) -> tuple[Path, Bench, dict[str, list[Fault]]]:
    path = OUTSIDE / f"{layout}.toml" if layout in OTHERS else EXAMPLES / f"{layout}.toml"
    bench, kinds = Bench.of(api.load(path)), dict[str, list[Fault]]()
    for fault in causes(bench):
        kinds.setdefault(fault.kind, []).append(fault)
    return path, bench, kinds


def agrees(yard: Second, bench: Bench, step: Step, told: float | Names) -> bool:
    """A milliohm for contacts is no difference, nor what up to ten cuts let through, each of them a megohm."""
    read = yard.read(step.id, step.kind, {**bench.state, **dict(step.state)}, step.across)
    if isinstance(told, Names):
        assert isinstance(read, frozenset)
        return told.may_be(read)
    assert isinstance(read, float)
    if told >= OPEN_OHM / 2:
        return read >= OPEN_OHM / 2
    if step.kind == OHMS:
        return read == pytest.approx(told, rel=1e-3, abs=1e-3 + 1e-5 * told**2)
    return read == pytest.approx(told, rel=5e-3, abs=0.1)


@pytest.mark.parametrize("layout", [*LAYOUTS, *OTHERS])
def test_sound_wiring_reads_as_predicted(layout: str) -> None:
    """Two readers, two networks, two tables: only the detector's drop at small currents is one idea."""
    path, bench, _ = made(layout)
    tests, yard, chance = (*bench.tests, *bench.further), Second(path), random.Random(3)
    told = predict(bench, tests, [])
    for number in chance.sample(range(len(tests)), min(60 * COUNT, len(tests))):
        assert agrees(yard, bench, tests[number], told.value(number, 0)), tests[number].id


@pytest.mark.parametrize("layout", [*LAYOUTS, *OTHERS])
def test_every_kind_of_fault_reads_as_predicted(layout: str) -> None:
    path, bench, kinds = made(layout)
    chance = random.Random(5)
    cases = list[tuple[Fault, float, Change]]()
    for kind in sorted(kinds):
        for fault in chance.sample(kinds[kind], min(COUNT, len(kinds[kind]))):
            ohms = chance.choice(fault.size.typical) if fault.size is not None else 0.0
            cases.append((fault, ohms, fault.change if fault.size is None else fault.size.change(ohms)))
    tests = (*bench.tests, *bench.further)
    told = predict(bench, tests, [change for _, _, change in cases])
    for case, (fault, ohms, _) in enumerate(cases, 1):
        yard = Second(path)
        yard.break_(fault.id, ohms, fault.guess)
        moved = [number for number in range(len(tests)) if told.value(number, 0) != told.value(number, case)]
        some = chance.sample(moved, min(2 * COUNT, len(moved))) + chance.sample(range(len(tests)), COUNT)
        for number in some:
            read = f"{tests[number].id} with {fault.id} of {ohms}"
            assert agrees(yard, bench, tests[number], told.value(number, case)), read
