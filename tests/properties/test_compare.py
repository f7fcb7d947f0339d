"""Comparing layouts at random: a layout with itself, written otherwise, and two of them both ways round."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.answers.difference.compare import CompareAnswer
from blockcheck.circuit.wires import lines
from blockcheck.formats.html import document_html
from blockcheck.formats.markdown import document_markdown
from blockcheck.formats.programs.json_v1 import answer_json
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text
from tests.properties.layouts import Values, behind, layouts, load

DAY = date(2030, 1, 1)
FEWER = settings(max_examples=settings().max_examples // 2)
"""Two layouts an example."""
HARNESS = {
    "bus": "1.5 mm2",
    "common": "2.5 mm2",
    "lead": "2 m",
    "feeder": "0.5 mm2",
    "feeder_length": "0.2 m",
    "feeder_spacing": "2 m",
    "rail": "code83",
}


def compared(old: Values, new: Values) -> CompareAnswer:
    return api.compare(load(old), load(new), DAY)


@st.composite
def measured(draw: st.DrawFn) -> Values:
    """A layout of which volts can be computed, mostly."""
    values = draw(layouts())
    values["harnesses"] = {"bench": dict(HARNESS)}
    for body in values["blocks"].values():
        if "unpowered" not in body:
            body["harness"] = "bench"
        body["length"] = draw(st.sampled_from(["2 m", "3 m", "4 m"]))
    for body in values["districts"].values():
        body["feed"] = {"wire": "2.5 mm2", "length": "4 m"}
    return values


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Values, Values]:
    """Two layouts: one of its own, or one that a few changes make of the other."""
    old = draw(measured())
    if draw(st.booleans()):
        return old, draw(measured())
    new: Values = {key: _copy(value) for key, value in old.items()}
    blocks = new["blocks"]
    for _ in range(draw(st.integers(1, 3))):
        name = draw(st.sampled_from(sorted(blocks)))
        kind = draw(st.sampled_from(["channel", "isolator", "length", "gone", "gap", "bank", "wire"]))
        if kind == "channel" and "channel" in blocks[name]:
            blocks[name]["channel"] = f"D1.{draw(st.integers(1, 8))}"
        elif kind == "isolator":
            blocks[name].pop("isolator", None)
        elif kind == "length":
            blocks[name]["length"] = "5 m"
        elif kind == "gap" and new.get("joints"):
            new["joints"][0]["gap"] = draw(st.sampled_from(["both", "none", "detected", "common"]))
        elif kind == "bank":
            new["boards"]["D1"]["banks"] = [draw(st.sampled_from(sorted(new["districts"])))]
        elif kind == "wire":
            new["harnesses"]["bench"]["bus"] = "4 mm2"
        elif kind == "gone" and len(blocks) > 1:
            _lift(new, name)
    return old, {key: value for key, value in new.items() if value not in ({}, [])}


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copy(inner) for key, inner in value.items()}
    return [_copy(inner) for inner in value] if isinstance(value, list) else value


def _lift(values: Values, block: str) -> None:
    del values["blocks"][block]
    values["joints"] = [one for one in values.get("joints", ()) if block not in one["blocks"]]
    for name, body in list(values.get("turnouts", {}).items()):
        if body["block"] == block:
            del values["turnouts"][name]
    gone = {block} | ({"T1", "T2", "T3", "T4"} - values.get("turnouts", {}).keys())
    for body in values.get("turnouts", {}).values():
        for leg in ("toe", "through", "diverging"):
            if body.get(leg) in gone:
                del body[leg]
    for body in values.get("isolators", {}).values():
        if "isolates" in body:
            body["isolates"] = [one for one in body["isolates"] if one != block]


@given(measured())
def test_a_layout_differs_from_itself_in_nothing(values: Values) -> None:
    answer = compared(values, values)
    assert not answer.wiring_differs
    told = (
        answer.changes,
        answer.steps,
        answer.labels,
        answer.tests,
        answer.values,
        answer.findings.appear,
        answer.findings.gone,
    )
    assert not any(told)
    assert all(one.same for one in answer.budgets)
    assert not answer.unchecked.appear
    assert not answer.unchecked.gone


@given(measured(), st.randoms(use_true_random=False))
def test_order_is_no_change_to_the_wiring(values: Values, dice: random.Random) -> None:
    """Whether two joints meet at one place twice, and a frog crosses one of them, nothing tells: those keep order."""
    other = {key: values[key] for key in dice.sample(list(values), len(values))}
    for table in ("blocks", "isolators", "districts", "boards"):
        if table in other:
            names = list(other[table])
            dice.shuffle(names)
            other[table] = {name: other[table][name] for name in names}
    answer = compared(values, other)
    assert answer.steps == ()
    assert not answer.wiring_differs


def test_a_range_written_out_is_no_change() -> None:
    """Every number of tracks up to a dozen, and every way to write them as two ranges."""
    plain: Values = {
        "format": 1,
        "layout": {"name": "Sedge Halt", "control": "dcc"},
        "boosters": {"B1": {"voltage": "14 V", "current": "3 A"}},
        "districts": {"halt": {"booster": "B1"}},
        "board_types": {"twelve": {"channels": 12, "threshold": "1.5 mA"}},
        "boards": {"D1": {"type": "twelve"}},
    }
    for count in range(1, 13):
        names = range(1, count + 1)
        written = {
            **plain,
            "isolators": {f"I{n}": {} for n in names},
            "blocks": {f"S{n}": {"channel": f"D1.{n}", "isolator": f"I{n}"} for n in names},
        }
        for cut in range(count):
            spans = [(1, cut), (cut + 1, count)] if cut else [(1, count)]
            ranged = {
                **plain,
                "isolators": {f"I{a}-I{b}": {} for a, b in spans},
                "blocks": {f"S{a}-S{b}": {"channel": f"D1.{a}-{b}", "isolator": f"I{a}-I{b}"} for a, b in spans},
            }
            answer = compared(written, ranged)
            assert answer.changes == ()
            assert answer.steps == ()


@given(measured())
def test_the_document_written_out_is_no_change(values: Values) -> None:
    case = load(values)
    again = api.loads(tomli_w.dumps(case.wiring.document.values), "out.toml")
    answer = api.compare(case, again, DAY)
    assert answer.changes == ()
    assert answer.steps == ()


@FEWER
@given(pairs())
def test_both_ways_round_mirror_each_other(pair: tuple[Values, Values]) -> None:
    there, back = compared(*pair), compared(*reversed(pair))
    turned = {"added": "gone", "gone": "added", "changed": "changed", "renamed": "renamed"}
    plain = [one for one in there.changes if one.what != "renamed"]
    named = any(one.what == "renamed" for one in there.changes)
    assert named == any(one.what == "renamed" for one in back.changes)
    assert there.wiring_differs == back.wiring_differs
    prints = Counter((one.text, one.at, one.print) for one in there.labels)
    assert prints == Counter((one.text, one.at, not one.print) for one in back.labels)
    assert [one.finding.rule for one in there.findings.appear] == [one.finding.rule for one in back.findings.gone]
    assert [one.finding.rule for one in there.findings.gone] == [one.finding.rule for one in back.findings.appear]
    assert [one.rule for one in there.unchecked.appear] == [one.rule for one in back.unchecked.gone]
    if named:  # names are told as the new layout has them, and so differ
        return
    tell = [(one.kind, one.subject, turned[one.what], one.key, one.after, one.before, one.wiring) for one in plain]
    joints = [one for one in tell if one[0] == "joint"]
    other = [(one.kind, one.subject, one.what, one.key, one.before, one.after, one.wiring) for one in back.changes]
    assert Counter(one for one in tell if one[0] != "joint") == Counter(one for one in other if one[0] != "joint")
    assert len(joints) == sum(one[0] == "joint" for one in other)
    assert {one.what for one in there.steps if one.task in ("add", "run")} == {
        one.what for one in back.steps if one.task == "remove"
    }
    assert Counter((one.block, one.quantity, one.worse) for one in there.values) == Counter(
        (one.block, one.quantity, not one.worse) for one in back.values
    )
    assert Counter((one.scenario, one.name, one.before_a, one.after_a) for one in there.budgets) == Counter(
        (one.scenario, one.name, one.after_a, one.before_a) for one in back.budgets
    )


@FEWER
@given(pairs())
def test_every_block_that_is_wired_otherwise_is_mentioned(pair: tuple[Values, Values]) -> None:
    """By what stands in the files, not by how they are compared."""
    answer = compared(*pair)
    told = {one.subject for one in answer.changes if one.kind == "block"}
    told |= {str(one.before) for one in answer.changes if one.what == "renamed"}
    touched = {block for one in answer.steps for block in one.blocks}
    tested = {one.subject for one in answer.tests}
    old, new = (one["blocks"] for one in pair)
    renamed = {one.subject for one in answer.changes if one.what == "renamed"}
    for name in old.keys() | new.keys():
        before, after = old.get(name), new.get(name)
        if before is None or after is None:
            assert name in told
            continue
        keys = ("channel", "isolator", "district", "undetected", "length")
        if any(before.get(key) != after.get(key) for key in keys) and name not in renamed:
            names = {one.before for one in answer.changes if one.what == "renamed"}
            if {*behind(before), *behind(after)} & names:
                continue  # another name of the same isolator
            assert name in told
            if before.get("channel") != after.get("channel"):
                assert name in touched
                assert name in tested


def wires_of(values: Values) -> Counter[object]:
    """The wires of the list, by all that makes one another."""
    case = load(values)
    return Counter(
        (one.kind, one.start.name, one.end.name, one.conductor, one.length_m, one.segment_m, one.at_m)
        for one in lines(case.wiring, case.circuit).wires
    )


@FEWER
@given(pairs())
def test_what_differs_between_the_lists_of_wires_is_done_at_the_bench_and_nothing_else(
    pair: tuple[Values, Values],
) -> None:
    answer = compared(*pair)
    if any(one.what == "renamed" for one in answer.changes):  # then labels change, and wires need not
        return
    done = [one for one in answer.steps if one.wire not in (None, "hold")]
    assert bool(done) == (wires_of(pair[0]) != wires_of(pair[1]))


@FEWER
@given(pairs())
def test_what_is_to_do_has_ends_and_something_that_changed(pair: tuple[Values, Values]) -> None:
    answer = compared(*pair)
    wired = [one for one in answer.steps if one.task not in ("number",)]
    assert answer.wiring_differs or not wired
    for one in answer.steps:
        assert one.does
        if one.task == "remove" and one.before:
            assert not one.after
        if one.task in ("add", "run"):
            assert not one.before


@FEWER
@given(pairs())
def test_every_format_is_written_and_twice_the_same(pair: tuple[Values, Values]) -> None:
    first, second = compared(*pair), compared(*pair)
    for render in (
        answer_json,
        lambda one: document_markdown(one.document()),
        lambda one: document_html(one.document()),
        lambda one: document_text(one.document(), Style(80)),
    ):
        assert render(first) == render(second)
    assert all(
        len(line) <= 120 or " " not in line.strip() for line in document_text(first.document(), Style(80)).splitlines()
    )


def test_another_folder_and_another_hash_seed_give_the_same_bytes(tmp_path: Path) -> None:
    root = Path(__file__).resolve().parents[2]
    folder = root / "examples" / "growing-yard"
    outputs = set()
    for seed, place in (("1", tmp_path), ("2", root)):
        for name in ("before.toml", "after.toml"):
            if place is tmp_path:
                (tmp_path / name).write_bytes((folder / name).read_bytes())
        found = subprocess.run(
            [sys.executable, "-m", "blockcheck", "compare", "before.toml", "after.toml", "--format", "json"],
            cwd=tmp_path if place is tmp_path else folder,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        )
        outputs.add(found.stdout)
    assert len(outputs) == 1
