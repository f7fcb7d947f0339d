"""A machine on a bad day: files without end, pipes where files are meant, folders that are gone, hands on Ctrl-C."""

from __future__ import annotations

import errno
import io
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from blockcheck.__main__ import main

FAULTY = Path(__file__).resolve().parents[3] / "examples" / "faulty-yard" / "yard.toml"
MUCH = b"\n" * (8 * 2**20 + 1)


@pytest.fixture
def yard(good: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a right layout, which is the current one."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "yard.toml"
    path.write_text(good)
    return path


def shell(script: str, *arguments: str | Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """Run a script of the shell, to which $0 is Python."""
    return subprocess.run(
        ["sh", "-c", script, sys.executable, *map(str, arguments)],
        env={**os.environ, **environment},
        capture_output=True,
        timeout=60,
        check=False,
    )


@pytest.mark.parametrize(
    "call",
    [
        ["check", "much"],
        ["check", "-"],
        ["check", "yard.toml", "--baseline", "much"],
        ["check", "yard.toml", "--baseline", "-"],
        ["bench", "yard.toml", "--since", "much"],
        ["bench", "yard.toml", "--since", "-"],
        ["trace", "yard.toml", "much"],
        ["trace", "yard.toml", "-"],
        ["compare", "yard.toml", "much"],
        ["compare", "-", "yard.toml"],
        ["check", "includes.toml"],
    ],
    ids=" ".join,
)
def test_no_file_is_read_without_end(
    call: list[str], yard: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same bound for whatever is read, and the same sentence; of what has no end no more than the bound is read."""
    Path("much").write_bytes(MUCH)
    Path("includes.toml").write_text('format = 1\ninclude = ["much"]\n')
    for words in (call, ["/dev/zero" if one == "much" else one for one in call]):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(MUCH)))
        assert main(words) == 2
        assert "has more than 8 MiB, which is the most that is read" in "".join(capsys.readouterr())


def test_an_include_that_is_no_plain_file_is_not_waited_for(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    os.mkfifo("pipe.toml")
    yard.write_text('include = ["pipe.toml"]\n' + yard.read_text())
    assert main(["check", "yard.toml"]) == 2
    assert '"pipe.toml" cannot be read: it is no plain file' in capsys.readouterr().out


def test_what_may_not_be_read_is_not_taken_for_a_slip(
    yard: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(path: Path) -> bytes:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr("blockcheck.text.includes.read_bytes", refuse)
    assert main(["check", "yard.toml"]) == 2
    told = "error  yard.toml cannot be read: permission denied\n       see that you may read it\n"
    assert capsys.readouterr().err == told


@pytest.mark.parametrize("form", ["text", "sarif", "github"])
def test_a_folder_that_is_gone(form: str, yard: Path) -> None:
    script = 'mkdir gone && cd gone && rmdir ../gone && exec "$0" -m blockcheck check'
    run = shell(f'{script} "$1" -f "$2"', yard, form, GITHUB_STEP_SUMMARY="")
    assert (run.returncode, run.stderr) == (0, b"")
    run = shell(f'{script} - -o x.json < "$1"', yard)
    assert run.returncode == 2
    assert b'"x.json" cannot be written: no such file or directory' in run.stderr


@pytest.mark.parametrize(
    "call",
    [["explain", "--all"], ["explain", "blocks"], ["check", str(FAULTY), "-f", "sarif"], ["--help"], ["bench", "-h"]],
    ids=" ".join,
)
def test_help_is_there_where_python_drops_docstrings(call: list[str]) -> None:
    runs = [
        subprocess.run([sys.executable, *flag, "-m", "blockcheck", *call], capture_output=True, timeout=60, check=False)
        for flag in ([], ["-OO"])
    ]
    assert runs[0].stdout
    assert (runs[1].stdout, runs[1].stderr) == (runs[0].stdout, runs[0].stderr)


ASCII = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}


def test_names_are_found_where_the_locale_knows_ascii_alone(yard: Path) -> None:
    yard.write_text(
        yard.read_text().replace("neck", "東京").replace("[blocks.東京]", '[blocks."東京"]\ngroup = "Höfe"')
        + '[scenarios."Nächte"]\nopen = ["S1"]\n'
    )
    for words in ("isolate yard.toml 東京 -s Nächte", "draw yard.toml --open 東京,S1", "bench yard.toml --only Höfe"):
        runs = [shell(f'"$0" -m blockcheck {words}', **environment) for environment in (ASCII, {"LC_ALL": "C.UTF-8"})]
        assert runs[0].returncode == runs[1].returncode != 2
        assert (runs[0].stdout, runs[0].stderr) == (runs[1].stdout, b"")


@pytest.mark.parametrize("at", ["typer", "blockcheck.cli", "blockcheck.api", "blockcheck.formats.text"])
def test_ctrl_c_is_no_traceback_whenever_it_comes(at: str, yard: Path) -> None:
    """A hand on the keys while a module is imported, which is most of a short call."""
    script = f"""
import sys
class Hand:
    def find_spec(self, name, path=None, target=None):
        if name == {at!r}:
            raise KeyboardInterrupt
sys.meta_path.insert(0, Hand())
from blockcheck.__main__ import run
run(["check", "yard.toml"])
"""
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, timeout=60, check=False)
    assert (run.returncode, run.stdout, run.stderr) == (130, b"", b"")


def test_a_machine_without_memory_is_no_defect(
    yard: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr("blockcheck.api.power", refuse)
    assert main(["power", "yard.toml"]) == 2
    told = capsys.readouterr().err
    assert (
        told == "error  there is not enough memory for this\n       close something else, or ask for less at a time\n"
    )


def test_a_library_that_cannot_be_loaded_is_no_defect_and_a_module_of_ours_is(
    yard: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for package, status, told in (
        ("numpy.core", 2, "error  numpy cannot be loaded: no room\n       install it anew, or free some memory\n"),
        ("blockcheck.rules", 3, "error  blockcheck has a defect: ImportError at <string>:2: no room\n"),
    ):
        names: dict[str, Any] = {"__name__": package}
        exec("def refuse(*_):\n    raise ImportError('no room')", names)
        monkeypatch.setattr("blockcheck.api.power", names["refuse"])
        assert main(["power", "yard.toml"]) == status
        assert capsys.readouterr().err.startswith(told)
