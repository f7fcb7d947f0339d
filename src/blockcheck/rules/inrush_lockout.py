"""When a district comes back, all at once or in stages, the decoders' charge is served within the breaker's delay.

Why: a breaker that trips again at every restart locks the district out until somebody lifts locomotives off.

Mend: wake the tracks in stages (restart = "staged"), or take a breaker of a longer delay.
"""

from __future__ import annotations

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.budgets.inrush import Charge, district_charge
from blockcheck.analysis.budgets.stages import asleep, sleeping
from blockcheck.analysis.budgets.waking import Breaker
from blockcheck.analysis.power.limits import behind_breaker, breaker, breaker_line
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.datum import datum
from blockcheck.model.quantities import Seconds
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, amps, in_scenario, listed
from blockcheck.rules._volts import apart


def check(study: Study) -> Said:
    """A finding for each district whose awake decoders may charge for longer than its breaker waits: a bound.

    A scenario is told of where the district comes back as usual, and does not in the scenario.
    """
    locked: set[str] = set()
    for operation in study.operations:
        budget = Budget.of(study, operation)
        for district in sorted(study.layout.districts, key=natural_key):
            bound = district_charge(study, budget, district)
            if bound is None:
                continue
            yield Judged(district)
            if district in locked:
                continue
            trip, delay = breaker(study, district)
            if study.layout.districts[district].restart == "staged":
                found = _staged(study, budget, district) if not bound.needs else None
                if found is not None:
                    locked.update([district] if operation.scenario is None else [])
                    yield found
                if found is not None or (not bound.needs and trip is not None and delay is not None):
                    continue
            seconds = bound.seconds(trip) if trip is not None else 0.0
            if trip is None or (seconds is not None and (delay is None or seconds <= delay)):
                needs = [*bound.needs]
                needs += [datum("districts", district, "trip")] if trip is None else []
                needs += [datum("districts", district, "delay")] if delay is None else []
                if needs:
                    yield Lacks(district, tuple(needs))
                continue
            if operation.scenario is None:
                locked.add(district)
            yield _finding(study, operation.scenario, district, bound, trip, delay)


def _staged(study: Study, budget: Budget, district: str) -> Finding | None:
    """What its breaker does not bear of a district that comes back in stages; None where it bears all, or data lack."""
    trip, delay = breaker(study, district)
    found = sleeping(study, budget, asleep(study, budget), district)
    if found is None or trip is None or delay is None:
        return None
    limit, scenario = Breaker(trip, delay), budget.operation.scenario
    when = f"when {district} comes back in stages{in_scenario(scenario)}"
    at: Path = ("districts", district, "restart") if scenario is None else ("scenarios", scenario)
    trips = Label(breaker_line(study, district, "trip"), "the trip current")
    if found.first is not None and not limit.bears([found.first], 0.0):
        blocks = listed(sorted(found.woken.get("", ()), key=natural_key))
        message = f"{when}, its breaker does not bear what no isolator puts to sleep: {blocks}"
        help_ = "put those behind isolators too, or take a breaker of a longer delay"
        return Finding(message, subject=district, at=at, related=(trips,), help=help_)
    left = [one.isolator for one in found.plan(limit).refused]
    if not left:
        return None
    message = f"{when}, its breaker does not bear what wakes with {listed(sorted(left, key=natural_key))}"
    help_ = "leave that asleep, divide the district, or take a breaker of a longer delay"
    return Finding(message, subject=district, at=at, related=(trips,), help=help_)


def _finding(
    study: Study, scenario: str | None, district: str, bound: Charge, trip: float, delay: float | None
) -> Finding:
    """Where the steady current alone trips the breaker, it does however long that waits."""
    seconds, steady = bound.seconds(trip), amps(bound.steady_a)
    least = "at least " * bool(bound.needs)
    at: Path = ("districts", district) if scenario is None else ("scenarios", scenario)
    others = (scenario,) if scenario is not None else ()
    shared = tuple(name for name in behind_breaker(study, district) if name != district)
    along = f" along with {listed(shared)}, behind the same breaker" if shared else ""
    when = f"when {district} comes back{in_scenario(scenario)}{along}"
    group = (str(study.layout.districts[district].booster), scenario) if shared else None
    trips = Label(breaker_line(study, district, "trip"), "the trip current")
    if seconds is None or delay is None:
        return Finding(
            f"{when}, its decoders can never charge: {least}{steady} flows all the time, and its "
            f"breaker trips at {amps(trip)}",
            subject=district,
            at=at,
            others=others,
            related=(trips,),
            measured=bound.steady_a,
            limit=trip,
            unit="A",
            help="put tracks to sleep or divide the district; a longer delay does not help",
            group=group,
        )
    took, bears = apart(seconds, delay, Seconds)
    return Finding(
        f"{when}, its decoders may take {least}{took} to charge, and its breaker bears more "
        f"than {amps(trip)} for {bears}; {least}{steady} flows all the time",
        subject=district,
        at=at,
        others=others,
        related=(Label(breaker_line(study, district, "delay"), "the delay"), trips),
        measured=seconds,
        limit=delay,
        unit="s",
        help='wake the tracks in stages (restart = "staged"), or take a breaker of a longer delay',
        group=group,
    )


RULE = Rule(
    __doc__,
    __name__,
    "electrics",
    Severity.ERROR,
    check,
    needs=("loads.*.capacitance", "boosters.*.trip", "boosters.*.delay"),
)
