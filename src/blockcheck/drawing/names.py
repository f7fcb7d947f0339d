"""Many names in few words."""

from __future__ import annotations

import re
from collections.abc import Iterable

from blockcheck.drawing.shapes import short

_NUMBERED = re.compile(r"(.*?)([0-9]{1,9})", re.S)


def compact(names: Iterable[str], most: int = 28) -> str:
    """Names as they are told in short: ``T1–T5, W7``; what does not fit is counted."""
    parts: list[tuple[str, str]] = []
    ends: list[tuple[str, int] | None] = []
    for name in dict.fromkeys(names):
        match = _NUMBERED.fullmatch(name)
        key = (match[1], int(match[2])) if match else None
        last = ends[-1] if ends else None
        if key is not None and last is not None and key == (last[0], last[1] + 1):
            parts[-1] = (parts[-1][0], name)
            ends[-1] = key
        else:
            parts.append((name, name))
            ends.append(key)
    texts = [short(a) if a == b else f"{short(a, 12)}–{short(b, 12)}" for a, b in parts]
    shown: list[str] = []
    for number, text in enumerate(texts):
        left = len(texts) - number
        if shown and len(", ".join([*shown, text])) > most:
            return f"{', '.join(shown)} and {left} more"
        shown.append(text)
    return ", ".join(shown)
