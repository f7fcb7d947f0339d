"""A large system taken to pieces: cells of one pattern are eliminated at once, and a small core is left.

A cell is a set of nodes that meets the rest only at nodes of the core, its ports: one block's detected side, say, or
the common side of a harness. Cells of one pattern (the same branches between nodes of the same rank) form a bucket:
the order of elimination is found once, by least degree, and every step is done on arrays with one column a cell. What
the cells amount to between their ports joins the core, which `rounds.RoundFactor` solves. The inverse is known
wherever the factor has entries (Takahashi, Fagan and Chin 1973), and so along every branch.

Nothing is ever subtracted, so every pivot and every resistance comes out to nearly full relative precision.
"""

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from blockcheck.solver.patterns import Pattern, pattern
from blockcheck.solver.rounds import Floats, Ints, RoundFactor

Bools = NDArray[np.bool_]

MOST_PORTS = 8
"""A node of a cell that meets more nodes of the core would make a port of each, and a mesh between them all."""


class Bucket:
    """All cells of one pattern: nodes[node, cell] and branches[branch, cell] of the system, ports[port, cell] of the
    core."""

    def __init__(self, of: Pattern, nodes: Ints, ports: Ints, branches: Ints) -> None:
        self.pattern, self.nodes, self.ports, self.branches = of, nodes, ports, branches
        self._follow: Floats | None = None
        self._wide: list[Floats] = []  # shares by step: [node, neighbour, cell]
        self.shares: Floats = np.zeros((0, 0))
        self.reciprocal: Floats = np.zeros((0, 0))

    def factorise(self, siemens: Floats) -> None:
        """Star to mesh, node by node; the entries turn into each node's shares of its neighbours."""
        made = self.pattern
        cells = self.nodes.shape[1]
        values = np.zeros((made.entries, cells))
        mine = siemens[self.branches]
        for entries, rows in made.add:
            values[entries] += mine[rows]
        self.reciprocal, self._wide = np.zeros((made.nodes, cells)), []
        for step in made.steps:
            flat = values[step.entries]
            star = flat.reshape(*step.others.shape, cells)
            pivot = np.add.reduce(star, axis=1)
            pivot[pivot <= 0] = np.inf  # an island's last node
            own = np.divide(1.0, pivot, out=self.reciprocal[step.nodes])
            shares = star * own[:, None]
            if len(step.i):
                mesh = shares.reshape(flat.shape)[step.i] * flat[step.j]
                for entries, rows in step.fill:
                    values[entries] += mesh[rows]
            star[...] = shares
            self._wide.append(star)
        self.shares, self._follow = values, None

    def follow(self) -> Floats:
        """How far each node, and port, follows each port: [node and port, port, cell]."""
        if self._follow is None:
            nodes, ports = self.pattern.nodes, self.pattern.ports
            unit = np.zeros((nodes + ports, ports, self.nodes.shape[1]))
            for port in range(ports):
                unit[nodes + port, port] = 1.0
            self._follow = self.back(unit)
        return self._follow

    def between_ports(self) -> tuple[Ints, Ints, Floats]:
        """What the cells amount to between their ports: nodes, nodes, siemens."""
        x, y, entry = self.pattern.port_pairs
        return self.ports[x].ravel(), self.ports[y].ravel(), self.shares[entry].ravel()

    def forward(self, right: Floats) -> Floats:
        """Push currents [node and port, ..., cell] on to the ports, in place."""
        middle = (slice(None), slice(None), *(None for _ in right.shape[2:]))
        for step, shares in zip(self.pattern.steps, self._wide, strict=True):
            if step.push:
                pushed = (shares[middle] * right[step.nodes][:, None]).reshape(-1, *right.shape[1:])
                for rows, sources in step.push:
                    right[rows] += pushed[sources]
        return right

    def back(self, right: Floats) -> Floats:
        """From currents as `forward` leaves them, and volts at the ports, the volts inside; in place."""
        middle = (slice(None), slice(None), *(None for _ in right.shape[2:]))
        right[: self.pattern.nodes] *= self.reciprocal[middle[1:]]
        for step, shares in zip(reversed(self.pattern.steps), reversed(self._wide), strict=True):
            if step.push:
                right[step.nodes] += np.add.reduce(shares[middle] * right[step.others], axis=1)
        return right

    def inverse(self, core: RoundFactor) -> Floats:
        """The inverse as [entry, then node and port, cell]: at every entry of the factor, then along the diagonal."""
        made = self.pattern
        found = np.zeros((made.entries + made.nodes + made.ports, self.nodes.shape[1]))
        x, y, entry = made.port_pairs
        found[entry] = core.entries(self.ports[x], self.ports[y])
        found[made.entries + made.nodes :] = core.entries(self.ports, self.ports)
        for step, shares in zip(reversed(made.steps), reversed(self._wide), strict=True):
            own = found[made.entries :][step.nodes]
            own[...] = self.reciprocal[step.nodes]
            if step.push:
                column = found[step.entries].reshape(shares.shape)
                np.einsum("njp,nijp->nip", shares, found[step.between], out=column)
                own += np.einsum("njp,njp->np", shares, column)
        return found


class Cells:
    """A system of conductances in cells. Potentials are above one node of each connected part."""

    def __init__(self, nodes: int, a: Ints, b: Ints, siemens: Floats, cell: Ints, beside: tuple[Ints, Ints]) -> None:
        """cell: the cell of each node, or -1 for the core. beside: pairs of cells between whose ports the core's
        inverse is wanted too.

        A branch between two cells puts its first node into the core, and what many nodes of the core meet is of it.
        """
        self.nodes = nodes
        cell = cell.copy()
        apart = (cell[a] >= 0) & (cell[b] >= 0) & (cell[a] != cell[b])
        cell[a[apart]] = -1
        meets = (cell[a] < 0) != (cell[b] < 0)
        cell[np.bincount(np.where(cell[a] < 0, b, a)[meets], minlength=nodes) > MOST_PORTS] = -1
        self.cell = cell
        self.core_nodes = np.flatnonzero(cell < 0)
        self.core_at = np.full(nodes, -1)
        self.core_at[self.core_nodes] = np.arange(len(self.core_nodes))
        self._core_branches = np.flatnonzero((cell[a] < 0) & (cell[b] < 0))
        self._a, self._b = a, b
        self.buckets, self.home = _buckets(a, b, cell, self.core_at)
        self._near = self._near_ports(*beside)
        self.factorise(siemens)

    def _near_ports(self, first: Ints, second: Ints) -> tuple[Ints, Ints]:
        """Every port of the one cell with every port of the other, as nodes of the core."""
        found = [(np.zeros(0, dtype=np.int64),) * 2]
        one, two = self.ports_of(first), self.ports_of(second)
        for x in one:
            both = (x >= 0) & (two >= 0)
            pairs = np.unique((x * (len(self.core_nodes) + 1) + two)[both])
            found.append((pairs // (len(self.core_nodes) + 1), pairs % (len(self.core_nodes) + 1)))
        return np.concatenate([pair[0] for pair in found]), np.concatenate([pair[1] for pair in found])

    def ports_of(self, cells: Ints) -> Ints:
        """[port, cell]: the ports of cells as nodes of the core, -1 where a cell has fewer."""
        most = max((bucket.pattern.ports for bucket in self.buckets), default=0)
        found = np.full((most, len(cells)), -1)
        home = np.where((cells >= 0) & (cells < self.home.shape[1]), cells, -1)
        bucket_of = np.where(home >= 0, self.home[0, home], -1) if self.home.shape[1] else home
        for at, bucket in enumerate(self.buckets):
            mine = bucket_of == at
            found[: bucket.pattern.ports, mine] = bucket.ports[:, self.home[1, home[mine]]]
        return found

    def factorise(self, siemens: Floats) -> None:
        """Factorise with other conductances in the same places."""
        for bucket in self.buckets:
            bucket.factorise(siemens)
        mine = self._core_branches
        links = [(self.core_at[self._a[mine]], self.core_at[self._b[mine]], siemens[mine])]
        links += [bucket.between_ports() for bucket in self.buckets]
        a, b, g = (np.concatenate(column) for column in zip(*links, strict=True))
        self.links = a, b, g
        self.core = RoundFactor(len(self.core_nodes), a, b, g, self._near)

    def solve(self, amperes: Floats) -> Floats:
        """Potentials [node] for the currents put into nodes."""
        volts = np.array(amperes, dtype=np.float64)
        core = volts[self.core_nodes]
        inside = []
        for bucket in self.buckets:
            right = np.zeros((bucket.pattern.nodes + bucket.pattern.ports, bucket.nodes.shape[1]))
            right[: bucket.pattern.nodes] = volts[bucket.nodes]
            bucket.forward(right)
            first = bucket.pattern.nodes
            if bucket.pattern.ports:
                core += np.bincount(bucket.ports.ravel(), right[first:].ravel(), len(core))
            inside.append(right)
        core = self.core.solve(core)
        volts[self.core_nodes] = core
        for bucket, right in zip(self.buckets, inside, strict=True):
            right[bucket.pattern.nodes :] = core[bucket.ports]
            bucket.back(right)
            volts[bucket.nodes] = right[: bucket.pattern.nodes]
        return volts

    def inverse(self) -> tuple[Floats, Floats]:
        """The inverse along the diagonal, [node], and between the ends of every branch, [branch]."""
        own, along = np.zeros(self.nodes), np.zeros(len(self._a))
        every = np.arange(len(self.core_nodes))
        own[self.core_nodes] = self.core.entries(every, every)
        mine = self._core_branches
        along[mine] = self.core.entries(self.core_at[self._a[mine]], self.core_at[self._b[mine]])
        for bucket in self.buckets:
            made, found = bucket.pattern, bucket.inverse(self.core)
            own[bucket.nodes] = found[made.entries : made.entries + made.nodes]
            proper = made.of_branch >= 0
            along[bucket.branches[proper]] = found[made.of_branch[proper]]
        loops = self._a == self._b
        along[loops] = own[self._a[loops]]
        return own, along

    @cached_property
    def _place(self) -> tuple[Ints, Ints, Ints]:
        """Node -> its bucket (-1: the core), its row there and its cell's column."""
        bucket, row, column = (np.full(self.nodes, -1) for _ in range(3))
        for at, one in enumerate(self.buckets):
            bucket[one.nodes] = at
            row[one.nodes] = np.arange(one.pattern.nodes)[:, None]
            column[one.nodes] = np.arange(one.nodes.shape[1])
        return bucket, row, column

    def follow(self, cells: Ints, nodes: Ints) -> tuple[Floats, Bools]:
        """How far nodes [cell, any] follow each of their cell's ports, [port, cell, any].

        A node that is itself a port of the cell follows that one. Which nodes are neither is told too.
        """
        ports = self.ports_of(cells)
        found = np.zeros((len(ports), *nodes.shape))
        bucket, row, column = (which[nodes] for which in self._place)
        for at, one in enumerate(self.buckets):
            mine = bucket == at
            if one.pattern.ports and mine.any():
                found[: one.pattern.ports, mine] = one.follow()[row[mine], :, column[mine]].T
        core = self.core_at[nodes]
        itself = (core >= 0) & (ports[:, :, None] == core)
        found[itself] = 1.0
        astray = np.where(core >= 0, ~itself.any(axis=0), self.cell[nodes] != cells[:, None])
        return found, astray

    def between(self, first: Ints, second: Ints) -> Floats:
        """The core's inverse between the ports of two cells, [port of first, port of second, pair of cells], for pairs
        named `beside` each other; nought where a cell has fewer ports."""
        one, two = self.ports_of(first), self.ports_of(second)
        found = np.zeros((len(one), len(two), len(first)))
        for i, x in enumerate(one):
            j, pair = np.nonzero((x >= 0) & (two >= 0))
            found[i, j, pair] = self.core.entries(x[pair], two[j, pair])
        return found

    def columns(self, source: Ints, targets: Ints, held: bool = False) -> Floats:
        """The inverse between a node [at] and others of its cell [at, any]; nan where it is in the core,
        or a target in neither the cell nor its ports. held: with the cell's ports held at nought volts."""
        found = np.full(targets.shape, np.nan)
        bucket, row, column = self._place
        for at, one in enumerate(self.buckets):
            mine = np.flatnonzero(bucket[source] == at)
            if not len(mine):
                continue
            columns, rows = column[source[mine]], row[source[mine]]
            order = np.argsort(columns, kind="stable")
            first = np.searchsorted(columns[order], columns[order])
            turn = np.empty(len(mine), dtype=np.int64)
            turn[order] = np.arange(len(mine)) - first  # sources of one cell take turns
            nodes, ports = one.pattern.nodes, one.pattern.ports
            right = np.zeros((nodes + ports, int(turn.max()) + 1, one.nodes.shape[1]))
            right[rows, turn, columns] = 1.0
            one.forward(right)
            out = right[nodes:].copy()
            right[nodes:] = 0.0
            if not held:
                between = self.core.entries(one.ports[:, None], one.ports[None])
                right[nodes:] = np.einsum("xyc,ytc->xtc", between, out)
            one.back(right)
            wanted = targets[mine]
            inside = (bucket[wanted] == at) & (column[wanted] == columns[:, None])
            values = right[np.where(inside, row[wanted], 0), turn[:, None], columns[:, None]]
            found[mine] = np.where(inside, values, np.nan)
            for port in range(ports):
                itself = self.core_at[wanted] == one.ports[port, columns][:, None]
                there = right[nodes + port, turn, columns][:, None]
                found[mine] = np.where(itself, there, found[mine])
        return found


def _buckets(a: Ints, b: Ints, cell: Ints, core_at: Ints) -> tuple[list[Bucket], Ints]:
    """The cells by pattern: of each, its nodes in order, its ports in order, and its branches in order; and where
    each cell is: [bucket, then place in it; cell]."""
    where = np.full((2, int(cell.max(initial=-1)) + 1), -1)
    inner = np.flatnonzero(cell >= 0)
    mine = cell[inner]
    if (np.diff(mine) < 0).any():
        inner = inner[np.argsort(mine, kind="stable")]
        mine = cell[inner]
    if not len(inner):
        return [], where
    new = np.diff(mine, prepend=-1) != 0
    first_node, home = np.flatnonzero(new), np.cumsum(new) - 1
    names, node_count = mine[new], np.diff(first_node, append=len(inner))
    rank = np.full(len(cell), -1)
    rank[inner] = np.arange(len(inner)) - first_node[home]
    number = np.full(int(names[-1]) + 1, -1)
    number[names] = np.arange(len(names))
    of_branch = np.maximum(cell[a], cell[b])
    mine = np.flatnonzero(of_branch >= 0)
    mine = mine[np.argsort(of_branch[mine], kind="stable")]
    owner = number[of_branch[mine]]
    first_branch = np.searchsorted(owner, np.arange(len(names) + 1))
    local, ports, first_port = _local(a[mine], b[mine], owner, rank, node_count, core_at)
    groups: dict[tuple[int, int, bytes], list[int]] = {}
    columns = local.T.astype(np.int32)
    for at in range(len(names)):
        ends = columns[first_branch[at] : first_branch[at + 1]].tobytes()
        count = int(first_port[at + 1] - first_port[at])
        groups.setdefault((int(node_count[at]), count, ends), []).append(at)
    found: list[Bucket] = []
    for (nodes, count, key), members in groups.items():
        cells = np.array(members)
        where[:, names[cells]] = np.full(len(cells), len(found)), np.arange(len(cells))
        rows = slice(first_branch[members[0]], first_branch[members[0] + 1])
        length = rows.stop - rows.start
        made = pattern(nodes, count, key)
        found.append(
            Bucket(
                made,
                inner[first_node[cells] + made.order[:, None]],
                ports[first_port[cells] + np.arange(count)[:, None]],
                mine[first_branch[cells] + np.arange(length)[:, None]],
            )
        )
    return found, where


def _local(a: Ints, b: Ints, owner: Ints, rank: Ints, node_count: Ints, core_at: Ints) -> tuple[Ints, Ints, Ints]:
    """Both ends of every branch in its cell's own numbers; all cells' ports, and where each cell's begin."""
    width = int(core_at.max(initial=0)) + 1
    ends = np.concatenate([a, b])
    local = rank[ends]
    outer = np.flatnonzero(local < 0)
    homes = owner[outer % len(a)]
    found, at = np.unique(homes * width + core_at[ends[outer]], return_inverse=True)
    first = np.searchsorted(found, np.arange(len(node_count) + 1) * width)
    local[outer] = node_count[homes] + at - first[homes]
    return local.reshape(2, -1), found % width, first
