"""Drops never drive a current, whatever bridges them; loads fall asleep from the lowest up."""

import networkx as nx
import pytest
from hypothesis import given, note, settings
from hypothesis import strategies as st

from blockcheck.solver.drops import Conduct
from blockcheck.solver.linear import GUARD_OHMS, branches_of
from blockcheck.solver.network import Builder, Network
from blockcheck.solver.solve import Operating, operating_point

from .brute import feasible_currents
from .circuits import circuit
from .strategies import networks


def check_laws(network: Network, found: Operating) -> None:
    """Kirchhoff at every node, every branch's own law, and the balance of powers."""
    branches = branches_of(network)
    amperes = [*found.resistor_amperes, *(-i for i in found.source_amperes), *found.drop_amperes]
    largest = max(map(abs, [*amperes, *found.sink_amperes, 1e-3]))
    surplus = [0.0] * network.nodes
    ends = [*zip(branches.a, branches.b, strict=True), *zip(network.sinks.a, network.sinks.b, strict=True)]
    for (a, b), i in zip(ends, [*amperes, *found.sink_amperes], strict=True):
        surplus[a] -= i
        surplus[b] += i
    assert max(map(abs, surplus)) <= 1e-7 * largest
    power = 0.0
    for k, (a, b, r, i) in enumerate(zip(branches.a, branches.b, branches.ohms, amperes, strict=True)):
        if a in found.floating:
            assert i == 0
            continue
        gap = found.volts[a] - found.volts[b]
        power += gap * i
        if k < branches.resistors:
            assert gap == pytest.approx(r * i, abs=1e-8 * largest)
        elif k < branches.drops.start:
            assert gap == pytest.approx(network.sources.volts[k - branches.resistors] + r * i, abs=1e-7)
        else:
            check_drop(
                network.drops.volts[k - branches.drops.start], found.conduct[k - branches.drops.start], gap - r * i, i
            )
    for a, b, i in zip(network.sinks.a, network.sinks.b, found.sink_amperes, strict=True):
        power += (found.volts[a] - found.volts[b]) * i if i else 0.0
    assert power == pytest.approx(0, abs=1e-6 * largest)


def check_drop(limit: float, state: Conduct, held: float, amperes: float) -> None:
    if state in (Conduct.FORWARD, Conduct.REVERSE):
        assert held == pytest.approx(limit * state, abs=1e-7)
        assert amperes * state >= -1e-7
    else:
        assert amperes == 0
        assert abs(held) <= (limit if state == Conduct.BLOCKED else 0) + 1e-7


@settings(max_examples=400, deadline=None)
@given(networks())
def test_every_law_holds(network: Network) -> None:
    found = operating_point(network)
    assert found.converged
    check_laws(network, found)


@settings(max_examples=80, deadline=None)
@given(networks(nodes=7, drops=4))
def test_equals_every_combination_tried(network: Network) -> None:
    found = operating_point(network)
    ours = [*found.resistor_amperes, *(-i for i in found.source_amperes), *found.drop_amperes]
    loose = [k for k, r in enumerate(branches_of(network).ohms) if r <= GUARD_OHMS]
    for currents in feasible_currents(network, found.sink_amperes):
        for k, (a, b) in enumerate(zip(ours, currents, strict=True)):
            # in a loop without resistance the split is a convention
            if k not in loose:
                assert a == pytest.approx(b, abs=1e-6 * max(1, *map(abs, currents)))


@settings(max_examples=150, deadline=None)
@given(networks(nodes=12, drops=8, sinks=5))
def test_unfed_loads_are_those_without_a_loop_through_a_source(network: Network) -> None:
    found = operating_point(network)
    branches = branches_of(network)
    graph = nx.Graph([(x, y) for x, y in zip(branches.a, branches.b, strict=True) if x != y])
    loads = list(zip(network.sinks.a, network.sinks.b, strict=True))
    inside = [k for k, (a, b) in enumerate(loads) if found.component[a] == found.component[b] and a != b]
    graph.add_edges_from(loads[k] for k in inside)
    sources = {(x, y) for x, y in zip(network.sources.plus, network.sources.minus, strict=True) if x != y}
    blocks: list[set[int]] = list(nx.biconnected_components(graph))  # type: ignore[arg-type]  # stubs: a level too deep
    driven_blocks = [block for block in blocks if any({x, y} <= block for x, y in sources)]
    for k, (a, b) in enumerate(loads):
        driven = k in inside and any({a, b} <= block for block in driven_blocks)
        note(f"load {k}: {found.volts[a] - found.volts[b]} V, fed {driven}")
        # a load between a node and itself is nothing either way
        assert driven == (k not in found.unfed) or a == b


def test_a_load_in_series_with_another_is_fed() -> None:
    # R1 alone would leave the first load to pump round it; the second draws more than the first through both
    found = circuit("V1 1 0 15; R1 1 2 10; I1 1 2 0.1; I2 2 0 0.3")
    assert found.operating.unfed == ()
    assert found.volts("1", "2") == pytest.approx(2)
    assert found.amperes("V1") == pytest.approx(0.3)


@st.composite
def yards(draw: st.DrawFn) -> Network:
    """Blocks along a bus, each behind its drop, trains bridging some neighbours, perhaps the ends (a ring)."""
    builder = Builder(2)
    builder.source(0, 1, 15.0, draw(st.sampled_from([0.0, 0.1])))
    bus, rails = 0, []
    for _ in range(draw(st.integers(2, 7))):
        ahead = builder.node()
        builder.resistor(bus, ahead, draw(st.sampled_from([0.0, 0.05, 0.5, 3.0])))
        behind, rail = builder.node(), builder.node()
        builder.drop(ahead, behind, draw(st.sampled_from([0.7, 1.4])), draw(st.sampled_from([0.0, 0.02])))
        builder.resistor(behind, rail, draw(st.sampled_from([0.01, 0.1, 0.3])))
        bus = ahead
        rails.append(rail)
        load = draw(st.sampled_from([0.0, 0.001, 0.3, 1.5]))
        if load:
            builder.sink(rail, 1, load, 7.0)
    for here, there in zip(rails, rails[1:] + rails[:1], strict=True):
        if draw(st.booleans()):
            builder.resistor(here, there, draw(st.sampled_from([0.0, 0.02, 1.0])))
    return builder.build()


@settings(max_examples=150, deadline=None)
@given(yards())
def test_bridged_yards(network: Network) -> None:
    found = operating_point(network)
    assert found.converged
    assert found.iterations <= 12 + 8 * len(found.asleep)
    check_laws(network, found)
    assert all(i >= 0 or abs(i) < 1e-7 for i in found.source_amperes)
    if len(network.drops.a) <= 5:
        for currents in feasible_currents(network, found.sink_amperes):
            drops = currents[branches_of(network).drops.start :]
            assert found.drop_amperes == pytest.approx(list(drops), abs=1e-6)


def test_bridged_channels_are_no_battery() -> None:
    # the second channel's lower drop would charge the first if its sign were not checked; so it carries the load alone
    found = circuit("V1 s 0 15; R1 s x 0.1; D1 s a 1.4; D2 s b 0.7; R2 a b 0.05; I1 a 0 0.5")
    assert found.operating.conduct == (Conduct.BLOCKED, Conduct.FORWARD)
    assert found.volts("b") == pytest.approx(14.3)
    assert found.volts("a") == pytest.approx(14.275)
    assert found.amperes("D1") == 0


def test_two_equal_channels_share_by_resistance() -> None:
    # 2 A into b: drops equal, so leads of 0.1 and 0.1 + 0.2 ohm share 3 : 1
    found = circuit("V1 s 0 15; D1 s p 0.7; R1 p b 0.1; D2 s q 0.7; R2 q a 0.1; R3 a b 0.2; I1 b 0 2")
    assert found.amperes("D1") == pytest.approx(1.5)
    assert found.amperes("D2") == pytest.approx(0.5)
    assert found.volts("b") == pytest.approx(15 - 0.7 - 0.15)


def test_a_channel_without_load_drops_nothing() -> None:
    found = circuit("V1 s 0 15; D1 s a 0.7; R1 a b 0.1")
    assert found.volts("b") == 15
    assert found.operating.conduct == (Conduct.IDLE,)


def test_an_unloaded_block_bridged_between_unequal_feeds_lies_between_them() -> None:
    # both feeds are within a drop of the block, so neither conducts, and it takes their mean
    found = circuit("V1 s 0 15; R1 s t 1; I1 t 0 1; D1 s a 0.7; D2 t a 0.7")
    assert found.operating.conduct == (Conduct.BLOCKED, Conduct.BLOCKED)
    assert found.volts("a") == pytest.approx(14.5)


def test_a_drop_conducts_backwards_through_a_bridge() -> None:
    # the far bus is 2 V lower than the near one: 1.4 V of drops leave 0.6 V over 0.3 + 1 ohm, shared with the bus of
    # 1 ohm
    found = circuit("V1 s 0 15; R1 s t 1; I1 t 0 3; D1 s a 0.7; R2 a b 0.3; D2 t b 0.7")
    i = (3 * 1 - 1.4) / (1 + 0.3)
    assert found.amperes("D1") == pytest.approx(i)
    assert found.amperes("D2") == pytest.approx(-i)
    assert found.operating.conduct == (Conduct.FORWARD, Conduct.REVERSE)


def test_equal_drops_in_parallel_without_resistance_share_evenly() -> None:
    found = circuit("V1 s 0 15; D1 s a 0.7; D2 s a 0.7; I1 a 0 2; R1 s a 1e9")
    assert found.amperes("D1") == pytest.approx(1, abs=1e-6)
    assert found.amperes("D2") == pytest.approx(1, abs=1e-6)
    assert found.volts("a") == pytest.approx(14.3, abs=2e-6)


def test_loads_sleep_from_the_lowest_up_and_none_wakes() -> None:
    # 12 V through 2 ohm each: all three at 0.9 A leave 6.6, 3.0, 1.2 V; without the last 8.4, 6.6 V; without the
    # middle 10.2 V
    found = circuit("V1 1 0 12; R1 1 2 2; R2 2 3 2; R3 3 4 2; I1 2 0 .9 7; I2 3 0 .9 7; I3 4 0 .9 7 0.01")
    assert found.operating.asleep == (2, 1)
    assert found.volts("2") == pytest.approx(12 - 2 * 0.91)
    assert found.operating.sink_amperes == (0.9, 0.0, 0.01)


def test_the_lowest_sleeps_first_whatever_its_number() -> None:
    found = circuit("V1 1 0 12; R1 1 2 2; R2 2 3 2; R3 3 4 2; I1 4 0 .9 7 0.01; I2 3 0 .9 7; I3 2 0 .9 7")
    assert found.operating.asleep == (0, 1)


def test_a_drop_whose_load_sleeps_drops_nothing() -> None:
    found = circuit("V1 1 0 12; R1 1 2 10; D1 2 3 0.7; I1 3 0 1 7")
    assert found.operating.asleep == (0,)
    assert found.volts("3") == 12
    assert found.operating.conduct == (Conduct.IDLE,)


def test_a_load_at_any_voltage_draws_on() -> None:
    found = circuit("V1 1 0 12; R1 1 2 10; I1 2 0 1")
    assert found.operating.asleep == ()
    assert found.volts("2") == pytest.approx(2)


def test_a_load_behind_a_cut_pumps_no_current_through_an_axle() -> None:
    # the block's rail is cut from the bus: only an axle joins it to the return
    found = circuit("V1 1 0 15; R1 1 0 100; R2 2 3 0.1; R3 3 0 15000; I1 2 0 0.5")
    assert found.operating.unfed == (0,)
    assert found.volts("2") == 0
    assert found.amperes("R3") == 0


def test_what_has_no_source_is_floating() -> None:
    found = circuit("V1 1 0 15; R1 1 0 100; R2 5 6 1; I1 5 6 1; I2 1 5 1")
    assert found.operating.floating == (found.nodes["5"], found.nodes["6"])
    assert found.operating.unfed == (0, 1)
    assert found.volts("5") != found.volts("5")


def test_zero_volt_drops_are_resistances() -> None:
    found = circuit("V1 1 0 10; D1 1 2 0 2; R1 2 0 3")
    assert found.volts("2") == pytest.approx(6)
