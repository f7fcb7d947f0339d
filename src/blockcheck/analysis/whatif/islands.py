"""A layout in islands: each a study of its own, whose volts and powers are those that it has in the whole."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from attrs import evolve, frozen

from blockcheck.analysis.study import Study
from blockcheck.circuit.islands import Islands
from blockcheck.model.operate import Operation


@frozen(eq=False, repr=False, slots=False)
class StudyIslands:
    """The islands of a study. What is left of a layout for one of them is what bears on its power and its volts: the
    blocks, districts, boosters, joints, contacts and trains of it, and all kinds of things."""

    study: Study
    apart: bool = False
    """Whether boosters without resistance of their own keep apart what hangs on them."""

    @classmethod
    def of(cls, study: Study, apart: bool = False) -> StudyIslands:
        """The islands of a study as it is mended, found once."""
        return study.once(cls, apart)

    @cached_property
    def islands(self) -> Islands:
        """What the circuit falls apart in. A block belongs to its home district, whatever feeds it."""
        circuit, fed = self.study.circuit, self.study.wiring.fed
        homes = ((node, circuit.feeds.get(str(fed[name].district))) for name, node in circuit.detected.items())
        boosters = self.study.layout.boosters
        stiff = [name for name in circuit.hot if self.apart and not boosters[name].resistance_ohm]
        return Islands.of(circuit, [(node, home) for node, home in homes if home is not None], stiff)

    @cached_property
    def blocks(self) -> Mapping[str, int]:
        """Block -> its island; that of its home for one that is left out of the circuit, none where that has none."""
        circuit, of_node = self.study.circuit, self.islands.of_node
        found = {}
        for name, fed in self.study.wiring.fed.items():
            node = circuit.detected.get(name, circuit.feeds.get(str(fed.district)))
            if node is not None:
                found[name] = of_node[node]
        return found

    @cached_property
    def _members(self) -> tuple[tuple[str, ...], ...]:
        found: list[list[str]] = [[] for _ in range(self.islands.count)]
        for name, island in self.blocks.items():
            found[island].append(name)
        return tuple(map(tuple, found))

    @cached_property
    def _joints(self) -> tuple[tuple[int, ...], ...]:
        """Island -> the joints that touch it."""
        found: list[list[int]] = [[] for _ in range(self.islands.count)]
        for index, joint in enumerate(self.study.layout.joints):
            for island in sorted({self.blocks[name] for name in joint.blocks if name in self.blocks}):
                found[island].append(index)
        return tuple(map(tuple, found))

    @cached_property
    def _studies(self) -> dict[int, Study]:
        return {}

    def alone(self, island: int) -> Study:
        """One island as a study of its own; made once."""
        if island not in self._studies:
            self._studies[island] = self._alone(island)
        return self._studies[island]

    def _alone(self, island: int) -> Study:
        wiring, layout, members = self.study.wiring, self.study.layout, self._members[island]
        fed = {name: wiring.fed[name] for name in members}
        own = [isolator.name for one in fed.values() for isolator in one.isolators]
        circuit = self.islands.circuit_of(island, [name for name in own if name in self.study.circuit.controls])
        isolators = [name for name in circuit.controls if name in layout.isolators]

        def here(blocks: tuple[str, ...]) -> tuple[str, ...]:
            return tuple(name for name in blocks if name in fed)

        # of a district that feeds nothing, the return alone may be here
        homes = {**circuit.feeds, **circuit.returns}
        rest = evolve(
            layout,
            boosters={name: one for name, one in layout.boosters.items() if name in circuit.hot},
            districts={name: one for name, one in layout.districts.items() if name in homes},
            blocks={name: layout.blocks[name] for name in members},
            isolators={name: layout.isolators[name] for name in isolators},
            joints=tuple(layout.joints[index] for index in self._joints[island]),
            interlocks=(),  # they bind across islands: whoever moves a control asks the whole
        )
        small = evolve(
            wiring,
            layout=rest,
            fed=fed,
            meant={name: here(wiring.meant.get(name, ())) for name in isolators},
            switched={name: here(wiring.switched.get(name, ())) for name in isolators},
        )
        operations = tuple(self.within(island, one, circuit.controls) for one in self.study.operations)
        return Study(small, circuit, operations, self.study.mended)

    def within(self, island: int, operation: Operation, controls: Mapping[str, object] | None = None) -> Operation:
        """An operation as far as it concerns an island; the island's own where it is one of the study's."""
        if controls is None:
            for known, own in zip(self.study.operations, self.alone(island).operations, strict=True):
                if known is operation:
                    return own
            controls = self.alone(island).circuit.controls
        return Operation(
            operation.scenario,
            {name: place for name, place in operation.positions.items() if name in controls},
            tuple(one for one in operation.trains if self.blocks.get(one.block) == island),
        )
