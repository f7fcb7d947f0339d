"""What reads occupied, or trips, told from the currents: for certain, perhaps, or not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

SURELY, HARDLY = 1.5, 0.67
"""A current of so many times the threshold reads for certain; of so little, certainly not. Between, either may."""


class Names(frozenset[str]):
    """What reads occupied, or trips; ``doubtful`` are those that may or may not."""

    doubtful: frozenset[str]

    def __new__(cls, names: Iterable[str] = (), doubtful: Iterable[str] = ()) -> Names:
        made = super().__new__(cls, names)
        made.doubtful = frozenset(doubtful)
        return made

    def may_be(self, seen: frozenset[str]) -> bool:
        """Whether a reading is one of those that these allow."""
        return self <= seen <= self | self.doubtful

    def differs(self, other: Names) -> bool:
        """Whether no reading fits both."""
        return bool((self - other - other.doubtful) or (other - self - self.doubtful))


class Naming:
    """Names told from currents; ``known`` are all that were, each once."""

    def __init__(self) -> None:
        self.known: list[Names] = []
        self._numbers: dict[tuple[frozenset[str], frozenset[str]], int] = {}

    def number(self, certain: frozenset[str], doubtful: frozenset[str]) -> int:
        """The number of some names among those that are known."""
        number = self._numbers.setdefault((certain, doubtful), len(self.known))
        if number == len(self.known):
            self.known.append(Names(certain, doubtful))
        return number

    def named(
        self,
        currents: NDArray[np.float64],
        least: Sequence[float],
        names: Sequence[str],
        others: Mapping[int, Sequence[str]],
        strange: NDArray[np.bool_],
    ) -> NDArray[np.int64]:
        """What reads in each case, as a number into what is known; some cases have other names than all, ``strange``
        says where."""
        limit = np.array(least)
        sure, maybe = currents > SURELY * limit, currents > HARDLY * limit
        rows = np.packbits(np.hstack([sure, maybe]), axis=1)
        own: NDArray[np.bool_] = np.asarray((maybe & strange).any(axis=1))
        differs = own | (rows != rows[0]).any(axis=1)
        differs[0] = True
        first: dict[tuple[bytes, int], int] = {}  # what a case reads, as bits -> its number among what is known
        some, bits, width = np.flatnonzero(differs), rows[differs].tobytes(), rows.shape[1]
        numbers = list[int]()
        for at, case in enumerate(some.tolist()):
            key = bits[at * width : (at + 1) * width], case if own[case] else 0
            number = first.get(key)
            if number is None:
                on = [one.nonzero()[0].tolist() for one in (sure[case], maybe[case])]
                named = others[case] if own[case] else names
                certain, possible = (frozenset([named[at] for at in some]) for some in on)
                first[key] = number = self.number(certain, possible - certain)
            numbers.append(number)
        found = np.full(len(rows), numbers[0], dtype=np.int64)  # most read what wiring that is right does
        found[some] = numbers
        return found
