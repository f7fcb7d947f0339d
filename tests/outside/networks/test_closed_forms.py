"""Closed forms for ladders, graphs and distributors, and properties that every network of resistors has (textbook
knowledge)."""

from math import sqrt

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blockcheck.solver.network import Builder, Network, Resistors
from blockcheck.solver.solve import operating_point, opposing_volts
from tests.outside.networks.pairs import along_rail, effective_resistance, thevenin

from .circuits import circuit
from .strategies import grids, networks


@pytest.mark.parametrize(("taps", "share"), [(1, 1.0), (2, 0.75), (4, 0.625), (10, 0.55), (100, 0.505)])
def test_f3_equal_taps(taps: int, share: float) -> None:
    """N equal taps, the last at the far end: the drop is I R (N + 1) / (2 N)."""
    builder = Builder(taps + 2)
    builder.source(0, taps + 1, 100.0)
    for k in range(taps):
        builder.resistor(k, k + 1, 2.0 / taps)
        builder.sink(k + 1, taps + 1, 3.0 / taps)
    found = operating_point(builder.build())
    assert found.volts[0] - found.volts[taps] == pytest.approx(3.0 * 2.0 * share, rel=1e-12)


@pytest.mark.parametrize("at", [0.1, 0.5, 0.9, 1.0])
def test_f1_f2_uniform_load(at: float) -> None:
    """A spread load i: i r (L x - x^2 / 2) to x from one end; i r L^2 / 8 to the middle from both."""
    cells, length, rate, ohms = 100, 40.0, 0.25, 0.02
    for feeds in (1, 2):
        builder = Builder(cells + 2)
        for end in (0, cells)[:feeds]:
            builder.source(end, cells + 1, 50.0)
        for k in range(cells):
            middle = builder.node()
            builder.resistor(k, middle, ohms * length / cells / 2)
            builder.resistor(middle, k + 1, ohms * length / cells / 2)
            builder.sink(middle, cells + 1, rate * length / cells)
        found = operating_point(builder.build())
        x = at * length
        lost = rate * ohms * (length * x - x * x / 2) if feeds == 1 else rate * ohms * (length * x - x * x) / 2
        assert 50.0 - found.volts[round(at * cells)] == pytest.approx(lost, abs=1e-11)
        if feeds == 2:
            assert 50.0 - found.volts[cells // 2] == pytest.approx(rate * ohms * length**2 / 8, rel=1e-12)


def ladder(cells: int, series: float, shunt: float) -> float:
    builder = Builder(cells + 2)
    for k in range(cells):
        builder.resistor(k, k + 1, series)
        builder.resistor(k + 1, cells + 1, shunt)
    return effective_resistance(builder.build(), [(0, cells + 1)])[0]


def test_f4_golden_ladder() -> None:
    """Unit series and shunt: F(2N+1) / F(2N), towards the golden ratio."""
    fibonacci = [0, 1]
    while len(fibonacci) < 30:
        fibonacci.append(fibonacci[-1] + fibonacci[-2])
    for cells in range(1, 13):
        exact = fibonacci[2 * cells + 1] / fibonacci[2 * cells]
        assert ladder(cells, 1, 1) == pytest.approx(exact, rel=1e-15)
    assert ladder(10, 1, 1) == pytest.approx(1.6180339985, abs=5e-11)


def test_f5_long_ladder() -> None:
    """A semi-infinite ladder: (r + sqrt(r^2 + 4 r R)) / 2."""
    exact = (0.1 + sqrt(0.1**2 + 4 * 0.1 * 1000)) / 2
    assert exact == pytest.approx(10.050125, abs=5e-7)
    assert ladder(2500, 0.1, 1000) == pytest.approx(exact, rel=1e-12)


def of_graph(graph: "nx.Graph[int]") -> Network:
    edges = list(graph.edges())
    return Network(len(graph), Resistors([a for a, _ in edges], [b for _, b in edges], [1.0] * len(edges)))


@pytest.mark.parametrize("n", [3, 4, 7, 12])
def test_f7_cycles_paths_and_complete_graphs(n: int) -> None:
    """Unit edges: cycle k (n - k) / n, complete graph 2 / n; sums over all pairs (n^3 - n) / 6 for a path, / 12
    for a cycle."""
    ring, path = of_graph(nx.cycle_graph(n)), of_graph(nx.path_graph(n))
    assert effective_resistance(ring, [(0, k) for k in range(1, n)]) == pytest.approx(
        [k * (n - k) / n for k in range(1, n)]
    )
    assert effective_resistance(of_graph(nx.complete_graph(n)), [(0, n - 1)])[0] == pytest.approx(2 / n)
    pairs = [(a, b) for a in range(n) for b in range(a)]
    assert sum(effective_resistance(path, pairs)) == pytest.approx((n**3 - n) / 6)
    assert sum(effective_resistance(ring, pairs)) == pytest.approx((n**3 - n) / 12)


def test_f7_cube_and_bridge() -> None:
    """The unit cube: 7/12 along an edge, 3/4 over a face, 5/6 across; the bridge of LIEC DC ch. 10 between its
    feeds."""
    graph = nx.convert_node_labels_to_integers(nx.hypercube_graph(3), ordering="sorted")
    assert effective_resistance(of_graph(graph), [(0, 1), (0, 3), (0, 7)]) == pytest.approx([7 / 12, 3 / 4, 5 / 6])
    bridge = circuit("R1 1 2 150; R2 1 3 50; R3 2 3 100; R4 2 0 300; R5 3 0 250")
    ohms = effective_resistance(bridge.network, [(bridge.nodes["1"], bridge.nodes["0"])])[0]
    assert ohms == pytest.approx(176.3514, abs=5e-5)


@settings(max_examples=100, deadline=None)
@given(grids())
def test_f6_resistance_distance_and_foster(network: Network) -> None:
    """networkx.resistance_distance for all pairs; Foster: conductance times resistance sums to n - 1 over the edges."""
    columns = network.resistors
    edges = list(zip(columns.a, columns.b, strict=True))
    graph: nx.MultiGraph[int] = nx.MultiGraph()
    graph.add_nodes_from(range(network.nodes))
    graph.add_edges_from((a, b, {"r": r}) for (a, b), r in zip(edges, columns.ohms, strict=True))
    pairs = [(a, b) for a in range(network.nodes) for b in range(a)]
    theirs = [nx.resistance_distance(graph, a, b, weight="r", invert_weight=True) for a, b in pairs]
    for ours in (effective_resistance(network, pairs), effective_resistance(network, pairs, plain_up_to=0)):
        assert ours == pytest.approx(theirs, rel=1e-8)
    along = effective_resistance(network, edges)
    assert sum(ohms / r for ohms, r in zip(along, columns.ohms, strict=True)) == pytest.approx(
        network.nodes - 1, rel=1e-12
    )


@settings(max_examples=60, deadline=None)
@given(grids(), st.data())
def test_f8_rayleigh_reciprocity_and_scaling(network: Network, data: st.DataObject) -> None:
    """More copper never raises a resistance; ohms from one pair to another are those from the other to the one; R
    to k R."""
    node = st.integers(0, network.nodes - 1)
    columns = network.resistors
    pairs = [(a, b) for a in range(network.nodes) for b in range(a)]
    before = effective_resistance(network, pairs)
    extra = (data.draw(node), data.draw(node), data.draw(st.sampled_from([0.0, 0.5, 20.0])))
    more = Network(
        network.nodes,
        Resistors([*columns.a, extra[0]], [*columns.b, extra[1]], [*columns.ohms, extra[2]]),
    )
    rounding = 1e-13 * sum(columns.ohms)
    assert all(new <= old + rounding for old, new in zip(before, effective_resistance(more, pairs), strict=True))
    scaled = Network(network.nodes, Resistors(columns.a, columns.b, [7 * r for r in columns.ohms]))
    assert effective_resistance(scaled, pairs) == pytest.approx([7 * ohms for ohms in before], rel=1e-12)
    linear = operating_point(network).linear
    a, b, c, d = (data.draw(node) for _ in range(4))
    there, back = linear.transfer([(a, b, c, d), (c, d, a, b)])
    assert there == pytest.approx(back, rel=1e-9, abs=1e-12 * sum(columns.ohms))


@settings(max_examples=60, deadline=None)
@given(networks(drops=0, sleepy=False), st.data())
def test_f8_superposition(network: Network, data: st.DataObject) -> None:
    """Voltages are the sum of what each source and load does alone (the others' voltages and currents nought)."""
    sources, sinks = network.sources, network.sinks
    whole = operating_point(network)
    summed = [0.0] * network.nodes
    live = [k for k in range(len(sinks.a)) if k not in whole.unfed]
    for chosen in [("source", k) for k in range(len(sources.plus))] + [("sink", k) for k in live]:
        volts = [v if chosen == ("source", k) else 0.0 for k, v in enumerate(sources.volts)]
        amperes = [i if chosen == ("sink", k) else 0.0 for k, i in enumerate(sinks.amperes)]
        alone = operating_point(
            Network(
                network.nodes, network.resistors, sources._replace(volts=volts), sinks=sinks._replace(amperes=amperes)
            )
        )
        # alone, a load may push its volts below nought, which is what superposition means here
        summed = [total + v for total, v in zip(summed, alone.volts, strict=True)]
    for node in range(network.nodes):
        if node not in whole.floating:
            assert summed[node] == pytest.approx(whole.volts[node], rel=1e-8, abs=1e-8)


@pytest.mark.parametrize("factor", [0.5, 1.0, 2.0])
def test_f8_greatest_power(factor: float) -> None:
    """A source of V behind R gives V^2 / 4 R at most, to a load of R."""
    found = circuit(f"V1 1 0 15 0.3; R1 1 0 {0.3 * factor}")
    power = found.volts("1") * found.amperes("R1")
    most = 15**2 / (4 * 0.3)
    assert power == pytest.approx(most) if factor == 1 else power < 0.95 * most


@settings(max_examples=100, deadline=None)
@given(grids(), st.data())
def test_along_rail_is_exact_and_greatest(network: Network, data: st.DataObject) -> None:
    """Cutting two rails at a fraction t and solving again gives the formula's ohms; no fraction gives more."""
    node = st.integers(0, network.nodes - 1)
    a0, b0, a1, b1 = (data.draw(node) for _ in range(4))
    ra, rb = data.draw(st.floats(0.01, 30)), data.draw(st.floats(0.01, 30))

    def cut(t: float) -> Network:
        on_a, on_b, columns = network.nodes, network.nodes + 1, network.resistors
        return Network(
            network.nodes + 2,
            Resistors(
                [*columns.a, a0, on_a, b0, on_b],
                [*columns.b, on_a, a1, on_b, b1],
                [*columns.ohms, t * ra, (1 - t) * ra, t * rb, (1 - t) * rb],
            ),
        )

    linear = operating_point(cut(0.5)).linear
    z00, z01, z11 = linear.transfer([(a0, b0, a0, b0), (a0, b0, a1, b1), (a1, b1, a1, b1)])
    t, ohms = along_rail(z00, z01, z11, ra, rb)
    place = (network.nodes, network.nodes + 1)
    assert effective_resistance(cut(t), [place])[0] == pytest.approx(ohms, rel=1e-9, abs=1e-9)
    for other in (0.0, 0.25, 0.5, 0.75, 1.0):
        assert effective_resistance(cut(other), [place])[0] <= ohms + 1e-9


def test_along_rail_ends() -> None:
    assert along_rail(1, 1, 1, 0, 0) == (0.0, 1)
    assert along_rail(1, 1, 3, 0, 0) == (1.0, 3)
    assert along_rail(1, 1, 1, 1, 1) == (0.5, 1.5)


@settings(max_examples=60, deadline=None)
@given(networks(drops=3), st.data())
def test_thevenin_is_what_a_small_load_sees(network: Network, data: st.DataObject) -> None:
    """A milliampere more loses the resistance's millivolts, as long as no drop changes its state."""
    before = operating_point(network)
    node = st.integers(0, network.nodes - 1)
    a, b = data.draw(node), data.draw(node)
    live = before.reference[before.component[a]] >= 0 and before.component[a] == before.component[b]
    seen = thevenin(before, [(a, b)])[0]
    if not live or seen.ohms == float("inf"):
        return
    amperes = list(before.sink_amperes)
    sinks = network.sinks._replace(a=[*network.sinks.a, a], b=[*network.sinks.b, b], amperes=[*amperes, 1e-4])
    sinks = sinks._replace(minimum_volts=[float("-inf")] * len(sinks.a), asleep_amperes=[0.0] * len(sinks.a))
    after = operating_point(Network(network.nodes, network.resistors, network.sources, network.drops, sinks))
    if after.conduct == before.conduct and len(network.sinks.a) not in after.unfed:
        assert seen.volts - 1e-4 * seen.ohms == pytest.approx(after.volts[a] - after.volts[b], abs=1e-7)


def test_a_short_behind_an_idle_drop() -> None:
    """15 V less 0.7 V over 0.5 ohm of loop: idle before the short, conducting in it."""
    text = "V1 s 0 15 0.1; R1 s x 0.1; D1 x y 0.7; R2 y z 0.3"
    open_, shorted = circuit(text), circuit(f"{text}; R3 z 0 0")
    pair = [(open_.nodes["z"], open_.nodes["0"])]
    seen = thevenin(open_.operating, pair)[0]
    assert seen.volts == 15.0
    assert seen.ohms == pytest.approx(0.5)
    (less,) = opposing_volts(open_.network, open_.operating, pair)
    assert (seen.volts - less) / seen.ohms == pytest.approx(shorted.amperes("R3"))
    assert shorted.amperes("V1") == pytest.approx(14.3 / 0.5)
