"""What hangs together: union-find over numbered nodes, once for the whole house."""

from __future__ import annotations

from collections.abc import Iterable


def pieces(nodes: int, pairs: Iterable[tuple[int, int]]) -> list[int]:
    """Node -> a node that stands for its piece, where ``pairs`` join the nodes 0 to ``nodes`` - 1.

    Two nodes hang together exactly when the same one stands for both; which one that is follows from the pairs alone.
    """
    parent = list(range(nodes))
    for a, b in pairs:
        while parent[a] != a:  # halving the way as one goes
            parent[a] = a = parent[parent[a]]
        while parent[b] != b:
            parent[b] = b = parent[parent[b]]
        if a != b:
            parent[a] = b
    for node in range(nodes):
        root = node
        while parent[root] != root:
            root = parent[root]
        parent[node] = root
    return parent
