"""The places that probes are held to, in words, and a step made of two of them."""

from __future__ import annotations

from attrs import frozen

from blockcheck.analysis.bench.wired import DEAD, LIVE, OHMS, RAILS, Probe, Step, Wired
from blockcheck.analysis.study import Study
from blockcheck.circuit.parts import CLOSED
from blockcheck.circuit.terminals import Terminals, drop_spot


@frozen(eq=False, repr=False, slots=False)
class Places:
    """The places of a layout on the bench."""

    bench: Wired

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
