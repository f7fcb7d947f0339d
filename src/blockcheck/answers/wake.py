"""In which order to switch tracks on, so that no breaker locks out."""

from __future__ import annotations

from attrs import frozen

from blockcheck.analysis.bounds import unbuilt
from blockcheck.analysis.budgets import Budget, silent_districts
from blockcheck.analysis.case import Case
from blockcheck.analysis.defaults import Default, of_wake
from blockcheck.analysis.inrush import block_charge
from blockcheck.analysis.limits import behind_breaker, breaker
from blockcheck.analysis.waking import Breaker, Sleeper, wake
from blockcheck.analysis.whatif import after_opening
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key


@frozen
class Stage:
    """Isolators to close together; how long that keeps the breaker over its trip, at most, and the current after it.

    An empty group is what wakes with the district itself, since no isolator holds it. ``inrush_s`` is None where the
    charge is never served.
    """

    close: tuple[str, ...]
    inrush_s: float | None
    steady_a: float


@frozen
class DistrictWaking:
    """The stages of one district; ``least`` is how many there must be at least; ``refused`` never wake in time.

    ``beside`` are the districts behind the same breaker: taken as awake, so that the stages hold in any order of them.
    """

    district: str
    delay_s: float
    trip_a: float
    stages: tuple[Stage, ...]
    least: int
    refused: tuple[str, ...]
    beside: tuple[str, ...] = ()


@frozen
class WakeAnswer:
    """The stages of every district that has something to wake."""

    layout: str
    districts: tuple[DistrictWaking, ...]
    unchecked: tuple[Unchecked, ...]
    defaults: tuple[Default, ...]


def waking(case: Case) -> WakeAnswer:
    """Work out the stages, from everything asleep that can be, to the layout as it usually stands."""
    found, unchecked = list[DistrictWaking](), list[Unchecked]()
    budget = Budget.of(case, case.operations[0])
    asleep = _asleep(case, budget)
    unchecked += [Unchecked("wake", block, needs) for block, needs in unbuilt(case).items()]
    unchecked += [Unchecked("wake", name, (f"districts.{name}.expects or a train",)) for name in silent_districts(case)]
    for name in sorted(case.layout.districts, key=natural_key):
        answer = _district(case, budget, asleep, name)
        if isinstance(answer, Unchecked):
            unchecked.append(answer)
        elif answer is not None:
            found.append(answer)
    return WakeAnswer(
        case.layout.about.name, tuple(found), tuple(unchecked), of_wake(case, [one.district for one in found])
    )


def _asleep(case: Case, budget: Budget) -> Budget:
    """The budget with every isolator open that holds something: what a hold resistor keeps awake draws on."""
    fed = [case.wiring.fed[block].isolator for block in budget.feeding.supply]
    names = {one.name for one in fed if one is not None and one.hold_ohm is not None}
    return Budget.of(case, after_opening(case, budget.operation, sorted(names))) if names else budget


def _district(case: Case, budget: Budget, asleep: Budget, name: str) -> DistrictWaking | Unchecked | None:
    trip, delay = breaker(case, name)
    groups: dict[str, list[float]] = {}  # isolator -> coulombs and amperes; "" for what no isolator puts to sleep
    needs: dict[str, None] = {}
    beside = tuple(other for other in behind_breaker(case, name) if other != name)
    beside_a, at_once = (
        0.0,
        [0.0, 0.0],
    )  # of those beside it: all that draws, and what no isolator stops
    for block, home in budget.feeding.reached.items():
        if home != name and home not in beside:
            continue
        coulombs, lacks = block_charge(case, budget, block)
        amperes, missing = budget.blocks.get(block, (0.0, ()))
        isolator = case.wiring.fed[block].isolator if block in budget.feeding.supply else None
        lit = block in asleep.feeding.supply  # all the same
        kept, unknown = (0.0, ()) if lit else asleep.blocks.get(block, (0.0, ()))
        needs.update(dict.fromkeys((*lacks, *missing, *unknown)))
        if home != name:
            beside_a += amperes
            if isolator is None or kept:
                at_once[0] += coulombs
                at_once[1] += amperes if isolator is None else kept
        elif coulombs or amperes or lacks or missing:
            sums = groups.setdefault(isolator.name if isolator is not None else "", [0.0, 0.0])
            sums[0] += coulombs
            sums[1] += amperes - kept
            if kept:  # awake from the start, through a hold resistor
                sums = groups.setdefault("", [0.0, 0.0])
                sums[0] += coulombs if asleep.wakes(block) else 0.0
                sums[1] += kept
    if not groups:
        return None
    needs.update(dict.fromkeys([f"districts.{name}.trip"] if trip is None else []))
    needs.update(dict.fromkeys([f"districts.{name}.delay"] if delay is None else []))
    if needs or trip is None or delay is None:
        return Unchecked("wake", name, tuple(needs))
    limit = Breaker(trip, delay)
    always = groups.pop("", [0.0, 0.0])
    stages: list[Stage] = []
    if any(always):
        first = Sleeper("", always[0] + at_once[0], always[1] + at_once[1])
        stages.append(Stage((), limit.seconds([first], 0.0), first.amperes))
    order = sorted(groups, key=natural_key)
    plan = wake([Sleeper(isolator, *groups[isolator]) for isolator in order], limit, always[1] + beside_a)
    on = always[1] + beside_a
    for group in plan.stages:
        seconds = limit.seconds(group, on)
        on += sum(one.amperes for one in group)
        stages.append(Stage(tuple(sorted((one.isolator for one in group), key=natural_key)), seconds, on))
    refused = tuple(sorted((one.isolator for one in plan.refused), key=natural_key))
    return DistrictWaking(name, delay, trip, tuple(stages), plan.least + (1 if any(always) else 0), refused, beside)
