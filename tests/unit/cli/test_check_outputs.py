"""check in all its forms at once: files beside standard output, repository-relative names, same bytes anywhere."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from urllib.parse import unquote

import pytest

import blockcheck
from blockcheck.__main__ import main

ROOT = Path(__file__).resolve().parents[3]
SNAPSHOTS = ROOT / "tests" / "snapshots" / "reports"
FORMATS = {"json": "json", "sarif": "sarif", "junit": "xml", "github": "txt"}
YARD = "examples/faulty-yard/yard.toml"


def run(folder: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    source = str(Path(blockcheck.__file__).parents[1])
    known = {name: value for name, value in os.environ.items() if not name.startswith("GITHUB_")}
    return subprocess.run(
        [sys.executable, "-m", "blockcheck", *arguments],
        cwd=folder,
        env={**known, "PYTHONPATH": source, **environment},
        capture_output=True,
        check=False,
        timeout=120,
    )


def shown(folder: Path) -> dict[str, str]:
    """What each format says of the faulty yard, and the job's summary."""
    outputs = [f"--output={name}={folder / f'check.{name}'}" for name in FORMATS]
    summary = folder / "summary.md"
    assert run(ROOT, "check", YARD, *outputs, GITHUB_STEP_SUMMARY=str(summary)).returncode == 1
    found = {f"check.{ending}": (folder / f"check.{name}").read_text("utf-8") for name, ending in FORMATS.items()}
    found["check.sarif"] = without_rules(found["check.sarif"])
    found["check.xml"] = CASES.sub("", found["check.xml"]).replace(SUITE.search(found["check.xml"])[0], "")  # type: ignore[index]
    return {**found, "summary.md": summary.read_text("utf-8")}


KEPT = "isolation-overreach|gap-missing|train-too-long"
CASES = re.compile(rf' *<testcase classname="blockcheck\.(?!{KEPT})[^>]*?(/>|>.*?</testcase>)\n', re.S)
SUITE = re.compile(r' tests="\d+" failures="\d+" errors="\d+" skipped="\d+"')


def without_rules(text: str) -> str:
    """A SARIF log without what each rule says, and where it stands among them, which changes with every new rule."""
    assert f'"{blockcheck.__version__}"' in text
    text = re.sub(r' *"ruleIndex": \d+,\n', "", text.replace(f'"{blockcheck.__version__}"', '"VERSION"'))
    return re.sub(r'("rules": \[).*?^( {10}\])', r"\1\2", text, flags=re.S | re.M)


def test_each_format_is_as_it_was(tmp_path: Path) -> None:
    """``python tests/unit/cli/test_check_outputs.py`` writes them anew, for a look at what has changed."""
    for name, text in shown(tmp_path).items():
        assert text == (SNAPSHOTS / f"faulty-yard.{name}").read_text("utf-8"), name


def test_the_same_bytes_anywhere(tmp_path: Path) -> None:
    """Under another working directory, with and without a path, and with another hash seed."""
    found: dict[str, set[bytes]] = {name: set() for name in ("text", *FORMATS)}
    for number, (folder, top) in enumerate([("one", True), ("two/deeper", True), ("three", False)]):
        (tmp_path / folder).mkdir(parents=True)
        shutil.copy(ROOT / YARD, tmp_path / folder / "yard.toml")
        if top:
            (tmp_path / folder / ".git").mkdir()
        for name in found:
            done = run(tmp_path / folder, "check", "yard.toml", "--format", name, PYTHONHASHSEED=str(number))
            assert done.returncode == 1
            assert str(tmp_path).encode() not in done.stdout
            found[name].add(done.stdout)
    assert {name: len(texts) for name, texts in found.items()} == dict.fromkeys(found, 1)


def places(text: bytes, form: str) -> set[str]:
    if form == "sarif":
        return {unquote(uri) for uri in re.findall(r'"uri": "([^"]*)"', text.decode())}
    return {one.replace("%2C", ",").replace("%3A", ":") for one in re.findall(r" file=([^,]*),", text.decode())}


@pytest.mark.parametrize("form", ["sarif", "github"])
def test_files_are_named_from_the_top_of_the_repository(form: str, tmp_path: Path) -> None:
    club = tmp_path / "club" / "lay out"
    shutil.copytree(ROOT / "examples" / "faulty-yard", club)
    (tmp_path / ".git").write_text("gitdir: elsewhere\n", "utf-8")  # as in a work tree
    (tmp_path / "else").mkdir()
    calls = [
        (tmp_path, "club/lay out/yard.toml"),
        (club, "yard.toml"),
        (tmp_path / "else", "../club/lay out/yard.toml"),
        (tmp_path / "else", str(club / "yard.toml")),
        (tmp_path, str(club / "yard.toml")),
    ]
    for folder, name in calls:
        assert places(run(folder, "check", name, "-f", form).stdout, form) == {"club/lay out/yard.toml"}, name


def test_several_outputs_in_one_run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    paths = {name: tmp_path / name for name in FORMATS}
    assert main(["check", str(ROOT / YARD), *(f"-o{name}={path}" for name, path in paths.items())]) == 1
    named = [tmp_path / "a.sarif", tmp_path / "a.xml"]  # the endings tell the formats
    assert main(["check", str(ROOT / YARD), *(f"-o{path}" for path in named)]) == 1
    assert [path.read_bytes() for path in named] == [paths["sarif"].read_bytes(), paths["junit"].read_bytes()]
    capsys.readouterr()
    assert paths["junit"].read_text("utf-8").startswith("<?xml")
    assert paths["github"].read_text("utf-8").startswith("::error ")
    assert json.loads(paths["sarif"].read_text("utf-8"))["version"] == "2.1.0"
    assert json.loads(paths["json"].read_text("utf-8"))["format"] == 1


def test_the_summary_is_appended_when_annotations_are_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    summary = tmp_path / "summary.md"
    summary.write_text("before\n", "utf-8")
    monkeypatch.setenv("GITHUB_STEP_SUMMARY", str(summary))
    assert main(["check", str(ROOT / YARD)]) == 1
    assert summary.read_text("utf-8") == "before\n"
    assert main(["check", str(ROOT / YARD), "-f", "github"]) == 1
    assert summary.read_text("utf-8").startswith("before\n## blockcheck: Osier Bank\n")
    assert main(["check", str(ROOT / YARD), f"-ogithub={tmp_path / 'notes'}"]) == 1
    assert summary.read_text("utf-8").count("## blockcheck") == 2
    summary.write_bytes(b"x" * (1 << 20))  # no room
    assert main(["check", str(ROOT / YARD), "-f", "github"]) == 1
    assert summary.stat().st_size == 1 << 20
    monkeypatch.setenv("GITHUB_STEP_SUMMARY", str(tmp_path / "no" / "folder"))
    capsys.readouterr()
    assert main(["check", str(ROOT / YARD), "-f", "github"]) == 2
    assert "cannot be written" in capsys.readouterr().err


def test_standard_input_has_the_name_that_it_is_given() -> None:
    text = b"format = 1\n[layout]\nname = 3\n"
    done = subprocess.run(
        [sys.executable, "-m", "blockcheck", "check", "-", "--stdin-filename", "a,b.toml", "-f", "github"],
        input=text,
        env={**os.environ, "PYTHONPATH": str(Path(blockcheck.__file__).parents[1]), "GITHUB_STEP_SUMMARY": ""},
        capture_output=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 2
    assert done.stdout.startswith(b"::error file=a%2Cb.toml,line=2,")


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        for file, content in shown(Path(folder)).items():
            (SNAPSHOTS / f"faulty-yard.{file}").write_text(content, "utf-8")
