"""Every write happens whole or is told: each call of the system that writing takes is made to fail, one at a time.

The way of curl's torture tests (their documentation, "Test Architecture"): count the calls that may fail, then run the
same once for each of them, and let that one fail.
"""

from __future__ import annotations

import errno
import io
import os
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from blockcheck.__main__ import main

CALLS = ("open", "write", "fsync", "chmod", "link", "replace", "close")
REFUSALS = {"open": errno.EACCES, "fsync": errno.EIO, "close": errno.EIO, "replace": errno.EPERM, "chmod": errno.EPERM}
SAME: dict[str, list[str]] = {
    # what is written: the call; each time over an earlier answer
    "one file": ["channels", "yard.toml", "-o", "old.csv"],
    "many files": ["channels", "yard.toml", "-o", "old.csv", "-o", "old.xlsx", "-o", "new.toml", "-o", "link.html"],
    "files alone": ["book", "yard.toml", "-o", "link.html", "-o", "new.xlsx"],
    "reports": ["check", "yard.toml", "-f", "junit", "-o", "sarif=old.sarif", "-o", "old.json", "-o", "github=new"],
    "a deck": ["power", "yard.toml", "--netlist", "old.cir"],
    "a sheet to fill in": ["bench", "yard.toml", "-o", "old.toml"],
    "a first layout": ["new", "first.toml"],
    "a first layout over another": ["new", "yard2.toml", "--force"],
    "mends of two files": ["check", "slips.toml", "--mend", "--yes"],
}


class Failing:
    """The calls of the system that write, counted by name; the ``n``-th of one name fails."""

    def __init__(self, name: str | None = None, n: int = 0, error: BaseException | None = None) -> None:
        self.name, self.n, self.error = name, n, error
        self.counts: Counter[str] = Counter()

    def wrapped(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            self.counts[name] += 1
            if (name, self.counts[name]) == (self.name, self.n):
                if name == "close":
                    real(*arguments)
                assert self.error is not None
                raise self.error
            return real(*arguments, **named)

        return call


class Screen(io.RawIOBase):
    """Standard output that takes some bytes at a time."""

    def __init__(self, failing: Failing) -> None:
        self.taken = bytearray()
        self.write = failing.wrapped("print", self.take)  # type: ignore[method-assign]

    def writable(self) -> bool:
        return True

    def take(self, data: Any) -> int:
        part = bytes(data)[:4096]
        self.taken += part
        return len(part)


@contextmanager
def shimmed(failing: Failing) -> Iterator[Screen]:
    screen = Screen(failing)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stdout", io.TextIOWrapper(io.BufferedWriter(screen), "utf-8"))
        for name in CALLS:
            patch.setattr(os, name, failing.wrapped(name, getattr(os, name)))
        yield screen


@pytest.fixture
def yard(good: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a layout, and an earlier answer of each kind."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("GITHUB_STEP_SUMMARY", raising=False)
    Path("yard.toml").write_text(good.replace("1.8 m", "1.6 m").replace("Tannery", "Mill"))
    for command, outputs in {
        "channels": ["old.csv", "old.xlsx", "real.html"],
        "check": ["sarif=old.sarif", "old.json"],
        "power": ["netlist=old.cir"],
        "bench": ["old.toml"],
    }.items():
        assert main([command, "yard.toml", *(word for one in outputs for word in ("-o", one))]) == 0
    Path("old.csv").chmod(0o640)
    Path("link.html").symlink_to("real.html")
    Path("yard2.toml").write_text(good)
    Path("slips.toml").write_text("include = ['slipped.toml']\n" + good.replace("channel =", "chanel =", 1))
    Path("slipped.toml").write_text("[loads.slipped]\nidl = '20 mA'\n")
    Path("yard.toml").write_text(good)
    return tmp_path


def found(folder: Path) -> dict[str, tuple[int, bytes]]:
    """Every file, by its name: its mode and bytes."""
    return {one.name: (one.lstat().st_mode, one.read_bytes()) for one in folder.iterdir()}


def put_back(folder: Path, files: dict[str, tuple[int, bytes]]) -> None:
    for one in folder.iterdir():
        if one.name not in files:
            one.unlink()
        elif not one.is_symlink():
            one.write_bytes(files[one.name][1])


@pytest.mark.parametrize("what", SAME)
def test_every_write_is_whole_or_told(what: str, yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    call, before = SAME[what], found(yard)
    counted = Failing()
    with shimmed(counted) as screen:
        assert main(call) == 0
    after, printed = found(yard), bytes(screen.taken)
    assert after != before
    assert {"open", "write", "fsync", "replace", "close", "print"} <= counted.counts.keys()
    capsys.readouterr()
    for name, count in counted.counts.items():
        for n in range(1, count + 1):
            for error in (OSError(REFUSALS.get(name, errno.ENOSPC), "the disk says no"), KeyboardInterrupt()):
                put_back(yard, before)
                with shimmed(Failing(name, n, error)) as screen:
                    status = main(call)
                told = capsys.readouterr().err
                place = (name, n, error)
                if name == "link" and isinstance(error, OSError):  # a disk without links: a copy does as well
                    assert (status, told, found(yard), bytes(screen.taken)) == (0, "", after, printed), place
                    continue
                assert found(yard) == before, place
                if isinstance(error, OSError):
                    assert status == 2, place
                    assert told.startswith("error  "), place
                    assert "cannot be written: the disk says no\n" in told, place
                    assert len(told.splitlines()) <= 2, place
                else:
                    assert (status, told) == (130, ""), place


def test_what_cannot_be_put_back_is_told_where_it_is(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = found(yard)
    with shimmed(Failing()), pytest.MonkeyPatch.context() as patch:
        real, calls = os.replace, list[str]()

        def replace(*arguments: Any) -> None:
            calls.append("")
            if len(calls) > 1:
                raise OSError(errno.EIO, "the disk says no")
            real(*arguments)

        patch.setattr(os, "replace", replace)
        assert main(SAME["many files"]) == 2
    told = capsys.readouterr().err
    assert '"old.csv" cannot be put back' in told
    (left,) = (one for one in yard.iterdir() if one.name.startswith(".blockcheck-"))
    assert f"what it held is in {left.name}" in told
    assert left.read_bytes() == before["old.csv"][1]


def test_a_summary_is_added_whole_or_not_at_all(
    yard: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("GITHUB_STEP_SUMMARY", "summary.md")
    Path("summary.md").write_text("What an earlier step said.\n")
    call, before, counted = ["check", "yard.toml", "-f", "github"], found(yard), Failing()
    with shimmed(counted):
        assert main(call) == 0
    capsys.readouterr()
    for name in ("open", "write", "close"):
        assert counted.counts[name] == 1
        Path("summary.md").write_text("What an earlier step said.\n")
        with shimmed(Failing(name, 1, OSError(errno.ENOSPC, "the disk says no"))):
            assert main(call) == 2
        assert '"summary.md" cannot be written: the disk says no' in capsys.readouterr().err
        assert found(yard) == before
