"""Documents by the schema of layouts: any keys that it knows, values of the right sort, and now and then of another."""

from __future__ import annotations

import copy
import json
import re
from functools import cache
from random import Random
from typing import Any

from blockcheck.text.includes import shipped
from tests.properties.less import places
from tests.properties.test_never_a_traceback import TEXTS

Schema = dict[str, Any]
NAMES = (
    "S1",
    "S2",
    "S3",
    "S4",
    "S1-S3",
    "A",
    "D1",
    "D2",
    "B1",
    "main",
    "east",
    "I1",
    "I2",
    "I1-I3",
    "T1",
    "T2",
    "wire",
    "rail",
    "shunter",
    "west",
    "D1.1",
    "D1.2",
    "D1.1-3",
)
QUANTITIES = (
    "1 m",
    "0.3 m",
    "12 V",
    "2 A",
    "20 mA",
    "50 mohm",
    "4.7 kohm",
    "100 nF",
    "50 pF/m",
    "5 Mohm m",
    "20 %",
    "60 ms",
    "2.5 mm2",
    "14 AWG",
    "1e-9 m",
    "1e9 m",
    "0 m",
    "-1 A",
    "1e300 ohm",
    "8 ohm/km",
    "0.1 mm",
    "25 mm",
    "2030-01-01",
    "1e-300 A",
    "99999 m",
)
WRONG: tuple[Any, ...] = (
    0,
    -1,
    1,
    2,
    3,
    1000,
    10**18,
    0.5,
    1e308,
    float("inf"),
    True,
    False,
    [],
    {},
    "",
    [[]],
    [1],
    ["S1", 1],
    {"x": 1},
)


@cache
def schema() -> Schema:
    """The schema of layouts."""
    found: Schema = json.loads((shipped("schemas") / "layout.schema.json").read_text("utf-8"))
    return found


def document(chance: Random) -> dict[str, Any]:
    """A document that is mostly valid: some tables, some keys of each."""
    values: dict[str, Any] = {"format": 1, "layout": {"name": "Made", "control": chance.choice(("dcc", "dc"))}}
    values["boosters"] = {"B1": {"voltage": "14 V", "current": "3 A"}}
    values["districts"] = {"main": {"booster": "B1"}, "east": {"booster": "B1"}}
    values["board_types"] = {"t": {"channels": 16, "bank_size": 4, "threshold": "1 mA"}}
    values["boards"] = {"D1": {"type": "t", "banks": ["main"]}}
    values["blocks"] = {f"S{number}": {"channel": f"D1.{number}"} for number in range(1, chance.randint(1, 5) + 1)}
    tables = schema()["properties"]
    for name in chance.sample([*tables], chance.randint(1, 6)):
        if name == "include":
            continue
        new = made(chance, tables[name])
        if isinstance(new, dict) and isinstance(values.get(name), dict):
            values[name] = {**values[name], **new}
        elif name != "format" or chance.random() < 0.05:
            values[name] = new
    return values


def made(chance: Random, of: Schema, deep: int = 0) -> Any:
    """A value by a schema; once in a while, of another sort."""
    if chance.random() < 0.02:
        return chance.choice((*WRONG, *TEXTS))
    kinds = of.get("type", "string")
    kind = chance.choice(kinds) if isinstance(kinds, list) else kinds
    if "enum" in of:
        return chance.choice(of["enum"])
    if kind == "object":
        return _table(chance, of, deep)
    if kind == "array":
        return [made(chance, of.get("items", {}), deep + 1) for _ in range(chance.choice((0, 1, 1, 2, 2, 3)))]
    if kind == "boolean":
        return chance.random() < 0.5
    if kind in ("integer", "number"):
        least = of.get("minimum", 0)
        return of.get("const", chance.choice((least, least + 1, least + 1, 2, 3, 8, 0.5 if kind == "number" else 16)))
    return _text(chance, of)


def _table(chance: Random, of: Schema, deep: int) -> dict[str, Any]:
    known, more = of.get("properties", {}), of.get("additionalProperties")
    if not known:
        inner = more if isinstance(more, dict) else {}
        return {chance.choice(NAMES): made(chance, inner, deep + 1) for _ in range(chance.choice((1, 1, 2, 3)))}
    chosen = [*of.get("required", []), *chance.sample([*known], min(len(known), chance.choice((0, 1, 2, 3, 5))))]
    found = {key: made(chance, known[key], deep + 1) for key in dict.fromkeys(chosen) if key in known}
    if chance.random() < 0.01:
        found[chance.choice(TEXTS)] = chance.choice((*WRONG, *TEXTS))
    return found


def _text(chance: Random, of: Schema) -> str:
    told = of.get("description", "")
    examples = re.findall(r'"([^"]+)"', told[told.find("For example") :] if "For example" in told else "")
    kind = chance.random()
    if examples and kind < 0.5:
        return str(chance.choice(examples))
    quantity = "pattern" in of or re.search(r"\d (m|V|A|ohm)\b", told)
    return str(chance.choice(QUANTITIES if (quantity and kind < 0.9) or kind > 0.95 else NAMES))


def filled(chance: Random, values: dict[str, Any]) -> dict[str, Any]:
    """A copy of a layout in which some values are others of their schema, some keys new, some exchanged."""
    values = copy.deepcopy(values)
    for _ in range(chance.choice((1, 1, 2, 3, 6))):
        every = [one for one in places(values) if one[0] not in ("format", "include")]
        if not every:
            break
        place = chance.choice(every)
        holder: Any = values
        for step in place[:-1]:
            holder = holder[step]
        of = _of(place)
        match chance.randrange(6):
            case 0 | 1 | 2:
                holder[place[-1]] = made(chance, of)
            case 3 if isinstance(holder[place[-1]], dict) and of.get("properties"):
                key = chance.choice([*of["properties"]])
                holder[place[-1]][key] = made(chance, of["properties"][key])
            case 4:
                other = chance.choice(every)
                value: Any = values
                for step in other:
                    value = value[step]
                holder[place[-1]] = copy.deepcopy(value)
            case _ if isinstance(holder[place[-1]], str):
                holder[place[-1]] = chance.choice((*NAMES, *QUANTITIES, *TEXTS))
            case _:
                holder[place[-1]] = made(chance, of)
    return values


def _of(place: tuple[str | int, ...]) -> Schema:
    """The schema of what stands at a place."""
    of = schema()
    for step in place:
        if isinstance(step, int):
            of = of.get("items", {})
        else:
            more = of.get("additionalProperties")
            of = of.get("properties", {}).get(step, more if isinstance(more, dict) else {})
    return of
