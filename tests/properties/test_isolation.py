"""The rules of isolation and joining against a look at every state, nothing mended: what they say is what is there."""

from __future__ import annotations

from collections import Counter
from math import prod
from pathlib import Path

import pytest
from hypothesis import given, settings

from blockcheck import api
from blockcheck.analysis.isolation import ways
from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.isolation.ways import Stray, between_districts, round_detector
from blockcheck.analysis.study import Study
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.reach import Answer, Never, Witness
from blockcheck.circuit.state import BLIND, OFF, ON, WORKING, conducts
from blockcheck.core.errors import InputError
from blockcheck.core.findings import Finding
from blockcheck.model.operate import closed_position, open_position
from blockcheck.rules import frog_short
from tests.properties.everywhere import conductors, everything
from tests.properties.layouts import MOST_STATES, Values, layouts, load
from tests.properties.truths import Truths

ROOT = Path(__file__).resolve().parents[2]
MOST_CONTROLS = 12
FILES = sorted((*(ROOT / "examples").rglob("*.toml"), *(ROOT / "tests" / "rules").rglob("*.toml")))


def holds(case: Study, answer: Answer, held: bool) -> None:
    """A witness's paths conduct edge by edge in its state, whatever the controls do that it does not name."""
    if not isinstance(answer, Witness):
        return
    state = {**case.circuit.usual, **answer.state}
    for path, nodes in zip(answer.paths, answer.nodes, strict=True):
        for number, here, there in zip(path, nodes[:-1], nodes[1:], strict=True):
            edge = case.circuit.edges[number]
            assert {edge.a, edge.b} == {here, there}
            assert edge.control is None or edge.control in answer.state
            assert conducts(edge, state) or (held and edge.kind is Kind.HOLD)


def isolators(case: Study) -> Counter[str]:
    """isolation-leak, isolation-overreach, isolation-no-effect and detection-not-dropped, for every isolator."""
    truth, isolation, seen = Truths(case), Isolation(case), Counter[str]()
    for name in case.wiring.meant:
        cut = open_position(case.wiring, name)
        if cut is None:
            continue
        closed = closed_position(case.wiring, name)
        killed = truth.kills(name, closed, cut)
        as_usual = all(truth.world.standing({**case.circuit.usual, name: place}) for place in (closed, cut))
        assert isolation.kills[name] == killed or not as_usual, name
        alone = truth.alone(name, closed, cut)
        seen.update((f"kills {bool(killed)}", f"as usual {as_usual}", f"alone {alone}"))
        for block in case.blocks:
            leaks = truth.leaks(name, block, cut)
            answer = isolation.gets_round(name, block)[0]
            assert isinstance(answer, Witness if leaks else Never), (name, block)
            holds(case, answer, held=False)
            matters = truth.matters(name, block, cut)
            assert isolation.matters(name, block) is matters or not alone, (name, block)
            reads = bool(truth.reads(block, everything) & truth.world.where[name, cut])
            answer = isolation.trickles(name, block)
            assert isinstance(answer, Witness if reads else Never), (name, block)
            holds(case, answer, held=True)
            seen.update((f"leaks {leaks}", f"matters {matters}", f"reads {reads}"))
    return seen


def usual(case: Study) -> Counter[str]:
    """Power and detection as the layout usually stands."""
    truth, seen = Truths(case), Counter[str]()
    here = truth.world.standing(case.circuit.usual)
    for block in case.blocks:
        on, trickle = (bool(truth.fed(block, use) & here) for use in (conductors, everything))
        power = case.usual.power(block)
        assert (power == ON, power != OFF) == (on, trickle), block
        seen[power] += 1
        if case.wiring.fed[block].channel is None:
            continue
        works, reads = (bool(truth.reads(block, use) & here) for use in (conductors, everything))
        detection = case.usual.detection(block)
        assert (detection == WORKING, detection != BLIND) == (works, reads), block
        seen[detection] += 1
    return seen


def no_block(study: Study) -> frozenset[str]:
    """Nothing is proved beforehand."""
    return frozenset()


def joining(case: Study) -> Counter[str]:
    """channel-bypassed with channel-crosstalk, districts-joined, frog-short."""
    truth, seen = Truths(case), Counter[str]()
    sealed = ways._sealed(case)
    for block in case.circuit.detected:
        channel = case.wiring.fed[block].channel
        if block in sealed:  # what is proved of all at once is what a search for each finds
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(ways, "_sealed", no_block)
                searched = [one for one in round_detector(case, block) if isinstance(one, Stray)]
            assert not any(channel is not None or one.through for one in searched), block
        seen[f"sealed {block in sealed}"] += 1
    for block in case.blocks:
        channel = case.wiring.fed[block].channel
        if channel is None:
            continue
        others = truth.detectors - {str(channel)}
        strays = [one for one in round_detector(case, block) if isinstance(one, Stray)]
        assert bool(strays) == bool(truth.round(block, others)), block
        for stray in strays:
            assert str(channel) not in stray.through
            allowed = frozenset(stray.through)
            assert truth.round(block, allowed) & truth.world.standing(stray.state)
        culprits = [stray.culprit for stray in strays]
        if strays and None not in culprits:  # with all of them mended there is no way left
            assert not truth.round(block, others, culprits), block
        seen[f"round {bool(strays)}"] += 1
    joined = truth.joined()
    for district in case.circuit.feeds:
        found = any(True for _ in between_districts(case, district))
        assert found == any(district in pair for pair in joined), district
        seen[f"joined {found}"] += 1
    shorted = {one.subject for one in frog_short.check(case) if isinstance(one, Finding)}
    assert shorted == {name for name in case.circuit.frogs if truth.shorts(name)}
    seen.update(f"shorts {name in shorted}" for name in case.circuit.frogs)
    return seen


def both_ways(seen: Counter[str], *what: str) -> None:
    """Each question was answered yes and no: a comparison of nothing but one answer would prove little."""
    for one in what:
        assert seen[f"{one} True"], seen
        assert seen[f"{one} False"], seen


def test_isolators_do_what_is_said_of_them() -> None:
    seen = Counter[str]()

    @given(layouts())
    def look(values: Values) -> None:
        seen.update(isolators(load(values)))

    look()
    both_ways(seen, "kills", "leaks", "matters", "reads")


def test_interlocks_leave_the_other_states() -> None:
    seen = Counter[str]()

    @given(layouts(interlocked=True))
    def look(values: Values) -> None:
        case = load(values)
        seen.update(isolators(case) + joining(case))

    look()
    both_ways(seen, "kills", "leaks", "matters", "reads", "as usual", "alone", "round")


def test_power_and_detection_are_what_is_said_of_them() -> None:
    seen = Counter[str]()

    @settings(max_examples=300)  # a trickle is rare
    @given(layouts())
    def look(values: Values) -> None:
        seen.update(usual(load(values)))

    look()
    assert {"on", "off", "trickle", "working", "blind", "held"} <= seen.keys(), seen


def test_stray_ways_joined_districts_and_shorted_frogs_are_all_found() -> None:
    seen = Counter[str]()

    @given(layouts())
    def look(values: Values) -> None:
        seen.update(joining(load(values)))

    look()
    both_ways(seen, "round", "joined", "shorts", "sealed")


def small(path: Path) -> Study | None:
    """A layout of few enough controls to look at all its states; None for others and for what is no layout."""
    try:
        case = api.load(path)
    except InputError:
        return None
    controls = case.circuit.controls.values()
    states = prod(len(control.positions) for control in controls)
    most = min(MOST_STATES, 40 * settings().max_examples)  # the long run looks at more
    return case if len(controls) <= MOST_CONTROLS and states <= most else None


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_written_layouts(path: Path) -> None:
    """Every example and every case of a rule that is small enough; the others are too large to look at all states."""
    case = small(path)
    if case is not None:
        isolators(case)
        usual(case)
        joining(case)


def test_most_written_layouts_are_small_enough() -> None:
    assert sum(small(path) is not None for path in FILES) > len(FILES) * 3 // 4


BANK = {
    "format": 1,
    "layout": {"name": "Sedge Halt", "control": "dcc"},
    "boosters": {"B1": {"voltage": "14 V", "current": "3 A"}},
    "districts": {"east": {"booster": "B1"}},
    "board_types": {"eight": {"channels": 8, "bank_size": 4, "threshold": "1.5 mA"}},
    "boards": {"D1": {"type": "eight"}},
}


def test_a_detector_of_a_dead_bank_does_not_read() -> None:
    """S2 lives on its neighbour's feed; its own detector leads into a bank that nothing feeds."""
    case = load(
        BANK
        | {
            "blocks": {"S1": {"channel": "D1.1"}, "S2": {"channel": "D1.5", "isolator": "I1"}},
            "isolators": {"I1": {"side": "before-detector"}},
            "joints": [{"blocks": ["S1", "S2"], "gap": "common"}],
        }
    )
    now = case.now({"I1": "open"})
    assert (now.power("S2"), now.detection("S2")) == (ON, BLIND)
    assert isinstance(Isolation(case).trickles("I1", "S2"), Never)


def test_two_boosters_without_a_common_return_make_no_loop() -> None:
    """With S2's return cut, its rails hang on two boosters, and no current flows from one to the other."""
    case = load(
        BANK
        | {
            "boosters": {name: {"voltage": "14 V", "current": "3 A"} for name in ("B1", "B2")},
            "districts": {"east": {"booster": "B1"}, "west": {"booster": "B2"}},
            "boards": {"D1": {"type": "eight", "banks": ["east", "west"]}},
            "blocks": {"S1": {"channel": "D1.1"}, "S2": {"channel": "D1.5", "isolator": "I1"}},
            "isolators": {"I1": {"side": "common-rail"}},
            "joints": [{"blocks": ["S1", "S2"], "gap": "detected"}],
        }
    )
    isolation = Isolation(case)
    assert case.now({"I1": "open"}).power("S2") == OFF
    assert isolation.kills["I1"] == {"S2"}
    assert isinstance(isolation.gets_round("I1", "S2")[0], Never)
