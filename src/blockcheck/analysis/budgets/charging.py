"""How long what charges keeps a breaker over its trip current."""

from __future__ import annotations

import math
from collections.abc import Iterable

from attrs import frozen

_TURNS = 100
_ENOUGH = 1e-13


@frozen
class Filling:
    """What is to be charged: ``coulombs`` (C V) with nothing in the way, and through charge resistors the peak currents
    V / R in amperes, by their time constants R C in seconds, shortest first."""

    coulombs: float = 0.0
    through: tuple[tuple[float, float], ...] = ()

    @classmethod
    def of(cls, farads: float, ohms: float | None, volts: float) -> Filling:
        """A capacitance, behind a charge resistor where there is one."""
        if not ohms or not farads:
            return cls(farads * volts)
        return cls(0.0, ((ohms * farads, volts / ohms),))

    @classmethod
    def all(cls, parts: Iterable[Filling]) -> Filling:
        """Several together."""
        coulombs, peaks = list[float](), dict[float, list[float]]()
        for one in parts:
            coulombs.append(one.coulombs)
            for seconds, amperes in one.through:
                peaks.setdefault(seconds, []).append(amperes)
        through = sorted((seconds, math.fsum(amperes)) for seconds, amperes in peaks.items())
        return cls(math.fsum(coulombs), tuple(through))

    def times(self, many: float) -> Filling:
        """So many of it."""
        return Filling(self.coulombs * many, tuple((seconds, amperes * many) for seconds, amperes in self.through))

    def __bool__(self) -> bool:
        return self.coulombs > 0 or bool(self.through)

    @property
    def peak_a(self) -> float | None:
        """What flows into it at first; None where no resistor limits it."""
        return None if self.coulombs > 0 else math.fsum(amperes for _, amperes in self.through)

    def taken(self, seconds: float) -> float:
        """The coulombs that it takes at most in some time."""
        told = (amperes * each * -math.expm1(-seconds / each) for each, amperes in self.through)
        return self.coulombs + math.fsum(told)

    def flows(self, seconds: float) -> float:
        """What still flows through charge resistors after some time: the sum of V / R e^(-t / RC)."""
        return math.fsum(amperes * math.exp(-seconds / each) for each, amperes in self.through)

    def size(self, delay_s: float) -> float:
        """The coulombs that it takes of what a breaker bears: in a delay above the trip current, no less than these."""
        return self.taken(delay_s) if self.coulombs > 0 else delay_s * self.flows(delay_s)

    def seconds(self, spare_a: float) -> float | None:
        """How long more than ``spare_a`` flows into it, at most; None where it is never served.

        Through charge resistors alone it is until the sum of V / R e^(-t / RC) has fallen to that: of one, RC ln(V / (R
        spare)). With a capacitance that nothing limits, it is a bound whatever the loop resistance: more than
        ``spare_a`` flows all the time, and no more goes into all of them than they take: C V / spare, or the root of
        t spare = C V + the sum of C V (1 - e^(-t / RC)).
        """
        if not self:
            return 0.0
        if spare_a <= 0:
            return None
        if self.coulombs <= 0 and self.flows(0.0) <= spare_a:
            return 0.0
        if self.coulombs <= 0 and len(self.through) == 1:
            ((each, amperes),) = self.through
            return each * math.log(amperes / spare_a)
        # Newton's steps, from where the function is convex and they all go one way
        at = 0.0 if self.coulombs <= 0 else self.taken(math.inf) / spare_a
        for _ in range(_TURNS):
            if self.coulombs <= 0:
                slope = math.fsum(amperes / each * math.exp(-at / each) for each, amperes in self.through)
                step = (self.flows(at) - spare_a) / slope
            else:
                step = (self.taken(at) - at * spare_a) / (spare_a - self.flows(at))
            at += step
            if abs(step) <= _ENOUGH * at:
                break
        return at
