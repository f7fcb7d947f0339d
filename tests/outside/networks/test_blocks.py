"""Pieces reduced to their ports say what the whole network says; the numpy back end says what the plain one does."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blockcheck.circuit.solver.blocks import Pieces
from blockcheck.circuit.solver.network import Network
from blockcheck.circuit.solver.rounds import RoundFactor
from blockcheck.circuit.solver.sparse import PlainFactor
from blockcheck.circuit.solver.superlu import SuperFactor

from .layouts import ladder_shape, yard
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


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 45), st.integers(1, 20), st.integers(1, 7))
def test_pieces_equal_the_whole(pieces: int, district: int, harness: int) -> None:
    made = yard(pieces, district * harness, harness)
    nodes, a, b, siemens = made.whole()
    whole = SuperFactor(nodes, a.tolist(), b.tolist(), siemens.tolist())
    reduced = Pieces(made.core_nodes, made.a, made.b, made.siemens, [made.bucket])
    core, (inside,) = reduced.solve(made.core_amperes, [made.amperes])
    ours = np.concatenate([core, inside.T.ravel()])
    theirs = np.array(whole.solve([*made.core_amperes, *made.amperes.T.ravel()]))
    gap = ours - theirs
    assert np.ptp(gap) < 1e-9  # they may count from different nodes
    (ohms,) = reduced.transfer()
    shape = made.bucket.shape
    for piece in {0, pieces // 2, pieces - 1}:
        base = made.core_nodes + piece * shape.nodes
        for at in (0, 4, 9, 10, 18):
            p, q, r, s = (base + node for node in shape.quads[at])
            z = whole.inverse([(p, r), (p, s), (q, r), (q, s)])
            wanted = z[p, r] - z[q, r] - z[p, s] + z[q, s]
            assert ohms[at, piece] == pytest.approx(wanted, rel=1e-8)


def test_the_ladder_has_38_nodes_and_a_narrow_band() -> None:
    shape = ladder_shape()
    assert shape.nodes == 38
    assert shape.width == 5
