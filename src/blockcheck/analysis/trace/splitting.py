"""The test that splits best what is left."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from blockcheck.analysis.bench.choose import apart
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.wired import Step
from blockcheck.analysis.trace.suspect import Suspect
from blockcheck.analysis.trace.suspects import Judge

MOST_SPLIT = 10
"""So many candidates count when the next test is looked for."""


def next_test(judge: Judge, suspects: Sequence[Suspect]) -> Step | None:
    """The test, not made yet, whose reading is expected to tell most of the leading suspects apart; None where
    none does."""
    some = [one for one in suspects if one.share > 0.004][:MOST_SPLIT]
    made = {one.id for one in judge.steps}
    left = [one for one in (*judge.bench.tests, *judge.bench.further) if one.id not in made]
    if len(some) < 2 or not left:
        return None
    predicted = predict(judge.bench, left, [one.change for one in some])
    weights = np.array([one.share for one in some])
    weights = weights / weights.sum()
    best, chosen = 1e-6, None
    for test, step in enumerate(left):
        table, place = apart(predicted, test, judge.tolerance)
        alike = (~table[place[1:][:, None], place[1:][None, :]]).astype(np.float64)
        gain = float(-(weights * np.log(alike @ weights)).sum())
        if gain > best * (1 + 1e-9):
            best, chosen = gain, step
    return chosen
