"""Did you mean: the known word nearest to one that is not known."""

from __future__ import annotations

from collections.abc import Iterable


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The nearest of ``known``, or None if none is near. Case and order of ``known`` do not matter."""
    from difflib import get_close_matches  # costs more to import than most runs need

    folded: dict[str, str] = {}
    for name in sorted(known, reverse=True):
        folded[name.casefold()] = name
    close = get_close_matches(word.casefold(), list(folded)[:5000], n=1, cutoff=0.6)
    return folded[close[0]] if close else None


def did_you_mean(word: str, known: Iterable[str]) -> str | None:
    """A sentence that offers the nearest known word, or None."""
    near = nearest(word, known)
    return f'did you mean "{near}"?' if near is not None else None
