"""Laws of the language: a range equals writing it out, order does not matter, two runs are the same byte for byte."""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import tomli
import tomli_w
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.formats.programs import json_v1
from blockcheck.model.layout import TABLES
from blockcheck.text.ranges import names_of

ROOT = Path(__file__).resolve().parents[2]
FILES = sorted((ROOT / "examples").rglob("yard.toml")) + sorted((ROOT / "tests" / "rules").glob("*/bad*.toml"))
PLACED = ("line", "column")


def answers(values: dict[str, Any]) -> list[str]:
    """Every answer as JSON, without the lines and columns that a rewritten file must change, nor edits of those."""
    case = api.loads(tomli_w.dumps(values), "yard.toml")
    checked = api.check(case).to_dict()
    for finding in checked["findings"]:
        del finding["edits"]
        for part in (finding, *finding["related"]):
            for key in PLACED:
                del part[key]
    found = [json.dumps(checked), json_v1.answer_json(api.channels(case)), json_v1.answer_json(api.power(case))]
    able = (isolator for isolator in case.wiring.meant if case.layout.isolators[isolator].centre_off)
    return found + [json_v1.answer_json(api.isolate(case, isolator)) for isolator in able]


def written_out(values: dict[str, Any]) -> dict[str, Any]:
    """The same layout with every range written out by hand."""
    out = {key: value for key, value in values.items() if key not in TABLES.named and key != "joints"}
    for table in (name for name in TABLES.named if name in values):
        made: dict[str, Any] = {}
        for name, body in values[table].items():
            names = names_of(name) or (name,)
            for index, one in enumerate(names):
                share = dict(body)
                for key in TABLES.dealt.get(table, {}).keys() & body.keys() if len(names) > 1 else ():
                    value = body[key]
                    texts = value if isinstance(value, list) else [value]
                    dealt = [
                        (names_of(text) or [text] * len(names))[index] if isinstance(text, str) else text
                        for text in texts
                    ]
                    share[key] = dealt if isinstance(value, list) else dealt[0]
                    if key == "track" and isinstance(share[key], str):
                        share[key] = int(share[key])
                plain = name == one
                made[one] = {**made.get(one, {}), **share} if plain else {**share, **made.get(one, {})}
        out[table] = made
    joints = []
    for joint in values.get("joints", ()):
        left, right = (names_of(name) or (name,) for name in joint["blocks"])
        for index in range(max(len(left), len(right))):
            pair = [left[index if len(left) > 1 else 0], right[index if len(right) > 1 else 0]]
            joints.append({**joint, "blocks": pair})
    return out | ({"joints": joints} if joints else {})


def shuffled(value: Any, dice: random.Random) -> Any:
    """A table with its tables and keys in another order."""
    if not isinstance(value, dict):
        return value
    keys = list(value)
    dice.shuffle(keys)
    return {key: shuffled(value[key], dice) for key in keys}


def self_contained(path: Path) -> dict[str, Any] | None:
    values = tomli.loads(path.read_text("utf-8"))
    return None if "include" in values else values


LAYOUTS = {str(path.relative_to(ROOT)): values for path in FILES if (values := self_contained(path)) is not None}


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_range_equals_writing_it_out(name: str) -> None:
    assert answers(written_out(LAYOUTS[name])) == answers(LAYOUTS[name])


@pytest.mark.parametrize("name", [name for name in LAYOUTS if "names-alike" not in name])
def test_order_does_not_matter(name: str) -> None:
    """Colours are dealt out in the order in which blocks first appear, so they are left out here; and of two names that
    read alike, the one that is written later is told."""
    values = dict(LAYOUTS[name])
    harnesses = values.get("harnesses", {})
    values["harnesses"] = {key: {k: v for k, v in one.items() if k != "colours"} for key, one in harnesses.items()}
    once = answers(values)
    for seed in range(3):
        assert answers(shuffled(values, random.Random(seed))) == once


@settings(max_examples=20)
@given(st.sampled_from(sorted(LAYOUTS)), st.data())
def test_every_value_knows_where_it_stands(name: str, data: st.DataObject) -> None:
    """Through ranges and refinements, the place of a value is a line on which its key and its text stand."""
    text = (ROOT / name).read_text("utf-8")
    case = api.loads(text, "yard.toml")
    document = case.wiring.document
    tables = [table for table in TABLES.named if document.values.get(table)]
    assume(tables)
    table = data.draw(st.sampled_from(tables))
    one = data.draw(st.sampled_from(sorted(document.values[table])))
    for key, value in document.values[table][one].items():
        place = document.place((table, one, key))
        written = text.splitlines()[place.line - 1][place.column - 1 :]
        if isinstance(value, str) and place.line == place.end_line and key not in TABLES.dealt.get(table, {}):
            assert tomli.loads(f"x = {written[: place.end_column - place.column]}")["x"] == value
        name_place = document.place((table, one, key), key=True)
        assert key in text.splitlines()[name_place.line - 1]


def test_two_runs_are_the_same_byte_for_byte(tmp_path: Path) -> None:
    for command in (["check"], ["channels"], ["isolate"], ["power"], ["budget"], ["wake"]):
        found = set()
        for seed, folder in (("1", ROOT / "examples" / "club-yard"), ("2", tmp_path)):
            for source in (ROOT / "examples" / "club-yard").glob("*.toml"):
                (tmp_path / source.name).write_bytes(source.read_bytes())
            extra = ["S1-S3"] if command == ["isolate"] else []
            call = [sys.executable, "-m", "blockcheck", *command, "club.toml", *extra, "--format", "json"]
            environment = {**os.environ, "PYTHONHASHSEED": seed}
            found.add(subprocess.run(call, cwd=folder, env=environment, capture_output=True, check=True).stdout)
        assert len(found) == 1
