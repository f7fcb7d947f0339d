"""The tests that can be made on the finished wiring: what is set, where the probes go, and what kind of thing is read.

Dead tests: boosters unplugged, the buses pulled off the detector boards, every isolator closed but those that a test
names, no vehicle on the track. Live tests: everything plugged in.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import numpy as np
from attrs import frozen

from blockcheck.analysis.bench.lowrank import islands
from blockcheck.analysis.bench.places import Places
from blockcheck.analysis.bench.points import routed
from blockcheck.analysis.bench.wired import (
    CHANNELS,
    JOINER_OHM,
    OHMS,
    RAILS,
    SHORT_OHM,
    TRIPS,
    VOLTS,
    Probe,
    Step,
    Wired,
    banks,
    shown_position,
)
from blockcheck.analysis.study import Study
from blockcheck.circuit.parts import Edge
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import closed_position
from blockcheck.model.wiring import Fed, positions


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
                islands(nodes, *np.array(some, dtype=np.int64).reshape(-1, 2).T)[0].tolist()
                for some in (ends, ends + self._behind)
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
        """The ends of what conducts with power, and may without."""
        return [(piece.a, piece.b) for piece in self.built.pieces if piece.powered and not piece.unplugged]

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
class _Steps(Places):
    def all(self) -> Iterator[Step]:
        yield from self.supplies()
        for block in self.study.blocks:
            yield self.insulation(block)
        yield from self.joints()
        for block in self.study.blocks:
            yield from self.continuity(block)
        yield from self.isolators()
        yield from self.frogs()
        yield from self.points()
        for block in self.study.blocks:  # before anything else with power on: a breaker that does not trip is mended
            yield from self.short(block)
        for block in self.study.blocks:
            yield from self.live(block)
        yield from self.polarities()
        yield from self.isolators_live()

    # -- dead -----------------------------------------------------------------------------------------------------
    def supplies(self) -> Iterator[Step]:
        """Districts against each other, and every bank against the district that feeds it."""
        districts = [*self.study.circuit.feeds]
        for name in districts:
            title = f"district {name}: no short"
            yield self.make(f"district.{name}", OHMS, title, self.feed(name), self.back(name), (name,))
        for number, one in enumerate(districts):
            for other in districts[number + 1 :]:
                pair = sorted((one, other), key=natural_key)  # one name of a test in every unit that has it
                for what, at in (("feeds", self.feed), ("returns", self.back)):
                    title = f"{what} of districts {' and '.join(pair)}"
                    id_ = f"districts.{'.'.join(pair)}.{what}"
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

    def points(self) -> Iterator[Step]:
        """Across every joint to which points pass power, with the points as they do not usually stand."""
        for points, leg, away, meet in routed(self.bench):
            (first, second), usual = meet.blocks, self.bench.state[points]
            position, runs = (away, "cut") if usual == leg else (leg, "runs through")
            red, black = (
                Probe(node, f"the {meet.rail} rail of {block}, at the {end} end")
                for node, block, end in zip(meet.nodes, meet.blocks, meet.ends, strict=True)
            )
            title = f"{points} set {position}: {meet.rail} rail of {first} and {second} {runs}"
            state, about = ((points, position),), (*meet.blocks, points)
            rough = any(self.rough(one) for one in meet.blocks)
            yield self.make(f"points.{points}.{leg}", OHMS, title, red, black, about, state=state, rough=rough)

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

    def polarities(self) -> Iterator[Step]:
        """Across every gap of two districts, from detected rail to detected rail: nothing flows where both run the
        same way. Not where a device turns one of them by itself: it may stand either way."""
        fed, districts, axle = self.study.wiring.fed, self.study.layout.districts, self.bench.axle_ohm
        meetings = [*self.bench.meetings()]
        jumpers = {meet.joint: meet.nodes for meet in meetings if meet.rail == "common" and meet.cut}
        for meet in meetings:
            homes = [districts.get(self.home(fed[block])) for block in meet.blocks]
            if meet.rail != "detected" or not meet.cut or homes[0] == homes[1]:
                continue
            if any(home is None or home.polarity == "automatic" for home in homes):
                continue
            (first, second), ends = meet.blocks, meet.ends
            probes = [
                Probe(node, f"the detected rail of {block}, at the {end} end")
                for node, block, end in zip(meet.nodes, meet.blocks, ends, strict=True)
            ]
            for kind, what in ((CHANNELS, "test axle"), (VOLTS, "volts of the test axle")):
                id_ = f"{'polarity' if kind == CHANNELS else 'volts'}.{first}.{second}{meet.again}"
                title = f"{first} and {second}: {what} across the gap in the detected rail"
                jumper = jumpers.get(meet.joint)
                gap = f"the {ends[0]} end of {first} and the {ends[1]} end of {second}"
                yield self.make(
                    id_, kind, title, probes[0], probes[1], meet.blocks, across=axle, gap=gap, jumper=jumper
                )

    def home(self, fed: Fed) -> str:
        """The district that a block hangs on as it stands for the tests."""
        at = self.bench.state.get(fed.changeover.name, "off") if fed.changeover is not None else "off"
        return at if at in self.study.layout.districts else str(fed.district)

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
