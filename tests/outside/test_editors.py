"""``#:schema``: what editors' TOML plug-ins see. Both programs behind the common ones are run, without a network.

They take the schema from the line at the top of a file, pass the layouts that are right, and mark what is wrong where
it is wrong.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from blockcheck.text.includes import shipped

ROOT = Path(__file__).resolve().parents[2]
LAYOUTS = sorted([*(ROOT / "examples").rglob("*.toml"), *(ROOT / "tests" / "rules").rglob("*.toml")])
TOOLS = Path(sys.executable).parent

WRONG = """\
#:schema schemas/layout.schema.json
format = 1
layout = { name = "Quillet Wharf", control = "dcc" }
boosters.B1 = { volts = "14 V", current = "3 A" }
districts.quay = { booster = "B1" }

[blocks.Q1]
chanel = "D1.1"
kind = "storrage"
length = 3

[isolators.I1]
poles = "two"

[[joints]]
blocks = ["Q1"]
gap = "detected"
"""
FAULTS = {4: "volts", 8: "chanel", 9: "storrage", 10: "length", 13: "poles", 16: "blocks"}
"""Line -> what stands there and is wrong: unknown keys, a word that is no choice, wrong kinds, a joint of one block."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the schema, and the settings by which neither program asks the network for a catalogue."""
    shutil.copytree(shipped("schemas"), tmp_path / "schemas")
    (tmp_path / "tombi.toml").write_text("[schema]\ncatalog = { paths = [] }\n", "utf-8")
    return tmp_path


def taplo(folder: Path, *files: str) -> tuple[int, set[int]]:
    """The exit status, and the lines that are marked."""
    call = [str(TOOLS / "taplo"), "lint", "--colors", "never", *files]
    done = subprocess.run(call, cwd=folder, capture_output=True, text=True, check=False, timeout=120)
    return done.returncode, {int(line) for line in re.findall(r"┌─ .*:(\d+):\d+$", done.stderr, re.M)}


def tombi(folder: Path, *files: str) -> tuple[int, set[int]]:
    """The exit status, and the lines that are marked."""
    report = folder / "report.json"
    how = ["--diagnostics-format", "json", "--diagnostics-file", str(report)]
    call = [str(TOOLS / "tombi"), "lint", *how, *files]
    done = subprocess.run(call, cwd=folder, capture_output=True, text=True, check=False, timeout=120)
    faults = [one for one in json.loads(report.read_text("utf-8")) if one["level"] == "error"]  # the rest is style
    return done.returncode, {one["range"]["start"]["line"] for one in faults}


def test_layouts_that_are_right_pass(folder: Path) -> None:
    names = []
    for number, path in enumerate(LAYOUTS):
        name = f"{number}-{path.parent.name}-{path.name}"
        (folder / name).write_text(f"#:schema schemas/layout.schema.json\n{path.read_text('utf-8')}", "utf-8")
        names.append(name)
    assert taplo(folder, *names) == (0, set())
    assert tombi(folder, *names) == (0, set())


def test_what_is_wrong_is_marked_where_it_is(folder: Path) -> None:
    (folder / "wrong.toml").write_text(WRONG, "utf-8")
    for line, word in FAULTS.items():
        assert word in WRONG.splitlines()[line - 1]
    status, lines = tombi(folder, "wrong.toml")
    assert (status != 0, lines) == (True, set(FAULTS))
    status, lines = taplo(folder, "wrong.toml")  # marks an unknown key at each of its neighbours too
    assert status != 0
    assert lines >= set(FAULTS)
    right = re.sub(r"volts", "voltage", WRONG).replace("chanel", "channel").replace("storrage", "storage")
    right = right.replace("= 3\n", '= "3 m"\n').replace('"two"', "2").replace('["Q1"]', '["Q1", "Q2"]')
    (folder / "right.toml").write_text(right, "utf-8")
    assert tombi(folder, "right.toml") == (0, set())
    assert taplo(folder, "right.toml") == (0, set())


def test_without_the_line_nothing_is_marked(folder: Path) -> None:
    """It is the line that brings the schema, and not a file's name or place."""
    (folder / "wrong.toml").write_text(WRONG.partition("\n")[2], "utf-8")
    assert tombi(folder, "wrong.toml") == (0, set())
    assert taplo(folder, "wrong.toml")[1] == set()
