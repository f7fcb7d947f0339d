"""Closed ways that turn trains round, against every choice of which rail is which."""

from __future__ import annotations

from itertools import product
from typing import Literal

from hypothesis import given
from hypothesis import strategies as st

from blockcheck.analysis.turned import turned_ways
from blockcheck.model.keys import Name
from blockcheck.model.layout import About, Block, Joint, Layout

End = Literal["near", "far"]
NAMES = tuple(map(Name, "ABCDE"))
ENDS: tuple[End, ...] = ("near", "far")
END = st.sampled_from(ENDS)
JOINTS = st.lists(st.tuples(st.sampled_from(NAMES), st.sampled_from(NAMES), END, END), max_size=8)


def layout_of(joints: list[tuple[Name, Name, End, End]]) -> Layout:
    return Layout(
        about=About(name="Teasel Halt", control="dcc"),
        blocks={name: Block(name=name) for name in NAMES},
        joints=tuple(Joint(blocks=(a, b), gap="none", ends=(one, other)) for a, b, one, other in joints),
    )


@given(JOINTS)
def test_there_is_one_where_no_choice_of_rails_fits_all_joints(joints: list[tuple[Name, Name, End, End]]) -> None:
    ways = list(turned_ways(layout_of(joints), range(len(joints))))
    fits = any(
        all((turned[a] != turned[b]) == (one == other) for a, b, one, other in joints)
        for signs in product((False, True), repeat=len(NAMES))
        for turned in [dict(zip(NAMES, signs, strict=True))]
    )
    assert fits == (not ways)
    for way in ways:
        steps = zip(way.blocks, (*way.blocks[1:], way.blocks[0]), way.joints, strict=True)
        assert all({a, b} == {*joints[index][:2]} for a, b, index in steps)
        assert len({*way.blocks}) == len(way.blocks)
        assert sum(joints[index][2] == joints[index][3] for index in way.joints) % 2 == 1
