"""Names that differ and read alike: in capitals, in how their signs are composed, in letters that look the same."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator

_LOOK = str.maketrans(  # what looks like a Latin letter, by the confusables of UTS #39; no more than names are made of
    "0I1|\u0131"
    "\u0391\u0392\u0395\u0396\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a5\u03a7\u03b1\u03b9\u03bd\u03bf\u03c1\u03c5"
    "\u0410\u0412\u0415\u0417\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0423\u0425\u0405\u0406\u0408"
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0455\u0456\u0458",
    "OllliABEZHlKMNOPTYXaivopuABE3KMHOPCTYXSlJaeopcyxsij",
)


def alike(names: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Each name that reads like an earlier one, behind the first of those."""
    seen: dict[tuple[int, str], str] = {}
    for name in names:
        whole = unicodedata.normalize("NFKC", name)
        readings = [*enumerate((whole.casefold(), whole.translate(_LOOK).casefold()))]
        first = next((seen[one] for one in readings if one in seen), None)
        for one in readings:
            seen.setdefault(one, name)
        if first is not None:
            yield first, name


def apart(one: str, other: str) -> str:
    """What tells two names apart that read alike."""
    if one.lower() == other.lower():
        return "only capitals tell them apart"
    odd = [sign for name, beside in ((other, one), (one, other)) for sign in name if sign not in beside]
    odd.sort(key=str.isascii)
    signs = [f"U+{ord(sign):04X} ({unicodedata.name(sign, 'no name').lower()})" for sign in odd]
    return f"{signs[0]} tells them apart" if signs else "their signs stand in another order"
