"""Tracks that others feed by their rails, and points that pass power to the leg for which they are set."""

from __future__ import annotations

import re

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


CABS = """\
format = 1
layout = { name = "Osier Plank", control = "dc" }
boosters.A = { voltage = "12 V", current = "1 A" }
boosters.B = { voltage = "12 V", current = "1 A" }
districts.west = { booster = "A" }
districts.east = { booster = "B" }
isolators.X = { contact = "changeover", between = ["west", "east"], rating = "1 A" }
loads.tank = { idle = "0.2 A" }
trains = { goods = { vehicles = { tank = 1 }, at = "main" }, pick-up = { vehicles = { tank = 2 }, at = "spur" } }
scenarios.handed-over = { set = { X = "east" } }
[blocks]
main = { undetected = "by eye", isolator = "X" }
spur = { fed_through = "main" }
[[joints]]
blocks = ["main", "spur"]
gap = "none"
"""


def test_a_changeover_hands_it_over_with_what_feeds_it() -> None:
    for state, (west, east) in zip(
        blockcheck.budget(blockcheck.loads(CABS)).scenarios, ((0.6, 0), (0, 0.6)), strict=True
    ):
        draws = {row.name: row.current_a for row in state.loads}
        assert draws == pytest.approx({"A": west, "west": west, "B": east, "east": east, "X": 0.6})
    rows = {row.block: row.district for row in blockcheck.isolate(blockcheck.loads(CABS), "main", "handed-over").blocks}
    assert rows == {"main": "east", "spur": "east"}
    assert {one.block: one.chooses for one in blockcheck.page(blockcheck.loads(CABS)).blocks} == {
        "main": ("X",),
        "spur": ("X",),
    }


HELD = """\
format = 1
layout = { name = "Osier Shed", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A", trip = "3.5 A", delay = "30 ms" }
districts.d = { booster = "B1" }
board_types.two = { channels = 2, threshold = "0.5 mA" }
boards.D1 = { type = "two" }
isolators.I1 = { hold = "10 kohm", detection = "held" }
isolators.I2 = { hold = "5 kohm", detection = "held" }
loads.engine = { locomotive = true, idle = "0.3 A", capacitance = "4000 uF" }
loads.wagon = { axle = "10 kohm" }
trains.t1 = { vehicles = { engine = 1 }, at = "spur" }
trains.t2 = { vehicles = { wagon = 1 }, at = "spur" }
trains.t3 = { vehicles = { engine = 1 }, at = "S2" }
[blocks]
S1-S2 = { channel = "D1.1-2", isolator = "I1-I2" }
spur = { fed_through = "S1" }
[[joints]]
blocks = ["S1", "spur"]
gap = "none"
"""


def test_it_wakes_with_the_isolator_of_what_feeds_it() -> None:
    (district,) = blockcheck.wake(blockcheck.loads(HELD)).districts
    assert [(stage.close, stage.blocks) for stage in district.stages] == [
        ((), ("spur",)),  # its wagon, through the hold resistor
        (("I1",), ("spur",)),
        (("I2",), ("S2",)),
    ]


def test_behind_the_hold_resistor_of_what_feeds_it_axles_draw_through_that_one() -> None:
    rows = {
        row.name: row.current_a for row in blockcheck.budget(blockcheck.loads(HELD), opened="I1,I2").scenarios[0].loads
    }
    assert rows["d"] == pytest.approx(15 / 20e3)  # one axle of 10 kohm behind 10 kohm; I2 holds an engine that sleeps


def test_its_feed_is_drawn_by_the_switch_and_the_rails_of_what_feeds_it() -> None:
    svg = blockcheck.render(blockcheck.draw(blockcheck.loads(YARD)), "svg")
    rows: dict[str, list[tuple[float, str]]] = {}
    for x, y, text in re.findall(r'<text class="bc-[^"]*" x="([0-9.]+)" y="([0-9.]+)"[^>]*>([^<]+)<', svg):
        rows.setdefault(y, []).append((float(x), text))
    assert ["D1.1", "I1", "main", "spur"] in [[text for _, text in sorted(row)] for row in rows.values()]
    assert "<title>isolator I1</title>" in svg
