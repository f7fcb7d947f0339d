"""Nothing that was there is lost when an answer is written: devices, links, layouts, readings, other answers."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from blockcheck.__main__ import main

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "small-yard" / "yard.toml"


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "yard.toml"
    path.write_bytes(EXAMPLE.read_bytes())
    return path


def test_a_pipe_is_written_to_and_stays_a_pipe(yard: Path) -> None:
    os.mkfifo("pipe")
    read: list[bytes] = []
    reader = threading.Thread(target=lambda: read.append(Path("pipe").read_bytes()), daemon=True)
    reader.start()
    assert main(["channels", "yard.toml", "-o", "json=pipe"]) == 0
    reader.join(10)
    assert stat.S_ISFIFO(Path("pipe").stat().st_mode)
    assert b'"rows"' in read[0]


def test_a_link_stays_a_link(yard: Path) -> None:
    Path("kept").mkdir()
    Path("map.json").symlink_to("kept/map.json")
    for _ in range(2):  # the first time what it points to is not there
        assert main(["channels", "yard.toml", "-o", "map.json"]) == 0
        assert Path("map.json").is_symlink()
        assert b'"rows"' in Path("kept/map.json").read_bytes()


def test_a_file_keeps_its_mode(yard: Path) -> None:
    Path("map.json").write_text("{}")
    Path("map.json").chmod(0o640)
    assert main(["channels", "yard.toml", "-o", "map.json"]) == 0
    assert stat.S_IMODE(Path("map.json").stat().st_mode) == 0o640


def test_a_long_name_is_a_name(yard: Path) -> None:
    name = "🚂" * 60 + ".json"
    assert main(["channels", "yard.toml", "-o", name]) == 0
    assert Path(name).is_file()


@pytest.mark.parametrize("place", ["/proc/self/fd/1", "both"])
def test_where_standard_output_goes_nothing_is_lost(yard: Path, place: str) -> None:
    script = '"$0" -m blockcheck channels yard.toml -o json="$1" > both'
    assert subprocess.run(["sh", "-c", script, sys.executable, place], timeout=60, check=False).returncode == 0
    text = Path("both").read_text()
    assert '"rows"' in text
    assert "Spare: D1.8" in text


def test_two_answers_do_not_go_to_one_file(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["channels", "yard.toml", "-o", "json=map", "-o", "csv=./map"]) == 2
    assert "two outputs go to" in capsys.readouterr().err
    assert not Path("map").exists()


def test_nothing_is_written_where_one_of_the_answers_cannot_be_made(yard: Path) -> None:
    assert main(["wires", "yard.toml", "-o", "wires.json", "-o", "labels-svg=labels.svg", "--sheet", "99"]) == 2
    assert [one.name for one in Path().iterdir()] == ["yard.toml"]


def test_what_blockcheck_wrote_in_toml_may_be_written_anew(yard: Path) -> None:
    for _ in range(2):
        assert main(["channels", "yard.toml", "-o", "toml=map.toml"]) == 0
        assert main(["bench", "yard.toml", "-o", "toml=readings.toml"]) == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("format = 1\n[layout]\nname = 'other'\n", "is a layout, it seems"),
        ("[loads.x]\nidle = '1 A'\n", "is a layout, it seems"),
        ("no TOML at all", "holds something else"),
        ("format = 1\n[[steps]]\nid = 'a'\nreading = '4 ohm'\n", "has readings in it"),
        ("format = 1\n[[steps]]\nid = 'a'\nreading = ''\nnote = 'loose clip'\n", "has readings in it"),
    ],
)
@pytest.mark.parametrize("command", ["channels", "bench"])
def test_what_a_person_wrote_in_toml_is_kept(
    text: str, words: str, command: str, yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("other.toml").write_text(text)
    assert main([command, "yard.toml", "-o", "toml=other.toml"]) == 2
    err = capsys.readouterr().err
    assert words in err
    assert "name another file" in err
    assert Path("other.toml").read_text() == text
