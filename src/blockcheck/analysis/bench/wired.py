"""A layout on the bench: the pieces that it was built from, how they are set up for a test, and what a test is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

from attrs import frozen

from blockcheck.analysis.bench.lowrank import Floats, Ints, Situation
from blockcheck.analysis.study import Study
from blockcheck.circuit.allowed import NOT_DECIDED, nearest
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.state import State
from blockcheck.circuit.terminals import Terminals
from blockcheck.circuit.wires import lines
from blockcheck.core.natural import natural_key
from blockcheck.model.keys import Name
from blockcheck.model.layout import ChannelRef, Isolator
from blockcheck.model.operate import closed_position
from blockcheck.model.quantities import DIMENSIONS, Metres, show
from blockcheck.model.tables.selectors import tracks_of
from blockcheck.network.built import Built, Stage, build_up
from blockcheck.network.electric import Expander

OHMS, CHANNELS, VOLTS, TRIPS = "ohms", "channels", "volts", "trips"
DEAD, LIVE = "dead", "live"
RAILS = ("detected", "common")
BEEPER, AXLE, METER, SUPPLY = "beeper", "axle", "meter", "supply"
INSTRUMENTS = {
    BEEPER: "a beeper: whether two places are connected",
    AXLE: "a test axle: which channels read it, with power on",
    METER: "a meter that reads 0.1 ohm, its leads taken off, and volts",
    SUPPLY: "a bench supply that sends 1 A through two places, millivolts read between them, and volts",
}
"""What tests are made with, in the order of what they ask for."""

OPEN_OHM = 1e5
"""A reading above this is "open". Roadbed and damp ballast leak less than that over a block; common practice, no
source."""
BEEPS_OHM, SILENT_OHM = 35.0, 70.0
"""A beeper sounds below the one and is silent above the other; between, either may be. Common practice, no source."""
METER_OHM, METER_SHARE = 0.2, 0.1
"""How far off a meter's ohms may be once its leads are taken off: so many ohms, and a share of the reading besides,
for wires and rails that differ from the tables. Common practice, no source."""
JOINER_OHM = 0.01
"""A rail joiner that is good has at most some milliohms; common practice, no source."""
SHORT_OHM = 1e-3
"""What is laid across the rails for a short test."""
TIMES_THRESHOLD = 10.0
"""The test axle draws at least this many times what a channel needs: a test of the wiring, not of the margin."""

MOST_KEPT = 8_000_000
"""Numbers of inverses that are kept for the next question, or for units of the same shape, and as many of those that
differ from them by contacts that are moved: 64 MB each."""

_SERIES = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)  # IEC 60063, E6


@frozen(eq=False, repr=False)
class Probe:
    """A place for a probe: its node, and how to find it."""

    node: int
    words: str


@frozen(eq=False, repr=False)
class Step:
    """One test. ``state`` holds the controls that are moved for it; ``across`` is what is laid between the probes, in
    ohms, or None; ``rough`` marks a reading that is known only as connected or not, for want of data,
    ``slack_ohm`` what a good one may have more than is reckoned with.

    ``about`` are the blocks and isolators it is about, ``gap`` the place of a gap that it is laid across, in words,
    and ``jumper`` the nodes of the common rail there, where a wire is laid across its gap besides.
    """

    id: str
    stage: str
    kind: str
    title: str
    state: tuple[tuple[str, str], ...]
    red: Probe
    black: Probe
    group: str | None
    about: tuple[str, ...]
    across: float | None = None
    rough: bool = False
    slack_ohm: float = 0.0
    gap: str | None = None
    jumper: tuple[int, int] | None = None


class Plug(NamedTuple):
    """A wire that ends in a channel of a board: whose it is, a block's or a selector's, and the blocks behind it."""

    name: str
    blocks: tuple[str, ...]


class Beep(NamedTuple):
    """What a beeper said."""

    sounds: bool


class Meeting(NamedTuple):
    """A rail at a joint: the joint's number, its blocks, which end of each, ".2" where it is their second, and a node
    on either side."""

    joint: int
    blocks: tuple[str, str]
    ends: tuple[str, ...]
    again: str
    rail: str
    cut: bool
    nodes: tuple[int, int]


@frozen(eq=False, repr=False, slots=False)
class Wired:
    """A layout on the bench: its pieces, how they are set up for a test, and what reads."""

    study: Study
    axle: float | None = None
    """The test axle, where it is that of a larger layout."""
    alike: dict[object, Any] | None = None
    """What is known of units by their shape, which those of one layout share; None for a layout in one."""

    def situation(self, nodes: int, a: Ints, b: Ints, siemens: Floats) -> Situation:
        """Pieces that conduct so much; of units that are the same but for their names, worked out once."""
        if self.alike is None:
            return Situation.of_pieces(nodes, a, b, siemens)
        key = nodes, a.tobytes(), b.tobytes(), siemens.tobytes()
        if key in self.alike:
            found: Situation = self.alike[key]
            return found
        made = Situation.of_pieces(nodes, a, b, siemens)
        if sum(one.inverse.size for one in self.situations) + made.inverse.size < MOST_KEPT:
            self.alike[key] = made
        return made

    @property
    def situations(self) -> list[Situation]:
        """Those that are kept for other units."""
        return [one for one in (self.alike or {}).values() if isinstance(one, Situation)]

    def keep(self, usual: Situation, key: object, moved: Situation) -> None:
        """Keep what differs from a situation by a few rows for the next question, while there is room."""
        moved_ones = (one for some in self.situations or [usual] for one in some.moved.values())
        if sum(one.written for one in moved_ones) + usual.inverse.size < MOST_KEPT:
            usual.moved[key] = moved

    @cached_property
    def state(self) -> dict[str, str]:
        """Every isolator closed, as far as interlocks let them, the points as usual."""
        circuit, wiring = self.study.circuit, self.study.wiring
        closed = {name: closed_position(wiring, name) for name in wiring.layout.isolators}
        all_closed = {**circuit.usual, **{name: place for name, place in closed.items() if name in circuit.controls}}
        return {**all_closed, **self.around({}, all_closed)}

    @cached_property
    def shut(self) -> tuple[tuple[str, str], ...]:
        """What closes the isolators that interlocks keep open, all at once: no state, but as dead tests see it, who
        close them one after the other."""
        closed = ((name, closed_position(self.study.wiring, name)) for name in self.study.layout.isolators)
        return tuple((name, place) for name, place in closed if self.state.get(name, place) != place)

    def around(self, moved: State, base: State, about: Sequence[str] = ()) -> State:
        """Where interlocked controls stand with some moved, all else as near as they let it to a state: what feeds the
        blocks and isolators that something is ``about`` first."""
        circuit, wiring = self.study.circuit, self.study.wiring
        if not circuit.bars:
            return {}
        fed = [wiring.host(name) for name in about if name in wiring.fed]
        own = [isolator.name for one in fed for isolator in one.isolators if isolator.name in circuit.controls]
        wishes = {**base} | {name: closed_position(wiring, name) for name in own}
        found = nearest(circuit, moved, [(name, wishes[name]) for name in dict.fromkeys((*own, *base))])
        return {} if found is None or found == NOT_DECIDED else found

    @cached_property
    def plugs(self) -> dict[str, Plug]:
        """Block -> its plug at a board; the wire to the pole of a selector is one plug, by the first of its tracks."""
        found, taken = dict[str, Plug](), set[str]()
        poles = {name: tracks_of(one) for name, one in self.study.layout.selectors.items() if one.wired == "pole"}
        pole_of = {track: name for name, tracks in poles.items() for track in tracks}
        channel_of = {block: channel for block, _, _, channel in self.detectors}
        for block, channel in channel_of.items():
            if block in taken:
                continue
            pole = pole_of.get(block)
            behind = [one for one in poles.get(str(pole), ()) if channel_of.get(one) == channel] or [block]
            taken |= {*behind}
            found[block] = Plug(block if pole is None else pole, tuple(behind))
        return found

    @cached_property
    def built(self) -> Built:
        """The pieces."""
        study = self.study
        return build_up(study.wiring, study.circuit, Expander(study.wiring, study.circuit, self.state, {}).grid())

    @cached_property
    def axle_ohm(self) -> float:
        """The test axle: a resistor of a usual value that draws at least ten times the largest threshold, and that a
        meter does not call open."""
        if self.axle is not None:
            return self.axle
        layout = self.study.layout
        used = {board.type for board in layout.boards.values()}
        threshold = max((layout.board_types[one].threshold_a for one in used if one in layout.board_types), default=0.0)
        volts = min((booster.voltage_v for booster in layout.boosters.values()), default=12.0)
        most = min(volts / (TIMES_THRESHOLD * threshold), OPEN_OHM) if threshold else 1000.0
        power = math.floor(math.log10(most))
        return float(f"{max(one for one in _SERIES if one <= most / 10**power * (1 + 1e-9)) * 10**power:.2g}")

    @cached_property
    def stages(self) -> dict[str, Stage]:
        """How the wiring stands for each kind of reading. A detector's constant drop looks, at the current of the test
        axle, like a resistor; in a short it is next to nothing."""
        volts = max((booster.voltage_v for booster in self.study.layout.boosters.values()), default=0.0)
        per_volt = self.axle_ohm / volts if volts else 0.0
        live = Stage("live", True, per_volt, 1e-3)
        dead, short = Stage("dead", False, None, 2e-4), Stage("short", True, 0.0, 2e-4)
        return {OHMS: dead, CHANNELS: live, VOLTS: live, TRIPS: short}

    @cached_property
    def breakers(self) -> tuple[tuple[str, int, float], ...]:
        """Name of each breaker, the piece whose current it sees, and its trip current: districts with their own, else
        the boosters'."""
        layout, number = self.study.layout, self.built.number
        found, boosters = [], set()
        for name, district in layout.districts.items():
            own = district.trip_a
            edge = self._feed_edge(name)
            if own is not None and edge is not None:
                found.append((name, number["edge", edge], own))
            else:
                boosters.add(district.booster)
        for name, booster in layout.boosters.items():
            if name in boosters and booster.trip_a is not None:
                found.append((name, number["source", name], booster.trip_a))
        return tuple(found)

    def _feed_edge(self, district: str) -> int | None:
        for number, edge in enumerate(self.study.circuit.edges):
            if edge.kind is Kind.FEED and edge.path[1] == district:
                return number
        return None

    @cached_property
    def detectors(self) -> tuple[tuple[str, int, float, str], ...]:
        """Block, piece, threshold and channel of every detector."""
        found = []
        for block in self.study.blocks:
            fed = self.study.wiring.fed[block]
            if fed.channel is not None and fed.type is not None and fed.through is None:
                number = self.built.number["detector", block]
                found.append((block, number, fed.threshold_a, str(fed.channel)))
        return tuple(found)

    @cached_property
    def by_channel(self) -> Mapping[str, tuple[str, ...]]:
        """Channel -> the blocks that read by it."""
        found: dict[str, tuple[str, ...]] = {}
        for block, _, _, channel in self.detectors:
            found[channel] = (*found.get(channel, ()), block)
        return found

    @cached_property
    def channels(self) -> tuple[str, ...]:
        """Every channel that the boards have, with a block on it or not: any may read once it is wired wrong."""
        layout = self.study.layout
        kinds = {name: layout.board_types.get(board.type) for name, board in layout.boards.items()}
        return tuple(
            str(ChannelRef(name, number))
            for name, kind in kinds.items()
            if kind is not None
            for number in range(1, kind.channels + 1)
        )

    @cached_property
    def terminals(self) -> Terminals:
        """The terminals, by the names that their labels have."""
        return Terminals(self.study.wiring, self.study.circuit)

    @cached_property
    def stems(self) -> dict[tuple[str, str], str]:
        """Block and rail -> what the bus is called that its drops are tapped onto."""
        wires = lines(self.study.wiring, self.study.circuit).wires
        return {(line.subject, str(line.rail)): line.start.item for line in wires if line.kind == "drop"}

    def meetings(self) -> Iterator[Meeting]:
        """Where the rails of two blocks meet, in the order of the joints.

        Of blocks that were left out of the network for want of data only gaps in the detected rail: what else joins
        them is not in it.
        """
        tracks, circuit, seen = self.built.grid.tracks, self.study.circuit, dict[tuple[Name, ...], int]()
        for index, joint in enumerate(self.study.layout.joints):
            seen[joint.blocks] = seen.get(joint.blocks, 0) + 1
            again = f".{seen[joint.blocks]}" if seen[joint.blocks] > 1 else ""
            whole = all(one in tracks for one in joint.blocks)
            first, second = joint.blocks
            if not {first, second} <= circuit.detected.keys():
                continue
            for rail in RAILS:
                cut = joint.gap in ("both", rail)
                if whole or (cut and rail == "detected" and first != second):
                    one, two = (
                        getattr(tracks[block], rail)[0 if end == "near" else -1]
                        if block in tracks
                        else circuit.detected[block]
                        for block, end in zip(joint.blocks, joint.ends, strict=True)
                    )
                    yield Meeting(index, (first, second), joint.ends, again, rail, cut, (one, two))

    def length(self, metres: float) -> str:
        """A place or a length, in the units of the layout."""
        if metres not in self._lengths:
            imperial = self.study.layout.about.units == "imperial"
            self._lengths[metres] = show(metres, DIMENSIONS[Metres], imperial=imperial)
        return self._lengths[metres]

    @cached_property
    def _lengths(self) -> dict[float, str]:
        return {}


def shown_position(isolator: Isolator, position: str) -> str:
    """A position in words: ``open``, ``closed``, ``at west``, ``off``."""
    return position if isolator.contact == "on-off" or position == "off" else f"at {position}"


def banks(study: Study) -> list[tuple[str, int, int, str]]:
    """Board, bank, feed terminal and district of every bank that feeds a block straight from its district."""
    found: dict[tuple[str, int], tuple[int, str]] = {}
    circuit = study.circuit
    for number in (number for number, edge in enumerate(circuit.edges) if edge.kind is Kind.DETECTOR):
        edge = circuit.edges[number]
        fed = study.wiring.fed[str(edge.path[1])]
        if fed.board is not None and fed.bank is not None:
            found.setdefault((fed.board.name, fed.bank), (edge.a, str(fed.district)))
    ordered = sorted(found.items(), key=lambda one: (natural_key(one[0][0]), one[0][1]))
    return [(board, bank, node, district) for (board, bank), (node, district) in ordered]
