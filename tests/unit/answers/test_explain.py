"""explain: every rule with an example that breaks it and one that keeps it; every key of the language."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

import blockcheck
from blockcheck.__main__ import main
from blockcheck.answers.explain import KeyAnswer, RuleAnswer, explain, explain_all, names
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
    assert names() == [*ROWS, *KEYS]
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
        ("headroom", "it is a key inside others: limits.headroom"),
        ("xyzzy", 'see "blockcheck explain"'),
        ("", 'see "blockcheck explain"'),
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
            assert f"\n### {rule}\n" in shown
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
