"""The library as its page shows it, and in the first five lines of a stranger, who has a type checker too."""

from __future__ import annotations

import doctest
import re
import subprocess
import sys
from pathlib import Path

import pytest

import blockcheck

ROOT = Path(__file__).resolve().parents[2]
SHOWN = re.findall(r"```pycon\n(.*?)```", (ROOT / "README.md").read_text("utf-8"), re.S)
LAYOUTS = {ROOT / "examples" / "faulty-yard" / "yard.toml": "S4", ROOT / "examples" / "small-yard" / "yard.toml": "1-2"}
"""Layout -> tracks of it."""
STRANGER = """\
import sys
from pathlib import Path

import blockcheck

yard = blockcheck.load(Path(sys.argv[1]))
for finding in blockcheck.check(yard).findings:
    print(finding)
answer = blockcheck.isolate(yard, sys.argv[2])
print(blockcheck.render(answer, "markdown"))
"""
WRONG = """\
import blockcheck
from blockcheck.types import ChannelMap, Study

def first(study: Study) -> int:
    found: ChannelMap = blockcheck.channels(study)
    return found.rows[0].block  # a name and no number

blockcheck.powr
blockcheck.render(blockcheck.new(), "xlsx").encode()
blockcheck.check("yard.toml")
blockcheck.render(blockcheck.new(), "text", wide=100)
reveal_type(blockcheck.render(blockcheck.new(), "json"))
reveal_type(blockcheck.explain("gap-missing"))
reveal_type(blockcheck.explain())
"""


def test_what_the_front_page_shows_is_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    assert len(SHOWN) == 4
    page = doctest.DocTestParser().get_doctest("\n".join(SHOWN), {}, "README", "README.md", 0)
    told: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.REPORT_NDIFF)
    result = runner.run(page, out=told.append)
    assert result.attempted > 12
    assert result.failed == 0, "".join(told)


def test_the_docstring_of_the_package_is_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT / "examples" / "club-yard")
    lines = str(blockcheck.__doc__).split("::\n\n")[1].split("\n\n")[0]
    code = "\n".join(line.removeprefix("    ") for line in lines.splitlines())
    exec(code.replace("yard.toml", "club.toml").replace("3-7", "lower:3-5"), {"blockcheck": blockcheck})
    assert "# Isolating lower:3-5" in capsys.readouterr().out


def mypy(path: Path, code: str) -> str:
    path.write_text(code, "utf-8")
    call = [sys.executable, "-m", "mypy", "--strict", "--config-file=", "--cache-dir", str(path.parent / "cache")]
    done = subprocess.run([*call, path.name], cwd=path.parent, capture_output=True, text=True, check=False, timeout=600)
    assert done.stderr == ""
    return done.stdout


def test_the_first_lines_of_a_stranger_run(tmp_path: Path) -> None:
    path = tmp_path / "first.py"
    path.write_text(STRANGER, "utf-8")
    for layout, tracks in LAYOUTS.items():
        call = [sys.executable, path.name, str(layout), tracks]
        done = subprocess.run(call, cwd=tmp_path, capture_output=True, text=True, check=True, timeout=60)
        assert done.stderr == ""
        assert done.stdout.count(": error: ") == len(blockcheck.check(blockcheck.load(layout)).findings)
        assert "\n| block " in done.stdout


def test_a_strict_type_checker_takes_them_and_finds_what_is_wrong(tmp_path: Path) -> None:
    assert mypy(tmp_path / "first.py", STRANGER) == "Success: no issues found in 1 source file\n"
    told = mypy(tmp_path / "wrong.py", WRONG)
    for line, said in (
        (6, "Incompatible return value type"),
        (8, 'Module has no attribute "powr"'),
        (9, '"bytes" has no attribute "encode"'),
        (10, 'Argument 1 to "check" has incompatible type "str"; expected "Study"'),
        (11, "wide"),
        (12, 'Revealed type is "str"'),
        (13, "RuleAnswer | "),
        (14, "Reference"),
    ):
        assert re.search(rf"(?m)^wrong\.py:{line}: \w+: .*{re.escape(said)}", told), f"{line}: {said}\n{told}"
