"""Where the names of a layout stand: each definition and each use, through ranges and in all files; and renaming."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from attrs import frozen

from blockcheck.core.shown import shown
from blockcheck.editor.names import tables_named
from blockcheck.model.layout import TABLES
from blockcheck.text.document import ReadFile
from blockcheck.text.edits import key_of
from blockcheck.text.ranges import RangeError, names_of


@frozen
class Occurrence:
    """A name, or a range of them, where it stands: in which file, from where to where; and in which tables it may be.

    ``defines`` says whether its table stands there.
    """

    file: Path
    start: int
    end: int
    text: str
    names: tuple[str, ...]
    tables: tuple[str, ...]
    defines: bool
    as_key: bool = False


class RenameError(ValueError):
    """A name that cannot be changed so; the message says why, and what can."""


def occurrences(files: Iterable[ReadFile]) -> Iterator[Occurrence]:
    """All of them. What ships with the package is not looked at."""
    for file in files:
        if file.path is None or file.stock:
            continue
        for path, spot in file.spots.items():
            if spot.key is not None and isinstance(path[-1], str):
                yield from _key(file, path, spot.key.start, spot.key.end)
            if spot.value != spot.key:
                yield from _value(file, path, spot.value.start, spot.value.end)


def _key(file: ReadFile, path: tuple[str | int, ...], start: int, end: int) -> Iterator[Occurrence]:
    """A key that is a name: of its own table, or of what it sets."""
    assert file.path is not None
    name, text = str(path[-1]), file.source.text[start:end]
    defines = len(path) == 2 and path[0] in TABLES.named
    tables = (str(path[0]),) if defines else tables_named(_plain(path[:-1]), key=True)
    at = text.rfind(name) if tables else -1
    if at >= 0:
        yield _made(file.path, start + at, name, tables, defines, as_key=True)


def _value(file: ReadFile, path: tuple[str | int, ...], start: int, end: int) -> Iterator[Occurrence]:
    """A text that holds names: with a channel or a pole behind, or several after commas."""
    assert file.path is not None
    tables, text = tables_named(_plain(path)), file.source.text[start:end]
    if not tables or text[:1] not in ("'", '"') or text[:3] in ("'''", '"""') or "\\" in text:
        return
    for one in re.finditer(r"[^,]+", text[1:-1]):
        piece = one[0].strip()
        at = start + 1 + one.start() + len(one[0]) - len(one[0].lstrip())
        if "boards" in tables or ("isolators" in tables and re.search(r"\.\d+$", piece)):
            piece = piece.rpartition(".")[0]
        if piece and ":" not in piece:
            yield _made(file.path, at, piece, tables, False)


def _made(
    file: Path, start: int, text: str, tables: tuple[str, ...], defines: bool, as_key: bool = False
) -> Occurrence:
    try:
        names = names_of(text) or (text,)
    except RangeError:
        names = (text,)
    return Occurrence(file.resolve(), start, start + len(text), text, names, tables, defines, as_key)


def _plain(path: tuple[str | int, ...]) -> tuple[str, ...]:
    """The way through the language: without the numbers of items."""
    return tuple(one for one in path if isinstance(one, str))


def at(found: Iterable[Occurrence], file: Path, offset: int) -> Occurrence | None:
    """What stands at a place; the shortest of several."""
    here = [one for one in found if one.file == file and one.start <= offset <= one.end]
    return min(here, key=lambda one: one.end - one.start, default=None)


def same(found: Iterable[Occurrence], one: Occurrence) -> list[Occurrence]:
    """Whatever names a thing that this one names."""
    known = [*found]
    homes = {
        table
        for two in known
        if two.defines and {*two.names} & {*one.names}
        for table in two.tables
        if table in one.tables
    }
    return [two for two in known if {*two.tables} & homes and {*two.names} & {*one.names}]


def renamed(found: Iterable[Occurrence], one: Occurrence, to: str) -> Iterator[tuple[Occurrence, str]]:
    """What to write at each place. Raises RenameError where a range would come apart, or the new name is none."""
    try:
        new = names_of(to) or (to,)
    except RangeError as error:
        raise RenameError(f"{error.message}; {error.help}") from None
    if re.fullmatch(r"[\w-]{1,100}", to) is None:
        raise RenameError(f"{shown(to)} is no name here: write letters, digits and dashes")
    if len(new) != len(one.names):
        raise RenameError(f"{one.text} stands for {len(one.names)} names, and {shown(to)} for {len(new)}")
    instead = dict(zip(one.names, new, strict=True))
    known = [*found]
    places = same(known, one)
    tables = {table for two in places if two.defines for table in two.tables}
    taken = {name for two in known if two.defines and {*two.tables} & tables for name in two.names}
    clash = [name for name in new if name in taken and name not in instead]
    if clash:
        raise RenameError(f"there is {clash[0]} already")
    if not any(two.defines for two in places):
        raise RenameError(f"nothing is called {one.text}")
    for two in places:
        yield two, _in_place(two, instead)


def _in_place(one: Occurrence, instead: Mapping[str, str]) -> str:
    """A name or range of names that are called otherwise."""
    if not {*one.names} <= instead.keys():
        names = next(name for name in one.names if name in instead)
        raise RenameError(f"{names} is one of {one.text} there: rename that range, or write {names} on its own first")
    new = [instead[name] for name in one.names]
    if len(new) == 1:
        text = new[0]
    else:
        text = f"{new[0]}-{new[-1]}"
        if list(names_of(text) or ()) != new:
            raise RenameError(f"{one.text} would be no range any more")
    return key_of(text) if one.as_key else text
