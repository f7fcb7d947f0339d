"""How much: volts, amperes and the worst place of every block, in one way of operating the layout."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cache, cached_property
from itertools import islice, pairwise
from typing import TYPE_CHECKING

from attrs import evolve, frozen

from blockcheck.analysis.power.bridged import EXACT_NODES, bridged, settle
from blockcheck.analysis.power.feeding import Feeding
from blockcheck.analysis.power.left_out import lacking
from blockcheck.analysis.power.loads import Loads, Row, middle_of
from blockcheck.analysis.power.probes import Probe, heaviest, smallest
from blockcheck.analysis.power.settled_loads import SettledLoads
from blockcheck.analysis.power.shorted import shorted
from blockcheck.analysis.power.stretch import Find, Point, Spot, Stretch, worst
from blockcheck.analysis.study import Study
from blockcheck.circuit.state import OFF, ON
from blockcheck.model.layout import Load
from blockcheck.model.operate import Operation
from blockcheck.network.expand import expand
from blockcheck.network.grid import Grid
from blockcheck.solver.drops import Conduct
from blockcheck.solver.linear import Linear, plain
from blockcheck.solver.network import Network, Resistors
from blockcheck.solver.solve import Operating, branch_shares, operating_point, opposing_volts

if TYPE_CHECKING:
    from blockcheck.analysis.power.sweep import Sweep

Ohms = tuple[list[float], ...]

_find = cache(Find)  # one object for all blocks, which then find their answers by identity


@frozen(eq=False, repr=False, slots=False)
class Electrics:
    """The solved network of a study in one operation."""

    study: Study
    operation: Operation

    @classmethod
    def of(cls, study: Study, operation: Operation) -> Electrics:
        """The electrics of an operation; of each of the study's own ones worked out once."""
        return study.always(cls, operation) if study.owns(operation) else cls(study, operation)

    @cached_property
    def feeding(self) -> Feeding:
        """What feeds which block, and what stands in it."""
        return Feeding.of(self.study, self.operation)

    @cached_property
    def grid(self) -> Grid:
        """The network without loads; its rails have nodes wherever a train stands."""
        marks: dict[str, list[float]] = {}
        for one in self.operation.trains:
            marks.setdefault(one.block, []).append(middle_of(self.study, one))
        study = self.study
        return expand(study.wiring, study.circuit, self.feeding.now.state, marks, study.mended)

    @cached_property
    def loads(self) -> Loads:
        """Where the loads are connected, and what they draw."""
        return Loads(self.study, self.operation, self.feeding, self.grid)

    def _network(self, rows: Sequence[Row], across: bool = True) -> Network:
        loaded = self.grid.loaded(self.loads.sinks(rows))
        lying = self.loads.across if across else []
        if not lying:
            return loaded
        new = zip(*(one[:3] for one in lying), strict=True)
        more = Resistors(*([*plain(old), *column] for old, column in zip(loaded.resistors, new, strict=True)))
        return evolve(loaded, resistors=more)

    def _across_rows(self, absent: frozenset[str]) -> list[Row]:
        """What the wheelsets of the other trains draw, and what lies across the rails for good, as constant currents:
        so the resistances stay what they are."""
        if not self.loads.across:
            return []
        amperes = self.loaded.resistor_amperes[-len(self.loads.across) :]
        drawn = zip(self.loads.across, amperes, strict=True)
        return [Row(one.a, one.b, amount, amount, one.block) for one, amount in drawn if one.train not in absent]

    @cached_property
    def loaded_network(self) -> Network:
        """The network with the rest of the load on it."""
        return self._network(self._rows)

    @cached_property
    def _rows(self) -> list[Row]:
        return self.loads.rows()

    @cached_property
    def settled_loads(self) -> SettledLoads:
        """What the loads draw, and which are awake."""
        return SettledLoads(self.feeding, self.grid, self._rows, self.loaded)

    @cached_property
    def loaded(self) -> Operating:
        """The operating point with the rest of the load drawing."""
        return self._solved(self.loaded_network)

    @cached_property
    def unloaded(self) -> Operating:
        """The operating point with no load at all."""
        return self._solved(self.grid.network)

    def _solved(self, network: Network) -> Operating:
        """The operating point; networks with the same resistors share a factorisation."""
        axles = len(network.resistors.a)
        found = operating_point(network, like=self._like.get(axles))
        self._like.setdefault(axles, found)
        return found

    @cached_property
    def _like(self) -> dict[int, Operating]:
        return {}

    @cached_property
    def _rests(self) -> dict[int | None, tuple[Network, Operating]]:
        return {}

    def rest(self, block: str) -> tuple[Network, Operating]:
        """The network and operating point with the rest of the load, less one of the probe's kind if there is one."""
        turn = self._turns.get(self.feeding.supply.get(block, ""))
        if turn not in self._rests:
            own = frozenset(name for name, one in self._turns.items() if one == turn)
            network = self._network(self.loads.rows(self.probe, own))
            self._rests[turn] = network, self._solved(network)
        return self._rests[turn]

    @cached_property
    def _turns(self) -> dict[str, int]:
        """District that expects the probe -> its turn to do without one: those that no conductor joins take it at
        once, and one solution serves them all."""
        found, next_turn, probe = dict[str, int](), dict[int, int](), self.probe
        for name, home in self.study.layout.districts.items():
            if (
                probe is None
                or probe.load is None
                or name in self.feeding.with_trains
                or name not in self.study.circuit.feeds
            ):
                continue
            if any(one.load == probe.load for one in home.expects):
                part = self.unloaded.component[self.study.circuit.feeds[name]]
                found[name] = next_turn.get(part, 0)
                next_turn[part] = found[name] + 1
        return found

    def stretches(self, network: Network, operating: Operating, block: str, less_a: float = 0.0) -> tuple[Stretch, ...]:
        """The stretches of a block at an operating point, each with what its two ends look like.

        ``less_a`` are amperes that something in the middle of the block draws there and is to be taken off.
        """
        track = self.grid.tracks[block]
        pairs = list(zip(track.detected, track.common, strict=True))
        own, across, middle = self._ohms(network, operating)[block]
        opposing = self._opposing(network, operating, block, pairs)
        points = [
            Point(at_m, operating.volts[a] - operating.volts[b] + (less_a * away if less_a else 0.0), lost, ohms)
            for at_m, (a, b), ohms, away, lost in zip(track.at_m, pairs, own, middle, opposing, strict=True)
        ]
        rail = track.ladder.rail_ohm_per_m
        return tuple(
            Stretch(near, far, transfer, 2 * rail * (far.at_m - near.at_m))
            for near, far, transfer in zip(points[:-1], points[1:], across, strict=True)
        )

    @cached_property
    def _known_ohms(self) -> dict[object, dict[str, Ohms]]:
        return {}

    def _ohms(self, network: Network, operating: Operating) -> dict[str, Ohms]:
        """Block -> ohms at each of its places, from each to the next, and from each to the middle; for all at once.

        They depend on what conducts alone, so that operating points which differ in loads share them.
        """
        key = (len(network.resistors.a), operating.linear.blocked)
        if key not in self._known_ohms:
            quads: list[tuple[int, int, int, int]] = []
            for track in self.grid.tracks.values():
                pairs = list(zip(track.detected, track.common, strict=True))
                middle = pairs[track.nearest(track.ladder.length_m / 2)]
                quads += [(a, b, a, b) for a, b in pairs]
                quads += [(*one, *two) for one, two in pairwise(pairs)]
                quads += [(a, b, *middle) for a, b in pairs]
            ohms = iter(operating.linear.transfer(quads))
            self._known_ohms[key] = {
                block: tuple(list(islice(ohms, len(track.at_m) - less)) for less in (0, 1, 0))
                for block, track in self.grid.tracks.items()
            }
        return self._known_ohms[key]

    def _opposing(
        self, network: Network, operating: Operating, block: str, pairs: Sequence[tuple[int, int]]
    ) -> list[float]:
        """What idle detectors take off at each place: the block's own alone, unless rails bridge detectors."""
        if not self.grid.drops:
            return [0.0] * len(pairs)
        own = self.grid.drops.get(block)
        if not self._bridged(network, operating, block):
            idle = own is not None and operating.conduct[own] == Conduct.IDLE
            return [network.drops.volts[own] if own is not None and idle else 0.0] * len(pairs)
        return opposing_volts(network, operating, pairs)

    def _spot(
        self,
        network: Network,
        operating: Operating,
        block: str,
        find: Find,
        amperes: float | None = None,
        drawn: Mapping[int, float] | None = None,
    ) -> Spot:
        """The worst place of a block by ``find``, for a load of some amperes, or (None) of what ``find`` tells.

        ``drawn``: what each node draws, to be taken off where it is the middle of this block.
        """
        found = self._swept(network, operating, find, drawn).get(block)
        if found is None:
            less_a = drawn.get(self.grid.middles[block][0], 0.0) if drawn else 0.0
            found = worst(find(stretch) for stretch in self.stretches(network, operating, block, less_a))
        few = network.nodes <= EXACT_NODES or not math.isfinite(found.value)
        if few and self.grid.drops and self._bridged(network, operating, block):
            return settle(network, operating, self.grid.tracks[block], find, amperes, found)
        return found

    def _swept(
        self, network: Network, operating: Operating, find: Find, drawn: Mapping[int, float] | None
    ) -> Mapping[str, Spot]:
        """The worst places of all blocks of a large layout; none of a small one."""
        if not self.grid.bunches:
            return {}
        from blockcheck.analysis.power.sweep import Sweep

        if id(operating) not in self._sweeps:
            self._sweeps[id(operating)] = Sweep(self.grid, network, operating)
        return self._sweeps[id(operating)].worst(find, drawn)

    @cached_property
    def _sweeps(self) -> dict[int, Sweep]:
        return {}

    def _bridged(self, network: Network, operating: Operating, block: str) -> bool:
        linear = operating.linear
        axles = len(network.resistors.a)  # and no drop is ever added: what may bridge is the same for all loads
        if (axles, block) not in self._known_bridged:
            own, closed = self.grid.drops.get(block), self._closed_of(network, linear)
            self._known_bridged[axles, block] = bridged(network, closed, self.grid.tracks[block], own)
        return self._known_bridged[axles, block]

    def _closed_of(self, network: Network, linear: Linear) -> Linear:
        """With every detector as a plain connection."""
        axles = len(network.resistors.a)
        if axles not in self._closed:
            self._closed[axles] = linear.closed
        return self._closed[axles]

    @cached_property
    def _closed(self) -> dict[int, Linear]:
        return {}

    @cached_property
    def _known_bridged(self) -> dict[tuple[int, str], bool]:
        return {}

    @cached_property
    def lacking(self) -> Mapping[str, tuple[str, ...]]:
        """Block -> the data for want of which the network tells nothing of it, as they are written."""
        return lacking(self.study, self.feeding.now, self.grid, self.unloaded)

    def live(self, block: str) -> bool:
        """Whether a block is in the network and has power, through conductors alone."""
        return block in self.grid.tracks and block not in self.lacking and self.feeding.now.power(block) == ON

    @cached_property
    def probe(self) -> Probe | None:
        """What is put to the worst place of every block; None where no data tell one."""
        return heaviest(self.study, self.operation)

    @cached_property
    def smallest(self) -> Load | None:
        """The smallest vehicle that is meant to be seen."""
        return smallest(self.study)

    def lowest_voltage(self, block: str) -> Spot | None:
        """The lowest voltage that the probe sees in a block; None where it has no power or data lack."""
        if self.probe is None or not self.live(block):
            return None
        amperes = self.probe.amperes
        found = self._spot(*self.rest(block), block, _find("lowest", amperes), amperes)
        return Spot(max(found.value, 0.0), found.at_m)  # where no such current can flow, nothing is left

    def least_short(self, block: str) -> Spot | None:
        """The least current of a short anywhere in a block, with no load drawing; None where it has no power, or a frog
        shorts it already."""
        if not self.live(block) or self.shorted(block):
            return None
        return self._spot(self.grid.network, self.unloaded, block, _find("least", 0.0))

    def shorted(self, block: str) -> bool:
        """Whether a frog joins the rails of a block somewhere."""
        frogs = self.study.circuit.frog_shorts - self.study.mended
        return bool(frogs) and shorted(self.grid.tracks[block], self.unloaded.volts)

    def alone(self, block: str, find: Find) -> Spot:
        """The worst place by ``find`` for something alone in a block, with the rest of the load drawing elsewhere."""
        network, operating, drawn = self._elsewhere(block)
        few = network.nodes <= EXACT_NODES
        if few and drawn.get(self.grid.middles[block][0]) and self._bridged(network, operating, block):
            (network, operating), drawn = self.emptied(block), {}
        return self._spot(network, operating, block, find, drawn=drawn)

    def emptied(self, block: str) -> tuple[Network, Operating]:
        """The network and operating point with nothing in a block, and the rest of the load drawing elsewhere."""
        trains = self._standing(block)
        network = self._network(self.loads.rows(absent=trains, empty=block) + self._across_rows(trains), across=False)
        return network, self._solved(network)

    def _standing(self, block: str) -> frozenset[str]:
        return frozenset(one.train for one in self.operation.trains if one.block == block)

    def _elsewhere(self, block: str) -> tuple[Network, Operating, dict[int, float]]:
        """The network and operating point with no train in the block, and what each node of a rail draws: there a share
        of what the district expects is still on, so that one solution serves all blocks without a train."""
        trains = self._standing(block)
        if trains not in self._without:
            if trains or self.loads.across:
                network = self._network(self.loads.rows(absent=trains) + self._across_rows(trains), across=False)
                operating = self._solved(network)
            else:
                network, operating = self.loaded_network, self.loaded
            drawn: dict[int, float] = {}
            for node, amperes in zip(network.sinks.a, operating.sink_amperes, strict=True):
                drawn[node] = drawn.get(node, 0.0) + amperes
            self._without[trains] = network, operating, drawn
        return self._without[trains]

    @cached_property
    def _without(self) -> dict[frozenset[str], tuple[Network, Operating, dict[int, float]]]:
        return {}

    def highest_voltage(self, block: str, amperes: float) -> float:
        """The highest voltage that a load of some amperes, alone in a block, sees at any of its places; of a block that
        is not in the network, behind detector and hold resistor, as if wires and rails had no resistance."""
        if block not in self.grid.tracks:
            return self.loads.most_volts(block, amperes)
        stretches = self.stretches(*self._elsewhere(block)[:2], block)
        points = [point for stretch in stretches for point in (stretch.near, stretch.far)]
        return max(point.volts - point.opposing - amperes * point.ohms for point in points)

    def channel_amperes(self, block: str) -> float | None:
        """What flows through a block's detector with the load as it is; None for a block without one."""
        found = self.through_channel(self.loaded, block)
        return None if found is None else abs(found)

    def share(self, network: Network, operating: Operating, block: str, place: int) -> float:
        """The part of a current at a place of a block that its channel carries while every detector conducts."""
        drop, plain = self.grid.drops.get(block), self.grid.channels.get(block)
        linear, track = operating.linear, self.grid.tracks[block]
        branch = linear.branches.drops[drop] if drop is not None else plain
        if branch is None:
            return 0.0
        return abs(
            branch_shares(
                network, self._closed_of(network, linear), [branch], track.detected[place], track.common[place]
            )[0]
        )

    def through_channel(self, operating: Operating, block: str) -> float | None:
        """What flows through a block's detector, from its bank to the block, at an operating point."""
        drop, plain = self.grid.drops.get(block), self.grid.channels.get(block)
        if drop is not None:
            return operating.drop_amperes[drop]
        return None if plain is None else operating.resistor_amperes[plain]

    def volts(self, block: str) -> float | None:
        """The lowest voltage between a block's rails with the load as it is; None where the block is left out."""
        track = self.grid.tracks.get(block)
        if self.feeding.now.power(block) == OFF and track is not None:
            return 0.0
        if track is None or block in self.lacking:
            return None
        volts = self.loaded.volts
        lowest = min(volts[a] - volts[b] for a, b in zip(track.detected, track.common, strict=True))
        return lowest if block in self.feeding.supply else max(lowest, 0.0)  # no load turns a trickle round


def settled(value: float) -> float:
    """A solved quantity to nine digits, and nought for rounding's remains: the same on every machine."""
    return 0.0 if abs(value) < 1e-12 else float(f"{value:.9g}")
