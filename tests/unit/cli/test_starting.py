"""The command ``new``: its options, what it asks on a terminal and nowhere else, and what it says to a slip."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
from pathlib import Path

import pytest

import blockcheck
from blockcheck.__main__ import main


def on_a_terminal(folder: Path, answers: str, *words: str) -> tuple[int, str]:
    """Run ``new`` as somebody does who sits before it: the exit status, and all that is on the screen."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "blockcheck", "new", *words],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        cwd=folder,
        close_fds=True,
    )
    os.close(theirs)
    os.write(ours, answers.encode())
    seen = b""
    while select.select([ours], [], [], 20)[0]:
        try:
            part = os.read(ours, 4096)
        except OSError:  # the other side is closed
            break
        if not part:
            break
        seen += part
    os.close(ours)  # one that still waits for an answer is told so
    return process.wait(timeout=30), seen.decode().replace("\r\n", "\n")


def test_it_asks_on_a_terminal_until_an_answer_can_be(tmp_path: Path) -> None:
    status, seen = on_a_terminal(tmp_path, "41\n14\n2\nac\ndcc\n8\n8,8\nimperial\n\nno\nTeasel\nteasel.toml\n")
    assert status == 0, seen
    for told in (
        "dcc or dc",
        "a yard of 41 tracks is not written",
        "the boards have 8; write more boards, such as 8,8",
        "[8 ft]",
    ):
        assert told in seen
    text = (tmp_path / "teasel.toml").read_text("utf-8")
    wish = {"ends": 2, "boards": (8, 8), "units": "imperial", "isolators": False, "name": "Teasel"}
    assert text == blockcheck.new("teasel.toml", tracks=14, **wish).text  # type: ignore[arg-type]


def test_what_it_offers_makes_a_yard_and_nought_the_short_file(tmp_path: Path) -> None:
    assert on_a_terminal(tmp_path, "\n" * 9)[0] == 0
    assert (tmp_path / "layout.toml").read_text("utf-8") == blockcheck.new(tracks=6).text
    assert on_a_terminal(tmp_path, "0\n", "short.toml")[0] == 0
    (tmp_path / "other.toml").write_text("this is kept\n", "utf-8")
    assert (tmp_path / "short.toml").read_text("utf-8") == blockcheck.new("short.toml").text
    status, seen = on_a_terminal(tmp_path, "0\nother.toml\nthird.toml\n")
    assert status == 0
    assert "exists already" in seen


def test_of_two_cabs_it_asks_neither_boards_nor_switches(tmp_path: Path) -> None:
    status, seen = on_a_terminal(tmp_path, "5\n1\ndc\nmetric\n\nTeasel\nteasel.toml\n")
    assert status == 0, seen
    wish = {"kind": "dc", "name": "Teasel"}
    assert (tmp_path / "teasel.toml").read_text("utf-8") == blockcheck.new("teasel.toml", tracks=5, **wish).text  # type: ignore[arg-type]


def test_it_asks_nothing_where_nobody_sits_or_anything_is_said(tmp_path: Path) -> None:
    call = [sys.executable, "-m", "blockcheck", "new"]
    done = subprocess.run(call, input="14\n", capture_output=True, text=True, cwd=tmp_path, check=True, timeout=30)
    assert (done.stdout, done.stderr) == (blockcheck.new().text, "")
    status, seen = on_a_terminal(tmp_path, "", "yard.toml", "--tracks", "3")
    assert (status, seen) == (0, "yard.toml is written. Check it with: blockcheck check yard.toml\n")


@pytest.mark.parametrize(
    ("words", "message", "help_"),
    [
        ("--ends 2", "ends is of a yard, and how many tracks it has is not said", "--tracks 14"),
        ("--tracks 0", "a yard of 0 tracks is not written", "write 1 to 40"),
        ("--tracks 9 --ends 3", "one end or two, not 3", "write 1 or 2"),
        ("--tracks 9 --boards 8", "9 tracks and 1 throat need 10 channels, and the boards have 8", "such as 8,8"),
        ("--tracks 9 --boards 8;8", 'boards cannot be "8;8"', "with commas: 8,8"),
        ("--tracks 9 --boards 0,16", 'boards cannot be "0,16"', "1 to 100 each"),
        ("--tracks 9 --units feet", 'metric or imperial, not "feet"', "one of the two"),
        ("--tracks 9 --length 16", "the length of a track: expected a length", "16 m"),
        ("--tracks 9 --length 2km", 'a track of "2km" is not written', "0.5 m to 15 m"),
    ],
)
def test_a_slip_is_told_with_what_to_write(
    words: str, message: str, help_: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", *words.split()]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert message in told.err
    assert help_ in told.err
