"""`electric.Expander` for large layouts: blocks of one shape at once, as numpy arrays, without an object a node.

Blocks whose ladders have the same count of drops and the same order of places form a bucket. Each block's nodes lie
together (bus, detected rail, common rail), and so do each run's resistors. The detected side of a block is a cell of
its own, and the common side of a harness another: see `solver.cells`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import cast, overload

import numpy as np
from attrs import field, frozen
from numpy.typing import NDArray

from blockcheck.circuit.ladder import TINY, Ladder, rail_places
from blockcheck.core.spans import Path
from blockcheck.network.bunch import Bunch
from blockcheck.network.electric import Expander
from blockcheck.network.grid import Grid, Run, Track
from blockcheck.solver.network import Grouping, Network, Resistors

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class _Tracks(Mapping[str, Track]):
    """The tracks of all bunches, each made when it is first asked for."""

    def __init__(self, bunches: Sequence[Bunch], order: Sequence[str]) -> None:
        self._bunches, self._order = bunches, order
        self._where = {block: (at, row) for at, bunch in enumerate(bunches) for row, block in enumerate(bunch.blocks)}
        self._made: dict[str, Track] = {}

    def __getitem__(self, block: str) -> Track:
        found = self._made.get(block)
        if found is None:
            at, row = self._where[block]
            bunch = self._bunches[at]
            found = self._made[block] = Track(
                block,
                bunch.ladders[row],
                tuple(bunch.at_m[row].tolist()),
                tuple(bunch.detected[row].tolist()),
                tuple(bunch.common[row].tolist()),
            )
        return found

    def __contains__(self, block: object) -> bool:
        return block in self._where

    def __iter__(self) -> Iterator[str]:
        return iter(self._order)

    def __len__(self) -> int:
        return len(self._order)


def bench_joints(segment_m: Floats, start_m: Floats, end_m: Floats, whole_m: Floats) -> Floats:
    """As `ladder.bench_joints`; a segment of nought stands for a bus in one piece."""
    last = np.minimum(end_m, whole_m - 2 * TINY)
    segment = np.where(segment_m > 0, segment_m, 1.0)
    count = np.floor((last + TINY) / segment) - np.floor((start_m + TINY) / segment)
    return np.where(segment_m > 0, np.maximum(count, 0.0), 0.0)


def wire_ohm(
    per_m: Floats, joint_ohm: Floats, segment_m: Floats, start_m: Floats, end_m: Floats, whole_m: Floats
) -> Floats:
    """As `Ladder.wire_ohm`."""
    metres = np.where(end_m - start_m > TINY, end_m - start_m, 0.0)
    return per_m * metres + joint_ohm * bench_joints(segment_m, start_m, end_m, whole_m)


class _Resistors:
    """Resistors in pieces, numbered on from those made one by one."""

    def __init__(self, first: int) -> None:
        self._next = first
        self._pieces: list[tuple[Ints, Ints, Floats]] = []

    def add(self, a: Ints, b: Ints, ohms: Floats) -> Ints:
        """The numbers that the new ones have, in the shape of ``ohms``."""
        first, self._next = self._next, self._next + ohms.size
        first_ends, second_ends = (np.broadcast_to(ends, ohms.shape).ravel() for ends in (a, b))
        self._pieces.append((first_ends, second_ends, ohms.ravel()))
        return np.arange(first, self._next).reshape(ohms.shape)

    def after(self, one_by_one: Resistors) -> Resistors:
        """All resistors, those made one by one first."""
        columns = [np.concatenate([column, *more]) for column, *more in zip(one_by_one, *self._pieces, strict=True)]
        return Resistors(*(cast("Sequence[float]", column) for column in columns))  # type: ignore[arg-type]


class _Runs(Sequence[Run]):
    """The runs of a grid, made when somebody asks."""

    def __init__(self, make: Callable[[], list[Run]]) -> None:
        self._make = make

    @cached_property
    def _all(self) -> list[Run]:
        return self._make()

    @overload
    def __getitem__(self, at: int) -> Run: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[Run]: ...
    def __getitem__(self, at: int | slice) -> Run | Sequence[Run]:
        return self._all[at]

    def __iter__(self) -> Iterator[Run]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)


@frozen(eq=False, repr=False)
class _Shape:
    """A ladder's places: how many there are, the middle one, and the one of every drop."""

    at_m: tuple[float, ...]
    middle: int
    of_drop: tuple[int, ...]


class _Group:
    """The blocks of one shape while they are put together; columns of their ladders' numbers."""

    def __init__(self, shape: _Shape, members: Sequence[tuple[str, Ladder, _Shape]]) -> None:
        self.shape = shape
        self.blocks = tuple(block for block, _, _ in members)
        self.ladders = tuple(own for _, own, _ in members)
        self.at_m = np.array([own.at_m for _, _, own in members], dtype=np.float64)
        self.drops_m = np.array([own.drops_m for own in self.ladders], dtype=np.float64)
        self.drops_m = self.drops_m.reshape(len(members), len(shape.of_drop))
        numbers = [
            (
                one.lead_m,
                one.length_m,
                one.bus_ohm_per_m,
                one.feeder_ohm,
                one.rail_ohm_per_m,
                one.segment_m or 0.0,
                one.joint_ohm,
            )
            for one in self.ladders
        ]
        columns = np.array(numbers, dtype=np.float64).T[..., None]
        self.lead, self.length, self.bus, self.feeder, self.rail, self.segment, self.joint = columns
        self.detected = self.common = self.along = np.zeros((0, 0), dtype=np.int64)


@frozen(eq=False, repr=False, slots=False)
class LargeExpander(Expander):
    """As `Expander`; blocks' rails and buses, and common buses, by arrays."""

    groups: list[_Group] = field(factory=list)
    cells: list[Ints] = field(factory=list)
    numbered: dict[str, tuple[int, int]] = field(factory=dict)
    """Block -> its number, which is that of its detected side's cell, and the cell of its common side."""
    rail_ends: dict[str, tuple[tuple[int, int], tuple[int, int]]] = field(factory=dict)

    @cached_property
    def starts(self) -> dict[int, list[str]]:
        """Node at which a common bus begins -> the blocks whose drops attach to it."""
        return {}

    def commons(self, ladders: Mapping[str, Ladder]) -> None:
        """The nodes of all rails and buses. What lies between them follows once everything else is there."""
        self.starts.update(self.harnessed(ladders))
        for at, blocks in enumerate(self.starts.values()):
            for block in blocks:
                self.numbered[block] = len(self.numbered), len(ladders) + at
        alone = [block for block in ladders if block in self.circuit.through]
        for at, block in enumerate(alone, start=len(self.starts)):
            self.numbered[block] = len(self.numbered), len(ladders) + at
            self.detected_by_host(block)
        own = np.full(len(self.circuit.labels), -1)
        for block, (detected, common) in self.numbered.items():
            own[self.circuit.detected[block]], own[self.circuit.common[block]] = detected, common
        self.cells.append(own)
        self.groups.extend(self._shaped(ladders))
        for group in self.groups:
            cells = np.array([self.numbered[block] for block in group.blocks])
            places, drops = len(group.shape.at_m), len(group.shape.of_drop)
            inside = self.nodes(np.repeat(cells[:, :1], drops + places, axis=1))
            group.along, group.detected = inside[:, :drops], inside[:, drops:]
            group.common = self.nodes(np.repeat(cells[:, 1:], places, axis=1))
            near = zip(group.detected[:, 0].tolist(), group.common[:, 0].tolist(), strict=True)
            far = zip(group.detected[:, -1].tolist(), group.common[:, -1].tolist(), strict=True)
            self.rail_ends.update(zip(group.blocks, zip(near, far, strict=True), strict=True))

    def nodes(self, cells: Ints) -> Ints:
        """New nodes in cells, in the shape of ``cells``."""
        first = self.build.more_nodes(cells.size)
        self.cells.append(cells.ravel())
        return np.arange(first, first + cells.size).reshape(cells.shape)

    def ends(self, block: str, end: int) -> tuple[int, int] | None:
        found = self.rail_ends.get(block)
        return found[end] if found is not None else None

    def _shaped(self, ladders: Mapping[str, Ladder]) -> list[_Group]:
        """The blocks by shape: as many places, the middle and every drop at the same of them."""
        known: dict[object, _Shape] = {}
        members: dict[object, list[tuple[str, Ladder, _Shape]]] = {}
        for block in self.numbered:
            own, marks = ladders[block], tuple(self.marks.get(block, ()))
            key = (own.length_m, own.drops_m, marks)
            shape = known.get(key)
            if shape is None:
                track = Track(block, own, rail_places(own, marks), (), ())
                middle = track.nearest(own.length_m / 2)
                known[key] = shape = _Shape(track.at_m, middle, tuple(map(track.nearest, own.drops_m)))
            members.setdefault((len(shape.at_m), shape.middle, shape.of_drop), []).append((block, own, shape))
        return [_Group(blocks[0][2], blocks) for blocks in members.values()]

    def whole(self, sources: Mapping[str, int], lacking: Mapping[str, tuple[Path, ...]]) -> Grid:
        resistors = _Resistors(self.build.resistors)
        taps, buses, last = self._common_buses(resistors)
        if self.unknown:
            tied = [(last.get(start, start), rail) for start, rails in self.unknown.items() for rail in rails]
            far, near = np.array(tied, dtype=np.int64).T
            resistors.add(far, near, np.zeros(len(tied)))
        bunches, numbers = list[Bunch](), list[tuple[Ints, Ints, Ints]]()
        for group, attached in zip(self.groups, taps, strict=True):
            bunches.append(self._bunch(group, attached, resistors, numbers))
            if group.shape.of_drop:
                ends = zip(group.blocks, group.along[:, -1].tolist(), attached[:, -1].tolist(), strict=True)
                self.bus_ends.update({block: (own, tap) for block, own, tap in ends if self.terminated(block)})
        made, of_node = self.build.build(), np.concatenate(self.cells)
        pairs = np.array(list(self.numbered.values()), dtype=np.int64).reshape(-1, 2)
        network = Network(
            len(of_node),
            resistors.after(made.resistors),
            made.sources,
            made.drops,
            grouping=Grouping(_column(of_node), _column(pairs[:, 0]), _column(pairs[:, 1])),
        )
        return Grid(
            network,
            self.state,
            _Tracks(bunches, list(self.numbered)),
            sources,
            self.drops,
            self.channels,
            {name: tuple(contacts) for name, contacts in self.contacts.items()},
            _Runs(lambda: self._all_runs(buses, bunches, numbers)),
            lacking,
            bus_ends=self.bus_ends,
            bunches=tuple(bunches),
        )

    def _common_buses(self, resistors: _Resistors) -> tuple[list[Ints], list[range], dict[int, int]]:
        """Every common bus from its drops' places: [block, drop] nodes where they attach, for each group of blocks, and
        the resistors along each bus; and the node at the far end of each, by that at which it begins."""
        terminals = np.array(list(self.starts), dtype=np.int64)
        homes = [np.array([self.numbered[block][1] for block in group.blocks]) for group in self.groups]
        home = np.concatenate(
            [*(np.repeat(at, len(group.shape.of_drop)) for at, group in zip(homes, self.groups, strict=True)), _NONE]
        )
        first_cell = len(self.numbered)
        home = home.astype(np.int64) - first_cell
        distance = np.concatenate([*((group.lead + group.drops_m).ravel() for group in self.groups), _NOUGHT])
        order = np.lexsort((distance, home))
        bus, at_m = home[order], distance[order]
        fresh = np.diff(bus, prepend=-1) != 0
        before = np.where(fresh, 0.0, np.roll(at_m, 1))
        new = at_m > before
        nodes = self.nodes(bus[new] + first_cell)
        count = np.cumsum(new)
        start = np.searchsorted(bus, np.arange(len(terminals)))
        already = np.concatenate([[0], count])[start]
        here = np.where(count > already[bus], np.append(nodes, 0)[count - 1], terminals[bus])
        whole = np.zeros(len(terminals))
        for group, at in zip(self.groups, homes, strict=True):
            if group.shape.of_drop:
                np.maximum.at(whole, at - first_cell, (group.lead + group.length)[:, 0])
        ladder_of = {
            block: own for group in self.groups for block, own in zip(group.blocks, group.ladders, strict=True)
        }
        firsts = [ladder_of[blocks[0]] for blocks in self.starts.values()]
        numbers = np.array(
            [(one.common_ohm_per_m, one.joint_ohm, one.segment_m or 0.0) for one in firsts], dtype=np.float64
        )
        per_m, joint, segment = numbers.reshape(-1, 3).T[:, bus[new]]
        ohms = wire_ohm(per_m, joint, segment, before[new], at_m[new], whole[bus[new]])
        behind = np.where(fresh, terminals[bus], np.roll(here, 1))
        made = resistors.add(behind[new], nodes, ohms)
        base = int(made[0]) if len(made) else 0
        stops = np.append(already, count[-1] if len(count) else 0)[1:]  # none without a bus
        runs = [range(base + one, base + end) for one, end in zip(already.tolist(), stops.tolist(), strict=True)]
        taps = np.empty(len(here), dtype=np.int64)
        taps[order] = here
        sizes = np.cumsum([group.drops_m.size for group in self.groups])[:-1]
        pieces = np.split(taps, sizes) if self.groups else []
        attached = [piece.reshape(group.drops_m.shape) for piece, group in zip(pieces, self.groups, strict=True)]
        return (
            attached,
            runs,
            dict(zip(terminals[bus].tolist(), here.tolist(), strict=True)),
        )  # the last one of each stays

    def _bunch(self, group: _Group, taps: Ints, resistors: _Resistors, numbers: list[tuple[Ints, Ints, Ints]]) -> Bunch:
        """What lies along and between the rails and buses of the blocks of one shape."""
        circuit, of_drop = self.circuit, list(group.shape.of_drop)
        detected = np.array([circuit.detected[block] for block in group.blocks])[:, None]
        behind = np.hstack([detected, group.along[:, :-1]])[:, : len(of_drop)]
        distance = group.lead + group.drops_m
        before = np.hstack([np.zeros_like(group.lead), distance[:, :-1]])[:, : len(of_drop)]
        whole = group.lead + group.length
        ohms = wire_ohm(group.bus, group.joint, group.segment, before, distance, whole)
        along = resistors.add(behind, group.along, ohms)
        feeders = np.repeat(group.feeder, len(of_drop), axis=1)
        drops = resistors.add(group.along, group.detected[:, of_drop], feeders)
        rails = np.stack([group.detected, group.common], axis=1)
        steps = np.repeat((group.rail * np.diff(group.at_m, axis=1))[:, None], 2, axis=1)
        stretches = resistors.add(rails[:, :, :-1], rails[:, :, 1:], steps)
        common_drops = resistors.add(group.common[:, of_drop], taps, feeders)
        numbers.append((along, drops, common_drops))
        tied = np.array([block not in self.own_common and bool(of_drop) for block in group.blocks])
        common = np.array([circuit.common[block] for block in group.blocks])
        resistors.add(common[tied], group.common[tied, 0], np.zeros(int(tied.sum())))
        return Bunch(
            group.blocks,
            group.ladders,
            group.at_m,
            group.detected,
            group.common,
            stretches,
            group.rail[:, 0],
            group.shape.middle,
        )

    def _all_runs(
        self, buses: Sequence[range], bunches: Sequence[Bunch], numbers: Sequence[tuple[Ints, Ints, Ints]]
    ) -> list[Run]:
        found = list(self.runs)
        for blocks, along in zip(self.starts.values(), buses, strict=True):
            found.append(self.common_run(blocks, along))
        for bunch, columns in zip(bunches, numbers, strict=True):
            for block, *rows in zip(bunch.blocks, *(column.tolist() for column in columns), strict=True):
                if block in self.circuit.through:
                    continue
                found.append(self.bus_run(block, rows[0]))
                found += (
                    self.drop_run(block, what, row)
                    for what, row in zip(("drops", "common drops"), rows[1:], strict=True)
                )
        return found


_NONE, _NOUGHT = np.zeros(0, dtype=np.int64), np.zeros(0)


def _column(numbers: Ints) -> Sequence[int]:
    """An array as a column of a network."""
    return cast("Sequence[int]", numbers)
