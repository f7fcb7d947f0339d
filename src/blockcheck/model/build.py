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
from typing import Any, Literal, get_args, get_origin

import attrs
from cattrs import (
    AttributeValidationNote,
    BaseValidationError,
    Converter,
    ForbiddenExtraKeysError,
    IterableValidationError,
    IterableValidationNote,
)
from cattrs.gen import make_dict_structure_fn, override

from blockcheck.core.errors import MOST_FINDINGS, InputError
from blockcheck.core.findings import Finding
from blockcheck.core.nearest import nearest
from blockcheck.core.shown import joined, plain, shown, unseen
from blockcheck.core.spans import Path, Place
from blockcheck.model.keys import Conductor, Count, Factor, Name, Number, Reason, Selection, key_kinds
from blockcheck.model.layout import SUBJECTS, ChannelRef, Layout, PoleRef
from blockcheck.model.quantities import DIMENSIONS, Dimension, QuantityError, parse, show
from blockcheck.text.document import Document
from blockcheck.text.ranges import MOST_SIGNS

Hook = Callable[[Any, Any], Any]

_CONTROL = r"\x00-\x1f\x7f-\x9f\u2028\u2029"
_NAME = re.compile(rf"[^\s,:.{_CONTROL}](?:[^,:.{_CONTROL}]*[^\s,:.{_CONTROL}])?")
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
    bad_names = list(islice(_bad_names(document), MOST_FINDINGS + 1))
    if "layout" not in document.values:
        bad_names.append(_no_layout(document))
    if bad_names:
        raise InputError(bad_names)
    with suppress(Exception):  # most layouts are right; the converter that collects every fault takes longer to make
        return _converter(detailed=False).structure(document.values, Layout)
    try:
        return _converter(detailed=True).structure(document.values, Layout)
    except BaseValidationError as error:
        from blockcheck.model.shape import shape_findings  # only wanted when something is wrong

        content, shape = list[Finding](), list[tuple[Path, BaseException]]()
        for path, leaf in islice(_leaves(error, ()), MOST_FINDINGS + 1):
            if isinstance(leaf, ContentError | QuantityError):
                place = document.place(path)
                content.append(Finding(leaf.message, place.file, place, help=leaf.help))
            else:
                shape.append((path, leaf))
        told = {finding.at for finding in content}  # what the content says is nearer to the person than the shape
        raise InputError(content + [one for one in shape_findings(document, shape) if one.at not in told]) from None


def _no_layout(document: Document) -> Finding:
    unknown = [key for key in document.values if key not in _toml_names().values()]
    near = nearest("layout", unknown)
    place = document.place((near,) if near else ())
    message = "there is no [layout] table" + (f"; is it [{plain(near)}]?" if near else "")
    return Finding(message, place.file, place, help='write [layout] with name = "..." and control = "dcc" or "dc"')


def _bad_names(document: Document) -> Iterator[Finding]:
    """Names must not hold the signs that selections and channels are written with."""
    told = set[Place]()
    for table in SUBJECTS:
        for name in document.values.get(table, {}):
            if not _NAME.fullmatch(name) or len(name) > MOST_SIGNS or unseen(name):
                place = document.place((table, name), key=True)
                if place not in told:  # the names of a range have one place
                    told.add(place)
                    yield Finding(f"{shown(name)} cannot be a name", place.file, place, help=_name_help(name))


def _name_help(name: str) -> str:
    if not name.strip():
        return "write a name such as S1 or west-throat"
    if len(name) > MOST_SIGNS:
        return f"a name has at most {MOST_SIGNS} signs"
    if name != name.strip():
        return f'write "{plain(name.strip())}", without blanks at its ends'
    if (sign := unseen(name)) is not None:
        return f"take out U+{ord(sign):04X}: it is not seen"
    return "take other signs: a comma, colon or dot divides names on the command line and in channels"


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


def _classes(cls: type) -> Iterator[type]:
    """The attrs classes that a class is made of, itself first."""
    yield cls
    for hint in key_kinds(cls).values():
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
    renames = {}
    for field in attrs.fields(cls):
        above = None if field.metadata.get("above") is None else _above(key_kinds(cls)[field.name], field)
        renames[field.name] = override(rename=field.metadata["toml"] or "", struct_hook=above)
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
                    if not isinstance(one, dict):
                        raise ShapeError("expected a table")
                    if "" in one:
                        raise ForbiddenExtraKeysError("", item, {""})
                    one = {**one, "": key}
                made[_seen(key, "name")] = converter.structure(one, item)
            except Exception as error:
                error.add_note(IterableValidationNote("in a table", key, item))
                errors.append(error)
                if len(errors) > MOST_FINDINGS:
                    break
        if errors:
            raise IterableValidationError("in a table", errors, kind)
        return made

    return hook


def _tuple_of(converter: Converter, kind: Any) -> Hook:
    item = get_args(kind)[0]

    def hook(value: Any, kind: Any) -> Any:
        if isinstance(value, str) and item in (Name, Selection, str):
            value = [value]  # a single one may stand for a list of one
        if item is PoleRef and not isinstance(value, list):
            value = [value]
        if not isinstance(value, list):
            raise ShapeError("expected a list")
        made, errors = [], []
        for index, one in enumerate(value):
            try:
                made.append(converter.structure(one, item))
            except Exception as error:
                error.add_note(IterableValidationNote("in a list", index, item))
                errors.append(error)
                if len(errors) > MOST_FINDINGS:
                    break
        if errors:
            raise IterableValidationError("in a list", errors, kind)
        return tuple(made)

    return hook


def _text(value: Any, _: Any) -> Any:
    return _seen(joined(_string(value)).strip(), "text")


def _reason(value: Any, kind: Any) -> Any:
    text = _text(value, kind)
    if not any(sign.isalnum() for sign in text):
        raise ContentError(f"expected a reason in words, got {shown(text)}", "say why, for whoever reads it next")
    return text


def _name(value: Any, _: Any) -> Any:
    """A name, or what names are made of: on one line, for it stands at the head of what is told."""
    return _seen(_string(value), "name")


def _string(value: Any) -> str:
    if type(value) is not str:
        raise ShapeError("expected text")
    return value


def _seen(text: str, what: Literal["name", "text"]) -> str:
    """The text itself. Raises ContentError where it holds a sign that commands a terminal or is not seen."""
    sign = unseen(text)
    if sign is not None:
        raise ContentError(f"the sign U+{ord(sign):04X} cannot stand in a {what}", "take it out: it is not seen")
    return text


def _truth(value: Any, _: Any) -> Any:
    if type(value) is not bool:
        raise ShapeError("expected true or false")
    return value


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
        raise ContentError(
            f"expected a number above 0, got {shown(value)}", "write a number such as 1.5, without a unit"
        )
    return float(value)


def _day(value: Any, _: Any) -> Any:
    if type(value) is not date:
        raise ContentError(f"expected a date, got {shown(value)}", "write it as TOML does, without quotes: 2031-12-31")
    return value


def _quantity(dimension: Dimension) -> Hook:
    def hook(value: Any, _: Any) -> Any:
        return parse(value, dimension)

    return hook


def _above(hint: Any, field: attrs.Attribute[Any]) -> Hook:
    """A quantity where nought, or less than the field says, would mean nothing."""
    dimension = next(DIMENSIONS[kind] for kind in (hint, *get_args(hint)) if kind in DIMENSIONS)
    least, leave_out = field.metadata["above"], "" if field.default is attrs.NOTHING else ", or leave it out"

    def hook(value: Any, _: Any) -> Any:
        found = parse(value, dimension, nought=False)
        if found <= least:
            message = f"expected {dimension.word} above {show(least, dimension) if least else 0}, got {shown(value)}"
            raise ContentError(message, f'write {dimension.word} such as "{field.metadata["example"]}"{leave_out}')
        return found

    return hook


def _channel(value: Any, _: Any) -> Any:
    match = _REF.fullmatch(value) if isinstance(value, str) else None
    if match is None or match["number"] is None:
        help_ = 'write board and channel, such as "D1.3"'
        if match is None and isinstance(value, str) and "-" in value:
            help_ += "; a range belongs under a header that is a range, such as [blocks.S1-S4]"
        raise ContentError(f"expected a channel, got {shown(value)}", help_)
    return ChannelRef(_seen(match["name"], "name"), int(match["number"]))


def _pole(value: Any, _: Any) -> Any:
    match = _REF.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        raise ContentError(f"expected an isolator, got {shown(value)}", 'write its name, such as "I3" or "I3.2"')
    return PoleRef(_seen(match["name"], "name"), int(match["number"] or 1))


_HOOKS: dict[Any, Hook] = {
    str: _text,
    bool: _truth,
    Name: _name,
    Selection: _name,
    Conductor: _name,
    Reason: _reason,
    Count: _whole(1),
    Number: _whole(0),
    Factor: _factor,
    date: _day,
    ChannelRef: _channel,
    PoleRef: _pole,
}
