"""How likely a reading is that tells no more than connected or not, what reads, or volts."""

from __future__ import annotations

import math

from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import BEEPS_OHM, OPEN_OHM, SILENT_OHM, VOLTS, Beep, Step
from blockcheck.analysis.trace.fitting import DEGREES, HARDLY_OPEN, NO_CONTACT

WORST = -9.0
"""Least log likelihood of a reading that tells connected or not, or volts."""
WRONG_NAMES, WRONG_MORE, DOUBT = -7.5, -1.5, -0.7
"""Log likelihood of wrong names, of each more of them, and of a name that may or may not read."""


def likelihood_of(step: Step, told: float | Names, read: object, loosely: bool, tolerance: Tolerance) -> float:
    """Log likelihood of a reading that tells no more than connected or not, volts or names."""
    if isinstance(told, Names):
        assert isinstance(read, frozenset)
        if loosely:
            assert isinstance(read, Names)
            return WRONG_NAMES if told.differs(read) else DOUBT * len(told.doubtful)
        if told.may_be(read):
            return DOUBT * len(told.doubtful)
        wrong = len((told - read) | (read - told - told.doubtful))
        return WRONG_NAMES + WRONG_MORE * (wrong - 1)
    if isinstance(read, Beep):
        return beeps(told) if read.sounds else silent(told)
    assert isinstance(read, float)
    if step.kind == VOLTS:
        off = (read - told) / (0.03 * told + tolerance.volts / 2)
    elif (read >= OPEN_OHM) or (told >= 0.5 * OPEN_OHM):
        if (read >= OPEN_OHM) == (told >= 0.5 * OPEN_OHM):
            return 0.0
        return HARDLY_OPEN if min(read, told) > 20_000 else NO_CONTACT
    else:
        off = (read - told) / ((0.5 * told + 2.0) / 2 if step.rough else 0.12 * told + 0.02)
    if loosely:
        off = max(abs(off) - 2.0, 0.0)
    return max(-(DEGREES + 1) / 2 * math.log1p(off * off / DEGREES), WORST)


def beeps(ohms: float) -> float:
    """Log likelihood that a beeper sounds over so many ohms: certain below where it does, even where it may."""
    return 0.0 if ohms <= BEEPS_OHM else math.log(0.5) if ohms < SILENT_OHM else NO_CONTACT


def silent(ohms: float) -> float:
    """The same of its silence."""
    return 0.0 if ohms >= SILENT_OHM else math.log(0.5) if ohms > BEEPS_OHM else NO_CONTACT


def both_open(read: float, told: float) -> bool:
    """Whether a reading and what is predicted are both open, or neither."""
    return (read >= OPEN_OHM) == (told >= 0.5 * OPEN_OHM)
