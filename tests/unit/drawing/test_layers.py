"""Layers on the track: trains as long as they are, drops where they are; nothing else moves."""

from __future__ import annotations

from itertools import pairwise
from math import hypot
from pathlib import Path

import pytest
from tests.drawings import labels_that_overlap
from tests.track_plans import plans

from blockcheck import api
from blockcheck.answers.draw import Drawing
from blockcheck.circuit.wires import lines
from blockcheck.core.errors import CallError
from blockcheck.drawing.along import Along, along
from blockcheck.drawing.figures.figure import Stroke

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
CLUB = api.load(EXAMPLES / "club-yard/club.toml")
BESIDE = {"train", "inside", "drop", "tint-0", "tint-1", "hatch-0", "hatch-1"}


def far(drawing: Drawing, kind: str, name: str) -> float:
    """How long the lines of something are."""
    points = [one.points for one in drawing.lines if (one.kind, one.name) == (kind, name)]
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for some in points for a, b in pairwise(some))


def shapes(drawing: Drawing) -> set[object]:
    """All of the track and its words."""
    lines = {(one.kind, one.points) for one in drawing.lines if one.kind not in BESIDE and one.of != "train"}
    named = {(one.text, one.x_mm, one.y_mm) for one in drawing.labels if one.of in ("block", "turnout")}
    return {one for one in lines if one[1][0][1] < 150} | named


def test_nothing_moves_with_what_is_shown() -> None:
    drawn = {
        show: api.draw(CLUB, show=show) for show in ("none", "trains", "drops", "districts", "districts,trains,drops")
    }
    whole = shapes(drawn["none"])
    assert all(shapes(one) == whole for one in drawn.values())
    for show, one in drawn.items():
        assert not labels_that_overlap(one)
        kinds = {line.kind for line in one.lines}
        for layer, kind in {"trains": "train", "drops": "drop", "districts": "tint-0"}.items():
            assert (kind in kinds) == (layer in show), (show, layer)
    assert api.draw(CLUB) == api.draw(CLUB, show="districts,trains")


def test_a_train_is_as_long_as_it_is_and_stands_where_it_does() -> None:
    layout, drawn = CLUB.layout, api.draw(CLUB)
    for name, train in layout.trains.items():
        block = layout.blocks[str(train.at)]
        vehicles = sum((layout.loads[str(one)].length_m or 0.0) * count for one, count in train.vehicles.items())
        length = train.length_m or vehicles
        assert block.length_m
        share = far(drawn, "train", name) / far(drawn, "track", block.name)
        assert share == pytest.approx(min(length / block.length_m, 1.0), rel=0.01), name


def test_drops_stand_where_the_wire_list_has_them() -> None:
    drawn = api.draw(CLUB, show="drops")
    for block in ("S1", "Q4"):
        ticks = sum((one.kind, one.name) == ("drop", block) for one in drawn.lines)
        wires = lines(CLUB.wiring, CLUB.circuit).wires
        assert ticks == sum((one.kind, one.subject, one.rail) == ("drop", block, "detected") for one in wires) > 1


def test_a_scenario_moves_its_trains() -> None:
    name = next(one for one, scenario in CLUB.layout.scenarios.items() if "stone" in scenario.at)
    places = {
        scenario: [one.points for one in api.draw(CLUB, scenario).lines if (one.of, one.name) == ("train", "stone")]
        for scenario in (None, name)
    }
    assert places[None]
    assert places[name]
    assert places[None] != places[name]


def test_a_layer_that_is_none_is_refused_with_those_there_are() -> None:
    with pytest.raises(CallError, match='no layer "trian"') as caught:
        api.draw(CLUB, show="districts,trian")
    assert caught.value.help == "write some of districts, trains, drops, boards; or none"


def test_a_group_or_a_board_is_told_once_where_it_covers_nothing() -> None:
    drawn = api.draw(CLUB, "show", show="districts,trains,drops,boards")
    told = [label.text for label in drawn.labels if label.kind in ("group", "board")]
    hangs = ["board D1: lower deck, under the west throat", "board D2: upper deck, behind the warehouse"]
    assert sorted(told) == [*hangs, "group: lower", "group: upper"]
    assert not labels_that_overlap(drawn)
    assert not [label.text for label in drawn.labels if label.text.startswith("Without room")]


def test_a_deck_is_told_with_its_group() -> None:
    drawn = api.draw(api.loads(plans()["two decks with a helix"], "plan.toml"))
    decks = {label.text: label.y_mm for label in drawn.labels if label.kind == "group"}
    assert sorted(decks) == ["deck 1: lower", "deck 2: upper"]
    assert decks["deck 2: upper"] < decks["deck 1: lower"], "the higher stands above"


def test_the_sign_of_a_joint_is_turned_with_its_track() -> None:
    drawn = api.draw(api.loads(plans()["two decks with a helix"], "plan.toml"))
    tracks = [pair for one in drawn.lines if one.kind == "track" for pair in pairwise(one.points)]
    cuts = [one.points for one in drawn.lines if (one.kind, one.of) == ("break", "joint")]
    assert len(cuts) > 10
    for (x, y), (far_x, far_y) in cuts:
        middle, way = ((x + far_x) / 2, (y + far_y) / 2), (far_x - x, far_y - y)
        ends = [
            (a, b) for pair in tracks for a, b in (pair, pair[::-1]) if hypot(a[0] - middle[0], a[1] - middle[1]) < 0.1
        ]
        turned = [
            abs(way[0] * (b[1] - a[1]) - way[1] * (b[0] - a[0])) / hypot(b[0] - a[0], b[1] - a[1]) for a, b in ends
        ]
        assert min(turned) < 0.03, middle


BENT = [Stroke(((10.0, 0.0), (10.0, 5.0)), "S1"), Stroke(((0.0, 0.0), (10.0, 0.0)), "S1")]


def test_along_a_line() -> None:
    line = along(BENT, None)
    assert line is not None
    assert line.points == ((0.0, 0.0), (10.0, 0.0), (10.0, 5.0))
    assert line.at(0.8) == ((10.0, 2.0), (0.0, 1.0))
    assert line.part(0.2, 0.9) == ((3.0, 0.0), (10.0, 0.0), (10.0, 3.5))
    turned = along(BENT, (10.0, 5.0))
    assert turned is not None
    assert turned.points == line.points[::-1]
    branch = along([*BENT, Stroke(((10.0, 0.0), (30.0, 0.0)), "S1")], None)
    assert branch is not None
    assert branch.points == ((0.0, 0.0), (10.0, 0.0), (30.0, 0.0)), "the longest"
    assert along([], None) is None
    assert along([Stroke(((float(n), 0.0), (n + 1.0, 0.0)), "S1") for n in range(40)], None) is None
    assert Along(((0.0, 0.0), (3.0, 4.0))).length == 5.0


def test_a_board_says_where_it_hangs() -> None:
    told = [label.text for label in api.draw(CLUB).labels]
    assert "lower deck, under the west throat" in told
    assert "upper deck, behind the warehouse" in told
