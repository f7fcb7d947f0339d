"""The panel: order, places, legends and sheets."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.answers.workshop.panel import PanelAnswer
from blockcheck.core.errors import CallError
from blockcheck.formats.panel import Tiling, panel_html, panel_svg, spread_over
from blockcheck.formats.paper import Size
from blockcheck.formats.programs.json_v1 import answer_json

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"


def panel_of(name: str, pitch: str = "25 mm", columns: int = 10, group: str | None = None) -> PanelAnswer:
    return api.panel(api.load(EXAMPLES / name), pitch, columns, group)


def yard(isolators: dict[str, Any], blocks: dict[str, Any]) -> PanelAnswer:
    values = {
        "format": 1,
        "layout": {"name": "Cooperage", "control": "dcc"},
        "boosters": {"B1": {"voltage": "14 V", "current": "3 A"}},
        "districts": {"a": {"booster": "B1"}, "b": {"booster": "B1"}},
        "board_types": {"eight": {"channels": 8, "threshold": "1 mA"}},
        "boards": {"D1": {"type": "eight", "banks": ["a"]}},
        "isolators": isolators,
        "blocks": blocks,
    }
    return api.panel(api.loads(tomli_w.dumps(values), "yard.toml"))


def test_each_text_is_a_panel_in_track_order_and_says_so() -> None:
    answer = panel_of("club-yard/club.toml")
    assert [(plate.name, plate.at) for plate in answer.plates] == [
        (None, "lower panel, one below the other"),
        (None, "quay panel, left to right"),
    ]
    assert all("in the order of their tracks" in " ".join(one.notes) for one in answer.tables())
    assert [hole.isolator for hole in answer.holes] == [f"I{n}" for n in range(1, 11)] + [f"K{n}" for n in range(1, 6)]
    assert [(hole.row, hole.place) for hole in answer.holes[9:12]] == [(1, 10), (1, 1), (1, 2)]
    # ten holes 25 mm apart, 25 mm from the edges
    assert (answer.plates[0].width_mm, answer.plates[0].height_mm) == (9 * 25 + 50, 50)
    assert [(hole.x_mm, hole.y_mm) for hole in (answer.holes[0], answer.holes[9], answer.holes[10])] == [
        (25, 25),
        (250, 25),
        (25, 25),
    ]


def described(keys: str, rows: str = '[["I6", "I1-I2"], ["I3-I5"]]') -> Study:
    text = (EXAMPLES / "small-yard" / "yard.toml").read_text("utf-8")
    text = text.replace('panel = "Ropewalk, one below the other"', 'panel = "fascia"')
    return api.loads(f"{text}\n[panels.fascia]\nrows = {rows}\n{keys}\n")


def test_a_described_panel_has_its_rows_and_its_size() -> None:
    """By hand: three holes 30 mm apart in the middle of 200 mm, two rows 40 mm apart in the middle of 90 mm."""
    (plate,) = api.panel(described('pitch = "30 mm"\nrow_pitch = "40 mm"\nsize = ["200 mm", "90 mm"]')).plates
    assert (plate.name, plate.ordered, plate.width_mm, plate.height_mm) == ("fascia", True, 200, 90)
    assert {hole.isolator: (hole.x_mm, hole.y_mm) for hole in plate.holes} == {
        "I6": (70, 65),
        "I1": (100, 65),
        "I2": (130, 65),
        "I3": (70, 25),
        "I4": (100, 25),
        "I5": (130, 25),
    }
    assert "in the order of their tracks" not in panel_svg(api.panel(described("")))


def test_a_panel_that_is_too_small_is_told() -> None:
    study = described('size = ["90 mm", "120 mm"]')
    api.panel(study, pitch="30 mm")
    with pytest.raises(CallError, match="the controls of panel fascia need 100 mm x 100 mm, and it has 90 mm x 120 mm"):
        api.panel(study, pitch="40 mm")


@pytest.mark.parametrize("width", range(260, 1200, 70))
@pytest.mark.parametrize("paper", [Size(210, 297), Size(216, 279), Size(297, 420)])
def test_every_sheet_has_a_hole(width: int, paper: Size) -> None:
    """A wide panel with its holes in the middle, and one that is full of them."""
    for pitch in (30, (width - 60) // 2):
        keys = f'pitch = "{min(pitch, 200)} mm"\nrow_pitch = "60 mm"\nsize = ["{width} mm", "{width * 3 // 4} mm"]'
        text = panel_html(api.panel(described(keys)), paper)
        sheets = text.split('class="sheet"')[1:]
        assert sheets
        for sheet in sheets:
            left, top, across, down = map(float, re.findall(r'viewBox="([^"]+)"', sheet)[1].split())
            holes = re.findall(r'class="ring" cx="([0-9.]+)" cy="([0-9.]+)"|cx="([0-9.]+)" cy="([0-9.]+)"', sheet)
            places = [tuple(float(one) for one in found if one) for found in holes]
            assert any(left <= x <= left + across and top <= y <= top + down for x, y in places), (width, pitch)


def test_long_rows_are_broken() -> None:
    answer = panel_of("club-yard/club.toml", columns=4, group="lower")
    assert [hole.row for hole in answer.holes] == [1, 1, 1, 1, 2, 2, 2, 2, 3, 3]
    assert (answer.plates[0].width_mm, answer.plates[0].height_mm) == (3 * 25 + 50, 2 * 50 + 50)


def test_track_numbers_decide_and_names_come_last() -> None:
    answer = yard(
        {"A": {}, "B": {}, "C": {}, "Z": {}},
        {
            "S3": {"channel": "D1.1", "isolator": "A"},
            "S1": {"channel": "D1.2", "isolator": "B"},
            "spur": {"channel": "D1.3", "isolator": "C"},
        },
    )
    assert [(hole.isolator, hole.tracks, hole.blocks) for hole in answer.holes] == [
        ("B", (1,), ("S1",)),
        ("A", (3,), ("S3",)),
        ("C", (), ("spur",)),
        ("Z", (), ()),
    ]
    assert answer.holes[-1].does == "isolates nothing"


def test_what_each_does_is_said_in_words() -> None:
    answer = yard(
        {
            "A": {"hold": "10 kohm", "detection": "held", "isolates": ["S1", "S2"]},
            "B": {},
            "X": {"contact": "changeover", "between": ["a", "b"]},
            "Y": {"contact": "changeover", "between": ["a", "b"], "centre_off": False},
        },
        {
            "S1": {"channel": "D1.1", "isolator": "A"},
            "S2": {"channel": "D1.2"},
            "S3": {"channel": "D1.3", "isolator": "B"},
            "U4": {"undetected": "driven by eye", "isolator": "X"},
            "U5": {"undetected": "driven by eye", "isolator": "Y"},
        },
    )
    assert [(hole.isolator, hole.positions, hole.does) for hole in answer.holes] == [
        ("A", ("on", "off"), "off: dead, still read"),
        ("B", ("on", "off"), "off: dead, reads clear"),
        ("X", ("a", "off", "b"), "fed from a or b; off: dead"),
        ("Y", ("a", "b"), "fed from a or b"),
    ]


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"pitch": "5 mm"}, "pitch cannot be 5 mm"),
        ({"columns": 0}, "columns cannot be 0"),
        ({"group": "middle"}, 'no isolator in a group "middle"'),
    ],
)
def test_what_cannot_be_drawn_is_refused(options: dict[str, Any], message: str) -> None:
    with pytest.raises(CallError, match=message):
        panel_of("club-yard/club.toml", **options)


def test_a_layout_without_isolators_has_no_panel() -> None:
    with pytest.raises(CallError, match="no isolators"):
        yard({}, {"S1": {"channel": "D1.1"}})


def tiling(drawing: Size, paper: Size) -> Tiling:
    """The fewest sheets of a paper, upright or lying, that hold a drawing with overlaps."""
    choices = [spread_over(drawing, lying) for lying in (paper, Size(paper.height, paper.width))]
    lies = drawing.width > drawing.height
    return min(choices, key=lambda one: (one.columns * one.rows, (one.paper.width > one.paper.height) != lies))


def test_sheets_are_the_fewest_that_hold_the_drawing() -> None:
    a4 = Size(210, 297)
    # a window is the paper less 6 mm all round and 16 mm for the foot: 198 by 269, or lying 285 by 182
    assert (tiling(Size(285, 182), a4).columns, tiling(Size(285, 182), a4).rows) == (1, 1)
    assert tiling(Size(285, 182), a4).paper == Size(297, 210)
    assert (tiling(Size(198, 269), a4).columns, tiling(Size(198, 269), a4).rows) == (1, 1)
    wide = tiling(Size(286, 100), a4)
    assert (wide.columns, wide.rows, wide.paper) == (2, 1, Size(297, 210))
    # each sheet more adds a window less 15 mm of overlap
    assert tiling(Size(285 + 270, 100), a4).columns == 2
    assert tiling(Size(285 + 271, 100), a4).columns == 3


def test_the_sheets_tell_the_cautions_and_escape_names() -> None:
    answer = yard({"<I&1>": {}}, {"S1": {"channel": "D1.1", "isolator": "<I&1>"}})
    for text in (panel_svg(answer), panel_html(answer, Size(210, 297))):
        assert "mains" in text
        assert "licensed" in text
        assert "<I&1>" not in text
        assert "&lt;I&amp;1&gt;" in text


def test_the_json_has_every_hole() -> None:
    answer = panel_of("dc-yard/yard.toml")
    found = json.loads(answer_json(answer))
    assert [one["isolator"] for plate in found["plates"] for one in plate["holes"]] == [
        hole.isolator for hole in answer.holes
    ]
    assert found["plates"][0]["holes"][0]["positions"] == ["west", "off", "east"]
