"""Cells say what the whole network says; the numpy back end says what the plain one does."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blockcheck.solver import rounds
from blockcheck.solver.cells import MOST_PORTS, Cells
from blockcheck.solver.network import Network
from blockcheck.solver.rounds import RoundFactor
from blockcheck.solver.sparse import PlainFactor
from blockcheck.solver.superlu import SuperFactor

from .layouts import yard
from .strategies import grids


@settings(max_examples=60, deadline=None)
@given(grids())
def test_rounds_equal_plain(network: Network) -> None:
    a, b, ohms = network.resistors
    siemens = [1 / r for r in ohms]
    nodes = network.nodes
    x, y = (ends.ravel() for ends in np.indices((nodes, nodes), dtype=np.int64))
    ours = RoundFactor(nodes, a, b, siemens, near=(x, y))
    plain = PlainFactor(nodes, a, b, siemens)
    z = ours.entries(x, y).reshape(nodes, nodes)
    columns = ours.solve(np.eye(nodes))
    for i in range(nodes):
        for j in range(i):
            current = [0.0] * nodes
            current[i], current[j] = 1.0, -1.0
            theirs = plain.solve(current)
            wanted = pytest.approx(theirs[i] - theirs[j], rel=1e-10)
            assert z[i, i] + z[j, j] - z[i, j] - z[j, i] == wanted
            assert columns[i, i] - columns[j, i] - columns[i, j] + columns[j, j] == wanted


@pytest.mark.parametrize("most", [1, 50, rounds.MOST_ENTRIES])
def test_the_inverse_of_a_mesh_is_numpys(monkeypatch: pytest.MonkeyPatch, most: int) -> None:
    """Many common wires that meet make a mesh; its inverse is numpy's, however many entries are gathered at a time."""
    monkeypatch.setattr(rounds, "MOST_ENTRIES", most)
    chance, nodes = np.random.default_rng(5), 120
    mesh = np.array(np.triu_indices(30, 1))
    chains = np.array([np.arange(30, nodes), np.arange(nodes - 30)])
    a, b = np.concatenate([mesh, chains], axis=1)
    siemens = chance.uniform(0.1, 10.0, len(a))
    laplacian = np.zeros((nodes, nodes))
    for x, y, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
        np.add.at(laplacian, (x, y), sign * siemens)
    exact = np.linalg.pinv(laplacian)
    factor = RoundFactor(nodes, a, b, siemens)
    own, off = (factor.entries(*ends) for ends in ((np.arange(nodes),) * 2, (a, b)))
    assert own[a] + own[b] - 2 * off == pytest.approx(exact[a, a] + exact[b, b] - 2 * exact[a, b], rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 45), st.integers(1, 20), st.integers(1, 7))
def test_cells_equal_the_whole(pieces: int, district: int, harness: int) -> None:
    made = yard(pieces, district * harness, harness)
    nodes, a, b, siemens = made.whole()
    whole = SuperFactor(nodes, a.tolist(), b.tolist(), siemens.tolist())
    cells = made.cells()
    ours = cells.solve(made.whole_amperes())
    theirs = np.array(whole.solve(made.whole_amperes().tolist()))
    assert np.ptp(ours - theirs) < 1e-9  # they may count from different nodes
    own, along = cells.inverse()
    loops = own[a] + own[b] - 2 * along
    for branch in {0, len(a) // 3, len(a) // 2, len(a) - 1}:
        x, y = int(a[branch]), int(b[branch])
        z = whole.inverse([(x, x), (x, y), (y, x), (y, y)])
        assert loops[branch] == pytest.approx(z[x, x] - z[x, y] - z[y, x] + z[y, y], rel=1e-8)


@pytest.mark.parametrize("spokes", [MOST_PORTS, MOST_PORTS + 1, 40])
def test_a_hub_of_many_wires_makes_no_mesh_of_its_cell(spokes: int) -> None:
    """A board's bank within a block's cell, a wire to each of many others: the inverse is that of the whole."""
    hub, ends = 2, 3 + np.arange(spokes)
    beyond = ends[-1] + 1 + np.arange(spokes)
    a = np.concatenate([[0, 1], np.full(spokes, hub), ends, beyond[:-1]])
    b = np.concatenate([[1, 2], ends, beyond, beyond[1:]])
    siemens = np.random.default_rng(spokes).uniform(0.1, 10.0, len(a))
    nodes = int(beyond[-1]) + 1
    cell = np.concatenate([np.zeros(3, dtype=np.int64), np.full(spokes, -1), np.arange(1, spokes + 1)])
    cells = Cells(nodes, a, b, siemens, cell, (np.zeros(0, dtype=np.int64),) * 2)
    assert max(bucket.pattern.ports for bucket in cells.buckets) <= MOST_PORTS
    whole = SuperFactor(nodes, a.tolist(), b.tolist(), siemens.tolist())
    own, along = cells.inverse()
    for branch, (x, y) in enumerate(zip(a.tolist(), b.tolist(), strict=True)):
        z = whole.inverse([(x, x), (x, y), (y, x), (y, y)])
        loop = own[x] + own[y] - 2 * along[branch]
        assert loop == pytest.approx(z[x, x] - z[x, y] - z[y, x] + z[y, y], rel=1e-8)


@settings(max_examples=25, deadline=None)
@given(st.integers(2, 30), st.integers(1, 5), st.integers(0, 2**32 - 1))
def test_what_a_cell_tells_of_its_nodes(pieces: int, harness: int, seed: int) -> None:
    """Ports followed and columns of the inverse are what a solution of the whole says."""
    made = yard(pieces, harness, harness)
    cells, inner = made.cells(), made.inner()
    piece, node = (int(at) for at in np.random.default_rng(seed).integers((pieces, len(inner))))
    unit = np.zeros(cells.nodes)
    unit[inner[node, piece]] = 1.0
    column = cells.solve(unit)
    home = np.array([piece])
    found = cells.columns(inner[node, home], inner[:, home].T)[0]
    assert found == pytest.approx(column[inner[:, piece]], rel=1e-9, abs=1e-12)
    follow, astray = cells.follow(home, inner[:, home].T)
    assert not astray.any()
    ports = cells.ports_of(home)[:, 0]
    unit[inner[node, piece]] = 0.0
    unit[cells.core_nodes[0]] = 1.0  # driven from outside, the inside is what its ports make it
    outside = cells.solve(unit)
    volts = outside[cells.core_nodes[ports]]
    assert volts @ follow[:, 0] == pytest.approx(outside[inner[:, piece]], rel=1e-9, abs=1e-12)


def test_cells_of_one_pattern_go_together() -> None:
    made = yard(40, 20, 5)
    (bucket,) = made.cells().buckets
    assert bucket.nodes.shape == (38, 40)
    assert bucket.pattern.ports == 5
