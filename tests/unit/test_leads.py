"""A lead that is left out is taken along the chain of joints, and every answer that rests on it says so."""

from __future__ import annotations

from random import Random

import networkx
import pytest

import blockcheck

YARD = """\
format = 1
layout = { name = "Alder Bank", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A" }
districts.line = { booster = "B1", feed = { wire = "2.5 mm2", length = "3 m" } }
board_types.eight = { channels = 8, threshold = "1.5 mA" }
boards.D1 = { type = "eight" }
loads.pug = { locomotive = true, running = "1 A" }
trains.coal = { vehicles = { pug = 1 }, at = "L3", state = "running" }
harnesses.line = { bus = "1.5 mm2", common = "1.5 mm2", feeder = "0.5 mm2", feeder_length = "20 cm", \
feeder_spacing = "2 m", rail = "code83" }

[blocks.L1-L4]
channel = "D1.1-4"
length = "3 m"
harness = "line"
[blocks.L1]
lead = "2 m"
[blocks.L2]
length = "4.5 m"

[[joints]]
blocks = ["L1", "L2"]
gap = "detected"
[[joints]]
blocks = ["L3", "L2"]
gap = "detected"
ends = ["near", "far"]
[[joints]]
blocks = ["L3", "L4"]
gap = "detected"
"""


def leads(text: str) -> dict[str, float | None]:
    return {name: block.lead_m for name, block in blockcheck.loads(text).layout.blocks.items()}


def test_each_begins_where_the_one_before_it_ends() -> None:
    assert leads(YARD) == {"L1": 2.0, "L2": 5.0, "L3": 9.5, "L4": 12.5}


def test_it_is_as_if_it_were_written() -> None:
    written = YARD
    for name, lead in (("L2", "5 m"), ("L3", "9.5 m"), ("L4", "12.5 m")):
        written += f'[blocks.{name}]\nlead = "{lead}"\n' if name != "L2" else ""
    written = written.replace('length = "4.5 m"', 'length = "4.5 m"\nlead = "5 m"')
    one, other = (blockcheck.loads(text) for text in (YARD, written))
    volts = [[row.voltage_v for row in blockcheck.power(case).rows] for case in (one, other)]
    assert volts[0] == volts[1]
    lengths = [[piece.length_m for piece in blockcheck.wires(case).pieces] for case in (one, other)]
    assert lengths[0] == lengths[1]
    assert not blockcheck.wires(other).leads


def test_the_answers_say_so() -> None:
    case = blockcheck.loads(YARD)
    wires = blockcheck.wires(case)
    assert [(one.block, one.lead_m, one.before) for one in wires.leads] == [
        ("L2", 5.0, "L1"),
        ("L3", 9.5, "L2"),
        ("L4", 12.5, "L3"),
    ]
    assert "each the lead and length of the block before: L2 5 m, L3 9.5 m, L4 12.5 m." in " ".join(str(wires).split())
    (default,) = (one for one in blockcheck.power(case).defaults if one.key == "blocks.*.lead")
    assert (default.value, default.of) == ("5 m to 12.5 m", ("L2", "L3", "L4"))
    assert "along the chain of joints" in " ".join(str(blockcheck.explain("blocks.lead")).split())


OTHER = """
[harnesses.other]
rail = "code83"
[blocks.L5]
channel = "D1.5"
length = "2 m"
harness = "other"
[[joints]]
blocks = ["L4", "L5"]
gap = "detected"
"""


@pytest.mark.parametrize(
    ("text", "left"),
    [
        # its bus would come to its far end first
        (YARD.replace('ends = ["near", "far"]', 'ends = ["far", "far"]'), {"L3", "L4"}),
        (YARD.replace('lead = "2 m"', ""), {"L1", "L2", "L3", "L4"}),
        (YARD + OTHER, {"L5"}),
        (YARD.replace('length = "4.5 m"', 'kind = "running"').replace('"\nlength = "3 m"', '"'), {"L2", "L3", "L4"}),
    ],
)
def test_where_nothing_tells_it_it_lacks(text: str, left: set[str]) -> None:
    assert {name for name, lead in leads(text).items() if lead is None} == left


def test_a_lead_of_the_harness_is_that_of_all() -> None:
    text = YARD.replace('feeder_spacing = "2 m"', 'feeder_spacing = "2 m", lead = "1 m"')
    assert leads(text) == {"L1": 2.0, "L2": None, "L3": None, "L4": None}


@pytest.mark.parametrize("seed", range(20))
def test_of_several_ways_there_it_is_the_shortest(seed: int) -> None:
    """Against networkx's shortest paths (Dijkstra), joints in any order and written either way round."""
    chance = Random(seed)
    names = [f"L{number}" for number in range(1, 9)]
    lengths = {name: chance.randint(1, 9) for name in names}
    graph: networkx.DiGraph[str] = networkx.DiGraph()
    graph.add_nodes_from(names)
    joints = ""
    for _ in range(10):
        one, two = chance.sample(names, 2)
        if graph.has_edge(one, two):
            continue
        graph.add_edge(one, two, weight=lengths[one])
        turned = chance.random() < 0.5
        blocks, ends = ((two, one), ("near", "far")) if turned else ((one, two), ("far", "near"))
        joints += (
            f'[[joints]]\nblocks = ["{blocks[0]}", "{blocks[1]}"]\ngap = "both"\nends = ["{ends[0]}", "{ends[1]}"]\n'
        )
    text = YARD[: YARD.index("[blocks.L1-L4]")]
    for number, name in enumerate(names, 1):
        text += f'[blocks.{name}]\nchannel = "D1.{number}"\nlength = "{lengths[name]} m"\nharness = "line"\n'
        text += 'lead = "2 m"\n' if name == "L1" else ""
    reach = networkx.single_source_dijkstra_path_length(graph, "L1")
    assert leads(text + joints) == {name: 2.0 + reach[name] if name in reach else None for name in names}
