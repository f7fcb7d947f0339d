"""What the decoders of a district charge when it comes back, and how long that keeps the breaker over its trip."""

from __future__ import annotations

from typing import NamedTuple

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.budgets.charging import Filling
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.power.limits import behind_breaker
from blockcheck.analysis.study import Study
from blockcheck.circuit.across import lying_across
from blockcheck.core.natural import natural_key
from blockcheck.model.datum import datum


class Charge(NamedTuple):
    """What is to be charged beside a steady current. ``needs`` lists what is missing."""

    filling: Filling
    steady_a: float = 0.0
    needs: tuple[str, ...] = ()

    def seconds(self, trip_a: float) -> float | None:
        """The time above the trip current, at most; None where it is never served."""
        return self.filling.seconds(trip_a - self.steady_a)


def district_charge(study: Study, budget: Budget, name: str) -> Charge | None:
    """What a breaker charges when its district comes back as it stands, with the others behind the same breaker; None
    where nothing is awake there."""
    booster = study.layout.boosters.get(study.layout.districts[name].booster)
    reached = budget.feeding.reached_from
    blocks = [one for home in behind_breaker(study, name) for one in reached.get(home, ()) if one in budget.blocks]
    if booster is None or not any(budget.wakes(block) for block in reached.get(name, ()) if block in budget.blocks):
        return None
    fillings, steady, needs = list[Filling](), 0.0, list[str]()
    for block in blocks:
        own, lacks = block_charge(study, budget, block)
        amperes, missing = budget.blocks[block]
        fillings.append(own)
        steady += amperes
        needs += [*lacks, *missing]
    return Charge(Filling.all(fillings), settled(steady), tuple(sorted(set(needs), key=natural_key)))


def block_charge(study: Study, budget: Budget, block: str) -> tuple[Filling, tuple[str, ...]]:
    """What the vehicles of a block and what lies across it charge when it wakes, and the data that are missing for it.

    Those that sleep behind a hold resistor charge too slowly to count.
    """
    layout, home = study.layout, budget.feeding.reached.get(block)
    if home is None or not budget.wakes(block) or layout.districts[home].booster not in layout.boosters:
        return Filling(), ()
    volts = layout.boosters[layout.districts[home].booster].voltage_v
    vehicles: list[tuple[str, float]] = []
    if home in budget.feeding.with_trains:
        for one in budget.operation.trains:
            if one.block == block:
                vehicles += layout.trains[one.train].vehicles.items()
    else:
        share, places = budget.feeding.spread(home)
        if block in places:
            vehicles += [(expected.load, expected.count * share) for expected in layout.districts[home].expects]
    fillings, needs = list[Filling](), list[str]()
    if layout.about.control == "dc":  # under dcc it is charged to and fro all the time, and no more at first
        for part in (one.part for one in lying_across(study.wiring, block)):
            fillings.append(Filling.of(part.capacitance_f or 0.0, part.resistance_ohm, volts))
    for name, many in vehicles:
        load = layout.loads.get(name)
        if load is None:
            continue
        if load.capacitance_f is not None:
            fillings.append(Filling.of(load.capacitance_f, load.charge_ohm, volts).times(many))
        elif load.locomotive and layout.about.control == "dcc":  # under dc there is no decoder to charge
            needs.append(datum("loads", name, "capacitance"))
    return Filling.all(fillings), tuple(needs)
