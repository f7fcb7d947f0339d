"""A quantity along a stretch of track, exact at every place of it, and where it is worst."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any, Literal, NamedTuple

from attrs import frozen


class Spot(NamedTuple):
    """A quantity at its worst place of a block, in metres from the near end."""

    value: float
    at_m: float


class Point(NamedTuple):
    """A pair of places on both rails, seen from a load there: volts without it, ohms, and the volts that a detector
    takes off as soon as something is drawn."""

    at_m: float
    volts: float
    opposing: float
    ohms: float


class Between:
    """What a load sees at the fraction ``t`` of the way from one pair of places on both rails to the next, exactly.

    Numbers, or arrays of many stretches at once: the formulas are the same. ``volts`` and ``ohms`` are those of the two
    ends, ``transfer_ohm`` from one to the other, ``rails_ohm`` of both rails between.
    """

    __slots__ = ()
    transfer_ohm: Any
    rails_ohm: Any

    @property
    def volts(self) -> tuple[Any, Any]:
        raise NotImplementedError

    @property
    def ohms(self) -> tuple[Any, Any]:
        raise NotImplementedError

    def source(self, t: Any) -> Any:
        """Volts without the load."""
        near, far = self.volts
        return (1 - t) * near + t * far

    def resistance(self, t: Any) -> Any:
        """Ohms of the loop."""
        near, far = self.ohms
        return (1 - t) ** 2 * near + 2 * t * (1 - t) * self.transfer_ohm + t * t * far + t * (1 - t) * self.rails_ohm

    def lowest_level(self, amperes: float) -> tuple[Any, Any]:
        """What vanishes where the volts of a load are level: a polynomial of t, its highest power first."""
        near, far = self.volts
        slope, curve = self._resistance
        return -2 * amperes * curve, far - near - amperes * slope

    def least_level(self, ohms: float) -> tuple[Any, Any, Any]:
        """Likewise for the current through a resistance: source / whole is level where rise x whole = source x whole's
        own slope."""
        (first, last), (slope, curve) = self.volts, self._resistance
        rise, whole = last - first, self.ohms[0] + ohms
        return -rise * curve, -2 * first * curve, rise * whole - first * slope

    @property
    def _resistance(self) -> tuple[Any, Any]:
        """The resistance is the near one's, and so much t, and so much t squared."""
        near, far = self.ohms
        return 2 * self.transfer_ohm - 2 * near + self.rails_ohm, near - 2 * self.transfer_ohm + far - self.rails_ohm


@frozen(eq=False, repr=False)
class Stretch(Between):
    """A stretch of track between two neighbouring points; both quantities are exact in between."""

    near: Point
    far: Point
    transfer_ohm: float
    rails_ohm: float

    @property
    def volts(self) -> tuple[float, float]:
        return self.near.volts - self.near.opposing, self.far.volts - self.far.opposing

    @property
    def ohms(self) -> tuple[float, float]:
        return self.near.ohms, self.far.ohms

    def lowest(self, amperes: float) -> Spot:
        """The lowest voltage that a load of some amperes sees on the stretch, and where."""
        return self._worst(lambda t: self.source(t) - amperes * self.resistance(t), self.lowest_level(amperes))

    def least_current(self, ohms: float) -> Spot:
        """The least current through a resistance laid across the rails on the stretch, and where."""

        def amperes(t: float) -> float:
            whole = self.resistance(t) + ohms
            return max(self.source(t), 0.0) / whole if whole > 0 else math.inf

        return self._worst(amperes, self.least_level(ohms))

    def _worst(self, value: Callable[[float], float], level: tuple[float, ...]) -> Spot:
        """The smallest value at an end, or where the polynomial ``level`` (highest power first) vanishes."""
        places = [0.0, *(t for t in _roots(*level) if 0 < t < 1), 1.0]
        found = min(places, key=lambda place: (_told(value(place)), place))
        at_m = self.near.at_m + found * (self.far.at_m - self.near.at_m)
        return Spot(value(found), at_m)


@frozen(cache_hash=True)
class Find:
    """What is looked for on a stretch: the lowest voltage of a load of some amperes (``lowest``), or the least current
    of a resistance of some ohms (``least``)."""

    what: Literal["lowest", "least"]
    of: float

    def __call__(self, stretch: Stretch) -> Spot:
        return stretch.lowest(self.of) if self.what == "lowest" else stretch.least_current(self.of)


def _roots(*level: float) -> tuple[float, ...]:
    """Real roots of a polynomial of the second degree at most, without loss of digits."""
    a, b, c = (0.0,) * (3 - len(level)) + level
    if a == 0:
        return (-c / b,) if b else ()
    inside = b * b - 4 * a * c
    if inside < 0:
        return ()
    half = -(b + math.copysign(math.sqrt(inside), b)) / 2
    return (half / a, c / half) if half else (0.0,)


def worst(spots: Iterable[Spot]) -> Spot:
    """The smallest of several, the nearest to the near end where equals meet."""
    return min(spots, key=lambda spot: (_told(spot.value), spot.at_m))


def _told(value: float) -> float:
    """To nine digits, so that of two ends that are equal by nature rounding does not choose."""
    return float(f"{value:.9g}")
