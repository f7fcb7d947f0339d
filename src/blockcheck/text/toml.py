"""Bytes of one TOML file to its values, or to findings that say where it cannot be read."""

from __future__ import annotations

import re
from typing import Any

import tomli

from blockcheck.core.errors import InputError
from blockcheck.core.findings import Finding, Label
from blockcheck.core.spans import Place, SourceFile, Span

MOST_BYTES = 8 * 2**20
"""A layout file of more than this is refused: it is no layout, and reading it would tie up the machine."""

_HEADER = re.compile(r"^\s*\[\s*([^\[\]]+?)\s*\]", re.MULTILINE)
_BARE_QUANTITY = re.compile(r"=\s*([-+]?[0-9][0-9.]*)\s*([A-Za-zµμΩ%/0-9 ]+?)\s*(?:[,}#]|$)")


def read_toml(data: bytes, name: str) -> tuple[SourceFile, dict[str, Any]]:
    """Decode and parse one file. Raises InputError, with the place of the fault, where it is no TOML in UTF-8."""
    if len(data) > MOST_BYTES:
        raise _fault(
            Place(name, 1, 1, 1, 1),
            f"the file has {len(data) / 2**20:.1f} MiB; a layout file has at most {MOST_BYTES // 2**20} MiB",
            'keep each yard in a file of its own and join them with include = ["yard.toml"]',
        )
    source = SourceFile(name, _decode(data, name))
    try:
        return source, tomli.loads(source.text)
    except tomli.TOMLDecodeError as error:
        raise _syntax_fault(source, error) from None
    except RecursionError:
        raise _fault(_deepest(source), "arrays or inline tables are nested too deeply to be read") from None
    except ValueError as error:  # such as an integer of more digits than Python converts
        raise _fault(Place(name, 1, 1, 1, 1), f"the file cannot be read: {error}") from None


def _fault(place: Place, message: str, help_: str | None = None, related: tuple[Label, ...] = ()) -> InputError:
    return InputError([Finding(message, place.file, place, help=help_, related=related)])


def _decode(data: bytes, name: str) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _fault(Place(name, 1, 1, 1, 1), "the file is in UTF-16", "save it as UTF-8 in your editor")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        start = data.rfind(b"\n", 0, error.start) + 1
        end = data.find(b"\n", error.start)
        shown = data[start : end if end >= 0 else len(data)].decode("utf-8", "replace").rstrip("\r")
        column = len(data[start : error.start].decode("utf-8", "replace")) + 1
        place = Place(name, line, column, line, column + 1, shown)
        raise _fault(
            place, f"byte 0x{data[error.start]:02x} is not UTF-8", "save the file as UTF-8 in your editor"
        ) from None


def _deepest(source: SourceFile) -> Place:
    """The line that opens the most brackets, which is where the nesting is."""
    line = max(re.finditer(r"[^\n]+", source.text), key=lambda match: match[0].count("[") + match[0].count("{"))
    place = source.place(Span(line.start(), line.start() + 1))
    return Place(place.file, place.line, place.column, place.end_line, place.end_column, place.source[:200])


def _syntax_fault(source: SourceFile, error: tomli.TOMLDecodeError) -> InputError:
    offset = min(error.pos, len(source.text))
    place = source.place(Span(offset, min(offset + 1, len(source.text))))
    message = error.msg[:1].lower() + error.msg[1:]
    twice = re.match(r"Cannot declare (\(.*\)) twice", error.msg) or re.match(r"Cannot overwrite a value", error.msg)
    if twice:
        return _twice(source, place)
    if "\\" in place.source and "escape" in error.msg.lower():
        return _fault(place, message, "write the text in 'single quotes', where a backslash stands for itself")
    quantity = _BARE_QUANTITY.search(place.source)
    if quantity:
        return _fault(place, message, f'a quantity is text: write "{quantity[1]} {quantity[2].strip()}"')
    bare = re.search(r"=\s*([A-Za-z_][\w.\-]*)\s*$", place.source)
    if bare and error.msg.startswith("Invalid value"):
        return _fault(place, message, f'text stands in quotes: write "{bare[1]}"')
    return _fault(place, f"this is not TOML: {message}", "see https://toml.io for how TOML is written")


def _twice(source: SourceFile, place: Place) -> InputError:
    line = place.source.strip()
    header = _HEADER.match(line)
    if header:
        for match in _HEADER.finditer(source.text):
            if match[1] == header[1]:
                at = source.place(Span(match.start(1) - 1, match.end(1) + 1))
                if at.line < place.line:
                    first = Label(at, "first written here")
                    return _fault(place, f"[{header[1]}] is written twice", "merge the two tables", (first,))
    key = line.split("=")[0].strip()
    return _fault(place, f"{key} is given twice in the same table", "keep one of the two")
