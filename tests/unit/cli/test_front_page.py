"""The hook for pre-commit and the workflow of the front page: both are what they should be, and run as they stand."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from blockcheck.__main__ import main

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
