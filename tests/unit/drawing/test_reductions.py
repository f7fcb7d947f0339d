"""What the reductions make of track plans, read as a line of words; and each reduction by itself."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.track_plans import HEAD, plans

from blockcheck import api
from blockcheck.drawing.figures.figure import End, Figure
from blockcheck.drawing.figures.read_back import audit
from blockcheck.drawing.plan.net import Net, net
from blockcheck.drawing.plan.parts import backwards, told
from blockcheck.drawing.plan.ports import read
from blockcheck.drawing.plan.reduce import balloon, lens, reduced, siding, triangle, yard

PLANS = plans()
REDUCED = {
    "ladder": "line | lead Yard<R6 | R5 | R4 | R3 | R2 | R1 |>",
    "ladder on a ladder": "line | lead Yard<A3 | A2 | B3 | B2 | B1 | A1 |>",
    "oval with a passing loop": "ring Lens<main pass> east-curve north west-curve",
    "oval with yard and station": "ring Lens<P3 P2 P1> link east-curve Lens<Y5 Y4 Y3 Y2 Y1> west-curve",
    "figure of eight": "ring Lens<north-1 north-2 south-1 south-2> shared",
    "dogbone": "line Balloon(west-loop) west-line Lens<P2 P1> east-line Balloon(east-loop)",
    "balloon loop": "line | line Balloon(loop-1 loop-2 loop-3)",
    "triangle": "line | west-line Triangle[ab / ca' / bc / tail mill-line' |] east-line' |",
    "triangle with a siding": "line | west-line Triangle[a1 Siding[TQ pit |] a2 / ca' / bc / tail mill-line' |] "
    "east-line' |",
    "siding that leads back": "line | line Yard<Siding[TB pit |]' far-west | low-1 low-2 |>",
    "branch with a terminus": "line | main-west Yard<main-mid main-east | branch Yard<bay | P2 | P1 |>>",
    "double track with crossovers": "ring Siding[X2 ->B] up-2' Siding[X1 ->A]' up-1'\n"
    "ring Siding[X4 ->B] down-1 Siding[X3 ->A]' down-2",
    "oval with a reversing chord": "ring Siding[RA chord ->A] north Siding[RB ->A] south",
    "two decks with a helix": "line | entry Lens<L3 L2 L1> low-line helix-1 helix-2 top-line Yard<U3 | U2 | U1 |>",
    "yard": "line | west-line Lens<S9 S8 S7 S6 S5 S4 S3 S2 S1> east-line |",
    "yard, ladders parallel": "line | west-line Lens<S9 S8 S7 S6 S5 S4 S3 S2 S1> east-line |",
    "two ladders in one throat": "line | arrival Lens<M12 M11 M10 M9 M8 M7 M6 M5 M4 M3 M2 M1 M24 M23 M22 M21 M20 M19 "
    "M18 M17 M16 M15 M14 M13> departure |",
}


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_is_reduced_to_what_a_builder_calls_it(name: str) -> None:
    assert str(reduced(api.loads(PLANS[name], "plan.toml").layout)) == REDUCED[name]


RULES: dict[str, tuple[str, Callable[[Net], bool]]] = {
    "Yard": ("ladder", yard),
    "Balloon": ("balloon loop", balloon),
    "Lens": ("yard", lens),
    "Triangle": ("triangle", triangle),
}


@pytest.mark.parametrize("part", RULES)
def test_each_rule_takes_what_it_is_for(part: str) -> None:
    plan, rule = RULES[part]
    made = net(read(api.loads(PLANS[plan], "plan.toml").layout))
    assert [one for one, (_, other) in RULES.items() if other is not rule and other(made)] == []
    assert rule(made)
    assert not made.forks
    assert f"{part}" in told(made.lines[0])


def test_a_siding_is_the_lightest_leg_that_ends() -> None:
    made = net(read(api.loads(PLANS["oval with a passing loop"], "plan.toml").layout))
    assert not siding(made)
    text = HEAD + (
        'blocks.a = { channel = "D1.1" }\nblocks.b = { channel = "D1.2" }\nblocks.s = { channel = "D1.3" }\n'
        'blocks.t = { channel = "D1.4", kind = "throat" }\n'
        'turnouts.T = { block = "t", toe = "a", through = "b", diverging = "s" }\n'
        '[[joints]]\nblocks = ["a", "t"]\ngap = "both"\n[[joints]]\nblocks = ["t", "b"]\ngap = "both"\n'
        '[[joints]]\nblocks = ["t", "s"]\ngap = "both"\n[[joints]]\nblocks = ["b", "a"]\ngap = "both"\n'
    )
    assert str(reduced(api.loads(text, "plan.toml").layout)) == "ring Siding[T s |] b a"


def test_a_run_read_backwards_twice_is_the_run() -> None:
    for text in PLANS.values():
        made = reduced(api.loads(text, "plan.toml").layout)
        for run in (*made.lines, *made.rings):
            assert backwards(backwards(run)) == run
            assert told(run)


def test_the_own_track_of_a_block_that_holds_turnouts_lies_between_their_toes() -> None:
    text = HEAD + (
        'blocks.m = { channel = "D1.1" }\nblocks.A1-A4 = { channel = "D1.2-5" }\n'
        'turnouts.W = { block = "m", through = "A1", diverging = "A2" }\n'
        'turnouts.E = { block = "m", through = "A3", diverging = "A4" }\n'
        '[[joints]]\nblocks = ["A1-A2", "m"]\ngap = "both"\n[[joints]]\nblocks = ["m", "A3-A4"]\ngap = "both"\n'
    )
    assert str(reduced(api.loads(text, "plan.toml").layout)) == "line Yard<A1' | A2' |> m Yard<A3 | A4 |>"


def test_points_that_are_not_described_are_guessed_in_the_order_of_the_joints() -> None:
    text = HEAD + (
        'blocks.n = { channel = "D1.1" }\nblocks.A1-A3 = { channel = "D1.2-4" }\n'
        '[[joints]]\nblocks = ["n", "A1-A3"]\ngap = "both"\n'
    )
    made = reduced(api.loads(text, "plan.toml").layout)
    assert str(made) == "line | n Yard<A3 | A2 | A1 |>"
    assert set(made.ports.guessed.values()) == {"n"}


def test_a_joint_that_no_leg_is_left_for_is_told() -> None:
    text = HEAD + (
        'blocks.n = { channel = "D1.1", kind = "throat" }\nblocks.A1-A3 = { channel = "D1.2-4" }\n'
        'turnouts.T = { block = "n", through = "A1", diverging = "A2", toe = "A1" }\n'
        '[[joints]]\nblocks = ["n", "A1-A3"]\ngap = "both"\n'
    )
    ports = read(api.loads(text, "plan.toml").layout)
    assert ports.notes == ["n (far) meets A3 (near), but nothing is free there: see its turnouts"]


@pytest.mark.parametrize(("away", "beside"), [(1.0, 1), (-1.0, 1), (2.0, 0)])
def test_an_end_that_seems_to_lead_into_other_track_is_a_fault(away: float, beside: int) -> None:
    made = Figure([End((0, 0)), End((40, 0)), End((20, away)), End((20, 20 * away))])
    made.line("line", (0, 0), (40, 0))
    made.line("stub", (20, away), (20, 20 * away))
    assert audit(made).places == audit(made).beside == ((20, away),) * beside
