"""Ranges: ``S1-S12`` stands for twelve names, and a range in a value is dealt out in step."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from blockcheck.core.shown import plain, shown

MOST_NAMES = 4096
"""A range never makes more names than this."""
MOST_SIGNS = 100
"""Signs of the longest name."""

SHORT = 2
"""Letters of the longest prefix by which ``Q1-T3`` reads as a range; ``deck1-track3`` is a name."""

_DASH = re.compile(r"\s*[-\u2010-\u2015\u2212]\s*")
_RANGE = re.compile(r"(?P<prefix>(?:.*\D)?)(?P<first>[0-9]+)-(?P<again>(?:.*\D)?)(?P<last>[0-9]+)", re.DOTALL)


class RangeError(ValueError):
    """A name that reads as a range and cannot be one. ``message`` and ``help`` are for people."""

    def __init__(self, message: str, help: str) -> None:  # noqa: A002 - the word that people read
        self.message = message
        self.help = help
        super().__init__(message)


def names_of(text: str) -> tuple[str, ...] | None:
    """The names that a range stands for, or None where the text is a plain name.

    Raises RangeError for a descending range, for one of more than 4,096 names, and for what reads as a range and is
    none: with another dash, with blanks, or with another prefix.
    """
    if len(text) > 2 * MOST_SIGNS or (text.isascii() and "-" not in text):
        return None
    return _names(text)


@lru_cache(maxsize=256)  # each may hold thousands of names
def _names(text: str) -> tuple[str, ...] | None:
    match = _RANGE.fullmatch(text)
    if match is None or match["again"] not in ("", match["prefix"]):
        _refuse_what_reads_as_a_range(text)
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


def _refuse_what_reads_as_a_range(text: str) -> None:
    match = _RANGE.fullmatch(_DASH.sub("-", unicodedata.normalize("NFKC", text)))
    if match is None:
        return
    prefix, again = match["prefix"], match["again"]
    if again not in ("", prefix) and not (max(len(prefix), len(again)) <= SHORT and (prefix + again).isalpha()):
        return
    first, last = sorted((match["first"], match["last"]), key=lambda digits: (len(digits), digits))
    meant = dict.fromkeys(map(plain, (prefix, again or prefix)))
    whole = " or ".join(f'"{one}{first}-{one}{last}"' for one in meant)
    raise RangeError(f"{shown(text)} reads as a range", f"write {whole}, or a name without a dash between numbers")
