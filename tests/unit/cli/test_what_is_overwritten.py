"""Nothing that was there is lost when an answer is written: devices, links, layouts, readings, other answers."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl import load_workbook
from typer import Context
from typer.core import TyperCommand as Command

from blockcheck.__main__ import main
from blockcheck.cli import app
from blockcheck.cli.complete import format_names
from blockcheck.formats.marks import kept

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "small-yard" / "yard.toml"


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "yard.toml"
    path.write_bytes(EXAMPLE.read_bytes())
    return path


def test_a_pipe_is_written_to_and_stays_a_pipe(yard: Path) -> None:
    os.mkfifo("pipe")
    read: list[bytes] = []
    reader = threading.Thread(target=lambda: read.append(Path("pipe").read_bytes()), daemon=True)
    reader.start()
    assert main(["channels", "yard.toml", "-o", "json=pipe"]) == 0
    reader.join(10)
    assert stat.S_ISFIFO(Path("pipe").stat().st_mode)
    assert b'"rows"' in read[0]


def test_a_link_stays_a_link(yard: Path) -> None:
    Path("kept").mkdir()
    Path("map.json").symlink_to("kept/map.json")
    for _ in range(2):  # the first time what it points to is not there
        assert main(["channels", "yard.toml", "-o", "map.json"]) == 0
        assert Path("map.json").is_symlink()
        assert b'"rows"' in Path("kept/map.json").read_bytes()


def test_a_file_keeps_its_mode(yard: Path) -> None:
    Path("map.json").touch(0o640)
    assert main(["channels", "yard.toml", "-o", "map.json"]) == 0
    assert stat.S_IMODE(Path("map.json").stat().st_mode) == 0o640


def test_a_long_name_is_a_name(yard: Path) -> None:
    name = "🚂" * 60 + ".json"
    assert main(["channels", "yard.toml", "-o", name]) == 0
    assert Path(name).is_file()


@pytest.mark.parametrize("place", ["/proc/self/fd/1", "both"])
def test_where_standard_output_goes_nothing_is_lost(yard: Path, place: str) -> None:
    script = '"$0" -m blockcheck channels yard.toml -o json="$1" > both'
    assert subprocess.run(["sh", "-c", script, sys.executable, place], timeout=60, check=False).returncode == 0
    text = Path("both").read_text()
    assert '"rows"' in text
    assert "D1.8 " in text, "the text, whose last row this is"


def test_two_answers_do_not_go_to_one_file(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["channels", "yard.toml", "-o", "json=map", "-o", "csv=./map"]) == 2
    assert "two outputs go to" in capsys.readouterr().err
    assert not Path("map").exists()


def test_nothing_is_written_where_one_of_the_answers_cannot_be_made(yard: Path) -> None:
    assert main(["wires", "yard.toml", "-o", "wires.json", "-o", "labels-svg=labels.svg", "--sheet", "99"]) == 2
    assert [one.name for one in Path().iterdir()] == ["yard.toml"]


def test_standard_output_does_not_go_on_behind_what_was_read(yard: Path) -> None:
    before = yard.read_bytes()
    script = '"$0" -m blockcheck check yard.toml >> yard.toml'
    run = subprocess.run(["sh", "-c", script, sys.executable], timeout=60, check=False, capture_output=True)
    assert (run.returncode, b'standard output is "yard.toml"' in run.stderr) == (2, True)
    assert yard.read_bytes() == before


MORE = {"where": ["R1"], "isolate": ["R1"], "compare": ["other.toml"], "trace": ["readings.toml"], "explain": []}
"""What a command takes beside the layout."""
COMMANDS = list(app.COMMANDS)
FOREIGN = [
    b"dear diary,\n",
    b"{}\n",
    b'{"format": 1, "rows": []}\n',
    b"a,b\n1,2\n",
    b"# My yard\n\nMade by blockcheck, in part.\n",
    b"<!DOCTYPE html>\n<html><head><meta charset='utf-8'></head></html>\n",
    b'<svg xmlns="http://www.w3.org/2000/svg"></svg>\n',
    b'<?xml version="1.0"?>\n<testsuites name="pytest"/>\n',
    b"* a deck of my own\n.end\n",
    b"PK\x03\x04",
    b"\xff\xfe\x00\x00",
]


@pytest.fixture
def shop(yard: Path) -> Path:
    """A folder with a layout, another one, and a sheet with a reading."""
    Path("other.toml").write_text(yard.read_text().replace("2.4 m", "2.2 m"))
    Path("readings.toml").write_text('format = 1\n[[steps]]\nid = "rails.R1"\nreading = "open"\n')
    return yard


@pytest.mark.parametrize("command", [one for one in COMMANDS if one not in ("new", "lsp")])
def test_every_answer_may_be_written_anew_and_over_nothing_else(command: str, shop: Path) -> None:
    formats = format_names(Context(Command(command), info_name=command), "")
    assert formats
    call = [command, *(["yard.toml"] * (command != "explain")), *MORE.get(command, [])]
    call += [word for name in formats for word in ("-o", f"{name}=answer.{name}")]
    assert main(call) in (0, 1)
    for path in (shop, Path("other.toml")):  # so that it is not the same again
        path.write_text(path.read_text().replace("Ropewalk sidings", "Ropewalk yard").replace("3 A", "4 A"))
    assert main(call) in (0, 1)
    for name in formats:
        written = Path(f"answer.{name}").read_bytes()
        assert kept(b"", written, name) is None
        for foreign in FOREIGN:
            assert kept(foreign, written, name), (name, foreign)


def test_a_file_of_somebody_elses_is_written_over_by_force_alone(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("notes.md").write_text("dear diary,\n")
    for name in ("notes.md", "html=notes.md", "csv=notes.md"):
        refused('"notes.md" exists already: it', "check", "yard.toml", "-o", name, capsys=capsys)
    refused('"notes.md" exists already: it', "new", "notes.md", capsys=capsys)
    refused('"notes.md" exists already: it', "power", "yard.toml", "--netlist", "notes.md", capsys=capsys)
    assert main(["check", "yard.toml", "-o", "notes.md", "--force"]) == 0
    assert Path("notes.md").read_text().startswith("# Check: Ropewalk sidings")
    assert main(["new", "notes.md"]) == 0, "what blockcheck wrote itself"
    refused('"notes.md" exists already: it', "check", "yard.toml", "-o", "notes.md", capsys=capsys)


def refused(words: str, *call: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A call is refused with these words, and no file is touched."""
    before = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    assert main([*call]) == 2
    assert words in capsys.readouterr().err
    assert {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()} == before


def test_a_sheet_that_somebody_has_written_in_is_kept(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    again = ["bench", "yard.toml", "-o", "sheet.toml"]
    assert main(again) == 0
    sheet = Path("sheet.toml").read_text()
    for text in (
        sheet.replace('reading = ""', 'reading = "4 ohm"', 1),
        sheet.replace('reading = ""', "reading = 0", 1),
        sheet.replace('reading = ""', 'reading = ""\nnote = "loose clip"', 1),
        sheet + "reading =\n",
    ):
        Path("sheet.toml").write_text(text)
        words = '"sheet.toml" exists already: somebody has written in it'
        refused(words, "power", "yard.toml", "--netlist", "sheet.toml", capsys=capsys)
    refused(words, *again, capsys=capsys)
    assert main([*again, "--force"]) == 0
    assert Path("sheet.toml").read_text() == sheet


def test_a_workbook_that_another_program_has_saved_is_kept(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    again = ["channels", "yard.toml", "-o", "map.xlsx"]
    assert main(again) == 0
    book = load_workbook("map.xlsx")
    book.worksheets[1]["M2"] = "loose crimp"
    book.save("map.xlsx")
    refused("another program has saved it since", *again, capsys=capsys)


def test_a_table_with_a_column_of_ones_own_is_kept(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    again = ["channels", "yard.toml", "-o", "map.csv"]
    assert main(again) == 0
    lines = Path("map.csv").read_text().splitlines()
    Path("map.csv").write_text("\n".join([lines[0] + ",seen by", *lines[1:]]))
    refused("its heading is not the one of this table", *again, capsys=capsys)


@pytest.mark.parametrize("name", ["check.md", "check.txt"])
def test_notes_below_an_answer_are_kept(name: str, shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    again = ["check", "yard.toml", "-o", name]
    assert main(again) == 0
    Path(name).write_text(Path(name).read_text() + "\nAsk at the next meeting.\n")
    refused("exists already", *again, capsys=capsys)


def linked(name: str, make: Callable[[Path, str], None]) -> str:
    make(Path("link"), name)
    return "link"


LINKS: dict[str, Callable[[str], str]] = {
    "by its name": lambda name: f"./{name}",
    "by its whole path": lambda name: str(Path(name).resolve()),
    "by a symbolic link": lambda name: linked(name, Path.symlink_to),
    "by a hard link": lambda name: linked(name, Path.hardlink_to),
}


@pytest.fixture
def club(shop: Path) -> Path:
    """A layout that includes another file."""
    club = Path("club.toml")
    club.write_text('format = 1\ninclude = ["yard.toml"]\n')
    return club


@pytest.mark.parametrize("way", LINKS)
def test_what_was_included_is_kept_even_by_force(way: str, club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name = LINKS[way]("yard.toml")
    refused("was read for this", "check", "club.toml", "-o", f"text={name}", "--force", capsys=capsys)


@pytest.mark.parametrize(
    "call",
    [
        ["power", "club.toml", "--netlist", "yard.toml"],
        ["bench", "club.toml", "-o", "toml=yard.toml"],
        ["compare", "club.toml", "other.toml", "-o", "text=yard.toml"],
        ["compare", "other.toml", "club.toml", "-o", "text=yard.toml"],
        ["bench", "other.toml", "--since", "club.toml", "-o", "text=yard.toml"],
    ],
    ids=" ".join,
)
def test_every_command_keeps_what_it_read_even_by_force(
    call: list[str], club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    refused('"yard.toml" was read for this', *call, "--force", capsys=capsys)


@pytest.mark.parametrize("broken", ["[blocks.x]\nlength = 3\n", "[blocks.x\n", "include = ['none.toml']\n"])
def test_what_was_read_is_kept_where_it_has_faults(broken: str, club: Path, capsys: pytest.CaptureFixture[str]) -> None:
    yard = Path("yard.toml")
    yard.write_text(broken + yard.read_text() if broken.startswith("include") else yard.read_text() + broken)
    refused("was read for this", "check", "club.toml", "-o", "text=yard.toml", "--force", capsys=capsys)


def test_the_name_of_what_standard_input_holds_is_kept(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    script = '"$0" -m blockcheck check - --stdin-filename yard.toml -o text=yard.toml --force < yard.toml'
    run = subprocess.run(["sh", "-c", script, sys.executable], timeout=60, check=False, capture_output=True)
    assert (run.returncode, b"is the layout itself" in run.stderr) == (2, True)
    assert yard.read_bytes() == EXAMPLE.read_bytes()


def test_a_baseline_is_kept_unless_forced(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "yard.toml", "-o", "base.json"]) == 0
    again = ["check", "yard.toml", "--baseline", "base.json", "-o", "base.json"]
    refused("was read for this", *again, capsys=capsys)
    assert main([*again, "--force"]) == 0
    assert '"baseline": {' in Path("base.json").read_text()


def test_readings_are_kept_unless_forced(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    refused("was read for this", "trace", "yard.toml", "readings.toml", "-o", "text=readings.toml", capsys=capsys)
