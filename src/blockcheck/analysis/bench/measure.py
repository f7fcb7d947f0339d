"""The tests that can be made on the finished wiring: what is set, where the probes go, and what kind of thing is read.

Dead tests: boosters unplugged, the buses pulled off the detector boards, every isolator closed but those that a test
names, no vehicle on the track. Live tests: everything plugged in.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.bench.wired import (
    CHANNELS,
    DEAD,
    JOINER_OHM,
    LIVE,
    OHMS,
    RAILS,
    SHORT_OHM,
    TRIPS,
    VOLTS,
    Probe,
    Step,
    Wired,
)
from blockcheck.analysis.study import Study
from blockcheck.circuit.parts import CLOSED, Edge, Kind
from blockcheck.circuit.terminals import Terminals, drop_spot
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import closed_position
from blockcheck.model.wiring import positions
from blockcheck.solver.sparse import components


@frozen(eq=False, repr=False, slots=False)
class Bench(Wired):
    """A layout on the bench, and every test that can be made on it."""

    @classmethod
    def of(cls, study: Study) -> Bench:
        """The bench of a study, worked out once."""
        return study.always(cls)

    @cached_property
    def tests(self) -> tuple[Step, ...]:
        """Every test, in the order that is safe: what could do harm is ruled out first."""
        found: dict[tuple[object, ...], Step] = {}
        maker = _Steps(self)
        for test in maker.all():
            if self.through_breaker(test):
                continue
            ends = frozenset((test.red.node, test.black.node))
            found.setdefault((test.kind, test.state, ends, test.across), test)
        return tuple(found.values())

    def through_breaker(self, test: Step) -> bool:
        """Whether a dead test reads through a district's breaker, and so says nothing: some conduct without power,
        and some do not."""
        if test.kind != OHMS or not self._behind:
            return False
        if test.state not in self._hang:
            state, dead = {**self.state, **dict(test.state)}, self.stages[OHMS]
            moved = [number for name, _ in test.state for number in self.built.moved_by.get(name, ())]
            conducting = {**self._conducting, **{one: self.built.siemens(one, dead, state) > 0 for one in moved}}
            ends = [self._ends[number] for number, on in conducting.items() if on]
            nodes = self.built.grid.network.nodes
            self._hang[test.state] = tuple(
                components(nodes, [a for a, _ in some], [b for _, b in some]) for some in (ends, ends + self._behind)
            )
        off, on = self._hang[test.state]
        red, black = test.red.node, test.black.node
        return off[red] != off[black] and on[red] == on[black]

    @cached_property
    def _hang(self) -> dict[object, tuple[list[int], ...]]:
        """State -> what hangs together in it without power, breakers open and closed."""
        return {}

    @cached_property
    def _ends(self) -> list[tuple[int, int]]:
        return [(piece.a, piece.b) for piece in self.built.pieces]

    @cached_property
    def _behind(self) -> list[tuple[int, int]]:
        """The ends of what conducts with power alone."""
        return [(piece.a, piece.b) for piece in self.built.pieces if piece.powered]

    @cached_property
    def _conducting(self) -> dict[int, bool]:
        """Piece -> whether it conducts without power, every isolator closed."""
        every, dead = enumerate(self.built.pieces), self.stages[OHMS]
        return {n: self.built.siemens(n, dead, self.state) > 0 for n, piece in every if not piece.powered}

    @cached_property
    def further(self) -> tuple[Step, ...]:
        """Tests for which somebody must lie under the bench: they stand on no sheet, but settle what it leaves open."""
        return tuple(_Steps(self).taps())

    @cached_property
    def by_id(self) -> dict[str, Step]:
        """Id -> test."""
        return {test.id: test for test in (*self.tests, *self.further)}


@frozen(eq=False, repr=False, slots=False)
class _Steps:
    bench: Wired

    def all(self) -> Iterator[Step]:
        yield from self.supplies()
        for block in self.study.blocks:
            yield self.insulation(block)
        yield from self.joints()
        for block in self.study.blocks:
            yield from self.continuity(block)
        yield from self.isolators()
        yield from self.frogs()
        for block in self.study.blocks:  # before anything else with power on: a breaker that does not trip is mended
            yield from self.short(block)
        for block in self.study.blocks:
            yield from self.live(block)
        yield from self.isolators_live()

    @property
    def study(self) -> Study:
        return self.bench.study

    def group(self, block: str) -> str | None:
        return self.study.layout.blocks[block].group

    def make(
        self, id_: str, kind: str, title: str, red: Probe, black: Probe, about: tuple[str, ...], **more: object
    ) -> Step:
        state = self.moves(more.pop("state", ()), about)  # type: ignore[arg-type]
        stage = DEAD if kind == OHMS else LIVE
        group = next((self.group(one) for one in about if one in self.study.layout.blocks), None)
        return Step(id_, stage, kind, title, state, red, black, group, about, **more)  # type: ignore[arg-type]

    def moves(self, wanted: tuple[tuple[str, str], ...], about: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
        """What is moved for a step: what it is about, and what an interlock keeps from standing as it is."""
        found = self.bench.around(dict(wanted), self.bench.state, about)
        moved = [one for one in dict.fromkeys((*wanted, *found.items())) if self.bench.state[one[0]] != one[1]]
        return tuple(sorted(moved, key=lambda one: one[1] == CLOSED))  # opened first

    # -- places ---------------------------------------------------------------------------------------------------
    def places(self, block: str) -> list[tuple[str, str, Probe, Probe]]:
        """Near end, drops and far end of a block: a short name, words, and the probes on both rails."""
        track = self.bench.built.grid.tracks.get(block)
        if track is None:  # left out for want of data: connected or not is all that can be told
            circuit = self.study.circuit
            detected = Probe(circuit.detected[block], f"the detected rail of {block}")
            return [("any", "anywhere", detected, Probe(circuit.common[block], f"the common rail of {block}"))]
        own = track.ladder
        wanted = [("near", "at the near end", 0.0)]
        for number, at_m in enumerate(own.drops_m, 1):
            wanted.append((f"drop{number}", f"{self.bench.length(at_m)} from the near end", at_m))
        wanted.append(("far", "at the far end", own.length_m))
        return [self.place(block, name, words, at_m) for name, words, at_m in wanted]

    def place(self, block: str, name: str, words: str, at_m: float) -> tuple[str, str, Probe, Probe]:
        """A place on both rails; at a drop, each with the drop's name on that rail."""
        track = self.bench.built.grid.tracks[block]
        number, drop = track.nearest(at_m), name.removeprefix("drop")
        ends = (f"at {block}:{drop_spot(int(drop), rail)}, " if drop.isdecimal() else "" for rail in RAILS)
        detected, common = (f"the {rail} rail of {block}, {end}{words}" for rail, end in zip(RAILS, ends, strict=True))
        return name, words, Probe(track.detected[number], detected), Probe(track.common[number], common)

    def rough(self, block: str) -> bool:
        return block not in self.bench.built.grid.tracks

    def plug(self, block: str) -> Probe:
        """Where the block's bus begins, pulled off its board."""
        fed = self.study.wiring.fed[block]
        node = self.study.circuit.channels[block]
        if fed.channel is not None:
            return Probe(node, f"the bus plug of {self.terminals.at(node).name}")
        if fed.changeover is not None:
            return self.terminal(node)
        return self.feed(str(fed.district))

    def feed(self, district: str) -> Probe:
        return self.terminal(self.study.circuit.feeds[district])

    def back(self, district: str) -> Probe:
        return self.terminal(self.study.circuit.returns[district])

    @property
    def terminals(self) -> Terminals:
        return self.bench.terminals

    def terminal(self, node: int) -> Probe:
        """A terminal, by the name that its labels have."""
        return Probe(node, f"terminal {self.terminals.at(node).name}")

    # -- dead -----------------------------------------------------------------------------------------------------
    def supplies(self) -> Iterator[Step]:
        """Districts against each other, and every bank against the district that feeds it."""
        districts = sorted(self.study.circuit.feeds, key=natural_key)
        for name in districts:
            title = f"district {name}: no short"
            yield self.make(f"district.{name}", OHMS, title, self.feed(name), self.back(name), (name,))
        for number, one in enumerate(districts):
            for other in districts[number + 1 :]:
                for what, at in (("feeds", self.feed), ("returns", self.back)):
                    title = f"{what} of districts {one} and {other}"
                    id_ = f"districts.{one}.{other}.{what}"
                    yield self.make(id_, OHMS, title, at(one), at(other), (one, other))
        for board, bank, node, district in banks(self.study):
            probe = self.terminal(node)
            for name in districts:
                title = f"{board} bank {bank} on district {name}"
                if name == district:
                    yield self.make(f"bank.{board}.{bank}", OHMS, title, self.feed(name), probe, (board,))
                else:
                    id_ = f"bank.{board}.{bank}.{name}"
                    yield self.make(id_, OHMS, title, self.feed(name), probe, (board,))

    def insulation(self, block: str) -> Step:
        _, _, detected, common = self.places(block)[-1]
        return self.make(f"rails.{block}", OHMS, f"{block}: rail from rail", detected, common, (block,))

    def joints(self) -> Iterator[Step]:
        """Across every joint, on either rail."""
        for meet in self.bench.meetings():
            (first, second), rail = meet.blocks, meet.rail
            title = f"{first} and {second}: {rail} rail {'cut' if meet.cut else 'runs through'}"
            red, black = (
                Probe(node, f"the {rail} rail of {block}, at the {end} end")
                for node, block, end in zip(meet.nodes, meet.blocks, meet.ends, strict=True)
            )
            slack = 0.0 if meet.cut else JOINER_OHM
            id_ = f"joint.{first}.{second}{meet.again}.{rail}"
            rough = any(self.rough(one) for one in meet.blocks)
            yield self.make(id_, OHMS, title, red, black, meet.blocks, slack_ohm=slack, rough=rough)

    def continuity(self, block: str) -> Iterator[Step]:
        """From the board to each place of the detected rail, and from the return terminal to the common rail."""
        district = str(self.study.wiring.fed[block].district)
        rough = self.rough(block)
        for rail in (0, 1):
            start = self.plug(block) if rail == 0 else self.back(district)
            side = RAILS[rail]
            for name, _, *probes in self.places(block):
                title = f"{block}: {side} rail {probes[rail].words.partition(', ')[2]}".rstrip()
                id_ = f"wire.{block}.{side}.{name}"
                yield self.make(id_, OHMS, title, start, probes[rail], (block,), rough=rough)

    def taps(self) -> Iterator[Step]:
        """From the board to where each drop leaves the bus."""
        built = self.bench.built
        for block, track in built.grid.tracks.items():
            for number, at_m in enumerate(track.ladder.drops_m):
                node = built.pieces[built.number["bus", block, number]].b
                where = (
                    f"the bus of {block} where drop {number + 1} leaves it, {self.bench.length(at_m)} along the track"
                )
                title = f"{block}: its bus at drop {number + 1}"
                yield self.make(
                    f"tap.{block}.{number + 1}", OHMS, title, self.plug(block), Probe(node, where), (block,)
                )

    def isolators(self) -> Iterator[Step]:
        """Every contact of every isolator in every position."""
        layout = self.study.layout
        for name in sorted(layout.isolators, key=natural_key):
            isolator = layout.isolators[name]
            seen = set()
            for edge in self.contacts(name):
                line, load, words, about = self.sides(isolator, edge)
                block_of = edge.b in self.study.circuit.block_of
                if (line.node, load.node) in seen:
                    continue
                seen.add((line.node, load.node))
                for position in positions(isolator):
                    id_ = f"switch.{name}.{words}.{position}"
                    title = f"{name} {shown_position(isolator, position)}: {words if block_of else line.words}"
                    state = ((name, position),)
                    rough = any(self.rough(one) for one in about if one in self.study.circuit.detected)
                    yield self.make(id_, OHMS, title, line, load, (*about, name), state=state, rough=rough)

    def contacts(self, name: str) -> list[Edge]:
        circuit = self.study.circuit
        return [circuit.edges[number] for number in circuit.contacts.get(name, ())]

    def sides(self, isolator: Isolator, edge: Edge) -> tuple[Probe, Probe, str, tuple[str, ...]]:
        """Both sides of a contact, what it feeds in a word, and the blocks that it is about."""
        circuit = self.study.circuit
        block = circuit.block_of.get(edge.b)
        if block is not None:
            rail = 2 if circuit.detected[block] == edge.b else 3
            load: Probe = self.places(block)[-1][rail]  # type: ignore[assignment]
            line = self.plug(block) if rail == 2 else self.back(str(self.study.wiring.fed[block].district))
            return line, load, block, (block,)
        behind = circuit.leads_to.get(edge.b)
        if behind is not None:  # another contact stands between it and the rail
            block = circuit.block_of[behind]
            line = self.plug(block) if edge.a == circuit.channels[block] else self.terminal(edge.a)
            return line, self.terminal(edge.b), block, (block,)
        about = tuple(self.study.wiring.switched.get(isolator.name, ()))
        district = next((name for node, name in self._terminals if node == edge.a), None)
        bank = next(((board, number) for board, number, node, _ in banks(self.study) if node == edge.b), None)
        words = f"{bank[0]}-bank-{bank[1]}" if bank is not None else "load"
        if district is not None:
            words += f".{district}.{'feed' if edge.a in circuit.feeds.values() else 'return'}"
        return self.terminal(edge.a), self.terminal(edge.b), words, about

    @cached_property
    def _terminals(self) -> list[tuple[int, str]]:
        circuit = self.study.circuit
        return [(node, name) for side in (circuit.feeds, circuit.returns) for name, node in side.items()]

    def frogs(self) -> Iterator[Step]:
        """Every switched frog against the rails of its block, in both positions of the points."""
        layout, circuit = self.study.layout, self.study.circuit
        for name in sorted(circuit.frogs, key=natural_key):
            block = layout.turnouts[name].block
            if block not in self.bench.built.grid.tracks:
                continue
            for position in ("through", "diverging"):
                state = ((name, position),)
                frog = Probe(circuit.frogs[name], f"the frog of {name}")
                _, _, detected, _ = self.places(block)[0]
                title = f"{name} set {position}: frog and detected rail"
                yield self.make(f"frog.{name}.{position}", OHMS, title, detected, frog, (block, name), state=state)

    # -- live -----------------------------------------------------------------------------------------------------
    def spots(self, block: str) -> list[tuple[str, str, Probe, Probe]]:
        """Near, middle and far."""
        track = self.bench.built.grid.tracks.get(block)
        if track is None:
            return self.places(block)
        length = track.ladder.length_m
        wanted = (
            ("near", "at the near end", 0.0),
            ("middle", "in the middle", length / 2),
            ("far", "at the far end", length),
        )
        return [self.place(block, *one) for one in wanted]

    def live(self, block: str) -> Iterator[Step]:
        axle = self.bench.axle_ohm
        for name, words, detected, common in self.spots(block):
            title = f"test axle in {block}, {words}"
            yield self.make(f"axle.{block}.{name}", CHANNELS, title, detected, common, (block,), across=axle)
            if name in ("far", "any"):
                title = f"volts of {block}, {words}, across the test axle"
                yield self.make(f"volts.{block}.{name}", VOLTS, title, detected, common, (block,), across=axle)

    def isolators_live(self) -> Iterator[Step]:
        """What every isolator is there for: power and detection of its blocks when it is moved."""
        layout = self.study.layout
        for name in sorted(layout.isolators, key=natural_key):
            isolator = layout.isolators[name]
            for position in positions(isolator):
                if position == closed_position(self.study.wiring, name):
                    continue
                blocks = [one for one in self.study.wiring.switched[name] if one in self.study.circuit.detected]
                for block in blocks:
                    spot = self.spots(block)
                    _, _, detected, common = spot[len(spot) // 2]
                    for kind, what in ((CHANNELS, "test axle in"), (VOLTS, "volts across the test axle in")):
                        title = f"{name} {shown_position(isolator, position)}: {what} {block}"
                        id_ = f"{'asleep' if kind == CHANNELS else 'volts'}.{name}.{position}.{block}"
                        yield self.make(
                            id_,
                            kind,
                            title,
                            detected,
                            common,
                            (block, name),
                            state=((name, position),),
                            across=self.bench.axle_ohm,
                        )

    def short(self, block: str) -> Iterator[Step]:
        if self.bench.breakers:
            _, words, detected, common = self.places(block)[-1]
            title = f"short in {block}, {words}"
            yield self.make(f"short.{block}", TRIPS, title, detected, common, (block,), across=SHORT_OHM)


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
