"""The hook for pre-commit and the workflow of the front page: both are what they should be, and run as they stand."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
import yaml

from blockcheck.__main__ import main
from blockcheck.cli import app

ROOT = Path(__file__).resolve().parents[3]
MANIFEST = ROOT / ".pre-commit-hooks.yaml"


def shown(start: str) -> str:
    """The block of the front page that begins so."""
    blocks = [one.partition("```")[0] for one in (ROOT / "README.md").read_text("utf-8").split("```yaml\n")[1:]]
    (block,) = [one for one in blocks if one.startswith(start)]
    return block


def test_pre_commit_takes_the_manifest() -> None:
    call = [sys.executable, "-m", "pre_commit", "validate-manifest", str(MANIFEST)]
    done = subprocess.run(call, capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_the_hook_checks_the_files_of_its_arguments(capsys: pytest.CaptureFixture[str]) -> None:
    (hook,) = yaml.safe_load(MANIFEST.read_text("utf-8"))
    assert hook["pass_filenames"] is False  # an included file is no layout by itself
    program, *call = hook["entry"].split()
    assert program == "blockcheck"
    assert main([*call, str(ROOT / "examples" / "club-yard" / "club.toml")]) == 0
    assert main([*call, str(ROOT / "examples" / "faulty-yard" / "yard.toml")]) == 1
    assert main(call) == 2  # no file is named in args
    assert "FILE" in capsys.readouterr().err


def test_a_settings_file_that_uses_it_is_one(tmp_path: Path) -> None:
    settings = tmp_path / ".pre-commit-config.yaml"
    settings.write_text(shown("repos:"), "utf-8")
    call = [sys.executable, "-m", "pre_commit", "validate-config", str(settings)]
    done = subprocess.run(call, capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_the_workflow_runs_as_it_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    workflow = yaml.safe_load(shown("# .github/workflows/"))
    assert workflow["permissions"] == {"contents": "read"}
    job = workflow["jobs"]["check"]
    assert job["permissions"] == {"contents": "read", "security-events": "write"}
    assert all(re.search(r"@v\d+$", step["uses"]) for step in job["steps"] if "uses" in step)
    (call,) = [step["run"] for step in job["steps"] if step.get("run", "").startswith("blockcheck ")]
    shutil.copytree(ROOT / "examples" / "club-yard", tmp_path / "club")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("GITHUB_STEP_SUMMARY", raising=False)
    assert main(call.split()[1:]) == 0
    (upload,) = [step for step in job["steps"] if step.get("uses", "").startswith("github/codeql-action/upload-sarif@")]
    assert (tmp_path / upload["with"]["sarif_file"]).is_file()
    assert upload["if"] == "always()"  # when the check fails, most of all


FRONT = (ROOT / "README.md").read_text("utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
SETS_UP, TESTS = (line for line in FRONT.splitlines() if line.startswith("python3 -m venv"))


def commands(language: str = "sh") -> list[str]:
    """The lines of the front page that are to be typed, without what is said of them."""
    blocks = [one.partition("```")[0] for one in FRONT.split(f"```{language}\n")[1:]]
    lines = [line.partition("  #")[0].strip() for block in blocks for line in block.splitlines()]
    return [line for line in lines if line and not line.startswith("#")]


def test_every_command_of_the_front_page_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those that set up are run by whoever reads it, and by .ci/run; the others here, one after another."""
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    shutil.copy(ROOT / "examples" / "small-yard" / "yard.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    assert main(["bench", "yard.toml", "--format", "toml", "-o", "readings.toml"]) == 0
    sheet = Path("readings.toml").read_text("utf-8")
    Path("readings.toml").write_text(sheet.replace('reading = ""', 'reading = "ok"', 1), "utf-8")
    left = []
    for line in commands():
        if line.startswith("blockcheck "):
            small = line.replace("club-yard/club.toml", "small-yard/yard.toml")  # which takes a second, not ten
            assert main(small.split()[1:]) == 0, line
        else:
            left.append(line)
    assert left == [
        SETS_UP,
        "git show main:yard.toml | blockcheck compare - yard.toml --stdin-filename yard.toml",
        TESTS,
    ]
    assert Path("my-yard.svg").read_text("utf-8").startswith("<svg")


def test_both_shells_are_told_the_same() -> None:
    (other,) = commands("powershell")
    same = other.replace("\\Scripts\\", "/bin/").replace("\\", "/").replace("; ", " && ").replace("py -m", "python3 -m")
    assert same == SETS_UP


def test_the_tests_are_those_that_run_everywhere() -> None:
    assert (ROOT / ".ci" / "run").read_text("utf-8").rstrip().endswith(TESTS)


def test_names_of_the_distribution_are_the_one_that_it_has() -> None:
    told = re.findall(r"pip install \"([\w-]+)", FRONT) + re.findall(r"pip install \"([\w-]+)", app.INSTALL_EDITOR)
    assert set(told) == {PROJECT["name"]}
    assert "editor" in PROJECT["optional-dependencies"]
    assert f'"{PROJECT["name"]}[editor]"'[1:-1] in PROJECT["optional-dependencies"]["dev"]


def test_the_hook_is_pinned_to_a_commit() -> None:
    """A tag that does not exist yet, and a branch that moves, are both refused by pre-commit."""
    (repo,) = yaml.safe_load(shown("repos:"))["repos"]
    assert re.fullmatch("[0-9a-f]{40}", str(repo["rev"]))
    assert "rev-parse HEAD" in shown("repos:")
