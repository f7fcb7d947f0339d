"""Lengths as a tape measure reads: ``16 ft 6 in``, ``16' 6"``, ``2 m 40 cm``."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import pairwise

SPACES = " \t\u00a0\u202f\u2009"
"""What may stand between a number and its unit."""

_PART = re.compile(
    rf"[{SPACES}]*(?P<number>(?:0|[1-9][0-9]*)(?:\.[0-9]+)?)[{SPACES}]*"
    r"(?P<unit>[a-z]+|''|['’′](?:-(?=[0-9]))?|[\"”″])"
)
_SIGNS = {"'": "ft", "’": "ft", "′": "ft", '"': "in", "”": "in", "″": "in", "''": "in"}
"""How feet and inches are marked on drawings; a dash may stand between the two."""


def in_one_unit(plain: str, known: Mapping[str, float], systems: Iterable[tuple[str, ...]]) -> str:
    """``16 ft 6 in`` as ``198 in``; what is no such compound is left as it is.

    ``known``: each unit's factor to SI; ``systems``: the units that go together, the largest first. Raises ValueError,
    with what to write, for a compound that mixes systems or whose later parts make one of the unit before.
    """
    parts: list[tuple[str, str]] = []
    end = 0
    while end < len(plain) and (match := _PART.match(plain, end)):
        unit = match["unit"].removesuffix("-")
        parts.append((match["number"], _SIGNS.get(unit, unit)))
        end = match.end()
    units = [unit for _, unit in parts]
    if not units or end < len(plain) or not {*units} <= {*known}:
        return plain
    if not any([one for one in system if one in units] == units for system in systems):  # as printed: largest first
        raise ValueError('give feet and inches, or metres and their parts, as "16 ft 6 in" or "2 m 40 cm"')
    for (number, unit), (below, small) in pairwise(parts):
        if not number.isdigit():
            raise ValueError(f'only the last number may have a fraction, as in "16 ft 6.5 in", not {number}')
        if int(below.partition(".")[0]) >= round(known[unit] / known[small]):
            raise ValueError(f"{below} {small} is 1 {unit} or more: say so in {unit}, or all in {small}")
    last = units[-1]
    ending, point, part = parts[-1][0].partition(".")  # kept as text: a decimal number of units stays that number
    whole = sum(int(number) * round(known[unit] / known[last]) for number, unit in parts[:-1])
    return f"{whole + int(ending)}{point}{part} {last}"
