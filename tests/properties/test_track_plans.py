"""Track plans that people build: each without a finding about its polarity, and each with one end or one gap wrong."""

from __future__ import annotations

import pytest

import blockcheck
from tests.properties.test_reversing import NAMES, Joints, text_of
from tests.properties.test_turned import End

CUT, BOTH = "detected", "both"
F: End = "far"
N: End = "near"
A, B, C, D, E = NAMES
RING: Joints = [(A, B, F, N, CUT), (B, C, F, N, CUT), (C, D, F, N, CUT), (D, A, F, N, CUT)]
PLANS: dict[str, tuple[Joints, set[str]]] = {
    # plan: its joints, and the blocks in a district whose polarity changes
    "oval": (RING, set()),
    "dogbone": ([(A, B, F, N, CUT), (B, C, F, N, CUT), (C, D, F, N, CUT), (D, A, F, N, CUT), (E, A, N, N, CUT)], set()),
    "figure of eight": ([(A, B, F, N, CUT), (B, C, F, N, CUT), (C, A, F, N, CUT), (E, D, F, N, CUT)], set()),
    "double-ended yard, the throats named along the line": (
        [
            (A, B, F, N, CUT),
            (A, C, F, N, CUT),
            (A, D, F, N, CUT),
            (B, E, F, N, CUT),
            (C, E, F, N, CUT),
            (D, E, F, N, CUT),
        ],
        set(),
    ),
    "double-ended yard, the throats named from the line inwards": (
        [
            (A, B, F, N, CUT),
            (A, C, F, N, CUT),
            (A, D, F, N, CUT),
            (B, E, F, F, CUT),
            (C, E, F, F, CUT),
            (D, E, F, F, CUT),
        ],
        set(),
    ),
    "balloon loop": ([(A, B, F, N, BOTH), (A, B, F, F, BOTH)], {B}),
    "triangle": (
        [(A, B, F, N, CUT), (B, C, N, N, CUT), (D, C, N, F, CUT), (D, E, N, N, BOTH), (A, E, F, F, BOTH)],
        {E},
    ),
    "single line with a loop at each end": (
        [(A, B, F, N, BOTH), (A, B, F, F, BOTH), (A, C, N, N, BOTH), (A, C, N, F, BOTH)],
        {B, C},
    ),
    "reversing track across an oval": ([*RING, (A, E, F, N, BOTH), (E, D, F, F, BOTH)], {E}),
}
TURNS = ("balloon loop", "triangle", "single line with a loop at each end", "reversing track across an oval")


def found(joints: Joints, turning: set[str]) -> set[str]:
    """The rules on joining that find something."""
    study = blockcheck.loads(text_of(joints, turning, [9] * 5), "yard.toml")
    rules = {"rails-crossed", "reversing-tied", "reversing-neighbours", "reversing-too-short", "districts-joined"}
    return {one.rule for one in blockcheck.check(study).findings} & {*rules, "gap-missing"}


@pytest.mark.parametrize("name", PLANS)
def test_a_right_plan_is_right(name: str) -> None:
    assert found(*PLANS[name]) == set()


@pytest.mark.parametrize("name", PLANS)
def test_one_end_that_is_wrong_is_found(name: str) -> None:
    """In a ring of fixed polarity. Where the only way round leads through a section that turns it, either is right."""
    (one, other, end, there, gap), *rest = PLANS[name][0]
    wrong: Joints = [(one, other, N if end == F else F, there, gap), *rest]
    turns = name in TURNS and name != "reversing track across an oval"
    assert found(wrong, PLANS[name][1]) == (set() if turns else {"rails-crossed"})


@pytest.mark.parametrize("name", TURNS)
def test_one_rail_that_is_not_cut_at_a_border_is_found(name: str) -> None:
    joints, turning = PLANS[name]
    for at, joint in enumerate(joints):
        if (joint[0] in turning) != (joint[1] in turning):
            one, other, end, there, _ = joint
            wrong = [*joints[:at], (one, other, end, there, CUT), *joints[at + 1 :]]
            assert "districts-joined" in found(wrong, turning), joint


@pytest.mark.parametrize("name", TURNS)
def test_a_section_whose_polarity_stays_is_found(name: str) -> None:
    joints, _ = PLANS[name]
    assert found(joints, set()) == {"rails-crossed"}
    assert found([(one, other, end, there, CUT) for one, other, end, there, _ in joints], set()) == {"rails-crossed"}
