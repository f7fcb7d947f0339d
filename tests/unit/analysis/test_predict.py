"""Low-rank updates against whole solutions of the changed network, for every fault and test of several layouts."""

from __future__ import annotations

import math
import random
from pathlib import Path

import pytest

from blockcheck import api
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.lowrank import Floats
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import HARDLY, SURELY, Names
from blockcheck.analysis.bench.predict import predict
from blockcheck.analysis.bench.wired import CHANNELS, OHMS, OPEN_OHM, TRIPS, VOLTS, Step
from blockcheck.network.built import OPEN_SIEMENS, Built, Change, Stage
from blockcheck.solver.linear import Linear, branches_of
from blockcheck.solver.network import Builder, Network
from blockcheck.solver.solve import operating_point

ROOT = Path(__file__).parents[3]
LAYOUTS = [
    *(ROOT / "examples" / name for name in ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml")),
    *(ROOT / "tests/outside/layouts" / f"{name}.toml" for name in ("held", "common-rail", "two-pole", "bridged")),
]


def changed_network(
    built: Built, stage: Stage, state: dict[str, str], change: Change, across: tuple[int, int, float] | None = None
) -> tuple[Network, dict[int, int], dict[int, int]]:
    """The network of a stage and state with a change made, piece by piece; and where pieces and sources went."""
    build = Builder(built.grid.network.nodes)
    where: dict[int, int] = {}
    sources: dict[int, int] = {}
    for number, piece in enumerate(built.pieces):
        siemens = built.siemens(number, stage, state, change)
        ends = change.moved.get(number, (piece.a, piece.b))
        if stage.detectors is not None:
            ends = change.plugged.get(number, ends)
        if number in built.volts:
            if stage.powered:
                sources[number] = build.source(*ends, built.volts[number], 1 / siemens)
        elif siemens:
            where[number] = build.resistor(*ends, 1 / siemens)
    for a, b, ohms in change.added:
        build.resistor(a, b, max(ohms, stage.least_ohm))
    if across is not None:
        build.resistor(*across)
    return build.build(), where, sources


def exact(bench: Bench, test: Step, change: Change) -> float | dict[str, float]:
    """Ohms, volts, or the current of every detector or breaker as a multiple of what makes it read or trip."""
    built, stage = bench.built, bench.stages[test.kind]
    state = {**bench.state, **dict(test.state)}
    ends = test.red.node, test.black.node
    if test.jumper is not None:
        change = change.also(Change(added=((*test.jumper, 0.0),)))
    if test.kind == OHMS:
        network, _, _ = changed_network(built, stage, state, change)
        return Linear(branches_of(network)).transfer([(*ends, *ends)])[0]
    assert test.across is not None
    network, where, sources = changed_network(built, stage, state, change, (*ends, test.across))
    operating = operating_point(network)
    if test.kind == VOLTS:
        drop = operating.volts[ends[0]] - operating.volts[ends[1]]
        return abs(drop) if drop == drop else 0.0
    if test.kind == CHANNELS:
        return {
            channel: 0.0 if block in change.silent else abs(operating.resistor_amperes[where[number]]) / least
            for block, number, least, channel in bench.detectors
        }
    return {
        name: abs(operating.source_amperes[sources[k]] if k in sources else operating.resistor_amperes[where[k]])
        / least
        for name, k, least in bench.breakers
    }


@pytest.mark.parametrize("path", LAYOUTS, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_updates_say_what_whole_solutions_say(path: Path) -> None:
    bench = Bench.of(api.load(path))
    faults = every_fault(bench, guesses=True)
    changes = [one.change for one in faults]
    found = predict(bench, bench.tests, changes)
    chance = random.Random(7)
    cases = [(chance.randrange(len(changes) + 1), chance.randrange(len(bench.tests))) for _ in range(500)]
    for case, number in cases:
        test, change = bench.tests[number], changes[case - 1] if case else Change()
        told, truth = found.value(number, case), exact(bench, test, change)
        said = f"{test.id} with {faults[case - 1].id if case else 'nothing wrong'}"
        if test.kind in (OHMS, VOLTS):
            assert isinstance(told, float)
            assert isinstance(truth, float)
            if test.kind == OHMS and truth > 0.9 * OPEN_OHM:
                assert told == OPEN_OHM, said
            else:
                # what is cut lets a megohm through, which lies beside a hold resistor
                least = 0.05 if test.kind == VOLTS else 1e-6 + 3 * OPEN_SIEMENS * truth**2
                assert told == pytest.approx(truth, rel=1e-4, abs=least), said
            continue
        assert not isinstance(told, float)
        assert isinstance(truth, dict)
        if test.kind == TRIPS and not math.isclose(max(truth.values()), 0.0, abs_tol=1e-9):
            continue  # shorts have the detector's drop taken off; a test of their own
        for name, times in truth.items():
            if times > SURELY * 1.001:
                assert name in told, said
            elif times < HARDLY * 0.999:
                assert name not in told, said
                assert name not in told.doubtful, said


def test_a_channel_sees_what_all_buses_in_its_terminal_carry() -> None:
    """Kirchhoff: an axle that draws twice the threshold on two tracks of one channel, whose buses carry half each."""
    study = api.loads("""\
format = 1
layout = { name = "Two in one", control = "dcc" }
boosters.B = { voltage = "15 V", current = "3 A" }
districts.d = { booster = "B", feed = { wire = "2.5 mm2", length = "4 m" } }
board_types.four = { channels = 4, threshold = "1 mA", drop = "0.7 V" }
boards.D1 = { type = "four" }
blocks.S1-S2 = { channel = "D1.1", length = "3 m", harness = "bench" }
joints = [{ blocks = ["S1", "S2"], gap = "none" }]
[harnesses.bench]
bus = "1.5 mm2"
common = "1.5 mm2"
lead = "2 m"
feeder = "0.5 mm2"
feeder_length = "0.2 m"
feeder_spacing = "1.5 m"
rail = "code83"
""")
    bench = Bench(study, 7000.0)
    read = predict(bench, [bench.by_id["axle.S1.near"]], []).value(0, 0)
    assert isinstance(read, Names)
    assert [*read] == ["D1.1"]


def test_a_dead_channel_is_one_fault_of_all_that_hang_on_it() -> None:
    bench = Bench.of(api.load(ROOT / "tests/outside/layouts/chosen.toml"))
    dead = [one for one in every_fault(bench) if one.id == "channel-dead:D1.1"]
    assert [one.change.silent for one in dead] == [frozenset({"S1", "S2", "S3"})]


def test_work_that_is_split_to_fit_reads_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """At 500 blocks one table of all tests would hold six thousand million numbers."""
    from blockcheck.analysis.bench import lowrank
    from blockcheck.analysis.bench import predict as module

    sizes: list[int] = []

    class Watched(lowrank.Out):
        def __init__(self, cases: int, tests: int, whole: Floats) -> None:
            super().__init__(cases, tests, whole)
            sizes.append(self.shares.size)

    monkeypatch.setattr(module, "Out", Watched)
    bench = Bench.of(api.load(LAYOUTS[0]))
    changes = [one.change for one in every_fault(bench, guesses=True)]
    whole = predict(bench, bench.tests, changes)
    most = max(sizes) // 7
    sizes.clear()
    monkeypatch.setattr(module, "MOST_AT_ONCE", most)
    split = predict(bench, bench.tests, changes)
    assert max(sizes) <= most
    for test in range(len(bench.tests)):
        for case in range(len(changes) + 1):
            one, other = whole.value(test, case), split.value(test, case)
            if isinstance(one, float):
                assert other == pytest.approx(one, rel=1e-9, abs=1e-12)
            else:
                assert other == one
