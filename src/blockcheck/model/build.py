"""Document to Layout, or every input finding at once.

cattrs structures the values strictly (no coercion) and collects every fault with its path. Where it fails, the JSON
schema says what is wrong with the shape, in words; what the hooks here say is about content: quantities and names.
"""

from __future__ import annotations

import collections.abc
import math
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from datetime import date
from functools import cache
from itertools import islice
from typing import Any, Literal, get_args, get_origin, get_type_hints

import attrs
from cattrs import (
    AttributeValidationNote,
    BaseValidationError,
    Converter,
    IterableValidationError,
    IterableValidationNote,
)
from cattrs.gen import make_dict_structure_fn, override

from blockcheck.core.errors import InputError
from blockcheck.core.findings import Finding
from blockcheck.core.spans import Path
from blockcheck.model.keys import Conductor, Count, Factor, Name, Number, Selection
from blockcheck.model.layout import SUBJECTS, ChannelRef, Layout, PoleRef
from blockcheck.model.quantities import DIMENSIONS, Dimension, QuantityError, parse
from blockcheck.text.document import Document

Hook = Callable[[Any, Any], Any]

MOST_FINDINGS = 200
"""More faults of the input than this are counted, not listed."""

_NAME = re.compile(r"[^\s,:.\x00-\x1f\x7f](?:[^,:.\x00-\x1f\x7f]*[^\s,:.\x00-\x1f\x7f])?")
_REF = re.compile(r"(?P<name>[^,:.]+)(?:\.(?P<number>[0-9]{1,6}))?")


class ContentError(ValueError):
    """A value of the right shape that cannot be what it should be."""

    def __init__(self, message: str, help: str | None = None) -> None:  # noqa: A002 - the word that people read
        self.message = message
        self.help = help
        super().__init__(message)


class ShapeError(ValueError):
    """A value of the wrong shape; the schema says it in words."""


def build(document: Document) -> Layout:
    """Structure a document. Raises InputError with every fault of shape and content, each at its place."""
    bad_names = list(_bad_names(document))
    if "layout" not in document.values:
        help_ = 'write [layout] with name = "..." and control = "dcc" or "dc"'
        bad_names.append(Finding("there is no [layout] table", document.name, document.place(()), help=help_))
    if bad_names:
        raise InputError(bad_names)
    with suppress(Exception):  # most layouts are right; the converter that collects every fault takes longer to make
        return _converter(detailed=False).structure(document.values, Layout)
    try:
        return _converter(detailed=True).structure(document.values, Layout)
    except BaseValidationError as error:
        from blockcheck.model.schema import shape_findings  # only wanted when something is wrong

        content = list(islice(_content_findings(error, document), MOST_FINDINGS + 1))
        shape = shape_findings(document)
        if not content and not shape:
            shape = [
                Finding(f"this cannot be read: {leaf}", document.name, document.place(path))
                for path, leaf in _leaves(error, ())
            ]
    told = {finding.at for finding in content}  # what the content says is nearer to the person than the shape
    raise InputError(_few(content + [finding for finding in shape if finding.at not in told]))


def _few(findings: list[Finding]) -> list[Finding]:
    found = sorted(findings, key=_text_order)
    if len(found) <= MOST_FINDINGS:
        return found
    rest = len(found) - MOST_FINDINGS
    last = attrs.evolve(found[MOST_FINDINGS], message=f"and {rest} more faults of the input, this one first", help=None)
    return [*found[:MOST_FINDINGS], last]


def _text_order(finding: Finding) -> tuple[object, ...]:
    place = finding.at
    return (place.file, place.line, place.column, finding.message) if not isinstance(place, tuple) else ("", 0, 0, "")


def _bad_names(document: Document) -> Iterator[Finding]:
    """Names must not hold the signs that selections and channels are written with."""
    for table in SUBJECTS:
        for name in document.values.get(table, {}):
            if not _NAME.fullmatch(name):
                place = document.place((table, name), key=True)
                help_ = "take other signs: a comma, colon or dot divides names on the command line and in channels"
                yield Finding(f"{name!r} cannot be a name", place.file, place, help=help_)


def _leaves(error: BaseException, path: Path) -> Iterator[tuple[Path, BaseException]]:
    """Every single fault in cattrs' tree, with the path to it in the document's words."""
    if isinstance(error, BaseExceptionGroup):
        for inner in error.exceptions:
            yield from _leaves(inner, path + _step(inner))
    else:
        yield path, error


def _step(error: BaseException) -> Path:
    steps: list[str | int] = []
    for note in getattr(error, "__notes__", ()):
        if isinstance(note, AttributeValidationNote):
            steps.append(_toml_names().get(note.name, note.name))
        elif isinstance(note, IterableValidationNote):
            steps.append(note.index)
    return tuple(steps[-1:])


@cache
def _toml_names() -> Mapping[str, str]:
    names: dict[str, str] = {}
    for cls in _classes(Layout):
        for field in attrs.fields(cls):
            if field.metadata.get("toml"):
                names[field.name] = field.metadata["toml"]
    return names


def _content_findings(error: BaseException, document: Document) -> Iterator[Finding]:
    for path, leaf in _leaves(error, ()):
        place = document.place(path)
        if isinstance(leaf, ContentError | QuantityError):
            yield Finding(leaf.message, place.file, place, help=leaf.help)
        elif isinstance(leaf, KeyError) and path and path[0] in SUBJECTS and len(path) == 3:
            key = str(path[-1])
            field = next(f for f in attrs.fields(SUBJECTS[str(path[0])]) if f.metadata["toml"] == key)
            example = _written(field.metadata["example"])
            place = document.place(path[:2])
            yield Finding(f"[{path[0]}.{path[1]}] has no {key}", place.file, place, help=f"write {key} = {example}")


def _written(example: object) -> str:
    if isinstance(example, dict):
        return "{ " + ", ".join(f"{name} = {_written(value)}" for name, value in example.items()) + " }"
    return f'"{example}"' if isinstance(example, str) else str(example)


def _classes(cls: type) -> Iterator[type]:
    """The attrs classes that a class is made of, itself first."""
    yield cls
    for hint in get_type_hints(cls).values():
        for part in _parts(hint):
            if attrs.has(part) and part not in (ChannelRef, PoleRef):
                yield from _classes(part)


def _parts(hint: Any) -> Iterator[Any]:
    yield hint
    for arg in get_args(hint):
        yield from _parts(arg)


@cache
def _converter(detailed: bool) -> Converter:
    converter = Converter(detailed_validation=detailed, forbid_extra_keys=True)
    for kind, dimension in DIMENSIONS.items():
        converter.register_structure_hook_func(_is(kind), _quantity(dimension))
    converter.register_structure_hook_func(_origin(Literal), _literal)
    converter.register_structure_hook_factory(_origin(tuple), lambda kind: _tuple_of(converter, kind))
    converter.register_structure_hook_factory(
        _origin(collections.abc.Mapping), lambda kind: _mapping_of(converter, kind)
    )
    converter.register_structure_hook_factory(attrs.has, lambda cls: _table_of(converter, cls))
    for kind, hook in _HOOKS.items():
        if isinstance(kind, type):  # for these cattrs has hooks of its own, which coerce
            converter.register_structure_hook(kind, hook)
        else:
            converter.register_structure_hook_func(_is(kind), hook)
    return converter


def _is(kind: Any) -> Callable[[Any], bool]:
    return lambda wanted: wanted is kind


def _origin(kind: Any) -> Callable[[Any], bool]:
    return lambda wanted: get_origin(wanted) is kind


def _table_of(converter: Converter, cls: type) -> Hook:
    """One table; its name, where it has one, is handed over under the empty key."""
    renames = {field.name: override(rename=field.metadata["toml"] or "") for field in attrs.fields(cls)}
    structure: Hook = make_dict_structure_fn(cls, converter, **renames)  # type: ignore[arg-type]

    def hook(value: Any, kind: Any) -> Any:
        if not isinstance(value, dict):
            raise ShapeError("expected a table")
        return structure(value, kind)

    return hook


def _mapping_of(converter: Converter, kind: Any) -> Hook:
    item = get_args(kind)[1]
    named = item in SUBJECTS.values()

    def hook(value: Any, kind: Any) -> Any:
        if not isinstance(value, dict):
            raise ShapeError("expected a table")
        made, errors = {}, []
        for key, one in value.items():
            try:
                if named:
                    if not isinstance(one, dict) or "" in one:
                        raise ShapeError("expected a table")
                    one = {**one, "": key}
                made[key] = converter.structure(one, item)
            except Exception as error:
                error.add_note(IterableValidationNote("in a table", key, item))
                errors.append(error)
        if errors:
            raise IterableValidationError("in a table", errors, kind)
        return made

    return hook


def _tuple_of(converter: Converter, kind: Any) -> Hook:
    item = get_args(kind)[0]

    def hook(value: Any, kind: Any) -> Any:
        if isinstance(value, str) and item in (Name, Selection, str):
            value = [value]  # a single one may stand for a list of one
        if not isinstance(value, list):
            raise ShapeError("expected a list")
        made, errors = [], []
        for index, one in enumerate(value):
            try:
                made.append(converter.structure(one, item))
            except Exception as error:
                error.add_note(IterableValidationNote("in a list", index, item))
                errors.append(error)
        if errors:
            raise IterableValidationError("in a list", errors, kind)
        return tuple(made)

    return hook


def _exact(plain: type) -> Hook:
    def hook(value: Any, _: Any) -> Any:
        if type(value) is not plain:
            raise ShapeError(f"expected {plain.__name__}")
        return value

    return hook


def _literal(value: Any, kind: Any) -> Any:
    if not isinstance(value, str) or value not in get_args(kind):
        raise ShapeError("expected one of the choices")
    return value


def _whole(least: int) -> Hook:
    def hook(value: Any, _: Any) -> Any:
        if type(value) is not int or not least <= value <= 10**9:
            raise ShapeError("expected a whole number")
        return value

    return hook


def _factor(value: Any, _: Any) -> Any:
    if type(value) not in (int, float):
        raise ShapeError("expected a number")
    if not 0 < value < math.inf:
        raise ContentError(f"expected a number above 0, got {value}", "write a number such as 1.5, without a unit")
    return float(value)


def _day(value: Any, _: Any) -> Any:
    if type(value) is not date:
        raise ContentError(f"expected a date, got {value!r}", "write it as TOML does, without quotes: 2031-12-31")
    return value


def _quantity(dimension: Dimension) -> Hook:
    def hook(value: Any, _: Any) -> Any:
        return parse(value, dimension)

    return hook


def _channel(value: Any, _: Any) -> Any:
    match = _REF.fullmatch(value) if isinstance(value, str) else None
    if match is None or match["number"] is None:
        raise ContentError(f"expected a channel, got {_shown(value)}", 'write board and channel, such as "D1.3"')
    return ChannelRef(match["name"], int(match["number"]))


def _pole(value: Any, _: Any) -> Any:
    match = _REF.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        raise ContentError(f"expected an isolator, got {_shown(value)}", 'write its name, such as "I3" or "I3.2"')
    return PoleRef(match["name"], int(match["number"] or 1))


def _shown(value: Any) -> str:
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


_HOOKS: dict[Any, Hook] = {
    str: _exact(str),
    bool: _exact(bool),
    Name: _exact(str),
    Selection: _exact(str),
    Conductor: _exact(str),
    Count: _whole(1),
    Number: _whole(0),
    Factor: _factor,
    date: _day,
    ChannelRef: _channel,
    PoleRef: _pole,
}
