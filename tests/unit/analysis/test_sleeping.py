"""Putting tracks to sleep, against every set of isolators tried."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import pytest
import tomli_w
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from blockcheck import api
from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.budgets.sleeping import Choice, fewest
from blockcheck.analysis.study import Study
from blockcheck.model.operate import Operation, open_position

AMPERES = st.sampled_from([0.0, 0.05, 0.1, 0.12, 0.3, 0.45, 1.1])
LIMITS = ("district d1", "district d2", "booster B1")


@st.composite
def problems(draw: st.DrawFn) -> tuple[list[Choice], dict[str, dict[str, float]], dict[str, float]]:
    """Up to ten choices over up to eight blocks, some of which sleep by several; what each saves; what is over."""
    blocks = [f"S{number}" for number in range(1, draw(st.integers(1, 8)) + 1)]
    saves = {}
    for block in blocks:
        amperes = draw(AMPERES)
        saves[block] = {draw(st.sampled_from(LIMITS[:2])): amperes, LIMITS[2]: amperes}
    alone = draw(st.booleans())
    choices = []
    for number in range(1, draw(st.integers(0, 10)) + 1):
        sets = st.sets(st.sampled_from(blocks), min_size=1, max_size=1 if alone else 4)
        choices.append(Choice(f"I{number}", tuple(sorted(draw(sets)))))
    return choices, saves, {name: draw(st.sampled_from([-0.5, 0.0, 0.1, 0.25, 0.6, 1.3])) for name in LIMITS}


def subsets(choices: Sequence[Choice]) -> Iterator[tuple[Choice, ...]]:
    for mask in range(1 << len(choices)):
        yield tuple(choice for number, choice in enumerate(choices) if mask >> number & 1)


def asleep(taken: Sequence[Choice]) -> set[str]:
    return {block for choice in taken for block in choice.blocks}


def enough(taken: Sequence[Choice], saves: Mapping[str, Mapping[str, float]], over: Mapping[str, float]) -> bool:
    return all(
        need <= 1e-9 or sum(saves[block].get(name, 0.0) for block in asleep(taken)) >= need - 1e-6
        for name, need in over.items()
    )


@given(problems())
def test_fewest_is_exact(problem: tuple[list[Choice], dict[str, dict[str, float]], dict[str, float]]) -> None:
    choices, saves, over = problem
    best = min((len(asleep(taken)) for taken in subsets(choices) if enough(taken, saves, over)), default=None)
    found = fewest(choices, saves, over)
    event(f"fewest: {best}")
    if found is None:
        assert best is None
        return
    assert enough(found, saves, over)
    assert len(asleep(found)) == best
    assert all(not enough([one for one in found if one != choice], saves, over) for choice in found)  # none for nothing
    assert fewest(choices[::-1], saves, over) == found


def test_a_block_saves_once() -> None:
    """A bank's isolator and one of its blocks' own: both together save no more than the bank's."""
    saves = {"S1": {"d": 0.3}, "S2": {"d": 0.2}, "S3": {"d": 0.1}}
    own, bank = Choice("I1", ("S1",)), Choice("I9", ("S1", "S2"))
    assert fewest([own, bank], saves, {"d": 0.5}) == (bank,)
    assert fewest([own, bank], saves, {"d": 0.6}) is None
    third = Choice("I3", ("S3",))
    assert fewest([own, bank, third], saves, {"d": 0.6}) == (third, bank)
    assert fewest([own, bank, third], saves, {"d": 0.0}) == ()


def test_a_thousand_tracks() -> None:
    """Ninety of 0.1 A are needed where 9 A are too much; the largest go first."""
    choices = [Choice(f"I{number}", (f"S{number}",)) for number in range(1000)]
    saves = {f"S{number}": {"d": 0.1 if number % 2 else 0.05} for number in range(1000)}
    found = fewest(choices, saves, {"d": 9.0})
    assert found is not None
    assert len(found) == 90


BOARD = {"channels": 8, "threshold": "1 mA", "bank_size": 4}


@st.composite
def crowded(draw: st.DrawFn) -> dict[str, Any]:
    """A properly wired yard with more on it than it bears: own isolators, poles of one, one before a bank, changeovers;
    trains that stand and run, or what is expected; and a scenario in which some already sleep."""
    many = draw(st.integers(2, 8))
    districts = {
        "d1": {"booster": "B1", "current": draw(st.sampled_from(["0.2 A", "0.5 A", "1 A"]))},
        "d2": {"booster": draw(st.sampled_from(["B1", "B2"])), "current": "0.6 A", "return": "earth"},
    }
    districts["d1"]["return"] = "earth"
    values: dict[str, Any] = {
        "format": 1,
        "layout": {"name": "Crowded", "control": "dcc"},
        "boosters": {name: {"voltage": "15 V", "current": "0.9 A"} for name in ("B1", "B2")},
        "districts": districts,
        "board_types": {"eight": BOARD},
        "boards": {"D1": {"type": "eight", "banks": ["d1", draw(st.sampled_from(["d1", "d2"]))]}},
        "blocks": {},
        "isolators": {},
        "loads": {
            "tank": {"locomotive": True, "idle": "0.1 A", "running": "0.3 A"},
            "heavy": {"locomotive": True, "idle": "0.25 A", "running": "0.5 A"},
            "coach": {"axle": "1 kohm"},
        },
        "trains": {},
        "scenarios": {},
    }
    for number in range(1, many + 1):
        kind = draw(st.sampled_from(["own", "own", "own", "pair", "none"]))
        block: dict[str, Any] = {"channel": f"D1.{number}", "kind": "storage"}
        values["blocks"][f"S{number}"] = block
        if kind == "own":
            hold = draw(st.sampled_from([{}, {}, {"hold": "40 ohm"}, {"hold": "10 kohm"}]))
            values["isolators"][f"I{number}"] = hold
            block["isolator"] = f"I{number}"
        if kind == "pair":
            pair = values["isolators"].setdefault("IP", {"poles": 0})
            pair["poles"] += 1
            block["isolator"] = f"IP.{pair['poles']}" if pair["poles"] > 1 else "IP"
    if many < 5 and draw(st.booleans()):  # the first bank is all there is: one switch for it, named by one block
        names = list(values["blocks"])
        values["isolators"]["IB"] = {"side": "before-detector", "isolates": names}
        old = values["blocks"]["S1"].pop("isolator", "")
        values["blocks"]["S1"]["isolator"] = "IB"
        if old == "I1":
            del values["isolators"]["I1"]
        elif old.startswith("IP"):
            assume(values["isolators"]["IP"]["poles"] == 1)
            del values["isolators"]["IP"]
    elif draw(st.integers(0, 3)) == 0:
        for number in range(1, min(many, 4) + 1):
            assume(not values["blocks"][f"S{number}"].get("isolator", "I").startswith("IP"))
            values["isolators"].pop(f"I{number}", None)
            values["blocks"][f"S{number}"]["isolator"] = "X"
        usual = draw(st.sampled_from(["d1", "d2"]))
        values["isolators"]["X"] = {"contact": "changeover", "between": ["d1", "d2"], "usually": usual}
    for name in draw(st.lists(st.sampled_from([*values["blocks"]]), max_size=6)):
        values["trains"][f"T{len(values['trains'])}"] = {
            "vehicles": {
                draw(st.sampled_from(["tank", "heavy"])): 1,
                **draw(st.sampled_from([{}, {}, {"coach": 1}, {"coach": 9}])),
            },
            "at": name,
            "state": draw(st.sampled_from(["idle", "idle", "running"])),
        }
    for home in districts.values():
        if draw(st.booleans()):
            home["expects"] = [{"load": "heavy", "count": draw(st.integers(1, 4))}]  # type: ignore[assignment]
    if values["isolators"]:
        values["scenarios"]["some asleep"] = {"open": [draw(st.sampled_from([*values["isolators"]]))]}
    return values


def over(budget: Budget) -> bool:
    draws = (*budget.districts(), *budget.boosters())
    return any(draw.limit_a is not None and draw.current_a > draw.limit_a + 1e-6 for draw in draws)


def opened(case: Study, operation: Operation, isolators: Sequence[str]) -> Budget:
    more = {name: str(open_position(case.wiring, name)) for name in isolators}
    return Budget.of(case, Operation(operation.scenario, {**operation.positions, **more}, operation.trains))


def best(case: Study, operation: Operation) -> int | None:
    """The fewest blocks that can sleep, by trying every set of isolators; those under a train that runs are left."""
    before = Budget.of(case, operation)
    running = {one.block for one in operation.trains if one.state == "running"}
    names = [
        name
        for name in case.wiring.meant
        if not running
        & {block for block in before.feeding.supply if block not in opened(case, operation, [name]).feeding.supply}
    ]
    counts = []
    for mask in range(1 << len(names)):
        after = opened(case, operation, [name for number, name in enumerate(names) if mask >> number & 1])
        if not over(after):
            counts.append(len(set(before.feeding.supply) - set(after.feeding.supply)))
    return min(counts, default=None)


@settings(max_examples=80)
@given(crowded())
def test_the_command_brings_every_limit_under(values: dict[str, Any]) -> None:
    case = api.loads(tomli_w.dumps(values), "crowded.toml")
    for operation, found in zip(case.operations, api.budget(case).scenarios, strict=True):
        if not over(Budget.of(case, operation)):
            assert found.sleep is None
            continue
        assert found.sleep is not None
        call = found.sleep.command
        fewest_blocks = best(case, operation)
        event(f"fewest: {fewest_blocks}")
        if call is None:
            assert fewest_blocks is None
            continue
        words = shlex.split(call)
        assert words[:3] == ["blockcheck", "isolate", "FILE"]
        scenario = words[words.index("--scenario") + 1] if "--scenario" in words else None
        answer = api.isolate(case, words[3], scenario)
        assert all(change.after_a <= change.limit_a + 1e-6 for change in answer.districts if change.limit_a is not None)
        assert not over(opened(case, operation, found.sleep.isolators))
        awake = Budget.of(case, operation).feeding.supply  # what a hold resistor trickles into sleeps already
        dead = {row.block for row in answer.blocks if row.changed and row.block in awake}
        assert dead == set(found.sleep.blocks)
        assert len(dead) == fewest_blocks
        assert not dead & {one.block for one in operation.trains if one.state == "running"}


YARD = """\
format = 1
layout = { name = "Crowded", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "1 A" }
districts.d = { booster = "B1" }
board_types.eight = { channels = 8, threshold = "1 mA" }
boards.D1 = { type = "eight" }
loads.tank = { locomotive = true, idle = "0.3 A", running = "0.5 A" }
blocks.S1-S4 = { channel = "D1.1-4", isolator = "I1-I4", kind = "storage" }
isolators.I1-I4 = {}
trains.A = { vehicles = { tank = 1 }, at = "S1", state = "running" }
trains.B = { vehicles = { tank = 1 }, at = "S2" }
trains.C = { vehicles = { tank = 1 }, at = "S3" }
[scenarios."two run"]
at = { C = "S4" }
states = { B = "running" }
"""


def test_through_the_command_line(tmp_path: Any) -> None:
    """1.1 A where 1 A may flow: one that stands goes to sleep, never the one that draws most; run as it is printed."""
    from blockcheck.cli.app import app_of

    file = tmp_path / "yard.toml"
    file.write_text(YARD)
    printed = CliRunner().invoke(app_of(), ["budget", str(file)])
    calls = [line.strip() for line in printed.stdout.splitlines() if line.strip().startswith("blockcheck isolate")]
    assert calls == ["blockcheck isolate FILE I2", "blockcheck isolate FILE I4 --scenario 'two run'"]
    for call in calls:
        words = shlex.split(call.replace("FILE", shlex.quote(str(file))))[1:]
        done = CliRunner().invoke(app_of(), words)
        assert done.exit_code == 0, done.output


@pytest.mark.parametrize("state", ["running", "stalled"])
def test_nothing_sleeps_that_does_something(state: str) -> None:
    busy = YARD.partition("[scenarios")[0]
    for name in "BC":
        busy = busy.replace(f'at = "S{ord(name) - 64}" }}', f'at = "S{ord(name) - 64}", state = "{state}" }}')
    busy = busy.replace('running = "0.5 A"', 'running = "0.5 A", stalled = "0.6 A"')
    case = api.loads(busy, "busy.toml")
    sleep = api.budget(case).scenarios[0].sleep
    assert sleep is not None
    assert sleep.isolators == ()
