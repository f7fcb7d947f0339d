"""A short anywhere in a block draws enough current to trip its breaker, with margin.

Why: a short that does not trip goes on heating rails and wire until somebody smells it.

Mend: take a thicker bus, more drops, or a breaker that trips lower.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.rules._rule import Rule, amps
from blockcheck.rules._volts import at_place, complete, trip_of, usual


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each block with a place at which a short draws too little."""
    electrics, margin = usual(case), case.layout.limits.trip_margin
    for block in complete(case, "short-will-not-trip", stand=False):
        if isinstance(block, Unchecked):
            yield block
            continue
        trip, _, district = trip_of(case, block)
        if trip is None:
            yield Unchecked("short-will-not-trip", block, (f"districts.{district}.trip",))
            continue
        spot = electrics.least_short(block)
        if spot is None or spot.value >= margin * trip:
            continue
        harness = case.layout.blocks[block].harness
        yield Finding(
            f"a short {at_place(block, spot.at_m, case)} draws {amps(spot.value)}; the breaker of {district} trips at "
            f"{amps(trip)} and should see {margin:g} times that",
            subject=block,
            at=("blocks", block),
            related=(Label(("harnesses", str(harness), "bus"), "wired through this harness"),),
            measured=spot.value,
            limit=margin * trip,
            unit="A",
            help="take a thicker bus and common, more drops, or a breaker that trips lower",
        )


RULE = Rule(
    __doc__ or "",
    "short-will-not-trip",
    "electrics",
    Severity.ERROR,
    check,
    needs=("harnesses.*", "blocks.*.length", "districts.*.feed", "boosters.*.trip"),
)
