"""Choosing tests: what is counted quickly is what is counted one by one."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from blockcheck import api
from blockcheck.analysis.bench.choose import _Split
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.tolerance import Tolerance

ROOT = Path(__file__).parents[3]
PLAIN = """\
format = 1
layout = { name = "Plain", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts.a = { booster = "B1" }
board_types.t = { channels = 16, threshold = "1 mA" }
boards.D1 = { type = "t" }
[blocks.S1-12]
channel = "D1.1-12"
"""


@pytest.mark.parametrize("text", [(ROOT / "examples/small-yard/yard.toml").read_text("utf-8"), PLAIN])
def test_pairs_are_counted_as_they_are_marked(text: str) -> None:
    """Any pairs, each both ways round: those that a test tells apart, counted from the table of all of them."""
    bench = Bench.of(api.loads(text, "yard.toml"))
    predicted = predict(bench, bench.tests, [one.change for one in every_fault(bench, guesses=True)])
    cases = len(every_fault(bench, guesses=True)) + 1
    chance = np.random.default_rng(7)
    counts = set()
    for test in range(len(predicted.tests)):
        wanted = chance.random((cases, cases)) < 0.4
        pairs = np.packbits(wanted | wanted.T, axis=1)
        split = _Split(predicted, test, Tolerance())
        told = np.unpackbits(split.over(pairs), axis=1, count=cases)
        assert (told == told.T).all()
        assert split.count(pairs) == told.sum()
        counts.add(split.count(pairs))
    assert len(counts) > 5
