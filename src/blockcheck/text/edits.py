"""What a mend changes in the files of a layout: a key set or taken out, a table added, as edits of their text."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from typing import Any

from attrs import field, frozen

from blockcheck.core.findings import Edit, Rewrite
from blockcheck.core.natural import condensed
from blockcheck.core.spans import Path, Span
from blockcheck.text.document import Document, Layer, ReadFile
from blockcheck.text.ranges import names_of

_BARE = re.compile("[A-Za-z0-9_-]+")


def quoted(text: str) -> str:
    """A text as TOML writes it."""
    return json.dumps(text, ensure_ascii=False)


def key_of(name: str) -> str:
    """A name as TOML writes it before an equals sign and in a header."""
    return name if _BARE.fullmatch(name) else quoted(name)


def edits_of(document: Document, rewrites: Iterable[Rewrite]) -> tuple[Edit, ...]:
    """The edits that make some rewrites, in the order of the text; none where one cannot be made as the files stand.

    A key that a range deals out is changed there if all its names agree, or if a range stands for what they want; else
    the name gets a table of its own, which refines the range. Files that ship with the package are not edited.
    """
    editor = _Editor(document)
    try:
        for (file, table), keys in editor.grouped(rewrites).items():
            editor.table(file, table, keys)
        for (file, header), lines in editor.refined.items():
            editor.append(file, "\n".join((header, *lines)))
    except _CannotError:
        return ()
    return tuple(
        Edit(file.source.place(Span(*span)), text.replace("\n", _newline(file)))
        for file, changes in editor.changes.items()
        for span, text in sorted(changes.items())
    )


class _CannotError(Exception):
    """A rewrite that cannot be made."""


_Keys = dict[Path, dict[str, str | None]]
"""Path of a key in its table -> name of the table as it is written out -> what the key is to be."""


@frozen(eq=False, repr=False, slots=False)
class _Editor:
    document: Document
    changes: dict[ReadFile, dict[tuple[int, int], str]] = field(factory=dict)
    refined: dict[tuple[ReadFile, str], list[str]] = field(factory=dict)
    """File and header -> the lines of a table that is not there yet."""

    def change(self, file: ReadFile, start: int, end: int, text: str) -> None:
        if file.stock:
            raise _CannotError
        spans = self.changes.setdefault(file, {})
        spans[start, end] = spans.get((start, end), "") + text

    def grouped(self, rewrites: Iterable[Rewrite]) -> dict[tuple[ReadFile, Path], _Keys]:
        """Rewrites by the table as written; a path that ends in an array of tables adds one to it."""
        found: dict[tuple[ReadFile, Path], _Keys] = {}
        for one in rewrites:
            path = one.path
            if len(path) == 1:
                self.add(self.document.files[0], str(path[0]), str(one.to))
                continue
            if one.key:
                self.rename(path, str(one.to))
                continue
            layer = self._home(path)
            found.setdefault((layer.file, layer.path), {}).setdefault(path[2:], {})[str(path[1])] = one.to
        return found

    def _home(self, path: Path, new: Path | None = None) -> Layer:
        """The written table that has the key; where none has, the one at ``new``, else that for this name alone."""
        layers = self.document.layers.get(path[:2])
        if layers is None:
            raise _CannotError
        having = (one for one in layers if one.keys is None or (len(path) > 2 and path[2] in one.keys))
        return next(having, None) or next((one for one in layers if one.path == new), layers[0])

    def table(self, file: ReadFile, table: Path, keys: _Keys) -> None:
        """The rewrites of one written table, which may stand for many names."""
        ranged = table[0] in self.document.tables.named and names_of(str(table[1]))
        for key, wanted in keys.items():
            if not key:
                self.remove(file, table)
            elif ranged:
                self.of_range(file, table, ranged, key, wanted)
            elif len(set(wanted.values())) == 1 and self._said_once(file, table, key):
                self.key(file, (*table, *key), next(iter(wanted.values())))
            else:
                raise _CannotError

    def _said_once(self, file: ReadFile, table: Path, key: Path) -> bool:
        """Whether a name in an item of an array is the one of that item, and not one of a range."""
        value: Any = file.values
        for step in (*table, *key) if len(key) > 1 else ():
            value = value[step]
        return not isinstance(value, str) or names_of(value) is None

    def of_range(
        self, file: ReadFile, table: Path, names: tuple[str, ...], key: Path, wanted: dict[str, str | None]
    ) -> None:
        """A key of a range: for all its names at once, else for each name in a table of its own."""
        text = self._shared(table, names, key, wanted)
        if text is not None or (set(wanted) >= set(names) and set(wanted.values()) == {None}):
            self.key(file, (*table, *key), text)
            return
        for name, to in wanted.items():
            if to is None or len(key) > 1:
                raise _CannotError
            own = next((one for one in self.document.layers[str(table[0]), name] if one.path[1] == name), None)
            if own is not None:
                self.key(own.file, (*own.path, *key), to)
            else:
                header = f"[{table[0]}.{key_of(name)}]"
                self.refined.setdefault((file, header), []).append(f"{key[0]} = {to}")

    def _shared(self, table: Path, names: tuple[str, ...], key: Path, wanted: dict[str, str | None]) -> str | None:
        """What to write for all names of a range; None where no one text stands for what they want."""
        texts: list[str | None] = []
        for name in names:
            if name in wanted:
                texts.append(wanted[name])
                continue
            written = (str(table[0]), name, *key)
            if self._home(written, table).path == table:  # else another table decides it for this name
                value = self.document.value(written[:2]).get(key[0])
                texts.append(quoted(value) if isinstance(value, str) and len(key) == 1 else None)
        if len(set(texts)) == 1:
            return texts[0]
        plain = [json.loads(text) for text in texts if text is not None and text.startswith('"')]
        if len(plain) == len(names) and key[0] in self.document.tables.dealt.get(str(table[0]), ()):
            (*_, last) = together = condensed(plain)
            if len(together) == 1 and list(names_of(last) or ()) == plain:
                return quoted(last)
        return None

    def key(self, file: ReadFile, path: Path, to: str | None) -> None:
        """Set a key of a written table, or take it out."""
        spot = file.spots.get(path)
        if spot is None:
            if to is None or len(path) != 3:
                raise _CannotError
            self.insert(file, path, to)
        elif spot.key == spot.value or (to is None and spot.key is None):  # written in parts; an item of a list
            raise _CannotError
        elif to is not None:
            self.change(file, spot.value.start, spot.value.end, to)
        elif spot.key is not None:
            self.cut(file, spot.key.start, spot.value.end)

    def rename(self, path: Path, to: str) -> None:
        """Write a key otherwise."""
        file, written = self.document.written_in(path)
        spot = file.spots.get(written)
        if spot is None or spot.key is None:
            raise _CannotError
        self.change(file, spot.key.start, spot.key.end, key_of(to))

    def insert(self, file: ReadFile, path: Path, to: str) -> None:
        """A key that its table lacks: after its last line, or as the last in its braces."""
        text, spot = file.source.text, file.spots.get(path[:-1])
        if spot is None or spot.key is None:
            raise _CannotError
        if spot.key == spot.value and text[spot.key.start] == "[":
            at = _line_end(text, _end(file, path[:-1]))
            self.change(file, at, at, f"\n{path[-1]} = {to}")
        elif text[spot.value.start] == "{":
            self.into(file, spot.value, f"{path[-1]} = {to}")
        else:
            raise _CannotError

    def into(self, file: ReadFile, brackets: Span, one: str) -> None:
        """One more, as the last between brackets or braces."""
        inside = file.source.text[brackets.start + 1 : brackets.end - 1].rstrip()
        at = brackets.start + 1 + len(inside)
        comma = ", " if inside.strip() and not inside.endswith(",") else " "
        self.change(file, at, at, f"{comma}{one}{'' if inside.strip() else ' '}")

    def cut(self, file: ReadFile, start: int, end: int) -> None:
        """Take out a key and its value, with its line or its comma."""
        text = file.source.text
        first, last = text.rfind("\n", 0, start) + 1, _line_end(text, end)
        after = text[end:last].strip()
        if not text[first:start].strip() and (not after or after.startswith("#")):
            self.change(file, first, min(last + len(_newline(file)), len(text)), "")
            return
        before, rest = text[:start].rstrip(), text[end:]
        comma = re.match(r"\s*,\s*", rest)
        if comma:
            self.change(file, start, end + comma.end(), "")
        elif before.endswith(","):
            self.change(file, len(before) - 1, end, "")
        elif before.endswith("{"):
            self.change(file, start, end, "")
        else:
            raise _CannotError

    def remove(self, file: ReadFile, path: Path) -> None:
        """Take out a table with a header of its own, and the empty lines before it."""
        text, spot = file.source.text, file.spots.get(path)
        if spot is None or spot.key is None or spot.key != spot.value or text[spot.key.start] != "[":
            raise _CannotError
        start = len(text[: spot.key.start].rstrip())
        self.change(file, start, _line_end(text, _end(file, path)), "")

    def add(self, file: ReadFile, array: str, body: str) -> None:
        """One more table of an array; ``body`` is its lines."""
        assert array in self.document.tables.arrays
        for one in self.document.files:  # beside those that there are
            if array in one.values and not one.stock:
                file = one
        spot = file.spots.get((array,))
        if spot is None or file.source.text[spot.value.start : spot.value.start + 2] == "[[":
            self.append(file, f"[[{array}]]\n{body}")
            return
        self.into(file, spot.value, f"{{ {', '.join(body.splitlines())} }}")

    def append(self, file: ReadFile, lines: str) -> None:
        """Lines at the end of a file, set off by an empty one."""
        text = file.source.text
        self.change(file, len(text), len(text), ("\n" if text.endswith("\n") else "\n\n") + lines + "\n")


def _newline(file: ReadFile) -> str:
    return "\r\n" if "\r\n" in file.source.text else "\n"


def _end(file: ReadFile, table: Path) -> int:
    """Where the last of a table's own keys ends, which is before the next header."""
    text, own = file.source.text, file.spots[table]
    tables = (one.key.start for one in file.spots.values() if one.key is not None and one.key == one.value)
    following = min((at for at in tables if at > own.value.start and text[at] == "["), default=len(text))
    return max(
        one.value.end for way, one in file.spots.items() if way[: len(table)] == table and one.value.start < following
    )


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    end = len(text) if end < 0 else end
    return end - 1 if text[at:end].endswith("\r") else end
