"""Where a cursor stands in the text of a layout: in which table, at which key, in a key or in a value.

It reads lines and not TOML, so that it works in a text that is broken, as one is while it is typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from attrs import frozen

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]\n]*?)\s*(\]\]?)?\s*(?:#.*)?$")
_KEY = re.compile(r"\s*((?:[\w-]+|\"[^\"\n]*\"|'[^'\n]*')(?:\s*\.\s*(?:[\w-]+|\"[^\"\n]*\"|'[^'\n]*'))*)\s*=")
_TOKEN = re.compile(r"\"(?:[^\"\\\n]|\\.)*\"?|'[^'\n]*'?|#.*|[\[\]{},=\n]|[^\s\"'#\[\]{},=]+")
_MOST_LINES = 200
"""A value that runs over more lines than this is not followed back."""


@frozen
class Situation:
    """``path`` leads to the table and key; ``kind`` says what the cursor is in: a header, a key, or a value.

    ``text`` is the word or the string there, without quotes, ``before`` as much of it as stands before the cursor,
    ``start`` and ``end`` where it lies in the text, ``quoted`` whether in quotes. ``there`` are the keys that its table
    has on this line.
    """

    kind: str
    path: tuple[str, ...]
    text: str
    before: str
    start: int
    end: int
    quoted: bool
    there: tuple[str, ...] = ()


def situation(text: str, offset: int) -> Situation:
    """What a cursor is in. ``offset`` counts code points from the beginning."""
    begin, end = text.rfind("\n", 0, offset) + 1, text.find("\n", offset)
    line = text[begin : end if end >= 0 else len(text)]
    header = _HEADER.match(line)
    if header and line.lstrip().startswith("[") and not _inside_value(text, begin):
        start = begin + header.start(2)
        steps = tuple(_steps(header[2]))
        return Situation("header", steps, header[2], text[start:offset], start, start + len(header[2]), False)
    table = _table(text, begin)
    statement = _statement(text, begin)
    return _within(text, statement, offset, table)


def _inside_value(text: str, begin: int) -> bool:
    """Whether a line goes on with a list that an earlier line began."""
    return _statement(text, begin) != begin


def _statement(text: str, begin: int) -> int:
    """Where the statement begins that a line belongs to: at an earlier line whose brackets are still open."""
    at = begin
    for _ in range(_MOST_LINES):
        if at == 0:
            return begin
        at = text.rfind("\n", 0, at - 1) + 1
        line = text[at : text.find("\n", at)]
        if _KEY.match(line):
            depth = sum({"[": 1, "{": 1, "]": -1, "}": -1}.get(one, 0) for one in _tokens(text[at:begin]))
            return at if depth > 0 else begin
        if line.lstrip().startswith("[") and _HEADER.match(line):
            return begin
    return begin


def _table(text: str, begin: int) -> tuple[str, ...]:
    """The header above a line."""
    for line in reversed(text[:begin].splitlines()):
        header = _HEADER.match(line)
        if header and header[3] and line.lstrip().startswith("[") and not line.rstrip().endswith(","):
            return tuple(_steps(header[2]))
    return ()


def _steps(words: str) -> Iterator[str]:
    for one in re.findall(r"\"[^\"]*\"?|'[^']*'?|[^.\s]+", words):
        yield one.strip("\"'")


def _tokens(text: str) -> Iterator[str]:
    yield from (one[0] for one in _TOKEN.finditer(text) if not one[0].startswith("#"))


def _within(text: str, begin: int, offset: int, table: tuple[str, ...]) -> Situation:
    """Walk a statement up to the cursor: what tables are open in it, and what key stands last."""
    stack: list[tuple[tuple[str, ...], bool, list[str]]] = [(table, True, [])]  # path, whether keys stand here, keys
    key: tuple[str, ...] | None = None
    word = ""
    for one in _TOKEN.finditer(text, begin):
        token = one[0]
        at_cursor = one.start() <= offset <= one.end() and token[0] not in "[]{},=\n#"
        if at_cursor or one.start() >= offset:
            break
        if token.startswith("#"):
            if offset > one.start() and "\n" not in text[one.start() : offset]:
                return Situation("comment", table, "", "", offset, offset, False)
            continue
        path, keyed, keys = stack[-1]
        if token == "=" and keyed:
            key = (*path, *_steps(word))
            keys.append(word)
        elif token == "{":
            stack.append((key or path, True, []))
            key = None
        elif token == "[":
            stack.append((key or path, False, []))
        elif token in "]}" and len(stack) > 1:
            closed = stack.pop()
            key = closed[0] if token == "]" else None
        elif (token == "," and keyed and len(stack) > 1) or (token == "\n" and len(stack) == 1):
            key = None
        word = token
    else:
        one, token, at_cursor = None, "", False
    path, keyed, keys = stack[-1]
    value = key is not None or not keyed
    where = (key or path) if value else path
    if not at_cursor:
        return Situation("value" if value else "key", where, "", "", offset, offset, False, tuple(keys))
    assert one is not None
    quoted = token[0] in "\"'"
    closing = quoted and len(token) > 1 and token[-1] == token[0]
    start, end = one.start() + quoted, one.end() - closing
    kind = "value" if value else "key"
    return Situation(kind, where, text[start:end], text[start : max(offset, start)], start, end, quoted, tuple(keys))
