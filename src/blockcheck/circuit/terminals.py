"""Terminals: where the wires of a layout end, by the names that labels, plans and tests give them.

A name is the object, a colon, and the terminal on it, as IEC 61666 and IEC 81346 write it: ``D1:3``. A full stop
divides a part from its object: ``I3.2:in`` is on the second pole of I3. Names of the layout have neither sign in them.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import NamedTuple

from attrs import field, frozen

from blockcheck.circuit.parts import Circuit, Edge, Kind
from blockcheck.model.layout import Board, BoardType
from blockcheck.model.tables.selectors import selector_of
from blockcheck.model.wiring import Wiring, bank_count

SCREW, TAP, SOLDER = "screw", "tap", "solder"
"""How an end is fixed: crimped and under a screw, tapped onto a bus, or soldered to a rail."""
IN, OUT = "in", "out"
"""The sides of a contact: current comes in from the booster, and goes out to the track."""
FEED, RETURN, BAR, START, BUS, END = "feed", "return", "bar", "start", "bus", "end"
"""Feed and return terminals, the bar that joins the returns of one name, where a bus begins that comes from a panel, a
tap on it, and its far end."""


class Terminal(NamedTuple):
    """Where a wire ends. ``kind`` is the word for what ``owner`` is; ``part`` the part of it, such as a pole, or "";
    ``spot`` the place on it, or ""."""

    kind: str
    owner: str
    spot: str = ""
    part: str = ""
    fixing: str = SCREW

    @property
    def item(self) -> str:
        """What it is a terminal of: ``D1``, ``I3``, ``I3.2``."""
        return f"{self.owner}.{self.part}" if self.part else self.owner

    @property
    def passes(self) -> bool:
        """Whether what comes to it goes on from another side of the same thing: a contact, or part of a district."""
        return self.kind == "isolator" or self.part in (Kind.BREAKER.value, Kind.POLARITY.value)

    @property
    def name(self) -> str:
        """As a label has it: ``D1:3``, ``S3:end``."""
        return f"{self.item}:{self.spot}" if self.spot else self.item


@frozen(eq=False, repr=False, slots=False)
class Terminals:
    """The terminals of a circuit. Each node at which wires begin has one."""

    wiring: Wiring
    circuit: Circuit
    _made: dict[int, Terminal] = field(factory=dict, init=False)

    def __attrs_post_init__(self) -> None:
        circuit, made = self.circuit, self._made
        for nodes, kind, spot in (
            (circuit.hot, "booster", FEED),
            (circuit.back, "booster", RETURN),
            (circuit.feeds, "district", FEED),
            (circuit.returns, "district", RETURN),
        ):
            made.update({node: Terminal(kind, name, spot) for name, node in nodes.items()})
        for edge in circuit.edges:
            if edge.kind in (Kind.BREAKER, Kind.POLARITY):
                made[edge.b] = self.protection(edge, OUT)
            elif edge.kind is Kind.DETECTOR:
                made[edge.a], made[edge.b] = self.board(str(edge.path[1]))
            elif edge.kind is Kind.COMMON and edge.path[0] == "harnesses" and edge.a not in made:
                made[edge.a] = self.at(edge.b)  # the bus begins there; what else it is tied to are other wires

    def protection(self, edge: Edge, side: str) -> Terminal:
        """A side of a district's own breaker, or of what exchanges its rails: that has a pole for its return too."""
        pole = RETURN if edge.kind is Kind.POLARITY and edge.a in self.circuit.back.values() else FEED
        spot = f"{pole}-{side}" if edge.kind is Kind.POLARITY else side
        return Terminal("district", str(edge.path[1]), spot, edge.kind.value)

    def board(self, block: str) -> tuple[Terminal, Terminal]:
        """Of a block's channel: the feed terminal of its bank, and where its bus begins."""
        fed = self.wiring.fed[block]
        assert fed.board is not None
        assert fed.channel is not None
        assert fed.bank is not None
        feed = bank_feed(fed.board, self.wiring.layout.board_types[fed.board.type], fed.bank)
        return feed, Terminal("board", fed.board.name, str(fed.channel.number))

    def at(self, node: int) -> Terminal:
        """The terminal that stands for a node from which wires go on."""
        if node not in self._made:
            around = [self.circuit.edges[number] for number in self.circuit.around[node]]
            self._made[node] = next((self.out(edge) for edge in around if _delivers(edge, node)), None) or next(
                self._led(edge) for edge in around if edge.kind is not Kind.LEAD or edge.a == node
            )
        return self._made[node]

    def _led(self, edge: Edge) -> Terminal:
        """What a wire to a panel, or back from it, leads to: the contact there, or the beginning of a bus."""
        if edge.kind in (Kind.POLE, Kind.THROW, Kind.HOLD):
            return self.into(edge)
        part = "com" if edge.kind is Kind.COMMON and edge.path[0] == "blocks" else ""
        return Terminal("harness" if edge.path[0] == "harnesses" else "block", str(edge.path[1]), START, part)

    def out(self, edge: Edge) -> Terminal:
        """The side of a contact at which it delivers; of a changeover its common one. Also of a hold resistor's."""
        between = self.wiring.layout.isolators[str(edge.path[1])].between or ()
        return self._side(edge, next(word for word in (OUT, "common", "pole") if word not in between))

    def into(self, edge: Edge) -> Terminal:
        """The side of a contact at which it is fed; of a changeover the one of the district that this throw is for."""
        return self._side(edge, str(edge.position) if edge.kind is Kind.THROW else IN)

    def sides(self, control: str) -> tuple[str, ...]:
        """The names of all terminals of an isolator's contacts: ``I3:in``, ``I3:out``."""
        edges = [self.circuit.edges[number] for number in self.circuit.contacts.get(control, ())]
        return tuple(dict.fromkeys([self.into(one).name for one in edges] + [self.out(one).name for one in edges]))

    def _side(self, edge: Edge, spot: str) -> Terminal:
        name = str(edge.path[1])
        pole = "2" * self.in_return(edge) if edge.kind is Kind.THROW else edge.part[len(name) + 1 :]
        selector = selector_of(self.wiring.layout, name)
        if selector is not None and selector.wired == "pole" and spot in (IN, OUT):
            return Terminal("isolator", selector.name, IN if spot == IN else name.partition("/")[2], pole)
        return Terminal("isolator", name, spot, pole)

    def in_return(self, throw: Edge) -> bool:
        """Whether a changeover's throw comes from a district's return terminal, perhaps by the wire to its panel."""
        return self.came_from.get(throw.a, throw.a) in self._returns

    @cached_property
    def came_from(self) -> Mapping[int, int]:
        """End of a wire to a panel or back -> its beginning."""
        return {edge.b: edge.a for edge in self.circuit.edges if edge.kind is Kind.LEAD}

    @cached_property
    def _returns(self) -> frozenset[int]:
        return frozenset(self.circuit.returns.values())


def bank_feed(board: Board, kind: BoardType, bank: int) -> Terminal:
    """The feed terminal of a bank; the only one of a board needs no number."""
    return Terminal("board", board.name, f"{FEED}{bank}" if bank_count(kind) > 1 else FEED)


def drop_spot(number: int, rail: str) -> str:
    """Where a drop is soldered to a rail of its block: ``drop2``, and ``drop2c`` to the common rail."""
    return f"drop{number}" if rail == "detected" else f"drop{number}c"


def _delivers(edge: Edge, node: int) -> bool:
    return edge.b == node and edge.kind in (Kind.POLE, Kind.THROW)
