"""A quantity along a stretch of track, exact at every place of it, and where it is worst."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Literal

from attrs import frozen


@frozen(eq=False, repr=False)
class Spot:
    """A quantity at its worst place of a block, in metres from the near end."""

    value: float
    at_m: float


@frozen(eq=False, repr=False)
class Point:
    """A pair of places on both rails, seen from a load there: volts without it, ohms, and the volts that a detector
    takes off as soon as something is drawn."""

    at_m: float
    volts: float
    opposing: float
    ohms: float


@frozen(eq=False, repr=False)
class Stretch:
    """A stretch of track between two neighbouring points; both quantities are exact in between."""

    near: Point
    far: Point
    transfer_ohm: float
    rails_ohm: float

    def lowest(self, amperes: float) -> Spot:
        """The lowest voltage that a load of some amperes sees on the stretch, and where."""
        slope, curve = self._slope, self._curve
        rise = self._source(1.0) - self._source(0.0)
        return self._worst(
            lambda t: self._source(t) - amperes * self._ohms(t), (-2 * amperes * curve, rise - amperes * slope)
        )

    def least_current(self, ohms: float) -> Spot:
        """The least current through a resistance laid across the rails on the stretch, and where."""

        def amperes(t: float) -> float:
            whole = self._ohms(t) + ohms
            return max(self._source(t), 0.0) / whole if whole > 0 else math.inf

        # source / whole is level where rise x whole = source x whole's own slope
        first, rise = self._source(0.0), self._source(1.0) - self._source(0.0)
        whole, slope, curve = self.near.ohms + ohms, self._slope, self._curve
        return self._worst(amperes, (-rise * curve, -2 * first * curve, rise * whole - first * slope))

    def _source(self, t: float) -> float:
        return (1 - t) * (self.near.volts - self.near.opposing) + t * (self.far.volts - self.far.opposing)

    @property
    def _slope(self) -> float:
        """The resistance is the near one's, and so much t, and so much t squared."""
        return 2 * self.transfer_ohm - 2 * self.near.ohms + self.rails_ohm

    @property
    def _curve(self) -> float:
        return self.near.ohms - 2 * self.transfer_ohm + self.far.ohms - self.rails_ohm

    def _ohms(self, t: float) -> float:
        a, b = self.near.ohms, self.far.ohms
        return (1 - t) ** 2 * a + 2 * t * (1 - t) * self.transfer_ohm + t * t * b + t * (1 - t) * self.rails_ohm

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
