"""Layouts read by hand for the second model: TOML, ranges written and dealt out, numbers with their units."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

PREFIX = {"m": 1e-3, "u": 1e-6, "k": 1e3, "": 1.0, "c": 1e-2, "M": 1e6}
UNIT = {"ft": 0.3048, "in": 0.0254}
DEALT = ("channel", "isolator", "diverging", "through", "toe")


def amount(text: str) -> float:
    """A number with its unit, in SI."""
    found = re.fullmatch(r"([0-9.e+-]+) ?(m|u|k|c|M)??(ohm|A|V|s|m|ft|in)", text)
    assert found, text
    return float(found[1]) * PREFIX[found[2] or ""] * UNIT.get(found[3], 1.0)


def spread(text: str) -> list[str]:
    """``R1-R6`` and ``D1.1-6`` written out."""
    found = re.fullmatch(r"(.*?)(\d+)-(?:[A-Za-z]*?)(\d+)", text)
    return [f"{found[1]}{n}" for n in range(int(found[2]), int(found[3]) + 1)] if found else [text]


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
