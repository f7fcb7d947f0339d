"""What conducts in one state: which nodes hang together, which blocks have power, which channels read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Final, Literal

from attrs import field, frozen

from blockcheck.circuit.parts import Circuit, Edge, Kind
from blockcheck.core.pieces import pieces
from blockcheck.core.spans import Path

State = Mapping[str, str]
"""Control -> position. A what-if is a new one, never a change."""

Power = Literal["on", "off", "trickle"]
Detection = Literal["working", "blind", "held"]
ON: Final = "on"
OFF: Final = "off"
TRICKLE: Final = "trickle"
WORKING: Final = "working"
BLIND: Final = "blind"
HELD: Final = "held"


def conducts(edge: Edge, state: State) -> bool:
    """Whether an edge is a conductor in a state; a hold resistor is none."""
    return edge.kind is not Kind.HOLD and (edge.control is None or state[edge.control] == edge.position)


@frozen(eq=False, repr=False, slots=False)
class Now:
    """A circuit in one state. ``mended`` names parts that are judged as if they were not there."""

    circuit: Circuit
    state: State
    mended: frozenset[Path] = field(default=frozenset())

    @cached_property
    def pieces(self) -> list[int]:
        """Node -> number of the piece of conductors that it belongs to."""
        return self._pieces(held=False, detectors=True)

    @cached_property
    def pieces_held(self) -> list[int]:
        """Node -> number of its piece, hold resistors taken as conductors."""
        return self._pieces(held=True, detectors=True) if self._any_hold else self.pieces

    @cached_property
    def beyond(self) -> list[int]:
        """Node -> number of its piece with every detector taken out: what hangs on which channel."""
        return self._pieces(held=False, detectors=False)

    @cached_property
    def beyond_held(self) -> list[int]:
        """As ``beyond``, hold resistors taken as conductors."""
        return self._pieces(held=True, detectors=False) if self._any_hold else self.beyond

    @cached_property
    def _any_hold(self) -> bool:
        return any(edge.kind is Kind.HOLD for edge in self.circuit.edges)

    def _pieces(self, held: bool, detectors: bool) -> list[int]:
        state, mended = self.state, self.mended
        joined = [
            (edge.a, edge.b)
            for edge in self.circuit.edges
            if (held if edge.kind is Kind.HOLD else edge.control is None or state[edge.control] == edge.position)
            and (detectors or edge.kind is not Kind.DETECTOR)
            and not (mended and edge.path in mended)
        ]
        return pieces(len(self.circuit.labels), joined)

    def _fed(self, pieces: list[int]) -> set[tuple[int, int]]:
        """Pairs of pieces between which a booster stands."""
        circuit = self.circuit
        return {(pieces[circuit.hot[name]], pieces[circuit.back[name]]) for name in circuit.hot}

    @cached_property
    def _fed_on(self) -> set[tuple[int, int]]:
        return self._fed(self.pieces)

    @cached_property
    def _fed_trickle(self) -> set[tuple[int, int]]:
        return self._fed(self.pieces_held)

    def power(self, block: str) -> Power:
        """``on``, ``off`` or ``trickle`` (through a hold resistor only). Raises KeyError for a block left out."""
        detected, common = self.circuit.detected[block], self.circuit.common[block]
        if (self.pieces[detected], self.pieces[common]) in self._fed_on:
            return ON
        if (self.pieces_held[detected], self.pieces_held[common]) in self._fed_trickle:
            return TRICKLE
        return OFF

    def detection(self, block: str) -> Detection:
        """Whether a vehicle in the block makes its own channel read: ``working``, ``blind`` or ``held``."""
        power = self.power(block)
        if power == ON and self._reads(block, self.beyond, self.pieces, held=False):
            return WORKING
        return HELD if power != OFF and self._reads(block, self.beyond_held, self.pieces_held, held=True) else BLIND

    def _reads(self, block: str, beyond: list[int], pieces: list[int], held: bool) -> bool:
        """Whether current for a vehicle in the block passes its own detector on its way from a booster."""
        circuit = self.circuit
        rail, common, channel = circuit.detected[block], circuit.common[block], circuit.channels[block]
        if beyond[rail] != beyond[channel]:
            return False
        mine = next(
            (circuit.edges[one] for one in circuit.around[channel] if circuit.edges[one].kind is Kind.DETECTOR), None
        )
        if mine is None:  # fed straight from its district
            return True
        if pieces[rail] != pieces[common] and any(
            beyond[mine.a] == beyond[hot] and pieces[common] == pieces[circuit.back[name]]
            for name, hot in circuit.hot.items()
        ):
            return True
        there = self._round(mine.a, rail, mine, held)
        back = self._round(common, rail, mine, held)
        return any(circuit.hot[name] in there and circuit.back[name] in back for name in circuit.hot)

    def _round(self, start: int, rail: int, detector: Edge, held: bool) -> set[int]:
        """What a node hangs together with, but for what only a rail or a detector joins to it."""
        seen, left = {start}, [start]
        while left:
            node = left.pop()
            for number in self.circuit.around[node]:
                edge = self.circuit.edges[number]
                other = edge.b if edge.a == node else edge.a
                if other in seen or other == rail or edge.path in self.mended:
                    continue
                own = edge.kind is Kind.DETECTOR and edge.part == detector.part
                if not own and (conducts(edge, self.state) or (held and edge.kind is Kind.HOLD)):
                    seen.add(other)
                    left.append(other)
        return seen

    def powered(self, blocks: Iterable[str]) -> tuple[str, ...]:
        """Those of the blocks that are on."""
        return tuple(block for block in blocks if block in self.circuit.detected and self.power(block) == ON)
