"""What each command writes in each format, word for word.

``python tests/snapshots/test_snapshots.py`` writes all of them anew, for a look at what has changed.
"""

from __future__ import annotations

import contextlib
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

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
SMALL, FAULTY, CLUB = "examples/small-yard/yard.toml", "examples/faulty-yard/yard.toml", "examples/club-yard/club.toml"
TABLES = ("text", "csv", "markdown", "html", "xlsx")
CALLS: dict[str, tuple[str, tuple[str, ...]]] = {
    # name: the call, its formats
    "check": (f"check {FAULTY}", TABLES),
    "check-accepted": (f"check {CLUB}", ("text", "csv", "markdown")),
    "channels": (f"channels {SMALL}", (*TABLES, "toml")),
    "isolate": (f"isolate {SMALL} 1-2 --scenario morning", TABLES),
    "isolate-not-meant": (f"isolate {FAULTY} S4", ("text", "markdown")),
    "budget": (f"budget {SMALL}", TABLES),
    "budget-over": (f"budget {FAULTY}", ("text", "markdown")),
    "power": (f"power {SMALL}", TABLES),
    "wake": (f"wake {SMALL}", TABLES),
    "wires": (f"wires {SMALL}", (*TABLES, "labels-csv", "labels-svg")),
    "wires-totals": (f"wires {CLUB} --only totals", ("text", "csv", "markdown")),
    "panel": (f"panel {SMALL}", ("svg", "text", "csv", "markdown")),
    "panel-changeovers": ("panel examples/dc-yard/yard.toml --pitch '40 mm' --hole '12 mm'", ("svg", "text")),
    "book": (f"book {SMALL}", ("html", "xlsx")),
}
CASES = [(name, format_) for name, (_, formats) in CALLS.items() for format_ in formats]


def made(name: str, format_: str) -> str:
    """What is kept of an answer: the text; of a page all but its style and drawings; of a spreadsheet its cells."""
    printed = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="")
    with contextlib.redirect_stdout(printed):
        main([*shlex.split(CALLS[name][0]), "--format", format_])
    printed.flush()
    content = printed.buffer.getvalue()
    if format_ == "xlsx":
        return "".join(cells(content))
    text = str(content.decode("utf-8"))
    text = re.sub(r'(<figure class="drawing[^>]*>).*?(</figure>)', r"\1\2", text, flags=re.S)
    return re.sub(r"<style>.*?</style>", "<style></style>", text, flags=re.S)


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
    assert made(name, format_) == kept(name, format_).read_bytes().decode("utf-8")


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
