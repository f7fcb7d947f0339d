"""Readings of a layout of several units, explained unit by unit: what is off in one is the fault of that one.

No dead test hears a fault of another unit (`units.py`), so the evidence of causes in several units adds up. With power
on, a short of one is felt by all that hang on its district: there it is a load (`feeding.py`). A unit in which wiring
that is right explains every reading is not searched, nor are its causes made.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import product

import numpy as np
from attrs import evolve, frozen

from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import Progress
from blockcheck.analysis.bench.slips import causes
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import CHANNELS, OHMS, Step
from blockcheck.analysis.trace.feeding import loaded, loads
from blockcheck.analysis.trace.fitting import DEGREES
from blockcheck.analysis.trace.suspect import Suspect
from blockcheck.analysis.trace.suspects import Judge, Search, Value
from blockcheck.core.errors import OutOfTimeError

WORTH_SEARCHING = 6.0
"""Where a resistance in some piece would explain the readings so much better (log likelihood), though each lies within
what is right, a unit is searched."""
MOST_OF_A_UNIT = 30
MOST_TOGETHER = 60
"""So many causes of a unit are taken together with those of others, and so many of these are kept."""


@frozen(eq=False, repr=False)
class Part:
    """Some readings, by their numbers ``at``, on the bench of a unit; ``steps`` are the tests there.

    What read of other units' channels is no part of ``values``: ``foreign`` has it, by the number of the reading.
    """

    bench: Bench
    at: tuple[int, ...]
    steps: tuple[Step, ...]
    values: tuple[Value, ...]
    foreign: Mapping[int, frozenset[str]] = {}

    @classmethod
    def of(cls, bench: Bench, at: tuple[int, ...], steps: tuple[Step, ...], values: Sequence[Value]) -> Part:
        """The readings of a unit, with the channels that others have put aside."""
        own, kept, foreign = {*bench.channels}, list(values), dict[int, frozenset[str]]()
        for number, (step, value) in enumerate(zip(steps, values, strict=True)):
            if step.kind == CHANNELS and isinstance(value, frozenset) and not value <= own:
                kept[number], foreign[at[number]] = value & own, value - own
        return cls(bench, at, steps, tuple(kept), foreign)


@frozen(eq=False, repr=False)
class Found:
    """A search of all readings; ``judge`` and ``within`` are the unit whose causes are told apart worst, ``faults`` the
    ids of what was looked for there, ``single`` how many single faults were looked at, and ``left`` the units, by
    number, that were to be searched and were not, since time ran out."""

    search: Search
    judge: Judge
    within: Search
    faults: frozenset[str]
    single: int
    left: tuple[int, ...] = ()


def search_parts(
    parts: Sequence[Part], tolerance: Tolerance, most_pairs: int, progress: Progress | None = None
) -> Found:
    """One search for each unit with a reading that is off, or that a poor joint would explain much better."""
    judges = [Judge(part.bench, part.steps, part.values, tolerance, progress) for part in parts]
    found, left = dict[int, Found](), list[int]()

    def look(number: int) -> None:
        try:
            if progress is not None:
                progress("units", number, len(judges))
            found[number] = _alone(judges[number], most_pairs)
        except OutOfTimeError:
            left.append(number)

    if len(parts) == 1:
        look(0)
        if found:
            return found[0]
    else:
        _searched(parts, judges, found, look)
    whole = _together(parts, judges, {number: one.search for number, one in found.items()})
    if not found:
        return Found(whole, judges[0], whole, frozenset(), 0, tuple(left))
    worst = max(found.values(), key=lambda one: _unsure(one.search))
    single = sum(one.single for one in found.values())
    return Found(whole, worst.judge, worst.search, worst.faults, single, tuple(left))


def _searched(
    parts: Sequence[Part], judges: Sequence[Judge], found: Mapping[int, Found], look: Callable[[int], None]
) -> None:
    """Look at each unit with a reading that is off, or that a poor joint would explain much better."""
    held = Counter(at for part in parts for at in part.at)
    off = [
        [number for number, fits in enumerate(judge.right.fits) if not fits and held[part.at[number]] == 1]
        for part, judge in zip(parts, judges, strict=True)
    ]
    dead = [any(part.steps[one].kind == OHMS for one in some) for part, some in zip(parts, off, strict=True)]
    heard = frozenset(name for part in parts for names in part.foreign.values() for name in names)
    first = [
        number
        for number, judge in enumerate(judges)
        if dead[number] or heard & {*judge.bench.channels} or gain(judge) > WORTH_SEARCHING
    ]
    for number in first:
        look(number)
    for number in range(len(judges)):  # with power on, a short of another unit is felt as well
        if off[number] and number not in first:
            firsts = [(one.judge, one.search.suspects[0]) for one in found.values()]
            if _felt(judges[number], firsts).against:
                look(number)
    if not found:  # of what several units share alone
        for number, judge in enumerate(judges):
            if judge.right.against:
                look(number)


def _felt(judge: Judge, searched: Iterable[tuple[Judge, Suspect]]) -> Suspect:
    """Wiring without a fault, beside the causes of other units."""
    ohms: dict[str, float] = {}
    for other, suspect in searched:
        for name, one in loads(other.bench, suspect.change).items() if suspect.faults else ():
            ohms[name] = 1 / (1 / one + 1 / ohms[name]) if name in ohms else one
    change = loaded(judge.bench, ohms)
    return judge.under(change) if change.added else judge.right


def _alone(judge: Judge, most_pairs: int) -> Found:
    """The search of one unit."""
    every = causes(judge.bench)
    search, ids = judge.search(every, most_pairs), frozenset(one.id for one in every)
    return Found(search, judge, search, ids, len(ids))


def gain(judge: Judge) -> float:
    """How much better a resistance in one piece would explain the readings at best: all pieces by one product."""
    if not judge.fine:
        return 0.0
    point, fit = judge.centre
    weight = np.where(fit.off != 0.0, (DEGREES + 1) / (DEGREES + fit.off**2) / fit.sigma**2, 0.0)
    moved = (point.across * point.siemens[:, None]) ** 2  # by an ohm in each piece
    slope, bend = moved @ (weight * (judge.dead.read - fit.told)), (moved**2) @ weight
    return float(np.max(np.where(slope > 0, slope**2 / np.maximum(2 * bend, 1e-30), 0.0)))


def _unsure(search: Search) -> float:
    shares = [one.share for one in search.suspects[:MOST_OF_A_UNIT] if one.share > 0]
    return -sum(share * math.log(share) for share in shares)


def _together(parts: Sequence[Part], judges: Sequence[Judge], searches: Mapping[int, Search]) -> Search:
    """The causes of all units in one list: likelihoods of what is in several are multiplied."""
    lists = [[one for one in search.suspects[:MOST_OF_A_UNIT] if one.told] for search in searches.values()]
    firsts = [{id(one) for one in some[: search.tied]} for some, search in zip(lists, searches.values(), strict=True)]

    def merged(some: Sequence[Suspect]) -> Suspect:
        told: dict[int, tuple[float | Names, bool]] = {}
        mine = dict(zip(searches, some, strict=True))
        beside = [(judges[number], one) for number, one in mine.items()]
        for number, judge in enumerate(judges):
            if number not in mine:
                mine[number] = _felt(judge, beside) if judge.right.against else judge.right
        for number, one in mine.items():
            for at, value, fits in zip(parts[number].at, one.told, one.fits, strict=True):
                if at not in told or (fits and not told[at][1]) or (one.faults and fits):
                    told[at] = value, fits
        steady = frozenset(name for number, one in mine.items() if one.faults for name in _steady(parts[number], one))
        for part in parts:
            for at, names in part.foreign.items():
                value, fits = told[at]
                assert isinstance(value, Names)
                told[at] = Names(value | (steady - {*part.bench.channels}), value.doubtful), fits and names <= steady
        rows = [told[at] for at in sorted(told)]
        faults = tuple(fault for one in some for fault in one.faults)
        others = [
            tuple(fault for at, kept in enumerate(some) for fault in (other if at == turn else kept.faults))
            for turn, one in enumerate(some)
            for other in one.others
        ]
        first = some[0] if some else judges[0].right
        return evolve(
            first,
            faults=faults,
            evidence=math.fsum(one.evidence for one in some),
            score=math.fsum(one.score for one in some),
            share=math.prod(one.share for one in some),
            others=tuple(others),
            rests=next((parts[n].at[one.rests] for n, one in mine.items() if one.rests is not None), None),
            told=tuple(row[0] for row in rows),
            fits=tuple(row[1] for row in rows),
        )

    combined = [(all(id(one) in own for one, own in zip(some, firsts, strict=True)), some) for some in _best(lists)]
    combined.sort(key=lambda one: (not one[0], _resting(one[1]), -math.fsum(own.score for own in one[1])))
    combined = combined[:MOST_TOGETHER]
    suspects = tuple(merged(some) for _, some in combined)
    return Search(
        suspects,
        sum(tied for tied, _ in combined),
        merged([search.right for search in searches.values()]),
        1 - math.prod(1 - search.unknown for search in searches.values()),
        _material(judges),
        sum(search.pairs for search in searches.values()),
        sum(search.all_pairs for search in searches.values()),
    )


def _steady(part: Part, cause: Suspect) -> frozenset[str]:
    """The channels that read with a cause whatever is tested, all isolators closed."""
    rows = zip(part.steps, cause.told, strict=True)
    every = [one for step, one in rows if step.kind == CHANNELS and not step.state]
    names = [frozenset(one) for one in every if isinstance(one, Names)]
    return frozenset.intersection(*names) if len(names) > 1 else frozenset()


def _resting(some: Sequence[Suspect]) -> bool:
    """Whether a fault among these rests on one reading."""
    return any(one.rests is not None for one in some)


def _best(lists: Sequence[Sequence[Suspect]]) -> list[tuple[Suspect, ...]]:
    """The likeliest of all that can be taken together, one of each unit."""
    found: list[tuple[Suspect, ...]] = [()]
    for some in lists:
        longer = [(*before, one) for before, one in product(found, some)]
        longer.sort(key=lambda one: -math.fsum(own.score for own in one))
        found = longer[: 4 * MOST_TOGETHER]
    return found


def _material(judges: Iterable[Judge]) -> dict[str, float]:
    """The factor of each kind, in the mean of the units that have it."""
    logs: dict[str, list[float]] = {}
    for judge in judges:
        for kind, log in zip(judge.dead.material.kinds, judge.right.fit.logs.tolist(), strict=False):
            logs.setdefault(kind, []).append(log)
    return {kind: math.exp(math.fsum(some) / len(some)) for kind, some in logs.items()}
