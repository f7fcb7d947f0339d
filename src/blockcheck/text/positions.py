"""Where every key and value of a TOML document stands in its text.

The parser gives values without places, so this reads the text a second time, and only text that the parser has
accepted: it looks for where things begin and end, and diagnoses nothing.
"""

from __future__ import annotations

import re

from attrs import frozen

from blockcheck.core.spans import Path, Span


@frozen(slots=True)
class Spot:
    """Where one path of a document is written. Offsets are in code points of the text that was scanned.

    ``key`` is the key as written, quotes included (of a dotted key the part that leads here; of a table header the
    whole header, both brackets included); None for the items of an array, which have no key. ``value`` is the value;
    for a table made by a header or by a dotted key, which has no value in one piece, it is ``key`` once more.
    """

    key: Span | None
    value: Span


_Table = tuple[Path, dict[str, "_Table"]]
"""A table that may still grow: its path, and the tables in it by name (of an array of tables, the last item)."""

# Possessive throughout, so that the longest text is read once and without a stack.
BASIC = r'"[^"\\\n]*+(?:\\.[^"\\\n]*+)*+"'
LITERAL = r"'[^'\n]*+'"
KEY = rf"(?:[A-Za-z0-9_-]++|{BASIC}|{LITERAL})"
KEYS = rf"{KEY}(?:[ \t]*\.[ \t]*{KEY})*"

# Up to two quotes may stand right before the three that close a multi-line string.
LONG_BASIC = r'"""[^"\\]*+(?:(?:\\[\s\S]|"(?!""))[^"\\]*+)*+"{3,5}'
LONG_LITERAL = r"'''[^']*+(?:'(?!'')[^']*+)*+'{3,5}"
# A date and its time may be parted by a blank; all other bare values are one word.
_WORD = r"[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9][0-9:.Zz+-]*|[A-Za-z0-9+.:_-]+"
_VALUE = rf"(?:(?P<scalar>{_WORD}|{LONG_BASIC}|{LONG_LITERAL}|{BASIC}|{LITERAL})|(?P<open>[\[{{]))"

# What may stand between two entries or items. Commas need no keeping: the parser has seen to them. No run of comments
# is ever tried twice.
_GAP = r"[ \t\r\n,]*+(?:#[^\n]*+[ \t\r\n,]*+)*+"

# Both match at the end of the text too, with no group.
_ENTRY = re.compile(
    rf"{_GAP}(?:(?P<key>{KEYS})[ \t]*=[ \t]*{_VALUE}|(?P<header>\[\[?[ \t]*{KEYS}[ \t]*\]\]?)|(?P<close>\}}))?"
)
_ITEM = re.compile(rf"{_GAP}(?:{_VALUE}|(?P<close>\]))?")
_PART = re.compile(KEY)
_ESCAPE = re.compile(r"\\(?:x(..)|u(....)|U(........)|(.))")
_ESCAPED = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", "e": "\x1b", '"': '"', "\\": "\\"}


def scan(text: str) -> dict[Path, Spot]:
    """The spot of every table, key and item of a document, by its path in the parsed document (the root has none).

    ``text`` must be TOML 1.0 or 1.1 that the parser accepts, without a byte order mark; for other text the answer
    means nothing. A table that only longer headers or dotted keys mention has the spot of the first of them; a header
    of its own wins. An array of tables has the spot of its first header, each item that of its own.

    Takes time in proportion to the length of the text and of all paths together, and no recursion.
    """
    spots: dict[Path, Spot] = {}
    items: dict[Path, int] = {}
    root: _Table = ((), {})
    table, item = root, -1  # where entries go now; in an array the number of the next item, else -1
    outer: list[tuple[_Table, int, Span | None, int]] = []  # the same around it, and where its own key and value are
    key: Span | None
    entry, next_item = _ENTRY.match, _ITEM.match
    at = 0
    while (match := entry(text, at) if item < 0 else next_item(text, at)) and (kind := match.lastgroup):
        start, at = match.span(kind)
        if kind == "header":
            table = _open(root, text, Span(start, at), spots, items)
            continue
        if kind == "close":
            path = table[0]
            table, item, key, start = outer.pop()
            spots[path] = Spot(key, Span(start, at))
            continue
        if item >= 0:
            path, key = (*table[0], item), None
            item += 1
        elif (written := match["key"]).isidentifier():  # neither quoted nor dotted: the quick way for most
            path, key = (*table[0], written), Span(*match.span("key"))
        else:
            path, key = _enter(table, text, match.span("key"), spots)
        if kind == "scalar":
            spots[path] = Spot(key, Span(start, at))
        else:
            outer.append((table, item, key, start))
            table, item = (path, {}), (0 if text[start] == "[" else -1)
    return spots


def _open(root: _Table, text: str, header: Span, spots: dict[Path, Spot], items: dict[Path, int]) -> _Table:
    """The table that a header opens; ``items`` counts those of every array of tables."""
    spot = Spot(header, header)
    *above, last = _PART.findall(text, header.start, header.end)
    table = root
    for part in above:
        table = _inner(table, _unquote(part), spot, spots)
    name = _unquote(last)
    path: Path = (*table[0], name)
    if text.startswith("[[", header.start):
        spots.setdefault(path, spot)
        count = items.get(path, 0)
        items[path] = count + 1
        path = (*path, count)
        opened: _Table = (path, {})  # anew for each item: what the one before it held is closed
    else:
        opened = table[1].get(name) or (path, {})
    spots[path] = spot
    table[1][name] = opened
    return opened


def _enter(table: _Table, text: str, keys: tuple[int, int], spots: dict[Path, Spot]) -> tuple[Path, Span]:
    """Path and span of a key, of its last part if dotted; the tables that the others name are made on the way."""
    *above, last = _PART.finditer(text, *keys)
    for part in above:
        span = Span(*part.span())
        table = _inner(table, _unquote(part[0]), Spot(span, span), spots)
    return (*table[0], _unquote(last[0])), Span(*last.span())


def _inner(table: _Table, name: str, spot: Spot, spots: dict[Path, Spot]) -> _Table:
    """A table in a table by its name; made, with the spot given, if this is the first mention of it."""
    inner = table[1].get(name)
    if inner is None:
        path = (*table[0], name)
        spots[path] = spot
        inner = table[1][name] = (path, {})
    return inner


def _unquote(written: str) -> str:
    """The key that a bare or quoted part of a key stands for."""
    if written[0] not in "\"'":
        return written
    inside = written[1:-1]
    return _ESCAPE.sub(_unescape, inside) if written[0] == '"' else inside


def _unescape(match: re.Match[str]) -> str:
    if match[4]:
        return _ESCAPED[match[4]]
    return chr(int(match[1] or match[2] or match[3], 16))
