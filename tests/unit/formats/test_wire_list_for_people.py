"""The wire list as people read it: by place of work, ranges where they can be, and nothing lost between the rows."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.answers.document import Section
from blockcheck.answers.tables import Table
from blockcheck.answers.workshop.ranges import Row, in_order, ranged
from blockcheck.answers.workshop.strips import NOT_GIVEN
from blockcheck.answers.workshop.wires import PARTS, WireList
from blockcheck.formats.html import document_html
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
BUS = "bus (1.5 mm2)"
LAYOUTS = ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml")


def list_of(name: str) -> WireList:
    return api.wires(api.load(EXAMPLES / name))


def sections(answer: WireList, part: str | None = None) -> dict[str, Section]:
    return {one.title: one for one in answer.document(part).shown if isinstance(one, Section)}


def tables(answer: WireList, part: str | None = None) -> list[Table]:
    return [one for section in sections(answer, part).values() for one in section.parts if isinstance(one, Table)]


def table(answer: WireList, section: str, title: str = "") -> Table:
    parts = sections(answer)[section].parts
    return next(one for one in parts if isinstance(one, Table) and one.title == title)


def wires_of(answer: WireList) -> list[Table]:
    return [one for one in tables(answer) if one.headers[0].title == "from end to end"]


def written_out(text: str, count: int) -> list[str]:
    """The rows that a row with ranges stands for: every range of so many numbers counts along."""
    ranges = [one for one in re.finditer(r"(\d+)-(\d+)", text) if int(one[2]) - int(one[1]) == count - 1]
    if count == 1:
        return [text]
    found = []
    for step in range(count):
        told, end = "", 0
        for one in ranges:
            told, end = told + text[end : one.start()] + str(int(one[1]) + step), one.end()
        found.append(told + text[end:])
    return found


def test_a_wire_is_one_row_and_those_that_differ_by_number_only_are_one() -> None:
    small = list_of("small-yard/yard.toml")
    rows = {row[0]: row[1:] for row in table(small, "Harness ropewalk").shown()}
    colours = "yellow, blue, green, white"
    assert rows["I1-4:out > R1-4:j1-4 > R1-4:end"] == ["4", colours, "1.5 mm2", "4 x 1.2 m, 10 cm", "screw, screw"]
    drops = {row[0]: row[1:] for row in table(small, "Harness ropewalk", "Drops").shown()}
    assert drops["R5:bus > R5:drop1-3"][1:5] == ["45 cm, 1.35 m, 2.25 m", "orange", "0.5 mm2", "3 x 20 cm"]
    ten = next(table(list_of("club-yard/club.toml"), "Board D1 (lower deck, under the west throat)").shown())
    assert ten[:4] == ["D1:1-10 > I1-10:in", "10", "yellow, blue, green, white, orange, violet, and again", BUS]


def test_a_wire_without_a_length_says_so() -> None:
    rows = list(table(list_of("small-yard/yard.toml"), "Board D1 (under the neck, front rail)").shown())
    assert {row[4] for row in rows} == {NOT_GIVEN}


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_wire_and_every_drop_is_in_a_row(name: str) -> None:
    answer = list_of(name)
    rows = [(row, box) for one in wires_of(answer) for row, box in zip(one.rows, one.boxes, strict=True)]
    wires = {piece.wire for piece in answer.pieces if piece.kind != "drop"}
    drops = {(piece.subject, piece.rail) for piece in answer.pieces if piece.kind == "drop"}
    assert sum(box for _, box in rows) == len(wires) + len(drops)
    told = [one for row, box in rows for one in written_out(str(row[0]), box)]
    assert len({*told}) == len(told)
    for piece in answer.pieces:
        if piece.kind not in ("drop", "run") and piece.pieces == 1:
            assert f"{piece.from_} > {piece.to}" in told


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_terminal_is_on_a_card(name: str) -> None:
    answer = list_of(name)
    cards = [one for one in tables(answer, "strips") if one.card]
    told = [str(row[1]) for one in cards if one.headers[1].title == "terminal" for row in one.rows]
    for strip in answer.strips:
        if strip.kind in ("board", "feeds", "isolators", "booster", "district"):
            assert {clamp.terminal for clamp in strip.clamps} <= {*told}


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_joint_is_on_a_card_of_its_harness_with_each_wire_at_its_number(name: str) -> None:
    answer = list_of(name)
    for home in {strip.home for strip in answer.strips if strip.kind == "harness"}:
        found = sections(answer)[f"Harness {home}"].parts
        cards = [one for one in found if isinstance(one, Table) and one.headers[0].title == "no"]
        for strip in (one for one in answer.strips if one.kind == "harness" and one.home == home and one.joint):
            rows = next(one.rows for one in cards if strip.joint in joints_of(one.title))
            assert {row[1]: row[0] for row in rows} == {clamp.wire: clamp.position for clamp in strip.clamps}
        assert any("ar ends" in one.title for one in cards)


def joints_of(title: str) -> range:
    found = re.match(r"Joints? (\d+)(?: (?:to|and) (\d+))?", title)
    return range(int(found[1]), int(found[2] or found[1]) + 1) if found else range(0)


rows_to_take = st.lists(
    st.builds(
        lambda n, m, end: Row((f"S{n}:drop{m}", f"D{n + m}"), end), *[st.integers(1, 9)] * 2, st.sampled_from("ab")
    ),
    unique_by=lambda row: row.texts,
)


@given(rows_to_take)
def test_ranges_stand_for_the_rows_that_they_were_made_of(rows: list[Row]) -> None:
    made = list(ranged(rows))
    told = [one for row in made for one in written_out("|".join(row.texts), row.count)]
    assert sorted(told) == sorted("|".join(row.texts) for row in rows)


def test_colours_that_come_back_in_turn_are_told_once() -> None:
    assert in_order(["red"] * 3) == "red"
    assert in_order(["red", "blue"]) == "red, blue"
    assert in_order(["red", "blue", "red"]) == "red, blue, and again"
    assert in_order(["red", "red", "blue"]) == "red, red, blue"
    assert in_order([None]) == ""


@pytest.mark.parametrize("part", PARTS)
def test_a_part_alone_is_what_it_is_in_the_whole(part: str) -> None:
    answer = list_of("club-yard/club.toml")
    whole, alone = answer.document(), answer.document(part)
    own = [*sections(answer, part)]
    assert own == [one for one in sections(answer) if one in own]
    assert len(alone.data) == 1
    assert alone.data[0].rows == whole.data[PARTS.index(part)].rows
    assert all(title in document_text(alone, Style()) for title in own)


def test_boxes_are_for_pages_alone_one_for_each_wire() -> None:
    answer = list_of("small-yard/yard.toml")
    boxes = sum(box for one in wires_of(answer) for box in one.boxes)
    page = document_html(answer.document())
    assert page.count('type="checkbox"') == boxes
    assert page.count('aria-label="done: D1:1-6 &gt; I1-6:in, 6"') == 1
    assert "done" not in document_text(answer.document(), Style())
