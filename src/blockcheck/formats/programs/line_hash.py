"""The fingerprint of a line that code scanning follows findings by when lines move.

A hash of the hundred UTF-16 units from the start of the line on, without spaces and tabs, in base 37 modulo 2^64; every
line end counts as a line feed, the end of the text as unit 65535, and what lies beyond it as zeros. Lines of the same
hash are numbered. The algorithm is the one that github/codeql-action (src/fingerprints.ts) documents.
"""

from __future__ import annotations

import re
import sys
from array import array
from collections import Counter

_UNITS = 100
_MODULUS = 1 << 64
_END = 65535
_POWERS = [pow(37, _UNITS - 1 - index, _MODULUS) for index in range(_UNITS)]


def line_hashes(text: str) -> list[str]:
    """The hash of every line of a text, as ``<hash in hexadecimal>:<which of its like>``."""
    bare = re.sub(r"[ \t]", "", re.sub(r"\r\n?", "\n", text))
    units = array("H", bare.encode("utf-16-le" if sys.byteorder == "little" else "utf-16-be", "surrogatepass"))
    units.append(_END)
    starts = [0, *(index + 1 for index, unit in enumerate(units) if unit == 10)]
    counts: Counter[str] = Counter()
    found = []
    for start in starts:
        window = units[start : start + _UNITS]
        value = sum(unit * power for unit, power in zip(window, _POWERS, strict=False)) % _MODULUS
        name = f"{value:x}"
        counts[name] += 1
        found.append(f"{name}:{counts[name]}")
    return found
