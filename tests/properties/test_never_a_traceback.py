"""Whatever stands in the file: the exit status is 0, 1 or 2, the answer is whole, and every fault has its place."""

from __future__ import annotations

import contextlib
import copy
import datetime
import io
import json
import re
import sys
import tempfile
from pathlib import Path
from typing import Any
from unittest import mock
from xml.etree import ElementTree

import pytest
import tomli
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from blockcheck.__main__ import main

ROOT = Path(__file__).resolve().parents[2]
LAYOUTS = sorted((ROOT / "examples").glob("*/*.toml"))
SEEDS = {path: path.read_text("utf-8") for path in LAYOUTS}

TOKEN = re.compile(r"\"[^\"\n]*\"|'[^'\n]*'|[A-Za-z0-9_.µΩ%-]+|\n|[^\S\n]+|.")
PIECES = (
    *(
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        "=",
        "==",
        ":",
        ",",
        ".",
        "#",
        '"',
        "'",
        '"""',
        "'''",
        "\\",
        "\n",
        "\r",
        "\0",
        " ",
    ),
    *("true", "false", "nan", "-inf", "1e400", "0", "-1", "1.5", "08", "1_0", "0xffffffffffffffffffff", "9" * 4500),
    *("1979-05-27", "07:32:00", "1979-05-27T07:32:00Z", '""', '"x"', "[]", "{}", "[[]]", "{ a = 1 }", "[1, 'a', {}]"),
    *('"S1-S3"', '"S3-S1"', '"S1-S9999"', '"1-3"', '"lower:1"', '"D1.1"', '"I1"', '"off"', '"both"', '"changeover"'),
    *('"0 m"', '"1e300 m"', '"-1 A"', '"1 V"', '"100 %"', '"16 AWG"', '"0.001 mm2"', '"1e-300 ohm"', "S1-S3", "blocks"),
    *(
        "\ufeff",
        "\x1b[31m",
        "\u202e",
        "🚂",
        "é",
        "\ud7ff",
        '"\\u001b[0m"',
        '"\\u0000"',
        "[blocks.S1]\n",
        "[[joints]]\n",
    ),
    *('\ninclude = ["."]\n', '\n[scenarios.z]\nopen = ["1"]\n', "\n[rules]\nx = 1\n", "a" * 300, "a.b.c.d", "[" * 500),
)


@st.composite
def mangled(draw: st.DrawFn) -> tuple[Path, str]:
    """A layout of the examples in which some tokens and lines were deleted, doubled, swapped or replaced."""
    path = draw(st.sampled_from(LAYOUTS))
    text = SEEDS[path]
    for _ in range(draw(st.integers(1, 4))):
        parts = text.splitlines(keepends=True) if draw(st.booleans()) else TOKEN.findall(text)
        if not parts:
            break
        at = draw(st.integers(0, len(parts) - 1))
        other = draw(st.integers(0, len(parts) - 1))
        match draw(st.sampled_from(["delete", "double", "swap", "replace", "insert", "cut"])):
            case "delete":
                del parts[at]
            case "double":
                parts.insert(other, parts[at])
            case "swap":
                parts[at], parts[other] = parts[other], parts[at]
            case "replace":
                parts[at] = draw(st.sampled_from(PIECES))
            case "insert":
                parts.insert(at, draw(st.sampled_from(PIECES)))
            case _:
                del parts[min(at, other) : max(at, other)][:200]
        text = "".join(parts)
    return path, text


TEXTS = (
    *(
        "",
        " ",
        "x",
        "S1",
        "S1-S3",
        "S3-S1",
        "I1",
        "I1.2",
        "D1.1",
        "D1.99",
        "D9.1",
        "D1.1-3",
        "1",
        "1-3",
        "lower",
        "lower:1-2",
    ),
    *(
        "0 m",
        "1e-300 m",
        "1e300 m",
        "9 km",
        "1e-12 V",
        "1e300 V",
        "0 V",
        "0 A",
        "1e300 A",
        "1e-300 A",
        "0 ohm",
        "1e300 ohm",
    ),
    *(
        "0 s",
        "1e300 s",
        "0 %",
        "100 %",
        "-40 degC",
        "250 degC",
        "0.001 mm2",
        "1000 mm2",
        "40 AWG",
        "1e300 F",
        "0 F",
        "1 pF/m",
    ),
    *(
        "0 ohm/m",
        "1e300 ohm/m",
        "1 ohm m",
        "0 ohm m",
        "1e300 ohm m",
        "off",
        "on",
        "open",
        "closed",
        "changeover",
        "both",
        "none",
    ),
    *(
        "through",
        "diverging",
        "before-detector",
        "common-rail",
        "held",
        "coil",
        "series",
        "dc",
        "dcc",
        "code83",
        "near",
        "far",
    ),
    *(
        "stock:locomotives",
        "stock:boards",
        "yard.toml",
        "vehicles.toml",
        "🚂",
        "é" * 50,
        "\x1b[2J",
        "\n",
        "a.b",
        "a,b",
        "a:b",
    ),
)


def values(names: list[str]) -> st.SearchStrategy[Any]:
    """Any value of TOML, often a text that means something in a layout."""
    texts = st.sampled_from([*TEXTS, *names])
    numbers = st.sampled_from([0, 1, 2, 3, 8, 4096, 4097, 10**9, 10**9 + 1, 2**63 - 1, -1, -(2**63)])
    floats = st.sampled_from([0.0, -0.0, 1.5, 1e-300, 1e300, float("nan"), float("inf")])
    dates = st.sampled_from([datetime.date(1, 1, 1), datetime.date(9999, 12, 31), datetime.datetime(2031, 1, 1)])
    plain = st.one_of(texts, texts, numbers, floats, st.booleans(), dates)
    lists = st.lists(st.one_of(plain, st.dictionaries(texts, plain, max_size=2)), max_size=3)
    return st.one_of(plain, plain, lists, st.dictionaries(texts, st.one_of(plain, lists), max_size=3))


def places(value: Any) -> list[tuple[Any, Any]]:
    """Every place in a document: what holds it, and the key or number that it has there."""
    found: list[tuple[Any, Any]] = []
    for key, inner in list(value.items() if isinstance(value, dict) else enumerate(value)):
        found.append((value, key))
        if isinstance(inner, dict | list):
            found.extend(places(inner))
    return found


@st.composite
def altered(draw: st.DrawFn) -> tuple[Path, str]:
    """A layout of the examples in which some values, keys and tables are others: TOML always, a layout rarely."""
    path = draw(st.sampled_from(LAYOUTS))
    document = tomli.loads(SEEDS[path])
    names = sorted({key for holder, key in places(document) if isinstance(key, str)})
    for _ in range(draw(st.integers(1, 3))):
        all_places = places(document)
        if not all_places:
            break
        holder, key = draw(st.sampled_from(all_places))
        match draw(st.sampled_from(["value", "value", "value", "delete", "rename", "exchange", "key"])):
            case "value":
                holder[key] = draw(values(names))
            case "delete":
                del holder[key]
            case "rename" if isinstance(holder, dict):
                holder[draw(st.sampled_from([*TEXTS, *names]))] = holder.pop(key)
            case "exchange":
                other, instead = draw(st.sampled_from(all_places))
                holder[key] = copy.deepcopy(other[instead])
            case "key" if isinstance(holder, dict):
                holder[draw(st.sampled_from([*TEXTS, *names]))] = draw(values(names))
    return path, tomli_w.dumps(document)


def run(call: list[str], data: bytes) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of a call in this process."""
    out, err = io.TextIOWrapper(io.BytesIO(), "utf-8"), io.StringIO()
    given_in = io.TextIOWrapper(io.BytesIO(data), "utf-8")
    with mock.patch.object(sys, "stdin", given_in), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(call)
    return status, out.buffer.getvalue().decode("utf-8"), err.getvalue()


@given(st.one_of(mangled(), altered()))
def test_a_mangled_layout_is_answered(case: tuple[Path, str]) -> None:
    path, text = case
    data = text.encode("utf-8", "surrogatepass")
    status, out, err = run(["check", "-", "--stdin-filename", str(path), "--format", "json"], data)
    assert status in (0, 1, 2), err
    answer = json.loads(out)
    lines = text.replace("\r\n", "\n").split("\n")
    for finding in answer["findings"]:
        assert finding["message"], finding
        if status == 2:
            assert finding["help"], finding
        if finding["file"].endswith(path.name):
            assert 1 <= finding["line"] <= len(lines)
            assert 1 <= finding["column"] <= len(lines[finding["line"] - 1]) + 1
    assert (status == 2) == any(finding["rule"] == "input" for finding in answer["findings"])
    again, shown, err = run(["check", "-", "--stdin-filename", str(path)], data)
    assert again == status, err
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", shown), "signs that command a terminal"


SMALL = str(ROOT / "examples" / "small-yard" / "yard.toml")
READINGS = 'format = 1\n[[steps]]\nid = "rails.R1"\nreading = "46 mohm"\n'


@given(
    st.one_of(mangled(), altered()),
    st.sampled_from(
        [
            ["isolate", "-", "1"],
            ["where", "-", "R1"],
            ["compare", "-", SMALL],
            ["compare", SMALL, "-"],
            ["bench", SMALL, "--since", "-"],
        ]
        + [
            ["draw", "-"],
            ["draw", "-", "--open", "1"],
            ["panel", "-", "-f", "html"],
            ["wires", "-", "-f", "labels-html"],
        ]
        + [[one, "-"] for one in ("channels", "power", "budget", "wake", "wires", "panel", "book", "bench", "page")]
        + [["check", "-", "-f", one] for one in ("html", "sarif", "junit", "github", "markdown", "csv")]
    ),
)
def test_every_command_answers_a_mangled_layout(case: tuple[Path, str], call: list[str]) -> None:
    path, text = case
    name = path if "examples/small-yard" not in call[1] else Path("stdin.toml")
    status, out, err = run([*call, "--stdin-filename", str(name)], text.encode("utf-8", "surrogatepass"))
    assert status in (0, 1, 2), err
    assert "Traceback" not in err
    if status < 2 and (call[0] == "draw" or "junit" in call or call == ["panel", "-"]):
        ElementTree.fromstring(out)
    if status < 2 and "<html" in out[:100]:
        assert not re.search(r"<script|<iframe|<[a-z]+ [^>]*(src|href)=.(?!#|data:)", out), "a page asks for nothing"


@st.composite
def mangled_readings(draw: st.DrawFn) -> str:
    """A sheet in which some signs and words were replaced."""
    parts = TOKEN.findall(READINGS)
    for _ in range(draw(st.integers(1, 3))):
        parts[draw(st.integers(0, len(parts) - 1))] = draw(st.sampled_from([*PIECES, *map(repr, TEXTS)]))
    return "".join(parts)


@given(mangled_readings())
def test_mangled_readings_are_answered(text: str) -> None:
    status, _, err = run(["trace", SMALL, "-"], text.encode("utf-8", "surrogatepass"))
    assert status in (0, 1, 2), err
    assert "Traceback" not in err
    if status == 2:
        assert "stdin.toml:" in err


@given(
    st.sampled_from(
        [
            ["wires", SMALL, one]
            for one in ("--label-size", "--gap", "--margin", "--paper", "--start", "--sheet", "--only")
        ]
        + [["panel", SMALL, one] for one in ("--pitch", "--columns", "--group", "--hole", "--paper")]
        + [["where", SMALL], ["bench", SMALL, "--only"], ["draw", SMALL, "--open"], ["draw", SMALL, "--scenario"]]
        + [["check", SMALL, "--fail-on"], ["check", SMALL, "--csv-dialect"], ["explain"], ["panel", SMALL, "-f"]]
    ),
    st.one_of(st.sampled_from([*TEXTS, "38x12", "0x0", "nanxnan", "1e9x1", "-1", "10" * 30]), st.text(max_size=12)),
)
def test_any_value_of_an_option_is_answered(call: list[str], value: str) -> None:
    status, _, err = run([*call, value], b"")
    assert status in (0, 1, 2), err
    if status == 2:
        assert err.startswith("error  ")
        assert len(err.strip().splitlines()) >= 2, "what is wrong, and what to write instead"


@given(
    st.one_of(st.binary(max_size=200), st.text(max_size=200).map(lambda text: text.encode("utf-8", "surrogatepass")))
)
def test_any_bytes_are_answered(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "yard.toml"
        path.write_bytes(data)
        status, out, err = run(["check", str(path), "--format", "json"], b"")
    assert status == 2, err  # such bytes are no layout
    assert json.loads(out)["findings"]


@given(st.one_of(st.text(max_size=40), st.from_regex(r"[A-Za-z0-9:,.\- ]{1,20}", fullmatch=True)))
def test_any_selection_is_answered(tracks: str) -> None:
    path = ROOT / "examples" / "small-yard" / "yard.toml"
    status, _, err = run(["isolate", str(path), "--", tracks], b"")
    assert status in (0, 1, 2), err
    if status == 2:
        assert len(err.strip().splitlines()) >= 2, "what is wrong, and what to write instead"


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_the_examples_to_mangle_are_read(path: Path) -> None:
    assert path.stat().st_size < 50_000, "small ones leave room for many mutations"
