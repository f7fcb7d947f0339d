"""The wire list held to the compiled circuit, edge by edge, and to sums by hand."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import attrs
import pytest
import tomli_w
from hypothesis import given

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.answers.workshop.piece import Piece
from blockcheck.answers.workshop.wires import WireList
from blockcheck.circuit.ladder import conductor_ohm_per_m
from blockcheck.circuit.parts import Kind
from blockcheck.model.quantities import Ohms
from blockcheck.network.electric import Expander
from blockcheck.network.grid import Grid
from tests.outside.yards import Values, case_of, yards
from tests.properties.layouts import layouts, load

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
FILES = ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml", "faulty-yard/yard.toml")


def without_joint_resistance(case: Study) -> Study:
    """The case with joints of no resistance, so that the ohms of a conductor are its metres."""
    harnesses = {
        name: attrs.evolve(one, joint_resistance_ohm=Ohms(0.0)) for name, one in case.wiring.layout.harnesses.items()
    }
    layout = attrs.evolve(case.wiring.layout, harnesses=harnesses)
    return attrs.evolve(case, wiring=attrs.evolve(case.wiring, layout=layout))


def grid_of(case: Study) -> Grid:
    bare = without_joint_resistance(case)
    return Expander(bare.wiring, bare.circuit, bare.circuit.usual, {}).grid()


def metres(case: Study, grid: Grid, run: Any) -> float:
    """Length of a conductor of the network: its ohms over those of a metre."""
    per_m = conductor_ohm_per_m(case.layout, run.size)
    assert per_m
    return math.fsum(grid.network.resistors.ohms[number] for number in run.resistors) / per_m


def listed(pieces: tuple[Piece, ...], **wanted: str) -> list[Piece]:
    return [one for one in pieces if all(getattr(one, key) == value for key, value in wanted.items())]


def metres_of(pieces: list[Piece]) -> float:
    return math.fsum(one.length_m for one in pieces if one.length_m is not None)


def holds_to_the_circuit(case: Study) -> None:
    """Every conductor of the network is in the list with its length, and nothing is there that no edge stands for."""
    answer, grid = api.wires(case), grid_of(case)
    assert not grid.lacking
    told = 0.0
    commons: dict[str, float] = {}
    for run in grid.runs:
        network_m = metres(case, grid, run)
        what, _, name = run.name.rpartition(" of ")
        if what in ("feed", "return"):
            mine = listed(answer.pieces, kind="bank" if run.path[0] == "boards" else what, subject=name)
            if run.path[0] == "boards":  # one wire a bank that is wired
                assert sum(one.length_m is not None for one in mine) == sum(one.path == run.path for one in grid.runs)
                mine = mine[:1]
        elif what.startswith("wires"):
            continue  # below: an open contact has none in the network
        elif what == "bus":
            mine = listed(answer.pieces, kind="bus", subject=name)
            track = grid.tracks[name]
            # beyond the last drop the bus carries nothing, and the network ends; the wire goes on to the far end
            network_m += track.ladder.length_m - track.ladder.drops_m[-1]
        elif what == "common":
            commons[str(run.path[1])] = commons.get(str(run.path[1]), 0.0) + network_m
            continue
        else:
            rail = "common" if what == "common drops" else "detected"
            mine = listed(answer.pieces, kind="drop", subject=name, rail=rail)
            assert len(mine) == len(run.resistors)
            assert [one.at_m for one in mine] == list(grid.tracks[name].ladder.drops_m)
        assert metres_of(mine) == pytest.approx(network_m, abs=1e-7)
        told += metres_of(mine)
    for harness, network_m in commons.items():
        groups = common_groups(case, grid, harness)
        tails = sum(reach - last for reach, last in groups)
        mine = [
            one for one in listed(answer.pieces, kind="common") if one.subject in {harness, *harnessed(case, harness)}
        ]
        assert metres_of(mine) == pytest.approx(network_m + tails, abs=1e-7)
        told += metres_of(mine)
    told += panels_hold(case, answer)
    rest = [one for one in answer.pieces if one.kind in ("run", "frog")]
    assert answer.sums.length_m == pytest.approx(told + metres_of(rest), abs=1e-6)
    assert math.fsum(one.length_m for one in answer.totals) == pytest.approx(answer.sums.length_m, abs=1e-6)
    counts_edges(case, answer)


def panels_hold(case: Study, answer: WireList) -> float:
    """Of each panel the metres of its wires in the circuit and in the list; a contact of several throws has one way
    back. Returns those of all."""
    there: dict[str, float] = {}
    back: dict[int, tuple[str, float]] = {}
    for edge in case.circuit.edges:
        if edge.kind is Kind.LEAD:
            there[str(edge.path[1])] = there.get(str(edge.path[1]), 0.0) + edge.panel_m
        elif edge.panel_m:
            back[edge.b] = str(case.layout.isolators[str(edge.control)].panel), edge.panel_m
    for name, length_m in back.values():
        there[name] = there.get(name, 0.0) + length_m
    for name in case.layout.panels:
        mine = [
            piece
            for piece in answer.pieces
            if piece.length_m is not None
            and piece.conductor == case.layout.panels[name].wire
            and on_panel(case, piece, name)
        ]
        assert metres_of(mine) == pytest.approx(there.get(name, 0.0), abs=1e-7)
    return math.fsum(there.values())


def on_panel(case: Study, piece: Piece, panel: str) -> bool:
    """Whether a wire begins or ends at a control of a panel: no bus, and no board's feed."""
    on: dict[str, str | None] = {name: one.panel for name, one in case.layout.isolators.items()}
    on |= {name: one.panel for name, one in case.layout.selectors.items()}
    ends = [end.terminal.partition(":")[0].partition(".")[0] for end in (piece.start, piece.end)]
    board = case.layout.boards.get(piece.subject)
    fed = piece.kind == "bank" and board is not None and board.feed is not None
    return not fed and piece.kind not in ("bus", "common") and any(on.get(one) == panel for one in ends)


def harnessed(case: Study, harness: str) -> set[str]:
    return {name for name, block in case.layout.blocks.items() if block.harness == harness}


def common_groups(case: Study, grid: Grid, harness: str) -> list[tuple[float, float]]:
    """Of every common bus of a harness: how far it reaches, and where its last drop is."""
    groups: dict[object, list[tuple[float, float]]] = {}
    for edge in case.circuit.edges:
        block = case.circuit.block_of.get(edge.b)
        if block not in harnessed(case, harness) or edge.b != case.circuit.common[str(block)]:
            continue
        if edge.kind in (Kind.COMMON, Kind.POLE):
            ladder = grid.tracks[str(block)].ladder
            key = edge.a if edge.kind is Kind.COMMON else ("own", block)
            ends = (ladder.lead_m + ladder.length_m, ladder.lead_m + ladder.drops_m[-1])
            groups.setdefault(key, []).append(ends)
    return [(max(reach for reach, _ in one), max(last for _, last in one)) for one in groups.values()]


def counts_edges(case: Study, answer: WireList) -> None:
    """One wire for each edge that is one, and two for a contact between two wires."""
    edges = [edge.kind.value for edge in case.circuit.edges]
    kinds = [one.kind for one in answer.pieces if one.number == 1]
    assert kinds.count("feed") == edges.count("feed")
    wires = [one.frog_wire for name, one in case.layout.turnouts.items() if name in case.circuit.frogs]
    lengths = [one.length_m for one in answer.pieces if one.kind == "frog"]
    assert lengths == [one.length_m if one is not None else None for one in wires]
    assert kinds.count("bus") == len(case.circuit.detected) - len(case.circuit.through)
    assert kinds.count("throw") + kinds.count("return throw") == edges.count("throw")
    assert kinds.count("frog") == len(case.circuit.frogs)
    assert kinds.count("frog tie") == edges.count("points")
    switched = ("channel", "switch", "common switch")
    before = sum(1 for one in answer.pieces if one.kind == "bank" and one.subject in case.layout.isolators)
    assert sum(kinds.count(kind) for kind in switched) + before == edges.count("pole")
    assert kinds.count("bank") == edges.count("bank") + before
    assert len(answer.parts) == edges.count("hold")


def labels_are_right(answer: WireList) -> None:
    labels = [end.label for one in answer.pieces for end in (one.start, one.end)]
    assert len(set(labels)) == len(labels) == answer.sums.labels
    assert all(end.label.startswith(f"{end.terminal} > ") for one in answer.pieces for end in (one.start, one.end))
    clamped = [label for strip in answer.strips for clamp in strip.clamps for label in clamp.labels]
    screwed = [end.label for one in answer.pieces for end in (one.start, one.end) if end.fixing == "screw"]
    assert sorted(clamped) == sorted(screwed)
    assert len(screwed) == answer.sums.screws == answer.sums.crimps == sum(one.crimps for one in answer.pieces)
    assert answer.sums.screws + answer.sums.taps + answer.sums.soldered == answer.sums.labels
    for strip in answer.strips:
        assert [clamp.position for clamp in strip.clamps] == list(range(1, len(strip.clamps) + 1))


@pytest.mark.parametrize("name", FILES)
def test_an_example_holds_to_its_circuit(name: str) -> None:
    case = api.load(EXAMPLES / name)
    holds_to_the_circuit(case)
    labels_are_right(api.wires(case))


@given(yards())
def test_a_yard_holds_to_its_circuit(values: Values) -> None:
    case = case_of(values)
    holds_to_the_circuit(case)
    labels_are_right(api.wires(case))


@given(layouts())
def test_any_layout_has_a_wire_for_every_edge(values: Values) -> None:
    case = load(values)
    answer = api.wires(case)
    counts_edges(case, answer)
    labels_are_right(answer)


HEAD = """format = 1
[layout]
name = "Drying Loft"
control = "dcc"
{about}
"""


@pytest.mark.parametrize(
    ("w", "length", "segment", "s"), [(1, 4.0, 1.2, 4), (7, 3.6, 1.2, 3), (12, 9.0, 2.5, 4), (5, 1, 2, 1)]
)
def test_a_bundle_is_what_common_practice_says(w: int, length: float, segment: float, s: int) -> None:
    """w wires over a run of length L in s segments: w L of wire, w s pieces, 2 w s ends, crimps and screw terminals.

    Common practice, no source.
    """
    run = f'[runs.P]\nwire = "0.5 mm2"\nlength = "{length} m"\nsegment = "{segment} m"\ncount = {w}\n'
    answer = api.wires(api.loads(HEAD.format(about="") + run, "loft.toml"))
    assert answer.sums.length_m == pytest.approx(w * length)
    assert answer.sums.pieces == w * s
    assert answer.sums.crimps == answer.sums.screws == answer.sums.labels == 2 * w * s
    assert [(one.pieces, one.length_m, one.unmeasured) for one in answer.totals] == [(w * s, w * length, 0)]
    labels_are_right(answer)


def test_a_yard_of_equal_tracks_is_a_bundle() -> None:
    """The buses of w tracks: L is the lead and the track, s its share between the bench-work joints."""
    values = yard(tracks=6, length="3.6 m", lead="1.2 m", segment="1.2 m")
    answer = api.wires(api.loads(tomli_w.dumps(values), "yard.toml"))
    buses = listed(answer.pieces, kind="bus")
    assert metres_of(buses) == pytest.approx(6 * 4.8)
    assert len(buses) == 6 * 4
    assert sum(one.crimps for one in buses) == 2 * 6 * 4
    assert metres_of(listed(answer.pieces, kind="common")) == pytest.approx(4.8)


def yard(tracks: int, **harness: str) -> dict[str, Any]:
    length = harness.pop("length")
    return {
        "format": 1,
        "layout": {"name": "Drying Loft", "control": "dcc"},
        "boosters": {"B1": {"voltage": "14 V", "current": "3 A"}},
        "districts": {"loft": {"booster": "B1", "feed": {"wire": "2.5 mm2", "length": "4 m"}}},
        "board_types": {"sixteen": {"channels": 16, "bank_size": 8, "threshold": "1 mA"}},
        "boards": {"D1": {"type": "sixteen"}},
        "isolators": {f"I1-I{tracks}": {}},
        "harnesses": {"loft": {"bus": "1.5 mm2", "common": "2.5 mm2", **harness}},
        "blocks": {
            f"S1-S{tracks}": {
                "channel": f"D1.1-{tracks}",
                "isolator": f"I1-I{tracks}",
                "length": length,
                "harness": "loft",
            }
        },
    }


def test_the_small_yard_by_hand() -> None:
    """Summed from the file: tracks of 2.4 m (four), 2.7 m, 3 m and a neck of 1.6 m, each with 2.5 m of lead."""
    answer = api.wires(api.load(EXAMPLES / "small-yard" / "yard.toml"))
    assert metres_of(listed(answer.pieces, kind="bus")) == pytest.approx(4 * 4.9 + 5.2 + 5.5 + 4.1)
    assert len(listed(answer.pieces, kind="bus")) == 4 * 5 + 5 + 5 + 4  # joints every 1.2 m
    assert metres_of(listed(answer.pieces, kind="common")) == pytest.approx(5.5)
    assert len(listed(answer.pieces, kind="drop")) == 2 * (4 * 2 + 3 + 3 + 2)  # one every 1.2 m, on both rails
    assert answer.sums.length_m == pytest.approx(2 * 4.0 + 34.4 + 5.5 + 32 * 0.2)
    # five turnouts in a neck of 1.6 m with two pairs of drops, where a pair a turnout would be five
    assert [(one.block, one.saved) for one in answer.savings] == [("neck", 2 * (5 - 2))]
    # feeds 4, bank 2, channels 12, buses 68, common 10
    assert answer.sums.crimps == 4 + 2 + 12 + 68 + 10
    assert answer.sums.unmeasured == 7
    first = listed(answer.pieces, kind="bus", subject="R3")[0]
    assert (first.start.label, first.end.label, first.colour) == ("I3:out > R3:j1", "R3:j1 > I3:out", "green")


def test_an_allowance_lengthens_every_piece() -> None:
    run = '[runs.P]\nwire = "0.5 mm2"\nlength = "4 m"\nsegment = "1.5 m"\n'
    text = HEAD.format(about='allowance = "15 %"') + run
    answer = api.wires(api.loads(text, "loft.toml"))
    assert [one.cut_m for one in answer.pieces] == pytest.approx([1.725, 1.725, 1.15])
    assert answer.allowance == pytest.approx(0.15)
    assert answer.sums.cut_m == pytest.approx(4.6)
    plain = api.wires(api.loads(HEAD.format(about="") + run, "loft.toml"))
    assert plain.allowance is None
    assert plain.sums.cut_m == plain.sums.length_m == pytest.approx(4.0)


def test_runs_in_ranges_deal_out_their_ends_and_colours() -> None:
    run = (
        '[runs.P1-P3]\nwire = "0.5 mm2"\nlength = "2 m"\ncount = 3\nends = ["panel", "W1-W3"]\n'
        'colours = ["red", "black"]\nfor = "switch machine"\n'
    )
    answer = api.wires(api.loads(HEAD.format(about="") + run, "loft.toml"))
    assert [one.start.label for one in answer.pieces][3:6] == ["P2.1 panel > W2", "P2.2 panel > W2", "P2.3 panel > W2"]
    assert [one.colour for one in answer.pieces][:4] == ["red", "black", "red", "red"]
    assert {one.purpose for one in answer.pieces} == {"switch machine"}
    assert [one.name for one in answer.strips] == ["runs at W1", "runs at W2", "runs at W3", "runs at panel"]
    assert len(answer.strips[-1].clamps) == 9


def test_what_the_layout_does_not_give_is_not_guessed() -> None:
    values = yard(tracks=2, length="3 m", lead="1 m")
    del values["harnesses"]["loft"]["lead"], values["districts"]["loft"]["feed"]
    answer = api.wires(api.loads(tomli_w.dumps(values), "yard.toml"))
    assert answer.sums.length_m == 0
    assert answer.sums.unmeasured == answer.sums.pieces
    assert {one.conductor for one in listed(answer.pieces, kind="feed")} == {None}


def test_names_that_two_things_share_say_what_they_are() -> None:
    values = yard(tracks=2, length="3 m", lead="1 m", segment="1 m")
    values["harnesses"] = {"S1": values["harnesses"]["loft"]}
    values["blocks"]["S1-S2"]["harness"] = "S1"
    answer = api.wires(api.loads(tomli_w.dumps(values), "yard.toml"))
    labels_are_right(answer)
    assert listed(answer.pieces, kind="common")[1].start.label == "harness S1:j1 > harness S1:j2"
    assert listed(answer.pieces, kind="bus", subject="S1")[1].start.label == "block S1:j1 > block S1:j2"
    assert listed(answer.pieces, kind="bus", subject="S2")[1].start.label == "S2:j1 > S2:j2"


def two_districts(isolators: dict[str, Any], first: dict[str, Any]) -> dict[str, Any]:
    values = yard(tracks=2, length="3 m", lead="1 m", feeder="0.5 mm2", feeder_length="0.2 m", feeder_spacing="3 m")
    feed = {"wire": "2.5 mm2", "length": "4 m"}
    values["districts"] = {name: {"booster": "B1", "feed": feed} for name in ("east", "west")}
    values["boards"]["D1"]["banks"] = ["east", "west"]
    values["isolators"] = isolators
    values["blocks"]["S1-S2"].pop("isolator")
    values["blocks"]["S1"] = first
    return values


def way_of(values: dict[str, Any], *kinds: str) -> list[str]:
    answer = api.wires(api.loads(tomli_w.dumps(values), "yard.toml"))
    labels_are_right(answer)
    return [one.start.label for one in answer.pieces if one.kind in kinds]


def test_a_changeover_stands_between_the_districts_and_the_bank() -> None:
    switch = {"X": {"contact": "changeover", "between": ["east", "west"]}}
    values = two_districts(switch, {"isolator": "X"})
    values["blocks"]["S2"] = {"isolator": "X"}
    assert way_of(values, "throw", "bank", "channel") == [
        "east:feed > X:east",
        "west:feed > X:west",
        "X:out > D1:feed1",
    ]
    assert way_of(values, "bus") == ["D1:1 > S1:end", "D1:2 > S2:end"]
    assert way_of(values, "common") == ["east:return > loft:end"]


def test_a_second_pole_switches_the_return_alike() -> None:
    switch = {"X": {"contact": "changeover", "between": ["east", "west"], "poles": 2}}
    values = two_districts(switch, {"isolator": "X"})
    values["blocks"]["S2"] = {"isolator": "X"}
    assert way_of(values, "return throw") == ["east:return > X.2:east", "west:return > X.2:west"]
    assert way_of(values, "common") == ["X.2:out > loft:end"]


def test_switches_before_the_detector_stand_in_a_row_in_the_feed_of_the_bank() -> None:
    switches = {name: {"side": "before-detector"} for name in ("I1", "I2")}
    values = two_districts(switches, {"isolator": "I1"})
    values["blocks"]["S2"] = {"isolator": "I2"}
    assert way_of(values, "bank", "channel") == ["I1:out > I2:in", "I2:out > D1:feed1", "east:feed > I1:in"]


def test_a_switch_in_the_common_rail_gives_its_block_a_common_of_its_own() -> None:
    values = two_districts({"I1": {"side": "common-rail"}}, {"isolator": "I1"})
    assert way_of(values, "common switch", "common") == [
        "east:return > I1:in",
        "east:return > loft:end",
        "I1:out > S1.com:end",
    ]
    drops = way_of(values, "drop")
    assert "S1.com:bus > S1:drop1c" in drops
    assert "loft:bus > S2:drop1c" in drops


def test_a_row_of_a_board_is_its_channel_and_what_is_free_is_told() -> None:
    values = two_districts({}, {})
    values["boards"]["D1"] |= {"spare": [3], "at": "left"}
    values["blocks"]["S2"] = {"channel": "D1.9"}
    answer = api.wires(api.loads(tomli_w.dumps(values), "yard.toml"))
    labels_are_right(answer)
    board, feeds = (one for one in answer.strips if one.home == "D1")
    assert [(one.position, one.terminal) for one in board.clamps] == [(n, f"D1:{n}") for n in range(1, 17)]
    assert [one.note for one in board.clamps[:4]] == [None, "nothing here", "spare, nothing here", "nothing here"]
    assert board.clamps[8].labels == ("D1:9 > S2:end",)
    assert (feeds.name, feeds.where) == ("feed terminals of board D1", "left")
    assert [one.labels for one in feeds.clamps] == [("D1:feed1 > east:feed",), ("D1:feed2 > west:feed",)]


def test_the_frog_has_a_wire_and_its_contact_two_ties() -> None:
    values = two_districts({}, {})
    values["turnouts"] = {"T": {"block": "S1", "frog": "switched", "frog_gaps": True, "frog_rail": "common"}}
    assert way_of(values, "frog", "frog tie") == ["T:out > T:frog", "loft:bus > T:through", "S1:bus > T:diverging"]


def test_one_return_for_two_districts_is_tied_together_and_a_lonely_one_is_not() -> None:
    values = two_districts({}, {})
    values["districts"]["east"]["return"] = "R"
    assert way_of(values, "tie") == []
    values["districts"]["west"]["return"] = "R"
    assert way_of(values, "tie") == ["east:return > R:bar", "west:return > R:bar"]


def test_districts_that_share_a_common_bus_are_tied_where_it_begins() -> None:
    values = two_districts({}, {})
    values["board_types"]["sixteen"]["bank_size"] = 1
    values["boards"]["D1"]["banks"] = ["east", "west", *["east"] * 14]
    assert way_of(values, "tie", "common") == ["west:return > east:return", "east:return > loft:end"]
    for name in ("east", "west"):  # a return that both name ties them already
        values["districts"][name]["return"] = "R"
    assert way_of(values, "tie", "common") == ["east:return > R:bar", "west:return > R:bar", "east:return > loft:end"]


def test_what_a_change_does_to_runs_and_the_allowance_is_told() -> None:
    run = '[runs.P]\nwire = "0.5 mm2"\nlength = "4 m"\n'
    old = api.loads(HEAD.format(about="") + run, "loft.toml")
    new = api.loads(HEAD.format(about='allowance = "10 %"') + run.replace("4 m", "5 m"), "loft.toml")
    found = api.compare(old, new)
    assert [(one.kind, one.subject, one.key, one.before, one.after) for one in found.changes] == [
        ("layout", "Drying Loft", "allowance", None, "10 %"),
        ("run", "P", "length", "4 m", "5 m"),
    ]
    assert found.wiring_differs
