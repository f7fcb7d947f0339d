"""A short anywhere in a block draws enough current to trip its breaker, with margin.

Why: a short that does not trip goes on heating rails and wire until somebody smells it. Where it draws what the breaker
trips at, and the margin alone is missing, it is a warning.

Mend: take a thicker feed or bus, more drops, or a breaker that trips lower; the finding says what
holds the current back most.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.datum import datum
from blockcheck.model.quantities import Amperes
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, amps
from blockcheck.rules._volts import (
    apart,
    as_bound,
    at_place,
    complete,
    largest_loss,
    marginal,
    trip_of,
    usual,
    whatever,
)


def check(study: Study) -> Said:
    """A finding for each block with a place at which a short draws too little."""
    for block in complete(study, stand=False):
        name = block.subject if isinstance(block, Lacks) else block
        yield Judged(name)
        trip, _, district = trip_of(study, name)
        if isinstance(block, Lacks):
            yield from [block] if trip is None else whatever(study, block, _block)
        elif trip is None:
            yield Lacks(block, (datum("districts", str(district), "trip"),))
        else:
            yield from _block(study, block)


def _block(study: Study, block: str, whatever: str = "") -> Iterator[Finding]:
    """What is wrong with a block whose breaker is known; ``whatever``: as `_volts.whatever` has it."""
    trip, _, district = trip_of(study, block)
    spot, margin = usual(study).least_short(block), study.layout.limits.trip_margin
    if spot is None or trip is None or spot.value >= margin * trip:
        return
    own = marginal(settled(spot.value) >= trip)
    loss = largest_loss(study, block, spot.at_m, spot.value)
    draws, wanted = apart(spot.value, margin * trip, Amperes)
    bound, labels = as_bound(study, block)
    place = f"somewhere in {block}" if whatever else at_place(block, spot.at_m, study)
    yield Finding(
        f"a short {place} draws {'at most ' * bool(whatever)}{draws}{whatever}; the breaker of {district} trips at "
        f"{amps(trip)} and should see {wanted}, {margin:g} times that{bound}",
        subject=block,
        at=("blocks", block),
        related=(Label(loss.at, f"this holds it back most: {loss.words}"), *labels),
        measured=spot.value,
        limit=margin * trip,
        unit="A",
        help=f"{loss.help}, or a breaker that trips lower",
        group=(loss.at, district, own),
        own=own,
        margin=spot.value / (margin * trip),
    )


RULE = Rule(
    __doc__,
    __name__,
    "electrics",
    Severity.ERROR,
    check,
    needs=("harnesses.*", "blocks.*.length", "districts.*.feed", "boosters.*.trip"),
)
