"""What the library makes of an answer is what the command writes, in every format, with every option."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft7Validator

import blockcheck
from blockcheck import types
from blockcheck.__main__ import main
from blockcheck.cli.repository import in_repository
from blockcheck.formats.marks import signed
from blockcheck.formats.registry import _FORMATS, Options, format_names
from blockcheck.text.includes import shipped

ROOT = Path(__file__).resolve().parents[2]
SMALL, FAULTY = "examples/small-yard/yard.toml", "examples/faulty-yard/yard.toml"
BEFORE, AFTER = "examples/growing-yard/before.toml", "examples/growing-yard/after.toml"
READINGS = 'format = 1\n[[steps]]\nid = "rails.R1"\nreading = "open"\n'


@pytest.fixture(autouse=True)
def _at_the_top(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


@cache
def yard(name: str) -> types.Study:
    return blockcheck.load(name)


ASKED: dict[str, tuple[list[str], Callable[[], types.Answer]]] = {
    # what stands behind the command, and what the library is asked for it
    "check": ([FAULTY], lambda: blockcheck.check(yard(FAULTY))),
    "channels": ([SMALL], lambda: blockcheck.channels(yard(SMALL))),
    "isolate": ([SMALL, "1-2", "-s", "night"], lambda: blockcheck.isolate(yard(SMALL), "1-2", "night")),
    "power": ([SMALL], lambda: blockcheck.power(yard(SMALL))),
    "budget": ([SMALL], lambda: blockcheck.budget(yard(SMALL))),
    "wake": ([SMALL], lambda: blockcheck.wake(yard(SMALL))),
    "wires": ([SMALL], lambda: blockcheck.wires(yard(SMALL))),
    "panel": ([SMALL, "--columns", "3"], lambda: blockcheck.panel(yard(SMALL), columns=3)),
    "book": ([SMALL], lambda: blockcheck.book(yard(SMALL))),
    "draw": ([SMALL, "--open", "1"], lambda: blockcheck.draw(yard(SMALL), opened="1")),
    "compare": ([BEFORE, AFTER], lambda: blockcheck.compare(yard(BEFORE), yard(AFTER))),
    "bench": ([SMALL], lambda: blockcheck.bench(yard(SMALL))),
    "trace": ([SMALL, "readings.toml"], lambda: blockcheck.trace(yard(SMALL), "readings.toml", data=READINGS)),
    "where": ([SMALL, "R3:j2"], lambda: blockcheck.where(yard(SMALL), "R3:j2")),
    "page": ([SMALL], lambda: blockcheck.page(yard(SMALL))),
    "explain": (["gap-missing"], lambda: blockcheck.explain("gap-missing")),
    "new": ([], blockcheck.new),
}
MORE: dict[str, tuple[list[str], Callable[[], types.Answer], dict[str, Any]]] = {
    "check as strict": (
        ["check", FAULTY, "--fail-on", "never"],
        lambda: blockcheck.check(yard(FAULTY)),
        {"fail_on": None, "path_of": in_repository([FAULTY])},
    ),
    "each isolator": (
        ["isolate", SMALL, "--each", "-s", "night"],
        lambda: blockcheck.isolate_each(yard(SMALL), "night"),
        {},
    ),
    "as it stands": (
        ["isolate", SMALL, "-s", "night"],
        lambda: blockcheck.isolate_state(yard(SMALL), "night"),
        {},
    ),
    "explain all": (["explain"], blockcheck.explain, {}),
    "explain all at length": (["explain", "--all"], lambda: blockcheck.explain(every=True), {}),
    "explain a key": (["explain", "blocks.length"], lambda: blockcheck.explain("blocks.length"), {}),
    "what to buy": (["wires", SMALL, "--only", "totals"], lambda: blockcheck.wires(yard(SMALL)), {"only": "totals"}),
    "labels": (
        [
            "wires",
            "examples/small-yard/yard.toml",
            "--label-size",
            "30x10",
            "--gap",
            "1x1",
            "--margin",
            "8x12",
            "--start",
            "5",
            "--sheet",
            "2",
            "--no-outline",
            "--paper",
            "Letter",
        ],
        lambda: blockcheck.wires(yard(SMALL)),
        {"label_size": "30x10", "gap": "1x1", "margin": "8x12", "start": 5, "sheet": 2, "outline": False}
        | {"paper": "Letter"},
    ),
    "holes": (
        ["panel", SMALL, "--pitch", "1 in", "--hole", "6 mm", "--paper", "A3"],
        lambda: blockcheck.panel(yard(SMALL), "1 in"),
        {"hole": "6 mm", "paper": "A3"},
    ),
    "decimal commas": (
        ["power", SMALL, "--csv-dialect", "semicolon"],
        lambda: blockcheck.power(yard(SMALL)),
        {"csv_dialect": "semicolon"},
    ),
}
CALLS: dict[str, tuple[list[str], Callable[[], types.Answer], dict[str, Any]]] = {
    name: ([name, *call], ask, {}) for name, (call, ask) in ASKED.items()
} | MORE


@pytest.mark.parametrize("name", CALLS)
def test_render_makes_what_the_command_writes(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    call, ask, options = CALLS[name]
    (tmp_path / "readings.toml").write_text(READINGS, "utf-8")
    call = [str(tmp_path / one) if one == "readings.toml" else one for one in call]
    answer = ask()
    assert answer.formats == format_names(answer.command)
    if isinstance(answer, types.NewLayout):  # writes a layout, and no answers beside it
        assert blockcheck.render(answer) == answer.text == f"{answer}\n"
        return
    if answer.command == "check" and not options:
        options = {"path_of": in_repository([FAULTY])}
    files = {one: tmp_path / one for one in answer.formats}
    assert main([*call, *(part for one, path in files.items() for part in ("-o", f"{one}={path}"))]) in (0, 1)
    for one, path in files.items():
        made = blockcheck.render(answer, one, **options)
        assert isinstance(made, bytes) is (one == "xlsx")
        assert signed(one, made) == path.read_bytes(), one


@pytest.mark.parametrize("command", ASKED)
def test_an_answer_prints_as_the_command_does(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    call, ask = ASKED[command]
    answer = ask()
    if command not in ("panel", "trace"):  # that of the panel is a drawing; trace reads a file
        main([command, *call])
        theirs = capsys.readouterr().out
        print(answer)
        assert capsys.readouterr().out == theirs
    assert f"{answer}\n" == blockcheck.render(answer, "text" if "text" in answer.formats else answer.formats[0])


@pytest.mark.parametrize("command", [one for one in ASKED if one != "book"])
def test_an_answer_as_data_is_its_json(command: str) -> None:
    answer = ASKED[command][1]()
    found = answer.to_dict()
    assert found == json.loads(blockcheck.render(answer, "json"))
    assert found["format"] == 1
    Draft7Validator(json.loads((shipped("schemas") / f"{command}.schema.json").read_text("utf-8"))).validate(found)


def test_a_book_has_no_data_of_its_own() -> None:
    book = blockcheck.book(yard(SMALL))
    with pytest.raises(blockcheck.CallError, match="book has no JSON") as caught:
        book.to_dict()
    assert "book.check.to_dict()" in str(caught.value.help)
    assert book.check.to_dict()["summary"]["errors"] == 0


@pytest.mark.parametrize("command", ASKED)
def test_a_notebook_shows_tables_and_drawings(command: str) -> None:
    answer = ASKED[command][1]()
    markdown, svg = answer._repr_markdown_(), answer._repr_svg_()
    if command in ("draw", "panel"):
        assert svg is not None
        assert svg.startswith("<svg ")
    elif command not in ("book", "new", "page"):
        assert markdown is not None
        assert markdown.startswith("#")
    assert (svg is not None) == ("svg" in answer.formats)
    assert (markdown is not None) == ("markdown" in answer.formats)


@pytest.mark.parametrize("command", ASKED)
def test_a_prompt_shows_text(command: str) -> None:
    class Printer(list[str]):
        text = list.append

    answer, printer = ASKED[command][1](), Printer()
    answer._repr_pretty_(printer, False)
    told = {"draw": "<draw: svg, json>", "book": "<book: html, xlsx>", "page": "<page: html, json>"}
    assert printer == [told.get(command, str(answer))]


def test_every_option_of_a_format_is_one_of_render() -> None:
    options = {name for formats in _FORMATS.values() for name in formats.__kwdefaults__ or {}}
    assert options | {"width", "colour", "csv_dialect"} == Options.__annotations__.keys()
    for name in options:
        assert f"``{name}``" in str(blockcheck.render.__doc__), name


def test_text_is_as_wide_and_as_colourful_as_it_is_asked_for() -> None:
    answer = blockcheck.check(yard(FAULTY))
    narrow = blockcheck.render(answer, width=60)
    assert max(map(len, narrow.splitlines())) < max(map(len, blockcheck.render(answer, width=140).splitlines()))
    assert "\x1b[" in blockcheck.render(answer, "text", colour=True)
    assert "\x1b[" not in narrow


def test_pages_have_the_drawings_of_the_layouts_that_were_asked_about() -> None:
    assert blockcheck.render(blockcheck.check(yard(FAULTY)), "html").count('class="bc-drawing"') == 1
    assert blockcheck.render(blockcheck.isolate(yard(SMALL), "1"), "html").count('class="bc-drawing"') == 1


def test_a_page_is_for_the_paper_that_is_asked_for() -> None:
    answer = blockcheck.power(yard(SMALL))
    assert "size:" not in blockcheck.render(answer, "html").partition("@page {")[2].partition("}")[0]
    for paper, size in (("A3", "297mm 420mm"), ("Letter", "215.9mm 279.4mm"), ("200x100", "100mm 200mm")):
        assert f"@page {{\n  size: {size};" in blockcheck.render(answer, "html", paper=paper)
    with pytest.raises(blockcheck.CallError, match="paper cannot be"):
        blockcheck.render(answer, "html", paper="A9")
    assert "size: 297mm 420mm;" in blockcheck.render(blockcheck.wires(yard(SMALL)), "html", paper="A3")
