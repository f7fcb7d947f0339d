"""What is wrong with the shape of a document, in words: keys that do not exist or are missing, values of another kind.

cattrs says which parts could not be structured; the JSON schema says what shape those should have, and the layout's
classes give the example to write instead.
"""

from __future__ import annotations

import collections.abc
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import islice
from typing import Any, Literal, get_args, get_origin

import attrs
from cattrs import ForbiddenExtraKeysError

from blockcheck.core.errors import MOST_FINDINGS
from blockcheck.core.findings import Edit, Finding
from blockcheck.core.nearest import did_you_mean, nearest
from blockcheck.core.shown import plain, shown
from blockcheck.core.spans import Path, Place, Span
from blockcheck.model.keys import Conductor, Count, Factor, Number, key_kinds
from blockcheck.model.layout import SUBJECTS, TABLES, Layout
from blockcheck.model.not_described import not_described
from blockcheck.model.schema import layout_schema
from blockcheck.text.document import Document, ReadFile
from blockcheck.text.edits import key_of, quoted

_TYPES = {
    "string": "text, in quotes",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "true or false",
    "array": "a list, in [ ]",
    "object": "a table",
}
_PLAIN_NUMBER = re.compile(r"(?:0|[1-9][0-9]{0,8})(?P<point>\.[0-9]{1,9})?")
_LOAD = "shunter"  # of the examples
_MOST_ENTRIES = 1000  # of one table or list are held against the schema; its messages would quote them all


def shape_findings(document: Document, faults: Iterable[tuple[Path, BaseException]]) -> list[Finding]:
    """Findings for the parts of a document that could not be structured. ``faults``: path and error of each."""
    found: list[Finding] = []
    rest: list[Path] = []
    for path, error in faults:
        if isinstance(error, ForbiddenExtraKeysError):
            found.extend(
                _unknown_keys(document, path, [name for name in document.value(path) if name in error.extra_fields])
            )
        elif isinstance(error, KeyError) and path:
            found.append(_missing(document, path))
        else:
            rest.append(path)
    for part in dict.fromkeys(map(_part, rest)):
        found.extend(_misshapen(document, part))
    told = {finding.at for finding in found}
    found.extend(_other(document, path) for path in rest if document.place(path) not in told)
    return [attrs.evolve(one, help=_with_own_load(document, one.help or "")) for one in found]


def _with_own_load(document: Document, help_: str) -> str:
    """Advice whose example names a load that the layout does not have, with one that it has."""
    loads = document.values.get("loads")
    if not isinstance(loads, dict) or not loads or _LOAD in loads:
        return help_
    return help_.replace(f'"{_LOAD}"', quoted(next(iter(loads)))).replace(
        f"{_LOAD} =", f"{key_of(next(iter(loads)))} ="
    )


def _part(path: Path) -> Path:
    """The part of a document that is held against the schema: one named table, one list item, one single table."""
    return path[:2] if path[0] in SUBJECTS or path[0] in TABLES.arrays or path[0] == "rules" else path[:1]


def _unknown_keys(document: Document, path: Path, names: list[str]) -> Iterator[Finding]:
    schema = _schema_at(path)
    known = schema["properties"]
    table = document.value(path)
    for name in islice(names, MOST_FINDINGS):
        place = document.place((*path, name), key=True)
        if path:
            message = f"there is no key {shown(name)} in {where(document, path)}"
            others = _homes(name)
            elsewhere = f"{plain(name)} is a key of {' and '.join(others[:3])}" if others else None
            choice = "the keys here are " + ", ".join(sorted(known))
            choice = f"{elsewhere}; {choice}" if elsewhere else choice
        elif isinstance(table[name], dict | list):
            message = f"there is no table [{plain(name)}] in the language"
            choice = "the tables are " + ", ".join(f"[{one}]" for one in known if one not in ("format", "include"))
        else:
            message = f"there is no key {shown(name)} above the first header"
            others = _homes(name)
            choice = f"{plain(name)} is a key of {' and '.join(others[:3])}" if others else "write it below its header"
        help_ = not_described(name)
        near = nearest(name, known) if help_ is None else None
        free = near is not None and near not in table
        help_ = help_ or (f'did you mean "{near}"?' if near is not None else choice)
        edits: tuple[Edit, ...] = ()
        if free and path:
            edits = _instead_of(place, (name, quoted(name)), key_of(str(near)))
        elif free:
            edits = tuple(one for file in document.files for one in _headers(file, name, str(near)))
        yield Finding(message, place.file, place, help=help_, edits=edits)


def _headers(file: ReadFile, name: str, to: str) -> Iterator[Edit]:
    """The edits that call a table otherwise, wherever a file names it; none where one of its names has no place."""
    text = file.source.text
    spots = {way: one for way, one in file.spots.items() if way[0] == name and len(way) <= 2 and one.key is not None}
    keys = {way: text[one.key.start : one.key.end] for way, one in spots.items() if one.key is not None}
    top = keys.get((name,))
    dotted = [way for way, key in keys.items() if len(way) == 2 and not key.startswith("[")]
    if top is None or (not top.startswith("[") and text[spots[name,].value.start] != "{" and len(dotted) > 1):
        return
    for way, key in keys.items():
        found = re.match(rf"[\[\s]*((?P<quote>[\"']?){re.escape(name)}(?P=quote))(?![\w-])", key)
        if found is not None and (key.startswith("[") or len(way) == 1):
            start = spots[way].key.start  # type: ignore[union-attr]
            yield Edit(file.source.place(Span(start + found.start(1), start + found.end(1))), to)


def _instead_of(place: Place, written: tuple[str, ...], text: str) -> tuple[Edit, ...]:
    """The edit that writes another text at a place, where nothing else stands there."""
    there = place.source[place.column - 1 : place.end_column - 1]
    return (Edit(place, text),) if place.line == place.end_line and there in written else ()


def _homes(name: str) -> list[str]:
    """The tables that have a key of this name, as headers."""
    homes = []
    for table, schema in layout_schema()["properties"].items():
        if table in TABLES.arrays:
            if name in schema["items"]["properties"]:
                homes.append(f"[[{table}]]")
        elif table in SUBJECTS:
            if name in schema["additionalProperties"]["properties"]:
                homes.append(f"[{table}.NAME]")
        elif name in schema.get("properties", {}):
            homes.append(f"[{table}]")
    return homes


def _missing(document: Document, path: Path) -> Finding:
    place = document.place(path[:-1])
    message = f"{where(document, path[:-1])} has no {path[-1]}"
    return Finding(message, place.file, place, help=f"write {_example(path)}")


def _misshapen(document: Document, part: Path) -> Iterator[Finding]:
    from jsonschema import Draft7Validator  # slow to import, and only wanted when something is wrong

    value = _cut(document.value(part))
    for error in islice(Draft7Validator(_schema_at(part)).iter_errors(value), MOST_FINDINGS):
        path: Path = (*part, *error.absolute_path)
        if error.validator in ("required", "additionalProperties") or (
            error.validator == "type" and "enum" in error.schema
        ):
            continue  # told of already, by the keys and by the choices
        place = document.place(path)
        message, help_ = _words(document, path, error)
        value_, choices = error.instance, error.schema.get("enum", ()) if error.validator == "enum" else ()
        near = nearest(value_, choices) if isinstance(value_, str) else None
        edits = _instead_of(place, (quoted(str(value_)), f"'{value_}'"), quoted(near)) if near is not None else ()
        yield Finding(message, place.file, place, help=help_, edits=edits)


def _cut(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _cut(inner) for key, inner in islice(value.items(), _MOST_ENTRIES)}
    return [_cut(inner) for inner in islice(value, _MOST_ENTRIES)] if isinstance(value, list) else value


def _schema_at(path: Path) -> dict[str, Any]:
    schema: dict[str, Any] = layout_schema()
    for step in path:
        if isinstance(step, int):
            schema = schema["items"]
        else:
            schema = schema.get("properties", {}).get(step) or schema["additionalProperties"]
    return schema


def _words(document: Document, path: Path, error: Any) -> tuple[str, str]:
    """Message and advice for one error of the schema."""
    schema: Mapping[str, Any] = error.schema
    value, name = error.instance, _called(path)
    if error.validator == "enum":
        choices = ", ".join(f'"{one}"' for one in schema["enum"])
        near = did_you_mean(value, schema["enum"]) if isinstance(value, str) else None
        return f"{name} cannot be {shown(value)}", near or f"write one of {choices}"
    if error.validator == "type":
        kinds = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
        if kinds == ["object"]:
            return _no_table(document, path, value)
        wanted = " or ".join(_TYPES[kind] for kind in kinds)
        return f"{name} takes {wanted}, got {shown(value)}", _instead(path, kinds, value)
    if error.validator in ("minItems", "maxItems"):
        return f"{name} takes exactly two, got {len(value)}", f"write {_example(path)}"
    if error.validator == "minimum":
        field, least = field_at(path)[0], schema["minimum"]
        of_table = field is not None and field.metadata["toml"] != path[-1] and isinstance(path[-1], str)
        message = f"{name} takes a whole number of at least {least}, got {shown(value)}"
        return message, f"write {f'{key_of(str(path[-1]))} = {least}' if of_table else _example(path)}"
    return f"{name} cannot be {shown(value)}", f"write {_example(path)}"


def _no_table(document: Document, path: Path, value: Any) -> tuple[str, str]:
    header = ".".join(plain(str(step)) for step in document.written(path))
    if len(path) > 2 or path[0] in TABLES.arrays:
        return f"{_called(path)} takes a table, got {shown(value)}", f"write {_example(path)}"
    if isinstance(value, list):
        return f"[[{header}]] is a single table, not a list of them", f"write [{header}], in single brackets"
    return f"{header} is a table, got {shown(value)}", f"write a header [{header}], and its keys below it"


def _other(document: Document, path: Path) -> Finding:
    """What the schema lets pass and the classes do not: whole numbers with a point, or of too many digits."""
    place = document.place(path)
    value = document.value(path)
    hint = field_at(path)[1]
    wanted = "something else"
    if hint in (Count, Number):
        wanted = f"a whole number from {1 if hint is Count else 0} to 1000000000"
    help_ = f"write {_example(path)}"
    if isinstance(value, str) and "-" in value:
        help_ += "; a range belongs under a header that is a range, such as [blocks.S1-S4]"
    return Finding(f"{_called(path)} takes {wanted}, got {shown(value)}", place.file, place, help=help_)


def _called(path: Path) -> str:
    return f"an item of {path[-2]}" if isinstance(path[-1], int) else plain(path[-1])


def where(document: Document, path: Path) -> str:
    """How a table is called: by its header as written, or by its key and the header that it stands below."""
    written = document.written(path)
    if not written:
        return "the layout"
    header = ".".join(plain(str(step)) for step in written[:2] if isinstance(step, str))
    header = f"[[{header}]]" if written[0] in TABLES.arrays else f"[{header}]"
    inside = next((str(step) for step in reversed(written[2:]) if isinstance(step, str)), None)
    return f"{plain(inside)} of {header}" if inside else header


def _instead(path: Path, kinds: list[str], value: Any) -> str:
    """What to write for a value of another kind: the value itself where its kind can be changed, else an example."""
    key, hint = path[-1], field_at(path)[1]
    if isinstance(key, str):
        if "boolean" in kinds and isinstance(value, str | int) and str(value).lower() in ("true", "yes", "on", "1"):
            return f"write {key} = true"
        if "boolean" in kinds and isinstance(value, str | int):
            return f"write {key} = false, or {key} = true"
        number = _PLAIN_NUMBER.fullmatch(value) if isinstance(value, str) else None
        if number and (kinds[0] == "number" or (kinds[0] == "integer" and not number["point"])):
            return f"write {key} = {value}, without quotes"
        if kinds == ["string"] and hint is not Conductor and isinstance(value, bool | int | float | date):
            return f'write {key} = "{value.isoformat() if isinstance(value, date) else plain(shown(value))}"'
        if kinds == ["array"] and isinstance(value, int) and not isinstance(value, bool):
            return f"write {key} = [{shown(value)}]"
    return f"write {_example(path)}"


def field_at(path: Path) -> tuple[attrs.Attribute[Any] | None, Any]:
    """The field of the layout's classes that a path leads through last, and the kind of the value at its end."""
    field: attrs.Attribute[Any] | None = None
    hint: Any = Layout
    for step in path:
        hint = _bare(hint)
        if attrs.has(hint):
            field = next((one for one in attrs.fields(hint) if one.metadata.get("toml") == step), None)
            if field is None:
                return None, None
            hint = key_kinds(hint)[field.name]
        elif get_origin(hint) in (tuple, collections.abc.Mapping):
            hint = get_args(hint)[0 if isinstance(step, int) else 1]
    return field, _bare(hint)


def _bare(hint: Any) -> Any:
    """A kind without its "or nothing"."""
    options = [one for one in get_args(hint) if one is not type(None)]
    return options[0] if type(None) in get_args(hint) and len(options) == 1 else hint


def _example(path: Path) -> str:
    """The key that a path leads to, with an example of its value, as the file would have it."""
    field, hint = field_at(path)
    if field is None:
        return f"{plain(str(path[-1]))} = ..."
    while path and path[-1] != field.metadata["toml"]:
        path = path[:-1]
    hint = field_at(path)[1]
    example = field.metadata["example"]
    return f"{field.metadata['toml']} = {_written(example) if example is not None else _made_up(hint)}"


def _written(example: object) -> str:
    if isinstance(example, dict):
        return "{ " + ", ".join(f"{name} = {_written(value)}" for name, value in example.items()) + " }"
    if isinstance(example, list | tuple):
        return f"[{', '.join(map(_written, example))}]"
    return (
        str(example).lower()
        if isinstance(example, bool)
        else f'"{example}"'
        if isinstance(example, str)
        else str(example)
    )


def _made_up(hint: Any) -> str:
    """A value of a kind that has no example of its own."""
    hint = _bare(hint)
    if get_origin(hint) is Literal:
        return f'"{get_args(hint)[0]}"'
    if get_origin(hint) is tuple:
        return f"[{_made_up(get_args(hint)[0])}]"
    if attrs.has(hint):
        needed = [one for one in attrs.fields(hint) if one.default is attrs.NOTHING]
        return _written({one.metadata["toml"]: one.metadata["example"] or "..." for one in needed})
    if hint is date:
        return "2031-12-31"
    if hint is bool:
        return "true"
    return {Count: "1", Number: "1", Factor: "1.5"}.get(hint, '"..."')
