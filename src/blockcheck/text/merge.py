"""Files to one document: tables joined, ranges written out, every value still knowing where it was written."""

from __future__ import annotations

import re
from typing import Any, NamedTuple

from attrs import field, frozen

from blockcheck.core.faults import Faults
from blockcheck.core.findings import Label
from blockcheck.core.natural import condensed
from blockcheck.core.shown import plain, shown
from blockcheck.core.spans import Path
from blockcheck.core.words import listed
from blockcheck.text.document import Document, Layer, Raw, ReadFile, Tables
from blockcheck.text.ranges import RangeError, names_of

FORMAT = 1
MOST_TABLES = 200_000
"""All ranges of a layout together make no more tables than this."""
MOST_WRITTEN = 2_000_000
"""Nor do they write out more values than this."""

_DIGITS = re.compile("[0-9]{1,9}")


def merge(files: tuple[ReadFile, ...], tables: Tables) -> Document:
    """Join the files of a layout, the first file first, by what its tables are. Raises InputError with every fault."""
    work = _Merge(tables)
    for index, file in enumerate(files):
        for key, value in file.values.items():
            if key in tables.named and isinstance(value, dict):
                work.named(file, key, value)
            elif key in tables.paired and isinstance(value, list):
                work.pairs(file, key, value)
            elif key in tables.arrays and isinstance(value, list):
                for number, item in enumerate(value):
                    work.append(file, key, item, (key, number))
            elif key in tables.named or key in tables.arrays:
                work.misshapen(file, key)
            elif key == "format":
                work.format(file, value)
            elif key != "include":
                work.single(file, key, value)
        if index == 0 and "format" not in file.values:
            work.fault(file, (), "the file does not say which format it is in", "write format = 1 as its first line")
    work.finish_named()
    work.faults.stop()
    return Document(files[0].source.name, files, work.values, work.layers, tables)


class _Written(NamedTuple):
    """A named table as written, for one name: a range's share, or a plain table."""

    file: ReadFile
    path: Path
    body: Any
    is_range: bool


@frozen(eq=False, repr=False, slots=False)
class _Merge:
    kinds: Tables
    values: Raw = field(factory=dict)
    layers: dict[Path, tuple[Layer, ...]] = field(factory=dict)
    faults: Faults = field(factory=Faults)
    tables: dict[str, dict[str, list[_Written]]] = field(factory=dict)
    count: list[int] = field(factory=lambda: [0, 0])
    clashes: dict[tuple[str, Path, str, Path], _Clash] = field(factory=dict)

    def fault(self, file: ReadFile, at: Path, message: str, help_: str, *related: Label, key: bool = False) -> None:
        self.faults.add(file.place(at, key), message, help_, *related)

    def format(self, file: ReadFile, value: object) -> None:
        if type(value) is not int:
            self.fault(
                file, ("format",), f"format takes a whole number, got {shown(value)}", f"write format = {FORMAT}"
            )
        elif value != FORMAT:
            message = f"format {shown(value)} is not one that this blockcheck reads"
            self.fault(file, ("format",), message, f"write format = {FORMAT}")
        self.values["format"] = value
        self.layers.setdefault(("format",), (Layer(file, ("format",)),))

    def misshapen(self, file: ReadFile, key: str) -> None:
        if key in self.kinds.named:
            self.fault(file, (key,), f"{key} is made of named tables", f"write a header such as [{key}.NAME]", key=True)
        else:
            self.fault(file, (key,), f"{key} is a list of tables", f"write a header [[{key}]] for each", key=True)

    def single(self, file: ReadFile, key: str, value: object) -> None:
        first = self.layers.get((key,))
        if first is not None:
            where = Label(first[0].file.place((key,)), "first written here")
            self.fault(file, (key,), f"[{plain(key)}] is written in two files", "keep one of the two", where)
            return
        self.values[key] = value
        self.layers[(key,)] = (Layer(file, (key,)),)

    def append(self, file: ReadFile, key: str, item: object, path: Path) -> None:
        items: list[object] = self.values.setdefault(key, [])
        self.layers.setdefault((key,), (Layer(file, (key,)),))
        self.layers[(key, len(items))] = (Layer(file, path),)
        items.append(item)

    def pairs(self, file: ReadFile, array: str, items: list[Any]) -> None:
        """An item with a range in its pair of names is many: dealt out where both are ranges, else fanned out."""
        key, word = self.kinds.paired[array], array.removesuffix("s")
        for number, item in enumerate(items):
            path: Path = (array, number)
            pair = item.get(key) if isinstance(item, dict) else None
            if not (isinstance(pair, list) and len(pair) == 2 and all(isinstance(name, str) for name in pair)):
                self.append(file, array, item, path)
                continue
            left, right = (self.names(file, (*path, key, side), pair[side]) for side in (0, 1))
            if left is None or right is None:
                continue
            if len(left) > 1 and len(right) > 1 and len(left) != len(right):
                self.fault(
                    file,
                    (*path, key),
                    f"{shown(pair[0])} is {len(left)} names and {shown(pair[1])} is {len(right)}",
                    f"two ranges of a {word} are dealt out in step: give both the same count",
                )
                continue
            many = max(len(left), len(right))
            self.limit(file, path, many, item)
            for index in range(many):
                both = [left[index if len(left) > 1 else 0], right[index if len(right) > 1 else 0]]
                self.append(file, array, {**item, key: both}, path)

    def names(self, file: ReadFile, at: Path, text: str, key: bool = False) -> tuple[str, ...] | None:
        """The names of a range, or the plain name alone; None, and a finding, where the range cannot be one."""
        try:
            return names_of(text) or (text,)
        except RangeError as error:
            self.fault(file, at, error.message, error.help, key=key)
            return None

    def limit(self, file: ReadFile, at: Path, many: int, body: object) -> None:
        """Count what a range writes out. Raises InputError where all of them write out more than a layout can need."""
        self.count[0] += many
        if isinstance(body, dict):
            lists = sum(len(value) for value in body.values() if isinstance(value, list))
            self.count[1] += many * (len(body) + lists)
        if self.count[0] > MOST_TABLES or self.count[1] > MOST_WRITTEN:
            most = f"{MOST_TABLES} tables or {MOST_WRITTEN} values"
            self.fault(file, at, f"the ranges make more than {most}", "write fewer or smaller ranges")
            self.faults.stop()

    def named(self, file: ReadFile, table: str, bodies: Raw) -> None:
        made = self.tables.setdefault(table, {})
        self.layers.setdefault((table,), (Layer(file, (table,)),))
        for name, body in bodies.items():
            path: Path = (table, name)
            names = self.names(file, path, name, key=True)
            if names is None:
                continue
            if names == (name,):
                made.setdefault(name, []).append(_Written(file, path, body, False))
                continue
            self.limit(file, path, len(names), body)
            shares = self.deal(file, path, body, len(names)) if isinstance(body, dict) else [body] * len(names)
            for one, share in zip(names, shares, strict=True):
                made.setdefault(one, []).append(_Written(file, path, share, True))

    def deal(self, file: ReadFile, path: Path, body: Raw, count: int) -> list[Raw]:
        """The bodies of a range's tables: ranges in the keys that hold names are dealt out in step."""
        shares = [dict(body) for _ in range(count)]
        dealt_out = self.kinds.dealt.get(str(path[0]), {})
        for key in dealt_out.keys() & body.keys():
            value = body[key]
            if isinstance(value, str):
                dealt = self.dealt(file, (*path, key), value, count)
                for share, one in zip(shares, dealt, strict=True):
                    share[key] = int(one) if dealt_out[key] and _DIGITS.fullmatch(one) else one
            elif isinstance(value, list) and all(isinstance(item, str) for item in value):
                columns = [self.dealt(file, (*path, key, index), item, count) for index, item in enumerate(value)]
                for number, share in enumerate(shares):
                    share[key] = [column[number] for column in columns]
        return shares

    def dealt(self, file: ReadFile, at: Path, text: str, count: int) -> tuple[str, ...]:
        names = self.names(file, at, text)
        if names is None or names == (text,):
            return (text,) * count
        if len(names) != count:
            header = Label(file.place(at[:2]), f"this range is {count} names")
            message = f"{shown(text)} is {len(names)} names, but [{at[0]}.{plain(str(at[1]))}] is {count}"
            help_ = "make the two ranges the same length"
            if "," in text:
                message = f"{shown(text)} is not one range"
                parts, table = [one.strip() for one in text.split(",")], f"[{at[0]}.NAME1-NAME2]"
                help_ = f"write a header {table} for each of {' and '.join(map(shown, parts))}: a key takes one range"
            self.fault(file, at, message, help_, header)
            return (text,) * count
        return names

    def finish_named(self) -> None:
        for table, made in self.tables.items():
            bodies: Raw = self.values.setdefault(table, {})
            for name, written in made.items():
                if len(written) == 1:
                    bodies[name] = written[0].body
                    self.layers[(table, name)] = (Layer(written[0].file, written[0].path),)
                else:
                    bodies[name] = self.joined(table, name, written)
        for clash in self.clashes.values():
            self.contradicted(clash)

    def joined(self, table: str, name: str, written: list[_Written]) -> Any:
        """One table of several written ones: a plain table refines its ranges, which may not contradict each other."""
        alone = [one for one in written if not one.is_range]
        ranges = [one for one in written if one.is_range]
        for again in alone[1:]:
            where = Label(alone[0].file.place(alone[0].path), "first written here")
            message = f"[{table}.{plain(name)}] is written in two files"
            self.fault(again.file, again.path, message, "keep one of them", where)
        body: Raw = {}
        decided: dict[str, _Written] = {}
        layers: list[Layer] = []
        for one in [*alone[:1], *ranges]:
            if not isinstance(one.body, dict):
                self.layers[(table, name)] = (Layer(one.file, one.path),)
                return one.body
            fresh = one.body.keys() - decided.keys()
            if one.is_range:
                self._contradictions(name, one, decided)
            layers.append(Layer(one.file, one.path, frozenset(fresh)))
            for key in one.body:
                if key in fresh:
                    body[key] = one.body[key]
                    decided[key] = one
        self.layers[(table, name)] = tuple(layers)
        return body

    def _contradictions(self, name: str, one: _Written, decided: dict[str, _Written]) -> None:
        for key in one.body:
            other = decided.get(key)
            if other is not None and other.is_range:
                pair = (one.file.source.name, one.path, other.file.source.name, other.path)
                clash = self.clashes.setdefault(pair, _Clash(one, other))
                clash.keys[key] = clash.names[name] = None

    def contradicted(self, clash: _Clash) -> None:
        """A finding for two ranges that both set something of a name, whatever it is and however many they are."""
        one, other, keys = clash.one, clash.other, [*clash.keys]
        table, words = str(one.path[0]), plain(listed(keys))
        names = plain(listed(condensed(clash.names), 6))
        header = f"[{table}.{plain(str(other.path[1]))}]"
        where = Label(other.file.place((*other.path, keys[0]), key=True), f"{header} sets it here")
        them = f", or {words}"
        if len(keys) > 1:
            them = f"; where other {table.replace('_', ' ')} are meant, give those other names"
        help_ = f"take {names} out of one range{them}"
        self.fault(one.file, (*one.path, keys[0]), f"two ranges set {words} of {names}", help_, where, key=True)


@frozen
class _Clash:
    """Two ranges that set the same keys of the same names."""

    one: _Written
    other: _Written
    keys: dict[str, None] = field(factory=dict)
    names: dict[str, None] = field(factory=dict)
