"""The fewest tests that tell every fault from every other, as far as any test can: a set cover of pairs.

Greedy, which is within a factor ln(pairs) + 1 of the least (Chvatal 1979), then everything that the rest makes
superfluous is left out again. Deterministic: of equals the one that stands first.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.analysis.bench.instruments import Way, names_apart, told
from blockcheck.analysis.bench.predict import Predicted, Progress
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import SUPPLY

Bytes = NDArray[np.uint8]


class _Split:
    """What one test tells apart: cases of one reading share a row, in which a bit stands for each other case."""

    def __init__(self, predicted: Predicted, test: int, tolerance: Tolerance, instrument: str = SUPPLY) -> None:
        table, self.at = apart(predicted, test, tolerance, instrument)
        self.rows: Bytes = np.packbits(table[:, self.at], axis=1)
        rare = self.at != np.bincount(self.at).argmax()
        self._rare, self._among = np.flatnonzero(rare), np.packbits(rare)

    def over(self, uncovered: Bytes) -> Bytes:
        """The pairs of ``uncovered`` that it tells apart."""
        found: Bytes = self.rows[self.at] & uncovered
        return found

    def count(self, uncovered: Bytes) -> int:
        """How many of these pairs it tells apart; each stands there both ways round.

        Most faults change nothing at a test, and its commonest reading is told from rarer ones alone: their rows have
        all that it tells, and only what they tell among themselves has them twice.
        """
        told = self.rows[self.at[self._rare]] & uncovered[self._rare]
        return 2 * _bits(told) - _bits(told & self._among)


def apart(
    predicted: Predicted, test: int, tolerance: Tolerance, instrument: str = SUPPLY
) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    """Which readings of a test can be told from which, whatever the meter makes of them; and the reading of each case.

    Two numbers can where what the meter may show for one is never what it may show for the other.
    """
    if test in predicted.numbers:
        value, at = np.unique(predicted.numbers[test].round(9), return_inverse=True)
        return told(predicted.tests[test], value, value, instrument, tolerance), at.ravel()
    used, at = np.unique(predicted.names[test], return_inverse=True)
    return names_apart([predicted.known[one] for one in used]), at.ravel()


@frozen(eq=False, repr=False)
class Choice:
    """Numbers of the ways chosen, in the order in which they stand; and what none of all tells apart.

    ``untold[case, other]`` marks others that a case may be taken for (case 0: nothing is wrong).
    """

    ways: tuple[int, ...]
    untold: NDArray[np.bool_]


def choose(
    predicted: Predicted,
    tolerance: Tolerance,
    ways: Sequence[Way],
    *,
    always: Sequence[int] = (),
    same: Sequence[str] = (),
    times: int = 1,
    progress: Progress | None = None,
) -> Choice:
    """The fewest of these ways, ``always`` among them, of which ``times`` tell each pair apart where so many can.

    ``same`` names the fault of each case: the first of a name is the one to tell, from all cases of other names; more
    of its name (a poor joint of more or less ohms) are only what others may be taken for.
    """
    cases = len(next(iter([*predicted.numbers.values(), *predicted.names.values()])))
    splits = list[_Split]()
    for number, way in enumerate(ways, 1):
        splits.append(_Split(predicted, way.test, tolerance, way.instrument))
        if progress is not None:
            progress("comparing readings", number, len(ways))
    names = np.unique(np.array(same), return_inverse=True)[1].ravel() if same else np.arange(cases)
    first = np.zeros(cases, dtype=bool)
    first[np.unique(names, return_index=True)[1]] = True
    full: Bytes = np.concatenate(  # some rows at a time: before it is packed, the table takes eight times as much
        [
            np.packbits((some[:, None] != names) & (leads[:, None] | first), axis=1)
            for some, leads in ((names[at : at + 512], first[at : at + 512]) for at in range(0, cases, 512))
        ]
    )
    told = _union(splits, range(len(splits)), full)
    chosen: list[int] = list(dict.fromkeys(always))
    left = [one for one in range(len(splits)) if one not in set(chosen)]
    for turn in range(times):
        pairs = _union(splits, [*(chosen if turn == 0 else ()), *left], full)
        if turn == 0:
            pairs &= ~_union(splits, chosen, full)
        more = _cover(splits, left, pairs, progress)
        chosen += more
        left = [one for one in left if one not in set(more)]
    untold = np.unpackbits(full & ~told, axis=1, count=cases).view(np.bool_)
    untold[~first] = False
    return Choice(tuple(sorted(chosen)), untold)


def _union(splits: Sequence[_Split], which: Sequence[int] | range, full: Bytes) -> Bytes:
    found: Bytes = np.zeros_like(full)
    for one in which:
        found |= splits[one].rows[splits[one].at]
    found &= full
    return found


def _bits(bytes_: Bytes) -> int:
    return int(np.bitwise_count(bytes_).sum())


def _cover(splits: Sequence[_Split], left: Sequence[int], wanted: Bytes, progress: Progress | None) -> list[int]:
    """Greedy, each time the test that tells most of what is still wanted; gains only shrink, so most need no look."""
    uncovered = wanted.copy()
    whole = rest = _bits(uncovered)
    heap = list[tuple[int, int]]()
    for done, one in enumerate(left, 1):
        heap.append((-splits[one].count(uncovered), one))
        if progress is not None:
            progress("weighing tests", done, len(left))
    heapq.heapify(heap)
    chosen: list[int] = []
    while rest and heap:
        _, one = heapq.heappop(heap)
        gain = splits[one].count(uncovered)
        if not gain:
            continue
        if heap and (-gain, one) > heap[0]:
            heapq.heappush(heap, (-gain, one))
            continue
        uncovered &= ~splits[one].over(uncovered)
        chosen.append(one)
        rest -= gain
        if progress is not None:
            progress("choosing tests", whole - rest, whole)
    return _needed(splits, chosen, wanted)


def _needed(splits: Sequence[_Split], chosen: Sequence[int], wanted: Bytes) -> list[int]:
    """Those without which something would not be told, the last ones looked at first.

    What those before one of them tell is kept for some of them only, and worked out anew between: two square roots of
    as many tables, since one takes megabytes on a large layout.
    """
    every = math.isqrt(len(chosen)) + 1
    before = _told_before(splits, chosen, np.zeros_like(wanted), every)
    behind, kept = np.zeros_like(wanted), list[int]()
    for number in range(len(before) - 1, -1, -1):
        some = chosen[number * every : (number + 1) * every]
        for one, earlier in zip(reversed(some), reversed(_told_before(splits, some, before[number], 1)), strict=True):
            if (splits[one].over(wanted) & ~(earlier | behind)).any():
                kept.append(one)
                behind |= splits[one].over(wanted)
    return kept[::-1]


def _told_before(splits: Sequence[_Split], chosen: Sequence[int], first: Bytes, every: int) -> list[Bytes]:
    """What is told before each of them that stands at a multiple of ``every``."""
    found, told = list[Bytes](), first.copy()
    for place, one in enumerate(chosen):
        if place % every == 0:
            found.append(told.copy())
        told |= splits[one].rows[splits[one].at]
    return found
