"""Who draws what, without volts: constant currents of vehicles, summed over channels, contacts, districts, boosters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from math import fsum

from attrs import frozen

from blockcheck.analysis.case import Case
from blockcheck.circuit.state import ON, Now
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.layout import Expected, Train
from blockcheck.model.operate import Operation, Placed


@frozen(eq=False, repr=False)
class Draw:
    """A current against its limit. ``kind`` is booster, district, channel or contact; amperes."""

    kind: str
    name: str
    current_a: float
    limit_a: float | None
    path: Path
    """Where the limit is written, or the nearest place."""
    needs: tuple[str, ...] = ()
    """The data that are missing; where there are any, the current is only what is known."""
    expected: bool = False
    """Whether it is for a vehicle that is expected, and may stand on any of its district's tracks."""


@frozen(eq=False, repr=False, slots=False)
class Budget:
    """The currents of a case in one way of operating it.

    A district's load is the trains that are placed in it, else what it expects, spread evenly over the blocks that
    are awake as usual and no throats. What the operation puts to sleep draws nothing.
    """

    case: Case
    operation: Operation

    @classmethod
    def of(cls, case: Case, operation: Operation) -> Budget:
        """The budget of an operation."""
        if any(operation is known for known in case.operations):
            return case.once(cls, operation)
        return cls(case, operation)

    @cached_property
    def now(self) -> Now:
        """The circuit as it stands in the operation."""
        return self.case.now(self.operation.positions)

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
        return {block: name for block in self.case.blocks if (name := self._supply(block)) is not None}

    def _supply(self, block: str) -> str | None:
        if self.now.power(block) != ON:
            return None
        fed = self.case.wiring.fed[block]
        return self.feeding.get((fed.board.name, fed.bank) if fed.board else block, fed.district)

    @cached_property
    def feeding(self) -> Mapping[object, str]:
        """Bank, or undetected block, behind a changeover -> the district that the changeover connects now."""
        found: dict[object, str] = {}
        for name, blocks in self.case.wiring.switched.items():
            if self.case.layout.isolators[name].contact != "changeover":
                continue
            position = self.now.state[name]
            for block in blocks:
                fed = self.case.wiring.fed[block]
                if position != "off":
                    found[(fed.board.name, fed.bank) if fed.board else block] = position
        return found

    @cached_property
    def with_trains(self) -> frozenset[str]:
        """The districts in which trains are placed."""
        fed, usual = self.case.wiring.fed, self._usually.supply
        homes = {  # a train that sleeps where a changeover is off belongs where the changeover usually is
            self.supply.get(one.block) or usual.get(one.block) or fed[one.block].district
            for one in self.operation.trains
        }
        return frozenset(home for home in homes if home is not None)

    @cached_property
    def blocks(self) -> Mapping[str, tuple[float, tuple[str, ...]]]:
        """Block -> amperes that its vehicles draw, and the data missing for it. Blocks that draw nothing are absent."""
        found: dict[str, tuple[float, tuple[str, ...]]] = {}
        for one in self.operation.trains:
            if one.block in self.supply:
                amps, needs = train_current(self.case, self.case.layout.trains[one.train], one.state)
                before = found.get(one.block, (0.0, ()))
                found[one.block] = (before[0] + amps, (*before[1], *needs))
        for district in self.case.layout.districts:
            if district not in self.with_trains:
                amps, needs = expected_current(self.case, district)
                share, places = self.spread(district)
                for block in places:
                    found[block] = (amps * share, needs)
        return found

    def spread(self, district: str) -> tuple[float, tuple[str, ...]]:
        """The share of what a district expects that each block carries, and the blocks that carry it now.

        A block that a changeover has moved to a district with placed trains carries those, and no share.
        """
        if district not in self._spreads:
            self._spreads[district] = self._spread(district)
        return self._spreads[district]

    @cached_property
    def _spreads(self) -> dict[str, tuple[float, tuple[str, ...]]]:
        return {}

    def _spread(self, district: str) -> tuple[float, tuple[str, ...]]:
        usual = self.case_standing.get(district, ())
        if usual:
            places = (block for block in usual if block in self.supply and self.supply[block] not in self.with_trains)
            return 1 / len(usual), tuple(places)
        fallback = tuple(block for block in self.supply if self.supply[block] == district and not self.throat(block))
        return (1 / len(fallback) if fallback else 0.0), fallback

    @cached_property
    def _usually(self) -> Budget:
        return Budget.of(self.case, self.case.operations[0]) if self.operation.positions else self

    @cached_property
    def case_standing(self) -> Mapping[str, tuple[str, ...]]:
        """District -> the blocks, no throats, that are awake in it as the layout usually stands."""
        found: dict[str, list[str]] = {}
        for block, district in self._usually.supply.items():
            if not self.throat(block):
                found.setdefault(district, []).append(block)
        return {district: tuple(blocks) for district, blocks in found.items()}

    def throat(self, block: str) -> bool:
        """Whether trains never stand in a block."""
        return self.case.layout.blocks[block].kind == "throat"

    def districts(self) -> Iterator[Draw]:
        """The current of every district against the most that it may carry."""
        layout = self.case.layout
        sums, needs = self._sums()
        for name in sorted(layout.districts, key=natural_key):
            district = layout.districts[name]
            booster = layout.boosters.get(district.booster)
            limit = district.current_a if district.current_a is not None else booster.current_a if booster else None
            path: Path = ("districts", name, "current") if district.current_a is not None else ("districts", name)
            yield Draw("district", name, sums.get(name, 0.0), limit, path, needs.get(name, ()))

    def _sums(self) -> tuple[dict[str, float], dict[str, tuple[str, ...]]]:
        sums: dict[str, list[float]] = {}
        needs: dict[str, dict[str, None]] = {}
        for block, (amps, missing) in self.blocks.items():
            district = self.supply[block]
            sums.setdefault(district, []).append(amps)
            needs.setdefault(district, {}).update(dict.fromkeys(missing))
        return {name: fsum(amps) for name, amps in sums.items()}, {name: tuple(all_) for name, all_ in needs.items()}

    def boosters(self) -> Iterator[Draw]:
        """The current of every booster, over all its districts, against what it delivers."""
        layout = self.case.layout
        by_booster: dict[str, list[Draw]] = {}
        for draw in self.districts():
            by_booster.setdefault(layout.districts[draw.name].booster, []).append(draw)
        for name in sorted(layout.boosters, key=natural_key):
            draws = by_booster.get(name, [])
            needs = tuple(dict.fromkeys(need for draw in draws for need in draw.needs))
            amps = fsum(draw.current_a for draw in draws)
            yield Draw("booster", name, amps, layout.boosters[name].current_a, ("boosters", name, "current"), needs)

    def channels(self) -> Iterator[Draw]:
        """The most that each channel carries (its trains, or the heaviest vehicle expected) against its limit."""
        for block, amps, needs, expected in self._heaviest():
            fed = self.case.wiring.fed[block]
            if fed.channel is not None and fed.type is not None:
                path: Path = ("board_types", fed.type.name, "channel_current")
                yield Draw("channel", str(fed.channel), amps, fed.type.channel_current_a, path, needs, expected)

    def contacts(self) -> Iterator[Draw]:
        """The most that each isolator's contact carries against its rating; one before a bank carries all of it."""
        sums: dict[str, float] = {}
        missing: dict[str, tuple[str, ...]] = {}
        placed: set[str] = set()
        for block, amps, needs, expected in self._heaviest():
            isolator = self.case.wiring.fed[block].isolator
            if isolator is None:
                continue
            whole = isolator.contact == "changeover" or isolator.side == "before-detector"
            share = self.blocks.get(block, (0.0, ()))[0] if whole else amps
            many = sums.get(isolator.name, 0.0)
            sums[isolator.name] = many + share if whole else max(many, share)
            missing[isolator.name] = (*missing.get(isolator.name, ()), *needs)
            if whole or not expected:
                placed.add(isolator.name)
        for name in sorted(sums, key=natural_key):
            rating = self.case.layout.isolators[name].rating_a
            needs = tuple(dict.fromkeys(missing[name]))
            yield Draw("contact", name, sums[name], rating, ("isolators", name, "rating"), needs, name not in placed)

    def _heaviest(self) -> Iterator[tuple[str, float, tuple[str, ...], bool]]:
        """Block -> the most that its vehicles draw: as placed, or the larger of its share and one expected vehicle.

        The last item says whether it is for expected vehicles.
        """
        heaviest = {name: heaviest_expected(self.case, name) for name in self.case.layout.districts}
        for block, district in self.supply.items():
            amps, needs = self.blocks.get(block, (0.0, ()))
            expected = district not in self.with_trains and not self.throat(block)
            if expected:
                one, missing = heaviest[district]
                amps, needs = max(amps, one), (*needs, *missing)
            yield block, amps, tuple(dict.fromkeys(needs)), expected


def silent_districts(case: Case) -> tuple[str, ...]:
    """The districts that feed some block and of which nothing tells what draws: no train ever stands in them, and they
    expect none."""
    known = {home for operation in case.operations for home in Budget.of(case, operation).with_trains}
    feeding = {home for operation in case.operations for home in Budget.of(case, operation).supply.values()}
    homes = case.layout.districts
    return tuple(sorted((name for name in feeding - known if not homes[name].expects), key=natural_key))


def train_current(case: Case, train: Train, state: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of a train in a state, and the data that it lacks. Wagons draw what their axles let through."""
    amps, needs = 0.0, list[str]()
    for name, count in train.vehicles.items():
        load = case.layout.loads.get(name)
        if load is None:
            continue
        current = load.current_a(state)
        if current is not None:
            amps += current * count
        elif load.locomotive:
            needs.append(f"loads.{name}.{state}")
    return amps, tuple(needs)


def expected_current(case: Case, district: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of what a district expects, and the data that are missing."""
    amps, needs = list[float](), list[str]()
    for expected in case.layout.districts[district].expects:
        one = _one(case, expected)
        if one is None:
            needs.append(f"loads.{expected.load}.{expected.state}")
        else:
            amps.append(one * expected.count)
    return fsum(amps), tuple(needs)


def heaviest_expected(case: Case, district: str) -> tuple[float, tuple[str, ...]]:
    """Amperes of the heaviest single vehicle that a district expects, and the data that are missing."""
    amps, needs = 0.0, list[str]()
    for expected in case.layout.districts[district].expects:
        one = _one(case, expected)
        if one is None:
            needs.append(f"loads.{expected.load}.{expected.state}")
        else:
            amps = max(amps, one)
    return amps, tuple(needs)


def _one(case: Case, expected: Expected) -> float | None:
    load = case.layout.loads.get(expected.load)
    return load.current_a(expected.state) if load is not None else None
