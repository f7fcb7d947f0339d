"""The shipped schemas are those made from the classes, and every answer is valid against its own.

``python tests/unit/test_schemas.py`` writes them anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft7Validator

from blockcheck.__main__ import main
from blockcheck.answers.budget import BudgetAnswer
from blockcheck.answers.channels import ChannelMap
from blockcheck.answers.checking.report import CheckReport
from blockcheck.answers.columns import schema_of
from blockcheck.answers.difference.compare import CompareAnswer
from blockcheck.answers.draw import Drawing
from blockcheck.answers.each import EachAnswer
from blockcheck.answers.explain import Explained
from blockcheck.answers.isolate import IsolateAnswer
from blockcheck.answers.page.page import PageAnswer
from blockcheck.answers.power import PowerAnswer
from blockcheck.answers.standing import StateAnswer
from blockcheck.answers.start.new import NewLayout
from blockcheck.answers.wake import WakeAnswer
from blockcheck.answers.workshop.bench import BenchAnswer
from blockcheck.answers.workshop.panel import PanelAnswer
from blockcheck.answers.workshop.trace import TraceAnswer
from blockcheck.answers.workshop.where import WhereAnswer
from blockcheck.answers.workshop.wires import WireList
from blockcheck.model.schema import layout_schema
from blockcheck.text.includes import shipped

ROOT = Path(__file__).resolve().parents[2]
SCHEMAS = shipped("schemas")
LAYOUTS = sorted([*(ROOT / "examples").rglob("*.toml"), *(ROOT / "tests" / "rules").rglob("*.toml")])
FIRST = [path for path in LAYOUTS if path.read_text("utf-8").lstrip().startswith(("format", "#"))]
FORBIDDEN = {"oneOf", "anyOf", "if", "prefixItems", "unevaluatedProperties", "dependentRequired", "dependentSchemas"}


def schema(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((SCHEMAS / f"{name}.schema.json").read_text("utf-8"))
    return found


def parts(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        yield value
    for inner in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from parts(inner)


ANSWERS = {
    "bench": BenchAnswer,
    "budget": BudgetAnswer,
    "channels": ChannelMap,
    "check": CheckReport,
    "compare": CompareAnswer,
    "draw": Drawing,
    "explain": Explained,
    "isolate-each": EachAnswer,
    "isolate-state": StateAnswer,
    "isolate": IsolateAnswer,
    "new": NewLayout,
    "page": PageAnswer,
    "panel": PanelAnswer,
    "power": PowerAnswer,
    "trace": TraceAnswer,
    "wake": WakeAnswer,
    "where": WhereAnswer,
    "wires": WireList,
}
MADE = {"layout": layout_schema(), **{name: schema_of(cls, name) for name, cls in ANSWERS.items()}}
"""All schemas: of the language, and of what every command answers."""


@pytest.mark.parametrize("name", MADE)
def test_a_schema_is_the_one_made_from_the_classes(name: str) -> None:
    assert schema(name) == MADE[name]


def test_no_schema_is_written_by_hand() -> None:
    assert {path.name.removesuffix(".schema.json") for path in SCHEMAS.glob("*.json")} == MADE.keys()


@pytest.mark.parametrize("path", sorted(SCHEMAS.glob("*.json")), ids=lambda path: path.name)
def test_a_schema_is_draft_07_and_readable(path: Path) -> None:
    found = json.loads(path.read_text("utf-8"))
    Draft7Validator.check_schema(found)
    for part in parts(found):
        assert not FORBIDDEN & part.keys()
        if part.get("type") == "object" and "properties" in part:
            assert part["additionalProperties"] is False
            for name, inner in part["properties"].items():
                assert inner.get("description"), name


def test_the_layouts_are_valid_as_they_are_written() -> None:
    import tomli

    validator = Draft7Validator(layout_schema())
    assert LAYOUTS
    for path in LAYOUTS:
        errors = list(validator.iter_errors(tomli.loads(path.read_text("utf-8"))))
        assert not errors, f"{path}: {errors[0].message}"


@pytest.mark.parametrize("path", FIRST, ids=lambda path: str(path.relative_to(ROOT)))
def test_the_answers_are_valid(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for command, *rest in (["check"], ["channels"], ["isolate", "nothing-of-that-name"], ["wires"], ["panel"]):
        status = main([command, str(path), *rest, "--format", "json"])
        text = capsys.readouterr().out
        if text:
            Draft7Validator(schema(command)).validate(json.loads(text))
        else:
            assert status == 2


def test_what_cannot_be_understood_is_an_answer_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bad.toml"
    path.write_text("format = 1\n[layout]\nname = 3\n")
    assert main(["check", str(path), "--format", "json"]) == 2
    answer = json.loads(capsys.readouterr().out)
    Draft7Validator(schema("check")).validate(answer)
    assert [(one["rule"], one["line"], one["column"]) for one in answer["findings"]] == [
        ("input", 2, 1),
        ("input", 3, 8),
    ]


@pytest.mark.parametrize("arguments", [["explain"], ["explain", "gap-missing"], ["explain", "blocks"], ["new"]])
def test_explain_and_new_are_valid(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*arguments, "--format", "json"]) == 0
    Draft7Validator(schema(arguments[0])).validate(json.loads(capsys.readouterr().out))


if __name__ == "__main__":
    for written, value in MADE.items():
        path = ROOT / "schemas" / f"{written}.schema.json"
        path.write_text(json.dumps(value, indent=2, ensure_ascii=False) + "\n", "utf-8")
