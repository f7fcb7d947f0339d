"""Whether a source can drive a load at all, decided on the graph.

A load is fed exactly when some loop runs through it and through a source, over conductors and, in series, other
loads. Without one, an axle between its rails would have the load pump a current round by itself.
"""

from collections.abc import Sequence
from typing import NamedTuple

Edges = Sequence[tuple[int, int]]


class _Tree(NamedTuple):
    """A depth-first forest: every node's parent (or -1), depth, and the biconnected block of the edge to its parent."""

    parent: list[int]
    depth: list[int]
    block: list[int]


def fed(nodes: int, conductors: Edges, sources: Edges, loads: Edges) -> list[bool]:
    """For each load: does a loop run through it and one of the sources? All are pairs of nodes."""
    tree = _blocks(nodes, [*conductors, *sources, *loads])
    driven = {_block(tree, a, b) for a, b in sources if a != b}
    return [a != b and _block(tree, a, b) in driven for a, b in loads]


def _block(tree: _Tree, a: int, b: int) -> int:
    """The block of an edge: that of the tree's edge above its deeper end."""
    return tree.block[a if tree.depth[a] > tree.depth[b] else b]


def _blocks(nodes: int, edges: Edges) -> _Tree:
    """Biconnected blocks by lowest reachable depth (Hopcroft and Tarjan 1973), without recursion."""
    beside: list[list[int]] = [[] for _ in range(nodes)]
    for a, b in edges:
        beside[a].append(b)
        beside[b].append(a)
    tree = _Tree([-1] * nodes, [-1] * nodes, [-1] * nodes)
    parent, depth, block = tree
    low = [0] * nodes
    order = []
    for root in range(nodes):
        if depth[root] >= 0:
            continue
        depth[root] = 0
        ahead = [(root, iter(beside[root]))]
        while ahead:
            node, others = ahead[-1]
            for other in others:
                if depth[other] < 0:
                    parent[other], depth[other], low[other] = node, depth[node] + 1, depth[node] + 1
                    ahead.append((other, iter(beside[other])))
                    order.append(other)
                    break
                if other != parent[node]:
                    low[node] = min(low[node], depth[other])
            else:
                ahead.pop()
                if parent[node] >= 0:
                    low[parent[node]] = min(low[parent[node]], low[node])
    blocks = 0
    for node in order:
        above = parent[node]
        # nothing under node reaches over its parent: their edge opens a block of its own
        if low[node] >= depth[above]:
            block[node], blocks = blocks, blocks + 1
        else:
            block[node] = block[above]
    return tree
