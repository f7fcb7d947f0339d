"""Counts and lists in words, once for the whole house."""

from __future__ import annotations

from collections.abc import Sequence


def plural(count: int, word: str, words: str | None = None) -> str:
    """A count with its word: ``1 error``, ``2 errors``."""
    return f"{count} {word if count == 1 else words or word + 's'}"


def capital(text: str) -> str:
    """A sentence with its first letter large."""
    return f"{text[:1].upper()}{text[1:]}"


def listed(names: Sequence[str], most: int | None = None) -> str:
    """Names as people list them: ``S1, S2 and S3``; of more than ``most`` the rest is counted."""
    if most is not None and len(names) > most:
        return cut_short(names, most)
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def cut_short(names: Sequence[str], most: int) -> str:
    """Names after commas; of more than ``most`` the rest is counted: ``S1, S2 and 3 more``."""
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")
