"""The smallest vehicle that is meant to be seen draws more than the threshold, with margin.

Why: a wagon left behind that the detector does not see is hit by the next train.

Mend: take a lower axle resistance, or a more sensitive board.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.rules._rule import Rule, amps
from blockcheck.rules._volts import at_place, complete, usual


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each detected block in which the smallest vehicle draws too little somewhere."""
    electrics, margin = usual(case), case.layout.limits.detection_margin
    load = electrics.smallest
    for block in complete(case, "vehicle-unseen", stand=True):
        if isinstance(block, Unchecked):
            yield block
            continue
        fed = case.wiring.fed[block]
        if fed.channel is None or fed.type is None:
            continue
        if load is None:
            yield Unchecked("vehicle-unseen", block, ("loads.*.axle",))
            continue
        spot = electrics.least_detected(block)
        limit = margin * fed.type.threshold_a
        if spot is None or spot.value >= limit:
            continue
        yield Finding(
            f"{at_place(block, spot.at_m, case)} one {load.name} draws {amps(spot.value)}; channel {fed.channel} reads "
            f"from {amps(fed.type.threshold_a)} and should see {margin:g} times that",
            subject=block,
            at=("blocks", block, "channel"),
            others=(load.name,),
            related=(
                Label(("board_types", fed.type.name, "threshold"), "the threshold"),
                Label(("loads", load.name), "the smallest vehicle"),
            ),
            measured=spot.value,
            limit=limit,
            unit="A",
            help="give the vehicle a lower axle resistance, or take a more sensitive board",
        )


RULE = Rule(
    __doc__ or "",
    "vehicle-unseen",
    "electrics",
    Severity.ERROR,
    check,
    needs=("loads.*.axle", "harnesses.*", "blocks.*.length", "districts.*.feed"),
)
