"""The minimal ways of current to every block: the least sets of contact positions with which it has power, or reads.

A block has power in a state exactly when all contacts of one of its ways stand there as the way wants them; likewise
its detection. So whoever has the ways needs no circuit to say what any set of open switches does.

All ways from a terminal are found at one go: a piece of conductors hands its ways on through every contact, each with
that contact added, and keeps those of which no part is a way already, until nothing new comes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.circuit.parts import Edge, Kind
from blockcheck.core.pieces import pieces

MOST_WAYS = 100
"""More ways to one block are not listed."""
Contact = tuple[str, str]
"""A control, and where it stands."""
Way = frozenset[Contact]
Ways = tuple[Way, ...] | None
"""Each minimal; None where there are more than are listed."""
ALWAYS: Ways = (frozenset(),)
NEVER: Ways = ()


@frozen
class BlockWays:
    """The ways of one block. It is on where one of ``on`` is whole, else it trickles where one of ``trickle`` is.

    Its detection works where it is on and one of ``reads`` is whole, else it is held where it is not off and one of
    ``held`` is, else it is blind.
    """

    on: Ways
    trickle: Ways
    reads: Ways = NEVER
    held: Ways = NEVER


@frozen(eq=False, repr=False, slots=False)
class MinimalWays:
    """The ways of a study's blocks, over all positions that some controls may have; the others stand as usual."""

    study: Study
    places: Mapping[str, tuple[str, ...]]

    def of(self, block: str) -> BlockWays:
        """The ways of a block. Raises KeyError for one that is left out."""
        detected = self.study.wiring.fed[block].channel is not None
        grades = (False, True) if self._any_hold else (False,)
        power = [self._power(block, held) for held in grades]
        reads = [self._reads(block, held) if detected else NEVER for held in grades]
        return BlockWays(power[0], power[-1], reads[0], reads[-1])

    @cached_property
    def _any_hold(self) -> bool:
        return any(edge.kind is Kind.HOLD for edge in self.study.circuit.edges)

    # -- power ----------------------------------------------------------------------------------------------------
    def _power(self, block: str, held: bool) -> Ways:
        circuit, whole = self.study.circuit, self._whole[held]
        detected, common = circuit.detected[block], circuit.common[block]
        return either(
            both(whole.from_(circuit.hot[name])(detected), whole.from_(circuit.back[name])(common))
            for name in circuit.hot
        )

    @cached_property
    def _whole(self) -> tuple[_Graph, _Graph]:
        """Everything that can conduct: as conductors alone, and with hold resistors."""
        return self._graph(held=False), self._graph(held=True)

    # -- detection ------------------------------------------------------------------------------------------------
    def _reads(self, block: str, held: bool) -> Ways:
        """As ``Now.detection`` has it: the rail hangs on its channel, and what feeds that comes by neither."""
        circuit = self.study.circuit
        rail, channel = circuit.detected[block], circuit.channels[block]
        own = self._beyond[held].from_(channel)(rail)
        mine = next(
            (circuit.edges[one] for one in circuit.around[channel] if circuit.edges[one].kind is Kind.DETECTOR), None
        )
        if mine is None or own == NEVER:
            return own
        feeding = either(
            both(self._there(name, rail, mine, held), self._back(name, circuit.common[block], rail, mine, held))
            for name in circuit.hot
        )
        return both(own, feeding)

    def _there(self, booster: str, rail: int, mine: Edge, held: bool) -> Ways:
        hot = self.study.circuit.hot[booster]
        quick = self._supply[held].from_(hot)(mine.a)
        if quick == ALWAYS:
            return ALWAYS
        found = self._round(rail, mine, held).from_(hot)(mine.a)
        # by its rail alone: read off the state where the rail hangs on no terminal otherwise, which no way can say
        beside = self._beyond[held].from_(hot)(mine.a)
        if found is None or beside is None or any(not any(one <= way for one in found) for way in beside):
            return None
        return found

    def _back(self, booster: str, common: int, rail: int, mine: Edge, held: bool) -> Ways:
        back = self.study.circuit.back[booster]
        if self._supply[held].from_(back)(common) == ALWAYS:
            return ALWAYS
        return self._round(rail, mine, held).from_(back)(common)

    @cached_property
    def _beyond(self) -> tuple[_Graph, _Graph]:
        """What can conduct but detectors."""
        return tuple(self._graph(held, lambda edge: edge.kind is Kind.DETECTOR) for held in (False, True))  # type: ignore[return-value]

    @cached_property
    def _supply(self) -> tuple[_Graph, _Graph]:
        """What can conduct but detectors and detected rails: a part of what ``_round`` has, the same for all blocks."""
        rails = {*self.study.circuit.detected.values()}

        def out(edge: Edge) -> bool:
            return edge.kind is Kind.DETECTOR or edge.a in rails or edge.b in rails

        return self._graph(False, out), self._graph(True, out)

    def _round(self, rail: int, mine: Edge, held: bool) -> _Graph:
        """What can conduct but a rail and its detector."""
        key = rail, mine, held
        if key not in self._rounds:
            self._rounds.clear()  # asked of one block after the other
            self._rounds[key] = self._graph(
                held,
                lambda edge: rail in (edge.a, edge.b) or (edge.kind is Kind.DETECTOR and edge.part == mine.part),
            )
        return self._rounds[key]

    @cached_property
    def _rounds(self) -> dict[tuple[int, Edge, bool], _Graph]:
        return {}

    def _graph(self, held: bool, out: Callable[[Edge], bool] | None = None) -> _Graph:
        circuit, mended, joined, arcs = self.study.circuit, self.study.mended, list[tuple[int, int]](), list[Edge]()
        for edge in circuit.edges:
            if (edge.kind is Kind.HOLD and not held) or edge.path in mended or (out is not None and out(edge)):
                continue
            if edge.kind is Kind.HOLD or edge.control is None:
                joined.append((edge.a, edge.b))
            elif edge.control not in self.places:
                if edge.position == circuit.usual[edge.control]:
                    joined.append((edge.a, edge.b))
            elif edge.position in self.places[edge.control]:
                arcs.append(edge)
        return _Graph.of(len(circuit.labels), joined, arcs)


@frozen(eq=False, repr=False, slots=False)
class _Graph:
    """Pieces of what always conducts, with contacts between them."""

    piece: list[int]
    around: Mapping[int, tuple[tuple[int, Contact], ...]]

    @classmethod
    def of(cls, nodes: int, joined: Iterable[tuple[int, int]], arcs: Iterable[Edge]) -> _Graph:
        piece, around = pieces(nodes, joined), dict[int, set[tuple[int, Contact]]]()
        for edge in arcs:
            one, two = piece[edge.a], piece[edge.b]
            if one != two:
                contact = str(edge.control), str(edge.position)
                around.setdefault(one, set()).add((two, contact))
                around.setdefault(two, set()).add((one, contact))
        return cls(piece, {one: tuple(sorted(them)) for one, them in around.items()})

    def from_(self, node: int) -> Callable[[int], Ways]:
        """Node -> its ways from one node."""
        start = self.piece[node]
        if start not in self._found:
            self._found[start] = self._spread(start)
        found = self._found[start]
        return lambda other: found.get(self.piece[other], NEVER)

    @cached_property
    def _found(self) -> dict[int, Mapping[int, Ways]]:
        return {}

    def _spread(self, start: int) -> Mapping[int, Ways]:
        found: dict[int, set[Way]] = {start: {frozenset()}}
        many, todo = set[int](), [(start, Way())]
        for piece, way in todo:
            if piece in many or way not in found[piece]:
                continue
            for other, contact in self.around.get(piece, ()):
                new = with_contact(way, contact)
                mine = found.setdefault(other, set())
                if new is None or other in many or any(old <= new for old in mine):
                    continue
                mine.difference_update([old for old in mine if new <= old])
                mine.add(new)
                todo.append((other, new))
                if len(mine) > MOST_WAYS:
                    many.add(other)
        self._beyond(many, found)
        return {one: None if one in many else tuple(sorted(ways, key=sorted)) for one, ways in found.items()}

    def _beyond(self, many: set[int], found: Mapping[int, set[Way]]) -> None:
        """What is behind a piece whose ways are too many has ways that are not known, unless it needs none."""
        todo = [*many]
        for piece in todo:
            for other, _ in self.around.get(piece, ()):
                if other not in many and Way() not in found.get(other, ()):
                    many.add(other)
                    todo.append(other)


def with_contact(way: Way, contact: Contact) -> Way | None:
    """A way with one more contact; None where its control would have to stand in two places."""
    if any(control == contact[0] and place != contact[1] for control, place in way):
        return None
    return way | {contact}


def both(one: Ways, two: Ways) -> Ways:
    """The ways for which a way of each must be whole."""
    if one == NEVER or two == NEVER:
        return NEVER
    if one is None or two is None:
        return None
    found = (a | b for a in one for b in two)
    return _least(way for way in found if len({control for control, _ in way}) == len(way))


def either(several: Iterable[Ways]) -> Ways:
    """The ways for which a way of any must be whole."""
    every = [*several]
    if ALWAYS in every:
        return ALWAYS
    if None in every:
        return None
    return _least(way for ways in every for way in ways or ())


def _least(ways: Iterable[Way]) -> Ways:
    kept = list[Way]()
    for way in sorted({*ways}, key=lambda way: (len(way), sorted(way))):
        if not any(one <= way for one in kept):
            kept.append(way)
    return tuple(kept) if len(kept) <= MOST_WAYS else None
