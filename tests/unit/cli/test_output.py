"""Where answers go: files by their format or their name, bytes as they are, and nothing binary on a terminal."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from blockcheck.__main__ import main
from blockcheck.cli.files import write_all
from blockcheck.cli.output import deliver
from blockcheck.core.errors import CallError

ROOT = Path(__file__).resolve().parents[3]
YARD = str(ROOT / "examples" / "small-yard" / "yard.toml")


@pytest.mark.parametrize(
    ("name", "begins"),
    [
        ("map.json", b'{\n  "format": 1'),
        ("map.csv", b"board,channel"),
        ("map.md", b"# Channel map"),
        ("map.html", b"<!DOCTYPE html>"),
        ("map.HTM", b"<!DOCTYPE html>"),
        ("map.xlsx", b"PK"),
        ("map.txt", b"Ropewalk sidings"),
        ("map.toml", b"# Made by blockcheck\nformat = 1"),
        ("html=map.txt", b"<!DOCTYPE html>"),
    ],
)
def test_the_name_of_a_file_tells_its_format(
    name: str, begins: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["channels", YARD, "-o", name]) == 0
    assert (tmp_path / name.partition("=")[2] if "=" in name else tmp_path / name).read_bytes().startswith(begins)


def test_a_dialect_is_for_what_is_printed_and_for_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["channels", YARD, "-f", "csv", "-o", "map.csv", "--csv-dialect", "semicolon"]) == 0
    printed = capsysbinary.readouterr().out
    assert printed.startswith(b"\xef\xbb\xbfboard;channel;")
    assert b";2,4;" in printed
    assert (tmp_path / "map.csv").read_bytes() == printed


class Terminal(io.TextIOWrapper):
    def isatty(self) -> bool:
        return True


def test_a_spreadsheet_is_not_poured_onto_a_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    screen = Terminal(io.BytesIO())
    monkeypatch.setattr(sys, "stdout", screen)
    assert main(["channels", YARD, "-f", "xlsx", "-o", "map.json"]) == 2
    assert screen.buffer.getvalue() == b""  # type: ignore[attr-defined]
    assert list(tmp_path.iterdir()) == [], "nothing is written beside it"
    error = capsys.readouterr().err
    assert "xlsx is no text for a terminal" in error
    assert "-o xlsx=FILE" in error


def test_a_spreadsheet_goes_down_a_pipe_as_it_is(capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    assert main(["channels", YARD, "-f", "xlsx"]) == 0
    assert capsysbinary.readouterr().out.startswith(b"PK\x03\x04")


def test_without_a_format_it_only_says_what_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["book", YARD, "-o", "book.html"]) == 0
    assert capsys.readouterr().out == "book.html is written.\n"


def test_the_book_is_a_page_when_nothing_else_is_asked(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["book", YARD]) == 0
    assert capsys.readouterr().out.startswith("<!DOCTYPE html>")


def test_bytes_are_written_whole_or_not_at_all(tmp_path: Path) -> None:
    write_all([(str(tmp_path / "x"), b"\x00\r\n\xff")])
    assert (tmp_path / "x").read_bytes() == b"\x00\r\n\xff"

    def fails(_: object) -> bytes:
        raise CallError("no")

    with pytest.raises(CallError):
        deliver({"xlsx": fails}, None, [f"xlsx={tmp_path / 'x'}"])
    assert (tmp_path / "x").read_bytes() == b"\x00\r\n\xff"
