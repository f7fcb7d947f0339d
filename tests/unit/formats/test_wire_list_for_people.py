"""The wire list as people read it: one row a wire, joints side by side, and nothing lost between the rows."""

from __future__ import annotations

from pathlib import Path

import pytest

from blockcheck import api
from blockcheck.answers.tables import Table
from blockcheck.answers.workshop.strips import MOST_JOINTS, NOT_GIVEN
from blockcheck.answers.workshop.wires import PARTS, WireList
from blockcheck.formats.html import document_html
from blockcheck.formats.style import Style
from blockcheck.formats.text import document_text

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
LAYOUTS = ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml")


def list_of(name: str) -> WireList:
    return api.wires(api.load(EXAMPLES / name))


def table(answer: WireList, title: str) -> Table:
    return next(one for one in answer.document().tables if one.title == title)


def test_a_wire_is_one_row_from_end_to_end() -> None:
    rows = {row[0]: row for row in table(list_of("small-yard/yard.toml"), "Detected buses").shown()}
    assert rows["I3:out > R3:j1 > ... > R3:j4 > R3:end"][1:] == [
        "green",
        "1.5 mm2",
        "4.9 m",
        "4 x 1.2 m, 10 cm",
        "screw, screw",
    ]
    drops = {row[0]: row for row in table(list_of("small-yard/yard.toml"), "Drops").shown()}
    assert drops["R5:bus > R5:drop1-3"][1:5] == ["45 cm, 1.35 m, 2.25 m", "orange", "0.5 mm2", "60 cm"]


def test_a_wire_without_a_length_says_so() -> None:
    rows = list(table(list_of("small-yard/yard.toml"), "To the isolators").rows)
    assert {row[4] for row in rows} == {NOT_GIVEN}


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_wire_and_every_drop_is_in_a_row(name: str) -> None:
    answer = list_of(name)
    tables = [one for one in answer.document().tables if one.headers[0].title == "from end to end"]
    wires = {piece.wire for piece in answer.pieces if piece.kind != "drop"}
    drops = {(piece.subject, piece.rail) for piece in answer.pieces if piece.kind == "drop"}
    assert sum(len(one.rows) for one in tables) == len(wires) + len(drops)
    assert len({row[0] for one in tables for row in one.rows}) == len(wires) + len(drops)


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_terminal_of_a_joint_is_in_the_table_of_its_harness(name: str) -> None:
    answer = list_of(name)
    harnesses = {strip.home for strip in answer.strips if strip.kind == "harness"}
    for home in harnesses:
        found = table(answer, f"Joints of harness {home}")
        strips = [one for one in answer.strips if one.kind == "harness" and one.home == home]
        assert sum(cell is not None for row in found.rows for cell in row[2:]) == sum(len(one.clamps) for one in strips)
        for place, strip in enumerate(strips, 2):
            shown = {row[0]: row[place] for row in found.rows if row[place] is not None}
            assert shown == {clamp.wire: clamp.position for clamp in strip.clamps}


def test_many_joints_are_spread_over_tables() -> None:
    text = (EXAMPLES / "small-yard" / "yard.toml").read_text("utf-8").replace('segment = "1.2 m"', 'segment = "0.3 m"')
    answer = api.wires(api.loads(text, "yard.toml"))
    found = [one for one in answer.document().tables if one.title.startswith("Joints of harness")]
    joints = [header.title for one in found for header in one.headers if header.title.startswith("j")]
    assert len(found) == 2
    assert [one.partition(" ")[0] for one in joints] == [f"j{number}" for number in range(1, 19)]  # 5.5 m in 30 cm
    assert len(found[0].headers) == 2 + MOST_JOINTS
    assert found[-1].headers[-1].title == "far end"


@pytest.mark.parametrize("part", PARTS)
def test_a_part_alone_is_what_it_is_in_the_whole(part: str) -> None:
    answer = list_of("club-yard/club.toml")
    whole, alone = answer.document(), answer.document(part)
    assert [one.title for one in alone.tables] == [
        one.title for one in whole.tables if one.title in {table.title for table in alone.tables}
    ]
    assert len(alone.data) == 1
    assert alone.data[0].rows == whole.data[PARTS.index(part)].rows
    assert all(one.title in document_text(answer.document(part), Style()) for one in alone.tables)


def test_boxes_are_for_paper_alone() -> None:
    answer = list_of("small-yard/yard.toml")
    assert "\u2610" not in document_text(answer.document(), Style())
    assert "\u2610" in document_html(answer.document())
