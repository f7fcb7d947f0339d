"""When a district comes back, the decoders' charge is served within the breaker's delay.

Why: a breaker that trips again at every restart locks the district out until somebody lifts locomotives off.

Mend: wake the tracks in stages, or take a breaker of a longer delay.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.budgets import Budget
from blockcheck.analysis.case import Case
from blockcheck.analysis.inrush import district_charge
from blockcheck.analysis.limits import breaker
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.model.quantities import DIMENSIONS, Seconds, show
from blockcheck.rules._rule import Rule, amps


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each district whose awake decoders may charge for longer than its breaker waits: a bound."""
    budget = Budget.of(case, case.operations[0])
    for district in sorted(case.layout.districts, key=natural_key):
        bound = district_charge(case, budget, district)
        if bound is None:
            continue
        trip, delay = breaker(case, district)
        needs = [*bound.needs]
        needs += [f"districts.{district}.trip"] if trip is None else []
        needs += [f"districts.{district}.delay"] if delay is None else []
        if needs or trip is None or delay is None:
            yield Unchecked("inrush-lockout", district, tuple(needs))
            continue
        seconds = bound.seconds(trip)
        if seconds is not None and seconds <= delay:
            continue
        home = case.layout.districts[district]
        source = ("districts", district) if home.delay_s is not None else ("boosters", home.booster)
        took = f"take up to {show(seconds, DIMENSIONS[Seconds])}" if seconds is not None else "never charge"
        yield Finding(
            f"when {district} comes back, its decoders {took}; its breaker trips at {amps(trip)} after "
            f"{show(delay, DIMENSIONS[Seconds])}, and {amps(bound.steady_a)} flow all the time",
            subject=district,
            at=("districts", district),
            related=(Label((*source, "delay"), "the delay"),),
            measured=seconds,
            limit=delay,
            unit="s",
            help="wake the tracks in stages, or take a breaker of a longer delay",
        )


RULE = Rule(
    __doc__ or "",
    "inrush-lockout",
    "electrics",
    Severity.ERROR,
    check,
    needs=("loads.*.capacitance", "boosters.*.trip", "boosters.*.delay"),
)
