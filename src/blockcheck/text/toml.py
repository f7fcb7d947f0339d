"""Bytes of one TOML file to its values, or to findings that say where it cannot be read."""

from __future__ import annotations

import re
from typing import Any

import tomli

from blockcheck.core.errors import InputError
from blockcheck.core.findings import Finding
from blockcheck.core.spans import Path, Place, SourceFile, Span

MOST_BYTES = 8 * 2**20
"""A file of more than this is refused, whatever it is read for: reading it would tie up the machine."""
TOO_LARGE = f"has more than {MOST_BYTES // 2**20} MiB, which is the most that is read"
MOST_LEVELS = 16
"""Tables and lists in each other; the language has five levels."""

MOST_VALUES = 250_000
"""Values in one file, tables and lists among them; ten thousand blocks that are all written out have 150,000."""

_INTEGERS = range(-(2**63), 2**63)  # what TOML has every reader take
_MANY_DOTS = re.compile(rf"(?:\.[^.\n]*+){{{MOST_LEVELS}}}")
_LONG_NUMBER = re.compile(r"(?<![\w.+-])[-+]?[0-9][0-9_]{4000,}")


def read_toml(data: bytes, name: str) -> tuple[SourceFile, dict[str, Any]]:
    """Decode and parse one file. Raises InputError, with the place of the fault, where it is no TOML in UTF-8."""
    if len(data) > MOST_BYTES:
        raise _fault(
            Place(name, 1, 1, 1, 1),
            f"the file {TOO_LARGE}",
            'keep each yard in a file of its own and join them with include = ["yard.toml"]',
        )
    source = SourceFile(name, decoded(data, name))
    if _MANY_DOTS.search(source.text):  # before the parser, which would build tables in tables in tables
        _refuse_deep_keys(source)
    try:
        values = tomli.loads(source.text)
    except tomli.TOMLDecodeError as error:
        from blockcheck.text.syntax import explain  # only wanted when something is wrong

        # the parser counts its places in a text whose lines end in LF alone
        raise InputError([explain(SourceFile(name, error.doc), error.pos, error.msg)]) from None
    except RecursionError:
        raise _too_deep(source, ()) from None
    except ValueError as error:  # an integer of more digits than Python converts
        match = _LONG_NUMBER.search(source.text)
        place = source.place(Span(*match.span())) if match else Place(name, 1, 1, 1, 1)
        raise _too_large(place) if match else _fault(place, f"the file cannot be read: {error}") from None
    _refuse_excess(source, values)
    return source, values


def _fault(place: Place, message: str, help_: str | None = None) -> InputError:
    return InputError([Finding(message, place.file, place, help=help_)])


def decoded(data: bytes, name: str) -> str:
    """A file as text. Raises InputError, with the place of the fault, where it is not in UTF-8."""
    even, odd = data[:40:2], data[1:40:2]
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or (odd and any(even) != any(odd)):
        raise _fault(Place(name, 1, 1, 1, 1), "the file is in UTF-16", "save it as UTF-8 in your editor")
    data = data.removeprefix(b"\xef\xbb\xbf")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        text = data[: error.start].decode("utf-8")
        end = data.find(b"\n", error.start)
        line = text.rpartition("\n")[2]
        rest = data[error.start : end if end >= 0 else len(data)].decode("utf-8", "replace").rstrip("\r")
        number, column = text.count("\n") + 1, len(line) + 1
        place = Place(name, number, column, number, column + 1, line + rest)
        message = f"byte 0x{data[error.start]:02x} is not UTF-8"
        raise _fault(place, message, "save the file as UTF-8 in your editor") from None


def _refuse_deep_keys(source: SourceFile) -> None:
    from blockcheck.text.brackets import deep_key

    span = deep_key(source.text, MOST_LEVELS)
    if span is not None:
        raise _fault(
            source.place(span),
            f"this key has more than {MOST_LEVELS} parts",
            "a layout needs three at most, such as [blocks.S1] or districts.lower.current",
        )


def _refuse_excess(source: SourceFile, values: dict[str, Any]) -> None:
    """Refuse what parses and no layout holds: too many values, integers beyond 64 bits, tables too deep to walk."""
    todo: list[tuple[Path, Any]] = [((), values)]
    count = 0
    while todo:
        path, container = todo.pop()
        count += len(container)
        if count > MOST_VALUES:
            where = f", [{'.'.join(map(str, path[:2]))}] among them" if path else ""
            raise _fault(
                Place(source.name, 1, 1, 1, 1),
                f"the file holds more than {MOST_VALUES} values{where}",
                'keep each yard in a file of its own and join them with include = ["yard.toml"]',
            )
        if len(path) > MOST_LEVELS:
            raise _too_deep(source, path)
        for key, value in container.items() if isinstance(container, dict) else enumerate(container):
            kind = type(value)
            if kind is dict or kind is list:
                todo.append(((*path, key), value))
            elif kind is int and value not in _INTEGERS:
                from blockcheck.text.positions import scan

                raise _too_large(source.place(scan(source.text)[(*path, key)].value))


def _too_large(place: Place) -> InputError:
    return _fault(place, "this whole number has too many digits", "write a number of at most nine digits")


def _too_deep(source: SourceFile, path: Path) -> InputError:
    from blockcheck.text.brackets import deep_bracket

    at = deep_bracket(source.text, MOST_LEVELS)
    place = source.place(Span(at or 0, (at or 0) + 1))
    where = f" in [{'.'.join(map(str, path[:2]))}]" if path else ""
    return _fault(
        place,
        f"lists or tables are nested too deeply{where}",
        'a list holds names or tables at most: blocks = ["S1", "S2"]',
    )
