"""What each isolator of a district wakes, and in which stages its breaker bears that."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from attrs import define, field

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.budgets.charging import Filling
from blockcheck.analysis.budgets.inrush import block_charge
from blockcheck.analysis.budgets.waking import Breaker, Sleeper, Waking, wake
from blockcheck.analysis.power.limits import behind_breaker
from blockcheck.analysis.study import Study
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import after_opening, open_position


@define(eq=False, repr=False)
class Sum:
    """What charges and what draws, over some blocks."""

    fillings: list[Filling] = field(factory=list)
    amperes: float = 0.0

    def add(self, filling: Filling, amperes: float) -> None:
        """Count one more in."""
        self.fillings.append(filling)
        self.amperes += amperes

    def __bool__(self) -> bool:
        return bool(self.amperes) or any(self.fillings)

    def sleeper(self, isolator: str) -> Sleeper:
        """It as what one isolator wakes."""
        filling = Filling.all(self.fillings)
        return Sleeper(isolator, filling.coulombs, self.amperes, filling.through)


class Sleeping(NamedTuple):
    """What wakes in a district: with it, what no isolator puts to sleep (``always``), and by isolator.

    ``beside`` are the districts behind the same breaker, ``beside_a`` what draws there, and ``at_once`` what of them no
    isolator stops. ``woken`` are the blocks behind each isolator ("" for none); ``idle`` isolators wake nothing.
    """

    always: Sum
    groups: Mapping[str, Sum]
    beside: tuple[str, ...]
    beside_a: float
    at_once: Sum
    woken: Mapping[str, Sequence[str]]
    idle: frozenset[str]
    needs: tuple[str, ...]

    @property
    def first(self) -> Sleeper | None:
        """What the breaker meets when it comes back; None where that is nothing."""
        if not self.always:
            return None
        both = Sum([*self.always.fillings, *self.at_once.fillings], self.always.amperes + self.at_once.amperes)
        return both.sleeper("")

    def plan(self, limit: Breaker) -> Waking:
        """The stages in which the rest is woken."""
        order = sorted(self.groups, key=natural_key)
        sleepers = [self.groups[isolator].sleeper(isolator) for isolator in order]
        return wake(sleepers, limit, self.always.amperes + self.beside_a)


def asleep(study: Study, budget: Budget) -> Budget:
    """The budget with every isolator open that holds something: what a hold resistor keeps awake draws on."""
    switches = [_switch(study, block) for block in budget.feeding.supply]
    names = {one.name for one in switches if one is not None and one.hold_ohm is not None}
    return (
        Budget.of(study, after_opening(study.wiring, budget.operation, sorted(names), bound=True)) if names else budget
    )


def _switch(study: Study, block: str) -> Isolator | None:
    """The isolator that a block is put to sleep and woken with: of several in series one that lets nothing through."""
    own = study.wiring.host(block).isolators
    return min(
        own, key=lambda one: (open_position(study.wiring, one.name) is None, one.hold_ohm is not None), default=None
    )


def sleeping(study: Study, budget: Budget, dark: Budget, name: str) -> Sleeping | None:
    """What wakes in a district, with ``dark`` the budget while all `asleep`; None where nothing does."""
    beside = tuple(other for other in behind_breaker(study, name) if other != name)
    groups, woken, idle = dict[str, Sum](), dict[str, list[str]](), set[str]()
    beside_a, at_once, needs = 0.0, Sum(), dict[str, None]()
    for block, home in budget.feeding.reached.items():
        if home != name and home not in beside:
            continue
        filling, lacks = block_charge(study, budget, block)
        amperes, missing = budget.blocks.get(block, (0.0, ()))
        isolator = _switch(study, block) if block in budget.feeding.supply else None
        lit = block in dark.feeding.supply  # all the same
        kept, unknown = (0.0, ()) if lit else dark.blocks.get(block, (0.0, ()))
        needs.update(dict.fromkeys((*lacks, *missing, *unknown)))
        if home != name:
            beside_a += amperes
            if isolator is None or kept:
                at_once.add(filling, amperes if isolator is None else kept)
        elif filling or amperes or lacks or missing:
            switch = isolator.name if isolator is not None else ""
            groups.setdefault(switch, Sum()).add(filling, amperes - kept)
            woken.setdefault(switch, []).append(block)
            if kept:  # awake from the start, through a hold resistor
                groups.setdefault("", Sum()).add(filling if dark.wakes(block) else Filling(), kept)
                woken.setdefault("", []).append(block)
        elif isolator is not None:
            idle.add(isolator.name)
    if not groups:
        return None
    always = groups.pop("", Sum())
    return Sleeping(always, groups, beside, beside_a, at_once, woken, frozenset(idle - groups.keys()), tuple(needs))
