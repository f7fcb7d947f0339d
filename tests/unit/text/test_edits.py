"""Edits of a layout's files: what is asked for changes, nothing else does, and the text stays as people wrote it."""

from __future__ import annotations

from copy import deepcopy
from pathlib import Path

import pytest
from tests.edited import edited

from blockcheck.core.findings import Rewrite
from blockcheck.core.spans import Path as Way
from blockcheck.model.layout import TABLES
from blockcheck.text.document import Document
from blockcheck.text.edits import edits_of
from blockcheck.text.includes import read_files
from blockcheck.text.merge import merge

EXAMPLES = Path(__file__).parents[3] / "examples"
TEXT = """format = 1
layout = { name = "Sorrel", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts.yard = { booster = "B1" }   # the only one

[blocks.S1-S3]
channel = "D1.1-3"     # in a row
kind = "storage"

[blocks.S2]
group = "lower"

[blocks.S4]
[isolators."I 1"]
hold = "10 kohm"
isolates = [
    "S1",
    "S2",
]
panel = "left"

[scenarios.night]
expect.dead = ["S1",
   "S2"]

[[accept]]
rule = "gap-missing"   # one
where = "S1"

[[joints]]
blocks = ["neck", "S1-S3"]
gap = "none"
"""


def read(text: str) -> Document:
    return merge(read_files("sorrel.toml", text.encode()), TABLES)


def after(text: str, *rewrites: Rewrite) -> str:
    document = read(text)
    edits = edits_of(document, rewrites)
    assert edits
    return edited({"sorrel.toml": document.files[0].source.text}, edits)["sorrel.toml"]


def changed(text: str, *rewrites: Rewrite) -> tuple[list[str], list[str]]:
    """The lines that are gone, and the lines that are new, in order."""
    old, new = text.splitlines(), after(text, *rewrites).splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


CASES: dict[str, tuple[list[Rewrite], list[str], list[str]]] = {
    "a value": (
        [Rewrite(("districts", "yard", "booster"), '"B2"')],
        ['districts.yard = { booster = "B1" }   # the only one'],
        ['districts.yard = { booster = "B2" }   # the only one'],
    ),
    "a key that braces lack": (
        [Rewrite(("districts", "yard", "trip"), '"2 A"')],
        ['districts.yard = { booster = "B1" }   # the only one'],
        ['districts.yard = { booster = "B1", trip = "2 A" }   # the only one'],
    ),
    "a key that a table lacks": ([Rewrite(("blocks", "S2", "length"), '"2 m"')], [], ['length = "2 m"']),
    "a key of an empty table": ([Rewrite(("blocks", "S4", "track"), "4")], [], ["track = 4"]),
    "a key after a long list": ([Rewrite(("isolators", "I 1", "poles"), "2")], [], ["poles = 2"]),
    "a key after a dotted one": ([Rewrite(("scenarios", "night", "open"), '["S1"]')], [], ['open = ["S1"]']),
    "one of a range that has a table of its own": (
        [Rewrite(("blocks", "S2", "kind"), '"throat"')],
        [],
        ['kind = "throat"'],
    ),
    "one of a range": ([Rewrite(("blocks", "S3", "kind"), '"throat"')], [], ["[blocks.S3]", 'kind = "throat"']),
    "two keys of one of a range": (
        [Rewrite(("blocks", "S3", "kind"), '"throat"'), Rewrite(("blocks", "S3", "track"), "9")],
        [],
        ["[blocks.S3]", 'kind = "throat"', "track = 9"],
    ),
    "all of a range alike": (
        [Rewrite(("blocks", name, "kind"), '"throat"') for name in ("S1", "S2", "S3")],
        ['kind = "storage"'],
        ['kind = "throat"'],
    ),
    "all of a range in step": (
        [Rewrite(("blocks", f"S{number}", "channel"), f'"D1.{number + 4}"') for number in (1, 2, 3)],
        ['channel = "D1.1-3"     # in a row'],
        ['channel = "D1.5-D1.7"     # in a row'],
    ),
    "a key out, with its line": ([Rewrite(("accept", 0, "rule"), None)], ['rule = "gap-missing"   # one'], []),
    "a key out of braces": (
        [Rewrite(("boosters", "B1", "voltage"), None)],
        ['boosters.B1 = { voltage = "14 V", current = "3 A" }'],
        ['boosters.B1 = { current = "3 A" }'],
    ),
    "the last key out of braces": (
        [Rewrite(("boosters", "B1", "current"), None)],
        ['boosters.B1 = { voltage = "14 V", current = "3 A" }'],
        ['boosters.B1 = { voltage = "14 V" }'],
    ),
    "a table out": (
        [Rewrite(("accept", 0), None)],
        ["[[accept]]", 'rule = "gap-missing"   # one', 'where = "S1"'],
        [],
    ),
    "a joint as it is written, ranges and all": (
        [Rewrite(("joints", 1, "gap"), '"both"')],
        ['gap = "none"'],
        ['gap = "both"'],
    ),
    "one more joint": (
        [Rewrite(("joints",), 'blocks = ["S3", "S4"]\ngap = "both"')],
        [],
        ['blocks = ["S3", "S4"]', 'gap = "both"'],
    ),
    "an item of a list": (
        [Rewrite(("joints", 0, "blocks", 0), '"ladder"')],
        ['blocks = ["neck", "S1-S3"]'],
        ['blocks = ["ladder", "S1-S3"]'],
    ),
    "another name for a key": (
        [Rewrite(("scenarios", "night", "expect", "dead"), "lit", key=True)],
        ['expect.dead = ["S1",'],
        ['expect.lit = ["S1",'],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_only_these_lines_change(name: str) -> None:
    rewrites, gone, new = CASES[name]
    assert changed(TEXT, *rewrites) == (gone, new)
    read(after(TEXT, *rewrites))


def test_lines_end_as_in_the_file() -> None:
    text = TEXT.replace("\n", "\r\n")
    made = after(
        text, Rewrite(("joints",), 'blocks = ["S3", "S4"]\ngap = "both"'), Rewrite(("accept", 0, "rule"), None)
    )
    assert made.replace("\r\n", "").count("\n") == 0
    assert read(made).value(("joints", 3, "gap")) == "both"
    assert "rule" not in read(made).value(("accept", 0))


def test_joints_in_one_list() -> None:
    text = TEXT[: TEXT.index("[[joints]]")].replace("format = 1\n", "format = 1\njoints = []\n")
    one = Rewrite(("joints",), 'blocks = ["S3", "S4"]\ngap = "both"')
    assert 'joints = [ { blocks = ["S3", "S4"], gap = "both" } ]' in after(text, one)
    assert len(read(after(after(text, one), one)).value(("joints",))) == 2


@pytest.mark.parametrize(
    "rewrite",
    [
        Rewrite(("blocks", "S3", "kind"), None),  # the range decides it for others too
        Rewrite(("limits", "headroom"), '"10 %"'),  # there is no such table
        Rewrite(("scenarios", "night", "expect"), None),  # written by its parts
        Rewrite(("joints", 1, "blocks", 1), '"S9"'),  # one name of a range
    ],
)
def test_what_cannot_be_done_gives_no_edit(rewrite: Rewrite) -> None:
    assert edits_of(read(TEXT), [rewrite]) == ()
    assert edits_of(read(TEXT), [rewrite, Rewrite(("blocks", "S4", "track"), "4")]) == ()  # nor half of a mend


def test_data_that_ships_with_the_package_is_not_edited() -> None:
    document = read(TEXT.replace("format = 1", 'format = 1\ninclude = ["stock:boards"]'))
    name = next(name for name in document.value(("board_types",)))
    assert edits_of(document, [Rewrite(("board_types", name, "channels"), "9")]) == ()


def layouts() -> list[Path]:
    return sorted(path for path in EXAMPLES.glob("*/*.toml") if "format" in path.read_text("utf-8"))


@pytest.mark.parametrize("path", layouts(), ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_rewrite_changes_what_it_names_and_nothing_else(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of every named table of an example each key is written otherwise, and one is put in: all else reads as before."""
    for one in path.parent.glob("*.toml"):
        (tmp_path / one.name).write_bytes(one.read_bytes())
    monkeypatch.chdir(tmp_path)
    document = merge(read_files(path.name), TABLES)
    for way, to in rewrites(document):
        edits = edits_of(document, [Rewrite(way, to)])
        if document.layers[way[:2]][0].file.stock or in_parts(document, way):
            assert edits == ()
            continue
        assert edits, way
        texts = edited({file.source.name: file.source.text for file in document.files}, edits)
        wanted = deepcopy(document.values)
        wanted[str(way[0])][way[1]][way[2]] = to.strip('"')
        (changed,) = {one.at.file for one in edits}
        kept = Path(changed).read_bytes()
        Path(changed).write_text(texts[changed], "utf-8")
        assert merge(read_files(path.name), TABLES).values == wanted, way
        Path(changed).write_bytes(kept)


def rewrites(document: Document) -> list[tuple[Way, str]]:
    """A path for each written key of the named tables, and one more a table, each with something new."""
    found: dict[Way, tuple[Way, str]] = {}
    for table in ("blocks", "isolators", "turnouts", "trains", "harnesses", "districts"):
        for name, body in document.values.get(table, {}).items():
            for key in (*body, "deck"):
                way = (table, name, key)
                found.setdefault((*document.written(way), key), (way, '"never seen"'))
    return list(found.values())


def in_parts(document: Document, way: Way) -> bool:
    """Whether a table in a table is written by dotted keys."""
    file, written = document.written_in(way)
    spot = file.spots.get(written)
    return len(written) == 3 and spot is not None and spot.key == spot.value
