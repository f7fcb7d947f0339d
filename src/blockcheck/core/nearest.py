"""Did you mean: the known word nearest to one that is not known."""

from __future__ import annotations

from collections.abc import Iterable

MISSPELT = 0.8
"""So much of two words alike makes the one a slip for the other."""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The nearest of ``known``, or None if none is near. Case and order of ``known`` do not matter."""
    return next(iter(nearest_of(word, known, 1)), None)


def nearest_of(word: str, known: Iterable[str], most: int) -> list[str]:
    """The nearest of ``known``, the nearest first, at ``most`` so many."""
    from difflib import get_close_matches  # costs more to import than most runs need

    folded: dict[str, str] = {}
    for name in sorted(known, reverse=True):
        folded[name.casefold()] = name
    return [folded[one] for one in get_close_matches(word.casefold(), list(folded)[:5000], n=most, cutoff=0.6)]


def did_you_mean(word: str, known: Iterable[str]) -> str | None:
    """A sentence that offers the nearest known word, or None."""
    near = nearest(word, known)
    return f'did you mean "{near}"?' if near is not None else None


def misspelt(word: str, known: Iterable[str]) -> str | None:
    """The known word that another hardly differs from, by other signs than digits; None where there is none."""
    from difflib import SequenceMatcher

    near = nearest(word, known)
    if near is None or [one for one in word if one.isdigit()] != [one for one in near if one.isdigit()]:
        return None
    return near if SequenceMatcher(None, word.casefold(), near.casefold()).ratio() >= MISSPELT else None
