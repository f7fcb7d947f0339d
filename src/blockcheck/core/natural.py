"""Natural order: S2 before S10, the order in which people read names."""

from __future__ import annotations

import re

_DIGITS = re.compile(r"(\d+)")


def natural_key(name: str) -> tuple[tuple[int, int, str], ...]:
    """A sort key by which digits compare as numbers; equal numbers of different width stay apart."""
    return tuple(
        (0, int(part), part) if part.isdecimal() and part.isascii() else (1, 0, part)
        for part in _DIGITS.split(name)
        if part
    )
