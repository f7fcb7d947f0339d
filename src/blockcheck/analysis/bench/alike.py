"""Units of one shape: what is the same but for its names is looked at once.

A yard that stands eight times on a layout is one circuit and eight names. What predictions are made from is written out
with a number for each name, in the order in which they come: where two units are the same then, the names at each place
stand for each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import field, frozen

from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import Predicted, opposing
from blockcheck.analysis.bench.wired import Step
from blockcheck.network.built import Change


@frozen(eq=False, repr=False)
class Shape:
    """A sheet without its names: ``key`` is the same for each of one shape, ``names`` those at its places."""

    key: str
    names: Sequence[str]

    @classmethod
    def of(cls, bench: Bench, steps: Sequence[Step], cases: Sequence[tuple[Fault, Change]], *more: object) -> Shape:
        """The shape of a unit's tests and faults; ``more`` is what they are made with."""
        writer = _Writer()
        rows = [*writer.bench(bench), *writer.tests(bench, steps), *writer.cases(cases), more]
        return cls(repr(rows), tuple(writer.numbers))

    def named(self, found: Predicted, other: Shape, steps: tuple[Step, ...]) -> Predicted:
        """What was predicted for another sheet of this shape, by its own names."""
        to = dict(zip(other.names, self.names, strict=True))
        known = [Names(map(to.__getitem__, one), map(to.__getitem__, one.doubtful)) for one in found.known]
        return Predicted(steps, found.numbers, found.names, known, found.amperes)


@frozen(eq=False, repr=False)
class _Writer:
    numbers: dict[str, int] = field(factory=dict)

    def number(self, name: str | None) -> int:
        return -1 if name is None else self.numbers.setdefault(name, len(self.numbers))

    def each(self, names: Mapping[str, str]) -> list[tuple[int, int]]:
        return [(self.number(name), self.number(other)) for name, other in names.items()]

    def bench(self, bench: Bench) -> Iterator[object]:
        """What was built, and what reads."""
        yield bench.built.grid.network.nodes, bench.axle_ohm, tuple(bench.stages.items())
        yield [(self.number(block), *rest, self.number(channel)) for block, *rest, channel in bench.detectors]
        yield [(self.number(name), *rest) for name, *rest in bench.breakers]
        yield [self.number(one) for one in bench.channels]
        yield self.each(bench.state)
        for piece in bench.built.pieces:
            controls = self.number(piece.control), self.number(piece.position)
            yield piece.a, piece.b, piece.ohms, piece.part[:1], controls, piece.powered, piece.unplugged
        yield tuple(bench.built.volts.items())

    def tests(self, bench: Bench, steps: Sequence[Step]) -> Iterator[object]:
        """The tests."""
        for one in steps:
            state = [(self.number(name), self.number(place)) for name, place in one.state]
            ends = one.red.node, one.black.node, one.across, one.jumper
            yield one.id.partition(".")[0], one.kind, state, ends, one.rough, one.slack_ohm, opposing(bench, one)

    def cases(self, cases: Sequence[tuple[Fault, Change]]) -> Iterator[object]:
        """The faults."""
        for fault, change in cases:
            yield self.number(fault.id), fault.kind, fault.weight, *self.change(change)

    def change(self, one: Change) -> Iterator[object]:
        yield sorted(one.off), one.added, sorted(map(self.number, one.silent))
        yield [tuple(some.items()) for some in (one.moved, one.ohms, one.plugged)]
        yield [self.each(some) for some in (one.acts, one.stuck, one.renamed)]
