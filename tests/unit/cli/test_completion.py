"""What the shell is offered, as each shell's own script asks for it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import blockcheck
from blockcheck.__main__ import main
from blockcheck.answers.explain import names
from blockcheck.cli import app
from blockcheck.rules import RULES

ROOT = Path(__file__).resolve().parents[3]
YARD = "examples/small-yard/yard.toml"


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    source = str(Path(blockcheck.__file__).parents[1])
    return subprocess.run(
        [sys.executable, "-m", "blockcheck", *arguments],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": source, **environment},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def offered(line: str) -> list[str]:
    """What bash is offered for the last word of a line."""
    words = line.split(" ")
    done = run(_BLOCKCHECK_COMPLETE="complete_bash", COMP_WORDS="\n".join(words), COMP_CWORD=str(len(words) - 1))
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout.split()


def test_commands_rules_and_keys() -> None:
    assert "isolate" in offered("blockcheck ")
    assert offered("blockcheck explain ") == names()
    assert offered("blockcheck explain isolation-") == [
        rule.name for rule in RULES if rule.name.startswith("isolation-")
    ]
    assert "blocks.length" in offered("blockcheck explain blocks.l")


COMMANDS = list(app.COMMANDS)


@pytest.mark.parametrize("command", [one for one in COMMANDS if one != "lsp"])
def test_formats_are_those_of_the_command(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "110")
    readings = tmp_path / "readings.toml"
    readings.write_text('format = 1\n[[steps]]\nid = "rails.R1"\n', "utf-8")
    found = offered(f"blockcheck {command} --format ")
    call = [
        command,
        *([YARD] if command not in ("explain", "new") else []),
        *(["R1"] * (command in ("isolate", "where"))),
        *([YARD] * (command == "compare")),
        *([str(readings)] * (command == "trace")),
    ]
    assert main([*call, "--format", "none"]) == 2
    assert f"it has {', '.join(found)}\n" in capsys.readouterr().err
    if command != "new":
        assert offered(f"blockcheck {command} --output ") == [f"{name}=" for name in found]
    assert main([command, "--help"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert f"What to write to standard output: {', '.join(found)}" in told


def test_help_tells_each_command_in_a_whole_sentence() -> None:
    lines = run("--help", COLUMNS="80").stdout.split("Commands:\n")[1].split("\n\n")[0].splitlines()
    assert [line.split()[0] for line in lines] == COMMANDS
    assert all(line.endswith(".") and not line.endswith("...") for line in lines)


def test_tracks_and_scenarios_are_those_of_the_layout() -> None:
    assert {"R1", "neck", "I3"} <= set(offered(f"blockcheck isolate {YARD} "))
    assert offered(f"blockcheck isolate {YARD} R1,ne") == ["R1,neck"]
    assert offered(f"blockcheck isolate {YARD} R1 --scenario ") == ["night", "morning"]
    assert offered(f"blockcheck where {YARD} I3") == ["I3", "I3:in", "I3:out"]
    assert offered("blockcheck isolate no-such-file.toml R") == []
    assert offered("blockcheck check --fail-on w") == ["warning"]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_names_the_program(shell: str) -> None:
    done = run("--show-completion", shell, SHELL=f"/bin/{shell}", _TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION="1")
    assert "_BLOCKCHECK_COMPLETE=complete_" in done.stdout
    assert "python" not in done.stdout


def test_it_is_installed_where_the_shell_looks(tmp_path: Path) -> None:
    home = {"HOME": str(tmp_path), "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    done = run("--install-completion", "bash", **home)
    assert done.returncode == 0
    assert "blockcheck" in (tmp_path / ".bashrc").read_text("utf-8")
