"""Every single-isolator what-if at once, island by island.

Loads draw constant currents. Where a contact alone leads to what lies behind it, opening it takes the loads there off
and changes nothing else, so every other voltage rises by transfer ohms times what they drew: one factorisation of the
island serves all of its contacts. What lies behind such contacts follows the nodes before them, and needs no place in
it. A contact of which that does not hold, or in whose island something else would change its state (a load asleep, a
detector whose current may turn), is solved one by one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.whatif.islands import StudyIslands
from blockcheck.analysis.whatif.leaves import Leaves, leaves_of
from blockcheck.analysis.whatif.rises import ByCells, Currents, Direct, Rises, sorted_by
from blockcheck.analysis.whatif.whatif import Change, WhatIf
from blockcheck.circuit.state import OFF
from blockcheck.model.operate import can_open, open_position
from blockcheck.solver.large import LargeLinear

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@frozen(eq=False)
class Singles:
    """The single-isolator what-ifs of one island.

    ``volts`` [block, isolator]: the lowest voltage between a block's rails with that isolator alone opened and the
    load as it is then, nan where the block is not in the network. ``changes``: what those do that were solved one by
    one; any other takes power from what hangs on it, and changes no other block's power or detection.
    """

    isolators: tuple[str, ...]
    blocks: tuple[str, ...]
    volts: Floats
    changes: Mapping[str, Change]


def singles(ifs: WhatIf) -> Iterator[Singles]:
    """The islands in order, those without an isolator that cuts left out."""
    return _All(ifs).found()


@frozen(eq=False, repr=False, slots=False)
class _All:
    ifs: WhatIf

    def found(self) -> Iterator[Singles]:
        for island, isolators in sorted(self._isolators.items()):
            yield self._island(island, isolators)

    @cached_property
    def _islands(self) -> StudyIslands:
        return StudyIslands.of(self.ifs.study)

    @cached_property
    def _isolators(self) -> dict[int, list[str]]:
        """Island -> the isolators that can cut there."""
        found: dict[int, list[str]] = {}
        for name in self.ifs.study.layout.isolators:
            island = self._islands.islands.of_control(name)
            if island is not None and can_open(self.ifs.study.wiring, self.ifs.operation, name):
                found.setdefault(island, []).append(name)
        return found

    @cached_property
    def _electrics(self) -> Electrics:
        return Electrics.of(self.ifs.study, self.ifs.operation)

    @cached_property
    def _leaves(self) -> Leaves:
        return leaves_of(self._electrics)

    @cached_property
    def _of_node(self) -> Ints:
        """Node of the network -> its island."""
        of_circuit = np.array(self._islands.islands.of_node, dtype=np.int64)
        component = np.asarray(self._electrics.loaded.component)
        island = np.full(int(component.max(initial=-1)) + 1, -1)
        island[component[: len(of_circuit)]] = of_circuit
        found: Ints = island[component]
        return found

    @cached_property
    def _volts(self) -> Floats:
        return np.asarray(self._electrics.loaded.volts)

    @cached_property
    def _rails(self) -> tuple[dict[str, int], Ints, Ints]:
        """Block -> its row; and nodes [block, place] of either rail, the last one repeated where a block has fewer."""
        tracks, bunches = self._electrics.grid.tracks, self._electrics.grid.bunches
        if not bunches:
            names = list(tracks)
            most = max((len(track.at_m) for track in tracks.values()), default=1)
            pair = [
                [(*rail, *(rail[-1:] * (most - len(rail)))) for rail in (track.detected, track.common)]
                for track in tracks.values()
            ]
            both = np.array(pair, dtype=np.int64).reshape(len(names), 2, most)
            return {name: row for row, name in enumerate(names)}, both[:, 0], both[:, 1]
        names = [name for bunch in bunches for name in bunch.blocks]
        most = max(bunch.at_m.shape[1] for bunch in bunches)
        wide = [
            np.concatenate([np.pad(rail, ((0, 0), (0, most - rail.shape[1])), mode="edge") for rail in rails])
            for rails in ([bunch.detected for bunch in bunches], [bunch.common for bunch in bunches])
        ]
        return {name: row for row, name in enumerate(names)}, wide[0], wide[1]

    @cached_property
    def _rises(self) -> Rises:
        """How the rest rises. What lies in leaves follows the rest, and is left out where all nodes are eliminated."""
        linear, leaf, count = self._electrics.loaded.linear, self._leaves.of_node, self._islands.islands.count
        island = np.full(int(self._cluster.max(initial=-1)) + 1, -1)
        own = np.flatnonzero(leaf < 0)
        island[self._cluster[own]] = self._of_node[own]
        if isinstance(linear, LargeLinear):
            _, detected, common = self._rails
            sinks = np.concatenate(self._loads[:2])
            sources = self._cluster[self._leaves.before[sinks]]
            rails = np.concatenate([detected.ravel(), common.ravel()])
            targets = np.concatenate([sources, self._cluster[self._leaves.before[rails]]])
            return ByCells(linear, island, count, sources, targets)
        a, b, ohms = (np.asarray(column) for column in linear.branches[1:4])
        there = (ohms > 0) & (leaf[a] < 0) & (leaf[b] < 0) & (self._of_node[a] >= 0)
        there[list(linear.blocked)] = False
        k = np.flatnonzero(there)
        return Direct(island, count, self._cluster[a[k]], self._cluster[b[k]], 1.0 / ohms[k])

    @cached_property
    def _cluster(self) -> Ints:
        return np.asarray(self._electrics.loaded.linear.cluster, dtype=np.int64)

    @cached_property
    def _loads(self) -> tuple[Ints, Ints, Floats, Floats]:
        """Both nodes of every load, what it draws, and its least voltage."""
        sinks, drawn = self._electrics.loaded_network.sinks, self._electrics.loaded.sink_amperes
        a, b = (np.asarray(ends, dtype=np.int64) for ends in sinks[:2])
        amperes, least = (np.asarray(column, dtype=np.float64) for column in (drawn, sinks.minimum_volts))
        return a, b, amperes, least

    @cached_property
    def _sinks_of(self) -> tuple[Ints, Ints]:
        """The loads by island, and where those of each begin."""
        return sorted_by(self._of_node[self._loads[0]], self._islands.islands.count)

    def _island(self, island: int, isolators: Sequence[str]) -> Singles:
        blocks = self._islands.islands.blocks[island]
        rows, detected, common = self._rails
        volts = np.full((len(blocks), len(isolators)), np.nan)
        own = np.array([rows.get(name, -1) for name in blocks])
        known = np.flatnonzero(own >= 0)
        a, b = detected[own[known]], common[own[known]]
        off = np.array([self._electrics.feeding.now.power(blocks[at]) == OFF for at in known.tolist()], dtype=bool)
        at_once = [at for at, name in enumerate(isolators) if self._fit(island, name)]
        state = self._electrics.feeding.now.state
        still = [at for at, name in enumerate(isolators) if state[name] == open_position(self.ifs.study.wiring, name)]
        volts[np.ix_(known, np.array(still, dtype=np.int64))] = np.where(
            off, 0.0, (self._volts[a] - self._volts[b]).min(axis=1)
        )[:, None]
        if at_once:
            numbers = np.array([self._leaves.isolators[isolators[at]] for at in at_once])
            found, good = self._risen(island, numbers, a, b)
            leaf = self._leaves.of_node
            dead = (leaf[a[:, :1]] == numbers) | (leaf[b[:, :1]] == numbers) | off[:, None]
            volts[np.ix_(known, np.array(at_once, dtype=np.int64))] = np.where(dead, 0.0, found)
            at_once = [at for at, one in zip(at_once, good.tolist(), strict=True) if one]
        held = [row for row, name in enumerate(blocks) if self._electrics.feeding.hold(name) is not None]
        volts[held] = np.maximum(volts[held], 0.0)  # as `Electrics.volts` has it
        rest = sorted({*range(len(isolators))} - {*at_once, *still})
        changes = {isolators[at]: self.ifs.opened([isolators[at]]) for at in rest}
        for at in rest:
            after = changes[isolators[at]].volts
            for row, name in enumerate(blocks):
                lowest = after[name] if name in after else self._electrics.volts(name)
                volts[row, at] = np.nan if lowest is None else lowest
        return Singles(tuple(isolators), blocks, volts, changes)

    def _fit(self, island: int, isolator: str) -> bool:
        return island not in self._barred and isolator in self._leaves.isolators

    def _risen(self, island: int, numbers: Ints, a: Ints, b: Ints) -> tuple[Floats, Bools]:
        """[block, isolator]: the lowest voltage with the loads behind each of some contacts off; and of which contacts
        no load falls asleep by it."""
        column = np.full(self._leaves.count, -1)
        column[numbers] = np.arange(len(numbers))
        leaf, before = self._leaves.of_node, self._leaves.before
        by_island, begin = self._sinks_of
        loads = by_island[begin[island] : begin[island + 1]]
        a_of, b_of, drawn, minimum = self._loads
        ends, amperes, least = (a_of[loads], b_of[loads]), drawn[loads], minimum[loads]
        behind = [np.where(leaf[end] >= 0, column[leaf[end]], -1) for end in ends]
        cluster = [self._cluster[before[end]] for end in ends]
        crossing = leaf[ends[0]] != leaf[ends[1]]
        chosen = [np.flatnonzero((own >= 0) & crossing) for own in behind]
        both = np.concatenate(chosen)
        cases = np.concatenate([own[some] for own, some in zip(behind, chosen, strict=True)])
        currents = Currents(cluster[0][both], cluster[1][both], amperes[both], cases)
        local, rise = self._rises.of(island, currents, len(numbers))
        place = [np.searchsorted(local, one) for one in cluster]
        gone = (behind[0][:, None] == np.arange(len(numbers))) | (behind[1][:, None] == np.arange(len(numbers)))
        seen = (self._volts[ends[0]] - self._volts[ends[1]])[:, None] + rise[place[0]] - rise[place[1]]
        good: Bools = (gone | (seen >= np.maximum(least, 0.0)[:, None])).all(axis=0)
        lowest = np.full((len(a), len(numbers)), np.inf)
        for one, two in zip(a.T, b.T, strict=True):
            found = (np.searchsorted(local, self._cluster[before[end]]) for end in (one, two))
            up, down = (np.minimum(at, len(local) - 1) for at in found)  # a rail without drops floats, and is nowhere
            np.minimum(lowest, (self._volts[one] - self._volts[two])[:, None] + rise[up] - rise[down], out=lowest)
        return lowest, good

    @cached_property
    def _barred(self) -> frozenset[int]:
        """The islands in which an opened contact may change more than the loads behind it."""
        electrics, study, operation = self._electrics, self.ifs.study, self.ifs.operation
        every = range(self._islands.islands.count)
        if study.mended or not electrics.loaded.converged:
            return frozenset(every)
        sinks, loaded, feeding = electrics.loaded_network.sinks, electrics.loaded, electrics.feeding
        found = {int(self._of_node[sinks.a[k]]) for k in (*loaded.asleep, *loaded.unfed)}
        found |= set(self._of_node[self._leaves.unsure].tolist())
        homes = self._islands.blocks
        tracks = electrics.grid.tracks.keys()
        found |= self._homes(study.wiring.fed.keys() - tracks) & self._homes(tracks)  # where some are left out
        for name, home in study.layout.districts.items():
            if home.expects and name not in feeding.case_standing and name in study.circuit.feeds:
                found.add(self._islands.islands.of_node[study.circuit.feeds[name]])  # its load moves with what is awake
        if operation.positions and operation.trains:
            moved = {homes[one.block] for one in operation.trains if one.block in homes}
            for name, control in study.circuit.controls.items():
                island = self._islands.islands.of_control(name)
                if control.kind == "changeover" and island in moved:
                    found.add(island)
        return frozenset(found)

    def _homes(self, blocks: Iterable[Any]) -> set[int]:
        return {self._islands.blocks[name] for name in blocks if name in self._islands.blocks}
