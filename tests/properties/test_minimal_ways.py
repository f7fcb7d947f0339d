"""Power and detection by minimal ways of current are what hangs together in each state."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.analysis.isolation.minimal import ALWAYS, NEVER, BlockWays, MinimalWays, Ways, both, either
from blockcheck.analysis.study import Study
from blockcheck.circuit.state import BLIND, HELD, OFF, ON, TRICKLE, WORKING
from tests.properties.layouts import Values, layouts, load

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted(path for path in (ROOT / "examples").rglob("*.toml") if "[layout]" in path.read_text("utf-8"))
LAYOUTS = sorted((ROOT / "tests" / "outside" / "layouts").glob("*.toml"))


def whole(ways: Ways, state: Mapping[str, str]) -> bool:
    assert ways is not None
    return any(all(state[control] == place for control, place in way) for way in ways)


def says(ways: BlockWays, state: Mapping[str, str]) -> tuple[str, str | None]:
    power = ON if whole(ways.on, state) else TRICKLE if whole(ways.trickle, state) else OFF
    if power == ON and whole(ways.reads, state):
        return power, WORKING
    return power, HELD if power != OFF and whole(ways.held, state) else BLIND


def agree(study: Study, seed: int, states: int) -> set[tuple[str, str | None]]:
    """In states at random, power and detection of every block; which there were."""
    seen, random, controls = set[tuple[str, str | None]](), Random(seed), study.circuit.controls
    every = MinimalWays(study, {name: one.positions for name, one in controls.items()})
    ways = {block: every.of(block) for block in study.blocks}
    for _ in range(states):
        state = {name: random.choice(one.positions) for name, one in controls.items()}
        now = study.now(state)
        for block, mine in ways.items():
            if None in (mine.on, mine.trickle, mine.reads, mine.held):
                continue
            told = says(mine, state)
            has = study.wiring.fed[block].channel is not None
            assert told == (now.power(block), now.detection(block) if has else BLIND), (block, state)
            seen.add(told)
    return seen


@pytest.mark.parametrize("path", [*EXAMPLES, *LAYOUTS], ids=lambda path: path.stem)
def test_examples(path: Path) -> None:
    study = api.load(path)
    assert all(None not in (one.on, one.reads) for one in map(_ways(study).of, study.blocks))
    agree(study, 1, 10)


def _ways(study: Study) -> MinimalWays:
    return MinimalWays(study, {name: one.positions for name, one in study.circuit.controls.items()})


@settings(deadline=None, max_examples=60)
@given(layouts(), st.integers(0, 1000))
def test_layouts_at_random(values: Values, seed: int) -> None:
    agree(load(values), seed, 12)


@settings(deadline=None, max_examples=20)
@given(layouts(interlocked=True), st.integers(0, 1000))
def test_interlocked_layouts(values: Values, seed: int) -> None:
    agree(load(values), seed, 12)


def test_every_state_of_a_block_is_seen() -> None:
    club = api.load(ROOT / "examples" / "club-yard" / "club.toml")
    assert {*agree(club, 3, 20)} >= {(ON, WORKING), (OFF, BLIND), (TRICKLE, HELD)}


def test_ways_are_minimal() -> None:
    one, two = frozenset({("I1", "closed")}), frozenset({("I2", "closed")})
    assert either([(one, one | two), (two,)]) == (one, two)
    assert both((one,), (two,)) == (one | two,)
    assert both((one,), (frozenset({("I1", "open")}),)) == NEVER
    assert either([NEVER, ALWAYS, None]) == ALWAYS
    assert either([None, (one,)]) is None
    assert both(None, NEVER) == NEVER
