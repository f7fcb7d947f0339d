"""Plain track without power: nothing is asked of it but that it is cut off from what has power."""

from __future__ import annotations

import pytest

import blockcheck
from blockcheck.core.errors import InputError

YARD = """\
format = 1
[layout]
name = "Osier Dock"
control = "dcc"
[boosters.B1]
voltage = "14 V"
current = "3 A"
[districts.dock]
booster = "B1"
[board_types.eight]
channels = 8
threshold = "1.5 mA"
[boards.D1]
type = "eight"
[blocks.S1]
channel = "D1.1"
isolator = "I1"
[blocks.stub]
unpowered = "a display track behind the buffers"
kind = "storage"
[isolators.I1]
[[joints]]
blocks = ["S1", "stub"]
gap = "both"
[scenarios.show]
expect = { lit = ["S1"], dead = ["stub"] }
"""


def test_no_rule_wants_power_or_a_channel_of_it() -> None:
    answer = blockcheck.check(blockcheck.loads(YARD))
    assert [one.rule for one in answer.findings] == ["channel-unused"]
    assert not [one for one in answer.unchecked if one.subject == "stub"]


@pytest.mark.parametrize("gap", ["none", "detected", "common"])
def test_a_rail_that_is_not_cut_is_told(gap: str) -> None:
    text = YARD.replace('gap = "both"', f'gap = "{gap}"')
    assert "unpowered-joined" in {one.rule for one in blockcheck.check(blockcheck.loads(text)).findings}


def test_a_scenario_that_expects_power_there_is_wrong() -> None:
    answer = blockcheck.check(blockcheck.loads(YARD.replace('lit = ["S1"]', 'lit = ["S1", "stub"]')))
    assert [one.rule for one in answer.findings if one.severity.value == "error"] == ["scenario-expectation"]


def test_it_has_a_line_in_every_answer() -> None:
    case = blockcheck.loads(YARD)
    assert [(row.block, row.reason) for row in blockcheck.channels(case).undetected] == [
        ("stub", "a display track behind the buffers")
    ]
    (row,) = [one for one in blockcheck.power(case).rows if one.block == "stub"]
    assert row.voltage_v is None
    assert "stub" not in {name for step in blockcheck.bench(case, every=True).steps for name in step.id.split(".")}
    assert "without power" in {one.text for one in blockcheck.draw(case).labels}
    assert "stub" not in {name for piece in blockcheck.wires(case).pieces for name in (piece.from_, piece.to)}


@pytest.mark.parametrize(
    "line", ['channel = "D1.2"', 'isolator = "I1"', 'district = "dock"', 'harness = "h"', "feeders = 2", 'lead = "1 m"']
)
def test_what_only_a_feed_has_is_refused(line: str) -> None:
    with pytest.raises(InputError) as caught:
        blockcheck.loads(YARD.replace("unpowered =", f"{line}\nunpowered ="))
    key = line.split(" ")[0]
    assert f"stub is plain track without power, and has {key}" in [one.message for one in caught.value.findings]
