"""Bad input: exit status 2, the file, the line and the column of what is wrong, and what to write instead."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from blockcheck.__main__ import main

GOOD = """\
format = 1
[layout]
name = "Sidings"
control = "dcc"
[boosters.B1]
voltage = "14 V"
current = "3 A"
[districts.d]
booster = "B1"
[board_types.eight]
channels = 8
threshold = "1.5 mA"
[boards.D1]
type = "eight"
spare = [4, 5, 6, 7, 8]
[blocks.S1-S3]
channel = "D1.1-3"
isolator = "I1-I3"
length = "1.8 m"
[isolators.I1-I3]
"""

CHANGED: dict[str, tuple[str, str, int, int, str]] = {
    # what is wrong: text, what is written for it, line, column, and words of the message or the advice
    "bare number": ('voltage = "14 V"', "voltage = 14", 6, 11, '"14 V"'),
    "number without unit": ('voltage = "14 V"', 'voltage = "14"', 6, 11, "14 V"),
    "decimal comma": ('length = "1.8 m"', 'length = "1,8 m"', 19, 10, "1.8 m"),
    "unknown unit": ('length = "1.8 m"', 'length = "1.8 mtr"', 19, 10, "length"),
    "unit of another dimension": ('length = "1.8 m"', 'length = "1.8 V"', 19, 10, "voltage"),
    "negative": ('current = "3 A"', 'current = "-3 A"', 7, 11, "3 A"),
    "not a number": ('current = "3 A"', 'current = "nan A"', 7, 11, "current"),
    "nan itself": ('current = "3 A"', "current = nan", 7, 11, "current"),
    "infinite": ('current = "3 A"', 'current = "1e400 A"', 7, 11, "current"),
    "inf itself": ('current = "3 A"', "current = inf", 7, 11, "current"),
    "unquoted quantity": ('length = "1.8 m"', "length = 1.8 m", 19, 14, '"1.8 m"'),
    "unquoted text": ('control = "dcc"', "control = dcc", 4, 11, '"dcc"'),
    "no closing quote": ('name = "Sidings"', 'name = "Sidings', 3, 16, ""),
    "no closing bracket": ("[boosters.B1]", "[boosters.B1", 5, 13, ""),
    "no equals sign": ('name = "Sidings"', 'name "Sidings"', 3, 6, ""),
    "wrong type": ("channels = 8", 'channels = "8"', 11, 12, "a whole number"),
    "true for a number": ("channels = 8", "channels = true", 11, 12, "a whole number"),
    "text for yes or no": ('type = "eight"', 'type = "eight"\n[loads.a]\nsound = "yes"', 16, 9, "true or false"),
    "nought channels": ("channels = 8", "channels = 0", 11, 12, "at least 1"),
    "a list for text": ('name = "Sidings"', "name = []", 3, 8, "text"),
    "a table for text": ('type = "eight"', "type = {}", 14, 8, "text"),
    "unknown key, near": ('channel = "D1.1-3"', 'chanel = "D1.1-3"', 17, 1, 'did you mean "channel"?'),
    "unknown table, near": ("[boosters.B1]", "[booster.B1]", 5, 1, 'did you mean "boosters"?'),
    "unknown choice, near": ('control = "dcc"', 'control = "dccc"', 4, 11, 'did you mean "dcc"?'),
    "needed key": ('threshold = "1.5 mA"\n', "", 10, 1, "threshold"),
    "needed key of the layout": ('control = "dcc"\n', "", 2, 1, "control"),
    "range length": ('channel = "D1.1-3"', 'channel = "D1.1-4"', 17, 11, "is 4 names, but [blocks.S1-S3] is 3"),
    "descending range": ("[blocks.S1-S3]", "[blocks.S3-S1]", 16, 1, "S1-S3"),
    "a range of too many": ("[blocks.S1-S3]", "[blocks.S1-S5000]", 16, 1, "the most is 4096"),
    "a range for one name": ('type = "eight"', 'type = "eight"\nat = 3', 15, 6, "text"),
    "a channel without a number": ('channel = "D1.1-3"', 'channel = "D1"', 17, 11, '"D1.3"'),
    "a bad name": (
        "[isolators.I1-I3]",
        '[isolators.I1-I3]\n[blocks."S,4"]\nchannel = "D1.4"',
        21,
        1,
        "cannot be a name",
    ),
    "another format": ("format = 1", "format = 2", 1, 10, "format = 1"),
    "format as text": ("format = 1", 'format = "1"', 1, 10, "format = 1"),
    "no format": ("format = 1\n", "", 1, 1, "format = 1"),
    "a key twice": ('current = "3 A"', 'current = "3 A"\ncurrent = "4 A"', 8, 16, "given twice"),
    "a table twice": ("[isolators.I1-I3]", "[isolators.I1-I3]\n[isolators.I1-I3]", 21, 17, "written twice"),
    "blocks is no table": (
        "[isolators.I1-I3]",
        "[isolators.I1-I3]\n[[joints]]\nblocks = 3\ngap = 'both'",
        22,
        10,
        "a list",
    ),
    "a joint of three": (
        "[isolators.I1-I3]",
        '[isolators.I1-I3]\n[[joints]]\nblocks = ["S1", "S2", "S3"]\ngap = "both"',
        22,
        10,
        "joins two blocks",
    ),
    "unknown rule": ("[isolators.I1-I3]", '[isolators.I1-I3]\n[rules]\ngap-mising = "off"', 22, 1, '"gap-missing"'),
    "a date as text": (
        "[isolators.I1-I3]",
        '[isolators.I1-I3]\n[[accept]]\nrule = "gap-missing"\nwhere = "S1"\nbecause = "so"\nuntil = "2031"',
        25,
        9,
        "2031-12-31",
    ),
    "a selection of nothing": (
        "[isolators.I1-I3]",
        '[isolators.I1-I3]\n[scenarios.night]\nopen = ["9"]',
        22,
        9,
        "there is no track 9",
    ),
    "a changeover of one": (
        "[isolators.I1-I3]",
        '[isolators.I1-I3]\ncontact = "changeover"\nbetween = ["d"]',
        22,
        11,
        'between = ["A", "B"]',
    ),
    "an unknown scale": ('control = "dcc"', 'control = "dcc"\nscale = "HOO"', 5, 9, "HO"),
    "channel and reason": (
        'length = "1.8 m"',
        'length = "1.8 m"\nundetected = "no"',
        20,
        1,
        "keep channel or undetected",
    ),
    "a huge number": ("channels = 8", "channels = 999999999999999999999", 11, 12, "a whole number"),
    "an include of nothing": ("format = 1", 'format = 1\ninclude = ["nowhere.toml"]', 2, 12, "cannot be read"),
    "an include from above": ("format = 1", 'format = 1\ninclude = ["../up.toml"]', 2, 12, "--allow-outside"),
    "an include of itself": ("format = 1", 'format = 1\ninclude = ["yard.toml"]', 2, 12, "in a circle"),
    "an include of a folder": ("format = 1", 'format = 1\ninclude = ["."]', 2, 12, "directory"),
    "an include that is text": ("format = 1", 'format = 1\ninclude = "two.toml"', 2, 11, "a list of file names"),
}


def bad(path: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, object]:
    """The first finding of a file that cannot be understood; the text names the same place."""
    assert main(["check", str(path), "--format", "json"]) == 2
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    found: dict[str, object] = json.loads(out)["findings"][0]
    assert main(["check", str(path)]) == 2
    text = capsys.readouterr().out
    assert f"{found['file']}:{found['line']}:{found['column']}" in text
    return found


@pytest.mark.parametrize("name", CHANGED)
def test_what_is_wrong_is_told_where_it_stands(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before, after, line, column, words = CHANGED[name]
    assert GOOD.count(before) == 1
    path = tmp_path / "yard.toml"
    path.write_text(GOOD.replace(before, after), "utf-8")
    (tmp_path.parent / "up.toml").write_text("", "utf-8")
    found = bad(path, capsys)
    assert (found["line"], found["column"]) == (line, column)
    assert words in f"{found['message']} {found['help']}"


BYTES: dict[str, tuple[bytes, int]] = {
    "bytes that are no text": (GOOD.replace("Sidings", "Sidings \xe9").encode("latin-1"), 3),
    "UTF-16": (GOOD.encode("utf-16"), 1),
    "an empty file": (b"", 1),
    "a comment": (b"# nothing yet\n", 1),
    "a NUL": (GOOD.replace("Sidings", "Sid\0ings").encode(), 3),
    "nested lists": (b"format = 1\nx = " + b"[" * 5000 + b"]" * 5000 + b"\n", 2),
    "nested tables": (b"format = 1\nx = " + b"{a = " * 5000 + b"1" + b"}" * 5000 + b"\n", 2),
    "nested keys": (b"format = 1\n" + b".".join([b"a"] * 5000) + b" = 1\n", 1),
    "ten megabytes": (b"format = 1\n" + b"# a long story\n" * 700_000, 1),
    "a very long number": (b"format = 1\nx = " + b"9" * 5000 + b"\n", 1),
}


@pytest.mark.parametrize("name", BYTES)
def test_files_that_are_no_layout(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data, line = BYTES[name]
    path = tmp_path / "yard.toml"
    path.write_bytes(data)
    assert bad(path, capsys)["line"] == line


@pytest.mark.parametrize("data", [GOOD.encode("utf-8-sig"), GOOD.replace("\n", "\r\n").encode()])
def test_a_mark_at_the_start_and_other_line_ends_are_fine(
    data: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "yard.toml"
    path.write_bytes(data)
    assert main(["check", str(path)]) == 0
    capsys.readouterr()
    path.write_bytes(data.replace(b'"1.8 m"', b"2"))
    assert bad(path, capsys)["line"] == 19


def test_two_files_name_both_places(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "yard.toml"
    path.write_text(GOOD.replace("format = 1", 'format = 1\ninclude = ["two.toml"]'), "utf-8")
    for text in ('[boosters.B1]\nvoltage = "12 V"\n', '[layout]\nname = "x"\n', '[blocks.S2-S4]\nlength = "2 m"\n'):
        (tmp_path / "two.toml").write_text(text, "utf-8")
        found = bad(path, capsys)
        assert str(found["file"]).endswith("two.toml")
        related = found["related"]
        assert isinstance(related, list)
        assert str(related[0]["file"]).endswith("yard.toml")
    (tmp_path / "two.toml").write_text('include = ["yard.toml"]\n', "utf-8")
    assert "circle" in str(bad(path, capsys)["message"])
    (tmp_path / "two.toml").write_text("x = = 1\n", "utf-8")
    assert str(bad(path, capsys)["file"]).endswith("two.toml")


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (["check", "nowhere.toml"], "cannot be read"),
        (["check", "."], "directory"),
        (["check", "yard.toml", "--format", "pdf"], "it has text, json"),
        (["check", "yard.toml", "--output", "json"], "FORMAT=FILE"),
        (["check", "yard.toml", "--output", "json=no/such/folder.json"], "cannot be written"),
        (["check", "yard.toml", "--fail-on", "nothing"], "error, warning, note or never"),
        (["isolate", "yard.toml", "9"], "the tracks are 1, 2, 3"),
        (["isolate", "yard.toml", "S9"], "there are S1, S2, S3"),
        (["isolate", "yard.toml", "1", "--scenario", "night"], "no scenario"),
        (["explain", "gap-mising"], '"gap-missing"'),
        (["new", "yard.toml"], "--force"),
        (["chck", "yard.toml"], "--help"),
        (["check"], "--help"),
    ],
)
def test_a_call_that_cannot_be_understood(
    call: list[str], words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("yard.toml").write_text(GOOD, "utf-8")
    assert main(call) == 2
    assert words in capsys.readouterr().err
