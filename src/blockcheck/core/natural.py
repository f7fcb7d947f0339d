"""Natural order: S2 before S10, the order in which people read names."""

from __future__ import annotations

import re

_DIGITS = re.compile(r"([0-9]+)")


def natural_key(name: str) -> tuple[tuple[int, int, str, str], ...]:
    """A sort key by which digits compare as numbers, however many; equal numbers of different width stay apart."""
    return tuple(
        (0, len(number := part.lstrip("0")), number, part) if part[0] in "0123456789" else (1, 0, part, "")
        for part in _DIGITS.split(name)
        if part
    )
