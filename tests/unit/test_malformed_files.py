"""Files that are no layout, and files that include each other wrongly: where that is told, and at what cost."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.benchmarks.refusals import HEAVY, cost

from blockcheck.__main__ import main

Refused = Callable[..., list[dict[str, Any]]]

BYTES: dict[str, tuple[bytes, str, str, str]] = {
    "empty": (b"", "1:1", "does not say which format", "format = 1"),
    "one line end": (b"\n", "1:1", "does not say which format", "format = 1"),
    "a comment": (b"# nothing yet\n", "1:1", "does not say which format", "format = 1"),
    "a byte-order mark alone": (b"\xef\xbb\xbf", "1:1", "does not say which format", "format = 1"),
    "Latin-1": (
        "format = 1\nname = 'Höhe'\n".encode("latin-1"),
        "2:10",
        "byte 0xf6 is not UTF-8",
        "save the file as UTF-8",
    ),
    "Latin-1 behind a mark": (b"\xef\xbb\xbf# \xe9\n", "1:3", "byte 0xe9 is not UTF-8", "save the file as UTF-8"),
    "half a sign": ("format = 1 # Ω".encode()[:-1], "1:14", "byte 0xce is not UTF-8", "save the file as UTF-8"),
    "UTF-16": ("format = 1\n".encode("utf-16"), "1:1", "the file is in UTF-16", "save it as UTF-8"),
    "UTF-16, the other way round": (
        "format = 1\n".encode("utf-16-be"),
        "1:1",
        "the file is in UTF-16",
        "save it as UTF-8",
    ),
    "UTF-16 without a mark": ("format = 1\n".encode("utf-16-le"), "1:1", "the file is in UTF-16", "save it as UTF-8"),
    "NULs": (b"\0" * 1000, "1:1", "U+0000", "take it out"),
    "every byte": (bytes(range(256)), "2:118", "byte 0x80 is not UTF-8", "save the file as UTF-8"),
    "lone carriage returns": (b"format = 1\r[layout]\r", "1:11", "a carriage return alone", "LF or CR LF"),
    "a picture": (b"\x89PNG\r\n\x1a\n", "1:1", "byte 0x89 is not UTF-8", "save the file as UTF-8"),
    "lists in lists": (b"format = 1\nx = " + b"[" * 5000 + b"]" * 5000, "2:5", "nested too deeply", "a list holds"),
    "open lists": (b"format = 1\nx = " + b"[" * 5000, "2:5", "nested too deeply", "a list holds"),
    "a few lists in lists": (b"format = 1\nx = " + b"[" * 300 + b"]" * 300, "2:5", "nested too deeply", "a list holds"),
    "tables in tables": (
        b"format = 1\nx = " + b"{a=" * 5000 + b"1" + b"}" * 5000,
        "2:5",
        "nested too deeply",
        "a list",
    ),
    "dotted keys": (b"format = 1\n" + b".".join([b"a"] * 5000) + b" = 1", "2:1", "more than 16 parts", "[blocks.S1]"),
    "dotted headers": (b"format = 1\n[" + b".".join([b"a"] * 5000) + b"]", "2:2", "more than 16 parts", "[blocks.S1]"),
    "dotted lists": (
        b"format = 1\n[[" + b".".join([b"'a'"] * 5000) + b"]]",
        "2:3",
        "more than 16 parts",
        "[blocks.S1]",
    ),
    "ten megabytes": (b"format = 1\n" + b"# a long story\n" * 700_000, "1:1", "more than 8 MiB", "include ="),
    "half a million values": (b"x = [" + b"1," * 500_000 + b"]", "1:1", "more than 250000 values", "include ="),
}


@pytest.mark.parametrize("name", BYTES)
def test_a_file_that_is_no_layout(name: str, refused: Refused) -> None:
    data, at, message, advice = BYTES[name]
    (finding,) = refused(data)
    assert f"{finding['line']}:{finding['column']}" == at
    assert message in finding["message"]
    assert advice in finding["help"]


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["no mark", "a byte-order mark"])
@pytest.mark.parametrize("ends", [b"\n", b"\r\n"], ids=["LF", "CR LF"])
def test_a_mark_and_other_line_ends_are_fine(
    mark: bytes, ends: bytes, good: str, tmp_path: Path, refused: Refused, capsys: pytest.CaptureFixture[str]
) -> None:
    data = mark + good.encode().replace(b"\n", ends)
    (tmp_path / "yard.toml").write_bytes(data)
    assert main(["check", str(tmp_path / "yard.toml")]) == 0
    capsys.readouterr()
    (finding,) = refused(data.replace(b'"1.8 m"', b"2"))
    assert (finding["line"], finding["column"]) == (23, 10)
    (finding,) = refused(data.replace(b"format = 1", b"format = 2"))
    assert (finding["line"], finding["column"]) == (1, 10)


def test_dots_in_comments_and_texts_are_no_keys(good: str, tmp_path: Path) -> None:
    path = tmp_path / "yard.toml"
    path.write_text(good.replace('"Tannery sidings"', f'"{"a." * 40}"') + f"# {'.' * 80}\n")
    assert main(["check", str(path)]) == 0


INCLUDED: dict[str, tuple[str, str, str, str, str]] = {
    # what is wrong: what two.toml holds, place, message, advice, place of the other
    "the layout twice": (
        '\n[layout]\nname = "x"\n',
        "two.toml:2:1",
        "[layout] is written in two",
        "keep one",
        "yard.toml:3:1",
    ),
    "a block twice": (
        "[blocks.neck]\n",
        "two.toml:1:1",
        "[blocks.neck] is written in two",
        "keep one",
        "yard.toml:25:1",
    ),
    "a booster twice": ("[boosters.B1]\n", "two.toml:1:1", "[boosters.B1] is written", "keep one", "yard.toml:6:1"),
    "a range's key": (
        '[blocks.S2-S3]\nlength = "7 m"\n',
        "two.toml:2:1",
        "set length of S2",
        "take S2",
        "yard.toml:24:1",
    ),
    "another format": ("format = 2\n", "two.toml:1:10", "format 2", "write format = 1", ""),
    "a syntax error": ("\n[loads.x]\nidle = 3 mA\n", "two.toml:3:8", "a quantity is text", 'write idle = "3 mA"', ""),
    "a value": ('[loads.x]\nidle = "3 V"\n', "two.toml:2:8", "expected a current", '"V" is a voltage', ""),
    "a key": ("[loads.x]\nidel = 1\n", "two.toml:2:1", 'no key "idel" in [loads.x]', 'did you mean "idle"?', ""),
    "a table": ("[load.x]\n", "two.toml:1:1", "no table [load]", 'did you mean "loads"?', ""),
    "a circle": ('include = ["yard.toml"]\n', "two.toml:1:12", "in a circle", "take one", "yard.toml:2:12"),
    "itself": ('# me\ninclude = ["two.toml"]\n', "two.toml:2:12", "in a circle", "take one", "two.toml:2:12"),
    "a circle of three": ('include = ["tri.toml"]\n', "tri.toml:1:12", "in a circle", "take one", "yard.toml:2:12"),
    "a file that is none": (
        'include = ["tri.tomll"]\n',
        "two.toml:1:12",
        "no such file",
        'did you mean "tri.toml"?',
        "",
    ),
    "a file elsewhere": ('include = ["sub/x.toml"]\n', "two.toml:1:12", "no such file", "looked for as sub/x.toml", ""),
    "a folder": ('include = ["."]\n', "two.toml:1:12", "is a directory", "looked for as .", ""),
    "a file above": (
        'include = ["../x.toml"]\n',
        "two.toml:1:12",
        "outside the folder",
        "--allow-outside",
        "yard.toml:2:11",
    ),
    "a file anywhere": (
        'include = ["/etc/hosts"]\n',
        "two.toml:1:12",
        "outside the folder",
        "--allow-outside",
        "yard.toml:2:11",
    ),
    "stock that is none": (
        'include = ["stock:x"]\n',
        "two.toml:1:12",
        'no stock file "stock:x"',
        "stock:locomotives",
        "",
    ),
    "no list": ('include = "tri.toml"\n', "two.toml:1:11", "a list of file names", 'write include = ["tri.toml"]', ""),
    "a number": ("include = [3]\n", "two.toml:1:12", "file names, as text", 'write include = ["yard.toml"]', ""),
    "no name": ('include = [""]\n', "two.toml:1:12", "file names, as text", 'write include = ["yard.toml"]', ""),
    "a name with a NUL": ('include = ["a\\u0000"]\n', "two.toml:1:12", "file names, as text", "write include =", ""),
    "a name with a sign of no ink": (
        'include = ["tr\u200bi.toml"]\n',
        "two.toml:1:12",
        "U+200B, which is not",
        "a name that",
        "",
    ),
    "a very long name": (f'include = ["{"a" * 5000}"]\n', "two.toml:1:12", "name too long", "looked for as aaa", ""),
}


@pytest.mark.parametrize("name", INCLUDED)
def test_an_include_that_is_wrong(name: str, good: str, refused: Refused) -> None:
    two, at, message, advice, other = INCLUDED[name]
    yard = good.replace("format = 1\n", 'format = 1\ninclude = ["two.toml"]\n')
    findings = refused(yard, two=two, tri='include = ["yard.toml"]\n' if name == "a circle of three" else "")
    finding = findings[0]
    assert f"{finding['file']}:{finding['line']}:{finding['column']}" == at
    assert message in finding["message"]
    assert advice in finding["help"]
    assert [f"{one['file']}:{one['line']}:{one['column']}" for one in finding["related"]] == ([other] if other else [])


def test_a_link_out_of_the_folder_is_outside(good: str, refused: Refused, tmp_path: Path) -> None:
    (tmp_path.parent / "outside.toml").write_text("")
    (tmp_path / "link.toml").symlink_to(tmp_path.parent / "outside.toml")
    yard = good.replace("format = 1\n", 'format = 1\ninclude = ["link.toml"]\n')
    (finding,) = refused(yard)
    assert (finding["line"], finding["column"]) == (2, 12)
    assert "outside the folder" in finding["message"]
    assert main(["check", "yard.toml", "--allow-outside"]) == 0


def test_links_in_a_circle(good: str, refused: Refused, tmp_path: Path) -> None:
    (tmp_path / "link.toml").symlink_to(tmp_path / "link.toml")
    (finding,) = refused(good.replace("format = 1\n", 'format = 1\ninclude = ["link.toml"]\n'))
    assert (finding["line"], finding["column"]) == (2, 12)
    assert "symbolic links" in finding["message"]


def test_a_long_chain_of_includes(good: str, refused: Refused, tmp_path: Path) -> None:
    for number in range(600):
        (tmp_path / f"f{number}.toml").write_text(f'include = ["f{number + 1}.toml"]\n')
    (finding,) = refused(good.replace("format = 1\n", 'format = 1\ninclude = ["f0.toml"]\n'))
    assert (finding["file"], finding["line"], finding["column"]) == ("f49.toml", 1, 12)
    assert "more than 50 deep" in finding["message"]


@pytest.mark.parametrize("name", HEAVY)
def test_a_refusal_takes_little_more_memory_than_reading_the_file(name: str, good: str, tmp_path: Path) -> None:
    """What it costs in time is for ``tests/benchmarks/refusals.py`` to tell."""
    path = tmp_path / "yard.toml"
    path.write_text(good + HEAVY[name](1))
    status, _, megabytes = cost(path)
    assert status == "2"
    assert megabytes < 300
