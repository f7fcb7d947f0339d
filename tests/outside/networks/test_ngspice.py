"""ngspice finds the same voltages and currents from the exported deck."""

import pytest
from hypothesis import given, settings

from blockcheck.solver.linear import GUARD_OHMS, branches_of
from blockcheck.solver.netlist import name_of, netlist
from blockcheck.solver.network import Network
from blockcheck.solver.solve import Operating, operating_point

from .circuits import circuit
from .spice import run_ngspice
from .strategies import networks
from .test_drops import yards


def check_against_ngspice(network: Network) -> Operating:
    found = operating_point(network)
    deck = netlist(network, found)
    if len(found.floating) == network.nodes:
        return found
    theirs = run_ngspice(deck)
    largest = max(abs(v) for v in found.volts if v == v)
    for node, volts in enumerate(found.volts):
        name = name_of(found, node)
        if node not in found.floating and name != "0" and f"v({name})" in theirs:
            assert theirs[f"v({name})"] == pytest.approx(volts, rel=1e-6, abs=1e-6 * largest + 1e-12)
    most = max(map(abs, [*found.source_amperes, *found.resistor_amperes, 1e-3]))
    # through a microhm the rounding of ngspice's volts is a current
    if GUARD_OHMS in branches_of(network).ohms:
        return found
    for k, amperes in enumerate(found.source_amperes):
        if f"i(vv{k})" in theirs and f"\nvv{k} " in deck:
            assert -theirs[f"i(vv{k})"] == pytest.approx(amperes, abs=1e-6 * most)
    for k, amperes in enumerate(found.drop_amperes):
        if f"i(vd{k})" in theirs:
            assert theirs[f"i(vd{k})"] == pytest.approx(amperes, abs=1e-6 * most)
    return found


@settings(max_examples=60, deadline=None)
@given(networks(nodes=10))
def test_random_networks(network: Network) -> None:
    check_against_ngspice(network)


@settings(max_examples=40, deadline=None)
@given(yards())
def test_bridged_yards(network: Network) -> None:
    check_against_ngspice(network)


def test_two_blocks_with_detectors() -> None:
    """Two blocks on a bus, opposed drops of 0.7 V, 0.25 A in one and a 10 kilohm wheelset in the other; solved by
    hand."""
    found = circuit(
        "V1 src 0 15; R1 src b1 0.05; R2 b1 b2 0.05; D1 b1 k1 0.7; R3 k1 r1 0.02; R4 r1 r2 0.02; D2 r2 p1 0.7;"
        "D3 q1 0 0.7; I1 p1 q1 0.25; D4 b2 k2 0.7; R5 k2 r3 0.02; R6 r3 0 10000"
    )
    check_against_ngspice(found.network)
    wheelset = (15 - 0.05 * 0.25 - 0.7) / (10_000 + 0.05 + 0.05 + 0.02)
    assert found.amperes("D4") == pytest.approx(0.001428732855, abs=1e-11)
    assert found.amperes("D4") == pytest.approx(wheelset, rel=1e-12)
    answers = {
        "b1": 14.98742856,
        "k1": 14.28742856,
        "r2": 14.27742856,
        "p1": 13.57742856,
        "b2": 14.98735713,
        "k2": 14.28735713,
    }
    assert {name: found.volts(name) for name in answers} == pytest.approx(answers, abs=1e-8)
    assert found.amperes("V1") == pytest.approx(0.251428733, abs=1e-9)


def test_blocked_and_floating() -> None:
    found = circuit("V1 s 0 15; R1 s t 1; I1 t 0 1; D1 s a 0.7; D2 t a 0.7; R2 a c 1; R3 f g 1")
    theirs = run_ngspice(netlist(found.network, found.operating))
    assert theirs[f"v(n{found.nodes['a']})"] == pytest.approx(14.5)
    assert f"v(n{found.nodes['f']})" not in theirs
    assert "floating" in netlist(found.network)
    check_against_ngspice(found.network)


def test_a_deck_with_a_floating_node_is_refused() -> None:
    whole = netlist(circuit("V1 s 0 1; R1 s 0 1").network)
    deck = whole.replace(".control", "rloose n8 n9 1\n.control")
    run_ngspice(whole)
    with pytest.raises(AssertionError, match="no operating point"):
        run_ngspice(deck)
