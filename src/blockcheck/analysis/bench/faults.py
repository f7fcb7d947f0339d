"""Every single wiring fault that a layout may have, each as a change of the pieces it was built from."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Container, Iterator
from itertools import combinations

from attrs import evolve, frozen

from blockcheck.analysis.bench import fault_kinds as kinds
from blockcheck.analysis.bench.fault_kinds import Fault, Size, shown_ohms
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.points import bridged
from blockcheck.analysis.bench.wired import banks
from blockcheck.circuit.across import lying_across
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.terminals import drop_spot
from blockcheck.core.natural import natural_key
from blockcheck.model.quantities import DIMENSIONS, Ohms, show
from blockcheck.model.wiring import positions
from blockcheck.network.built import Change
from blockcheck.network.grid import Part

POOR_OHM = 0.5
"""What a poor joint is taken to have where its size is not fitted; a sheet is also told from those of POORER_OHM."""
POORER_OHM = (0.1, 0.2, 2.0, 10.0)
POOR_SIZES, BRIDGE_SIZES = (0.012, 30.0), (0.001, 2000.0)
"""Least and most ohms of a poor joint, and of what bridges a gap. Common practice, no source."""
WRONG_HOLD = (0.1, 10.0)
"""A resistor of the neighbouring decade: one ring misread."""
MOST_FAULTS = 20_000
"""More than this are not told from each other: their pairs would take more than half a gigabyte."""


def every_fault(bench: Bench, guesses: bool = False, names: Container[str] | None = None) -> tuple[Fault, ...]:
    """Every single fault, at every place where it is possible; with ``guesses`` also at other values.

    ``names`` narrows them to those that touch one of these. Raises CallError where they are too many.
    """
    maker = _Faults(bench, guesses)
    found: list[Fault] = []
    for make in (
        maker.channels,
        maker.isolators,
        maker.drops,
        maker.joints,
        maker.gaps,
        maker.stuck,
        maker.dead,
        maker.fuses,
        maker.districts,
        maker.feeds,
        maker.holds,
        maker.across,
        maker.frogs,
        lambda: bridged(bench),
    ):
        for one in make():
            if names is None or any(subject in names for subject in one.subjects):
                found.append(one)
            if len(found) > MOST_FAULTS:
                raise kinds.too_many(found, MOST_FAULTS)
    return tuple(found)


@frozen(eq=False, repr=False, slots=False)
class _Faults:
    bench: Bench
    guesses: bool

    def channels(self) -> Iterator[Fault]:
        """Any two channels of a board; those beside each other are the likelier."""
        study, built = self.bench.study, self.bench.built
        plugs = self.bench.plugs
        channel = {one: ref for one in plugs if (ref := study.wiring.fed[one].channel) is not None}
        among = Counter(ref.board for ref in channel.values())
        behind: dict[int, list[int]] = {}  # node -> what hangs there but for the detector
        for number, piece in enumerate(built.pieces):
            if not piece.part or piece.part[0] != "detector":
                for node in (piece.a, piece.b):
                    behind.setdefault(node, []).append(number)
        for one, two in combinations(plugs, 2):
            first, second = channel[one], channel[two]
            if first.board != second.board or not kinds.mistaken(first.number, second.number, among[first.board]):
                continue
            there_of = ((block, there) for own, there in ((one, two), (two, one)) for block in plugs[own].blocks)
            outs = {study.circuit.channels[block]: study.circuit.channels[there] for block, there in there_of}
            moved = {}
            for number in {number for node in outs for number in behind.get(node, ())}:
                piece = built.pieces[number]
                moved[number] = outs.get(piece.a, piece.a), outs.get(piece.b, piece.b)
            here, there = (self.bench.terminals.at(study.circuit.channels[block]).name for block in (one, two))
            mine, other = plugs[one].name, plugs[two].name
            swapped = Fault.of(
                kinds.CHANNELS_SWAPPED,
                f"{first},{second}",
                (*plugs[one].blocks, *plugs[two].blocks),
                f"the buses of {mine} and {other} are swapped at the board: {here} holds {other}'s, "
                f"{there} holds {mine}'s",
                f"the terminals {here} and {there}: read the labels on both wires",
                Change(moved=moved),
                1.0 if abs(first.number - second.number) == 1 else 0.3,
            )
            yield swapped
            if self.guesses:  # the dead tests are made at the plugs of the buses: they do not see this
                yield evolve(
                    swapped,
                    words=f"the plugs of {here} and {there} are swapped: {mine}'s bus is in {there}, {other}'s in "
                    f"{here}, though each has its right label",
                    change=Change(plugged=moved),
                    guess=1,
                )

    def isolators(self) -> Iterator[Fault]:
        layout = self.bench.study.layout
        names = [name for name in sorted(layout.isolators, key=natural_key) if self.bench.built.moved_by.get(name)]
        place = {name: number for number, name in enumerate(names)}
        among = Counter(map(self._home, names))
        for one, two in combinations(names, 2):
            first, second = layout.isolators[one], layout.isolators[two]
            alike = positions(first) == positions(second) and self._home(one) == self._home(two)
            if not alike or not kinds.mistaken(place[one], place[two], among[self._home(one)]):
                continue
            yield Fault.of(
                kinds.ISOLATORS_SWAPPED,
                f"{one},{two}",
                (one, two),
                f"{one} and {two} are swapped: each switches what the other should",
                f"the backs of {one} and {two} on the panel, and the labels of the wires there",
                Change(acts={one: two, two: one}),
                1.0 if place[two] - place[one] == 1 else 0.3,
            )

    def _home(self, isolator: str) -> tuple[str | None, str | None]:
        """Isolators are swapped with those of the same panel: by where the blocks behind them belong."""
        for block in self.bench.study.wiring.switched[isolator]:
            own = self.bench.study.layout.blocks[block]
            return own.group, own.harness
        return None, None

    def drops(self) -> Iterator[Fault]:
        built = self.bench.built
        for block in self.bench.study.blocks:
            track = built.grid.tracks.get(block)
            if track is None:
                continue
            for place, at_m in enumerate(track.ladder.drops_m):
                for rail, other in (("detected", "common"), ("common", "detected")):
                    number = built.number["drop", block, rail, place]
                    yield from self.drop(block, rail, other, place, at_m, number)
                yield from self.astray(block, place, at_m)

    def drop(self, block: str, rail: str, other: str, place: int, at_m: float, number: int) -> Iterator[Fault]:
        built = self.bench.built
        track, piece = built.grid.tracks[block], built.pieces[number]
        where = f"drop {block}:{drop_spot(place + 1, rail)}, {self.bench.length(at_m)} from the near end"
        key = f"{block}.{rail}.{place + 1}"
        look = f"under {block}, {self.bench.length(at_m)} from its near end: the drop to the {rail} rail"
        yield Fault.of(
            kinds.DROP_MISSING,
            key,
            (block,),
            f"{where}, is missing or makes no contact",
            look,
            Change(off=frozenset({number})),
        )
        spot = track.nearest(at_m)
        right, wrong = getattr(track, rail)[spot], getattr(track, other)[spot]
        ends = (wrong if piece.a == right else piece.a, wrong if piece.b == right else piece.b)
        words = f"{where}, is soldered to the {other} rail"
        yield Fault.of(kinds.DROP_RAIL, key, (block,), words, look, Change(moved={number: ends}))

    def astray(self, block: str, place: int, at_m: float) -> Iterator[Fault]:
        """A drop on the bus of the block beside it in the harness, at the tap that is nearest."""
        built = self.bench.built
        grid = built.grid
        harness = self.bench.study.layout.blocks[block].harness
        beside = [one for one in self.bench.study.blocks if self.bench.study.layout.blocks[one].harness == harness]
        beside = [one for one in beside if one in grid.tracks and grid.tracks[one].ladder.drops_m]
        here = beside.index(block)
        number = built.number["drop", block, "detected", place]
        piece, own = built.pieces[number], grid.tracks[block].ladder
        for other in beside[max(here - 1, 0) : here] + beside[here + 1 : here + 2]:
            ladder = grid.tracks[other].ladder
            distance = own.lead_m + at_m
            tap = min(range(len(ladder.drops_m)), key=lambda one: abs(ladder.lead_m + ladder.drops_m[one] - distance))
            bus = built.pieces[built.number["bus", other, tap]].b
            yield Fault.of(
                kinds.DROP_BUS,
                f"{block}.{place + 1}.{other}",
                (block, other),
                f"drop {block}:{drop_spot(place + 1, 'detected')}, {self.bench.length(at_m)} from the near end, is on "
                f"the bus of {other}",
                f"under {block}, {self.bench.length(at_m)} from its near end: follow the drop to its bus, and read the "
                "colour",
                Change(moved={number: (bus, piece.b)}),
            )

    def joints(self) -> Iterator[Fault]:
        """Every bench-work joint of every bus, as far as there is a drop beyond it."""
        grid = self.bench.built.grid
        for block in self.bench.study.blocks:
            if block in grid.tracks:
                own = grid.tracks[block].ladder
                ends = [own.lead_m + place for place in own.drops_m]
                whole = own.lead_m + own.length_m
                yield from self.bus(f"{block}'s bus", block, (block,), ends, own.segment_m, whole, ("bus", block))
        for first in grid.commons:
            common = grid.commons[first]
            own = grid.tracks[first].ladder
            name = f"the common bus of {common.harness}"
            key = f"{common.harness}" if len(common.blocks) > 1 else f"{common.harness}.{first}"
            subjects = (common.harness, *common.blocks)
            ends = list(common.ends_m)
            yield from self.bus(name, key, subjects, ends, own.segment_m, common.whole_m, ("common", first))

    def bus(
        self,
        name: str,
        key: str,
        subjects: tuple[str, ...],
        ends: list[float],
        segment_m: float | None,
        whole_m: float,
        part: Part,
    ) -> Iterator[Fault]:
        stem = self.bench.stems.get((str(part[1]), "detected" if part[0] == "bus" else "common"), key)
        if not segment_m:
            return
        number = 0
        for joint in range(1, math.ceil(whole_m / segment_m)):
            at_m = joint * segment_m
            while number < len(ends) and ends[number] < at_m - 1e-9:
                number += 1
            if number == len(ends) or at_m > whole_m - 2e-9:
                return
            piece = self.bench.built.number[(*part, number)]
            ohms = self.bench.built.pieces[piece].ohms
            where = f"{key}.{joint}" if part[0] == "bus" else f"{key}.common.{joint}"
            words = f"joint {stem}:j{joint} of {name}, {self.bench.length(at_m)} along it from the board's end,"
            look = f"bench-work joint {joint}: crimp and terminal {stem}:j{joint}"
            yield Fault.of(kinds.JOINT_OPEN, where, subjects, f"{words} is open", look, Change(off=frozenset({piece})))
            for guess, value in enumerate((POOR_OHM, *(POORER_OHM if self.guesses else ()))):
                shown = shown_ohms(value)
                yield Fault(
                    f"{kinds.JOINT_POOR}:{where}",
                    kinds.JOINT_POOR,
                    subjects,
                    f"{words} is poor: about {shown}",
                    look,
                    kinds.KINDS[kinds.JOINT_POOR],
                    Change(ohms={piece: ohms + value}),
                    guess,
                    value,
                    Size(*POOR_SIZES, (0.3,), piece, ohms),
                )

    def gaps(self) -> Iterator[Fault]:
        for meet in self.bench.meetings():
            (first, second), rail = meet.blocks, meet.rail
            key = f"{first},{second}{meet.again}.{rail}"
            look = f"the joint of {first} and {second}: the {rail} rail"
            if meet.cut:
                words = f"the gap in the {rail} rail between {first} and {second} is not cut, or bridged"
                change = Change(added=((*meet.nodes, 0.0),))
                found = Fault.of(kinds.GAP_BRIDGED, key, meet.blocks, words, look, change)
                yield evolve(found, size=Size(*BRIDGE_SIZES, (0.001, 30.0), between=meet.nodes))
            else:
                words = f"the {rail} rail is cut between {first} and {second}, and should run through"
                change = Change(off=frozenset({self.bench.built.number["joint", meet.joint, rail]}))
                yield Fault.of(kinds.RAIL_CUT, key, meet.blocks, words, look, change)

    def stuck(self) -> Iterator[Fault]:
        layout = self.bench.study.layout
        for name in sorted(layout.isolators, key=natural_key):
            if not self.bench.built.moved_by.get(name):
                continue
            for position in positions(layout.isolators[name]):
                at = position if position in ("open", "closed") else f"at {position}"
                words = f"{name} is stuck {at}"
                if position == "closed":
                    words += ", or wired past: both wires on one terminal"
                elif position == "open":
                    words += ", or one of its wires is off"
                look = (
                    f"{name} on the panel: its contact, and the wires on {', '.join(self.bench.terminals.sides(name))}"
                )
                yield Fault.of(kinds.STUCK, f"{name}.{position}", (name,), words, look, Change(stuck={name: position}))

    def dead(self) -> Iterator[Fault]:
        for channel, some in self.bench.by_channel.items():
            words = f"channel {channel} ({', '.join(some)}) never reports"
            look = f"channel {channel} on its board, and its line to whatever reads it"
            yield Fault.of(kinds.CHANNEL_DEAD, channel, tuple(some), words, look, Change(silent=frozenset(some)))

    def fuses(self) -> Iterator[Fault]:
        """The fuse of a channel, or of a block in its feed: what is behind it has no power, and never reads."""
        for channel, some in self.bench.by_channel.items():
            behind = [block for block in some if self.bench.study.wiring.fed[block].fuse is not None]
            words = f"the fuse in the feed of {channel} ({', '.join(behind)}) has blown, or is not in its holder"
            pieces = frozenset(number for block, number, *_ in self.bench.detectors if block in behind)
            change = Change(off=pieces, silent=frozenset(behind))
            if behind:
                yield Fault.of(kinds.FUSE_BLOWN, channel, tuple(behind), words, f"the fuse of {channel}", change)

    def districts(self) -> Iterator[Fault]:
        study, built = self.bench.study, self.bench.built
        feeds = study.circuit.feeds
        named = {node: name for name, node in feeds.items()}
        onward = {edge.a: edge.b for edge in study.circuit.edges if edge.kind in (Kind.BANK, Kind.POLE, Kind.LEAD)}
        for board, bank, node, _ in banks(study):
            for number, piece in enumerate(built.pieces):
                edge = study.circuit.edges[int(piece.part[1])] if piece.part and piece.part[0] == "edge" else None
                if edge is None or edge.kind not in (Kind.BANK, Kind.POLE, Kind.LEAD) or piece.a not in named:
                    continue
                end = piece.b
                while end != node and end in onward:
                    end = onward[end]
                if end != node:
                    continue
                for other in feeds:
                    if feeds[other] != piece.a:
                        words = f"bank {bank} of {board} is fed from district {other} instead of {named[piece.a]}"
                        look = f"terminal {self.bench.terminals.at(node).name}"
                        change = Change(moved={number: (feeds[other], piece.b)})
                        yield Fault.of(kinds.WRONG_DISTRICT, f"{board}.{bank}.{other}", (board,), words, look, change)

    def feeds(self) -> Iterator[Fault]:
        """The pair of a district the wrong way round, where another one is there to tell it by; none of what turns."""
        circuit, number = self.bench.study.circuit, self.bench.built.number
        pairs: dict[str, dict[Kind, int]] = {}
        fixed = {("districts", name) for name, one in self.bench.study.layout.districts.items() if not one.turns}
        for edge_number, edge in enumerate(circuit.edges):
            if edge.kind in (Kind.FEED, Kind.RETURN) and edge.path in fixed:  # not what ties it to a shared return
                pairs.setdefault(str(edge.path[1]), {})[edge.kind] = number["edge", edge_number]
        for name in pairs if len(pairs) > 1 else ():
            feed, back = (pairs[name][kind] for kind in (Kind.FEED, Kind.RETURN))
            ends = [self.bench.built.pieces[one] for one in (feed, back)]
            moved = {feed: (ends[1].a, ends[0].b), back: (ends[0].a, ends[1].b)}
            words = f"the feed pair of district {name} is the wrong way round: its two wires are exchanged"
            at = " and ".join(self.bench.terminals.at(node).name for node in (ends[0].b, ends[1].b))
            yield Fault.of(kinds.FEED_CROSSED, name, (name,), words, f"the two wires on {at}", Change(moved=moved))

    def holds(self) -> Iterator[Fault]:
        for part, number in self.bench.built.number.items():
            if part[0] != "hold":
                continue
            edge = self.bench.study.circuit.edges[int(part[1])]
            name, ohms = str(edge.part), self.bench.built.pieces[number].ohms
            ends = self.bench.terminals.into(edge).name, self.bench.terminals.out(edge).name
            look = f"the hold resistor across {' and '.join(ends)}: read its rings"
            words = f"the hold resistor of {name} is missing"
            yield Fault.of(kinds.HOLD_MISSING, name, (name,), words, look, Change(off=frozenset({number})))
            for factor in WRONG_HOLD:
                shown = show(ohms * factor, DIMENSIONS[Ohms])
                yield Fault.of(
                    kinds.HOLD_WRONG,
                    f"{name}.{factor:g}",
                    (name,),
                    f"the hold resistor of {name} has {shown} instead of {show(ohms, DIMENSIONS[Ohms])}",
                    look,
                    Change(ohms={number: ohms * factor}),
                )

    def across(self) -> Iterator[Fault]:
        """What lies across the rails or a bus pair for good: missing, or of a neighbouring decade."""
        for block in self.bench.study.blocks:
            for one in lying_across(self.bench.study.wiring, block):
                kind, where = "filter" if one.part.capacitance_f else "across", "bus" if one.at_bus else "rails"
                number = self.bench.built.number[kind, block, where]
                ohms, at = self.bench.built.pieces[number].ohms, "bus pair" if one.at_bus else "rails"
                if not math.isfinite(ohms):
                    continue
                words = f"what lies across the {at} of {block} ({one.words})"
                look = f"the far end of {block}'s {at}: read what is written on it"
                missing = Change(off=frozenset({number}))
                yield Fault.of(kinds.ACROSS_MISSING, f"{block}.{where}", (block,), f"{words} is missing", look, missing)
                for factor in WRONG_HOLD:
                    told = f"{words} draws {'ten times as much' if factor < 1 else 'a tenth'}: another value is fitted"
                    change = Change(ohms={number: ohms * factor})
                    where_ = f"{block}.{where}.{factor:g}"
                    yield Fault.of(kinds.ACROSS_WRONG, where_, (block,), told, look, change)

    def frogs(self) -> Iterator[Fault]:
        built, circuit = self.bench.built, self.bench.study.circuit
        for name in sorted(circuit.frogs, key=natural_key):
            ties = {
                str(edge.position): built.number["edge", number]
                for number, edge in enumerate(circuit.edges)
                if edge.kind is Kind.POINTS and edge.control == name and number in built.grid.ties
            }
            if len(ties) < 2:
                continue
            one, two = (built.pieces[ties[position]] for position in ("through", "diverging"))
            moved = {ties["through"]: (one.a, two.b), ties["diverging"]: (two.a, one.b)}
            words = f"the frog of {name} is wired the wrong way round: it has the other rail's polarity"
            look = f"the wires on {name}:through and {name}:diverging"
            yield Fault.of(kinds.FROG_REVERSED, name, (name,), words, look, Change(moved=moved))
