"""What goes to standard output goes there whole, or the call says why not: full disks, pipes that do not wait."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
YARD = str(ROOT / "examples" / "small-yard" / "yard.toml")
BOOK = [sys.executable, "-m", "blockcheck", "book", YARD]
BUFFERED = pytest.mark.parametrize("unbuffered", ["", "1"], ids=["buffered", "unbuffered"])


def environment(unbuffered: str, **more: str) -> dict[str, str]:
    return {**os.environ, "PYTHONUNBUFFERED": unbuffered, **more}


@BUFFERED
def test_a_disk_without_room_is_told(unbuffered: str, tmp_path: Path) -> None:
    """A limit on the size of files makes short writes, as a full disk does."""
    script = 'ulimit -f 16; "$0" -m blockcheck book "$1" > out'
    run = subprocess.run(
        ["sh", "-c", script, sys.executable, YARD],
        cwd=tmp_path,
        env=environment(unbuffered),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert 0 < (tmp_path / "out").stat().st_size <= 16 * 1024
    assert (run.returncode, run.stderr) == (2, "error  standard output cannot be written: file too large\n")


@BUFFERED
def test_a_pipe_that_does_not_wait_gets_all_of_it(unbuffered: str) -> None:
    whole = subprocess.run(BOOK, capture_output=True, timeout=60, check=True).stdout
    assert len(whole) > 2**16, "more than a pipe holds"
    reading, writing = os.pipe()
    os.set_blocking(writing, False)
    with (
        subprocess.Popen(BOOK, stdout=writing, env=environment(unbuffered)) as running,
        os.fdopen(reading, "rb") as pipe,
    ):
        os.close(writing)
        time.sleep(1)  # the pipe is full by then
        assert pipe.read() == whole
        assert running.wait(60) == 0


@BUFFERED
@pytest.mark.parametrize("call", [["--help"], ["check", "--help"], ["--version"], ["check", YARD], ["explain"]])
def test_a_full_device_is_told(call: list[str], unbuffered: str) -> None:
    with Path("/dev/full").open("wb") as full:
        run = subprocess.run(
            [sys.executable, "-m", "blockcheck", *call],
            stdout=full,
            stderr=subprocess.PIPE,
            env=environment(unbuffered),
            text=True,
            timeout=60,
            check=False,
        )
    assert (run.returncode, run.stderr) == (2, "error  standard output cannot be written: no space left on device\n")


def test_a_completion_that_cannot_be_installed_is_told(tmp_path: Path) -> None:
    (tmp_path / ".bashrc").mkdir()  # nobody can write there, not even root
    run = subprocess.run(
        [sys.executable, "-m", "blockcheck", "--install-completion", "bash"],
        env=environment("", HOME=str(tmp_path), _TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION="1"),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert run.returncode == 2
    assert run.stderr == f"error  {tmp_path}/.bashrc cannot be written: is a directory\n"
