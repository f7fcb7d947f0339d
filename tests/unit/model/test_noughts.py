"""A nought is refused where it means nothing, by the reader and by the schema that editors have."""

from __future__ import annotations

from typing import Any, get_args, get_type_hints

import attrs
import pytest
from jsonschema import Draft7Validator

import blockcheck
from blockcheck.core.spans import Place
from blockcheck.model.layout import SUBJECTS, Feed, Single
from blockcheck.model.quantities import DIMENSIONS
from blockcheck.model.schema import layout_schema

START = 'format = 1\n[layout]\nname = "Mallow Wharf"\ncontrol = "dcc"\n'
ABOVE = """boosters: voltage current trip
districts: current trip turns_at feed
boards: feed fuse
turnouts: frog_wire
board_types: threshold channel_current
harnesses: feeder_spacing segment leakage
wires: resistance current
runs: length segment
rails: resistance leakage
blocks: length fuse
isolators: hold rating
selectors: rating
panels: from_board to_bus pitch row_pitch
loads: axle axle_resistance charge_resistance length
trains: length"""
LENGTHS = {("districts", "feed"): Feed, ("boards", "feed"): Single, ("turnouts", "frog_wire"): Single}
"""What cannot be nought; a wire's is its length."""
PAIRS = [
    (table, key) for line in ABOVE.splitlines() for table, _, keys in [line.partition(": ")] for key in keys.split()
]


def unit_of(cls: type, key: str) -> str:
    field = next(one for one in attrs.fields(cls) if one.metadata["toml"] == key)
    hint: Any = get_type_hints(cls)[field.name]
    return next(DIMENSIONS[kind].unit for kind in (hint, *get_args(hint)) if kind in DIMENSIONS)


def nought(table: str, key: str, number: str) -> str:
    if (table, key) in LENGTHS:
        return f'{key} = {{ wire = "1.5 mm2", length = "{number} m" }}'
    return f'{key} = "{number} {unit_of(SUBJECTS[table], key)}"'


def test_these_are_all() -> None:
    found = {
        (table, field.metadata["toml"])
        for table, cls in SUBJECTS.items()
        for field in attrs.fields(cls)
        if field.metadata.get("above") == 0
    }
    assert found | LENGTHS.keys() == set(PAIRS)
    for cls in (Feed, Single):
        assert [one.metadata["toml"] for one in attrs.fields(cls) if one.metadata["above"] == 0] == ["length"]


@pytest.mark.parametrize(("table", "key"), PAIRS)
@pytest.mark.parametrize("number", ["0", "0.00", "0e5"])
def test_a_nought_is_refused(table: str, key: str, number: str) -> None:
    needed = [
        f'{one.metadata["toml"]} = "{one.metadata["example"]}"'
        for one in attrs.fields(SUBJECTS[table])
        if one.default is attrs.NOTHING and one.metadata["toml"] != key and isinstance(one.metadata["example"], str)
    ]
    lines = [f"[{table}.x]", *needed, nought(table, key, number)]
    with pytest.raises(blockcheck.InputError) as caught:
        blockcheck.loads(START + "\n".join(lines), "wharf.toml")
    (finding,) = (one for one in caught.value.findings if "above" in one.message)
    assert isinstance(finding.at, Place)
    assert finding.at.line == len(START.splitlines()) + len(lines)
    assert f'above 0, got "{number} ' in finding.message
    assert (finding.help or "").startswith("write a")


@pytest.mark.parametrize(("table", "key"), PAIRS)
def test_the_schema_refuses_it_too(table: str, key: str) -> None:
    schema = layout_schema()["properties"][table]["additionalProperties"]["properties"]
    within = (table, key) in LENGTHS
    schema = schema[key]["properties"]["length"] if within else schema[key]
    unit = "m" if within else unit_of(SUBJECTS[table], key)
    assert Draft7Validator(schema).is_valid(f"0.01 {unit}")
    assert not Draft7Validator(schema).is_valid(f"0.00 {unit}")
