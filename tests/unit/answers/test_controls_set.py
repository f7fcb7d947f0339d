"""``route=5`` among the tracks of a call: the same answer as a scenario of the layout that sets it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import blockcheck
from blockcheck.__main__ import main
from blockcheck.core.errors import CallError
from blockcheck.types import Study

LINE = Path(__file__).resolve().parents[3] / "examples" / "turning-line" / "line.toml"
SAME = '[scenarios.same.set]\nR = "S2"\nQ = "diverging"\n'
ASKED = "R=S2, Q = diverging"


@pytest.fixture(scope="module")
def line() -> Study:
    return blockcheck.loads(LINE.read_text("utf-8") + SAME, "line.toml")


@pytest.mark.parametrize("answer", [blockcheck.power, blockcheck.wake, blockcheck.budget, blockcheck.isolate_state])
def test_it_stands_as_a_scenario_that_sets_it(answer: Any, line: Study) -> None:
    told = blockcheck.render(answer(line, None, ASKED), "markdown")
    assert "as usual with R at S2 and Q at diverging" in told
    wanted = blockcheck.render(answer(line, "same"), "markdown")
    assert told.lower().replace("as usual with r at s2 and q at diverging", 'in scenario "same"') == wanted.lower()


def test_tracks_beside_it_are_isolated_on_top_of_it(line: Study) -> None:
    asked, named = blockcheck.isolate(line, f"S2,{ASKED}"), blockcheck.isolate(line, "S2", "same")
    assert asked.blocks == named.blocks
    assert asked.trains == named.trains
    assert "Opening R/S2 with R at S2 and Q at diverging takes power from S2" in blockcheck.render(asked, "text")


def test_the_drawing_has_it(line: Study) -> None:
    shown = [blockcheck.render(blockcheck.draw(line, *how), "svg") for how in ((None, ASKED), ("same",))]
    assert shown[0].count("bc-off") == shown[1].count("bc-off") > 0


@pytest.mark.parametrize(
    ("asked", "told", "mend"),
    [
        ("R=S9", 'R has no position "S9"', "S1, S2, S3, off"),
        ("R=S1,R=S2", 'R is set to "S1" and to "S2"', "set it once"),
        ("R=", '"R=" sets nothing', "route=5"),
        ("S=S1", '"S" is no isolator, selector or turnout', "there are R/S1"),
        ("R/S1=closed,R/S2=closed", "cannot be", "a scenario in which that can be"),
        ("S2,R/S1=closed,R/S3=closed", "cannot be", "a scenario in which that can be"),
    ],
)
def test_what_cannot_be_set_is_told(asked: str, told: str, mend: str, line: Study) -> None:
    with pytest.raises(CallError) as error:
        blockcheck.power(line, None, asked)
    assert told in str(error.value)
    assert mend in str(error.value.help)


def test_a_track_is_wanted_where_something_is_to_be_isolated(line: Study) -> None:
    with pytest.raises(CallError, match="names no track to isolate"):
        blockcheck.isolate(line, ASKED)


def test_the_command_tells_how_everything_stands_where_no_track_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["isolate", str(LINE), "R=S2"]) == 0
    assert capsys.readouterr().out.startswith("Tern Point: as usual with R at S2, 8 of 11 blocks have power")


def test_a_name_with_an_equals_sign_is_a_name() -> None:
    text = LINE.read_text("utf-8").replace("[blocks.quarry]", "[blocks.'Q=through']").replace('"quarry"', '"Q=through"')
    assert blockcheck.isolate(blockcheck.loads(text, "line.toml"), "S2,Q=through").not_isolatable == ("Q=through",)
