"""The JSON schema of the language, made from the layout's classes.

``schemas/layout.schema.json`` is this schema, held to it by a test. It says what shape is right; names, units and
ranges are the reader's to check. It describes a file as it is written, so keys that are needed in a named table are
not ``required`` there: a range and a table that refines it may each bring a part.
"""

from __future__ import annotations

import collections.abc
from datetime import date
from functools import cache
from typing import Any, Literal, get_args, get_origin

import attrs

from blockcheck.core.docs import docstring
from blockcheck.model.keys import Conductor, Count, Factor, Name, Number, Reason, Selection, key_kinds
from blockcheck.model.layout import SUBJECTS, TABLES, ChannelRef, Layout, PoleRef
from blockcheck.model.quantities import DIMENSIONS
from blockcheck.text.merge import FORMAT

Schema = dict[str, Any]


@cache
def layout_schema() -> Schema:
    """The schema of the layout language, draft-07. Treat it as frozen."""
    schema = _table(Layout)
    schema["properties"]["format"] |= {"const": FORMAT}
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "blockcheck layout",
        **schema,
    }


def _table(cls: type, table: str | None = None) -> Schema:
    hints = key_kinds(cls)
    properties: Schema = {}
    required: list[str] = []
    for field in attrs.fields(cls):
        toml = field.metadata["toml"]
        if toml is None:
            continue
        properties[toml] = {"description": _description(field), **_kind(hints[field.name], toml)}
        if field.metadata["above"] is not None:
            properties[toml]["pattern"] = "[1-9]"  # a nought has no other digit
        if table and toml in TABLES.dealt.get(table, ()) and properties[toml].get("type") == "integer":
            properties[toml] = {**properties[toml], "type": ["integer", "string"]}
        if field.default is attrs.NOTHING:
            required.append(toml)
    doc = docstring(cls).split("\n")[0]
    made: Schema = {"type": "object", "description": doc, "additionalProperties": False, "properties": properties}
    if required and cls not in SUBJECTS.values() and cls is not Layout:
        made["required"] = required
    return made


def _description(field: Any) -> str:
    parts = [field.metadata["doc"]]
    if field.default is attrs.NOTHING and "Needed" not in parts[0]:
        parts.append("Needed.")
    if field.metadata["above"] is not None:
        parts.append("Above 0.")
    why = field.metadata["why"]
    if why:
        default = field.default
        shown = "" if default is None else f"Default {_default(field)}: "
        parts.append(f"{shown}{why}.")
    example = field.metadata["example"]
    if isinstance(example, str):
        parts.append(f'For example "{example}".')
    return " ".join(parts)


def _default(field: Any) -> str:
    value = field.default
    unit = {"Fraction": " %", "Celsius": " degC", "Ohms": " ohm", "Volts": " V", "Amperes": " A"}
    kind = getattr(field.type, "__name__", "")
    if kind == "Fraction":
        value = value * 100
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f'"{value:g}{unit[kind]}"' if kind in unit else f"{value:g}"
    return f'"{value}"' if isinstance(value, str) else str(list(value) if isinstance(value, tuple) else value)


def _kind(hint: Any, toml: str) -> Schema:
    options = [arg for arg in get_args(hint) if arg is not type(None)]
    origin = get_origin(hint)
    if len(options) == 1 and origin not in (tuple, Literal, collections.abc.Mapping):
        return _kind(options[0], toml)
    if origin is Literal:
        return {"type": "string", "enum": list(options)}
    if origin is tuple:
        made: Schema = {"type": "array", "items": _kind(options[0], toml)}
        if options[0] in (Name, Selection, str, PoleRef):
            made["type"] = ["array", "string"]
        if toml in ("blocks", "ends", "between"):
            made |= {"minItems": 2, "maxItems": 2}
        return made
    if origin is collections.abc.Mapping:
        value = options[1]
        named = {cls: name for name, cls in SUBJECTS.items()}
        inner = _table(value, named.get(value)) if attrs.has(value) else _kind(value, toml)
        return {"type": "object", "additionalProperties": inner}
    if attrs.has(hint) and hint not in (ChannelRef, PoleRef):
        return _table(hint)
    if hint is Count:
        return {"type": "integer", "minimum": 1}
    if hint is Number:
        return {"type": "integer", "minimum": 0}
    if hint is Factor:
        return {"type": "number"}
    if hint is bool:
        return {"type": "boolean"}
    if hint is date:
        return {"format": "date"}
    if hint is Reason:
        return {"type": "string", "pattern": "\\S"}
    assert hint in (str, Name, Selection, Conductor, ChannelRef, PoleRef) or hint in DIMENSIONS, hint
    return {"type": "string"}
