"""When a district comes back, the decoders' charge is served within the breaker's delay.

Why: a breaker that trips again at every restart locks the district out until somebody lifts locomotives off.

Mend: wake the tracks in stages, or take a breaker of a longer delay.
"""

from __future__ import annotations

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.budgets.inrush import Charge, district_charge
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
        help="wake the tracks in stages, or take a breaker of a longer delay",
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
