"""What an isolator does, as wired: whom it kills, and whether anything still gets round it."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from itertools import product

from attrs import frozen

from blockcheck.analysis.case import Case
from blockcheck.circuit.reach import Answer, Never, Question, Route, Undecided, Witness
from blockcheck.circuit.state import ON, State, conducts
from blockcheck.model.operate import closed_position, open_position

MOST_ENUMERATED = 12
"""With up to this many controls, all states are looked at where no quicker way decides."""


@frozen(eq=False, repr=False, slots=False)
class Isolation:
    """Questions about the isolators of a case."""

    case: Case

    @cached_property
    def _distance(self) -> list[int]:
        """Node -> hops to the nearest booster terminal with every contact closed: where to look first."""
        circuit = self.case.circuit
        distance = [len(circuit.labels)] * len(circuit.labels)
        ring = [*circuit.hot.values(), *circuit.back.values()]
        for node in ring:
            distance[node] = 0
        while ring:
            after: list[int] = []
            for node in ring:
                for number in circuit.around[node]:
                    edge = circuit.edges[number]
                    other = edge.b if edge.a == node else edge.a
                    if edge.kind != "hold" and distance[other] > distance[node] + 1:
                        distance[other] = distance[node] + 1
                        after.append(other)
            ring = after
        return distance

    @cached_property
    def _terminals(self) -> Mapping[int, str]:
        """Terminal of a booster -> the booster."""
        circuit = self.case.circuit
        return {node: name for side in (circuit.hot, circuit.back) for name, node in side.items()}

    def region(self, start: int, state: State, all_: bool = False) -> tuple[frozenset[int], str | None]:
        """All that hangs together with a node in a state, and no booster; or as soon as one is found, that booster.

        With ``all_`` the search goes on, and the region is whole.
        """
        circuit, mended, distance = self.case.circuit, self.case.mended, self._distance
        seen = {start}
        booster: str | None = None
        heap = [(distance[start], start)]
        while heap:
            _, node = heapq.heappop(heap)
            if node in self._terminals:
                booster = booster or self._terminals[node]
                if not all_:
                    break
            for number in circuit.around[node]:
                edge = circuit.edges[number]
                other = edge.b if edge.a == node else edge.a
                if other not in seen and conducts(edge, state) and edge.path not in mended:
                    seen.add(other)
                    heapq.heappush(heap, (distance[other], other))
        return frozenset(seen), booster

    def lit(self, block: str, state: State) -> bool:
        """Whether both rails of a block reach the same booster in a state."""
        circuit = self.case.circuit
        if state is circuit.usual:
            return self.case.usual.power(block) == ON
        rails = circuit.detected[block], circuit.common[block]
        found = [self.region(rail, state)[1] for rail in rails]
        if None in found or found[0] == found[1]:
            return None not in found
        wholes = [self.region(rail, state, all_=True)[0] for rail in rails]
        return any(circuit.hot[name] in wholes[0] and circuit.back[name] in wholes[1] for name in circuit.hot)

    @property
    def kills(self) -> Mapping[str, frozenset[str]]:
        """Isolator -> the blocks from which it takes power when it opens, everything else as usual."""
        return self.case.once("kills", self._kills)

    def _kills(self) -> Mapping[str, frozenset[str]]:
        wiring, usual = self.case.wiring, self.case.circuit.usual
        found = {}
        for name in wiring.meant:
            cut = open_position(wiring, name)
            if cut is None:
                continue
            closed = closed_position(wiring, name)
            before = usual if usual[name] == closed else _moved(usual, name, closed)
            found[name] = frozenset(self._killed(name, before, _moved(usual, name, cut)))
        return found

    def _killed(self, isolator: str, before: State, after: State) -> Iterator[str]:
        circuit = self.case.circuit
        done: set[int] = set()
        for number in circuit.contacts[isolator]:
            edge = circuit.edges[number]
            if edge.position != before[isolator]:
                continue
            for end in (edge.a, edge.b):
                if end in done:
                    continue
                region, booster = self.region(end, after)
                if booster is not None:
                    continue
                done |= region
                for node in region:
                    block = circuit.block_of.get(node)
                    if block is not None and self.lit(block, before):
                        yield block

    def gets_round(self, isolator: str, block: str) -> tuple[Answer, int]:
        """Whether a block can have power with an isolator open, in any state of everything else; and the route to show.

        The witness's first route runs from the block to a booster, its second back to that booster.
        """
        cut = open_position(self.case.wiring, isolator)
        assert cut is not None
        side = self.case.layout.isolators[isolator].side
        return self.live(block, {isolator: cut}), 1 if side == "common-rail" else 0

    def live(self, block: str, fixed: Mapping[str, str], held: bool = False) -> Answer:
        """Whether a block can have power while some controls are fixed."""
        circuit, mended = self.case.circuit, self.case.mended
        rails = [
            Route(frozenset({circuit.detected[block]}), frozenset(circuit.hot.values())),
            Route(frozenset({circuit.common[block]}), frozenset(circuit.back.values())),
        ]
        for route in rails:  # most questions are settled by one rail alone
            if isinstance(Question(circuit, [route], fixed, held=held, mended=mended).answer(), Never):
                return Never()
        undecided = False
        for boosters in self._sharing:
            pair = [
                Route(rails[0].starts, frozenset(circuit.hot[name] for name in boosters)),
                Route(rails[1].starts, frozenset(circuit.back[name] for name in boosters)),
            ]
            answer = Question(circuit, pair, fixed, held=held, mended=mended).answer()
            if isinstance(answer, Witness):
                return answer
            undecided |= isinstance(answer, Undecided)
        return Undecided() if undecided else Never()

    @cached_property
    def _sharing(self) -> tuple[tuple[str, ...], ...]:
        """The boosters, in groups that share a return."""
        circuit = self.case.circuit
        groups: dict[int, list[str]] = {}
        pieces = self.case.usual.pieces
        for name, node in circuit.back.items():
            groups.setdefault(pieces[node], []).append(name)
        return tuple(map(tuple, groups.values()))

    def matters(self, isolator: str, block: str) -> bool | None:
        """Whether opening an isolator makes a difference to a block in some state; None where that is not decided."""
        if block in self.kills.get(isolator, ()):
            return True
        if not self._touches(isolator, block):
            return False
        circuit, wiring = self.case.circuit, self.case.wiring
        cut = open_position(wiring, isolator)
        assert cut is not None
        for state in self._likely(block):
            if self._differs(block, {**state, isolator: closed_position(wiring, isolator)}, {**state, isolator: cut}):
                return True
        others = [control for control in circuit.controls.values() if control.name != isolator]
        if len(others) > MOST_ENUMERATED:
            return None
        for places in product(*(control.positions for control in others)):
            state = {control.name: place for control, place in zip(others, places, strict=True)}
            for shut in circuit.controls[isolator].positions:
                if shut != cut and self._differs(block, {**state, isolator: shut}, {**state, isolator: cut}):
                    return True
        return False

    def _touches(self, isolator: str, block: str) -> bool:
        """Whether some contact of an isolator can lie on a way to the block at all."""
        circuit = self.case.circuit
        mine = frozenset(circuit.contacts[isolator])
        goals = frozenset(self._terminals) | {circuit.detected[block], circuit.common[block]}
        return any(
            all(
                not isinstance(
                    Question(
                        circuit, [Route(frozenset({end}), goals)], without=mine.__contains__, mended=self.case.mended
                    ).answer(),
                    Never,
                )
                for end in (circuit.edges[number].a, circuit.edges[number].b)
            )
            for number in mine
        )

    def _likely(self, block: str) -> Iterable[dict[str, str]]:
        """States in which a difference shows, if there is one: as usual, all closed, all open but the block's own."""
        circuit, wiring = self.case.circuit, self.case.wiring
        own = wiring.fed[block].isolator
        yield dict(circuit.usual)
        yield {name: control.positions[0] for name, control in circuit.controls.items()}
        yield {
            name: control.usual if own is not None and own.name == name else control.positions[-1]
            for name, control in circuit.controls.items()
        }

    def _differs(self, block: str, before: State, after: State) -> bool:
        return self.lit(block, before) and not self.lit(block, after)

    def trickles(self, isolator: str, block: str) -> Answer:
        """Whether, with an isolator open, a vehicle in the block can still make its own channel read."""
        circuit, fed = self.case.circuit, self.case.wiring.fed[block]
        cut = open_position(self.case.wiring, isolator)
        assert cut is not None
        if fed.channel is None:
            return Never()
        out = circuit.channels[block]
        bank = next(
            edge.a for edge in (circuit.edges[number] for number in circuit.around[out]) if edge.kind == "detector"
        )
        mended = self.case.mended

        def detectors(number: int) -> bool:
            return circuit.edges[number].kind == "detector"

        own = [Route(frozenset({circuit.detected[block]}), frozenset({out}))]
        if isinstance(Question(circuit, own, {isolator: cut}, detectors, held=True, mended=mended).answer(), Never):
            return Never()
        rest = [
            *own,
            Route(frozenset({bank}), frozenset(circuit.hot.values())),
            Route(frozenset({circuit.common[block]}), frozenset(circuit.back.values())),
        ]
        return Question(circuit, rest, {isolator: cut}, held=True, mended=mended).answer()


class _Moved(dict[str, str]):
    """A state that differs in a control or two from one that stays as it is; cheaper than a copy of all of it."""

    def __init__(self, base: State, moved: Mapping[str, str]) -> None:
        super().__init__(moved)
        self._base = base

    def __missing__(self, control: str) -> str:
        return self._base[control]


def _moved(base: State, control: str, position: str) -> State:
    return _Moved(base, {control: position})
