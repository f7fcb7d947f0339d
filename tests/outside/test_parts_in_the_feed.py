"""Short wires that are parts of their own, held against sums by hand; what a layout says of them decides a verdict.

Copper: rho = 1/58 ohm mm2/m at 20 degC (IEC 60028).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import attrs
import pytest

import blockcheck
from blockcheck.analysis.power.across import bridging_amperes
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.circuit.parts import Kind
from blockcheck.network import expand
from blockcheck.network.electric import Expander
from blockcheck.solver.netlist import name_of, netlist
from blockcheck.solver.network import Resistors
from blockcheck.solver.solve import operating_point
from tests.outside.networks.spice import run_ngspice

RHO = 1 / 58
YARD = """
format = 1
layout = { name = "Larch Quay", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A", trip = "4 A", delay = "50 ms" }
districts.quay = { booster = "B1", feed = { wire = "2.5 mm2", length = "3 m" } }
board_types.two = { channels = 2, threshold = "1 mA", drop = "0.7 V" }
boards.D1 = { type = "two" }
loads.pug = { locomotive = true, idle = "0.1 A", running = "0.4 A", capacitance = "100 uF" }
harnesses.main = { bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "1 mm2", feeder_length = "0.2 m", \
rail = "code83" }
isolators.I1-I2 = { rating = "6 A" }
blocks.Q1-Q2 = { channel = "D1.1-2", isolator = "I1-I2", length = "1 m", harness = "main", feeders_at = ["0.5 m"] }
joints = [{ blocks = ["Q1", "Q2"], gap = "detected" }]
rules = { same-start = "off" }
turnouts.W1 = { block = "Q1", through = "Q2", frog = "switched", frog_gaps = true }
"""


FROG = 'frog_gaps = true, frog_wire = { wire = "0.75 mm2", length = "0.5 m" }'


def said(text: str) -> list[tuple[str, str]]:
    found = blockcheck.check(blockcheck.loads(text, "quay.toml"), date(2031, 6, 1)).findings
    return [(one.rule, one.subject) for one in found]


def fed(wire: str, length: str) -> str:
    return YARD.replace('type = "two"', f'type = "two", feed = {{ wire = "{wire}", length = "{length}" }}')


def frog(wire: str, length: str = "0.5 m", gaps: str = "true") -> str:
    told = f'frog_gaps = {gaps}, frog_wire = {{ wire = "{wire}", length = "{length}" }}'
    return YARD.replace("frog_gaps = true", told)


@pytest.mark.parametrize("side", ["after-detector", "before-detector"])
def test_a_short_through_a_board_feed_by_hand(side: str) -> None:
    """At an end of Q1, half a metre of two rails from its drops: 2 x 3 m of 2.5 mm2, 4 m of 0.5 mm2, a bus and a common
    of 2.5 m, two drops; code 83 has 108 mohm a metre of rail."""
    text = (
        fed("0.5 mm2", "4 m")
        .replace('rating = "6 A"', f'rating = "6 A", side = "{side}"')
        .replace('gap = "detected"', 'gap = "both"')
    )
    study = blockcheck.loads(text, "quay.toml")
    electrics = Electrics.of(study, study.operations[0])
    ohms = RHO * (6 / 2.5 + 4 / 0.5 + 2.5 / 1.5 + 2.5 / 2.5 + 2 * 0.2 / 1)
    found = electrics.least_short("Q1")
    assert found is not None
    assert found.value == pytest.approx((15 - 0.7) / (ohms + 2 * 0.5 * 0.108), rel=1e-9)


@pytest.mark.parametrize(("part", "make"), [("D1 feed", fed), ("W1 frog_wire", frog)])
def test_a_thin_one_fails_for_that_reason_only(part: str, make: Callable[..., str]) -> None:
    """4 A before the breaker trips: more than 0.1 mm2 may carry, and less than 1 mm2 may."""
    assert said(make("1 mm2", "0.5 m")) == []
    assert said(make("0.1 mm2", "0.5 m")) == [("wire-over-current", part)]


def test_a_long_board_feed_costs_volts_and_is_named() -> None:
    found = blockcheck.check(blockcheck.loads(fed("1 mm2", "300 m"), "quay.toml"), date(2031, 6, 1)).findings
    assert [one.rule for one in found] == ["short-will-not-trip", "voltage-drop"]
    for one in found:
        assert [label.message.partition(": ")[2] for label in one.related] == ["its board's feed has 5.17 ohm"]
        assert (one.help or "").startswith("take a thicker or shorter feed")


def test_a_frog_that_is_cast_has_no_wire() -> None:
    with pytest.raises(blockcheck.InputError, match="no wire comes to the insulated frog of W1"):
        blockcheck.loads(frog("1 mm2").replace('frog = "switched", ', ""), "quay.toml")


@pytest.mark.parametrize("make", [fed, frog])
def test_a_wire_that_does_not_exist_is_an_unknown_name(make: Callable[..., str]) -> None:
    assert said(make("broun", "0.5 m"))[0][0] == "unknown-name"


def test_they_are_in_the_list_and_in_what_to_buy() -> None:
    made = blockcheck.wires(
        blockcheck.loads(fed("1 mm2", "4 m").replace("frog_gaps = true", FROG), "quay.toml"),
    )
    lengths = {one.from_ + " > " + one.to: (one.conductor, one.length_m) for one in made.pieces}
    assert lengths["quay:feed > D1:feed"] == ("1 mm2", 4.0)
    assert lengths["W1:out > W1:frog"] == ("0.75 mm2", 0.5)
    assert lengths["Q1:bus > W1:through"] == ("0.75 mm2", None)
    assert {one.conductor for one in made.totals} >= {"1 mm2", "0.75 mm2"}


def test_a_longer_one_is_a_change_of_one_wire() -> None:
    old, new = (blockcheck.loads(fed("1 mm2", length), "quay.toml") for length in ("4 m", "5 m"))
    answer = blockcheck.compare(old, new, date(2031, 6, 1))
    assert "feed of D1" in str(answer)


def test_the_wire_of_a_frog_is_in_its_short() -> None:
    study = blockcheck.loads(frog("0.5 mm2", gaps="false"), "quay.toml")
    expander = Expander(study.wiring, study.circuit, {**study.circuit.usual}, {})
    grid = expander.grid()
    (number,) = (
        grid.parts["edge", at]
        for at, edge in enumerate(study.circuit.edges)
        if edge.kind is Kind.POINTS and ("edge", at) in grid.parts
    )
    assert grid.network.resistors.ohms[number] == pytest.approx(RHO * 0.5 / 0.5, rel=1e-12)


def fused(rating: str, of: str = "boards") -> str:
    if of == "boards":
        return YARD.replace('type = "two"', f'type = "two", fuse = "{rating}"')
    return YARD.replace('length = "1 m"', f'length = "1 m", fuse = "{rating}"')


@pytest.mark.parametrize("of", ["boards", "blocks"])
def test_a_fuse_is_held_against_what_flows_and_protects_its_bus(of: str) -> None:
    """A pug draws 0.4 A. A bus of 0.14 mm2 may carry more than 1 A, and less than a fuse of 3.9 A or the breaker lets
    through."""
    assert said(fused("1 A", of)) == []
    placed = 'trains.coal = { vehicles = { pug = 1 }, at = "Q1", state = "running" }\n'
    assert said(fused("0.3 A", of) + placed) == [("channel-over-current", "D1.1")]
    assert said(fused("0.5 A", of) + placed) == []
    thin = 'bus = "0.14 mm2"'
    assert said(YARD.replace('bus = "1.5 mm2"', thin)) == [("wire-over-current", "main bus")]
    assert said(fused("1 A", of).replace('bus = "1.5 mm2"', thin)) == []
    assert said(fused("3.9 A", of).replace('bus = "1.5 mm2"', thin)) == [("wire-over-current", "main bus")]


def test_a_block_has_its_own_fuse_before_its_boards() -> None:
    text = fused("1 A").replace('length = "1 m"', 'length = "1 m", fuse = "2 A"')
    assert [(one.rating_a, one.count) for one in blockcheck.wires(blockcheck.loads(text, "quay.toml")).fuses] == [
        (2, 2)
    ]
    answer = blockcheck.wires(blockcheck.loads(fused("1 A"), "quay.toml"))
    assert [(one.rating_a, one.blocks) for one in answer.fuses] == [(1, ("Q1", "Q2"))]
    assert "Fuses in the feeds of blocks: 2 of 1 A." in " ".join(str(answer).split())


BORDER = """
format = 1
layout = { name = "Larch Border", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "3 A", trip = "4 A", resistance = "0.05 ohm" }
boosters.B2 = { voltage = "18 V", current = "3 A", trip = "4 A", resistance = "0.05 ohm" }
districts.east = { booster = "B1", feed = { wire = "2.5 mm2", length = "3 m" } }
districts.west = { booster = "B2", feed = { wire = "1.5 mm2", length = "2 m" } }
board_types.two = { channels = 2, threshold = "1 mA", drop = "0.7 V" }
boards.D1 = { type = "two", banks = ["east"] }
boards.D2 = { type = "two", banks = ["west"] }
harnesses.east = { bus = "1.5 mm2", common = "2.5 mm2", lead = "2 m", feeder = "1 mm2", feeder_length = "0.2 m", \
rail = "code83" }
harnesses.west = { bus = "1.5 mm2", common = "2.5 mm2", lead = "3 m", feeder = "1 mm2", feeder_length = "0.2 m", \
rail = "code100" }
blocks.E1 = { channel = "D1.1", length = "1 m", harness = "east", feeders_at = ["1 m"] }
blocks.W1 = { channel = "D2.1", length = "1 m", harness = "west", feeders_at = ["0 m"] }
joints = [{ blocks = ["E1", "W1"], gap = "both" }]
"""


def crossing(text: str) -> float:
    study = blockcheck.loads(text, "border.toml")
    return bridging_amperes(Electrics.of(study, study.operations[0]), study.layout.joints[0])


def test_what_flows_between_boosters_by_hand() -> None:
    """Around both loops: feeds there and back, buses and commons, four drops, two outputs, and two detectors' drops."""
    east = RHO * (2 * 3 / 2.5 + 3 / 1.5 + 3 / 2.5 + 2 * 0.2)
    west = RHO * (2 * 2 / 1.5 + 3 / 1.5 + 3 / 2.5 + 2 * 0.2)
    assert crossing(BORDER) == pytest.approx((18 - 15 - 1.4) / (east + west + 0.1), rel=1e-9)
    assert crossing(BORDER.replace('"18 V"', '"16.4 V"')) == 0.0
    tied = BORDER.replace('booster = "B1"', 'booster = "B1", return = "R"').replace(
        'booster = "B2"', 'booster = "B2", return = "R"'
    )
    alone = RHO * (2 * 3 / 2.5 + 3 / 1.5 + 2 * 2 / 1.5 + 3 / 1.5 + 2 * 0.2)  # no current in the commons and their drops
    assert crossing(tied) == pytest.approx((18 - 15 - 1.4) / (alone + 0.1), rel=1e-9)


def test_what_flows_between_boosters_by_ngspice() -> None:
    study = blockcheck.loads(BORDER.replace('gap = "both"', 'gap = "detected"'), "border.toml")
    electrics = Electrics.of(study, study.operations[0])
    tracks = electrics.grid.tracks
    ends = tracks["E1"].detected[-1], tracks["W1"].detected[0]
    network = electrics.grid.network
    columns = (*network.resistors.a, ends[0]), (*network.resistors.b, ends[1]), (*network.resistors.ohms, 1e-9)
    bridged = attrs.evolve(network, resistors=Resistors(*columns))
    operating = operating_point(bridged)
    found = run_ngspice(netlist(bridged, operating))
    feeder = next(run for run in electrics.grid.runs if run.name == "drops of E1").resistors[0]
    a, b = network.resistors.a[feeder], network.resistors.b[feeder]
    volts = [0.0 if name_of(operating, node) == "0" else found[f"v({name_of(operating, node)})"] for node in (a, b)]
    flows = abs(volts[0] - volts[1]) / network.resistors.ohms[feeder]
    assert bridging_amperes(electrics, study.layout.joints[0]) == pytest.approx(flows, rel=1e-6)


def test_cabs_are_set_by_hand() -> None:
    told = {one for one, _ in said(BORDER.replace('"18 V"', '"28 V"'))}
    assert "supplies-unequal" in told
    assert "supplies-unequal" not in {one for one, _ in said(BORDER.replace('"18 V"', '"28 V"').replace("dcc", "dc"))}


COIL = (
    YARD.replace('drop = "0.7 V"', 'sensing = "coil"').replace('threshold = "1 mA"', 'threshold = "2 mA"')
    + 'loads.van = { axle = "10 kohm" }\n'
)


def passing(many: int) -> str:
    return COIL.replace('length = "1 m"', f'length = "1 m", passes = {many}')


def test_each_pass_through_a_coil_divides_the_threshold() -> None:
    """A van draws 1.5 mA at 15 V: less than 2 mA; and, for what the wires take, less than the margin of 1.5 over the
    1 mA of two passes. Three read from 0.67 mA."""
    for text in (COIL, passing(2)):
        assert [one for one, _ in said(text)] == ["vehicle-unseen"]
    assert said(passing(3)) == []
    rows = blockcheck.power(blockcheck.loads(passing(3), "quay.toml")).rows
    assert [one.threshold_a for one in rows] == pytest.approx([0.002 / 3] * 2, rel=1e-12)


def test_only_a_coil_is_passed_twice() -> None:
    with pytest.raises(blockcheck.InputError, match="the feed of Q1 passes through no coil"):
        blockcheck.loads(passing(2).replace('sensing = "coil"', 'sensing = "series"'), "quay.toml")
    assert blockcheck.loads(passing(1).replace('sensing = "coil"', 'sensing = "series"'), "quay.toml")


@pytest.mark.parametrize("blocks", [-1, 10**9])
def test_beside_a_dead_short_no_second_one_is_told(monkeypatch: pytest.MonkeyPatch, blocks: int) -> None:
    """A frog that is not cut joins the rails: no volts are left there, so that a second short has nought over nought.
    With the frog cut, and by arrays as node by node, each block has its own."""
    monkeypatch.setattr(expand, "LARGE_BLOCKS", blocks)
    shorted = blockcheck.power(blockcheck.loads(YARD.replace("frog_gaps = true", "frog_gaps = false"), "quay.toml"))
    told = {one.subject: one.needs for one in shorted.unchecked if one.rule == "short"}
    assert [one.short_a for one in shorted.rows] == [None if one.block in told else one.short_a for one in shorted.rows]
    assert told
    assert set(told.values()) == {("turnouts.W1.frog_gaps",)}
    cut = blockcheck.power(blockcheck.loads(YARD, "quay.toml"))
    assert all(one.short_a is not None and one.short_a > 20 for one in cut.rows)
    assert not [one for one in cut.unchecked if one.rule == "short"]


def test_the_roadbed_of_what_a_block_feeds_is_in_its_detection() -> None:
    """15 V over 1 m and over 3 m of 60 kohm m are 0.25 and 0.75 mA: together more than 1 mA over 1.5 leave."""
    leaky = YARD.replace('rail = "code83"', 'rail = "code83", capacitance = "1 pF/m", leakage = "60 kohm m"')
    assert said(leaky) == []
    spur = 'blocks.spur = { fed_through = "Q2", length = "3 m", harness = "main" }\n'
    joined = leaky.replace("joints = [", 'joints = [{ blocks = ["Q2", "spur"], gap = "none" }, ')
    assert ("false-occupancy", "Q2") in said(joined + spur)
    rows = {one.block: one.false_a for one in blockcheck.power(blockcheck.loads(joined + spur, "quay.toml")).rows}
    assert rows["Q2"] == pytest.approx(15 * 4 / 60_000, rel=1e-2)
    assert rows["Q1"] == pytest.approx(15 * 1 / 60_000, rel=1e-2)
