"""Natural order: S2 before S10, the order in which people read names; and ranges of them, as people write them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

_DIGITS = re.compile(r"([0-9]+)")


@lru_cache(maxsize=1 << 16)  # the names of a layout are sorted by dozens of rules and tables
def natural_key(name: str) -> tuple[tuple[int, int, str, str], ...]:
    """A sort key by which digits compare as numbers, however many; equal numbers of different width stay apart."""
    return tuple(
        (0, len(number := part.lstrip("0")), number, part) if part[0] in "0123456789" else (1, 0, part, "")
        for part in _DIGITS.split(name)
        if part
    )


def condensed(names: Iterable[str]) -> tuple[str, ...]:
    """Names in natural order, three or more in a row as the range that stands for them: ``S1-S5``, ``neck``."""
    found: list[list[str]] = []
    for name in sorted(dict.fromkeys(names), key=natural_key):
        if found and _follows(found[-1][-1], name):
            found[-1].append(name)
        else:
            found.append([name])
    return tuple(one for run in found for one in ([f"{run[0]}-{run[-1]}"] if len(run) > 2 else run))


def _follows(before: str, name: str) -> bool:
    """Whether a name is the next of a range after another, written to the same width or without leading zeros."""
    stem, digits = _ending(before)
    again, next_ = _ending(name)
    if not digits or not next_ or stem != again or int(next_) != int(digits) + 1:
        return False
    return len(digits) == len(next_) or not (digits.startswith("0") or next_.startswith("0"))


def _ending(name: str) -> tuple[str, str]:
    stem = name.rstrip("0123456789")
    return stem, name[len(stem) :][-9:] if len(name) - len(stem) < 10 else ""
