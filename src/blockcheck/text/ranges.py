"""Ranges: ``S1-S12`` stands for twelve names, and a range in a value is dealt out in step."""

from __future__ import annotations

import re
from functools import lru_cache

from blockcheck.core.shown import plain, shown

MOST_NAMES = 4096
"""A range never makes more names than this."""
MOST_SIGNS = 100
"""Signs of the longest name."""

_RANGE = re.compile(r"(?P<prefix>(?:.*\D)?)(?P<first>[0-9]+)-(?P<again>(?:.*\D)?)(?P<last>[0-9]+)", re.DOTALL)


class RangeError(ValueError):
    """A name that reads as a range and cannot be one. ``message`` and ``help`` are for people."""

    def __init__(self, message: str, help: str) -> None:  # noqa: A002 - the word that people read
        self.message = message
        self.help = help
        super().__init__(message)


def names_of(text: str) -> tuple[str, ...] | None:
    """The names that a range stands for, or None where the text is a plain name.

    Raises RangeError for a descending range and for one of more than 4,096 names.
    """
    if "-" not in text or len(text) > 2 * MOST_SIGNS:
        return None
    return _names(text)


@lru_cache(maxsize=256)  # each may hold thousands of names
def _names(text: str) -> tuple[str, ...] | None:
    match = _RANGE.fullmatch(text)
    if match is None or match["again"] not in ("", match["prefix"]):
        return None
    prefix, first, last = match["prefix"], match["first"], match["last"]
    if len(first) > 9 or len(last) > 9:
        raise RangeError(f"the range {shown(text)} has numbers of more than nine digits", "write smaller numbers")
    low, high = int(first), int(last)
    if low > high:
        raise RangeError(
            f"the range {shown(text)} runs backwards", f'write "{plain(prefix)}{last}-{plain(match["again"])}{first}"'
        )
    if high - low + 1 > MOST_NAMES:
        raise RangeError(
            f"the range {shown(text)} makes {high - low + 1} names; the most is {MOST_NAMES}",
            "split it into smaller ranges",
        )
    width = len(first) if first.startswith("0") or len(first) == len(last) else 0
    return tuple(f"{prefix}{number:0{width}d}" for number in range(low, high + 1))
