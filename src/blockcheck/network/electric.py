"""The network's view of a circuit: the same edges with resistances, sources and drops, for one state.

Nodes 0 .. n - 1 are those of the contacts' view; rails, bus places and the common bus come after them. A block whose
own data are incomplete is left out, and so are the joints to it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from attrs import field, frozen

from blockcheck.circuit.ladder import Ladder, contact_ohm, ladder, panel_ohm, rail_places, stretch_ohm
from blockcheck.circuit.parts import CLOSED, Circuit, Edge, Kind
from blockcheck.circuit.state import State
from blockcheck.core.spans import Path
from blockcheck.model.wiring import Fed, Wiring
from blockcheck.network.grid import Common, Grid, Part, Run, Track
from blockcheck.solver.network import Builder


@frozen(eq=False, repr=False, slots=False)
class Expander:
    """Makes a grid, node by node. `bulk.LargeExpander` makes the rails and buses of large layouts at once."""

    wiring: Wiring
    circuit: Circuit
    state: State
    marks: Mapping[str, Sequence[float]]
    mended: frozenset[Path] = frozenset()
    tracks: dict[str, Track] = field(factory=dict)
    drops: dict[str, int] = field(factory=dict)
    channels: dict[str, int] = field(factory=dict)
    contacts: dict[str, list[int]] = field(factory=dict)
    runs: list[Run] = field(factory=list)
    parts: dict[Part, int] = field(factory=dict)
    ties: dict[int, tuple[int, int]] = field(factory=dict)
    common_buses: dict[str, Common] = field(factory=dict)
    bus_ends: dict[str, tuple[int, int]] = field(factory=dict)
    unknown: dict[int, list[int]] = field(factory=dict)
    """Node at which a common bus begins -> common rails of left out blocks, which attach somewhere on it."""

    @cached_property
    def build(self) -> Builder:
        return Builder(len(self.circuit.labels))

    def grid(self) -> Grid:
        ladders, lacking = self.ladders()
        boosters = self.wiring.layout.boosters
        sources = {
            name: self.build.source(
                node, self.circuit.back[name], boosters[name].voltage_v, boosters[name].resistance_ohm
            )
            for name, node in self.circuit.hot.items()
        }
        for number, edge in enumerate(self.circuit.edges):
            made = self.edge(edge)
            if made is not None:
                self.parts["edge", number] = made
        self.commons(ladders)
        self.joints()
        self.frogs()
        return self.whole(sources, lacking)

    def whole(self, sources: Mapping[str, int], lacking: Mapping[str, tuple[Path, ...]]) -> Grid:
        return Grid(
            self.build.build(),
            self.state,
            self.tracks,
            sources,
            self.drops,
            self.channels,
            {name: tuple(numbers) for name, numbers in self.contacts.items()},
            tuple(self.runs),
            lacking,
            self.parts,
            self.ties,
            self.common_buses,
            self.bus_ends,
        )

    def ladders(self) -> tuple[dict[str, Ladder], dict[str, tuple[Path, ...]]]:
        """The ladders of the blocks that have one, and what the others lack. Blocks of the same data share theirs."""
        ladders: dict[str, Ladder] = {}
        lacking: dict[str, tuple[Path, ...]] = {}
        known: dict[object, Ladder | None] = {}
        for name in self.circuit.detected:
            fed = self.wiring.fed[name]
            block, feeding = fed.block, self._feeding(fed)
            own = fed.board.feed if fed.board is not None else None  # a wire that does not exist
            alone, panels = fed.through is not None, tuple(one.panel for one in fed.isolators)
            told = (block.length_m, block.lead_m, block.feeders, block.feeders_at_m)
            key = (block.harness, *told, feeding, alone, own, panels)
            found = known.get(key) if not fed.missing else None
            if found is None:
                found, lacks = ladder(self.wiring.layout, fed, feeding)
                if found is None:
                    lacking[name] = lacks
                    continue
                known[key] = found
            ladders[name] = found
        return ladders, lacking

    def _feeding(self, fed: Fed) -> str | None:
        """The district that feeds a block in this state: the one that its changeover stands at, else its home."""
        fed = self.wiring.host(fed.block.name)
        if fed.changeover is not None:
            position = self.state[fed.changeover.name]
            return position if position in self.wiring.layout.districts else fed.district
        return fed.district

    def edge(self, edge: Edge) -> int | None:
        """The resistor of an edge, where it conducts and is none of the rails'."""
        kind = edge.kind
        if kind in (Kind.FEED, Kind.RETURN, Kind.BANK):
            return self.stretch(edge)
        if kind is Kind.HOLD:
            isolator = self.wiring.layout.isolators[str(edge.path[1])]
            if self.state[isolator.name] != CLOSED and isolator.hold_ohm is not None:
                return self.build.resistor(edge.a, edge.b, isolator.hold_ohm)
        elif kind in (Kind.POLE, Kind.THROW):
            assert edge.control is not None
            if self.state[edge.control] == edge.position:
                isolator = self.wiring.layout.isolators[edge.control]
                made = self.build.resistor(edge.a, edge.b, contact_ohm(self.wiring.layout, isolator, edge))
                self.panel_run(isolator.panel, edge, made)
                self.contacts.setdefault(edge.control, []).append(made)
                return made
        elif kind is Kind.LEAD:
            panel = self.wiring.layout.panels[str(edge.path[1])]
            made = self.build.resistor(edge.a, edge.b, panel_ohm(self.wiring.layout, panel, edge.panel_m))
            self.panel_run(panel.name, edge, made)
            return made
        elif kind is Kind.DETECTOR:
            return self.detector(edge)
        elif kind in (Kind.POINTS, Kind.FROG):
            pass  # tied to the rails, once there are any
        elif kind is Kind.COMMON and edge.b in self.circuit.block_of:
            pass  # a block's drops attach to the common bus one by one
        elif kind is not Kind.JOINT:
            return self.build.resistor(edge.a, edge.b, 0.0)
        return None

    def stretch(self, edge: Edge) -> int:
        """One conductor of the pair from booster to district, or the wire to a board; a named return beyond the pair
        joins districts directly."""
        layout, (table, name) = self.wiring.layout, map(str, edge.path[:2])
        named = edge.kind is Kind.RETURN and len(edge.path) > 2
        feed = None if named else (layout.districts[name] if table == "districts" else layout.boards[name]).feed
        number = self.build.resistor(edge.a, edge.b, stretch_ohm(layout, feed))
        if feed is not None:
            what = "return" if edge.kind is Kind.RETURN else "feed"
            self.runs.append(Run(f"{what} of {name}", feed.wire, (table, name, "feed", "wire"), (number,)))
        return number

    def panel_run(self, panel: str | None, edge: Edge, number: int) -> None:
        """The wire to or from a panel, for what it carries."""
        if edge.panel_m and panel is not None:
            size = str(self.wiring.layout.panels[panel].wire)
            self.runs.append(Run(f"wires of panel {panel}", size, ("panels", panel, "wire"), (number,)))

    def detector(self, edge: Edge) -> int | None:
        block = str(edge.path[1])
        kind = self.wiring.fed[block].type
        assert kind is not None
        if kind.sensing == "series" and kind.drop_v > 0:
            self.drops[block] = self.build.drop(edge.a, edge.b, kind.drop_v)
            return None
        self.channels[block] = self.build.resistor(edge.a, edge.b, 0.0)
        return self.channels[block]

    def frogs(self) -> None:
        """Every switched frog's tie to the rail that its points choose, and to the rails beyond where it is not cut. It
        carries no load of its own."""
        for number, edge in enumerate(self.circuit.edges):
            if edge.kind not in (Kind.FROG, Kind.POINTS) or (edge.kind is Kind.FROG and edge.path in self.mended):
                continue
            block = self.circuit.block_of[edge.b]
            ends = self.ends(block, self._end_of(edge, block))
            if ends is None:
                continue
            self.ties[number] = edge.a, ends[self.circuit.detected[block] != edge.b]
            if edge.kind is Kind.FROG or self.state[str(edge.control)] == edge.position:
                wire = self.wiring.layout.turnouts[edge.part].frog_wire if edge.kind is Kind.POINTS else None
                ohms = stretch_ohm(self.wiring.layout, wire)
                self.parts["edge", number] = self.build.resistor(*self.ties[number], ohms)

    def ends(self, block: str, end: int) -> tuple[int, int] | None:
        """The nodes of both rails at the near end (0) or the far one (-1)."""
        track = self.tracks.get(block)
        return (track.detected[end], track.common[end]) if track is not None else None

    def _end_of(self, edge: Edge, block: str) -> int:
        """The end of a block at which a turnout lies, by the joint there; where none tells it, the near one."""
        layout = self.wiring.layout
        turnout = layout.turnouts[str(edge.path[1])]
        beyond = [turnout.through, turnout.diverging] if block == turnout.block else [block]
        for other in beyond:
            further = layout.turnouts.get(str(other))
            home = further.block if further is not None else other
            for index in self.wiring.joints_of.get(frozenset((turnout.block, str(home))), ()):
                joint = layout.joints[index]
                return 0 if joint.ends[joint.blocks.index(block)] == "near" else -1
        return 0

    def commons(self, ladders: Mapping[str, Ladder]) -> None:
        """Every harness's common bus with the drops of its blocks in order along it, and the blocks' own buses."""
        groups = self.harnessed(ladders)
        ends = {terminal: self.common_bus(terminal, blocks, ladders) for terminal, blocks in groups.items()}
        for terminal, nodes in self.unknown.items():
            for (
                node
            ) in nodes:  # nobody knows where on the bus: at its end, what stands there takes most from the others
                self.build.resistor(ends.get(terminal, terminal), node, 0.0)
        for block in ladders:
            if block in self.circuit.through:
                self.alone(block, ladders[block])
            else:
                self.bus(block, ladders[block])

    def alone(self, block: str, own: Ladder) -> None:
        """The rails of a block without drops, whose detector is that of the block that feeds it."""
        self.rails(block, own, ())
        self.detected_by_host(block)

    def detected_by_host(self, block: str) -> None:
        """What is asked of the detector of a block without a feed of its own is asked of that which feeds it."""
        host = self.wiring.host(block).block.name
        for known in (self.drops, self.channels):
            if host in known:
                known[block] = known[host]

    def harnessed(self, ladders: Mapping[str, Ladder]) -> dict[int, list[str]]:
        """Node at which a common bus begins -> the blocks whose drops attach to it."""
        groups: dict[int, list[str]] = {}
        for edge in self.circuit.edges:
            block = self.circuit.block_of.get(edge.b) if edge.kind in (Kind.COMMON, Kind.POLE) else None
            if block is not None and block in ladders and edge.b == self.circuit.common[block]:
                own = edge.kind is Kind.POLE  # behind a contact of its own the block's common runs by itself
                groups.setdefault(edge.b if own else edge.a, []).append(block)
            elif block is not None and edge.kind is Kind.COMMON:
                self.unknown.setdefault(edge.a, []).append(edge.b)
        return groups

    def common_bus(self, terminal: int, blocks: Sequence[str], ladders: Mapping[str, Ladder]) -> int:
        """The bus with its blocks' drops; returns the node at its far end."""
        whole = max(ladders[block].lead_m + ladders[block].length_m for block in blocks)
        taps = sorted(
            (ladders[block].lead_m + place, block, index)
            for block in blocks
            for index, place in enumerate(ladders[block].drops_m)
        )
        first = ladders[blocks[0]]
        here, at_m, numbers, ends = terminal, 0.0, list[int](), list[float]()
        nodes: dict[tuple[str, int], int] = {}
        for distance, block, index in taps:
            if distance > at_m:
                there = self.build.node()
                ohms = first.wire_ohm(first.common_ohm_per_m, at_m, distance, whole)
                self.parts["common", blocks[0], len(numbers)] = made = self.build.resistor(here, there, ohms)
                numbers.append(made)
                ends.append(distance)
                here, at_m = there, distance
            nodes[block, index] = here
        for block in blocks:
            taps_of = [nodes[block, index] for index in range(len(ladders[block].drops_m))]
            self.rails(block, ladders[block], taps_of)
            if taps_of and self.terminated(block):
                self.bus_ends[block] = self.circuit.detected[block], taps_of[-1]
        self.runs.append(self.common_run(blocks, numbers))
        harness = str(self.wiring.layout.blocks[blocks[0]].harness)
        self.common_buses[blocks[0]] = Common(harness, tuple(blocks), whole, tuple(ends))
        return here

    def terminated(self, block: str) -> bool:
        """Whether something lies across the far end of a block's bus pair."""
        return self.wiring.layout.harnesses[str(self.wiring.layout.blocks[block].harness)].terminator is not None

    def common_run(self, blocks: Sequence[str], numbers: Sequence[int]) -> Run:
        harness = self.wiring.layout.blocks[blocks[0]].harness
        name = f"common of {harness}" if len(blocks) > 1 else f"common of {blocks[0]}"
        size = str(self.wiring.layout.harnesses[str(harness)].common)
        return Run(name, size, ("harnesses", str(harness), "common"), tuple(numbers))

    def rails(self, block: str, own: Ladder, taps: Sequence[int]) -> None:
        """Both rails of a block, and its common drops to the places of the common bus."""
        places = rail_places(own, self.marks.get(block, ()))
        detected = tuple(self.build.node() for _ in places)
        common = tuple(self.build.node() for _ in places)
        for index in range(len(places) - 1):
            ohms = own.rail_ohm_per_m * (places[index + 1] - places[index])
            self.build.resistor(detected[index], detected[index + 1], ohms)
            self.build.resistor(common[index], common[index + 1], ohms)
        track = self.tracks[block] = Track(block, own, places, detected, common)
        numbers = [
            self.build.resistor(common[track.nearest(place)], tap, own.feeder_ohm)
            for place, tap in zip(own.drops_m, taps, strict=True)
        ]
        self.parts.update({("drop", block, "common", place): number for place, number in enumerate(numbers)})
        if block not in self.circuit.through:
            self.runs.append(self.drop_run(block, "common drops", numbers))
        if not own.drops_m:
            return
        # the contacts' view has one node for this rail
        self.build.resistor(self.circuit.common[block], common[0], 0.0) if block not in self.own_common else None

    @cached_property
    def own_common(self) -> frozenset[str]:
        """Blocks whose common rail node is the line side of their own common bus, behind a contact."""
        block_of = self.circuit.block_of
        return frozenset(
            block_of[edge.b] for edge in self.circuit.edges if edge.kind is Kind.POLE and self._is_common(edge.b)
        )

    def _is_common(self, node: int) -> bool:
        block = self.circuit.block_of.get(node)
        return block is not None and self.circuit.common[block] == node

    def bus(self, block: str, own: Ladder) -> None:
        """The detected bus, from the node at which the isolator delivers, and its drops to the rail."""
        track = self.tracks[block]
        whole = own.lead_m + own.length_m
        here, at_m, along, drops = self.circuit.detected[block], 0.0, list[int](), list[int]()
        for place in own.drops_m:
            distance = own.lead_m + place
            there = self.build.node()
            along.append(self.build.resistor(here, there, own.wire_ohm(own.bus_ohm_per_m, at_m, distance, whole)))
            drops.append(self.build.resistor(there, track.detected[track.nearest(place)], own.feeder_ohm))
            here, at_m = there, distance
        if block in self.bus_ends:
            self.bus_ends[block] = here, self.bus_ends[block][1]
        self.parts.update({("bus", block, place): number for place, number in enumerate(along)})
        self.parts.update({("drop", block, "detected", place): number for place, number in enumerate(drops)})
        self.runs.extend((self.bus_run(block, along), self.drop_run(block, "drops", drops)))

    def bus_run(self, block: str, numbers: Sequence[int]) -> Run:
        harness = self.wiring.layout.harnesses[str(self.wiring.layout.blocks[block].harness)]
        return Run(f"bus of {block}", str(harness.bus), ("harnesses", harness.name, "bus"), tuple(numbers))

    def drop_run(self, block: str, what: str, numbers: Sequence[int]) -> Run:
        harness = self.wiring.layout.harnesses[str(self.wiring.layout.blocks[block].harness)]
        path: Path = ("harnesses", harness.name, "feeder")
        return Run(f"{what} of {block}", str(harness.feeder), path, tuple(numbers))

    def joints(self) -> None:
        for index, joint in enumerate(self.wiring.layout.joints):
            first, second = map(self.ends, joint.blocks, (0 if end == "near" else -1 for end in joint.ends))
            if first is None or second is None:
                continue
            for side, rail in enumerate(("detected", "common")):
                points, leg = self.wiring.routed.get((index, rail), (None, None))
                if joint.gap not in ("both", rail) and (points is None or self.state[points] == leg):
                    self.parts["joint", index, rail] = self.build.resistor(first[side], second[side], 0.0)
