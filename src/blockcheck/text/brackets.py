"""Brackets and quotes of a text that the parser refuses: which are open at a place, and which are nested too deeply."""

from __future__ import annotations

import re

from blockcheck.core.spans import Span
from blockcheck.text.positions import BASIC, KEY, LITERAL, LONG_BASIC, LONG_LITERAL

_TOKEN = re.compile(
    rf"{LONG_BASIC}|{LONG_LITERAL}|(?!\"\"\"|''')(?:{BASIC}|{LITERAL})|#[^\n]*+"
    r"|(?P<open>[\[{])|(?P<close>[\]}])|(?P<quote>\"\"\"|'''|\"|')"
)


def open_at(text: str, offset: int) -> tuple[list[int], re.Match[str] | None]:
    """The brackets that are open at an offset, outermost first, and the first quote before it that has no partner."""
    stack: list[int] = []
    for match in _TOKEN.finditer(text, 0, offset):
        kind = match.lastgroup
        if kind == "quote":
            return stack, match
        if kind == "open":
            stack.append(match.start())
        elif kind == "close" and stack:
            stack.pop()
    return stack, None


def deep_key(text: str, most: int) -> Span | None:
    """The first dotted key of more than ``most`` parts."""
    deep = rf"(?P<deep>{KEY}(?:[ \t]*\.[ \t]*{KEY}){{{most},}})"
    texts = rf"{LONG_BASIC}|{LONG_LITERAL}|{BASIC}|{LITERAL}|#[^\n]*+|[A-Za-z0-9_-]++"
    for match in re.finditer(rf"{deep}|{texts}", text):
        if match["deep"]:
            return Span(*match.span())
    return None


def deep_bracket(text: str, most: int) -> int | None:
    """Where the first nest of more than ``most`` brackets begins."""
    stack: list[int] = []
    for match in _TOKEN.finditer(text):
        if match["open"]:
            stack.append(match.start())
            if len(stack) > most:
                return stack[0]
        elif match["close"] and stack:
            stack.pop()
    return None
