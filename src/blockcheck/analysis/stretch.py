"""A quantity along a stretch of track, exact at every place of it, and where it is worst."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

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
        a, b = self.near, self.far

        def volts(t: float) -> float:
            source = (1 - t) * (a.volts - a.opposing) + t * (b.volts - b.opposing)
            return source - amperes * self._ohms(t)

        bend = a.ohms - 2 * self.transfer_ohm + b.ohms - self.rails_ohm
        rise = (b.volts - b.opposing) - (a.volts - a.opposing)
        slope = rise - amperes * (2 * self.transfer_ohm - 2 * a.ohms + self.rails_ohm)
        return self._worst(volts, slope, -2 * amperes * bend)

    def least_current(self, ohms: float) -> Spot:
        """The least current through a resistance laid across the rails on the stretch, and where."""
        a, b = self.near, self.far

        def amperes(t: float) -> float:
            source = (1 - t) * (a.volts - a.opposing) + t * (b.volts - b.opposing)
            whole = self._ohms(t) + ohms
            return max(source, 0.0) / whole if whole > 0 else math.inf

        bend = a.ohms - 2 * self.transfer_ohm + b.ohms - self.rails_ohm
        slope = 2 * self.transfer_ohm - 2 * a.ohms + self.rails_ohm
        return self._worst(amperes, slope, 2 * bend)

    def _ohms(self, t: float) -> float:
        a, b = self.near.ohms, self.far.ohms
        return (1 - t) ** 2 * a + 2 * t * (1 - t) * self.transfer_ohm + t * t * b + t * (1 - t) * self.rails_ohm

    def _worst(self, value: Callable[[float], float], slope: float, curve: float) -> Spot:
        """The smallest value at an end, or where the derivative ``slope + curve t`` vanishes."""
        places = [0.0, 1.0]
        if curve and 0 < -slope / curve < 1:
            places.insert(1, -slope / curve)
        found = min(places, key=lambda place: (_told(value(place)), place))
        at_m = self.near.at_m + found * (self.far.at_m - self.near.at_m)
        return Spot(value(found), at_m)


def worst(spots: Iterable[Spot]) -> Spot:
    """The smallest of several, the nearest to the near end where equals meet."""
    return min(spots, key=lambda spot: (_told(spot.value), spot.at_m))


def _told(value: float) -> float:
    """To nine digits, so that of two ends that are equal by nature rounding does not choose."""
    return float(f"{value:.9g}")
