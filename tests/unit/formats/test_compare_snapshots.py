"""What a comparison looks like, held to files; ``python
tests/unit/formats/test_compare_snapshots.py`` rewrites them."""

from __future__ import annotations

import io
import json
import os
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from jsonschema import Draft7Validator

from blockcheck import api
from blockcheck.answers.difference.compare import CompareAnswer
from blockcheck.formats.html import document_html
from blockcheck.formats.markdown import document_markdown
from blockcheck.formats.programs.json_v1 import answer_json
from blockcheck.formats.registry import render as render_answer
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text
from blockcheck.text.includes import shipped

ROOT = Path(__file__).resolve().parents[3]
SNAPSHOTS = ROOT / "tests" / "snapshots"
PAIRS = {
    "growing": ("growing-yard/before.toml", "growing-yard/after.toml"),
    "shrinking": ("growing-yard/after.toml", "growing-yard/before.toml"),
    "mended": ("faulty-yard/yard.toml", None),
}
FORMATS: dict[str, tuple[str, Callable[[CompareAnswer], str]]] = {
    "text": ("txt", lambda answer: document_text(answer.document(), Style(100))),
    "narrow": ("narrow.txt", lambda answer: document_text(answer.document(), Style(60))),
    "markdown": ("md", lambda answer: document_markdown(answer.document())),
    "csv": ("csv", lambda answer: render_answer(answer, "csv")),
}


def answer_of(pair: str) -> CompareAnswer:
    """Two examples; without a second one, the first as it is when its shared channel is mended."""
    first, second = PAIRS[pair]
    os.chdir(ROOT / "examples")
    old = api.load(first)
    if second is not None:
        return api.compare(old, api.load(second), date(2030, 1, 1))
    mended = Path(first).read_text("utf-8").replace('channel = "D1.7"', 'channel = "D1.8"')
    return api.compare(old, api.loads(mended, first), date(2030, 1, 1))


@pytest.fixture(autouse=True)
def _back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)  # and back to where it was, afterwards


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("format_", FORMATS)
def test_a_rendering_is_as_it_was(pair: str, format_: str) -> None:
    ending, render = FORMATS[format_]
    path = SNAPSHOTS / f"compare-{pair}.{ending}"
    assert render(answer_of(pair)).encode() == path.read_bytes()


@pytest.mark.parametrize("pair", PAIRS)
def test_the_json_is_valid(pair: str) -> None:
    schema = json.loads((shipped("schemas") / "compare.schema.json").read_text("utf-8"))
    found = json.loads(answer_json(answer_of(pair)))
    Draft7Validator(schema).validate(found)
    assert found["wiring_differs"]


@pytest.mark.parametrize("pair", PAIRS)
def test_every_thing_to_do_has_a_box_to_tick(pair: str) -> None:
    answer = answer_of(pair)
    things = len(answer.steps) + len(answer.tests)
    assert document_html(answer.document()).count('type="checkbox"') == things
    assert document_text(answer.document(), Style()).count("  [ ] ") == things
    assert document_markdown(answer.document()).count("\n- [ ] ") == things


def test_a_workbook_has_the_things_to_do_and_the_tests() -> None:
    from openpyxl import load_workbook

    answer = answer_of("growing")
    made = render_answer(answer, "xlsx")
    assert made == render_answer(answer, "xlsx")
    book = load_workbook(io.BytesIO(made))
    assert book.sheetnames[:3] == ["About", "At the bench", "Tests"]
    assert [row[0] for row in book["At the bench"].iter_rows(min_row=2, values_only=True)] == [
        one.task for one in answer.steps
    ]


if __name__ == "__main__":
    for one in PAIRS:
        for ending, render in FORMATS.values():
            (SNAPSHOTS / f"compare-{one}.{ending}").write_bytes(render(answer_of(one)).encode())
    sys.exit(0)
