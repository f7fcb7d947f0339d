"""What the rules of isolation and joining hold, read off all states of a circuit one by one.

Written from the rules' sentences over the compiled edges; it shares nothing with the ways in which the tool decides.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.circuit.parts import Edge, Kind
from tests.properties.everywhere import Everywhere, Test, conductors, everything


@frozen(eq=False, slots=False)
class Truths:
    """The truth about a case, nothing in it mended. Sets of states are integers, as in ``Everywhere``."""

    study: Study

    @cached_property
    def world(self) -> Everywhere:
        """All states of its circuit."""
        return Everywhere(self.study.circuit)

    def fed(self, block: str, use: Test = conductors) -> int:
        """The states in which both rails of a block hang on the two terminals of one booster."""
        circuit, found = self.study.circuit, 0
        for hot, back in self._floods[use is everything]:
            found |= hot[circuit.detected[block]] & back[circuit.common[block]]
        return found

    @cached_property
    def _floods(self) -> tuple[list[tuple[list[int], list[int]]], ...]:
        circuit, world = self.study.circuit, self.world
        return tuple(
            [(world.flood([circuit.hot[name]], use), world.flood([circuit.back[name]], use)) for name in circuit.hot]
            for use in (conductors, everything)
        )

    def leaks(self, isolator: str, block: str, cut: str) -> bool:
        """With an isolator open, in some state of everything else, the block is still fed."""
        return bool(self.fed(block) & self.world.where[isolator, cut])

    def _swap(self, states: int, control: str, before: str, after: str) -> int:
        """The same states with a control moved from one position to another."""
        world = self.world
        places = self.study.circuit.controls[control].positions
        names = list(self.study.circuit.controls)
        run = 1
        for name in names[names.index(control) + 1 :]:
            run *= len(self.study.circuit.controls[name].positions)
        by = (places.index(after) - places.index(before)) * run
        there = states & world.where[control, before]
        return there << by if by >= 0 else there >> -by

    def matters(self, isolator: str, block: str, cut: str) -> bool:
        """In some state of everything else, the block is fed with the isolator closed and is not with it open."""
        fed, world = self.fed(block), self.world
        return any(
            self._swap(fed, isolator, place, cut) & ~fed & ~world.without
            for place in self.study.circuit.controls[isolator].positions
            if place != cut
        )

    def alone(self, isolator: str, closed: str, cut: str) -> bool:
        """In some state it can be opened and closed while nothing else moves, whatever interlocks keep out."""
        return bool(self._swap(self.world.every, isolator, closed, cut) & self.world.every)

    def kills(self, isolator: str, closed: str, cut: str) -> frozenset[str]:
        """The blocks that are fed with it closed and are not with it open, everything else as usual."""
        usual = self.study.circuit.usual
        before = self.world.standing({**usual, isolator: closed})
        after = self.world.standing({**usual, isolator: cut})
        return frozenset(
            block for block in self.study.blocks if self.fed(block) & before and not self.fed(block) & after
        )

    def _detectors(self, block: str) -> set[int]:
        """The block's own detector, by the numbers of its edges: one more for each block that shares it."""
        edges = self.study.circuit.edges
        own = str(self.study.wiring.fed[block].channel)
        return {number for number, edge in enumerate(edges) if edge.kind is Kind.DETECTOR and edge.part == own}

    def reads(self, block: str, use: Test) -> int:
        """The states in which current for a vehicle in the block passes the block's own detector.

        It comes from a booster to the detector by a way that has not been through the block or the detector, goes on
        to the block's rail, through the vehicle, and back to that booster.
        """
        circuit, world = self.study.circuit, self.world
        own, rail = self._detectors(block), circuit.detected[block]
        bank = {circuit.edges[number].a for number in own}

        def other(number: int, edge: Edge) -> bool:
            return number not in own and use(number, edge)

        reached = world.flood([circuit.channels[block]], other)[rail]
        found = 0
        for name in circuit.hot:
            there = world.flood([circuit.hot[name]], other, [rail])
            back = world.flood([circuit.back[name]], other, [rail])
            for node in bank:
                found |= there[node] & back[circuit.common[block]]
        return found & reached

    @cached_property
    def detectors(self) -> frozenset[str]:
        """The names of all detectors."""
        return frozenset(edge.part for edge in self.study.circuit.edges if edge.kind is Kind.DETECTOR)

    def round(self, block: str, through: frozenset[str], mended: Iterable[object] = ()) -> int:
        """The states in which current reaches a block's rail by ways that pass none but the detectors allowed."""
        parts = set(mended)

        def use(number: int, edge: Edge) -> bool:
            allowed = edge.kind is not Kind.DETECTOR or edge.part in through
            return allowed and edge.path not in parts and conductors(number, edge)

        return self.world.flood(self.study.circuit.hot.values(), use)[self.study.circuit.detected[block]]

    def joined(self) -> set[frozenset[str]]:
        """The pairs of districts that some state joins: their feeds, or their returns where those are separate."""
        circuit, world = self.study.circuit, self.world
        supply = [*circuit.hot.values(), *circuit.back.values()]
        found = set()

        def unturned(number: int, edge: Edge) -> bool:  # what turns a polarity parts its return from all others
            return edge.kind is not Kind.POLARITY and conductors(number, edge)

        for one in circuit.feeds:
            reached = world.flood([circuit.feeds[one]], shut=supply)
            together = world.flood([circuit.returns[one]], lambda _, edge: edge.kind is Kind.RETURN)
            back = world.flood([circuit.returns[one]], unturned, shut=circuit.hot.values())
            for other in circuit.feeds:
                separate = not together[circuit.returns[other]]
                if other != one and (reached[circuit.feeds[other]] or (separate and back[circuit.returns[other]])):
                    found.add(frozenset((one, other)))
        return found

    def shorts(self, turnout: str) -> int:
        """The states in which an uncut frog joins a detected rail to a common one, all other frogs being cut."""
        circuit = self.study.circuit

        def use(number: int, edge: Edge) -> bool:
            return conductors(number, edge) and (edge.kind is not Kind.FROG or edge.part == turnout)

        reached = self.world.flood([circuit.frogs[turnout]], use)
        detected = common = 0
        for block in circuit.detected:
            detected |= reached[circuit.detected[block]]
            common |= reached[circuit.common[block]]
        return detected & common
