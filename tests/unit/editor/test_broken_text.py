"""Text as it is while it is typed: at every prefix of an example everything is asked for, and nothing is a defect."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.properties.test_every_key import FULL

import blockcheck
from blockcheck.editor import help as words
from blockcheck.editor import occurrences as names
from blockcheck.editor.layouts import first_file, look
from blockcheck.editor.names import tables_named
from blockcheck.editor.situation import situation
from blockcheck.model.tables.naming import Naming

EXAMPLES = Path(__file__).parents[3] / "examples"
SMALL = (EXAMPLES / "small-yard" / "yard.toml").resolve()
TEXT = SMALL.read_text("utf-8")
STUDY = blockcheck.load(SMALL)
COUNT = int(os.environ.get("FUZZ_COUNT", "20"))


def asked_for_all(text: str, offset: int) -> None:
    here = situation(text, offset)
    assert text[here.start : here.end] == here.text
    assert here.start <= max(offset, here.start) <= max(here.end, offset)
    words.told(here)
    words.offers(here, STUDY)


@settings(max_examples=COUNT)
@given(st.integers(0, len(TEXT)))
def test_no_prefix_is_a_defect(end: int) -> None:
    text = TEXT[:end]
    asked_for_all(text, end)
    seen = look(SMALL, {SMALL: text}, quick=True)
    assert seen is not None
    for one in seen.findings:
        assert seen.path(one.at.file) == SMALL  # type: ignore[union-attr]
    if seen.read is not None:
        assert all(text[one.start : one.end] == one.text for one in names.occurrences(seen.read.files))


@settings(max_examples=COUNT * 10)
@given(st.integers(0, len(TEXT)), st.text("[]{}=\"'.,#\n aD1", max_size=4))
def test_whatever_is_typed_anywhere_is_no_defect(at: int, typed: str) -> None:
    text = TEXT[:at] + typed + TEXT[at:]
    asked_for_all(text, at + len(typed))
    asked_for_all(text, at)


@pytest.mark.parametrize(
    ("text", "kind", "path", "before"),
    [
        ("[blo|", "header", ("blo",), "blo"),
        ("[blocks.S1]\nle|ngth", "key", ("blocks", "S1"), "le"),
        ('[blocks.S1]\nlength = "2 |m"', "value", ("blocks", "S1", "length"), "2 "),
        ('[districts.a]\nfeed = { wire = "1|', "value", ("districts", "a", "feed", "wire"), "1"),
        ('[districts.a]\nfeed = { wire = "x", le|', "key", ("districts", "a", "feed"), "le"),
        ('[a.b]\nexpects = [\n  { load = "sh|', "value", ("a", "b", "expects", "load"), "sh"),
        ('[a.b]\nexpects = [\n  { load = "x" }, # said\n  { co|', "key", ("a", "b", "expects"), "co"),
        ('[[joints]]\nblocks = ["a", "b|', "value", ("joints", "blocks"), "b"),
        ("boosters.B1 = { vol|", "key", ("boosters", "B1"), "vol"),
        ("[blocks]\nS1.chan|nel = 3", "key", ("blocks",), "S1.chan"),
        ("[blocks] # no|te", "header", ("blocks",), "blocks] # no"),
        ("format = 1 # no|te", "comment", (), ""),
        ("format = |", "value", ("format",), ""),
        ("|", "key", (), ""),
    ],
)
def test_where_a_cursor_stands(text: str, kind: str, path: tuple[str, ...], before: str) -> None:
    here = situation(text.replace("|", ""), text.index("|"))
    assert (here.kind, here.path, here.before) == (kind, path, before)


def test_the_first_file_is_found_from_any_of_a_layout(tmp_path: Path) -> None:
    club = (EXAMPLES / "club-yard").resolve()
    for name in ("club.toml", "upper.toml", "lower.toml", "vehicles.toml"):
        assert first_file(club / name, {}) == club / "club.toml"
    unsaved = {tmp_path.resolve() / "first.toml": 'include = ["new.toml"]\n'}
    assert first_file(tmp_path.resolve() / "new.toml", unsaved) == tmp_path.resolve() / "first.toml"
    assert first_file(SMALL, {}) == SMALL


@pytest.mark.parametrize("name", ["small-yard/yard.toml", "turning-line/line.toml"])
def test_what_is_called_otherwise_is_the_same_layout(name: str) -> None:
    path = (EXAMPLES / name).resolve()
    seen = look(path, {}, quick=True)
    assert seen is not None
    assert seen.read is not None
    known, text = [*names.occurrences(seen.read.files)], path.read_text("utf-8")
    tried = set[str]()
    for one in known:
        table = one.tables[0]
        if not one.defines or table in tried:
            continue
        new = re.sub(
            r"^[A-Za-z]+|(?<=-)[A-Za-z]+(?=\d)", "zz", one.text
        )  # with the digits by which people call a track
        try:
            changes = sorted(names.renamed(known, one, new), key=lambda change: -change[0].start)
        except names.RenameError as error:
            assert "rename that range" in str(error)
            continue
        tried.add(table)
        after = text
        for two, to in changes:
            after = after[: two.start] + to + after[two.end :]
        then = look(path, {path: after}, quick=True)
        assert then is not None
        assert then.read is not None, (one.text, new, then.findings)
        assert [one.rule for one in then.findings] == [one.rule for one in seen.findings], (one.text, new)
    assert len(tried) >= 9


def test_whatever_the_reader_resolves_the_editor_knows_for_a_name(monkeypatch: pytest.MonkeyPatch) -> None:
    """The reader says which keys hold names, and the editor has a list of its own."""
    real, asked = Naming.known, set[tuple[tuple[str, ...], bool]]()

    def known(self: Naming, at: Any, name: Any, kind: str, *tables: Any, is_key: bool = False) -> bool:
        if name is not None:
            asked.add((tuple(one for one in at if isinstance(one, str)), is_key))
        return real(self, at, name, kind, *tables, is_key=is_key)

    monkeypatch.setattr(Naming, "known", known)
    blockcheck.loads(FULL)
    for name in ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml", "turning-line/line.toml"):
        blockcheck.load(EXAMPLES / name)
    assert len(asked) > 50
    for at, is_key in asked:
        if at[0] != "groups":  # a group is named by its blocks, which may invent one
            assert tables_named(at[:-1] if is_key else at, key=is_key), (at, is_key)
