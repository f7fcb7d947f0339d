"""What each command writes for spreadsheets says the same as its JSON; and asking for nothing loads nothing."""

from __future__ import annotations

import contextlib
import csv
import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from blockcheck.__main__ import main

ROOT = Path(__file__).resolve().parents[3]
LAYOUTS = [f"examples/{name}" for name in ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml")]
FAULTY = "examples/faulty-yard/yard.toml"


@pytest.fixture(autouse=True)
def _at_the_top(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


def printed(*call: str) -> str:
    stream = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="")
    with contextlib.redirect_stdout(stream):
        main([*call])
    stream.seek(0)
    return stream.read()


def rows(*call: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(printed(*call, "--format", "csv"), newline="")))


def answer(*call: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(printed(*call, "--format", "json"))
    return found


def same(cells: dict[str, str], value: dict[str, Any]) -> None:
    """Each column of a row of CSV is the value of that name, in feet where it says so; numbers to the nine digits that
    are written."""
    assert {key.removesuffix(" (ft)") for key in cells} == value.keys()
    for key, cell in cells.items():
        expected = value[key.removesuffix(" (ft)")]
        if key.endswith(" (ft)") and expected is not None:
            expected = expected / 0.3048
        if isinstance(expected, bool):
            assert cell == ("yes" if expected else ""), key
        elif isinstance(expected, int | float):
            assert float(cell) == pytest.approx(expected, rel=1e-8), key
        else:
            assert cell == (expected or ""), key


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_channel_map(layout: str) -> None:
    found, value = rows("channels", layout), answer("channels", layout)
    spare = [one for one in found if one["note"] == "spare" and not one["block"]]
    assert [(one["board"], int(one["channel"])) for one in spare] == [
        (one["board"], one["channel"]) for one in value["spare"]
    ]
    used = [one for one in found if one["block"]]
    assert len(used) == len(value["rows"])
    for cells, row in zip(used, value["rows"], strict=True):
        same(cells, row)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_volts(layout: str) -> None:
    for cells, row in zip(rows("power", layout), answer("power", layout)["rows"], strict=True):
        same(cells, row)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_budgets(layout: str) -> None:
    value = answer("budget", layout)
    loads = [{"scenario": one["scenario"], **load} for one in value["scenarios"] for load in one["loads"]]
    for cells, row in zip(rows("budget", layout), loads, strict=True):
        same(cells, row)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_stages(layout: str) -> None:
    stages = [
        {"district": one["district"], "stage": n, "delay": one["delay"], **stage}
        | {key: ", ".join(stage[key]) for key in ("close", "blocks")}
        for one in answer("wake", layout)["districts"]
        for n, stage in enumerate(one["stages"], 1)
    ]
    for cells, row in zip(rows("wake", layout), stages, strict=True):
        same(cells, row)


def test_isolating() -> None:
    call = ("isolate", LAYOUTS[1], "lower:3-7", "--scenario", "show")
    for cells, row in zip(rows(*call), answer(*call)["blocks"], strict=True):
        assert (cells["block"], cells["district"], cells["power"]) == (row["block"], row["district"], row["power"])
        assert cells["detection"] == (row["detection"] or "none")
        assert (cells["because"], cells["trains"]) == (", ".join(row["because"]), ", ".join(row["trains"]))
        assert (cells["intended"], cells["changed"]) == (
            "yes" if row["intended"] else "NO",
            "yes" if row["changed"] else "no",
        )


def test_a_check_has_what_was_not_checked_and_what_was_accepted_too(bare: Path) -> None:
    for layout in (LAYOUTS[1], FAULTY, str(bare)):
        found, value = rows("check", layout), answer("check", layout)
        told = [one for one in found if one["status"] in ("error", "warning", "note")]
        assert [(one["rule"], one["message"], int(one["line"])) for one in told] == [
            (one["rule"], one["message"], one["line"]) for one in value["findings"]
        ]
        missing = [one for one in found if one["status"] == "not checked"]
        assert [(one["rule"], one["subject"], one["needs"]) for one in missing] == [
            (one["rule"], one["subject"], ", ".join(one["needs"])) for one in value["unchecked"]
        ]
        accepted = [one for one in found if one["status"] == "accepted"]
        assert [(one["rule"], one["because"]) for one in accepted] == [
            (one["rule"], one["because"]) for one in value["accepted"]
        ]
        *basis, last = [one["status"] for one in found[len(told) + len(missing) + len(accepted) :]]
        assert (set(basis), last) == ({"rests on"}, "sum")
    assert missing


@pytest.fixture
def bare(good: str, tmp_path: Path) -> Path:
    """A right layout that lacks most data."""
    path = tmp_path / "bare.toml"
    path.write_text(good)
    return path


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_a_page_says_what_could_not_be_checked(form: str, bare: Path) -> None:
    text = printed("check", str(bare), "--format", form)
    assert "Not checked" in text
    for command in ("power", "budget", "wake"):
        assert "Track power can start a fire" in printed(command, LAYOUTS[0], "--format", form)
    assert "Track power can start a fire" in printed("isolate", LAYOUTS[0], "1", "--format", form)


def test_files_that_cannot_be_understood_are_pages_too(tmp_path: Path) -> None:
    path = tmp_path / "bad<b>.toml"
    path.write_text('format = 1\n[layout]\nname = "<script>alert(1)</script>"\nsize = 3\n')
    for form in ("html", "markdown", "csv", "xlsx"):
        assert main(["check", str(path), "-f", "json", "-o", f"{form}={tmp_path / 'x'}"]) == 2
        assert (tmp_path / "x").stat().st_size > 100
    assert "<script" not in printed("check", str(path), "--format", "html")


HEAVY = (
    "xlsxwriter",
    "tabulate",
    "tomli_w",
    "blockcheck.formats.html",
    "blockcheck.formats.programs.xlsx",
    "blockcheck.formats.markdown",
    "blockcheck.answers.workshop.book",
)
LOADED = """
import sys
from blockcheck.__main__ import main
main(sys.argv[1:])
print(*(name for name in {heavy!r} if name in sys.modules), file=sys.stderr)
"""


@pytest.mark.parametrize("command", ["check", "channels", "budget", "power", "wake"])
def test_what_nobody_asked_for_is_not_loaded(command: str) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", LOADED.format(heavy=HEAVY), command, LAYOUTS[0]],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
    )
    assert ran.stderr.split() == []


CALLS = (
    ("check", FAULTY),
    ("channels", LAYOUTS[1]),
    ("isolate", LAYOUTS[1], "lower:3-7"),
    ("budget", LAYOUTS[1]),
    ("power", LAYOUTS[1]),
    ("wake", LAYOUTS[1]),
    ("book", LAYOUTS[1]),
    ("page", LAYOUTS[0]),
)


@pytest.mark.parametrize("call", CALLS, ids=lambda call: str(call[0]))
def test_the_same_bytes_wherever_and_whenever(call: tuple[str, ...], tmp_path: Path) -> None:
    forms = (
        ("html", "json")
        if call[0] == "page"
        else ("html", "xlsx")
        if call[0] == "book"
        else ("html", "xlsx", "csv", "markdown")
    )
    seen = []
    for seed in ("1", "77"):
        folder = tmp_path / seed
        shutil.copytree(ROOT / "examples", folder / "examples")
        subprocess.run(
            [sys.executable, "-m", "blockcheck", *call, *(f"-o{form}=out.{form}" for form in forms)],
            cwd=folder,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT / "src"), "TZ": f"UTC-{int(seed) % 12}"},
            capture_output=True,
            check=False,
        )
        seen.append([hashlib.sha256((folder / f"out.{form}").read_bytes()).hexdigest() for form in forms])
        assert str(tmp_path).encode() not in b"".join((folder / f"out.{form}").read_bytes() for form in forms)
    assert seen[0] == seen[1]
