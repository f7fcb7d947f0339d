"""The order in which the cells of one pattern are eliminated, found once for all of them."""

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from attrs import frozen

from blockcheck.circuit.solver.rounds import Ints


class Step(NamedTuple):
    """One node's elimination: its place among the cell's nodes, its neighbours then, its entries of the factor, and
    the entries that its neighbours have with each other: `fill` for the pairs (i, j), `between` for all of them."""

    node: int
    others: Ints
    entries: slice
    i: Ints
    j: Ints
    fill: Ints
    between: Ints


@frozen(eq=False)
class Pattern:
    """How cells of one pattern hang together: inner nodes 0 .. nodes - 1, then ports; an entry of the factor for
    every pair that is ever connected, and the entry (-1: a loop) of each branch."""

    nodes: int
    ports: int
    steps: tuple[Step, ...]
    entries: int
    of_branch: Ints
    port_pairs: tuple[tuple[int, int, int], ...]
    """Port, port, entry."""


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
    order, stars = _eliminate(nodes, beside)
    number: dict[tuple[int, int], int] = {}
    for node, star in zip(order, stars, strict=True):
        for other in star:
            number[node, other] = number[other, node] = len(number) // 2
    pairs = []
    for port in range(nodes, nodes + ports):
        for other in sorted(beside[port]):
            if other > port:
                number[port, other] = number[other, port] = len(number) // 2
                pairs.append((port - nodes, other - nodes, number[port, other]))
    entries = len(number) // 2
    steps, start = [], 0
    for node, star in zip(order, stars, strict=True):
        i, j = np.triu_indices(len(star), 1)
        between = np.array(
            [[number[x, y] if x != y else entries + x for y in star] for x in star], dtype=np.int64
        ).reshape(len(star), len(star))
        rows = slice(start, start + len(star))
        steps.append(Step(node, np.array(star, dtype=np.int64), rows, i, j, between[i, j], between))
        start += len(star)
    of = [number.get((x, y), -1) for x, y in zip(a.tolist(), b.tolist(), strict=True)]
    return Pattern(nodes, ports, tuple(steps), entries, np.array(of, dtype=np.int64), tuple(pairs))


def _eliminate(nodes: int, beside: list[set[int]]) -> tuple[list[int], list[list[int]]]:
    """The inner nodes by least degree, the lowest number of equals, and each one's neighbours then."""
    left = set(range(nodes))
    buckets: list[set[int]] = [set() for _ in range(len(beside) + 1)]
    for node in left:
        buckets[len(beside[node])].add(node)
    order, stars, at = [], [], 0
    while left:
        while not buckets[at]:
            at += 1
        node = min(buckets[at])
        buckets[at].discard(node)
        left.discard(node)
        star = sorted(beside[node])
        for other in star:
            others = beside[other]
            before = len(others)
            others.update(star)
            others -= {node, other}
            if other < nodes and len(others) != before:
                buckets[before].discard(other)
                buckets[len(others)].add(other)
                at = min(at, len(others))
        order.append(node)
        stars.append(star)
    return order, stars
