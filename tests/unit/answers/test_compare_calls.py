"""How ``compare`` is called: exit statuses, standard input, faults of both files."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from blockcheck.__main__ import main

YARD = """
format = 1
[layout]
name = "Hazel Dock"
control = "dcc"
[boosters.B1]
voltage = "15 V"
current = "3 A"
[districts.dock]
booster = "B1"
[board_types.eight]
channels = 8
threshold = "1 mA"
[boards.D1]
type = "eight"
[blocks.S1-S3]
channel = "D1.1-3"
[blocks.neck]
channel = "D1.4"
kind = "throat"
[[joints]]
blocks = ["neck", "S1-S3"]
gap = "detected"
"""


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A layout in a file, and the working folder beside it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "yard.toml").write_text(YARD, "utf-8")
    (tmp_path / "words.toml").write_text("# said otherwise\n" + YARD, "utf-8")
    (tmp_path / "other.toml").write_text(YARD.replace('gap = "detected"', 'gap = "both"'), "utf-8")
    (tmp_path / "bad.toml").write_text("format = 1\n[layout]\nname = 3\n", "utf-8")
    return tmp_path


def piped(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode()), "utf-8"))


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["yard.toml", "yard.toml"], 0),
        (["yard.toml", "other.toml"], 0),
        (["yard.toml", "yard.toml", "--exit-code"], 0),
        (["yard.toml", "words.toml", "--exit-code"], 0),
        (["yard.toml", "other.toml", "--exit-code"], 1),
        (["yard.toml", "bad.toml", "--exit-code"], 2),
        (["yard.toml", "no-such.toml"], 2),
        (["-", "-"], 2),
        (["yard.toml"], 2),
        (["yard.toml", "other.toml", "--format", "sarif"], 2),
    ],
)
@pytest.mark.usefixtures("yard")
def test_the_exit_status(arguments: list[str], status: int, monkeypatch: pytest.MonkeyPatch) -> None:
    piped(monkeypatch, YARD)
    assert main(["compare", *arguments]) == status


@pytest.mark.usefixtures("yard")
def test_one_of_the_two_may_come_from_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    piped(monkeypatch, YARD)
    assert main(["compare", "-", "other.toml", "--stdin-filename", "yard.toml", "--format", "json"]) == 0
    there = json.loads(capsys.readouterr().out)
    assert main(["compare", "yard.toml", "other.toml", "--format", "json"]) == 0
    assert there == json.loads(capsys.readouterr().out)
    piped(monkeypatch, YARD)
    assert main(["compare", "yard.toml", "-", "--stdin-filename", "yard.toml", "--exit-code"]) == 0
    assert "No change to the wiring" in capsys.readouterr().out


def test_what_is_read_from_standard_input_includes_from_its_place(
    yard: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = yard / "layouts"
    folder.mkdir()
    (folder / "more.toml").write_text('[blocks.S4]\nchannel = "D1.5"\n', "utf-8")
    piped(monkeypatch, YARD.replace("format = 1", 'format = 1\ninclude = ["more.toml"]'))
    assert main(["compare", "yard.toml", "-", "--stdin-filename", "layouts/yard.toml"]) == 0
    assert "add the bus of S4: D1:5 > S4:detected" in capsys.readouterr().out


def test_the_faults_of_both_are_told_apart_though_they_bear_one_name(
    yard: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    piped(monkeypatch, (yard / "bad.toml").read_text("utf-8"))
    assert main(["compare", "-", "bad.toml", "--stdin-filename", "bad.toml"]) == 2
    told = capsys.readouterr().err
    assert "bad.toml:3:8" in told
    assert "bad.toml (standard input):3:8" in told


def test_no_answer_is_written_over_a_layout(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "yard.toml", "other.toml", "--output", "csv=other.toml"]) == 2
    assert "would be overwritten" in capsys.readouterr().err
    assert (yard / "other.toml").read_text("utf-8").startswith("\nformat = 1")
