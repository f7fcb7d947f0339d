"""Sections whose polarity changes, held to all choices of rails and to all ways that a train can take."""

from __future__ import annotations

from itertools import pairwise, product

import networkx as nx
from hypothesis import event, given, settings
from hypothesis import strategies as st

import blockcheck
from blockcheck.analysis.reversing import inside, sections
from tests.properties.test_turned import END, End

NAMES = ("A", "B", "C", "D", "E")
OTHER: dict[End, End] = {"near": "far", "far": "near"}
JOINT = st.tuples(st.sampled_from(NAMES), st.sampled_from(NAMES), END, END, st.sampled_from(["both", "detected"]))
JOINTS = st.lists(JOINT.filter(lambda one: one[0] != one[1]), min_size=3, max_size=8, unique_by=lambda one: one[:4])
Joints = list[tuple[str, str, End, End, str]]


def text_of(joints: Joints, turning: set[str], lengths: list[int]) -> str:
    """A layout of five blocks, each on a bank of its own; those of ``turning`` in a district whose polarity changes."""
    banks = ", ".join(f'"{"loop" if name in turning else "line"}"' for name in NAMES)
    lines = ["format = 1", 'layout = { name = "Teasel Halt", control = "dcc" }', "[boosters.B1]", 'voltage = "14 V"']
    lines += ['current = "3 A"', "[districts]", 'line = { booster = "B1" }']
    lines += [
        'loop = { booster = "B1", polarity = "automatic" }',
        "[board_types.plain]",
        "channels = 5",
        "bank_size = 1",
    ]
    lines += ['threshold = "1.5 mA"', "[boards.D1]", 'type = "plain"', f"banks = [{banks}]", "[blocks]"]
    lines += [
        f'{name} = {{ channel = "D1.{number}", length = "{length} m" }}'
        for number, (name, length) in enumerate(zip(NAMES, lengths, strict=True), 1)
    ]
    for one, other, end, there, gap in joints:
        lines += ["[[joints]]", f'blocks = ["{one}", "{other}"]', f'gap = "{gap}"', f'ends = ["{end}", "{there}"]']
    return "\n".join(lines)


def consistent(joints: Joints) -> bool:
    """Whether rails can be chosen so that every joint leads on as the same rail."""
    return any(
        all((turned[a] != turned[b]) == (one == other) for a, b, one, other, _ in joints)
        for signs in product((False, True), repeat=len(NAMES))
        for turned in [dict(zip(NAMES, signs, strict=True))]
    )


@settings(deadline=None)
@given(JOINTS, st.sets(st.sampled_from(NAMES)))
def test_rails_cross_where_no_choice_fits_what_keeps_its_polarity(joints: Joints, turning: set[str]) -> None:
    """At a border that is cut in both rails the section has had, or will have, the polarity of what is beyond."""
    try:
        study = blockcheck.loads(text_of(joints, turning, [2] * 5), "yard.toml")
    except blockcheck.InputError:  # one end of a block that meets two ends of another
        return
    kept = [one for one in joints if one[4] != "both" or (one[0] in turning) == (one[1] in turning)]
    found = [one for one in blockcheck.check(study).findings if one.rule == "rails-crossed"]
    event(f"crossed: {bool(found)}; turning: {bool(turning)}")
    assert bool(found) == (not consistent(kept))


@settings(deadline=None)
@given(JOINTS, st.sets(st.sampled_from(NAMES), min_size=2), st.lists(st.integers(1, 9), min_size=5, max_size=5))
def test_the_shortest_way_through_a_section_is_the_shortest_of_all(
    joints: Joints, turning: set[str], lengths: list[int]
) -> None:
    try:
        study = blockcheck.loads(text_of(joints, turning, lengths), "yard.toml")
    except blockcheck.InputError:
        return
    metres = dict(zip(NAMES, lengths, strict=True))
    ways: nx.DiGraph[tuple[object, ...]] = nx.DiGraph()  # where a train is: entering a block, leaving it, on a border
    for name, end in product(turning, OTHER):
        ways.add_edge(("in", name, end), ("out", name, OTHER[end]), weight=metres[name])
    borders = []
    for index, (one, other, end, there, _) in enumerate(joints):
        for a, b, leaving, into in ((one, other, end, there), (other, one, there, end)):
            if a in turning and b in turning:
                ways.add_edge(("out", a, leaving), ("in", b, into), weight=0)
            elif a in turning:
                borders.append(index)
                ways.add_edge(("out", a, leaving), ("leaves", index), weight=0)
                ways.add_edge(("enters", index), ("in", a, leaving), weight=0)
    expected = {}
    for start, end_ in product(borders, borders):
        if start <= end_ and nx.has_path(ways, ("enters", start), ("leaves", end_)):
            expected[start, end_] = nx.dijkstra_path_length(ways, ("enters", start), ("leaves", end_))
    found = {}
    for section in sections(study):
        for way in inside(study, section):
            found[way.start, way.end] = way.length_m
            assert way.length_m == sum(metres[name] for name in way.blocks)
            assert all({a, b} <= {*section.blocks} for a, b in pairwise(way.blocks))
    event(f"ways: {len(found)}")
    assert found == expected
