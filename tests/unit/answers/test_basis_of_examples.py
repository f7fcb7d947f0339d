"""Every sentence of every example about what its verdict rests on goes once the datum is given, and no other does."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomli_w
from tests.second_reader import spread, whole

import blockcheck
from blockcheck.analysis import not_modelled
from blockcheck.analysis.power.defaults import HOPEFUL, Default
from blockcheck.answers.checking.basis import Basis
from blockcheck.answers.checking.check import rests_on

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
LAYOUTS = (
    "small-yard/yard",
    "club-yard/club",
    "dc-yard/yard",
    "faulty-yard/yard",
    "growing-yard/after",
    "turning-line/line",
)
GIVEN = {
    "resistance": "0 ohm",
    "joint_resistance": "0 ohm",
    "contact_resistance": "0 ohm",
    "from_board": "1 mm",
    "to_bus": "1 mm",
    "drop": "0 V",
    "asleep": "0 A",
    "minimum_voltage": "7 V",
    "conductor_temperature": "20 degC",
    "leakage": "5 Mohm m",
    "state": "idle",
    "offset": "0.6 m",
}
"""Key -> what is written where it was left out."""
NEVER = {not_modelled.POLARITY, not_modelled.CHARGING, not_modelled.RINGING}
"""What no datum of the language tells."""


def based(raw: dict[str, Any], name: str) -> tuple[Basis, dict[str, str]]:
    answer = blockcheck.check(blockcheck.loads(tomli_w.dumps(raw), name), date(2031, 6, 1))
    assert answer.basis is not None
    return answer.basis, {head: ", ".join(told) for head, told in rests_on(answer)}


def put(one: Default) -> Callable[[dict[str, Any]], None]:
    """Writes what was left out into a layout."""
    table, *_, key = one.key.split(".")

    def write(raw: dict[str, Any]) -> None:
        if table == "limits":
            raw.setdefault("limits", {})[key] = GIVEN[key]
        elif table == "wires":
            size(raw, *one.of)
        else:
            named = [keys for name, keys in raw.get(table, {}).items() if {*spread(name)} & {*one.of} or not one.of]
            if table == "isolators":
                named += [
                    keys
                    for name, keys in raw.get("selectors", {}).items()
                    if any(contact.partition("/")[0] == name for contact in one.of)
                ]
            for keys in named:
                for own in keys["expects"] if "expects" in one.key else [keys]:
                    own.setdefault(key, feed(raw) if key == "feed" else GIVEN[key])

    return write


def feed(raw: dict[str, Any]) -> dict[str, str]:
    raw.setdefault("wires", {})["stub"] = {"size": "6 mm2", "resistance": "3 ohm/km"}
    return {"wire": "stub", "length": "1 mm"}


def size(raw: dict[str, Any], name: str) -> None:
    """A wire of its own for a size, with its resistance."""
    wires = raw.setdefault("wires", {})
    if name in wires:
        wires[name]["resistance"] = "13 ohm/km"
        return
    called = "wire-of-" + name.replace(" ", "-").replace(".", "-")

    def renamed(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: renamed(one) for key, one in value.items()}
        if isinstance(value, list):
            return [renamed(one) for one in value]
        return called if value == name else value

    for table in ("harnesses", "districts", "boards", "panels", "turnouts"):
        if table in raw:
            raw[table] = renamed(raw[table])
    wires[called] = {"size": name, "resistance": "13 ohm/km"}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_each_sentence_goes_with_its_datum_and_no_other(layout: str) -> None:
    path = EXAMPLES / f"{layout}.toml"
    raw = whole(path)
    before, told = based(raw, path.name)
    assert {one.key for one in before.defaults} <= HOPEFUL.keys()
    half = whole(path)
    for one in before.defaults[::2]:
        put(one)(half)
    after, now = based(half, path.name)
    given = {(one.key, one.of) for one in before.defaults[::2]}
    assert {(one.key, one.of) for one in after.defaults} & given == set()
    assert {one.key for one in after.defaults} >= {one.key for one in before.defaults[1::2]} - {key for key, _ in given}
    assert told.get("defaults") != now.get("defaults") or not given
    everything = whole(path)
    for one in before.defaults:
        put(one)(everything)
    for keys in everything.get("turnouts", {}).values():
        if "block" in keys:  # once for each, where two ranges describe them
            keys.setdefault("routes", False)
    for keys in everything.get("loads", {}).values():
        if "capacitance" in keys:
            keys.setdefault("charge_resistance", "100 ohm")
    last, end = based(everything, path.name)
    assert last.defaults == ()
    assert "defaults" not in end
    assert {one.what for one in last.not_modelled} <= NEVER
