"""explain: every rule with an example that breaks it and one that keeps it; every key of the language."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomli_w

import blockcheck
from blockcheck.__main__ import main
from blockcheck.answers.explain import KeyAnswer, RuleAnswer, explain, explain_all, names
from blockcheck.answers.explaining.words import WordAnswer, table_words, words
from blockcheck.core.errors import CallError
from blockcheck.model.schema import layout_schema
from blockcheck.rules import RULES, example_of

EXAMPLES = Path(blockcheck.__file__).parent / "rules" / "examples"
ROWS = [rule.name for rule in RULES]


@pytest.mark.parametrize("rule", ROWS)
@pytest.mark.parametrize("today", [date(2026, 1, 1), date(2099, 12, 31)])
def test_the_example_breaks_this_rule_alone_and_mended_keeps_all(rule: str, today: date) -> None:
    example = example_of(rule)
    (finding,) = blockcheck.check(blockcheck.loads(example.failing, "yard.toml"), today).findings
    assert (finding.rule, finding.message) == (rule, example.says)
    kept = blockcheck.check(blockcheck.loads(example.passing, "yard.toml"), today)
    assert kept.findings == ()
    assert rule not in {lack.rule for lack in kept.unchecked}
    assert all(one.rule != rule and not one.findings for one in kept.off)


@pytest.mark.parametrize("rule", ROWS)
def test_the_example_is_short_and_clean(rule: str) -> None:
    example = example_of(rule)
    for text in (example.failing, example.passing):
        assert len(text.splitlines()) <= 32
        assert "#" not in text
        assert "\n\n\n" not in text
        assert max(map(len, text.splitlines())) <= 120
    assert len(set(example.failing.splitlines()) ^ set(example.passing.splitlines())) <= 6


def test_every_example_is_of_a_rule() -> None:
    assert {path.stem for path in EXAMPLES.iterdir()} == set(ROWS)


def walk(schema: dict[str, Any], before: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every key of the language with what the schema has at it, straight from the schema's shape."""
    for name, inner in schema.get("properties", {}).items():
        yield before + name, inner
        yield from walk(inner, f"{before}{name}.")
    for inner in (schema.get("additionalProperties"), schema.get("items")):
        if isinstance(inner, dict):
            yield from walk(inner, before)


KEYS = dict(walk(layout_schema()))


def test_the_keys_are_those_of_the_schema() -> None:
    assert names() == [*ROWS, *KEYS, *words(), "stock:"]
    assert {"blocks.length", "districts.feed.wire", "districts.expects.load", "scenarios.expect.dead"} <= KEYS.keys()


@pytest.mark.parametrize("key", KEYS)
def test_every_key_is_explained(key: str) -> None:
    answer = explain(key)
    assert isinstance(answer, KeyAnswer)
    assert answer.key == key
    assert answer.description == KEYS[key]["description"]
    assert answer.kind
    inside = {
        one.removeprefix(f"{key}.")
        for one in KEYS
        if one.startswith(f"{key}.") and one.count(".") == key.count(".") + 1
    }
    assert {one.key for one in answer.keys} == inside
    assert all(one.description for one in answer.keys)
    assert bool(answer.choices) == (
        "enum" in str({k: v for k, v in KEYS[key].items() if k != "properties"}) and not inside
    )


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("blocks.S4.length", "blocks.length"),
        ("districts.yard.feed.wire", "districts.feed.wire"),
        ("joints.0.gap", "joints.gap"),
        ("scenarios.night.expect.dead", "scenarios.expect.dead"),
        ("headroom", "limits.headroom"),
        ("Feeder spacing", "harnesses.feeder_spacing"),
        ("board types", "board_types"),
        ("Gap missing", "gap-missing"),
    ],
)
def test_a_key_as_it_stands_in_a_file_is_found(name: str, key: str) -> None:
    assert explain(name) == explain(key)


@pytest.mark.parametrize(
    ("name", "help_"),
    [
        ("gap-mising", 'did you mean "gap-missing"?'),
        ("blocks.lenght", 'did you mean "blocks.length"?'),
        ("blocks.S4.lenght", 'did you mean "blocks.length"?'),
        ("bloks", 'did you mean "blocks"?'),
        ("rating", "it is a key inside others: isolators.rating, selectors.rating"),
        ("xyzzy", 'see "blockcheck explain"'),
        ("", 'see "blockcheck explain"'),
        ("neer", 'did you mean "near"?'),
        ("stock:wagons", 'did you mean "stock:"?'),
        ("blocks.", 'did you mean "blocks"?'),
        (".", 'see "blockcheck explain"'),
    ],
)
def test_what_is_not_known_is_told_what_is_near(name: str, help_: str) -> None:
    with pytest.raises(CallError) as caught:
        explain(name)
    assert caught.value.help == help_


@pytest.mark.parametrize("form", ["text", "markdown", "html"])
def test_the_whole_reference_has_every_rule(form: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "--all", "--format", form]) == 0
    shown = capsys.readouterr().out
    for rule in ROWS:
        assert rule in shown
        if form == "markdown":
            assert f"\n### {rule[0].upper()}{rule[1:].replace('-', ' ')}\n" in shown
            assert example_of(rule).failing in shown
            assert example_of(rule).passing in shown
        if form == "html":
            assert f'id="{rule}"' in shown
            assert f'href="#{rule}"' in shown
    if form == "markdown":
        assert set(re.findall(r"\]\(#([a-z-]+)\)", shown)) == set(ROWS)
        assert shown.count("```toml\n") == 2 * len(ROWS)
    assert main(["explain", "--all", "gap-missing"]) == 2


@pytest.mark.parametrize("form", ["text", "markdown", "html"])
@pytest.mark.parametrize("name", ["gap-missing", "blocks.kind", "blocks", "limits"])
def test_one_of_them_is_shown(form: str, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", name, "--format", form]) == 0
    shown = capsys.readouterr().out
    answer = explain(name)
    if isinstance(answer, RuleAnswer):
        assert answer.example is not None
        told = [*answer.example.passing.splitlines()[:1], "layout"]
    else:
        assert isinstance(answer, KeyAnswer)
        told = [answer.description[:20], *answer.choices, *(one.key for one in answer.keys)]
    assert all(one in shown for one in told)


def test_examples_are_read_only_when_they_are_asked_for() -> None:
    assert all(answer.example is None for answer in explain_all())
    assert all(answer.example is not None for answer in explain_all(examples=True))


def test_the_list_names_the_tables_that_a_layout_is_written_with(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain"]) == 0
    told = capsys.readouterr().out.replace("\n", " ")
    assert all(f" {name}," in told for name in ("boosters", "blocks", "harnesses", "runs", "scenarios"))


def test_what_is_written_is_said_once() -> None:
    for name, kind in (
        ("boards.banks", "a list of items, each text or one of them alone"),
        ("joints.blocks", "a list of 2 items, each text"),
    ):
        answer = explain(name)
        assert isinstance(answer, KeyAnswer)
        assert answer.kind == kind


BASE = """
format = 1
layout = { name = "Bramble Yard", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A", trip = "4 A" }
districts.yard = { booster = "B1", expects = [{ load = "engine", count = 2 }] }
board_types.eight = { channels = 8, threshold = "1.5 mA" }
boards.D1 = { type = "eight", spare = [5, 6, 7] }
isolators.I1-I3 = {}
loads.engine = { locomotive = true, sound = true, idle = "90 mA", running = "0.3 A", stalled = "1 A", length = "0.2 m" }
loads.wagon = { length = "0.14 m", axle = "5 kohm" }
blocks.T1-T3 = { channel = "D1.1-3", isolator = "I1-I3", kind = "storage", length = "2.4 m", harness = "yard" }
blocks.neck = { channel = "D1.4", kind = "throat", length = "1 m", harness = "yard" }
harnesses.yard = { bus = "1.5 mm2", common = "2.5 mm2", rail = "code83" }
joints = [{ blocks = ["neck", "T1-T3"], gap = "detected" }]
trains.coal = { vehicles = { engine = 1, wagon = 2 }, at = "T1" }
"""
"""What the lines of each table are put into."""


def put_into(values: dict[str, Any], lines: dict[str, Any]) -> dict[str, Any]:
    """The keys of the lines in the place of what is there; a range takes the place of what it stands for."""
    for key, value in lines.items():
        there = values.get(key)
        merged = put_into(dict(there), value) if isinstance(there, dict) and isinstance(value, dict) else value
        values[key] = [*there, *value] if isinstance(there, list) and key in ("accept",) else merged
    return values


@pytest.mark.parametrize("table", [name for name in KEYS if "." not in name])
def test_the_lines_of_a_table_can_be_copied(table: str) -> None:
    told = table_words()[table]
    lines = tomllib.loads(told.lines)
    assert table in lines
    values = put_into(tomllib.loads(BASE), lines)
    if table == "selectors":  # a track has a switch of its own or a place on this one
        del values["isolators"], values["blocks"]["T1-T3"]["isolator"]
    if table == "accept":
        values["joints"] = [*tomllib.loads(BASE)["joints"], *lines["joints"]]
    answer = blockcheck.check(blockcheck.loads(tomli_w.dumps(values), "yard.toml"), date(2031, 6, 1))
    assert [one for one in answer.findings if one.severity.value != "note"] == []
    assert table not in {one.rule for one in answer.findings}
    answered = explain(table)
    assert isinstance(answered, KeyAnswer)
    assert (answered.lines, answered.picture) == (told.lines, told.picture)
    assert told.words.endswith((".", "it."))


def test_each_word_leads_to_what_tells_more() -> None:
    assert table_words().keys() == {name for name in KEYS if "." not in name}
    for name in words():
        told = explain(name)
        assert isinstance(told, WordAnswer), f"{name} is the name of a rule or a table too"
        assert told.see
        for one in told.see:
            explain(one)
        assert max(map(len, [*told.picture.splitlines(), ""])) <= 76
        assert told.picture.isascii()
    assert list(words()) == sorted(words())


@pytest.mark.parametrize("name", ["Near", "drops", "detected rail", "Detected  Rail"])
def test_a_word_is_found_as_it_is_written(name: str) -> None:
    assert isinstance(explain(name), WordAnswer)


def test_what_ships_with_it_is_listed() -> None:
    told = explain("stock:")
    assert isinstance(told, WordAnswer)
    for path in (Path(__file__).parents[3] / "shared").glob("*.toml"):
        alone = explain(f"stock:{path.stem}")
        assert isinstance(alone, WordAnswer)
        for table, ones in tomllib.loads(path.read_text("utf-8")).items():
            assert all(f"{table}.{one}" in told.meaning and f"{table}.{one}" in alone.meaning for one in ones)


@pytest.mark.parametrize("form", ["text", "markdown", "html", "json"])
def test_a_word_and_a_table_are_shown(form: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", "ladder", "--format", form]) == 0
    assert "W1____W2" in capsys.readouterr().out
    assert main(["explain", "turnouts", "--format", form]) == 0
    shown = capsys.readouterr().out
    assert "the last one leads to two tracks" in shown
    assert "diverging leg" in shown
