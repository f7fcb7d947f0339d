"""What a circuit is made of. Every part keeps the path of the layout that made it."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from enum import Enum
from functools import cached_property
from typing import NamedTuple

from attrs import frozen

from blockcheck.core.pieces import pieces
from blockcheck.core.spans import Path
from blockcheck.model.interlocks import Bar

CLOSED, OPEN = "closed", "open"


class Kind(Enum):
    """What an edge of the circuit is."""

    BREAKER = "breaker"
    POLARITY = "polarity"
    FEED = "feed"
    RETURN = "return"
    BANK = "bank"
    DETECTOR = "detector"
    LEAD = "lead"
    POLE = "pole"
    THROW = "throw"
    BUS = "bus"
    COMMON = "common"
    JOINT = "joint"
    POINTS = "points"
    FROG = "frog"
    HOLD = "hold"


class Edge(NamedTuple):
    """A conductor between two nodes; a contact where it has a control: it conducts at that control's ``position``.

    ``part`` is the name that a path of the current shows for it, or "". A hold resistor is an edge of kind hold, of a
    second grade: it trickles. ``panel_m`` are the metres of a control panel's wire in it: a lead is nothing else, and
    a contact on a panel has those behind it.
    """

    a: int
    b: int
    kind: Kind
    path: Path
    part: str = ""
    control: str | None = None
    position: str | None = None
    panel_m: float = 0.0


class Control(NamedTuple):
    """Something with positions: an isolator, a changeover, the points of a turnout."""

    name: str
    positions: tuple[str, ...]
    usual: str
    path: Path
    kind: str  # isolator, changeover, points


@frozen(eq=False, repr=False, slots=False)
class Circuit:
    """The contacts' view of a layout.

    Nodes are numbers; ``labels[node]`` is the name that a path of the current shows for a node, or "". Blocks that
    cannot be compiled are absent from ``detected`` and ``common``, the nodes of a block's two rails.
    """

    labels: tuple[str, ...]
    edges: tuple[Edge, ...]
    controls: Mapping[str, Control]
    hot: Mapping[str, int]
    """Booster -> node of its detected-side terminal."""
    back: Mapping[str, int]
    """Booster -> node of its return terminal."""
    feeds: Mapping[str, int]
    """District -> node of its feed terminal."""
    returns: Mapping[str, int]
    """District -> node of its return terminal."""
    detected: Mapping[str, int]
    common: Mapping[str, int]
    channels: Mapping[str, int]
    """Block -> node at which its own channel (or, undetected, its own feed) delivers."""
    frogs: Mapping[str, int]
    """Turnout -> node of its switched frog."""
    bars: tuple[Bar, ...] = ()
    """What interlocks keep out: all other states can be."""

    @cached_property
    def interlocked(self) -> frozenset[str]:
        """The controls that an interlock names: where one stands may hinder another."""
        return frozenset(name for bar in self.bars for name, _ in bar.holds)

    def can_be(self, state: Mapping[str, str]) -> bool:
        """Whether no interlock keeps a state out that tells the position of every control."""
        return not any(bar.broken(state) for bar in self.bars)

    @cached_property
    def around(self) -> tuple[tuple[int, ...], ...]:
        """Node -> numbers of the edges that end there."""
        around: list[list[int]] = [[] for _ in self.labels]
        for number, edge in enumerate(self.edges):
            around[edge.a].append(number)
            around[edge.b].append(number)
        return tuple(map(tuple, around))

    def hops(self, goals: Iterable[int], held: bool = True) -> list[int]:
        """How many edges each node is away from the nearest of some, with every contact closed: more than there are
        edges where there is no way at all. Hold resistors count unless not ``held``."""
        never = len(self.edges) + 1
        found, queue = [never] * len(self.labels), deque(goals)
        for goal in queue:
            found[goal] = 0
        while queue:
            node = queue.popleft()
            for number in self.around[node]:
                edge = self.edges[number]
                after = edge.b if edge.a == node else edge.a
                if found[after] == never and (held or edge.kind is not Kind.HOLD):
                    found[after] = found[node] + 1
                    queue.append(after)
        return found

    @cached_property
    def _far(self) -> dict[frozenset[int], list[int]]:
        return {}

    def far(self, goals: frozenset[int]) -> Sequence[int]:
        """As ``hops``; nothing at the first time that these are asked for: it pays for many."""
        if goals not in self._far:
            self._far.clear()
            self._far[goals] = []
        elif not self._far[goals]:
            self._far[goals] = self.hops(goals)
        return self._far[goals]

    @cached_property
    def detecting(self) -> Mapping[tuple[int, str], frozenset[int]]:
        """Feed terminal and channel -> numbers of the edges that are its detector, one for each block that it feeds."""
        found: dict[tuple[int, str], set[int]] = {}
        for number, edge in enumerate(self.edges):
            if edge.kind is Kind.DETECTOR:
                found.setdefault((edge.a, edge.part), set()).add(number)
        return {key: frozenset(numbers) for key, numbers in found.items()}

    @cached_property
    def turned(self) -> frozenset[int]:
        """Numbers of the edges through devices that turn a polarity."""
        return frozenset(number for number, edge in enumerate(self.edges) if edge.kind is Kind.POLARITY)

    @cached_property
    def leads_to(self) -> Mapping[int, int]:
        """Node behind a contact in a block's feed or return -> the rail that it leads to, perhaps through others."""
        found = {rail: rail for rail in self.block_of}
        for edge in reversed(self.edges):
            if edge.kind in (Kind.POLE, Kind.LEAD) and edge.b in found:
                found[edge.a] = found[edge.b]  # no contact delivers to what several share
        return found

    @cached_property
    def through(self) -> frozenset[str]:
        """The blocks without a feed of their own: others feed them by their rails."""
        fed = {edge.b for edge in self.edges if edge.kind in (Kind.BUS, Kind.POLE)}
        return frozenset(name for name, node in self.detected.items() if node not in fed)

    def delivers(self, number: int, rail: int) -> bool:
        """Whether an edge is the last of a rail's own feed: its bus, or a pole with what lies across it; of a block
        that others feed by their rails, a joint."""
        edge = self.edges[number]
        if edge.kind is Kind.JOINT and self.block_of[rail] in self.through:
            return True
        return edge.b == rail and edge.kind in (Kind.BUS, Kind.POLE, Kind.HOLD)

    @cached_property
    def paths(self) -> frozenset[Path]:
        """The parts of the layout that a conductor stands for."""
        return frozenset(edge.path for edge in self.edges)

    @cached_property
    def frog_shorts(self) -> frozenset[Path]:
        """Those that stand for a frog that is not cut from the rails beyond it."""
        return frozenset(edge.path for edge in self.edges if edge.kind is Kind.FROG)

    @cached_property
    def usual(self) -> Mapping[str, str]:
        """The usual position of every control."""
        return {name: control.usual for name, control in self.controls.items()}

    @cached_property
    def return_of(self) -> Mapping[str, str]:
        """District -> the first of those that share its return on purpose, through a booster or by name."""
        return sharing_return(len(self.labels), self.edges, self.returns)

    @cached_property
    def block_of(self) -> Mapping[int, str]:
        """Rail node -> its block."""
        return {node: name for rails in (self.detected, self.common) for name, node in rails.items()}

    @cached_property
    def contacts(self) -> Mapping[str, tuple[int, ...]]:
        """Control -> its edges."""
        found: dict[str, list[int]] = {name: [] for name in self.controls}
        for number, edge in enumerate(self.edges):
            if edge.control is not None:
                found[edge.control].append(number)
        return {name: tuple(numbers) for name, numbers in found.items()}


def sharing_return(nodes: int, edges: Iterable[Edge], returns: Mapping[str, int]) -> Mapping[str, str]:
    """District -> the first of those that share its return; ``returns`` are their return terminals."""
    piece = pieces(nodes, ((edge.a, edge.b) for edge in edges if edge.kind is Kind.RETURN))
    firsts: dict[int, str] = {}
    return {name: firsts.setdefault(piece[node], name) for name, node in returns.items()}
