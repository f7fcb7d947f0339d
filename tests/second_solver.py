"""Kirchhoff's laws for the second model: single pieces as one sparse matrix, solved by scipy."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

Node = Any
Piece = list[Any]
"""Two nodes, ohms, and when it conducts: None for always, else a control and its position."""


def solved(pieces: list[Piece], push: dict[Node, float]) -> tuple[dict[Node, float], dict[Node, int]]:
    """Volts at every node for some amperes into it, one node of each island at nought; and the islands."""
    nodes: dict[Node, int] = {}
    for node in (*push, *(end for piece in pieces for end in piece[:2])):
        nodes.setdefault(node, len(nodes))
    count = len(nodes)
    a = np.array([nodes[piece[0]] for piece in pieces], dtype=int)
    b = np.array([nodes[piece[1]] for piece in pieces], dtype=int)
    siemens = np.array([1 / max(piece[2], 1e-6) for piece in pieces])
    matrix = coo_matrix((siemens, (a, b)), shape=(count, count))
    _, island = connected_components(matrix, directed=False)
    ground = np.unique(island, return_index=True)[1]
    diagonal = np.zeros(count)
    np.add.at(diagonal, a, siemens)
    np.add.at(diagonal, b, siemens)
    diagonal[ground] += 1.0
    every = np.arange(count)
    whole_ = matrix + matrix.T
    whole_.setdiag(0)
    system = (coo_matrix((diagonal, (every, every)), shape=(count, count)) - whole_).tocsc()
    right = np.zeros(count)
    for node, amperes in push.items():
        right[nodes[node]] += amperes
    volts = splu(system).solve(right)
    return {node: float(volts[at]) for node, at in nodes.items()}, {node: int(island[at]) for node, at in nodes.items()}
