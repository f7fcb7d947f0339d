"""The wiring as it was built: every conductor a piece that may be missing, moved or of another resistance.

A grid is one state of a layout that is wired as it should be. Here all of its contacts, detectors, hold resistors and
sources stand beside the conductors, so that a state is which pieces conduct, and a wiring fault a `Change` of pieces.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import NamedTuple

from attrs import field, frozen

from blockcheck.circuit.across import lying_across
from blockcheck.circuit.ladder import contact_ohm, stretch_ohm
from blockcheck.circuit.parts import Circuit, Edge, Kind
from blockcheck.circuit.state import State
from blockcheck.model.wiring import Wiring
from blockcheck.network.grid import Grid, Part

OPEN_SIEMENS = 1e-6
"""What is left of a conductor that a fault has cut: a megohm, which reads as open, and is enough to reckon with."""

COIL_OHM = 1e-2
"""What a detector counts as that takes no voltage, where its current is small: that is read off the volts across it."""

Row = tuple[int, int, float]
"""Two nodes, and by how much the conductance between them changes."""


class Piece(NamedTuple):
    """A conductor from ``a`` to ``b``; with a control, it conducts at that control's ``position`` alone.

    ``powered``: behind a breaker, which conducts with power on alone; ``unplugged``: behind a device that turns a
    polarity by itself, whose pair is pulled off for dead tests. ``part`` says what it stands for, as in
    `grid.Part`; besides those there are ``("detector", block)``, ``("source", booster)``, ``("hold", edge)``,
    ``("across", block, where)``, and ``("filter", block, where)`` for what lets no direct current through.
    """

    a: int
    b: int
    ohms: float
    part: Part = ()
    control: str | None = None
    position: str | None = None
    powered: bool = False
    unplugged: bool = False


@frozen(eq=False, repr=False)
class Change:
    """What a fault makes of the wiring. Pieces are numbers.

    ``off``: pieces that do not conduct. ``moved``: pieces that lie between other nodes. ``ohms``: pieces of another
    resistance. ``added``: conductors that ought not to be there. ``acts``: contacts that another switch moves.
    ``stuck``: contacts that stay in a position. ``silent``: blocks whose channel never reports. ``plugged``: pieces
    that lie between other nodes only while the buses are plugged into the detector boards. ``renamed``: blocks
    for whose channel another one reads.
    """

    off: frozenset[int] = frozenset()
    moved: Mapping[int, tuple[int, int]] = field(factory=dict)
    ohms: Mapping[int, float] = field(factory=dict)
    added: tuple[tuple[int, int, float], ...] = ()
    acts: Mapping[str, str] = field(factory=dict)
    stuck: Mapping[str, str] = field(factory=dict)
    silent: frozenset[str] = frozenset()
    plugged: Mapping[int, tuple[int, int]] = field(factory=dict)
    renamed: Mapping[str, str] = field(factory=dict)

    def also(self, other: Change) -> Change:
        """Both together."""
        return Change(
            self.off | other.off,
            {**self.moved, **other.moved},
            {**self.ohms, **other.ohms},
            self.added + other.added,
            {**self.acts, **other.acts},
            {**self.stuck, **other.stuck},
            self.silent | other.silent,
            {**self.plugged, **other.plugged},
            {**self.renamed, **other.renamed},
        )

    @property
    def touched(self) -> frozenset[object]:
        """Pieces and whatever else it changes: two changes of one thing are none."""
        added = (frozenset(one[:2]) for one in self.added)
        sides = self.off, self.moved, self.ohms, self.contacts, self.silent, self.plugged, self.renamed, added
        return frozenset(one for side in sides for one in side)

    @property
    def contacts(self) -> frozenset[str]:
        """The controls whose contacts do not follow their switch."""
        return frozenset((*self.acts, *self.stuck))


class Stage(NamedTuple):
    """How the wiring is set up for a kind of test: with the boosters on or unplugged; with the buses pulled off the
    detector boards (None), or plugged in, when a detector looks like so many ohms for each volt of its drop.

    ``least_ohm`` is what a connection without resistance counts as: less than matters for what is read.
    """

    name: str
    powered: bool
    detectors: float | None
    least_ohm: float


@frozen(eq=False, repr=False, slots=False)
class Built:
    """All pieces of a layout. ``grid`` gives the nodes of its tracks."""

    circuit: Circuit
    grid: Grid
    pieces: tuple[Piece, ...]
    volts: Mapping[int, float]
    """Piece -> volts of the source behind it."""

    @cached_property
    def number(self) -> Mapping[Part, int]:
        """Part -> its piece."""
        return {piece.part: number for number, piece in enumerate(self.pieces) if piece.part}

    @cached_property
    def moved_by(self) -> Mapping[str, tuple[int, ...]]:
        """Control -> the pieces that it moves."""
        found: dict[str, list[int]] = {}
        for number, piece in enumerate(self.pieces):
            if piece.control is not None:
                found.setdefault(piece.control, []).append(number)
        return {name: tuple(numbers) for name, numbers in found.items()}

    def siemens(self, number: int, stage: Stage, state: State, change: Change | None = None) -> float:
        """What a piece conducts in a stage and a state, whole or changed; 0 where it does not."""
        piece = self.pieces[number]
        ohms, least = piece.ohms, stage.least_ohm
        kind = piece.part[0] if piece.part else ""
        if piece.powered and not stage.powered:
            return 0.0
        if kind == "filter" and not stage.powered:
            return 0.0
        if kind == "source":
            return 1 / max(ohms, least) if stage.powered else 0.0
        if kind == "detector":  # cut where a fuse before it has blown
            if change is not None and number in change.off:
                return 0.0
            if stage.detectors is None:
                return 0.0
            return 1 / max(ohms * stage.detectors, COIL_OHM if stage.detectors else least)
        if change is not None:
            if number in change.off:
                return 0.0
            ohms = change.ohms.get(number, ohms)
        if piece.control is not None and _position(piece.control, state, change) != piece.position:
            return 0.0
        return 1 / max(ohms, least) if math.isfinite(ohms) else 0.0

    def touched(self, stage: Stage, state: State, change: Change) -> set[int]:
        """The pieces that a change cuts, moves, throws or makes of another resistance."""
        found = {*change.off, *self._elsewhere(stage, change), *change.ohms}
        for control in change.contacts:
            if _position(control, state, change) != state[control]:
                found.update(self.moved_by.get(control, ()))
        return found

    def _elsewhere(self, stage: Stage, change: Change) -> Mapping[int, tuple[int, int]]:
        if change.plugged and stage.detectors is not None:
            return {**change.moved, **change.plugged}
        return change.moved

    def rows(self, stage: Stage, state: State, change: Change, fitted: Sequence[float] | None = None) -> list[Row]:
        """What a change adds to the conductances of a state; ``fitted`` are those that the pieces have there, where
        they are not as tabled."""
        elsewhere = self._elsewhere(stage, change)
        rows = [(a, b, 1 / max(ohms, stage.least_ohm)) for a, b, ohms in change.added]
        for number in sorted(self.touched(stage, state, change)):
            piece = self.pieces[number]
            before, after = self.siemens(number, stage, state), self.siemens(number, stage, state, change)
            if fitted is not None:
                before = fitted[number]
                after = before if after and before and number not in change.ohms else after
            ends = elsewhere.get(number, (piece.a, piece.b))
            if ends == (piece.a, piece.b):
                rows.append((piece.a, piece.b, _left(before, after)))
            else:
                rows += [(piece.a, piece.b, _left(before, 0.0)), (*ends, after)]
        return [row for row in rows if row[2] and row[0] != row[1]]


def _left(before: float, after: float) -> float:
    """The difference; of what is cut, something stays."""
    return max(after, OPEN_SIEMENS) - before if before else after


def _position(control: str, state: State, change: Change | None) -> str:
    if change is None:
        return state[control]
    return change.stuck.get(control) or state[change.acts.get(control, control)]


def build_up(wiring: Wiring, circuit: Circuit, grid: Grid) -> Built:
    """All pieces of a layout, from its grid in a state in which every contact is closed."""
    pieces = tuple(_pieces(wiring, circuit, grid))
    boosters = wiring.layout.boosters
    volts = {
        number: boosters[str(piece.part[1])].voltage_v
        for number, piece in enumerate(pieces)
        if piece.part and piece.part[0] == "source"
    }
    return Built(circuit, grid, pieces, volts)


def _by_hand(wiring: Wiring, edge: Edge) -> bool:
    return edge.kind is Kind.POLARITY and wiring.layout.districts[str(edge.path[1])].polarity == "switch"


def _pieces(wiring: Wiring, circuit: Circuit, grid: Grid) -> Iterator[Piece]:
    resistors = grid.network.resistors
    part_of = {resistor: part for part, resistor in grid.parts.items()}
    detectors = set(grid.channels.values())
    # a breaker has no resistance: the feed behind it is one piece with it, and conducts when it does; so has what turns
    # a polarity, which conducts without power where it is a switch
    behind = {edge.b: edge for edge in circuit.edges if edge.kind in (Kind.BREAKER, Kind.POLARITY)}
    for number, (a, b, ohms) in enumerate(zip(*resistors, strict=True)):
        part = part_of.get(number, ())
        edge = circuit.edges[int(part[1])] if part and part[0] == "edge" else None
        switched = part[:1] == ("joint",) and part[1:] in wiring.routed
        if number in detectors or switched or (edge is not None and edge.control is not None):
            continue  # each as a piece of its own, below
        if edge is None or edge.kind not in (Kind.BREAKER, Kind.POLARITY):
            powered = unplugged = False
            while a in behind:
                powered |= not _by_hand(wiring, behind[a])
                unplugged |= behind[a].kind is Kind.POLARITY and powered
                a = behind[a].a
            yield Piece(a, b, ohms, part, powered=powered, unplugged=unplugged)
    for number, edge in enumerate(circuit.edges):
        here: Part = ("edge", number)
        if edge.kind is Kind.JOINT:
            pass  # between the rails' ends, below
        elif edge.control is not None:
            a, b = grid.ties.get(number, (edge.a, edge.b))
            isolator = wiring.layout.isolators.get(edge.control)
            if isolator is not None:
                ohms = contact_ohm(wiring.layout, isolator, edge)
            else:
                ohms = stretch_ohm(wiring.layout, wiring.layout.turnouts[edge.control].frog_wire)
            if edge.kind is not Kind.POINTS or number in grid.ties:
                yield Piece(a, b, ohms, here, edge.control, edge.position)
        elif edge.kind is Kind.HOLD:
            hold = wiring.layout.isolators[str(edge.path[1])].hold_ohm
            yield Piece(edge.a, edge.b, hold or math.inf, ("hold", number))
        elif edge.kind is Kind.DETECTOR:
            block = str(edge.path[1])
            kind = wiring.fed[block].type
            assert kind is not None
            series = kind.sensing == "series"
            yield Piece(edge.a, edge.b, kind.drop_v if series else 0.0, ("detector", block))
    yield from _routed(wiring, grid)
    yield from _across(wiring, circuit, grid)
    for name, node in circuit.hot.items():
        yield Piece(node, circuit.back[name], wiring.layout.boosters[name].resistance_ohm, ("source", name))


def _across(wiring: Wiring, circuit: Circuit, grid: Grid) -> Iterator[Piece]:
    """What lies across the rails, and across bus pairs, for good."""
    for block in circuit.detected:
        track = grid.tracks.get(block)
        ends = (circuit.detected[block], circuit.common[block])
        if track is not None:
            ends = (track.detected[-1], track.common[-1])
        for one in lying_across(wiring, block):
            where = "bus" if one.at_bus else "rails"
            kind = "across" if one.part.capacitance_f is None else "filter"
            a, b = grid.bus_ends.get(block, ends) if one.at_bus else ends
            yield Piece(a, b, one.ohms, (kind, block, where))


def _routed(wiring: Wiring, grid: Grid) -> Iterator[Piece]:
    """The rails that run through a joint only with the points set for them."""
    for (index, rail), (points, leg) in wiring.routed.items():
        joint = wiring.layout.joints[index]
        if joint.gap not in ("both", rail) and {*joint.blocks} <= grid.tracks.keys():
            one, two = (
                getattr(grid.tracks[block], rail)[0 if end == "near" else -1]
                for block, end in zip(joint.blocks, joint.ends, strict=True)
            )
            yield Piece(one, two, 0.0, ("joint", index, rail), points, leg)
