"""What an isolator does, as wired: whom it kills, and whether anything still gets round it."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import product
from typing import Literal

from attrs import evolve, frozen

from blockcheck.analysis.study import Study
from blockcheck.circuit.allowed import NOT_DECIDED, nearest
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.reach import Answer, Never, Question, Route, Undecided, Witness
from blockcheck.circuit.state import ON, State, conducts
from blockcheck.model.operate import closed_position, open_position

MOST_ENUMERATED = 12
"""With up to this many controls, all states are looked at where no quicker way decides."""
FEW = 8
"""Of a node with more edges so many are looked at together, the most promising first."""


@frozen(eq=False, repr=False, slots=False)
class Isolation:
    """Questions about the isolators of a study."""

    study: Study

    @cached_property
    def _distance(self) -> list[int]:
        """Node -> hops to the nearest booster terminal with every contact closed: where to look first."""
        return self.study.circuit.hops(self._terminals, held=False)

    def _nearest(self, node: int) -> Sequence[int]:
        """The edges at a node; of many, as a board's bus has, those first that lead nearer to a booster."""
        around = self.study.circuit.around[node]
        if len(around) <= FEW:
            return around
        if node not in self._sorted:
            ends = {number: sum(self.study.circuit.edges[number][:2]) - node for number in around}
            self._sorted[node] = sorted(around, key=lambda number: self._distance[ends[number]])
        return self._sorted[node]

    @cached_property
    def _sorted(self) -> dict[int, list[int]]:
        return {}

    @cached_property
    def _terminals(self) -> frozenset[int]:
        """The terminals of the boosters."""
        circuit = self.study.circuit
        return frozenset((*circuit.hot.values(), *circuit.back.values()))

    @cached_property
    def _in_piece(self) -> Mapping[int, frozenset[int]]:
        """Piece of the usual state -> the terminals in it."""
        found: dict[int, set[int]] = {}
        for node in self._terminals:
            found.setdefault(self.study.usual.pieces[node], set()).add(node)
        return {piece: frozenset(nodes) for piece, nodes in found.items()}

    def region(self, start: int, state: State, until: Callable[[set[int]], bool]) -> tuple[set[int], set[int]]:
        """What hangs together with a node in a state, and the terminals of boosters in it.

        The search is over as soon as the terminals found so far are enough; the region is then not whole.
        """
        circuit, mended, distance = self.study.circuit, self.study.mended, self._distance
        seen, terminals = {start}, {start} & self._terminals
        heap = [(distance[start], start, 0)]
        if terminals and until(terminals):
            return seen, terminals
        while heap:
            _, node, first = heapq.heappop(heap)
            ways = self._nearest(node)
            if first + FEW < len(ways):
                edge = circuit.edges[ways[first + FEW]]
                heapq.heappush(heap, (distance[edge.b if edge.a == node else edge.a], node, first + FEW))
            for number in ways[first : first + FEW]:
                edge = circuit.edges[number]
                other = edge.b if edge.a == node else edge.a
                if other not in seen and conducts(edge, state) and edge.path not in mended:
                    seen.add(other)
                    heapq.heappush(heap, (distance[other], other, 0))
                    if other in self._terminals:  # looked at when it is come upon: a board's bus has many ways on
                        terminals.add(other)
                        if until(terminals):
                            return seen, terminals
        return seen, terminals

    def lit(self, block: str, state: State) -> bool:
        """Whether the two rails of a block reach the two terminals of one booster in a state."""
        circuit = self.study.circuit
        if state is circuit.usual:
            return self.study.usual.power(block) == ON
        rails = circuit.detected[block], circuit.common[block]
        near = [self.region(rail, state, bool)[1] for rail in rails]
        if not all(near):
            return False
        if self._loop(*near):
            return True
        return self._loop(*(self.region(rail, state, self._terminals.issubset)[1] for rail in rails))

    def _loop(self, detected: set[int], common: set[int]) -> bool:
        circuit = self.study.circuit
        return any(circuit.hot[name] in detected and circuit.back[name] in common for name in circuit.hot)

    @property
    def kills(self) -> Mapping[str, frozenset[str]]:
        """Isolator -> the blocks from which it takes power when it opens, everything else as usual, or as near to that
        as interlocks let it. One that could not be decided is absent."""
        return self.study.once(_kills)

    def killed(self, isolator: str, before: State, after: State) -> Iterator[str]:
        """A rail that keeps every terminal it may have had loses nothing; in other regions each block is looked at."""
        circuit, pieces = self.study.circuit, self.study.usual.pieces
        ends = {end for number in circuit.contacts[isolator] for end in circuit.edges[number][:2]}
        had = frozenset[int]().union(*(self._in_piece.get(pieces[end], ()) for end in ends))
        done: set[int] = set()
        for number in circuit.contacts[isolator]:
            edge = circuit.edges[number]
            if edge.position != before[isolator]:
                continue
            for end in (edge.a, edge.b):
                if end in done:
                    continue
                region, terminals = self.region(end, after, had.issubset)
                if had <= terminals:
                    continue
                done |= region
                for block in {circuit.block_of[node] for node in region if node in circuit.block_of}:
                    if self.lit(block, before) and not (terminals and self.lit(block, after)):
                        yield block

    def gets_round(self, isolator: str, block: str) -> tuple[Answer, int]:
        """Whether a block can have power with an isolator open, in any state of everything else; and the route to show.

        The witness's first route runs from the block to a booster, its second back to that booster.
        """
        cut = open_position(self.study.wiring, isolator)
        assert cut is not None
        side = self.study.layout.isolators[isolator].side
        return self.live(block, {isolator: cut}), 1 if side == "common-rail" else 0

    def live(self, block: str, fixed: Mapping[str, str], held: bool = False) -> Answer:
        """Whether a block can have power while some controls are fixed."""
        circuit, mended = self.study.circuit, self.study.mended
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
        """The boosters, in groups that share a return whatever the contacts do."""
        groups: dict[object, list[str]] = {}
        number = self.study.circuit.return_of
        mine = {
            str(district.booster): number[name]
            for name, district in self.study.layout.districts.items()
            if name in number and not district.turns
        }
        for index, name in enumerate(self.study.circuit.back):
            groups.setdefault(mine.get(name, index), []).append(name)
        return tuple(map(tuple, groups.values()))

    def matters(self, isolator: str, block: str) -> bool | None:
        """Whether opening an isolator makes a difference to a block in some state; None where that is not decided."""
        if block in self.kills.get(isolator, ()):
            return True
        if not self._touches(isolator, block):
            return False
        circuit, wiring = self.study.circuit, self.study.wiring
        cut = open_position(wiring, isolator)
        assert cut is not None
        for wanted in self._likely(block):
            state = alone(self.study, isolator, wanted)
            if state is not None and state != NOT_DECIDED and self._differs(block, state, {**state, isolator: cut}):
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
        """Whether some contact of an isolator can lie on a way to the block at all, through another one perhaps."""
        circuit = self.study.circuit
        goals = self._terminals | {circuit.detected[block], circuit.common[block]}
        return any(
            all(
                not isinstance(
                    Question(
                        circuit, [Route(frozenset({end}), goals)], without=number.__eq__, mended=self.study.mended
                    ).answer(),
                    Never,
                )
                for end in (circuit.edges[number].a, circuit.edges[number].b)
            )
            for number in circuit.contacts[isolator]
        )

    def _likely(self, block: str) -> Iterable[dict[str, str]]:
        """States in which a difference shows, if there is one: as usual, all closed, all open but the block's own."""
        circuit, wiring = self.study.circuit, self.study.wiring
        own = {one.name for one in wiring.host(block).isolators}
        yield dict(circuit.usual)
        yield {name: control.positions[0] for name, control in circuit.controls.items()}
        yield {
            name: control.usual if name in own else control.positions[-1] for name, control in circuit.controls.items()
        }

    def _differs(self, block: str, before: State, after: State) -> bool:
        can_be = self.study.circuit.can_be
        return can_be(before) and can_be(after) and self.lit(block, before) and not self.lit(block, after)

    def trickles(self, isolator: str, block: str) -> Answer:
        """Whether, with an isolator open, a vehicle in the block can still make its own channel read.

        The current must come to the detector by a way that has passed neither it nor the block: else it ends there.
        The witness's routes run from the rail to the detector, from its bank to a booster, and back to that booster.
        """
        circuit, fed, mended = self.study.circuit, self.study.wiring.fed[block], self.study.mended
        cut = open_position(self.study.wiring, isolator)
        assert cut is not None
        if fed.channel is None:
            return Never()
        out, rail = circuit.channels[block], circuit.detected[block]
        mine = next(
            edge for edge in (circuit.edges[number] for number in circuit.around[out]) if edge.kind is Kind.DETECTOR
        )
        round_about = {
            *(number for number in circuit.around[mine.a] if circuit.edges[number].part == mine.part),
            *(number for number in circuit.around[rail] if not circuit.delivers(number, rail)),
        }
        without, fixed = round_about.__contains__, {isolator: cut}
        own = Route(frozenset({rail}), frozenset({out}))
        if isinstance(Question(circuit, [own], fixed, without, held=True, mended=mended).answer(), Never):
            return Never()
        undecided = False
        for boosters in self._sharing:
            there = Route(frozenset({mine.a}), frozenset(circuit.hot[name] for name in boosters))
            back = Route(frozenset({circuit.common[block]}), frozenset(circuit.back[name] for name in boosters))
            answer = Question(circuit, [own, there, back], fixed, without, held=True, mended=mended).answer()
            if isinstance(answer, Witness):
                return answer
            undecided |= isinstance(answer, Undecided)
        return Undecided() if undecided else Never()


def _kills(study: Study) -> Mapping[str, frozenset[str]]:
    isolation, wiring, usual = Isolation(study), study.wiring, study.circuit.usual
    found = dict[str, frozenset[str]]()
    for name in wiring.meant:
        cut = open_position(wiring, name)
        if cut is None:
            continue
        closed = closed_position(wiring, name)
        if name in study.circuit.interlocked:
            killed = _kills_among(study, name, closed, cut)
            found |= {name: killed} if killed is not None else {}
            continue
        before = usual if usual[name] == closed else moved(usual, name, closed)
        found[name] = frozenset(isolation.killed(name, before, moved(usual, name, cut)))
    return found


def alone(study: Study, isolator: str, wanted: State) -> State | Literal["undecided"] | None:
    """The state nearest to a wanted one in which an isolator can be opened and closed, closed; None where interlocks
    let it move with another only, or not at all."""
    circuit, wiring = study.circuit, study.wiring
    closed, cut = closed_position(wiring, isolator), str(open_position(wiring, isolator))
    bars = dict.fromkeys(bar.given(isolator, place) for bar in circuit.bars for place in (closed, cut))
    near = nearest(evolve(circuit, bars=tuple(bars)), {}, wanted.items())
    return near if near is None or near == NOT_DECIDED else {**wanted, **near, isolator: closed}


def _kills_among(study: Study, name: str, closed: str, cut: str) -> frozenset[str] | None:
    """What opening an isolator kills where interlocks may not let all else stand as usual; None where that is not
    decided. Two that move as one, such as the arms of a lever, do so."""
    before = alone(study, name, study.circuit.usual)
    beside: State | Literal["undecided"] | None = {}
    if before is None:
        before, beside = (nearest(study.circuit, {name: place}) for place in (closed, cut))
    if before == NOT_DECIDED or beside == NOT_DECIDED:
        return None
    if before is None or beside is None:  # it always stands there
        return frozenset()
    was = study.now(before)
    now = study.now({**was.state, **beside, name: cut})
    return frozenset(block for block in study.blocks if was.power(block) == ON != now.power(block))


class _Moved(dict[str, str]):
    """A state that differs in a control or two from one that stays as it is; cheaper than a copy of all of it."""

    def __init__(self, base: State, moved: Mapping[str, str]) -> None:
        super().__init__(moved)
        self._base = base

    def __missing__(self, control: str) -> str:
        return self._base[control]


def moved(base: State, control: str, position: str) -> State:
    """A state with one control moved."""
    return _Moved(base, {control: position})
