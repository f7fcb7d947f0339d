"""Both back ends say the same, the small one without scipy; what networks are refused."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings

from blockcheck.solver.linear import GUARD_OHMS, branches_of
from blockcheck.solver.network import Builder, Drops, Network, NetworkError, Resistors, Sinks, Sources
from blockcheck.solver.solve import operating_point
from blockcheck.solver.sparse import PlainFactor, components, factor
from blockcheck.solver.superlu import SuperFactor
from tests.outside.networks.pairs import effective_resistance

from .strategies import grids, networks


@settings(max_examples=150, deadline=None)
@given(networks(nodes=12, drops=6))
def test_operating_points_agree(network: Network) -> None:
    plain, large = operating_point(network), operating_point(network, plain_up_to=0)
    assert plain.floating == large.floating
    assert plain.component == large.component
    # SuperLU subtracts: a microhm beside ten kilohms costs it ten digits
    close = 1e-4 if GUARD_OHMS in branches_of(network).ohms else 1e-8
    assert plain.volts == pytest.approx(large.volts, rel=close, abs=10 * close, nan_ok=True)
    assert plain.asleep == large.asleep
    assert plain.unfed == large.unfed
    for ours, theirs in (
        (plain.drop_amperes, large.drop_amperes),
        (plain.source_amperes, large.source_amperes),
        (plain.resistor_amperes, large.resistor_amperes),
    ):
        most = max(map(abs, [*plain.source_amperes, *plain.resistor_amperes, *plain.sink_amperes, 1.0]))
        assert ours == pytest.approx(theirs, abs=10 * close * most)


@settings(max_examples=60, deadline=None)
@given(grids())
def test_inverse_entries_agree(network: Network) -> None:
    columns = network.resistors
    siemens = [1 / r for r in columns.ohms]
    pairs = [(a, b) for a in range(network.nodes) for b in range(network.nodes)]
    # the entries hang on the ground chosen, what lies between nodes does not
    tables = [
        made.inverse(pairs)
        for made in (
            PlainFactor(network.nodes, columns.a, columns.b, siemens),
            PlainFactor(network.nodes, columns.a, columns.b, siemens, near=pairs),
            SuperFactor(network.nodes, columns.a, columns.b, siemens),
        )
    ]
    for a, b in pairs:
        first, second, third = (z[a, a] + z[b, b] - z[a, b] - z[b, a] for z in tables)
        assert second == pytest.approx(first, rel=1e-9)
        assert third == pytest.approx(first, rel=1e-7)


def test_components_agree() -> None:
    a, b = [5, 1, 2, 7], [4, 6, 6, 7]
    assert components(8, a, b) == [0, 1, 1, 2, 3, 3, 1, 4] == components(8, a, b, plain_up_to=0)


def test_the_size_alone_chooses() -> None:
    assert isinstance(factor(3, [0], [1], [1.0], plain_up_to=3), PlainFactor)
    assert isinstance(factor(3, [0], [1], [1.0], plain_up_to=2), SuperFactor)


def test_a_mesh_agrees() -> None:
    side = 40
    builder = Builder(side * side)
    for row in range(side):
        for column in range(side):
            node = row * side + column
            if column + 1 < side:
                builder.resistor(node, node + 1, 1.0 + node % 3)
            if row + 1 < side:
                builder.resistor(node, node + side, 2.0 + node % 5)
    network = builder.build()
    pairs = [(0, side * side - 1), (0, 1), (17, 1203), (800, 840)]
    assert effective_resistance(network, pairs) == pytest.approx(
        effective_resistance(network, pairs, plain_up_to=0), rel=1e-11
    )


def test_small_networks_load_neither_numpy_nor_scipy() -> None:
    code = (
        "import sys\n"
        "from blockcheck.solver.network import Builder\n"
        "from blockcheck.solver.netlist import netlist\n"
        "from blockcheck.solver.solve import operating_point\n"
        "b = Builder(3); b.source(0, 1, 15.0, 0.1); b.drop(0, 2, 0.7); b.sink(2, 1, 1.0, 7.0)\n"
        "operating_point(b.build()).linear.transfer([(2, 1, 2, 1)]); netlist(b.build())\n"
        "assert not {'numpy', 'scipy'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, env={"PYTHONPATH": sys.path[0]})


def test_numpy_columns_serve() -> None:
    network = Network(
        3,
        Resistors(np.array([0]), np.array([1]), np.array([2.0])),  # type: ignore[arg-type]
        Sources((0,), (2,), (10.0,), (0.0,)),
        Drops((1,), (2,), (1.0,), (0.0,)),
    )
    assert operating_point(network).resistor_amperes == (4.5,)


def test_columns_give_numpy_their_buffer() -> None:
    builder = Builder(2)
    builder.resistor(0, 1, 2.0)
    column = builder.build().resistors.ohms
    assert np.shares_memory(np.frombuffer(column, dtype=np.float64), np.asarray(column))  # type: ignore[call-overload]


@pytest.mark.parametrize(
    ("network", "words"),
    [
        (lambda: Network(2, Resistors((0,), (2,), (1.0,))), "outside"),
        (lambda: Network(2, Resistors((0,), (-1,), (1.0,))), "outside"),
        (lambda: Network(2, Resistors((0,), (1,), (-1.0,))), "negative ohms"),
        (lambda: Network(2, Resistors((0,), (1,), ())), "unequal"),
        (lambda: Network(2, Resistors((0, 0), (1, 1), (1.0, float("nan")))), "finite"),
        (lambda: Network(2, drops=Drops((0,), (1,), (-0.7,), (0.0,))), "negative volts"),
        (lambda: Network(2, sinks=Sinks((0,), (1,), (0.7,), (float("nan"),), (0.0,))), "minimum_volts"),
    ],
)
def test_bad_networks_are_refused(network: object, words: str) -> None:
    with pytest.raises(NetworkError, match=words):
        network()  # type: ignore[operator]


def test_contradicting_sources_are_refused() -> None:
    sources = Sources((0, 0), (1, 1), (15.0, 12.0), (0.0, 0.0))
    with pytest.raises(NetworkError, match="contradict"):
        operating_point(Network(2, sources=sources))
    shorted = Network(2, Resistors((0,), (1,), (0.0,)), Sources((0,), (1,), (15.0,), (0.0,)))
    with pytest.raises(NetworkError, match="contradict"):
        operating_point(shorted)


def test_agreeing_sources_share() -> None:
    found = operating_point(
        Network(2, Resistors((0,), (1,), (5.0,)), Sources((0, 0), (1, 1), (15.0, 15.0), (0.0, 0.0)))
    )
    assert found.source_amperes == pytest.approx((1.5, 1.5))


def test_an_empty_network_is_solved() -> None:
    assert operating_point(Network(0)).volts == ()
    assert operating_point(Network(2)).floating == (0, 1)
