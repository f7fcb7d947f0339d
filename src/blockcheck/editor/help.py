"""What an editor offers at a cursor: what stands there, told; and what may be written there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from attrs import frozen

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.core.errors import CallError
from blockcheck.editor.names import tables_named
from blockcheck.editor.situation import Situation
from blockcheck.formats.registry import render
from blockcheck.model.layout import TABLES
from blockcheck.model.quantities import DIMENSIONS
from blockcheck.model.schema import layout_schema
from blockcheck.model.shape import field_at
from blockcheck.model.standards import RAILS
from blockcheck.rules import RULES

_MOST = 500
"""Offers at one place."""


@frozen
class Offer:
    """Something to write: ``kind`` is table, key, name, word, unit or rule; ``told`` explains it."""

    text: str
    kind: str
    told: str = ""


def told(here: Situation) -> str:
    """What stands at a cursor, in markdown; empty where there is nothing to say."""
    for name in _asked(here):
        try:
            answer = api.explain(name)
        except CallError:
            continue
        text = render(answer, "markdown")
        return "\n".join(line for line in text.splitlines() if not line.startswith("<!--")).strip()
    return ""


def _asked(here: Situation) -> Iterator[str]:
    """What to explain: a rule that is named, then the key, then what is around it."""
    if here.kind == "comment":
        return
    if here.text and (here.path[:1] == ("rules",) or here.path[-2:] == ("accept", "rule")):
        yield here.text
    if here.kind == "key" and here.text:
        yield ".".join((*here.path, here.text))
    if here.kind == "header" and here.path:
        yield here.path[0]
        return
    for end in range(len(here.path), 0, -1):
        yield ".".join(here.path[:end])


def offers(here: Situation, study: Study | None) -> list[Offer]:
    """What may be written at a cursor, the keys and words of the language and the names of the layout."""
    if here.kind == "header":
        found = _headers(here)
    elif here.kind == "key":
        found = _keys(here, study)
    else:
        found = _values(here, study) if here.kind == "value" else iter(())
    begun = here.before.casefold()
    return [one for one in found if one.kind == "unit" or one.text.casefold().startswith(begun)][:_MOST]


def _schema(path: tuple[str, ...]) -> dict[str, Any]:
    """The schema at a path whose names are passed over; empty where there is none."""
    schema: Any = layout_schema()
    for step in path:
        schema = schema.get("items", schema)
        inside = schema.get("properties")
        schema = inside.get(step, {}) if inside is not None else schema.get("additionalProperties", {})
        if not isinstance(schema, dict):  # no key may stand there
            return {}
    return dict(schema)


def _headers(here: Situation) -> Iterator[Offer]:
    if "." in here.before:
        return
    for name, schema in layout_schema()["properties"].items():
        kind = schema.get("type")
        if kind in ("object", "array") and name != "include":
            yield Offer(name, "table", str(schema.get("description", "")))


def _keys(here: Situation, study: Study | None) -> Iterator[Offer]:
    schema = _schema(here.path)
    schema = schema.get("items", schema)
    for name, inner in schema.get("properties", {}).items():
        if name not in here.there or name == here.text:
            yield Offer(name, "key", str(inner.get("description", "")))
    for name in _names(tables_named(here.path, key=True), study):
        yield Offer(name, "name")
    if here.path == ("rules",):
        yield from (Offer(rule.name, "rule", rule.sentence) for rule in RULES)


def _values(here: Situation, study: Study | None) -> Iterator[Offer]:
    schema = _schema(here.path)
    schema = schema.get("items", schema)
    for word in schema.get("enum", ()):
        yield Offer(str(word), "word")
    if schema.get("type") == "boolean":
        yield from (Offer("true", "word"), Offer("false", "word"))
    if here.path == ("accept", "rule"):
        yield from (Offer(rule.name, "rule", rule.sentence) for rule in RULES)
    if len(here.path) == 3 and here.path[::2] == ("blocks", "channel"):
        yield from _free_channels(study)
        return
    if here.path[-1:] == ("rail",):
        yield from (Offer(name, "word") for name in RAILS)
    for name in _names(tables_named(here.path), study):
        yield Offer(name, "name")
    yield from _units(here)


def _names(tables: tuple[str, ...], study: Study | None) -> Iterator[str]:
    if study is None:
        return
    for table in tables:
        yield from map(str, getattr(study.layout, table, ()))


def _free_channels(study: Study | None) -> Iterator[Offer]:
    """The channels that no block has, those that are not kept spare first."""
    if study is None:
        return
    boards = study.layout.boards
    free = sorted(api.channels(study).spare, key=lambda one: one.channel in boards[one.board].spare)
    for one in free:
        spare = one.channel in boards[one.board].spare
        yield Offer(f"{one.board}.{one.channel}", "name", "kept spare" if spare else "free")


def _units(here: Situation) -> Iterator[Offer]:
    """The units of what is measured there, behind the number that is typed."""
    number = here.before.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ%/ ")
    if not number or not here.quoted or number[0] not in "0123456789":
        return
    kind = field_at(_one_of(here.path))[1]
    dimension = DIMENSIONS.get(kind) if kind is not None and kind.__hash__ else None
    for unit in dimension.units if dimension is not None else ():
        yield Offer(f"{number} {unit}", "unit", dimension.word if dimension is not None else "")


def _one_of(path: tuple[str, ...]) -> tuple[str | int, ...]:
    """The path with the number of an item, where the language has a list of tables."""
    return (path[0], 0, *path[1:]) if path and path[0] in TABLES.arrays else path
