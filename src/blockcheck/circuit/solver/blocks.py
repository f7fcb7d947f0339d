"""Many pieces of network of one shape, reduced to their ports at once, around a small core.

A `Shape` says how a piece hangs together: its inner nodes in an order that keeps connected ones near each other
(along the track), its ports (nodes of the core), its branches, and the `quads` whose transfer ohms are wanted. A
`Bucket` holds all pieces of one shape, as arrays with one column a piece:

    shape                 Shape
    siemens[branch, piece]  conductances, nought for a branch that is open
    ports[port, piece]      node of the core that each port is

`Pieces(core_nodes, core_a, core_b, core_siemens, buckets)` reduces them and factorises the core: the branches
given, and what the pieces amount to between their ports. Nothing in it is subtracted, so it is exact to nearly
full relative precision.

    solve(core_amperes[node], [amperes[inner node, piece] for each bucket])
        -> (core volts[node], [volts[inner node, piece] for each bucket])
    transfer()  -> [ohms[quad, piece] for each bucket]

A quad (a, b, c, d) of inner nodes asks for the volts from a to b for an ampere into c and out of d: (a, b, a, b)
is the loop resistance of a pair of rails, and with (a, b, a', b') of the next pair along the track
`solve.along_rail` has what it needs. Its nodes must lie within the band: `Shape.width` counts them in.
A change in one piece (a switch) changes its column and its share of the core; series voltages are currents put in
besides (Norton). Potentials are above one node of each connected part of the core. Every inner node must have a
way to a port.
"""

from collections.abc import Sequence

import numpy as np
from attrs import frozen

from blockcheck.circuit.solver.rounds import Floats, Ints, RoundFactor

Quad = tuple[int, int, int, int]


@frozen(eq=False, repr=False)
class Shape:
    """`nodes` inner nodes 0 .. nodes - 1, then `ports` ports; branches from `a` to `b` in that numbering; none
    between ports."""

    nodes: int
    ports: int
    a: tuple[int, ...]
    b: tuple[int, ...]
    quads: tuple[Quad, ...] = ()

    @property
    def width(self) -> int:
        """The furthest that inner nodes lie apart that are connected or asked for together."""
        inside = [abs(a - b) for a, b in zip(self.a, self.b, strict=True) if max(a, b) < self.nodes]
        asked = [abs(x - y) for a, b, c, d in self.quads for x in (a, b) for y in (c, d)]
        return max([*inside, *asked, 0])


@frozen(eq=False)
class Bucket:
    """All pieces of one shape: siemens[branch, piece], ports[port, piece]."""

    shape: Shape
    siemens: Floats
    ports: Ints


class _Reduced:
    """One bucket's inside, factorised: L as [row, width, piece], and what each port's volt makes of the inner nodes."""

    def __init__(self, bucket: Bucket) -> None:
        shape, self.bucket, self._width = bucket.shape, bucket, bucket.shape.width
        pieces = bucket.siemens.shape[1]
        band = np.zeros((shape.nodes + self._width, self._width + 1, pieces))
        # what leaves each inner node for its ports is kept apart from the rest: pivots are sums, never differences
        out = np.zeros((shape.nodes + self._width, pieces))
        self.follow = np.zeros((shape.nodes, shape.ports, pieces))
        for a, b, g in zip(shape.a, shape.b, bucket.siemens, strict=True):
            low, high = min(a, b), max(a, b)
            if high < shape.nodes:
                band[low, high - low] += g
            else:
                out[low] += g
                self.follow[low, high - shape.nodes] += g
        self._to_ports = [
            (min(a, b), max(a, b) - shape.nodes, g)
            for a, b, g in zip(shape.a, shape.b, bucket.siemens, strict=True)
            if max(a, b) >= shape.nodes
        ]
        self._factorise(band, out)
        self._back(self._forward(self.follow))

    def _factorise(self, band: Floats, out: Floats) -> None:
        """Star to mesh, node by node along the band; `band` turns into the shares."""
        nodes, width = self.bucket.shape.nodes, self._width
        self.reciprocal = np.empty((nodes, band.shape[2]))
        self.shares = band
        for row in range(nodes):
            star = band[row, 1:]
            pivot = star.sum(axis=0) + out[row]
            np.divide(1.0, pivot, out=self.reciprocal[row], where=pivot > 0)
            self.reciprocal[row][pivot <= 0] = 0.0
            shares = star * self.reciprocal[row]
            for i in range(width):
                out[row + 1 + i] += shares[i] * out[row]
                for j in range(i + 1, width):
                    band[row + 1 + i, j - i] += shares[i] * star[j]
            band[row, 1:] = shares

    def _forward(self, right: Floats) -> Floats:
        """right[row, ..., piece], in place."""
        nodes = self.bucket.shape.nodes
        for row in range(nodes):
            for i in range(1, min(self._width, nodes - 1 - row) + 1):
                right[row + i] += self.shares[row, i] * right[row]
        return right

    def _back(self, right: Floats) -> Floats:
        nodes = self.bucket.shape.nodes
        for row in range(nodes - 1, -1, -1):
            right[row] *= self.reciprocal[row]
            for i in range(1, min(self._width, nodes - 1 - row) + 1):
                right[row] += self.shares[row, i] * right[row + i]
        return right

    def between_ports(self) -> list[tuple[Ints, Ints, Floats]]:
        """Conductances that the pieces amount to, for every pair of ports: (nodes, nodes, siemens), one entry a
        piece."""
        shape, ports = self.bucket.shape, self.bucket.ports
        found = np.zeros((shape.ports, shape.ports, ports.shape[1]))
        for inner, port, g in self._to_ports:
            found[port] += g * self.follow[inner]
        return [(ports[i], ports[j], found[i, j]) for i in range(shape.ports) for j in range(i)]

    def inside(self, amperes: Floats) -> tuple[Floats, Floats]:
        """Volts of the inner nodes with all ports at nought, and the currents that then flow out of the ports."""
        volts = self._back(self._forward(np.array(amperes, dtype=np.float64)))
        out = np.zeros(self.bucket.ports.shape)
        for inner, port, g in self._to_ports:
            out[port] += g * volts[inner]
        return volts, out

    def inverse_band(self) -> Floats:
        """The inside's inverse as [row, distance, piece], ports at nought (Takahashi, Fagan and Chin 1973)."""
        nodes, width = self.bucket.shape.nodes, self._width
        found = np.zeros((nodes + width, width + 1, self.reciprocal.shape[1]))
        for row in range(nodes - 1, -1, -1):
            for i in range(1, min(width, nodes - 1 - row) + 1):
                for j in range(1, min(width, nodes - 1 - row) + 1):
                    found[row, i] += self.shares[row, j] * found[row + min(i, j), abs(i - j)]
            found[row, 0] = self.reciprocal[row] + (self.shares[row, 1:] * found[row, 1:]).sum(axis=0)
        return found


class Pieces:
    """A core and the pieces that hang on it, factorised. See the module."""

    def __init__(
        self,
        core_nodes: int,
        core_a: Sequence[int] | Ints,
        core_b: Sequence[int] | Ints,
        core_siemens: Sequence[float] | Floats,
        buckets: Sequence[Bucket],
    ) -> None:
        self._reduced = [_Reduced(bucket) for bucket in buckets]
        links = [link for reduced in self._reduced for link in reduced.between_ports()]
        a = np.concatenate([np.asarray(core_a, dtype=np.int64), *(link[0] for link in links)])
        b = np.concatenate([np.asarray(core_b, dtype=np.int64), *(link[1] for link in links)])
        siemens = np.concatenate([np.asarray(core_siemens, dtype=np.float64), *(link[2] for link in links)])
        # links of no conductance stay: they have the core know its inverse between all ports of a piece
        self.core = RoundFactor(core_nodes, a, b, siemens)

    def solve(self, core_amperes: Floats, amperes: Sequence[Floats]) -> tuple[Floats, list[Floats]]:
        """Potentials of the core and of every bucket's inner nodes for the currents put into them."""
        total = np.array(core_amperes, dtype=np.float64)
        inside = []
        for reduced, injected in zip(self._reduced, amperes, strict=True):
            volts, out = reduced.inside(injected)
            total += np.bincount(reduced.bucket.ports.ravel(), out.ravel(), len(total))
            inside.append(volts)
        core = self.core.solve(total)
        for reduced, volts in zip(self._reduced, inside, strict=True):
            ports = core[reduced.bucket.ports]
            for port in range(len(ports)):
                volts += reduced.follow[:, port] * ports[port]
        return core, inside

    def transfer(self) -> list[Floats]:
        """Transfer ohms of every bucket's quads, [quad, piece]."""
        return [self._transfer(reduced) for reduced in self._reduced]

    def _transfer(self, reduced: _Reduced) -> Floats:
        shape, ports = reduced.bucket.shape, reduced.bucket.ports
        band = reduced.inverse_band()
        core = np.empty((shape.ports, shape.ports, ports.shape[1]))
        for i in range(shape.ports):
            for j in range(i + 1):
                core[i, j] = core[j, i] = self.core.entries(ports[i], ports[j])
        pairs = {pair for a, b, c, d in shape.quads for pair in ((a, b), (c, d))}
        # how far each pair of inner nodes follows each port, and what that makes of the core's inverse
        lean = {(a, b): reduced.follow[a] - reduced.follow[b] for a, b in pairs}
        pull = {pair: sum(core[:, port] * by[port] for port in range(shape.ports)) for pair, by in lean.items()}
        found = np.empty((len(shape.quads), ports.shape[1]))
        for at, (a, b, c, d) in enumerate(shape.quads):
            own = _near(band, a, c) - _near(band, b, c) - _near(band, a, d) + _near(band, b, d)
            found[at] = own + (lean[a, b] * pull[c, d]).sum(axis=0)
        return found


def _near(band: Floats, x: int, y: int) -> Floats:
    entry: Floats = band[min(x, y), abs(x - y)]
    return entry
