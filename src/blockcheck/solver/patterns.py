"""The order in which the cells of one pattern are eliminated, found once for all of them."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from attrs import frozen

from blockcheck.solver.rounds import Ints

LOW_DEGREE = 3
"""Nodes of this degree may always go; more only when all have more."""

Layers = tuple[tuple[Ints, Ints], ...]
"""Sums into rows: (targets, sources), no target twice in one layer."""


class Step(NamedTuple):
    """Nodes of one degree, none beside another, eliminated at once.

    nodes and others [node, neighbour] are places in the cell; entries are those of the factor, a row a node
    and neighbour. push: into the neighbours' rows from the step's own. fill: into other entries, from products of
    rows (i, j) of the step. between [node, neighbour, neighbour]: where the inverse stands.
    """

    nodes: slice
    others: Ints
    entries: slice
    push: Layers
    i: Ints
    j: Ints
    fill: Layers
    between: Ints


@frozen(eq=False)
class Pattern:
    """How cells of one pattern hang together: inner nodes 0 .. nodes - 1 as they are eliminated, then ports; an entry
    of the factor for every pair that is ever connected, and the entry (-1: a loop) of each branch."""

    nodes: int
    order: Ints
    """The inner nodes' numbers in the branches that made the pattern."""
    ports: int
    steps: tuple[Step, ...]
    entries: int
    of_branch: Ints
    add: Layers
    """Into entries from branches."""
    port_pairs: Ints
    """[port, port and entry; pair]."""


@lru_cache(maxsize=256)
def pattern(nodes: int, ports: int, branches: bytes) -> Pattern:
    """Order the elimination of the inner nodes by least degree; ports are never eliminated.

    branches: both ends of each as 32 bit integers. Networks that differ in a state or in loads share most patterns.
    """
    a, b = np.frombuffer(branches, dtype=np.int32).reshape(-1, 2).T
    beside: list[set[int]] = [set() for _ in range(nodes + ports)]
    for x, y in zip(a.tolist(), b.tolist(), strict=True):
        if x != y:
            beside[x].add(y)
            beside[y].add(x)
    for port in range(nodes, nodes + ports):  # all pairs, so that the core knows its inverse between them
        beside[port].update(other for other in range(nodes, nodes + ports) if other != port)
    rounds = _eliminate(nodes, beside)
    number: dict[tuple[int, int], int] = {}
    for members in rounds:
        for node, star in members:
            for other in star:
                number[node, other] = number[other, node] = len(number) // 2
    pairs = []
    for port in range(nodes, nodes + ports):
        for other in sorted(beside[port]):
            if other > port:
                number[port, other] = number[other, port] = len(number) // 2
                pairs.append((port - nodes, other - nodes, number[port, other]))
    entries = len(number) // 2
    order = [node for members in rounds for node, _ in members]
    place = np.arange(nodes + ports)
    place[order] = np.arange(nodes)
    steps, start, done = [], 0, 0
    for members in rounds:
        size = len(members[0][1])
        rows = slice(start, start + len(members) * size)
        steps.append(_step(members, slice(done, done + len(members)), rows, place, number, entries))
        start, done = rows.stop, done + len(members)
    port_pairs = np.array(pairs, dtype=np.int64).reshape(-1, 3).T
    of = np.array([number.get((x, y), -1) for x, y in zip(a.tolist(), b.tolist(), strict=True)], dtype=np.int64)
    proper = np.flatnonzero(of >= 0)
    add = _layers(of[proper], proper)
    return Pattern(nodes, np.array(order, dtype=np.int64), ports, tuple(steps), entries, of, add, port_pairs)


def _step(
    members: list[tuple[int, list[int]]],
    nodes: slice,
    rows: slice,
    place: Ints,
    number: dict[tuple[int, int], int],
    entries: int,
) -> Step:
    size = len(members[0][1])
    others = place[np.array([star for _, star in members], dtype=np.int64).reshape(len(members), size)]
    between = np.array(
        [[[number[x, y] if x != y else entries + int(place[x]) for y in star] for x in star] for _, star in members],
        dtype=np.int64,
    ).reshape(len(members), size, size)
    i, j = np.triu_indices(size, 1)
    first = size * np.arange(len(members))[:, None]
    targets = between[:, i, j].ravel()
    return Step(
        nodes,
        others,
        rows,
        _layers(others.ravel(), np.arange(others.size)),
        (first + i).ravel(),
        (first + j).ravel(),
        _layers(targets, np.arange(len(targets))),
        between,
    )


def _layers(targets: Ints, sources: Ints) -> Layers:
    """The first source of every target, the second of those that have more, and so on."""
    order = np.argsort(targets, kind="stable")
    targets, sources = targets[order], sources[order]
    turn = np.arange(len(targets)) - np.searchsorted(targets, targets)
    return tuple((targets[turn == at], sources[turn == at]) for at in range(int(turn.max(initial=-1)) + 1))


def _eliminate(nodes: int, beside: list[set[int]]) -> list[list[tuple[int, list[int]]]]:
    """The inner nodes in rounds by least degree, the lowest number of equals, and each one's neighbours then."""
    left, rounds = set(range(nodes)), []
    while left:
        limit = max(LOW_DEGREE, min(len(beside[node]) for node in left))
        ready = sorted((len(beside[node]), node) for node in left if len(beside[node]) <= limit)
        taken: dict[int, list[tuple[int, list[int]]]] = {}
        spoilt: set[int] = set()
        for degree, node in ready:
            if node not in spoilt:
                spoilt |= beside[node]
                taken.setdefault(degree, []).append((node, sorted(beside[node])))
        for members in taken.values():
            rounds.append(members)
            for node, star in members:
                left.discard(node)
                for other in star:
                    beside[other].update(star)
                    beside[other] -= {node, other}
    return rounds
