"""What-ifs: what opening some isolators changes, solved for the islands that they lie in and no others.

So one on a large layout takes as long as on a small one, once the islands are known.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.study import Study
from blockcheck.analysis.whatif.islands import StudyIslands
from blockcheck.core.natural import natural_key
from blockcheck.model.operate import Operation, after_opening

FEW = 0.5
"""With more than this share of the layout's nodes in the islands at hand, solving the whole anew is quicker."""


@frozen
class BlockNow:
    """A block in one state. ``detection`` is None for one without a channel; ``volts``, its lowest voltage with the
    load as it is, for one that is not in the network."""

    power: str
    detection: str | None
    volts: float | None


@frozen
class BlockChange:
    """A block that an isolator changes."""

    block: str
    before: BlockNow
    after: BlockNow


@frozen
class Amperes:
    """What a district carries, before and after."""

    district: str
    before_a: float
    after_a: float


@frozen(eq=False)
class Change:
    """What opening some isolators does. Blocks and districts of other islands stay as they were, and are absent."""

    opened: tuple[str, ...]
    blocks: tuple[BlockChange, ...]
    """The blocks whose power, detection or volts differ (volts by more than 1e-9), in natural order."""
    volts: Mapping[str, float | None]
    """Every block of the islands -> its lowest voltage afterwards."""
    districts: tuple[Amperes, ...]
    """Every district of the islands, in natural order."""


@frozen(eq=False, repr=False, slots=False)
class WhatIf:
    """The what-ifs on top of one operation of a study."""

    study: Study
    operation: Operation

    @classmethod
    def of(cls, study: Study, operation: Operation) -> WhatIf:
        """The what-ifs of one of the study's operations, or of any other. What the islands were before is kept, so that
        the next what-if in one is quicker."""
        return study.standing(cls, operation)

    @cached_property
    def _islands(self) -> StudyIslands:
        return StudyIslands.of(self.study, apart=True)

    def islands(self, isolators: Iterable[str]) -> tuple[int, ...]:
        """The islands that isolators have contacts in."""
        found = map(self._islands.islands.of_control, isolators)
        return tuple(sorted({one for one in found if one is not None}))

    @property
    def homes(self) -> Mapping[str, int]:
        """Block -> its island."""
        return self._islands.blocks

    def few(self, isolators: Iterable[str]) -> bool:
        """Whether what isolators can change is a small part of the layout."""
        islands = self._islands.islands
        nodes = sum(len(islands.nodes[one]) for one in self.islands(isolators))
        return nodes <= FEW * len(islands.of_node)

    def before(self, island: int) -> Electrics:
        """The electrics of an island alone as it stands; solved once."""
        if island not in self._before:
            small = self._islands.alone(island)
            self._before[island] = Electrics(small, self._islands.within(island, self.operation))
        return self._before[island]

    @cached_property
    def _before(self) -> dict[int, Electrics]:
        return {}

    def after(self, island: int, isolators: Iterable[str]) -> Electrics:
        """The electrics of an island alone with isolators opened, as far as they lie in it. Raises CallError where one
        has no position that cuts."""
        before = self.before(island)
        own = [name for name in isolators if name in before.study.circuit.controls]
        return Electrics(before.study, after_opening(before.study.wiring, before.operation, own))

    def opened(self, isolators: Iterable[str]) -> Change:
        """What opening these isolators, by their names, changes.

        Raises KeyError for a name that the layout does not have, CallError for one without a position that cuts.
        """
        names = tuple(sorted(dict.fromkeys(isolators), key=natural_key))
        after_opening(self.study.wiring, self.operation, names)
        blocks, districts, volts = list[BlockChange](), list[Amperes](), dict[str, float | None]()
        for island in self.islands(names):
            was, will = self._states(island), _states(after := self.after(island, names))
            volts.update((name, now.volts) for name, now in will.items())
            blocks += [BlockChange(name, was[name], now) for name, now in will.items() if _differ(was[name], now)]
            districts += _amperes(Budget.on(self.before(island)), Budget.on(after))
        blocks.sort(key=lambda one: natural_key(one.block))
        districts.sort(key=lambda one: natural_key(one.district))
        return Change(names, tuple(blocks), volts, tuple(districts))

    def _states(self, island: int) -> dict[str, BlockNow]:
        if island not in self._known:
            self._known[island] = _states(self.before(island))
        return self._known[island]

    @cached_property
    def _known(self) -> dict[int, dict[str, BlockNow]]:
        return {}


def _states(electrics: Electrics) -> dict[str, BlockNow]:
    fed, now = electrics.study.wiring.fed, electrics.feeding.now
    return {
        name: BlockNow(
            now.power(name), now.detection(name) if fed[name].channel is not None else None, electrics.volts(name)
        )
        for name in electrics.study.blocks
    }


def _differ(was: BlockNow, now: BlockNow) -> bool:
    if (was.power, was.detection, was.volts is None) != (now.power, now.detection, now.volts is None):
        return True
    return was.volts is not None and now.volts is not None and not abs(was.volts - now.volts) <= 1e-9


def _amperes(before: Budget, after: Budget) -> list[Amperes]:
    pairs = zip(before.districts(), after.districts(), strict=True)
    return [Amperes(was.name, was.current_a, now.current_a) for was, now in pairs]
