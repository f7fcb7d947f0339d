"""What feeds which block in one way of operating a layout, and what stands in it: by the contacts alone."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.circuit.parts import CLOSED, Kind
from blockcheck.circuit.state import OFF, ON, TRICKLE, Now
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import Operation, Placed


@frozen(eq=False, repr=False, slots=False)
class Feeding:
    """The feeding of a study in one operation.

    A district's load is the trains that are placed in it, else what it expects, spread evenly over its blocks that are
    awake and no throats: as usual or, where those are more, as its scenario has it. What sleeps takes its share along.
    """

    study: Study
    operation: Operation

    @classmethod
    def of(cls, study: Study, operation: Operation) -> Feeding:
        """The feeding of an operation; of the study's own ones it is worked out once."""
        return study.standing(cls, operation)

    @cached_property
    def now(self) -> Now:
        """The circuit as it stands in the operation."""
        return self.study.now(self.operation.positions)

    @cached_property
    def standing(self) -> Mapping[str, tuple[Placed, ...]]:
        """Block -> the trains that stand in it."""
        found: dict[str, tuple[Placed, ...]] = {}
        for one in self.operation.trains:
            found[one.block] = (*found.get(one.block, ()), one)
        return found

    @cached_property
    def supply(self) -> Mapping[str, str]:
        """Block -> the district that feeds it now, for the blocks that are on."""
        return {block: name for block, name in self.reached.items() if self.now.power(block) == ON}

    @cached_property
    def reached(self) -> Mapping[str, str]:
        """As ``supply``, with the blocks that have voltage through a hold resistor only."""
        found: dict[str, str] = {}
        for block in self.study.blocks:
            home = self.chosen.get(self.study.wiring.bank_of(block), self.study.wiring.fed[block].district)
            if home is not None and self.now.power(block) != OFF:
                found[block] = home
        return found

    @cached_property
    def reached_from(self) -> Mapping[str, tuple[str, ...]]:
        """District -> the blocks that it reaches."""
        found: dict[str, list[str]] = {}
        for block, home in self.reached.items():
            found.setdefault(home, []).append(block)
        return {home: tuple(blocks) for home, blocks in found.items()}

    def hold(self, block: str) -> Isolator | None:
        """The open isolator through whose hold resistor alone a block has voltage; None for any other block.

        Where several are in its feed, that of the largest resistor; where none is, that of the smallest anywhere.
        """
        if self.now.power(block) != TRICKLE:
            return None
        own = [one for one in self.study.wiring.in_feed(block) if self._holds(one)]
        if own:
            return max(own, key=lambda one: one.hold_ohm or 0.0)
        every = filter(self._holds, self.study.layout.isolators.values())
        return min(every, key=lambda one: one.hold_ohm or 0.0)

    def divided(self, block: str) -> bool:
        """Whether current reaches a block by another way than its own detector: a channel carries a part of it then."""
        channel = self.study.wiring.fed[block].channel
        return channel is not None and bool(self._ways_into(block).keys() - {str(channel)})

    def easier(self, block: str) -> bool:
        """Whether another way takes off fewer volts than a block's own detector: it carries all of a little current."""
        own = self.study.wiring.fed[block].lost_v
        return any(lost < own for lost in self._ways_into(block).values())

    def _ways_into(self, block: str) -> Mapping[str, float]:
        held = self.now.power(block) == TRICKLE
        piece = (self.now.beyond_held if held else self.now.beyond)[self.study.circuit.detected[block]]
        return self._ways_in[held].get(piece, {})

    @cached_property
    def _ways_in(self) -> tuple[Mapping[int, Mapping[str, float]], ...]:
        """Piece of what hangs together behind the detectors -> the detectors that feed it, and the boosters that do
        without one, with the volts that each takes off; with hold resistors as conductors in the second."""
        circuit, found = self.study.circuit, list[dict[int, dict[str, float]]]()
        for pieces in (self.now.beyond, self.now.beyond_held):
            ways = dict[int, dict[str, float]]()
            for edge in circuit.edges:
                if edge.kind is Kind.DETECTOR:
                    ways.setdefault(pieces[edge.b], {})[edge.part] = self.study.wiring.fed[str(edge.path[1])].lost_v
            for name, node in circuit.hot.items():
                ways.setdefault(pieces[node], {})[f"booster {name}"] = 0.0
            found.append(ways)
        return tuple(found)

    def through(self, block: str, siemens: float) -> float:
        """What axles let through in a block that has voltage, in amperes: all that its booster gives lies across them,
        and across a hold resistor."""
        isolator, layout = self.hold(block), self.study.layout
        booster = layout.boosters.get(layout.districts[self.reached[block]].booster)
        if booster is None or not siemens:
            return 0.0
        return booster.voltage_v / (1 / siemens + (isolator.hold_ohm or 0.0 if isolator is not None else 0.0))

    def _holds(self, isolator: Isolator) -> bool:
        return isolator.hold_ohm is not None and self.now.state.get(isolator.name) != CLOSED

    @cached_property
    def chosen(self) -> Mapping[object, str]:
        """Bank, or undetected block, behind a changeover -> the district that the changeover connects now."""
        found: dict[object, str] = {}
        for name, blocks in self.study.wiring.switched.items():
            if self.study.layout.isolators[name].contact != "changeover":
                continue
            position = self.now.state[name]
            for block in blocks:
                if position != "off":
                    found[self.study.wiring.bank_of(block)] = position
        return found

    @cached_property
    def with_trains(self) -> frozenset[str]:
        """The districts in which trains are placed."""
        fed, usual = self.study.wiring.fed, self._usually.supply
        homes = {  # a train that sleeps where a changeover is off belongs where the changeover usually is
            self.supply.get(one.block) or usual.get(one.block) or fed[one.block].district
            for one in self.operation.trains
        }
        return frozenset(home for home in homes if home is not None)

    def spread(self, district: str) -> tuple[float, tuple[str, ...]]:
        """The share of what a district expects that each block carries, and the blocks that carry it now; behind a hold
        resistor as far as it stays awake.

        A block that a changeover has moved to a district with placed trains carries those, and no share.
        """
        if district not in self._spreads:
            self._spreads[district] = self._spread(district)
        return self._spreads[district]

    @cached_property
    def _spreads(self) -> dict[str, tuple[float, tuple[str, ...]]]:
        return {}

    def _spread(self, district: str) -> tuple[float, tuple[str, ...]]:
        here, meant = self._places(district), self._meant._places(district)
        most = max(len(self.case_standing.get(district, ())), len(meant), len(here))
        return (1 / most if most else 0.0), here

    def _places(self, district: str) -> tuple[str, ...]:
        """Where what a district expects stands now: in the blocks that are awake in it as usual, wherever a changeover
        has moved them, as far as they are awake, and in others that are awake in it instead."""
        usual = self.case_standing.get(district, ())
        kept = [block for block in usual if block in self.reached and self.reached[block] not in self.with_trains]
        return (*kept, *(one for one in self.awake.get(district, ()) if not usual or one not in self._spoken_for))

    @cached_property
    def _spoken_for(self) -> frozenset[str]:
        """The blocks that are awake as usual: they have a share of what their own district expects."""
        return frozenset(block for blocks in self.case_standing.values() for block in blocks)

    @cached_property
    def _meant(self) -> Feeding:
        """As its scenario has it, before anything is opened."""
        return Feeding.of(self.study, self.study.operation(self.operation.scenario))

    @cached_property
    def _usually(self) -> Feeding:
        return Feeding.of(self.study, self.study.operations[0]) if self.operation.positions else self

    @property
    def case_standing(self) -> Mapping[str, tuple[str, ...]]:
        """District -> the blocks, no throats, that are awake in it as the layout usually stands."""
        return self._usually.awake

    @cached_property
    def awake(self) -> Mapping[str, tuple[str, ...]]:
        """District -> the blocks, no throats, that are awake in it now."""
        found: dict[str, list[str]] = {}
        for block, district in self.supply.items():
            if not self.throat(block):
                found.setdefault(district, []).append(block)
        return {district: tuple(blocks) for district, blocks in found.items()}

    def throat(self, block: str) -> bool:
        """Whether trains never stand in a block."""
        return self.study.layout.blocks[block].kind == "throat"
