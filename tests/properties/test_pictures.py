"""Every picture of track, read back: what touches in it is what the description joins, and its track is clean."""

from __future__ import annotations

import os
from datetime import date
from math import hypot
from pathlib import Path
from random import Random

import pytest

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.answers.draw import Drawing
from blockcheck.drawing.drawer import Drawer
from blockcheck.drawing.figures.figure import Figure, Fork, Point, near
from blockcheck.drawing.figures.read_back import audit, lies_on, touching
from blockcheck.drawing.standing import Standing
from blockcheck.drawing.track import Track
from tests.drawings import labels_that_overlap
from tests.track_plans import double_ended, plan, plans

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = {
    path: (ROOT / "examples" / path)
    for path in (
        "small-yard/yard.toml",
        "club-yard/club.toml",
        "dc-yard/yard.toml",
        "faulty-yard/yard.toml",
        "turning-line/line.toml",
    )
}
PLANS = plans()
CHANCE = int(os.environ.get("BLOCKCHECK_PLANS", "24"))
"""Plans by chance that are drawn: a thousand in a long run."""
CLEAN = 0.99
"""How many of a thousand are drawn clean; the others are told in lists."""


def track(study: Study) -> Track:
    return Drawer(Standing(study, None, None, date(2030, 1, 1))).track


def figures(made: Track) -> list[Figure]:
    return [figure for row in made.laid.rows for figure in row.figures]


def legs_drawn(figure: Figure) -> list[str]:
    """The turnouts whose three directions are not those of the track that is drawn there."""
    wrong = []
    for fork in figure.forks:
        ways: list[Point] = []
        for stroke in figure.strokes:
            for one, other in zip(stroke.points, stroke.points[1:], strict=False):
                for here, there in ((one, other), (other, one)):
                    if near(here, fork.at):
                        long = hypot(there[0] - here[0], there[1] - here[1])
                        ways.append(((there[0] - here[0]) / long, (there[1] - here[1]) / long))
                if lies_on(fork.at, (one, other)):
                    long = hypot(other[0] - one[0], other[1] - one[1])
                    way = ((other[0] - one[0]) / long, (other[1] - one[1]) / long)
                    ways += [way, (-way[0], -way[1])]
        told = (fork.toe, fork.through, fork.diverging)
        if len(ways) != 3 or not all(any(near(way, leg, 0.02) for way in ways) for leg in told):
            wrong.append(fork.name)
    return wrong


def hold(made: Track) -> None:
    """What holds of every picture that is drawn whole."""
    pictures = figures(made)
    assert touching(pictures) == made.maker.ports.meetings
    assert [audit(one).places for one in pictures if audit(one).places] == []
    assert [name for one in pictures for name in legs_drawn(one)] == []
    layout = made.maker.ports.layout
    assert {stroke.block for one in pictures for stroke in one.strokes} == {*layout.blocks}
    forks = [fork.name for one in pictures for fork in one.forks]
    assert sorted(forks) == sorted((*layout.turnouts, *made.maker.ports.guessed))


def straight(fork: Fork) -> bool:
    """Whether the through leg goes straight on from the toe."""
    return abs(fork.toe[0] + fork.through[0]) + abs(fork.toe[1] + fork.through[1]) < 0.01


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_is_drawn_as_it_is_joined(name: str) -> None:
    made = track(api.loads(PLANS[name], "plan.toml"))
    hold(made)
    assert not made.notes
    assert not made.listed
    assert made.laid.whole
    bent = [fork.name for one in figures(made) for fork in one.forks if not straight(fork)]
    assert bent == {
        "triangle": ["TC"],
        "triangle with a siding": ["TC"],
        "figure of eight": ["TA", "TB"],
        "two ladders in one throat": [],
    }.get(name, [])


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_is_drawn_as_it_is_joined(name: str) -> None:
    hold(track(api.load(EXAMPLES[name])))


@pytest.mark.parametrize("name", ["ladder", "yard", "two ladders in one throat"])
def test_the_turnouts_of_a_ladder_follow_each_other_from_the_toe(name: str) -> None:
    (figure,) = figures(track(api.loads(PLANS[name], "plan.toml")))
    at = {fork.name: fork.at for fork in figure.forks}
    for prefix, way in (("T", 1), ("W", 1), ("E", -1), ("WA", 1), ("WB", 1), ("EA", -1), ("EB", -1)):
        order = sorted(
            (int(one.removeprefix(prefix)), at[one][0] * way)
            for one in at
            if one[len(prefix) :].isdigit() and one.startswith(prefix)
        )
        assert [x for _, x in order] == sorted(x for _, x in order)


def test_a_yard_of_24_tracks_is_read_on_one_sheet_of_a4() -> None:
    for plan_ in (PLANS["two ladders in one throat"], double_ended(24).text, double_ended(24, parallel=True).text):
        made = track(api.loads(plan_, "plan.toml"))
        hold(made)
        assert made.laid.whole
        assert 2.8 * made.laid.scale >= 2.5


def test_plans_by_chance_are_clean() -> None:
    """Nobody builds them, and yet they are right; what is told in lists is drawn block by block."""
    listed = 0
    for seed in range(CHANCE):
        made = track(api.loads(plan(Random(seed)), "plan.toml"))
        if made.listed:
            listed += 1
            assert made.laid.rows
        else:
            hold(made)
    assert listed <= (1 - CLEAN) * CHANCE


def places(drawing: Drawing) -> list[tuple[object, ...]]:
    """All that is drawn of track, and where each name stands; but for trains, which a scenario may move."""
    own = [line for line in drawing.lines if line.of not in (None, "train") and line.kind != "set"]
    lines = [(line.kind, line.points, line.of, line.name) for line in own]
    names = [
        (one.text, one.x_mm, one.y_mm)
        for one in drawing.labels
        if one.of and one.kind in ("name", "turnout", "channel")
    ]
    return [*lines, *names]


@pytest.mark.parametrize(
    ("name", "scenario", "opened"),
    [
        ("small-yard/yard.toml", None, "1-2"),
        ("club-yard/club.toml", "show", "upper"),
        ("club-yard/club.toml", "night", None),
        ("dc-yard/yard.toml", None, "X1"),
    ],
)
def test_a_state_leaves_every_part_where_it_was(name: str, scenario: str | None, opened: str | None) -> None:
    case = api.load(EXAMPLES[name])
    usual, other = api.draw(case), api.draw(case, scenario, opened)
    assert places(usual) == places(other)
    assert usual.labels != other.labels


@pytest.mark.parametrize("name", PLANS)
def test_no_word_stands_on_another(name: str) -> None:
    drawing = api.draw(api.loads(PLANS[name], "plan.toml"))
    assert labels_that_overlap(drawing) == []
    assert not [one.text for one in drawing.labels if one.kind == "told"]
    assert api.draw(api.loads(PLANS[name], "plan.toml")) == drawing


def chain(count: int, closed: bool = False) -> str:
    text = PLANS["ladder"].partition("blocks.")[0].replace("channels = 200", "channels = 600")
    text += f'blocks.S1-S{count} = {{ channel = "D1.1-{count}" }}\n'
    ends = range(1, count + closed)
    return text + "".join(f'[[joints]]\nblocks = ["S{n}", "S{n % count + 1}"]\ngap = "both"\n' for n in ends)


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("count", [2, 80, 81, 300])
def test_long_runs_are_cut_into_pieces_that_name_each_other(count: int, closed: bool) -> None:
    made = track(api.loads(chain(count, closed), "plan.toml"))
    hold(made)
    assert not made.listed


@pytest.mark.parametrize("count", [1, 80, 81, 500])
def test_bare_blocks_are_drawn(count: int) -> None:
    text = chain(count).partition("[[joints]]")[0]
    hold(track(api.loads(text, "plan.toml")))


def test_a_yard_too_large_for_a_sheet_is_told_block_by_block() -> None:
    case = api.loads(double_ended(60).text, "plan.toml")
    drawing = api.draw(case)
    assert {box.name for box in drawing.boxes if box.kind == "block"} == {*case.layout.blocks}
    assert any("W1 in west: toe west-line" in one.text for one in drawing.labels)
    assert any("block by block" in one.text for one in drawing.labels)
