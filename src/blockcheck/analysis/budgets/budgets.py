"""Who draws what: the currents of vehicles, summed over channels, contacts, districts and boosters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from math import fsum
from typing import Literal, NamedTuple

from attrs import Factory, field, frozen

from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.feeding import Feeding
from blockcheck.analysis.power.probes import (
    expected_current,
    expected_siemens,
    heaviest_expected,
    train_current,
    train_siemens,
    volts_of,
)
from blockcheck.analysis.study import Study
from blockcheck.circuit.across import across_siemens
from blockcheck.circuit.parts import OPEN
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.operate import Operation

DrawKind = Literal["booster", "district", "channel", "contact"]


class Draw(NamedTuple):
    """A current against its limit. ``kind`` is booster, district, channel or contact; amperes."""

    kind: DrawKind
    name: str
    current_a: float
    limit_a: float | None
    path: Path
    """Where the limit is written, or the nearest place."""
    needs: tuple[str, ...] = ()
    """The data that are missing; where there are any, the current is only what is known."""
    expected: bool = False
    """Whether it is for a vehicle that is expected, and may stand on any of its district's tracks."""
    block: str | None = None
    """The block that a channel feeds."""


@frozen(eq=False, repr=False, slots=False)
class Budget:
    """The currents of a study in one way of operating it. What the operation puts to sleep draws nothing."""

    study: Study
    operation: Operation
    electrics: Electrics = field(
        default=Factory(lambda self: Electrics.of(self.study, self.operation), takes_self=True)
    )
    """Where it is read what is awake behind a hold resistor."""

    @classmethod
    def on(cls, electrics: Electrics) -> Budget:
        """The budget of a solved network."""
        return cls(electrics.study, electrics.operation, electrics)

    @classmethod
    def of(cls, study: Study, operation: Operation) -> Budget:
        """The budget of an operation."""
        return study.standing(cls, operation)

    @cached_property
    def feeding(self) -> Feeding:
        """What feeds which block, and what stands in it."""
        return Feeding.of(self.study, self.operation)

    @cached_property
    def blocks(self) -> Mapping[str, tuple[float, tuple[str, ...]]]:
        """Block -> amperes that its vehicles and what lies across it for good draw, and the data missing for it. Blocks
        that draw nothing are absent.

        Axles, and what lies there for good, draw V / R at the booster's voltage: a bound, since detector and wires take
        some of it off.
        Vehicles on a track that has power count as awake, also where its voltage is too low for them: no budget is
        better for that. Behind a hold resistor the solved network tells which are.
        """
        found: dict[str, tuple[float, tuple[str, ...]]] = {}
        for one in self.operation.trains:
            if one.block in self.feeding.reached:
                amps, needs = train_current(self.study, self.study.layout.trains[one.train], one.state)
                before = found.get(one.block, (0.0, ()))
                found[one.block] = (before[0] + amps, (*before[1], *needs))
        for district in self.study.layout.districts:
            if district not in self.feeding.with_trains:
                amps, needs = expected_current(self.study, district)
                amps += volts_of(self.study, district) * expected_siemens(self.study, district)
                share, places = self.feeding.spread(district)
                for block in places:
                    found[block] = (amps * share, needs)
        told = {
            block: told if block in self.feeding.supply else self._held(block, told[1]) for block, told in found.items()
        }
        for block in self.feeding.reached:
            amperes, siemens = told.get(block, (0.0, ())), across_siemens(self.study.wiring, block)
            for one in self.feeding.standing.get(block, ()):
                siemens += train_siemens(self.study, self.study.layout.trains[one.train])
            if siemens:
                told[block] = (amperes[0] + self.feeding.through(block, siemens), amperes[1])
        return told

    @cached_property
    def expecting(self) -> frozenset[str]:
        """The districts whose current is what they expect: no train is placed there."""
        return frozenset(one.name for one in self.districts() if one.current_a) - self.feeding.with_trains

    def for_good(self, block: str) -> float:
        """The amperes of what lies across a block for good, a bound like those of axles."""
        return self.feeding.through(block, across_siemens(self.study.wiring, block))

    def wakes(self, block: str) -> bool:
        """Whether what stands in a block is awake, or may be: by power, or through a hold resistor."""
        return block in self.feeding.supply or block in self.electrics.settled_loads.awake_blocks

    def _held(self, block: str, needs: tuple[str, ...]) -> tuple[float, tuple[str, ...]]:
        """What is drawn through a hold resistor. Where it is not known whether anything is awake there, nothing is, and
        what is missing."""
        if block in self.electrics.settled_loads.doubtful:
            return 0.0, (*needs, *self.electrics.lacking[block])
        return settled(self.electrics.settled_loads.amperes.get(block, 0.0)), needs

    def districts(self) -> Iterator[Draw]:
        """The current of every district against the most that it may carry."""
        layout = self.study.layout
        sums, needs = self._sums
        for name in sorted(layout.districts, key=natural_key):
            district = layout.districts[name]
            booster = layout.boosters.get(district.booster)
            limit = district.current_a if district.current_a is not None else booster.current_a if booster else None
            path: Path = ("districts", name, "current") if district.current_a is not None else ("districts", name)
            yield Draw("district", name, sums.get(name, 0.0), limit, path, needs.get(name, ()))

    @cached_property
    def _sums(self) -> tuple[dict[str, float], dict[str, tuple[str, ...]]]:
        sums: dict[str, list[float]] = {}
        needs: dict[str, dict[str, None]] = {}
        for block, (amps, missing) in self.blocks.items():
            district = self.feeding.reached[block]
            sums.setdefault(district, []).append(amps)
            needs.setdefault(district, {}).update(dict.fromkeys(missing))
        return {name: fsum(amps) for name, amps in sums.items()}, {name: tuple(all_) for name, all_ in needs.items()}

    def boosters(self) -> Iterator[Draw]:
        """The current of every booster, over all its districts, against what it delivers."""
        layout = self.study.layout
        by_booster: dict[str, list[Draw]] = {}
        for draw in self.districts():
            by_booster.setdefault(layout.districts[draw.name].booster, []).append(draw)
        for name in sorted(layout.boosters, key=natural_key):
            draws = by_booster.get(name, [])
            needs = tuple(dict.fromkeys(need for draw in draws for need in draw.needs))
            amps = fsum(draw.current_a for draw in draws)
            yield Draw("booster", name, amps, layout.boosters[name].current_a, ("boosters", name, "current"), needs)

    def channels(self) -> Iterator[Draw]:
        """The most that each channel carries (its trains, or the heaviest vehicle expected) against its board's limit,
        or its fuse."""
        path: Path
        for block, amps, needs, expected in self._at_feeds():
            fed = self.study.wiring.fed[block]
            if fed.channel is not None and fed.type is not None:
                limit: float | None = fed.type.channel_current_a
                path = ("board_types", fed.type.name, "channel_current")
                if fed.fuse is not None and (limit is None or fed.fuse[0] < limit):
                    limit, path = fed.fuse
                yield Draw("channel", str(fed.channel), amps, limit, path, needs, expected, block)

    def contacts(self) -> Iterator[Draw]:
        """The most that each isolator's contact carries against its rating; one before a bank carries all of it."""
        sums: dict[str, float] = {}
        missing: dict[str, tuple[str, ...]] = {}
        placed: set[str] = set()
        for block, amps, needs, expected in self._at_feeds():
            for isolator in self.study.wiring.fed[block].isolators:
                if self.feeding.now.state[isolator.name] == OPEN:
                    continue
                whole = isolator.contact == "changeover" or isolator.side == "before-detector"
                both = self.study.wiring.with_hung(block) if whole else ()
                share = fsum(self.blocks.get(one, (0.0, ()))[0] for one in both) if whole else amps
                many = sums.get(isolator.name, 0.0)
                sums[isolator.name] = many + share if whole else max(many, share)
                missing[isolator.name] = (*missing.get(isolator.name, ()), *needs)
                if whole or not expected:
                    placed.add(isolator.name)
        for name in sorted(sums, key=natural_key):
            rating = self.study.layout.isolators[name].rating_a
            needs = tuple(dict.fromkeys(missing[name]))
            yield Draw("contact", name, sums[name], rating, ("isolators", name, "rating"), needs, name not in placed)

    def _at_feeds(self) -> Iterator[tuple[str, float, tuple[str, ...], bool]]:
        """As ``_heaviest``, what stands in blocks that others feed by their rails added to those that feed them."""
        every: dict[str, list[tuple[float, tuple[str, ...], bool]]] = {}
        for block, amps, needs, expected in self._heaviest():
            every.setdefault(self.study.wiring.host(block).block.name, []).append((amps, needs, expected))
        for block, them in every.items():
            placed = fsum(amps for amps, _, expected in them if not expected)
            heaviest = max((amps for amps, _, expected in them if expected), default=0.0)
            lacks = tuple(dict.fromkeys(need for _, mine, _ in them for need in mine))
            yield block, max(placed, heaviest), lacks, all(one[2] for one in them) or placed < heaviest

    def _heaviest(self) -> Iterator[tuple[str, float, tuple[str, ...], bool]]:
        """Block -> the most that its vehicles draw: as placed, or the larger of its share and one expected vehicle.

        The last item says whether it is for expected vehicles.
        """
        heaviest = {name: heaviest_expected(self.study, name) for name in self.study.layout.districts}
        for block, district in self.feeding.reached.items():
            amps, needs = self.blocks.get(block, (0.0, ()))
            held = block not in self.feeding.supply
            if held and not amps and not needs:
                continue
            expected = not held and district not in self.feeding.with_trains and not self.feeding.throat(block)
            if expected:
                one, missing = heaviest[district]
                amps, needs = max(amps, one + self.for_good(block)), (*needs, *missing)
            yield block, amps, tuple(dict.fromkeys(needs)), expected


def above(draw: Draw, less_a: float = 0.0) -> bool:
    """Whether a draw is above its limit, as far as it is known; with some amperes less, by more than rounding."""
    return draw.limit_a is not None and settled(draw.current_a - less_a) > draw.limit_a


def silent_districts(study: Study) -> tuple[str, ...]:
    """The districts that feed some block and of which nothing tells what draws: no train ever stands in them, and they
    expect none."""
    known = {home for operation in study.operations for home in Feeding.of(study, operation).with_trains}
    feeding = {home for operation in study.operations for home in Feeding.of(study, operation).supply.values()}
    homes = study.layout.districts
    return tuple(sorted((name for name in feeding - known if not homes[name].expects), key=natural_key))
