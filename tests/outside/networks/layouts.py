"""Generated yards for the cells: ladders of 38 nodes, as pieces of one shape and as one plain network."""

import numpy as np
from attrs import frozen

from blockcheck.solver.cells import Cells
from blockcheck.solver.rounds import Floats, Ints

STEPS = 9
FEED, COMMON_NEAR, COMMON_FAR, RAIL_NEAR, RAIL_FAR = range(5)


@frozen(eq=False)
class Shape:
    """`nodes` inner nodes, then `ports` ports; branches from `a` to `b` in that numbering."""

    nodes: int
    ports: int
    a: tuple[int, ...]
    b: tuple[int, ...]


@frozen(eq=False)
class Bucket:
    """All pieces of one shape: siemens[branch, piece], ports[port, piece]."""

    shape: Shape
    siemens: Floats
    ports: Ints


def ladder_shape() -> Shape:
    """A block of 38 inner nodes: detected bus, common bus, two rails at nine places, both rails' far ends.

    Ports: the district's feed, the common bus before and after, the neighbours' common rails.
    """
    nodes = 4 * STEPS + 2
    a: list[int] = []
    b: list[int] = []

    def join(x: int, y: int) -> None:
        a.append(x)
        b.append(y)

    join(0, nodes + FEED)
    join(1, nodes + COMMON_NEAR)
    for step in range(STEPS):
        bus, common, left, right = range(4 * step, 4 * step + 4)
        join(bus, left)
        join(common, right)
        if step + 1 < STEPS:
            join(bus, bus + 4)
            join(common, common + 4)
            join(left, left + 4)
            join(right, right + 4)
    join(4 * STEPS - 2, nodes - 2)
    join(4 * STEPS - 1, nodes - 1)
    join(4 * STEPS - 3, nodes + COMMON_FAR)
    join(3, nodes + RAIL_NEAR)
    join(nodes - 1, nodes + RAIL_FAR)
    return Shape(nodes, 5, tuple(a), tuple(b))


@frozen(eq=False)
class Yard:
    """The same circuit twice: a core with one bucket, and the branches of the whole network (core nodes first,
    then pieces)."""

    core_nodes: int
    a: Ints
    b: Ints
    siemens: Floats
    bucket: Bucket
    core_amperes: Floats
    amperes: Floats

    def inner(self) -> Ints:
        """[inner node, piece]: the pieces' nodes in the whole network."""
        shape, pieces = self.bucket.shape, self.bucket.ports.shape[1]
        return self.core_nodes + np.arange(pieces)[None] * shape.nodes + np.arange(shape.nodes)[:, None]

    def cells(self) -> Cells:
        """The whole network, each piece a cell."""
        nodes, a, b, siemens = self.whole()
        cell = np.full(nodes, -1)
        pieces = np.arange(self.bucket.ports.shape[1])
        cell[self.inner()] = pieces
        return Cells(nodes, a, b, siemens, cell, (pieces, pieces))

    def whole_amperes(self) -> Floats:
        return np.concatenate([self.core_amperes, self.amperes.T.ravel()])

    def whole(self) -> tuple[int, Ints, Ints, Floats]:
        shape, ports = self.bucket.shape, self.bucket.ports
        pieces = ports.shape[1]
        nodes = np.vstack([self.inner(), ports])
        a = np.concatenate([self.a, nodes[list(shape.a)].ravel()])
        b = np.concatenate([self.b, nodes[list(shape.b)].ravel()])
        siemens = np.concatenate([self.siemens, self.bucket.siemens.ravel()])
        return self.core_nodes + pieces * shape.nodes, a, b, siemens


def yard(pieces: int, district: int = 100, harness: int = 10) -> Yard:
    """Districts of `district` blocks: feed and return terminal, booster between; a common bus and a common rail a
    harness."""
    dice = np.random.default_rng(pieces)
    shape = ladder_shape()
    districts, harnesses = -(-pieces // district), -(-pieces // harness)
    piece = np.arange(pieces)
    feed = 2 * (piece // district)
    # along each harness one more junction of common bus and rail than it has blocks
    start = 2 * districts + 2 * (piece + piece // harness)
    ports = np.vstack([feed, start, start + 2, start + 1, start + 3])
    core_nodes = 2 * districts + 2 * (pieces + harnesses)
    first = 2 * districts + 2 * (harness + 1) * np.arange(harnesses)
    terminal = 2 * (np.arange(harnesses) * harness // district) + 1
    booster = 2 * np.arange(districts)
    a = np.concatenate([booster, terminal, booster[:-1] + 1])
    b = np.concatenate([booster + 1, first, booster[1:] + 1])
    siemens = np.concatenate(
        [np.full(districts, 20.0), np.full(harnesses, 50.0), np.full(max(districts - 1, 0), 100.0)]
    )
    core_amperes = np.zeros(core_nodes)
    core_amperes[booster], core_amperes[booster + 1] = 18.0 * 20.0, -18.0 * 20.0
    amperes = np.zeros((shape.nodes, pieces))
    at = 4 * dice.integers(0, STEPS, pieces) + 2
    load = dice.uniform(0, 0.05, pieces)
    amperes[at, piece], amperes[at + 1, piece] = -load, load
    inside = 1.0 / dice.uniform(0.002, 0.05, (len(shape.a), pieces))
    return Yard(core_nodes, a, b, siemens, Bucket(shape, inside, ports), core_amperes, amperes)
