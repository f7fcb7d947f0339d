"""Layouts read by hand for the second model: TOML, ranges written and dealt out, numbers with their units."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

PREFIX = {"m": 1e-3, "u": 1e-6, "n": 1e-9, "p": 1e-12, "k": 1e3, "": 1.0, "c": 1e-2, "M": 1e6}
HALF_BIT_S = 58e-6
"""Of a one of the track signal (NMRA S-9.1)."""
UNIT = {"ft": 0.3048, "in": 0.0254}
DEALT = ("channel", "isolator", "diverging", "through", "toe")


def amount(text: str) -> float:
    """A number with its unit, in SI."""
    found = re.fullmatch(r"([0-9.e+-]+) ?(m|u|n|p|k|c|M)??(ohm|A|V|s|m|F|ft|in)", text)
    assert found, text
    return float(found[1]) * PREFIX[found[2] or ""] * UNIT.get(found[3], 1.0)


def ohms_of_signal(part: Mapping[str, str], dc: bool) -> float:
    """Volts over the mean current through what lies across rails: of the track signal, a capacitor C behind R swings
    between +U and -U with each half bit, and takes 2 C U with it; no direct current flows through it."""
    ohms = amount(part.get("resistance", "0 ohm"))
    if "capacitance" not in part:
        return ohms
    farads = amount(part["capacitance"])
    left = math.exp(-HALF_BIT_S / (ohms * farads)) if ohms else 0.0
    return math.inf if dc else HALF_BIT_S / (2 * farads * (1 - left) / (1 + left))


def spread(text: str) -> list[str]:
    """``R1-R6`` and ``D1.1-6`` written out."""
    found = re.fullmatch(r"(.*?)(\d+)-(?:[A-Za-z]*?)(\d+)", text)
    return [f"{found[1]}{n}" for n in range(int(found[2]), int(found[3]) + 1)] if found else [text]


def pairs(one: str, other: str) -> list[tuple[str, str]]:
    """Two ranges of one length go side by side; else each goes with each."""
    first, second = spread(one), spread(other)
    if len(first) == len(second):
        return list(zip(first, second, strict=True))
    return [(a, b) for a in first for b in second]


def whole(path: Path) -> dict[str, Any]:
    """A layout with what it includes."""
    raw = tomllib.loads(path.read_text("utf-8"))
    for name in (one for one in raw.pop("include", []) if not one.startswith("stock:")):
        for kind, more in whole(path.parent / name).items():
            if isinstance(more, list):
                raw[kind] = [*raw.get(kind, []), *more]
            elif isinstance(more, dict):
                raw[kind] = {**more, **raw.get(kind, {})}
    return raw


def tables(raw: Mapping[str, Any]) -> dict[str, dict[str, dict[str, Any]]]:
    """The named tables of a layout, ranges written out and dealt out; a plain one refines its range."""
    found: dict[str, dict[str, dict[str, Any]]] = {}
    for kind, named in raw.items():
        if not isinstance(named, dict) or kind in ("layout", "limits", "rules"):
            continue
        for name, keys in sorted(named.items(), key=lambda one: len(spread(one[0])) == 1):
            each = spread(name)
            for at, one in enumerate(each):
                mine = found.setdefault(kind, {}).setdefault(one, {})
                for key, value in keys.items():
                    dealt = spread(value) if isinstance(value, str) and key in DEALT else [value]
                    mine[key] = dealt[at if len(dealt) > 1 else 0]
    return found
