"""The test axle is one that people have, for any threshold that the language takes."""

from __future__ import annotations

from pathlib import Path

import pytest

import blockcheck
from blockcheck.analysis.bench.wired import OPEN_OHM, TIMES_THRESHOLD, Wired

YARD = (Path(__file__).resolve().parents[3] / "examples" / "small-yard" / "yard.toml").read_text("utf-8")


@pytest.mark.parametrize("threshold", ["1e-6 mA", "0.001 uA", "10 uA", "0.5 mA", "100 mA", "2 A"])
def test_it_draws_ten_thresholds_and_no_meter_calls_it_open(threshold: str) -> None:
    case = blockcheck.loads(YARD.replace('"0.5 mA"', f'"{threshold}"'), "yard.toml")
    (kind,) = case.layout.board_types.values()
    axle = Wired(case).axle_ohm
    assert axle <= OPEN_OHM
    assert 15 / axle >= TIMES_THRESHOLD * kind.threshold_a * (1 - 1e-9)
    assert blockcheck.bench(case).steps
