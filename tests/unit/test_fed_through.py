"""Tracks that others feed by their rails, and points that pass power to the leg for which they are set."""

from __future__ import annotations

import pytest

import blockcheck
from blockcheck.analysis.not_modelled import not_modelled
from blockcheck.core.errors import InputError

YARD = """\
format = 1
[layout]
name = "Osier Dock"
control = "dcc"
[boosters.B1]
voltage = "14 V"
current = "3 A"
trip = "4 A"
delay = "30 ms"
[districts.dock]
booster = "B1"
feed = { wire = "2.5 mm2", length = "3 m" }
[loads.shunter]
locomotive = true
idle = "90 mA"
running = "1 A"
[board_types.four]
channels = 2
threshold = "1.5 mA"
drop = "0.7 V"
[boards.D1]
type = "four"
[harnesses.dock]
bus = "1.5 mm2"
common = "1.5 mm2"
lead = "2 m"
feeder = "0.5 mm2"
feeder_length = "20 cm"
feeder_spacing = "2 m"
rail = "code83"
[blocks.main]
channel = "D1.1"
length = "3 m"
harness = "dock"
isolator = "I1"
[blocks.line]
channel = "D1.2"
length = "3 m"
harness = "dock"
[blocks.spur]
fed_through = "W1"
length = "2 m"
kind = "storage"
[isolators.I1]
[turnouts.W1]
block = "main"
through = "line"
diverging = "spur"
routes = true
usually = "diverging"
[[joints]]
blocks = ["main", "line"]
gap = "detected"
[[joints]]
blocks = ["main", "spur"]
gap = "none"
[trains.coal]
vehicles = { shunter = 1 }
at = "spur"
state = "running"
[scenarios.night]
set = { W1 = "through" }
expect = { dead = ["spur"], lit = ["main", "line"] }
"""


def errors(text: str) -> list[str]:
    return [one.rule for one in blockcheck.check(blockcheck.loads(text)).findings]


def test_a_siding_that_its_own_points_put_to_sleep_is_sound() -> None:
    assert errors(YARD) == []


@pytest.mark.parametrize(("points", "power"), [("diverging", "on"), ("through", "off")])
def test_the_leg_for_which_the_points_are_not_set_has_no_power(points: str, power: str) -> None:
    now = blockcheck.loads(YARD).now({"W1": points})
    assert (now.power("spur"), now.power("main"), now.power("line")) == (power, "on", "on")


def test_without_routes_it_stays_fed() -> None:
    text = YARD.replace("routes = true", "routes = false").replace('dead = ["spur"]', "dead = []")
    now = blockcheck.loads(text).now({"W1": "through"})
    assert now.power("spur") == "on"


def test_points_that_are_said_to_pass_all_power_or_one_leg_are_modelled() -> None:
    left_out = not_modelled(blockcheck.loads(YARD.replace("routes = true\n", "")))
    assert "points that feed a leg" in [one.what for one in left_out]
    assert "points that feed a leg" not in [one.what for one in not_modelled(blockcheck.loads(YARD))]


def test_it_is_part_of_the_detection_of_what_feeds_it() -> None:
    case = blockcheck.loads(YARD)
    assert case.now({}).detection("spur") == "working"
    assert [(row.block, row.note) for row in blockcheck.channels(case).rows if row.channel == 1] == [
        ("main", None),
        ("spur", "fed through W1"),
    ]
    assert blockcheck.isolate_each(case).rows[0].off == ("main", "spur")


def test_what_stands_in_it_flows_through_the_channel_and_the_contact_of_what_feeds_it() -> None:
    rows = {row.name: row for row in blockcheck.budget(blockcheck.loads(YARD)).scenarios[0].loads}
    assert rows["D1.1"].current_a == pytest.approx(1.0)
    assert rows["D1.1"].block == "main"
    assert rows["I1"].current_a == pytest.approx(1.0)
    weak = YARD.replace('drop = "0.7 V"', 'drop = "0.7 V"\nchannel_current = "0.5 A"')
    (finding,) = blockcheck.check(blockcheck.loads(weak)).findings
    assert "would carry 1 A for main" in finding.message


def test_it_has_volts_and_no_wire() -> None:
    case = blockcheck.loads(YARD)
    volts = {row.block: row.voltage_v or 0.0 for row in blockcheck.power(case).rows}
    assert 10 < volts["spur"] < volts["main"]
    ends = {name for piece in blockcheck.wires(case).pieces for name in (piece.from_, piece.to)}
    assert not [name for name in ends if name.startswith("spur")]


def test_the_sheet_looks_at_its_rails() -> None:
    answer = blockcheck.bench(blockcheck.loads(YARD), every=True)
    assert {"rails.spur", "axle.spur.far"} <= {step.id for step in answer.steps}
    assert "rail-cut:main,spur.detected" in answer.faults


@pytest.mark.parametrize(
    ("before", "after", "message"),
    [
        ('fed_through = "W1"', 'fed_through = "W1"\nchannel = "D1.1"', "spur is fed through W1, and has channel"),
        ('fed_through = "W1"', 'fed_through = "W1"\nfeeders = 2', "spur is fed through W1, and has feeders"),
        ('fed_through = "W1"', 'fed_through = "spur"', "spur is fed through itself"),
        (
            'diverging = "spur"',
            'diverging = "line"',
            "both legs of W1 lead to line: no rail there hangs on one of them",
        ),
    ],
)
def test_what_cannot_be_is_refused(before: str, after: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        blockcheck.loads(YARD.replace(before, after))
    assert message in [one.message for one in caught.value.findings]
