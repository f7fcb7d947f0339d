"""Calls that cannot be understood: exit status 2, what was wrong, and what to write instead."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from inspect import signature
from pathlib import Path

import pytest

from blockcheck.__main__ import main
from blockcheck.cli import app

GROUPED = '[blocks.R1-R2]\nchannel = "D1.5-6"\ngroup = "upper"\n'

CALLS: dict[str, tuple[list[str], str, str]] = {
    # what is wrong: the call, words of the message, words of the advice
    "no command": ([], "Usage:", "--help"),
    "an unknown command": (["chek", "yard.toml"], "No such command 'chek'", "--help"),
    "no file": (["check"], "Missing argument", "blockcheck check --help"),
    "an unknown option": (["check", "yard.toml", "--formt", "json"], "No such option", "blockcheck check --help"),
    "a file that is none": (
        ["check", "yrad.toml"],
        "yrad.toml cannot be read: no such file",
        'did you mean "yard.toml"?',
    ),
    "a file far away": (["check", "else/where.toml"], "cannot be read: no such file", "blockcheck new"),
    "a folder": (["check", "."], "is a directory", "name the layout file in it, such as yard.toml"),
    "no name of a file": (["check", "a\0b"], "cannot be read", "check the name"),
    "an unknown format": (["check", "yard.toml", "--format", "jsno"], 'no format "jsno"', 'did you mean "json"?'),
    "an unknown label": (["where", "yard.toml", "R11"], 'no label, terminal or part "R11"', "R1"),
    "a very long label": (["where", "yard.toml", "9" * 5000], "no label, terminal or part", "such as D1:3"),
    "a format of another command": (["check", "yard.toml", "-f", "toml"], 'no format "toml"', "it has text, json"),
    "an output without a format": (
        ["check", "yard.toml", "--output", "json"],
        '"json" is no output',
        "FORMAT=FILE, or a name that ends as its format",
    ),
    "an output whose name ends otherwise": (["check", "yard.toml", "-o", "x.pdf"], 'no format "pdf"', "it has text"),
    "an output named as another layout": (
        ["channels", "yard.toml", "-o", "yard2.toml"],
        '"yard2.toml" exists already: it is no answer that blockcheck wrote',
        "overwrite it with --force",
    ),
    "an unknown dialect": (
        ["channels", "yard.toml", "-f", "csv", "--csv-dialect", "semicolons"],
        'CSV dialect cannot be "semicolons"',
        'did you mean "semicolon"?',
    ),
    "an output without a file": (["check", "yard.toml", "--output", "json="], '"json=" is no output', "FORMAT=FILE"),
    "an output of another format": (["check", "yard.toml", "-o", "pdf=x"], 'no format "pdf"', "it has text, json"),
    "an output to no folder": (["check", "yard.toml", "-o", "json=no/x"], '"no/x" cannot be written', "a folder that"),
    "an output to a folder": (["check", "yard.toml", "-o", "json=."], '"." cannot be written', "a folder that"),
    "an output below a file": (["check", "yard.toml", "-o", "json=yard.toml/x"], "not a directory", "a folder that"),
    "an output with a long name": (["check", "yard.toml", "-o", f"json={'a' * 300}"], "file name too long", "a folder"),
    "an output with a NUL": (["check", "yard.toml", "-o", "json=a\0b"], '"a\\u0000b" cannot be written', "a folder"),
    "an output over the layout": (
        ["check", "yard.toml", "-o", "json=./yard.toml"],
        "the layout itself",
        "another file",
    ),
    "a map over the layout": (["channels", "yard.toml", "-o", "toml=yard.toml"], "the layout itself", "another file"),
    "an output over another layout": (
        ["check", "yard.toml", "-o", "json=yard2.toml"],
        "exists already",
        "--force",
    ),
    "an answer over the layout, by force": (
        ["channels", "yard.toml", "-o", "toml=yard.toml", "--force"],
        "the layout itself",
        "another file",
    ),
    "an answer over the layout to compare with, by force": (
        ["compare", "yard.toml", "z-good.toml", "-o", "text=z-good.toml", "--force"],
        "was read for this",
        "another file",
    ),
    "a netlist over another layout": (["power", "yard.toml", "--netlist", "yard2.toml"], "exists already", "--force"),
    "a netlist over the layout": (
        ["power", "yard.toml", "--netlist", "yard.toml"],
        "the layout itself",
        "another file",
    ),
    "an unknown level": (
        ["check", "yard.toml", "--fail-on", "bad"],
        '--fail-on cannot be "bad"',
        "error, warning, note",
    ),
    "tracks, and each": (
        ["isolate", "yard.toml", "S1", "--each"],
        "isolate wants either TRACKS or --each",
        "blockcheck isolate FILE 3-7",
    ),
    "two selections": (["isolate", "yard.toml", "S1", "S2"], "unexpected extra argument", "blockcheck isolate --help"),
    "a track that is none": (["isolate", "yard.toml", "9"], "there is no track 9", "the tracks are 1, 2, 3, 4"),
    "a track of a group": (["isolate", "yard.toml", "upper:4"], "there is no track 4 in upper", "the tracks are 1, 2"),
    "a block of another group": (["isolate", "yard.toml", "upper:S1"], '"S1" in upper is no block', "there are R1, R2"),
    "a block that is none": (
        ["isolate", "yard.toml", "Q9"],
        '"Q9" is no block',
        "there are R1, R2, S1, S2, S3, S4, neck",
    ),
    "a block, nearly": (["isolate", "yard.toml", "nekc"], '"nekc" is no block', 'did you mean "neck"?'),
    "a group, nearly": (["isolate", "yard.toml", "uper:1"], 'no group "uper"', 'did you mean "upper"?'),
    "a group without tracks": (["isolate", "yard.toml", "upper:"], '"upper:" names no track', '"upper" for all'),
    "tracks without a group": (["isolate", "yard.toml", ":3"], '":3" names no group', "lower:3-7"),
    "ambiguous tracks": (["isolate", "yard.toml", "1"], "track 1 is ambiguous", "upper:1 or S1 (the block)"),
    "nothing": (["isolate", "yard.toml", ","], "the selection is empty", "such as 3-7 or lower:3-7"),
    "a descending range": (["isolate", "yard.toml", "7-3"], '"7-3" runs backwards', 'write "3-7"'),
    "a very long range": (["isolate", "yard.toml", "1-99999"], "makes 99999 names", "smaller ranges"),
    "a very long number": (["isolate", "yard.toml", "9" * 5000], '999..." is no block', "there are R1"),
    "a scenario that is none": (
        ["isolate", "yard.toml", "S1", "-s", "night"],
        'no scenario "night"',
        "has no scenarios",
    ),
    "a rule, nearly": (["explain", "gap-mising"], '"gap-mising" is no rule', 'did you mean "gap-missing"?'),
    "a key, nearly": (["explain", "blocks.lenth"], "no key of the language", 'did you mean "blocks.length"?'),
    "a part of the wire list that is none": (
        ["wires", "yard.toml", "--only", "total"],
        'only cannot be "total"',
        'did you mean "totals"?',
    ),
    "a label without a height": (
        ["wires", "yard.toml", "-f", "labels-svg", "--label-size", "38"],
        'label size cannot be "38"',
        "such as 38x12",
    ),
    "a label of nothing": (
        ["wires", "yard.toml", "-f", "labels-svg", "--label-size", "0x12"],
        'label size cannot be "0x12"',
        "from 4 to 300 mm",
    ),
    "a label larger than the paper": (
        ["wires", "yard.toml", "-f", "labels-html", "--label-size", "250x12"],
        "no label of 250 x 12 mm fits on 210 x 297 mm",
        "a smaller label size",
    ),
    "a first label beyond the sheet": (
        ["wires", "yard.toml", "-f", "labels-html", "--start", "1000"],
        "start cannot be 1000: a sheet has 4 x 23 labels",
        "from 1 to 92",
    ),
    "a sheet beyond the last": (
        ["wires", "yard.toml", "-f", "labels-svg", "--sheet", "9"],
        "sheet cannot be 9: the labels take 1",
        "from 1 to 1",
    ),
    "a paper that is none": (
        ["wires", "yard.toml", "-f", "labels-svg", "--paper", "letter4"],
        'paper cannot be "letter4"',
        'did you mean "Letter"?',
    ),
    "a pitch without a unit": (
        ["panel", "yard.toml", "--pitch", "25"],
        'pitch cannot be "25"',
        '"25 mm"',
    ),
    "a pitch of a voltage": (["panel", "yard.toml", "--pitch", "25 V"], "expected a length", '"V" is a voltage'),
    "a pitch too small": (["panel", "yard.toml", "--pitch", "2 mm"], "pitch cannot be 2 mm", "from 10 mm to 200 mm"),
    "a hole as wide as the pitch": (
        ["panel", "yard.toml", "--hole", "25 mm"],
        'hole cannot be "25 mm"',
        "less than the pitch",
    ),
    "a group without isolators": (
        ["panel", "yard.toml", "--group", "uper"],
        'no isolator in a group "uper"',
        "leave the group out",
    ),
    "a label that is none, with a format that has no labels": (
        ["wires", "yard.toml", "--label-size", "wrong"],
        'label size cannot be "wrong"',
        "such as 38x12",
    ),
    "a first label that is none, whatever the format": (
        ["wires", "yard.toml", "--start", "0"],
        "start cannot be 0",
        "from 1 to 92",
    ),
    "no column": (["panel", "yard.toml", "--columns", "0"], "columns cannot be 0", "from 1 to 100"),
    "a panel on no paper": (["panel", "yard.toml", "--paper", "0x0"], 'paper cannot be "0x0"', "from 50 to 2000 mm"),
    "a tolerance that is none": (
        ["bench", "yard.toml", "--tolerance", "garbage"],
        'tolerance cannot be read at "garbage"',
        "a percentage, ohms and volts",
    ),
    "a tolerance that is no number": (["bench", "yard.toml", "--tolerance", "nan %"], "cannot be read", "a percentage"),
    "a sheet of a group, nearly": (["bench", "yard.toml", "--only", "uper"], 'no group "uper"', '"upper"'),
    "since no layout": (["bench", "yard.toml", "--since", "yard3.toml"], "yard3.toml cannot be read", '"yard'),
    "since nothing": (["bench", "yard.toml", "--since", "yard2.toml"], "yard2.toml:1:1", "[layout]"),
    "so many pairs": (["trace", "yard.toml", "yard.toml", "--pairs", "-1"], "--pairs", "blockcheck trace --help"),
    "a layout for readings": (
        ["trace", "yard.toml", "yard.toml"],
        "this is a layout, and no test sheet",
        "bench LAYOUT",
    ),
    "readings over themselves": (
        ["trace", "yard.toml", "z-readings.toml", "-o", "json=z-readings.toml"],
        '"z-readings.toml" was read for this',
        "another file",
    ),
    "a baseline that is a layout": (["check", "yard.toml", "--baseline", "yard.toml"], "is not JSON", "--format json"),
    "a baseline that is a folder": (["check", "yard.toml", "--baseline", "."], "is a directory", "check --format json"),
    "a baseline and a layout from one input": (
        ["check", "-", "--baseline", "-"],
        "the layout and the baseline cannot both be read from standard input",
        "write - for one of the two",
    ),
    "an older and a newer layout from one input": (
        ["bench", "-", "--since", "-"],
        "the older layout cannot",
        "write -",
    ),
    "readings and a layout from one input": (["trace", "-", "-"], "and the readings cannot both be read", "write -"),
    "two layouts from one input": (["compare", "-", "-"], "both layouts cannot be read", "write - for one"),
    "a netlist beside a format that is none": (
        ["power", "yard.toml", "--netlist", "deck.cir", "-f", "jsno"],
        'no format "jsno"',
        '"json"',
    ),
    "a netlist and an answer in one file": (
        ["power", "yard.toml", "--netlist", "deck", "-o", "json=deck"],
        'two outputs go to "deck"',
        "a file of its own",
    ),
    "one output twice": (["draw", "yard.toml", "-o", "svg=x", "-o", "json=./x"], "two outputs go to", "of its own"),
    "a sheet over another layout": (["bench", "yard.toml", "-o", "toml=yard2.toml"], "exists already", "--force"),
    "a book as text": (["book", "yard.toml", "-f", "text"], 'no format "text"', "it has html, xlsx"),
    "a new file of no name": (["new", ""], '"." cannot be written: is a directory', "a folder that exists"),
    "a new file over an old": (["new", "yard.toml"], '"yard.toml" exists already', "--force"),
    "a new file over a folder": (["new", "."], '"." cannot be written: is a directory', "a folder that exists"),
    "a new file in no folder": (["new", "no/yard.toml"], '"no/yard.toml" cannot be written', "a folder that exists"),
}


@pytest.fixture
def yard(good: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a right layout, which is the current one."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "yard.toml"
    path.write_text(good.replace("spare = [5, 6, 7]", "spare = [7]") + GROUPED)
    (tmp_path / "yard2.toml").write_text("format = 1\n")
    (tmp_path / "z-good.toml").write_text(good)
    (tmp_path / "z-readings.toml").write_text('format = 1\n[[steps]]\nid = "rails.S1"\nreading = "open"\n')
    return path


@pytest.mark.parametrize("name", CALLS)
def test_a_call_that_cannot_be_understood(
    name: str, yard: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    call, message, advice = CALLS[name]
    before = {path: path.read_bytes() for path in yard.parent.iterdir()}
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO()))
    assert main(call) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert message in err
    assert advice in err
    assert "Traceback" not in err
    assert {path: path.read_bytes() for path in yard.parent.iterdir()} == before, "no file is touched, none is left"


MORE = {"isolate": ["S1"], "where": ["S1"], "compare": ["good.toml"], "trace": ["z-readings.toml"]}
"""What a command takes beside the layout."""
COMMANDS = sorted(name for name, made in app.COMMANDS.items() if "file" in signature(made()).parameters)
LAYOUT_COMMANDS = [*(name for name in COMMANDS if name != "new"), "compare"]


def test_every_command_is_walked() -> None:
    assert set(app.COMMANDS) == {*LAYOUT_COMMANDS, "check", "explain", "new", "lsp"}


@pytest.mark.parametrize("command", LAYOUT_COMMANDS)
def test_every_command_tells_the_same_of_a_bad_file(
    command: str, yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("good.toml").write_text(yard.read_text())
    yard.write_text(yard.read_text().replace('"14 V"', "14"))
    assert main([command, "yard.toml", *MORE.get(command, [])]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "yard.toml:6:11" in err
    assert 'write "14 V"' in err


@pytest.mark.parametrize("command", LAYOUT_COMMANDS)
def test_every_command_reads_standard_input(
    command: str, yard: Path, capsysbinary: pytest.CaptureFixture[bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    Path("good.toml").write_text(yard.read_text())
    text = yard.read_bytes()
    more = MORE.get(command, [])
    assert main([command, "yard.toml", *more]) in (0, 1)
    from_file = capsysbinary.readouterr().out
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text)))
    main([command, "-", *more, "--stdin-filename", "yard.toml"])
    assert capsysbinary.readouterr().out == from_file
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text.replace(b'"14 V"', b"14"))))
    assert main([command, "-", *more]) == 2
    out, err = capsysbinary.readouterr()
    assert out == b""
    assert b"stdin.toml" in err


def test_what_stands_beside_a_layout_is_read_from_standard_input_too(yard: Path) -> None:
    readings = Path("z-readings.toml").read_bytes()
    assert (
        blockcheck("trace", "yard.toml", "-", stdin=readings).stdout
        == blockcheck("trace", "yard.toml", "z-readings.toml").stdout
    )
    bad = blockcheck("trace", "yard.toml", "-", stdin=b"format = 2\n", stdout=subprocess.PIPE)
    assert (bad.returncode, b"stdin.toml:1:10" in bad.stderr) == (2, True)
    earlier = blockcheck("check", "yard.toml", "-f", "json").stdout
    Path("earlier.json").write_bytes(earlier)
    expected = blockcheck("check", "yard.toml", "--baseline", "earlier.json")
    run = blockcheck("check", "yard.toml", "--baseline", "-", stdin=earlier)
    assert (run.returncode, run.stdout) == (expected.returncode, expected.stdout)
    assert blockcheck("check", "yard.toml", "--baseline", "-", stdin=b"\xff").returncode == 2
    expected = blockcheck("bench", "yard.toml", "--since", "yard.toml")
    run = blockcheck("bench", "yard.toml", "--since", "-", stdin=yard.read_bytes())
    assert (run.returncode, run.stdout) == (0, expected.stdout)


def test_a_new_file_is_a_right_layout_and_force_overwrites(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "yard.toml", "--force"]) == 0
    assert main(["check", "yard.toml"]) == 0
    capsys.readouterr()


def blockcheck(*call: str, stdin: bytes = b"", stdout: int = subprocess.PIPE) -> subprocess.CompletedProcess[bytes]:
    """Run the command in a process of its own."""
    command = [sys.executable, "-m", "blockcheck", *call]
    return subprocess.run(command, input=stdin, stdout=stdout, stderr=subprocess.PIPE, timeout=60, check=False)


def shell(script: str) -> subprocess.CompletedProcess[bytes]:
    """Run a script of the shell, to which $0 is Python."""
    return subprocess.run(["sh", "-c", script, sys.executable], capture_output=True, timeout=60, check=False)


@pytest.mark.parametrize("data", [b"", b"format = ", b"\xff", b"format = 1\n[layout]\nname = 3\n"])
def test_a_process_tells_of_bad_input_with_its_exit_status(data: bytes, yard: Path) -> None:
    (yard.parent / "bad.toml").write_bytes(data)
    run = blockcheck("check", "bad.toml")
    assert run.returncode == 2
    assert b"bad.toml:" in run.stdout
    assert b"Traceback" not in run.stdout + run.stderr
    run = blockcheck("check", "bad.toml", "--format", "json")
    assert run.returncode == 2
    assert json.loads(run.stdout)["findings"][0]["file"] == "bad.toml"


def test_standard_input_has_a_place(yard: Path) -> None:
    text = yard.read_bytes()
    assert blockcheck("check", "-", stdin=text).returncode == 0
    bad = text.replace(b'"14 V"', b"14")
    assert b"stdin.toml:6:11" in blockcheck("check", "-", stdin=bad).stdout
    run = blockcheck("check", "-", "--stdin-filename", "sub/mine.toml", stdin=bad)
    assert (run.returncode, b"sub/mine.toml:6:11" in run.stdout) == (2, True)
    run = blockcheck("channels", "-", "--stdin-filename", "mine.toml", stdin=b"format = 1\ninclude = ['no.toml']\n")
    assert (run.returncode, b"mine.toml:2:12" in run.stderr) == (2, True)
    run = blockcheck("check", "-", "--stdin-filename", "yard.toml", stdin=b"format = 1\ninclude = ['yard.toml']\n")
    assert (run.returncode, b"in a circle" in run.stdout) == (2, True)


def test_an_include_beside_standard_input(yard: Path) -> None:
    (yard.parent / "sub").mkdir()
    (yard.parent / "sub" / "power.toml").write_text("[boosters.B9]\nvoltage = 14\n")
    text = b"include = ['power.toml']\n" + yard.read_bytes()
    run = blockcheck("check", "-", "--stdin-filename", "sub/mine.toml", stdin=text)
    assert (run.returncode, b"sub/power.toml:2:11" in run.stdout) == (2, True)


def test_a_reader_that_goes_away_changes_no_status(yard: Path) -> None:
    for text, status in ((yard.read_text(), 0), (yard.read_text().replace('"14 V"', "14"), 2)):
        yard.write_text(text)
        out, into = os.pipe()
        os.close(out)
        try:
            run = blockcheck("check", "yard.toml", stdout=into)
        finally:
            os.close(into)
        assert (run.returncode, run.stderr) == (status, b"")


def test_nowhere_to_write(yard: Path) -> None:
    script = '"$0" -m blockcheck check yard.toml'
    for streams, status in ((">&-", 0), (">&- 2>&-", 0), ("> /dev/full", 2), ("> /dev/full 2>&-", 2)):
        run = shell(f"{script} {streams}")
        assert run.returncode == status, streams
        assert b"Traceback" not in run.stderr
    assert b"standard output cannot be written: no space left" in shell(f"{script} > /dev/full").stderr


def test_nowhere_to_read_from(yard: Path) -> None:
    script = '"$0" -m blockcheck check -'
    for streams, words in (
        ("<&-", b"which format"),
        ("0> out.txt", b"standard input cannot be read: bad file descriptor"),
    ):
        run = shell(f"{script} {streams}")
        assert run.returncode == 2
        assert words in run.stdout + run.stderr
        assert b"Traceback" not in run.stderr
