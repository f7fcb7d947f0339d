"""The panel: order, places, legends and sheets."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import tomli_w

from blockcheck import api
from blockcheck.answers.workshop.panel import PanelAnswer
from blockcheck.core.errors import CallError
from blockcheck.formats.panel import panel_html, panel_svg, tiling
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


def test_groups_stand_one_below_the_other_in_track_order() -> None:
    answer = panel_of("club-yard/club.toml")
    assert [hole.isolator for hole in answer.holes] == [f"I{n}" for n in range(1, 11)] + [f"K{n}" for n in range(1, 6)]
    assert [(hole.row, hole.place) for hole in answer.holes[9:12]] == [(1, 10), (2, 1), (2, 2)]
    # ten holes 25 mm apart, 25 mm from the edges; rows twice as far apart
    assert (answer.width_mm, answer.height_mm) == (9 * 25 + 50, 50 + 50)
    assert [(hole.x_mm, hole.y_mm) for hole in (answer.holes[0], answer.holes[9], answer.holes[10])] == [
        (25, 75),
        (250, 75),
        (25, 25),
    ]


def test_long_rows_are_broken() -> None:
    answer = panel_of("club-yard/club.toml", columns=4, group="lower")
    assert [hole.row for hole in answer.holes] == [1, 1, 1, 1, 2, 2, 2, 2, 3, 3]
    assert (answer.width_mm, answer.height_mm) == (3 * 25 + 50, 2 * 50 + 50)


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
    assert [one["isolator"] for one in found["holes"]] == [hole.isolator for hole in answer.holes]
    assert found["holes"][0]["positions"] == ["west", "off", "east"]
