"""Pieces against networkx's connected components."""

from __future__ import annotations

import networkx
from hypothesis import given
from hypothesis import strategies as st

from blockcheck.core.pieces import pieces

PAIRS = st.integers(1, 12).flatmap(
    lambda nodes: st.tuples(
        st.just(nodes), st.lists(st.tuples(st.integers(0, nodes - 1), st.integers(0, nodes - 1)), max_size=20)
    )
)


@given(PAIRS)
def test_pieces_are_the_connected_components(made: tuple[int, list[tuple[int, int]]]) -> None:
    nodes, pairs = made
    found: dict[int, set[int]] = {}
    for node, piece in enumerate(pieces(nodes, pairs)):
        found.setdefault(piece, set()).add(node)
    graph: networkx.Graph[int] = networkx.Graph(pairs)
    graph.add_nodes_from(range(nodes))
    assert sorted(map(sorted, found.values())) == sorted(map(sorted, networkx.connected_components(graph)))
