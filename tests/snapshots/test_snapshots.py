"""What each command writes in each format, word for word.

``python tests/snapshots/test_snapshots.py`` writes all of them anew, for a look at what has changed.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import re
import shlex
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from openpyxl import load_workbook

from blockcheck.__main__ import main
from blockcheck.answers.document import Document
from blockcheck.formats import text as texts
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
SMALL, FAULTY, CLUB, DC, GROWN = (
    f"examples/{name}"
    for name in (
        "small-yard/yard.toml",
        "faulty-yard/yard.toml",
        "club-yard/club.toml",
        "dc-yard/yard.toml",
        "growing-yard/after.toml",
    )
)
TURNING = "examples/turning-line/line.toml"
BEFORE = "examples/growing-yard/before.toml"
EXAMPLES = {"small": SMALL, "faulty": FAULTY, "club": CLUB, "dc": DC, "grown": GROWN}
TRACKS = {"small": "1-2", "faulty": "S4", "club": "lower:3-5", "dc": "1-2", "grown": "1"}
TABLES = ("text", "json", "csv", "markdown", "html", "xlsx")
ALL = {  # command: its formats, on every example
    "check": (*TABLES, "sarif", "junit", "github"),
    "channels": (*TABLES, "toml"),
    "isolate": TABLES,
    "budget": TABLES,
    "power": TABLES,
    "wake": TABLES,
    "wires": (*TABLES, "labels-csv", "labels-svg", "labels-html"),
    "panel": (*TABLES, "svg"),
    "draw": ("svg", "json"),
    "book": ("html", "xlsx"),
}
ONCE: dict[str, tuple[str, tuple[str, ...]]] = {
    # name: a call with options, or of a command that is dear, and its formats
    "check-fail-on": (f"check {SMALL} {CLUB} --fail-on note", ("text", "json")),
    "check-csv-dialect": (f"check {FAULTY} --csv-dialect semicolon", ("csv",)),
    "channels-csv-dialect": (f"channels {SMALL} --csv-dialect tab", ("csv",)),
    "isolate-scenario": (f"isolate {SMALL} 1-2 --scenario morning", TABLES),
    "isolate-each": (f"isolate {CLUB} --each", TABLES),
    "budget-asked": (f"budget {SMALL} --scenario morning --open 6", TABLES),
    "power-asked": (f"power {DC} --scenario two-up", TABLES),
    "wake-asked": (f"wake {CLUB} --scenario show --open lower:1-4", TABLES),
    "check-turning": (f"check {TURNING}", ("text", "json")),
    "draw-turning": (f"draw {TURNING} --scenario turning", ("json",)),
    "power-turning": (f"power {TURNING}", ("text", "csv")),
    "wake-turning": (f"wake {TURNING} --scenario turning", ("json",)),
    "wires-turning": (f"wires {TURNING}", ("csv",)),
    "isolate-state": (f"isolate {CLUB} --scenario night", TABLES),
    "wires-totals": (f"wires {CLUB} --only totals", ("text", "csv", "markdown")),
    "wires-strips": (f"wires {SMALL} --only strips", ("text", "csv")),
    "wires-pieces": (f"wires {SMALL} --only pieces", ("text",)),
    "wires-labels": (
        f"wires {SMALL} --label-size 50x20 --gap 3x1 --margin 10x12 --start 3 --sheet 2 --no-outline --paper Letter",
        ("labels-svg",),
    ),
    "panel-changeovers": (f"panel {DC} --pitch '40 mm' --hole '12 mm' --columns 4", ("svg", "text")),
    "panel-group": (f"panel {CLUB} --group lower --paper A3", ("html",)),
    "draw-scenario": (f"draw {SMALL} --scenario night --open 3", ("svg", "json")),
    "bench-small": (f"bench {SMALL}", (*TABLES, "toml")),
    "bench-dc": (f"bench {DC}", ("text", "json")),
    "bench-group": (f"bench {CLUB} --only upper --tolerance '7 % + 3 mohm + 0.3 V'", ("text",)),
    "bench-since": (f"bench {GROWN} --since {BEFORE}", ("text",)),
    "bench-times": (f"bench {DC} --times 2", ("text",)),
    "bench-all": (f"bench {DC} --all", ("csv",)),
    "compare": (f"compare {BEFORE} {GROWN}", TABLES),
    "compare-exit-code": (f"compare {GROWN} {BEFORE} --exit-code", ("text", "json")),
    "where": (f"where {SMALL} R3:j2", TABLES),
    "page": (f"page {SMALL}", ("json",)),
    "page-found": (f"page {FAULTY}", ("json",)),
    "where-label": (f"where {CLUB} 'I3:in > D1:3'", ("text", "json")),
    "where-part": (f"where {DC} X1", ("text",)),
    "explain": ("explain", ("text", "json", "markdown", "html")),
    "explain-rule": ("explain gap-missing", ("text", "json", "markdown", "html")),
    "explain-table": ("explain blocks", ("text", "json")),
    "explain-key": ("explain blocks.length", ("text", "json")),
    "explain-all": ("explain --all", ("text",)),
    "new": ("new", ("text",)),
    "trace": (f"trace {SMALL} tests/snapshots/readings.toml", ("text", "json", "markdown", "html")),
    "trace-pairs": (f"trace {SMALL} tests/snapshots/readings.toml --pairs 0 --tolerance '6 %'", ("text",)),
}
CALLS = {
    **{
        f"{command}-{name}": (f"{command} {file} {TRACKS[name] if command == 'isolate' else ''}", formats)
        for command, formats in ALL.items()
        for name, file in EXAMPLES.items()
    },
    **ONCE,
}
CASES = [(name, format_) for name, (_, formats) in CALLS.items() for format_ in formats]
MOST = 40_000
"""Longer answers are kept as the digest of each of their lines' runs, which tells that and where they have changed."""


def made(name: str, format_: str) -> str:
    """What is kept of an answer: the text; of a page all but its style and drawings; of a spreadsheet its cells."""
    printed = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="")
    with contextlib.redirect_stdout(printed):
        main([*shlex.split(CALLS[name][0]), "--format", format_])
    printed.flush()
    content = printed.buffer.getvalue()
    if format_ == "xlsx":
        return shortened("".join(cells(content)))
    text = str(content.decode("utf-8"))
    text = re.sub(r'(<figure class="drawing[^>]*>).*?(</figure>)', r"\1\2", text, flags=re.S)
    return shortened(re.sub(r"<style>.*?</style>", "<style></style>", text, flags=re.S))


def shortened(text: str) -> str:
    """A text that is too long to be kept as the digests of its lines, a hundred at once."""
    if len(text) <= MOST:
        return text
    lines = text.splitlines(keepends=True)
    runs = ("".join(lines[at : at + 100]) for at in range(0, len(lines), 100))
    return "".join(f"{hashlib.sha256(run.encode()).hexdigest()[:20]}\n" for run in runs)


def cells(content: bytes) -> Iterator[str]:
    for sheet in load_workbook(io.BytesIO(content)).worksheets:
        yield f"== {sheet.title}\n"
        for row in sheet.iter_rows():
            yield "\t".join("" if cell.value is None else repr(cell.value) for cell in row) + "\n"


def kept(name: str, format_: str) -> Path:
    return HERE / "kept" / f"{name}.{format_}.txt"


@pytest.mark.parametrize(("name", "format_"), CASES)
def test_an_answer_is_as_it_was(name: str, format_: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    documents = list[Document]()

    def kept_too(document: Document, style: Style) -> str:
        documents.append(document)
        return document_text(document, style)

    monkeypatch.setattr(texts, "document_text", kept_too)
    assert made(name, format_) == kept(name, format_).read_bytes().decode("utf-8")
    assert [line for one in documents for line in too_long(one)] == []
    if documents and name.partition("-")[0] in ALL:  # a verdict first: a sentence
        first = document_text(documents[0], Style()).split("\n\n")[0]
        assert first.splitlines()[0 if name[:5] == "check" else -1][-1] in ".,"


def too_long(document: Document) -> list[str]:
    """The lines that do not fit the width that they were set for; a line of a file or of a picture has
    a width of its own."""
    texts = [(width, document_text(document, Style(width))) for width in (60, 80, 120)]
    return [
        line
        for width, text in texts
        for line in text.splitlines()
        if len(line) > width and not re.search(r"[|=] ", line)
    ]


def test_nothing_is_kept_that_is_not_compared() -> None:
    assert sorted((HERE / "kept").iterdir()) == sorted(kept(name, format_) for name, format_ in CASES)


if __name__ == "__main__":
    os.chdir(ROOT)
    for old in (HERE / "kept").glob("*.txt"):
        old.unlink()
    (HERE / "kept").mkdir(exist_ok=True)
    for one in CASES:
        kept(*one).write_bytes(made(*one).encode("utf-8"))
    sys.exit(0)
