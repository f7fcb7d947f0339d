"""What ``new`` writes: a short file, and whole yards, which are right as they stand and say what is so."""

from __future__ import annotations

import os
import re
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import blockcheck
from blockcheck.__main__ import main
from blockcheck.answers.start.yard import MOST_TRACKS

TODAY = date(2031, 6, 1)
"""Wishes at the corners, for every run; more are drawn where the suite is asked to look long."""
CORNERS = [
    (1, 1, (8,), "metric"),
    (1, 2, (3, 8), "imperial"),
    (2, 1, (8,), "imperial"),
    (3, 2, (1, 1, 1, 2), "metric"),
    (14, 2, (8, 8), "imperial"),
    (40, 2, (10, 10, 10, 20), "metric"),
]


def right(text: str) -> blockcheck.types.Study:
    """The layout, of which nothing at all is to be said and no check was not made."""
    study = blockcheck.loads(text, "yard.toml")
    answer = blockcheck.check(study, TODAY)
    assert answer.findings == ()
    assert answer.unchecked == ()
    return study


def comments_are_true(text: str, study: blockcheck.types.Study) -> None:
    layout = study.layout
    tracks = [one for one in layout.blocks.values() if one.kind == "storage"]
    told = re.match(r"# A yard of (\d+) tracks? with a (?:throat|lead) at (one|either) end, on (\d+) board", text)
    assert told is not None
    assert (int(told[1]), told[2] == "either", int(told[3])) == (
        len(tracks),
        len(layout.blocks) - len(tracks) == 2,
        len(layout.boards),
    )
    for first, count in re.findall(r"^# T(?:1)-T(\d+) is a range: (\d+) blocks", text, re.MULTILINE):
        assert int(first) == int(count) == len(tracks)
    for last in re.findall(r"# yours: channel 1 reports as (.+)", text):
        reports, channels = re.findall(r"\d+", last), blockcheck.channels(study)
        known = {row.address for row in channels.rows} | {one.address for one in channels.spare}
        assert int(reports[0]) in known
        assert int(reports[-1]) in known
    for names in re.findall(r"# No block is on (.+): describe", text):
        assert not set(re.findall(r"D\d+", names)) & layout.boards.keys()
    for call in re.findall(r"blockcheck (explain [a-z.]+)", text):
        assert main(call.split()) == 0


def yard(tracks: int, ends: int, boards: tuple[int, ...] | None, units: str, **more: object) -> str:
    return blockcheck.new("yard.toml", tracks=tracks, ends=ends, boards=boards, units=units, **more).text  # type: ignore[arg-type]


@pytest.mark.parametrize("wish", CORNERS)
def test_a_yard_is_right_as_it_stands(wish: tuple[int, int, tuple[int, ...], str]) -> None:
    text = yard(*wish)
    study = right(text)
    comments_are_true(text, study)
    tracks, ends, boards, units = wish
    assert len(study.layout.turnouts) == (tracks - 1) * ends
    assert len(study.layout.joints) == tracks * ends
    assert len(study.layout.isolators) == tracks
    assert study.layout.about.units == units
    spare = blockcheck.channels(study).spare
    assert len(study.layout.blocks) + len(spare) == sum(boards[: len(study.layout.boards)])
    assert all(row.voltage_v for row in blockcheck.power(study).rows if row.block.startswith("T"))
    assert max(map(len, text.splitlines())) <= 120


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize(
    ("tracks", "ends", "length"), [(1, 1, None), (1, 2, "0.5 m"), (2, 2, None), (14, 2, "15 m"), (40, 1, None)]
)
def test_a_yard_that_two_cabs_feed_is_right_as_it_stands(
    tracks: int, ends: int, length: str | None, units: str
) -> None:
    text = yard(tracks, ends, None, units, length=length, kind="dc")
    study = right(text)
    layout = study.layout
    assert re.match(r"# A yard of (\d+) tracks? with a (throat|lead) at (one|either) end, fed by two cabs\. ", text)
    assert (layout.about.control, len(layout.boards), len(layout.boosters)) == ("dc", 0, 2)
    assert len(layout.turnouts) == (tracks - 1) * ends
    assert {one.contact for one in layout.isolators.values()} == {"changeover"}
    assert len(layout.isolators) == len(layout.blocks) == tracks + ends
    assert max(map(len, text.splitlines())) <= 120
    power = {row.block: row.voltage_v for row in blockcheck.power(study, "departure").rows}
    assert power["T1"]
    for call in re.findall(r"blockcheck (explain [a-z.]+)", text):
        assert main(call.split()) == 0


@pytest.mark.parametrize("odd", [{"boards": (8,)}, {"isolators": False}, {"kind": "ac"}])
def test_what_no_yard_of_cabs_can_be_is_told(odd: dict[str, object]) -> None:
    with pytest.raises(blockcheck.CallError, match=r"boards|switches|dcc or dc"):
        yard(**{"tracks": 4, "ends": 1, "boards": None, "units": "metric", "kind": "dc", **odd})  # type: ignore[arg-type]


@st.composite
def wishes(draw: st.DrawFn) -> dict[str, object]:
    tracks, ends = draw(st.integers(1, MOST_TRACKS)), draw(st.integers(1, 2))
    boards = draw(st.lists(st.integers(1, 32), min_size=1, max_size=4))
    short = tracks + ends - sum(boards)
    units = draw(st.sampled_from(["metric", "imperial"]))
    most = {"metric": 15, "imperial": 50}[units]
    length = draw(st.none() | st.integers(2, most).map(lambda n: f"{n} {'m' if units == 'metric' else 'ft'}"))
    kind = draw(st.sampled_from(["dcc", "dc"]))
    return {
        "tracks": tracks,
        "ends": ends,
        "kind": kind,
        "boards": None if kind == "dc" else (*boards[:-1], boards[-1] + max(short, 0)),
        "units": units,
        "length": length,
        "isolators": None if kind == "dc" else draw(st.booleans()),
        "name": draw(st.none() | st.text(st.characters(codec="utf-8", categories=["L", "N", "P"]), min_size=1)),
    }


@settings(max_examples=int(os.environ.get("FUZZ_COUNT", "4")))
@given(wishes())
def test_any_yard_is_right_as_it_stands(wish: dict[str, object]) -> None:
    text = yard(**wish)  # type: ignore[arg-type]
    study = right(text)
    if wish["kind"] == "dcc":
        comments_are_true(text, study)
