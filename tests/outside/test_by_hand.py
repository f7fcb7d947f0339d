"""How a layout becomes a network, held against resistances that are added up by hand from the wiring rules alone.

Copper: 1/58 ohm mm2/m at 20 degC (IEC 60028), 0.00393 / K (NBS Circular 31); AWG diameters 0.127 mm x 92^((36 - n)/39)
(ASTM B258). Code 83 rail: 0.108 ohm/m, measured (community reference page on rail size).
"""

from __future__ import annotations

import math

import pytest

from blockcheck import api
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.network.grid import Track

RHO = 1 / 58
RAIL = 0.108
NEAR = 1e-9

HEAD = """\
format = 1
layout = { name = "One", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A", trip = "4 A" }
districts.d = { booster = "B1", feed = { wire = "2 mm2", length = "3 m" } }
board_types.eight = { channels = 8, threshold = "1 mA", drop = "0.7 V" }
boards.D1 = { type = "eight", banks = ["d"] }
loads.engine = { locomotive = true, running = "0.5 A" }
"""
HARNESS = """\
harnesses.h = { bus = "1 mm2", common = "2 mm2", lead = "2 m", feeder = "0.5 mm2", feeder_length = "0.1 m", \
feeder_spacing = "2 m", rail = "code83" }
"""
FEED = 2 * RHO * 3 / 2
DROP = RHO * 0.1 / 0.5


def electrics_of(*parts: str) -> Electrics:
    case = api.loads("\n".join((HEAD, *parts)), "one.toml")
    electrics = Electrics.of(case, case.operations[0])
    assert not electrics.grid.lacking
    return electrics


def parallel(*ohms: float) -> float:
    return 1 / sum(1 / one for one in ohms)


def volts_at(electrics: Electrics, track: Track, place: int) -> float:
    return electrics.loaded.volts[track.detected[place]] - electrics.loaded.volts[track.common[place]]


def test_one_drop() -> None:
    """The feed pair, bus, common, their bench joints, one drop in the middle, and the rails from there to an end."""
    electrics = electrics_of(
        HARNESS.replace(
            'feeder_spacing = "2 m"', 'feeder_spacing = "10 m", segment = "0.9 m", joint_resistance = "5 mohm"'
        ),
        'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h" }',
    )
    # the drop is 3 m from the board; the bus of 4 m is joined at 0.9, 1.8 and 2.7 m before it, at 3.6 m beyond
    bus, common = RHO * 3 / 1 + 3 * 0.005, RHO * 3 / 2 + 3 * 0.005
    loop = FEED + bus + common + 2 * DROP + 2 * RAIL * 1.0
    short, lowest = electrics.least_short("S1"), electrics.lowest_voltage("S1")
    assert short is not None
    assert lowest is not None
    assert short.value == pytest.approx((15 - 0.7) / loop, rel=NEAR)
    assert lowest.value == pytest.approx(15 - 0.7 - 0.5 * loop, rel=NEAR)
    assert (short.at_m, lowest.at_m) == (0.0, 0.0)  # both ends are alike; the near one is told
    row = api.power(electrics.study).rows[0]
    assert row.short_a == pytest.approx(short.value, rel=1e-8)
    assert row.voltage_v == pytest.approx(lowest.value, rel=1e-8)


@pytest.mark.parametrize(
    ("segment", "lead", "length", "before", "all_of_it"),
    [
        ("1 m", "2 m", "2.2 m", 3, 4),  # drop at 3.1 m: 1, 2, 3; and 4 beyond
        ("1 m", "2 m", "2 m", 3, 3),  # drop at 3 m, where a joint lies; the bus ends at 4 m, where none is
        ("4 m", "2 m", "2 m", 0, 0),  # the bus ends where the first would be: one piece
        ("3.9 m", "2 m", "2 m", 0, 1),
        ("0.1 m", "0.1 m", "0.2 m", 2, 2),  # 0.1 and 0.2 m, not 0.3 m: three pieces, however 0.1 + 0.2 rounds
        ("5 m", "2 m", "2 m", 0, 0),
    ],
)
def test_bench_joints(segment: str, lead: str, length: str, before: int, all_of_it: int) -> None:
    """At every multiple of the segment from the board's end, strictly inside the bus: ceil(L / segment) pieces."""
    metres = [float(one.removesuffix(" m")) for one in (segment, lead, length)]
    assert math.ceil(round((metres[1] + metres[2]) / metres[0], 9)) == all_of_it + 1
    wired = f'lead = "{lead}", segment = "{segment}", joint_resistance = "1 ohm"'
    electrics = electrics_of(
        HARNESS.replace('lead = "2 m"', wired),
        f'blocks.S1 = {{ channel = "D1.1", length = "{length}", harness = "h", feeders = 1 }}',
    )
    short = electrics.least_short("S1")
    assert short is not None
    copper = RHO * (metres[1] + metres[2] / 2) * (1 / 1 + 1 / 2)
    loop = FEED + copper + 2 * DROP + 2 * RAIL * metres[2] / 2
    assert (15 - 0.7) / short.value - loop == pytest.approx(2 * before, abs=1e-6)


def test_two_drops() -> None:
    """n = ceil(3.9 / 2) = 2 drops, each in the middle of an equal share: series and parallel along either rail."""
    electrics = electrics_of(HARNESS, 'blocks.S1 = { channel = "D1.1", length = "3.9 m", harness = "h" }')
    track = electrics.grid.tracks["S1"]
    assert track.ladder.drops_m == pytest.approx((0.975, 2.925))

    def side(area: float, at_m: float) -> float:
        """From the board to a place of one rail: the bus to the first drop, then on by either way."""
        bus, rail = RHO * 1.95 / area, RAIL * 1.95
        to_first = RHO * (2 + 0.975) / area
        if at_m < 0.975:
            return to_first + parallel(DROP, bus + DROP + rail) + RAIL * (0.975 - at_m)
        if at_m > 2.925:
            return to_first + parallel(DROP + rail, bus + DROP) + RAIL * (at_m - 2.925)
        along = RAIL * (at_m - 0.975)
        return to_first + parallel(DROP + along, bus + DROP + rail - along)

    short = electrics.least_short("S1")
    assert short is not None
    worst = max((FEED + side(1, at / 1000) + side(2, at / 1000), at / 1000) for at in range(3901))
    assert short.at_m == pytest.approx(worst[1])
    assert short.value == pytest.approx((15 - 0.7) / worst[0], rel=NEAR)


def test_drops_at_given_places() -> None:
    """Drops at both ends alone: the worst place lies between them, where it is found to the digit."""
    electrics = electrics_of(
        HARNESS, 'blocks.S1 = { channel = "D1.1", length = "4 m", harness = "h", feeders_at = ["4 m", "0 m"] }'
    )

    def side(area: float, at_m: float) -> float:
        return RHO * 2 / area + parallel(DROP + RAIL * at_m, RHO * 4 / area + DROP + RAIL * (4 - at_m))

    short = electrics.least_short("S1")
    assert short is not None
    loop, at_m = max((FEED + side(1, at / 5000) + side(2, at / 5000), at / 5000) for at in range(20001))
    assert 0.1 < at_m < 3.9
    assert short.at_m == pytest.approx(at_m, abs=2e-3)
    assert short.value == pytest.approx((15 - 0.7) / loop, rel=1e-7)


def test_a_common_bus_serves_two_blocks() -> None:
    """Each block has a bus of its own; the common runs past the first one's drop to the second's."""
    electrics = electrics_of(
        HARNESS.replace('lead = "2 m"', 'lead = "1 m", segment = "0.9 m", joint_resistance = "7 mohm"'),
        'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h" }',
        'blocks.S2 = { channel = "D1.2", length = "2 m", harness = "h", lead = "3 m" }',
        'trains.goods = { vehicles = { engine = 1 }, at = "S2", state = "running" }',
    )
    # S1's drop hangs on the common 2 m from the terminal (joints at 0.9, 1.8), S2's 4 m from it (2.7, 3.6)
    shared, further = RHO * 2 / 2 + 2 * 0.007, RHO * 2 / 2 + 2 * 0.007
    bus = RHO * 4 / 1 + 4 * 0.007
    first, second = electrics.grid.tracks["S1"], electrics.grid.tracks["S2"]
    assert volts_at(electrics, first, 0) == pytest.approx(15 - 0.5 * (FEED + shared), rel=NEAR)
    there = 15 - 0.7 - 0.5 * (FEED + bus + shared + further + 2 * DROP)
    assert volts_at(electrics, second, second.nearest(1.0)) == pytest.approx(there, rel=NEAR)
    wires = {run.name: run.resistors for run in electrics.grid.runs}
    drawn = [abs(electrics.loaded.resistor_amperes[one]) for one in wires["common of h"]]
    assert drawn == pytest.approx([0.5, 0.5])
    assert [abs(electrics.loaded.resistor_amperes[one]) for one in wires["bus of S1"]] == pytest.approx([0.0], abs=1e-9)


def test_a_return_that_two_districts_share() -> None:
    """One common bus, tied to the return of either: what it carries is the sum, and it comes back by both pairs."""
    electrics = electrics_of(
        HARNESS,
        'districts.e = { booster = "B1", feed = { wire = "2 mm2", length = "3 m" } }',
        'boards.D2 = { type = "eight", banks = ["e"] }',
        'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h" }',
        'blocks.S2 = { channel = "D2.1", length = "2 m", harness = "h" }',
        'trains.goods = { vehicles = { engine = 1 }, at = "S1", state = "running" }',
        'trains.coal = { vehicles = { engine = 1 }, at = "S2", state = "running" }',
    )
    for block in ("S1", "S2"):
        track = electrics.grid.tracks[block]
        back = 1.0 * (FEED / 2 / 2 + RHO * 3 / 2)  # an ampere, by two return conductors; lead and half the block
        there = 15 - 0.7 - 0.5 * (FEED / 2 + RHO * 3 / 1 + 2 * DROP) - back
        assert volts_at(electrics, track, track.nearest(1.0)) == pytest.approx(there, rel=NEAR)
    common = [run for run in electrics.grid.runs if run.name == "common of h"]
    assert [abs(electrics.loaded.resistor_amperes[one]) for run in common for one in run.resistors] == pytest.approx(
        [1]
    )


def test_contacts_and_temperature() -> None:
    """A closed pole is a resistance in series, once a pole; copper rises by 0.393 % a kelvin, from 20 degC (IEC 60028),
    nickel silver by 0.03 % (from memory)."""
    electrics = electrics_of(
        HARNESS,
        'limits.conductor_temperature = "45 degC"',
        'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h", isolator = "I1" }',
        'isolators.I1 = { contact_resistance = "40 mohm" }',
    )
    copper = FEED + RHO * 3 / 1 + RHO * 3 / 2 + 2 * DROP
    short = electrics.least_short("S1")
    assert short is not None
    assert (15 - 0.7) / short.value == pytest.approx(
        copper * (1 + 0.00393 * 25) + 2 * RAIL * (1 + 0.0003 * 25) + 0.04, rel=NEAR
    )


def test_a_named_wire_and_a_gauge() -> None:
    """16 AWG is 1.2908 mm across (ASTM B258, as printed); a wire's own resistance stands for itself, at 20 degC."""
    for degrees in (20, 60):
        electrics = electrics_of(
            HARNESS.replace('bus = "1 mm2"', 'bus = "16 AWG"').replace('common = "2 mm2"', 'common = "heavy"'),
            'wires.heavy = { size = "6 mm2", resistance = "3.3 ohm/km" }',
            'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h" }',
            f'limits.conductor_temperature = "{degrees} degC"',
        )
        copper = FEED + RHO * 3 / (math.pi / 4 * 1.2908**2) + 3 * 0.0033 + 2 * DROP
        warm = copper * (1 + 0.00393 * (degrees - 20)) + 2 * RAIL * (1 + 0.0003 * (degrees - 20))
        short = electrics.least_short("S1")
        assert short is not None
        assert (15 - 0.7) / short.value == pytest.approx(warm, rel=1e-4)


def test_a_hold_resistor() -> None:
    """Across the open contact: it and ten wheelsets of 15 kohm (NEM 624) divide what the detector leaves."""
    electrics = electrics_of(
        HARNESS,
        'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h", isolator = "I1" }',
        'isolators.I1 = { hold = "10 kohm", usually = "open" }',
        'loads.wagon = { axle = "15 kohm" }',
        'trains.goods = { vehicles = { wagon = 10 }, at = "S1" }',
    )
    track = electrics.grid.tracks["S1"]
    loop = FEED + RHO * 3 / 1 + RHO * 3 / 2 + 2 * DROP
    amperes = (15 - 0.7) / (10_000 + 1500 + loop)
    assert volts_at(electrics, track, track.nearest(1.0)) == pytest.approx(1500 * amperes, rel=NEAR)
    assert electrics.loaded.source_amperes[0] == pytest.approx(amperes, rel=NEAR)


@pytest.mark.parametrize(("side", "alone"), [("after-detector", False), ("common-rail", True)])
def test_the_side_of_a_contact(side: str, alone: bool) -> None:
    """In the common rail it stands between the block's drops and the common bus: the block's common is its own."""
    electrics = electrics_of(
        HARNESS,
        'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h", isolator = "I1" }',
        'blocks.S2 = { channel = "D1.2", length = "2 m", harness = "h" }',
        f'isolators.I1 = {{ contact_resistance = "40 mohm", side = "{side}" }}',
        'trains.goods = { vehicles = { engine = 1 }, at = "S2", state = "running" }',
    )
    first = electrics.grid.tracks["S1"]
    shared = 0.0 if alone else RHO * 3 / 2  # S2's current passes S1's tap only where they share the wire
    assert volts_at(electrics, first, 0) == pytest.approx(15 - 0.5 * (FEED + shared), rel=NEAR)
    short = electrics.least_short("S1")
    assert short is not None
    copper = FEED + RHO * 3 / 1 + RHO * 3 / 2 + 2 * DROP
    assert (15 - 0.7) / short.value == pytest.approx(copper + 2 * RAIL + 0.04, rel=NEAR)


@pytest.mark.parametrize(("poles", "times"), [(1, 1), (2, 2)])
def test_a_changeover(poles: int, times: int) -> None:
    """One pole switches the feed of its bank; a second the return alike, and the booster's other pair is idle."""
    electrics = electrics_of(
        HARNESS,
        'boosters.B2 = { voltage = "12 V", current = "3 A", resistance = "0.2 ohm" }',
        'districts.e = { booster = "B2", feed = { wire = "1 mm2", length = "5 m" } }',
        'boards.D2 = { type = "eight", banks = ["e"] }',
        'blocks.S1 = { channel = "D2.1", length = "2 m", harness = "h", isolator = "X" }',
        f'isolators.X = {{ contact = "changeover", between = ["d", "e"], poles = {poles}, usually = "e", '
        'contact_resistance = "30 mohm" }',
    )
    copper = 2 * RHO * 5 / 1 + RHO * 3 / 1 + RHO * 3 / 2 + 2 * DROP
    short = electrics.least_short("S1")
    assert short is not None
    assert (12 - 0.7) / short.value == pytest.approx(copper + 2 * RAIL + 0.2 + times * 0.03, rel=NEAR)


def test_a_frog_that_is_not_cut_shorts_at_the_joint() -> None:
    """The points stand for the through leg, so that the frog ties the detected rail to the common rail beyond the
    other leg: a short at the end of the block where that leg's joint is, and nowhere else."""
    electrics = electrics_of(
        HARNESS,
        'boosters.B2 = { voltage = "12 V", current = "3 A" }',
        'districts.e = { booster = "B2", feed = { wire = "1 mm2", length = "5 m" } }',
        'boards.D2 = { type = "eight", banks = ["e"] }',
        HARNESS.replace("harnesses.h", "harnesses.g"),
        'blocks.neck = { channel = "D1.1", length = "2 m", harness = "h" }',
        'blocks.S1 = { channel = "D2.1", length = "2 m", harness = "g" }',
        'joints = [{ blocks = ["neck", "S1"], gap = "detected" }]',
        'turnouts.T1 = { block = "neck", diverging = "S1", frog = "switched", frog_gaps = false }',
    )
    loop = FEED + RHO * 3 / 1 + RHO * 3 / 2 + 2 * DROP + 2 * RAIL * 1.0
    found = electrics.unloaded
    assert found.source_amperes[0] == pytest.approx((15 - 0.7) / loop, rel=NEAR)
    assert found.source_amperes[1] == pytest.approx(0.0, abs=1e-9)
    neck = electrics.grid.tracks["neck"]
    assert found.volts[neck.detected[-1]] == pytest.approx(found.volts[neck.common[-1]], abs=1e-9)
    there = found.volts[neck.detected[0]] - found.volts[neck.common[0]]
    assert there == pytest.approx(found.source_amperes[0] * 2 * RAIL * 1.0, rel=NEAR)


def test_what_stands_in_a_block_that_was_left_out_draws_all_the_same() -> None:
    """S2 has no length: its wires are not known, but its train's current flows through the feed pair, and, so that S1's
    volts are a bound, through all of the common bus that is known: 3 m to S1's drop."""
    text = "\n".join(
        (
            HEAD,
            HARNESS,
            'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h" }',
            'blocks.S2 = { channel = "D1.2", harness = "h" }',
            'trains.goods = { vehicles = { engine = 2 }, at = "S2", state = "running" }',
        )
    )
    case = api.loads(text, "one.toml")
    electrics = Electrics.of(case, case.operations[0])
    assert electrics.grid.lacking == {"S2": (("blocks", "S2", "length"),)}
    assert volts_at(electrics, electrics.grid.tracks["S1"], 0) == pytest.approx(
        15 - 1.0 * (FEED + RHO * 3 / 2), rel=NEAR
    )
    answer = api.power(case)
    assert [(row.block, row.bound, row.short_a is None) for row in answer.rows] == [
        ("S1", True, False),
        ("S2", True, True),
    ]
    told = [(one.subject, one.needs) for one in answer.unchecked if one.rule == "power"]
    assert told == [("S2", ("blocks.S2.length",))]


@pytest.mark.parametrize(
    ("usually", "wire", "needs"),
    [("d", "2 mm2", None), ("e", "2 mm2", ("districts.e.feed",)), ("d", "thick", ("names that exist",))],
)
def test_a_feed_that_is_not_known_is_not_taken_as_nothing(
    usually: str, wire: str, needs: tuple[str, ...] | None
) -> None:
    """Of the district that feeds the block now, wherever its changeover stands."""
    text = "\n".join(
        (
            HEAD.replace('"2 mm2"', f'"{wire}"'),
            HARNESS,
            'districts.e = { booster = "B1" }',
            'blocks.S1 = { channel = "D1.1", length = "2 m", harness = "h", isolator = "X" }',
            f'isolators.X = {{ contact = "changeover", between = ["d", "e"], usually = "{usually}" }}',
        )
    )
    answer = api.power(api.loads(text, "one.toml"))
    told = [one.needs for one in answer.unchecked if one.rule == "power"]
    assert told == ([needs] if needs else [])
    assert (answer.rows[0].short_a is None) == (needs is not None)
