"""Never silence: where a datum that may be left out changes what is computed, the answer says so.

One layout gives every datum that bears on currents; each is taken out by itself. What changes then has to be told, as a
default with its reason, as something that could not be computed, or as a finding.
"""

from __future__ import annotations

import copy
import json
from datetime import date
from typing import Any

import pytest

from blockcheck import api
from blockcheck.answers.checking.report import report_of
from blockcheck.formats.programs.json_v1 import answer_json

_WIRES = {
    "bus": "w",
    "common": "w",
    "lead": "1 m",
    "feeder": "w",
    "feeder_length": "0.1 m",
    "feeder_spacing": "2 m",
    "rail": "r",
    "capacitance": "50 pF/m",
    "segment": "1 m",
    "joint_resistance": "2 mohm",
}
_HOME = {
    "booster": "B1",
    "current": "2.5 A",
    "trip": "3 A",
    "delay": "40 ms",
    "feed": {"wire": "w", "length": "5 m"},
}
WHOLE: dict[str, Any] = {
    "format": 1,
    "layout": {"name": "Whole", "control": "dcc"},
    "boosters": {
        "B1": {"voltage": "15 V", "current": "3 A", "trip": "4 A", "delay": "50 ms", "resistance": "0.05 ohm"}
    },
    "districts": {
        "d": _HOME,
        "e": {**_HOME, "expects": [{"load": "pug", "count": 2, "state": "idle"}]},
    },
    "wires": {"w": {"size": "1.5 mm2", "resistance": "12 ohm/km", "current": "9 A"}},
    "rails": {"r": {"resistance": "0.05 ohm/m", "leakage": "5 Mohm m"}},
    "board_types": {
        "t": {
            "channels": 4,
            "threshold": "0.5 mA",
            "bank_size": 2,
            "channel_current": "2 A",
            "drop": "0.7 V",
            "sensing": "series",
        }
    },
    "boards": {"D1": {"type": "t", "banks": ["d", "e"], "feed": {"wire": "w", "length": "1 m"}}},
    "loads": {
        "pug": {
            "locomotive": True,
            "idle": "50 mA",
            "running": "0.5 A",
            "capacitance": "500 uF",
            "length": "20 cm",
        },
        "wagon": {"axle": "10 kohm", "length": "10 cm"},
    },
    "trains": {
        "a": {"vehicles": {"pug": 1, "wagon": 2}, "at": "S1", "state": "running", "offset": "0.8 m", "length": "50 cm"},
        "b": {"vehicles": {"wagon": 2}, "at": "S2", "state": "idle", "offset": "1 m"},
    },
    "harnesses": {"h": dict(_WIRES), "g": dict(_WIRES)},
    "isolators": {
        "I1": {"contact_resistance": "20 mohm", "rating": "3 A"},
        "I2": {"contact_resistance": "20 mohm", "rating": "3 A", "hold": "5 kohm", "detection": "held"},
        "I3": {"contact_resistance": "20 mohm", "rating": "3 A"},
    },
    "blocks": {
        "S1": {"channel": "D1.1", "length": "2 m", "harness": "h", "isolator": "I1"},
        "S2": {"channel": "D1.2", "length": "2 m", "harness": "h", "isolator": "I2", "lead": "3 m"},
        "S3": {"channel": "D1.3", "length": "2 m", "harness": "g", "isolator": "I3"},
        "S4": {"channel": "D1.4", "length": "2 m", "harness": "g", "lead": "3 m"},
    },
    "joints": [
        {"blocks": ["S1", "S2"], "gap": "detected"},
        {"blocks": ["S2", "S3"], "gap": "both"},
        {"blocks": ["S3", "S4"], "gap": "detected"},
    ],
    "limits": {
        "headroom": "20 %",
        "voltage_drop": "10 %",
        "minimum_voltage": "7 V",
        "conductor_temperature": "20 degC",
    },
    "scenarios": {"n": {"open": ["I2"], "expect": {"occupied": ["S2"]}}},
}
LOSSES = (
    [f"boosters.B1.{key}" for key in ("trip", "delay", "resistance")]
    + [f"districts.{home}.{key}" for home in "de" for key in ("current", "trip", "delay", "feed")]
    + ["districts.e.expects", "districts.e.expects.0.state", "wires.w.resistance", "wires.w.current"]
    + ["rails.r.leakage", "board_types.t.drop", "board_types.t.sensing", "board_types.t.channel_current"]
    + [f"loads.pug.{key}" for key in ("idle", "running", "capacitance", "length")]
    + ["loads.pug", "trains.a.state", "trains.a.offset", "boosters.B1", "districts.d", "districts.e"]
    + [f"harnesses.{name}.{key}" for name in "hg" for key in _WIRES if key != "segment"]  # without it, no joints
    + [f"isolators.{name}.contact_resistance" for name in ("I1", "I2", "I3")]
    + [f"blocks.{name}.{key}" for name in ("S1", "S2", "S3", "S4") for key in ("channel", "length", "harness")]
    + [f"limits.{key}" for key in WHOLE["limits"]]
)
SHARES = {"boosters.B1.resistance", "wires.w.resistance", "board_types.t.drop", "trains.a.offset"}
"""What only shifts what axles draw, and how drops share it, in the budget's conductors: `power` tells of it."""


def toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return json.dumps(value)


def answers(layout: dict[str, Any]) -> dict[str, Any]:
    case = api.loads("".join(f"{key} = {toml(one)}\n" for key, one in layout.items()), "whole.toml")
    texts = {
        "check": answer_json(report_of(api.check(case, date(2031, 6, 1)))),
        "power": answer_json(api.power(case)),
        "budget": answer_json(api.budget(case)),
        "wake": answer_json(api.wake(case)),
    }
    return {name: json.loads(text) for name, text in texts.items()}


def told(answer: dict[str, Any]) -> list[Any]:
    return [answer.get("defaults"), answer["unchecked"]]


def verdict(answer: dict[str, Any]) -> dict[str, Any]:
    """A check, of whose basis only what was taken by default is kept."""
    return {**answer, "basis": None, "defaults": answer["basis"]["defaults"]}


def test_nothing_is_missing() -> None:
    whole = answers(WHOLE)
    assert whole["check"]["findings"] == whole["check"]["basis"]["defaults"] == []
    for name, answer in whole.items():
        assert answer["unchecked"] == [], name


@pytest.mark.parametrize("loss", LOSSES)
def test_what_is_missing_is_told(loss: str) -> None:
    layout = copy.deepcopy(WHOLE)
    table: Any = layout
    *way, last = loss.split(".")
    for step in way:
        table = table[int(step)] if isinstance(table, list) else table[step]
    del table[last]
    whole, found = answers(WHOLE), answers(layout)
    for name in ("power", "budget", "wake"):
        if name == "budget" and (loss in SHARES or loss.endswith(("contact_resistance", "joint_resistance"))):
            continue
        if found[name] != whole[name] and "channel_current" not in loss:  # there the limit is null
            assert told(found[name]) != told(whole[name]), name
    before, after = verdict(whole["check"]), verdict(found["check"])
    if after != before:
        assert told(after) != told(before)
    hopeful = {one["key"]: one for one in found["power"]["defaults"] if one["worse"] is not None}
    assert {one["key"]: one for one in after["defaults"]} == hopeful
