"""`compare` tells whatever the layout says otherwise: every key of the language, one after the other.

One layout says something under every key. Each is given another value, and the change has to be told. A key that is
new in the language has no value here, and fails the first test until it has one.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator
from datetime import date
from typing import Any, Literal, get_args, get_origin, get_type_hints

import attrs
import pytest
import tomli_w

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.core.spans import Path
from blockcheck.model import layout
from blockcheck.model.keys import Conductor
from blockcheck.model.layout import SUBJECTS, Layout
from blockcheck.model.quantities import DIMENSIONS

FULL = """
format = 1
[layout]
name = "Sorrel Wharf"
control = "dcc"
scale = "HO"
units = "metric"
allowance = "10 %"
[boosters.B1-B3]
voltage = "15 V"
current = "3 A"
trip = "4 A"
delay = "60 ms"
resistance = "0.05 ohm"
[districts.quay]
booster = "B1"
current = "2 A"
trip = "2.5 A"
delay = "20 ms"
breaker = "electronic"
polarity = "automatic"
turns_at = "1.5 A"
turn_delay = "1 ms"
restart = "staged"
feed = { wire = "thick", length = "4 m" }
return = "R"
expects = [{ load = "tank", count = 2, state = "idle" }]
[districts.shed]
booster = "B2"
[wires.thick]
size = "2.5 mm2"
resistance = "8 ohm/km"
current = "9 A"
[wires.spool]
size = "1 mm2"
resistance = "18 ohm/km"
current = "5 A"
[rails.steel]
resistance = "0.05 ohm/m"
leakage = "5 Mohm m"
[rails.old]
resistance = "0.07 ohm/m"
leakage = "4 Mohm m"
[board_types.octet]
channels = 8
threshold = "0.5 mA"
bank_size = 4
channel_current = "2 A"
drop = "0.7 V"
sensing = "coil"
[board_types.other]
channels = 6
threshold = "1 mA"
bank_size = 3
channel_current = "1 A"
drop = "0.6 V"
sensing = "coil"
[boards.D1]
type = "octet"
banks = ["quay", "shed"]
feed = { wire = "1 mm2", length = "1.5 m" }
fuse = "3 A"
first_address = 101
at = "under the quay"
spare = [3, 4]
[harnesses.quay]
bus = "thick"
common = "2.5 mm2"
lead = "2 m"
feeder = "0.5 mm2"
feeder_length = "0.2 m"
feeder_spacing = "1.6 m"
segment = "1.2 m"
joint_resistance = "2 mohm"
rail = "steel"
colours = { detected = ["yellow", "blue"], common = "black" }
capacitance = "50 pF/m"
leakage = "6 Mohm m"
terminator = { resistance = "100 ohm", capacitance = "0.1 uF" }
[harnesses.plain]
rail = "steel"
[blocks.S1]
channel = "D1.1"
isolator = "I1"
length = "3 m"
harness = "quay"
lead = "2.5 m"
fuse = "2 A"
passes = 2
across = { resistance = "1.2 kohm", capacitance = "0.2 uF" }
feeders = 2
track = 1
group = "quay"
helix = 2
kind = "storage"
[groups.quay]
deck = 1
side = "outward"
shape = "eight"
[blocks.S2]
channel = "D1.2"
length = "3 m"
harness = "quay"
feeders_at = ["0.5 m", "2 m"]
[blocks.X]
undetected = "a tramway"
district = "quay"
isolator = "X1"
[blocks.Y]
channel = "D1.5"
harness = "plain"
[blocks.Q1-Q2]
undetected = "a tramway"
district = "quay"
[blocks.stub]
unpowered = "a display track"
[blocks.spur]
fed_through = "S1"
[isolators.I1]
contact = "on-off"
poles = 1
side = "after-detector"
isolates = ["S1"]
power = "off"
detection = "off"
hold = "10 kohm"
contact_resistance = "20 mohm"
rating = "5 A"
usually = "closed"
panel = "left"
[isolators.I2-I3]
[isolators.X1]
contact = "changeover"
between = ["quay", "shed"]
centre_off = true
[panels.fascia]
at = "before the quay"
wire = "1.5 mm2"
from_board = "3 m"
to_bus = "2 m"
rows = [["Z"]]
pitch = "30 mm"
row_pitch = "60 mm"
size = ["200 mm", "100 mm"]
[selectors.Z]
panel = "fascia"
tracks = ["Q1", "Q2"]
wired = "contacts"
poles = 1
off = true
usually = "Q1"
contact_resistance = "20 mohm"
rating = "2 A"
[[joints]]
blocks = ["S1", "S2"]
gap = "detected"
ends = ["far", "near"]
[turnouts.T1]
block = "S1"
toe = "Y"
through = "S2"
diverging = "X"
frog = "switched"
frog_gaps = true
frog_wire = { wire = "0.5 mm2", length = "0.4 m" }
frog_rail = "detected"
routes = true
usually = "through"
[runs.motor]
wire = "0.5 mm2"
length = "4 m"
count = 2
segment = "1.2 m"
ends = ["panel", "machine 1"]
for = "switch machine"
colours = ["red", "black"]
[turnouts.T2-T4]
block = "Y"
[turnouts.T3]
usually = "diverging"
[[interlocks]]
controls = ["T2", "T3"]
at_most_one = "diverging"
because = "the night watch"
[[interlocks]]
never = { I2 = "open", T1 = "diverging" }
because = "one relay"
[loads.tank]
idle = "0.1 A"
running = "0.3 A"
stalled = "1 A"
sound = true
locomotive = true
capacitance = "470 uF"
charge_resistance = "100 ohm"
axle = "15 kohm"
asleep = "2 mA"
length = "0.15 m"
[loads.pug]
axles = 2
axle_resistance = "30 kohm"
[trains.milk]
vehicles = { tank = 1 }
at = "S1"
offset = "1 m"
state = "idle"
length = "0.4 m"
[scenarios.night]
open = ["I1"]
closed = ["I2-I3"]
set = { T1 = "diverging" }
at = { milk = "S2" }
states = { milk = "running" }
expect = { dead = ["S1"], lit = ["S2"], occupied = ["S2"], clear = ["S1"] }
[limits]
headroom = "20 %"
voltage_drop = "10 %"
minimum_voltage = "7 V"
trip_margin = 1.5
conductor_temperature = "20 degC"
detection_margin = 1.5
[rules]
channel-unused = "note"
[[accept]]
rule = "channel-unused"
where = "D1.6"
because = "for the shed"
until = 2040-01-01
"""
DAY = date(2030, 1, 1)
OTHERS: dict[tuple[str, str], Any] = {
    ("Booster", "voltage"): "16 V",
    ("About", "scale"): "TT",
    ("BoardType", "channels"): 7,
    ("District", "booster"): "B3",
    ("District", "return"): "other",
    ("Expected", "load"): "pug",
    ("Board", "banks"): ["shed", "quay"],
    ("Board", "spare"): [3],
    ("Harness", "rail"): "code83",
    ("Block", "channel"): "D1.7",
    ("Block", "district"): "shed",
    ("Block", "isolator"): "I2",
    ("Block", "fed_through"): "S2",
    ("Block", "harness"): None,
    ("Block", "feeders_at"): ["0.5 m", "2.1 m"],
    ("Group", "shape"): None,
    ("Isolator", "isolates"): ["S2"],
    ("Isolator", "usually"): "open",
    ("Isolator", "between"): ["shed", "nowhere"],
    ("Interlock", "controls"): ["T2", "T4"],
    ("Interlock", "at_most_one"): "through",
    ("Interlock", "never"): {"I3": "open", "T1": "diverging"},
    ("Selector", "tracks"): ["Q1", "Q2", "X"],
    ("Selector", "usually"): "Q2",
    ("Selector", "panel"): "fascia, below",
    ("Panel", "rows"): [[], ["Z"]],
    ("Panel", "size"): ["200 mm", "120 mm"],
    ("Joint", "blocks"): ["S1", "Y"],
    ("Joint", "ends"): ["near", "near"],
    ("Turnout", "block"): "S2",
    ("Turnout", "toe"): "S2",
    ("Turnout", "through"): "Y",
    ("Turnout", "diverging"): "Y",
    ("Run", "ends"): ["panel", "machine 2"],
    ("Train", "vehicles"): {"tank": 2},
    ("Train", "at"): "S2",
    ("Scenario", "open"): ["X1"],
    ("Scenario", "closed"): ["I2"],
    ("Scenario", "set"): {"T1": "through"},
    ("Scenario", "at"): {"milk": "X"},
    ("Scenario", "states"): {"milk": "idle"},
    ("Expect", "dead"): ["S2"],
    ("Expect", "lit"): ["S1"],
    ("Expect", "occupied"): ["S1"],
    ("Expect", "clear"): ["S2"],
    ("Accept", "rule"): "channel-shared",
    ("Accept", "until"): date(2041, 1, 1),
    ("Layout", "rules"): {"channel-unused": "warning"},
}
"""Class and key -> another value; None: the key is left out. Quantities, words, counts and choices need none."""


def table_in(hint: Any) -> type | None:
    """The class of the tables that a key holds, however deep in lists, tables by name and choices."""
    if isinstance(hint, type) and issubclass(hint, layout.Table):
        return hint
    return next((found for found in map(table_in, get_args(hint)) if found is not None), None)


def hints_of(cls: type) -> Iterator[tuple[str, Any, bool]]:
    """Key, what it holds, and whether ``compare`` tells it, of every key of a table."""
    hints = get_type_hints(cls, vars(layout))
    for one in attrs.fields(cls):
        if one.metadata["toml"] is not None:
            yield one.metadata["toml"], hints[one.name], one.metadata["compare"] is None


def classes(cls: type = Layout) -> set[type]:
    """A table, and those in it."""
    inner = [table_in(hint) for _, hint, _ in hints_of(cls)]
    return {cls}.union(*(classes(one) for one in inner if one is not None))


def leaves(cls: type, value: dict[str, Any], path: Path = ()) -> Iterator[tuple[type, str, Any, Path]]:
    """Class, key, what it holds and path of everything that a table, and those in it, say."""
    for key, hint, told in hints_of(cls):
        inner, found = table_in(hint), value.get(key)
        if not told or found is None:
            continue
        if inner is None:
            yield cls, key, hint, (*path, key)
        elif isinstance(found, list):
            for number, one in enumerate(found):
                yield from leaves(inner, one, (*path, key, number))
        elif key in SUBJECTS:
            for name, one in found.items():
                yield from leaves(inner, one, (*path, key, name))
        else:
            yield from leaves(inner, found, (*path, key))


def other(cls: type, key: str, hint: Any, value: Any) -> Any:
    """Another value that the key may have; the same where there is none, None where it is to be left out."""
    if (cls.__name__, key) in OTHERS:
        return OTHERS[cls.__name__, key]
    kinds = {hint, *get_args(hint)}
    choices = next((get_args(one) for one in kinds if get_origin(one) is Literal), ())
    if choices:
        return next((one for one in choices if one != value), value)
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if Conductor in kinds:
        return "4 mm2"
    if kinds & DIMENSIONS.keys():
        number, _, unit = value.partition(" ")
        return f"{float(number) * 1.1:g} {unit}"
    return [f"{one} or so" for one in value] if isinstance(value, list) else f"{value} or so"


VALUES = tomllib.loads(FULL)
LEAVES = list(leaves(Layout, VALUES))


@pytest.fixture(scope="module")
def whole() -> Study:
    return api.loads(FULL, "whole.toml")


def test_something_is_said_under_every_key() -> None:
    said = {(cls, key) for cls, key, *_ in LEAVES}
    silent = {
        f"{cls.__name__}.{key}"
        for cls in classes()
        for key, hint, told in hints_of(cls)
        if told and table_in(hint) is None and (cls, key) not in said
    }
    assert not silent, f"give {', '.join(sorted(silent))} a value in FULL"


@pytest.mark.parametrize(("cls", "key", "hint", "path"), LEAVES, ids=[".".join(map(str, one[3])) for one in LEAVES])
def test_a_key_that_changes_is_told(whole: Study, cls: type, key: str, hint: Any, path: Path) -> None:
    values = copy.deepcopy(VALUES)
    table: Any = values
    for step in path[:-1]:
        table = table[step]
    changed = other(cls, key, hint, table[key])
    if path[-1] == "contact":  # the other kind of switch has other keys
        for needless in ("between", "centre_off", "side", "usually", "hold"):
            table.pop(needless, None)
        table |= {"between": ["quay", "shed"]} if changed == "changeover" else {}
    if path[-1] == "frog":  # no wire comes to an insulated one
        del table["frog_wire"]
    if path == ("selectors", "Z", "panel"):  # nothing else stands in the rows of the old one
        del values["panels"]["fascia"]["rows"]
    if path[-1] == "sensing":  # nothing passes through the coil of another kind twice
        del values["blocks"]["S1"]["passes"]
    if changed is None:
        del table[key]
    elif changed == table[key]:
        assert len(get_args(hint)) == 1, f"OTHERS needs another value of {cls.__name__}.{key}"
        return  # a choice of one
    else:
        table[key] = changed
    answer = api.compare(whole, api.loads(tomli_w.dumps(values), "changed.toml"), DAY)
    assert answer.changes
    assert "none to anything else" not in answer.summary


def test_what_is_not_told_says_why() -> None:
    reasons = {
        one.metadata["toml"]: one.metadata["compare"]
        for cls in classes()
        for one in attrs.fields(cls)
        if one.metadata.get("compare")
    }
    assert reasons.keys() == {"format", "include", "type"}
    assert all(" " in reason for reason in reasons.values())
