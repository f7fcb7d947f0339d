"""A cause that was looked at, and the order in which causes are told.

One reading may be a slip of the person about as easily as it may tell a second fault, and neither can be known from it
alone. So a cause of which one fault rests on a single reading is told as tied with the cause without that fault, and
behind it: that reading is made again first.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from attrs import evolve, frozen

from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.trace.fitting import Fit
from blockcheck.network.built import Change

HARDLY_USUAL = math.log(20)
"""A pair that is this much less likely by all that is known is told from the first, also where readings do not."""
ALIKE = math.log(3)
"""Causes that are not a third as likely as the first are not told from it."""


@frozen(eq=False, repr=False)
class Suspect:
    """A cause that was looked at: no fault, one, or two, of the sizes that fit best.

    ``told`` is what it predicts for each reading, and ``fits`` whether the reading is explained; ``evidence`` the log
    likelihood of the readings, ``score`` that and its own, ``share`` its part of all that was looked at. ``others`` are
    causes that no test tells from it; ``coarse`` the part of the readings that are not fitted. ``rests``: the reading
    that alone speaks for one of its faults.
    """

    faults: tuple[Fault, ...]
    evidence: float
    score: float
    fit: Fit
    coarse: float = 0.0
    told: tuple[float | Names, ...] = ()
    fits: tuple[bool, ...] = ()
    share: float = 0.0
    others: tuple[tuple[Fault, ...], ...] = ()
    rests: int | None = None

    @property
    def ids(self) -> tuple[str, ...]:
        """The ids of its faults, in order."""
        return tuple(sorted(one.id for one in self.faults))

    @property
    def change(self) -> Change:
        """What it makes of the wiring."""
        found = Change()
        for one in self.faults:
            found = found.also(one.change)
        return found

    @property
    def likelihood(self) -> float:
        """The log likelihood of the readings at the sizes and the material that fit best."""
        return float(self.fit.each.sum()) + self.coarse

    @property
    def against(self) -> int:
        """How many readings it leaves unexplained."""
        return self.fits.count(False)


def near(one: Suspect, top: Suspect) -> bool:
    """Whether readings hardly tell a cause from the first: it is nearly as likely, or told by what is usual alone.

    Of pairs so many have a fault that hardly shows that what is usual counts among them as well.
    """
    if one.score > top.score - ALIKE or abs(one.evidence - top.evidence) < 0.02:
        return True
    as_many = len(one.faults) == len(top.faults) and (len(one.faults) == 1 or one.score > top.score - HARDLY_USUAL)
    return as_many and one.likelihood > top.likelihood - ALIKE


def with_one_less(cause: Suspect) -> Iterator[tuple[str, ...]]:
    """The ids of a cause of two faults without one of them."""
    if len(cause.faults) > 1:
        for gone in cause.ids:
            yield tuple(one for one in cause.ids if one != gone)


def offered(causes: Sequence[Suspect], tied: int) -> tuple[list[Suspect], int]:
    """Causes with what they predict, likeliest first and the first ``tied`` alike: as they are told, and how many are
    tied then. What rests on one reading comes behind what leaves that unexplained."""
    at = {ids: place for place, one in reversed([*enumerate(causes)]) for ids in _names(one)}
    worth = [(place >= tied, -one.score) for place, one in enumerate(causes)]
    found = [*causes]
    for place, one in enumerate(causes):
        for fewer in (at[ids] for ids in with_one_less(one) if ids in at):
            pairs = zip(one.fits, causes[fewer].fits, strict=True)
            lost = [reading for reading, (with_it, without) in enumerate(pairs) if with_it and not without]
            if len(lost) == 1:
                found[place] = evolve(one, rests=lost[0])
                worth[fewer] = min(worth[fewer], worth[place])
    keys = [
        (far, not far and one.rests is not None, score, one.rests is not None)
        for (far, score), one in zip(worth, found, strict=True)
    ]
    order = sorted(range(len(found)), key=lambda place: keys[place])
    return [found[place] for place in order], max(tied, sum(not far for far, _ in worth))


def _names(cause: Suspect) -> Iterator[tuple[str, ...]]:
    yield cause.ids
    for other in cause.others:
        yield tuple(sorted(one.id for one in other))
