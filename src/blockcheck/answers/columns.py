"""What an answer holds, said once at the field: its JSON, the schema of that, and the columns of tables follow.

A field of a frozen class made with ``column`` is a key of the JSON and a column of tables. Numbers carry their unit in
the name (``length_m``), which tells the quantity; the key is the name without it.
"""

from __future__ import annotations

import collections.abc
import re
import types
from collections.abc import Iterable, Mapping
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import attrs

from blockcheck.answers.tables import Cell, Column, Table
from blockcheck.model.keys import Count, Number
from blockcheck.model.quantities import Amperes, Farads, Metres, Ohms, Seconds, Volts

Json = dict[str, Any]
_QUANTITIES = {"a": Amperes, "v": Volts, "m": Metres, "s": Seconds, "f": Farads, "ohm": Ohms}
_UNIT = re.compile(rf"_({'|'.join(_QUANTITIES)})$")
_WORDS = {"V": "volts", "A": "amperes", "m": "metres", "s": "seconds", "ohm": "ohms", "F": "farads"}
_LEAST = {Count: 1, Number: 0}
_PLAIN = {str: "string", int: "integer", float: "number", bool: "boolean"}


_KNOWN: dict[type, Mapping[str, Column]] = {}


def _columns(cls: type) -> Mapping[str, Column]:
    """Field -> its column, in the order of the fields; those that are no columns are left out."""
    if cls not in _KNOWN:
        _KNOWN[cls] = _read(cls)
    return _KNOWN[cls]


def _read(cls: Any) -> Mapping[str, Column]:
    found = {}
    for field in attrs.fields(cls):
        if "doc" in field.metadata:
            unit = _UNIT.search(field.name)
            key = field.metadata["key"] or _UNIT.sub("", field.name).rstrip("_")
            title = field.metadata["title"] or key.replace("_", " ")
            quantity = _QUANTITIES[unit[1]] if unit is not None else None
            found[field.name] = Column(title, key, quantity, **field.metadata["how"])
    return found


def _options(hint: Any) -> tuple[Any, ...]:
    """A type, or what a union is made of, None left out."""
    if get_origin(hint) in (Union, types.UnionType):
        return tuple(one for one in get_args(hint) if one is not type(None))
    return (hint,)


def to_dict(answer: object) -> Json:
    """The form of an answer that goes out as JSON, without the number of its version."""
    return {
        column.key: _value(getattr(answer, name))
        for name, column in _columns(type(answer)).items()
        if column.only != "people"
    }


def _value(value: object) -> Any:
    if attrs.has(type(value)) and _columns(type(value)):
        return to_dict(value)
    if isinstance(value, tuple | list):
        return [_value(one) for one in value]
    if isinstance(value, collections.abc.Mapping):
        return {name: _value(one) for name, one in value.items()}
    return value if value is None or isinstance(value, bool | int | float) else str(value)


def schema_of(cls: type, command: str) -> Json:
    """The schema, draft-07, of what ``to_dict`` makes of an answer, with the number of its version."""
    made = _object(cls)
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": f"blockcheck {command}",
        "description": f"The answer of blockcheck {command} --format json.",
        **made,
        "required": ["format", "generator", *made["required"]],
        "properties": {
            "format": {"description": "Version of this form.", "const": 1},
            "generator": {"description": "What wrote it.", "const": "blockcheck"},
            **made["properties"],
        },
    }


def _object(cls: type) -> Json:
    hints = get_type_hints(cls)
    properties = {}
    for name, column in _columns(cls).items():
        if column.only != "people":
            said = attrs.fields_dict(cls)[name].metadata
            unit = f", in {_WORDS[column.unit]}" if column.unit else ""
            made = _schema(hints[name])
            if said["choices"]:
                made["enum"] = [*said["choices"], *([None] if "null" in made["type"] else [])]
            if said["least"] is not None:
                made["minimum"] = said["least"]
            what, sign, rest = said["doc"].rstrip(".").partition(";")
            properties[column.key] = {"description": f"{what}{unit}{sign}{rest}.", **made}
    return {
        "type": "object",
        "additionalProperties": False,
        "required": list(properties),
        "properties": properties,
    }


def _schema(hint: Any) -> Json:
    options = _options(hint)
    null = len(options) < len(get_args(hint)) and get_origin(hint) in (Union, types.UnionType)
    if len(options) > 1:
        return {"type": [_PLAIN[one] for one in options] + ["null"] * null}
    made = _plain_schema(options[0])
    if not null:
        return made
    return {**made, "enum": [*made["enum"], None]} if "enum" in made else {**made, "type": [made["type"], "null"]}


def _plain_schema(hint: Any) -> Json:
    if hint in _LEAST:
        return {"type": "integer", "minimum": _LEAST[hint]}
    if get_origin(hint) is Literal:
        return {"enum": list(get_args(hint))}
    if get_origin(hint) is tuple:
        return {"type": "array", "items": _schema(get_args(hint)[0])}
    if get_origin(hint) is collections.abc.Mapping:
        return {"type": "object", "additionalProperties": _schema(get_args(hint)[1])}
    if attrs.has(hint) and _columns(hint):
        return _object(hint)
    return {"type": _PLAIN.get(hint, "string")}


def table(
    title: str,
    cls: type,
    rows: Iterable[Any],
    notes: Iterable[str] = (),
    *,
    fields: Iterable[str] = (),
    imperial: bool = False,
) -> Table:
    """A table of the columns of a class, or of some ``fields`` of it in another order.

    A row is one of the class, or a mapping from fields to cells; what that leaves out is empty.
    """
    columns = _columns(cls)
    names = tuple(fields) or tuple(columns)
    cells = [
        [_cell(row.get(name) if isinstance(row, Mapping) else getattr(row, name)) for name in names] for row in rows
    ]
    return Table(title, [columns[name] for name in names], cells, tuple(notes), imperial)


def _cell(value: Any) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return value if value is None or isinstance(value, int | float) else str(value)
