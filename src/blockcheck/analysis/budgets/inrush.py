"""What the decoders of a district charge when it comes back, and how long that keeps the breaker over its trip."""

from __future__ import annotations

from attrs import frozen

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.power.limits import behind_breaker
from blockcheck.analysis.study import Study
from blockcheck.circuit.across import lying_across
from blockcheck.core.natural import natural_key
from blockcheck.model.datum import datum


@frozen(eq=False, repr=False)
class Charge:
    """What is to be charged (C V, in coulombs) beside a steady current. ``needs`` lists what is missing."""

    coulombs: float
    steady_a: float
    needs: tuple[str, ...] = ()

    def seconds(self, trip_a: float) -> float | None:
        """The time above the trip current, at most: C V / (trip - steady); None where it is never served.

        It is a bound, whatever the loop resistance: all that the breaker lets through above the steady current goes
        into the charge.
        """
        if self.coulombs <= 0:
            return 0.0
        return self.coulombs / (trip_a - self.steady_a) if trip_a > self.steady_a else None


def district_charge(study: Study, budget: Budget, name: str) -> Charge | None:
    """What a breaker charges when its district comes back as it stands, with the others behind the same breaker; None
    where nothing is awake there."""
    booster = study.layout.boosters.get(study.layout.districts[name].booster)
    together = set(behind_breaker(study, name))
    homes = budget.feeding.reached
    blocks = [block for block, home in homes.items() if home in together and block in budget.blocks]
    if booster is None or not any(budget.wakes(block) for block in blocks if homes[block] == name):
        return None
    coulombs, steady, needs = 0.0, 0.0, list[str]()
    for block in blocks:
        own, lacks = block_charge(study, budget, block)
        amperes, missing = budget.blocks[block]
        coulombs, steady = coulombs + own, steady + amperes
        needs += [*lacks, *missing]
    return Charge(coulombs, settled(steady), tuple(sorted(set(needs), key=natural_key)))


def block_charge(study: Study, budget: Budget, block: str) -> tuple[float, tuple[str, ...]]:
    """Coulombs (C V) that the vehicles of a block and what lies across it charge when it wakes, and the data that are
    missing for it.

    Those that sleep behind a hold resistor charge too slowly to count.
    """
    layout, home = study.layout, budget.feeding.reached.get(block)
    if home is None or not budget.wakes(block) or layout.districts[home].booster not in layout.boosters:
        return 0.0, ()
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
    farads, needs = 0.0, list[str]()
    if layout.about.control == "dc":  # under dcc it is charged to and fro all the time, and no more at first
        farads += sum(one.part.capacitance_f or 0.0 for one in lying_across(study.wiring, block))
    for name, many in vehicles:
        load = layout.loads.get(name)
        if load is None:
            continue
        if load.capacitance_f is not None:
            farads += load.capacitance_f * many
        elif load.locomotive and layout.about.control == "dcc":  # under dc there is no decoder to charge
            needs.append(datum("loads", name, "capacitance"))
    return farads * volts, tuple(needs)
