"""What a test is made with: what each instrument reads, how long that takes, and what it tells from what."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import Predicted
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import (
    AXLE,
    BEEPER,
    BEEPS_OHM,
    CHANNELS,
    METER,
    METER_OHM,
    METER_SHARE,
    OHMS,
    SILENT_OHM,
    SUPPLY,
    TRIPS,
    VOLTS,
    Step,
)

READS = {OHMS: (BEEPER, METER, SUPPLY), CHANNELS: (AXLE,), VOLTS: (METER, SUPPLY), TRIPS: ("",)}
"""Kind of test -> what it can be made with; a short needs a wire and nothing else."""
SECONDS = {BEEPER: 10.0, AXLE: 12.0, METER: 15.0, SUPPLY: 40.0, "": 20.0}
"""How long a test takes with each, and ``MOVES`` more with each control that is moved. Common practice, no source."""
MOVES = 6.0

Bools = NDArray[np.bool_]


class Way(NamedTuple):
    """A test (its number) made with an instrument ("" for a short)."""

    test: int
    instrument: str


def ways(steps: Sequence[Step], at_hand: Collection[str]) -> tuple[Way, ...]:
    """Every way to make one of these tests with what is at hand; of one test the quicker instrument first."""
    return tuple(
        Way(number, one) for number, step in enumerate(steps) for one in READS[step.kind] if not one or one in at_hand
    )


def seconds(step: Step, instrument: str) -> float:
    """How long a test takes."""
    return SECONDS[instrument] + MOVES * len(step.state)


def seen(predicted: Predicted, way: Way, tolerance: Tolerance) -> Bools:
    """The cases (0 is wiring that is right) that a way tells from wiring that is right, whatever the meter makes of
    either."""
    test, instrument = way
    if test in predicted.names:
        used = predicted.names[test]
        right = predicted.known[int(used[0])]
        off = {int(one): predicted.known[int(one)].differs(right) for one in np.unique(used)}
        return np.array([off[one] for one in used.tolist()], dtype=bool)
    value = predicted.numbers[test]
    off_right: Bools = told(predicted.tests[test], value[:1], value, instrument, tolerance)[0]
    return off_right


def told(
    step: Step, first: NDArray[np.float64], second: NDArray[np.float64], instrument: str, tolerance: Tolerance
) -> Bools:
    """Which of the first numbers an instrument tells from which of the second, as a table."""
    one, other = first[:, None], second[None, :]
    if instrument == BEEPER:
        table: Bools = ((one <= BEEPS_OHM) & (other >= SILENT_OHM)) | ((one >= SILENT_OHM) & (other <= BEEPS_OHM))
        return table
    room, others = (room_of(step, values, instrument, tolerance) for values in (first, second))
    far: Bools = np.abs(one - other) > (room[:, None] + others[None, :]) * (1 + 1e-6)
    return far


def room_of(step: Step, value: NDArray[np.float64], instrument: str, tolerance: Tolerance) -> NDArray[np.float64]:
    """How far from a value a reading may lie and still be of it: by the tolerance, or as a meter shows ohms."""
    if instrument == METER and step.kind == OHMS and not step.rough:
        shown: NDArray[np.float64] = METER_OHM + METER_SHARE * value + step.slack_ohm
        return shown
    return tolerance.of(step, value)


def cover(
    found: Bools, worth: NDArray[np.float64], costs: Sequence[float], always: Sequence[int], times: int
) -> list[int]:
    """The rows of ``found`` [way, case] by which every case that any row sees is seen ``times`` times, as far as so
    many rows see it; ``always`` are among them. Greedy by what is seen for its cost, then what is spare goes.
    """
    want, kept = np.minimum(found.sum(axis=0), times), set(always)
    chosen = list(dict.fromkeys(always))
    left = want - found[chosen].sum(axis=0)
    cost, out = np.asarray(costs), np.zeros(len(costs), dtype=bool)
    out[chosen] = True
    gain: NDArray[np.float64] = np.asarray(found @ np.where(left > 0, worth, 0.0), dtype=np.float64)
    while (left > 0).any():
        rate = np.where(out, 0.0, gain / cost)
        best = int((rate >= rate.max() * (1 - 1e-9)).argmax())  # the first: rounding does not choose
        chosen.append(best)
        out[best] = True
        done = np.flatnonzero((left == 1) & found[best])
        left = left - found[best]
        gain -= found[:, done] @ worth[done]
    count = found[chosen].sum(axis=0)
    for one in [one for one in chosen if one not in kept]:
        if (count - found[one] >= want).all():
            chosen.remove(one)
            count = count - found[one]
    return chosen


def names_apart(known: Sequence[Names]) -> Bools:
    """Which names differ from which, as a table."""
    return np.array([[one.differs(other) for other in known] for one in known], dtype=bool)
