"""Cable capacitance and roadbed leakage stay below the threshold, with margin.

Why: a long cable that reads as a train makes a track that is never free.

Mend: take a shorter lead, a pair of less capacitance, or a less sensitive board.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.rules._rule import Rule, amps
from blockcheck.rules._volts import complete, usual


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each detected block whose empty track may draw too much. The current is a bound."""
    electrics, margin = usual(case), case.layout.limits.detection_margin
    for block in complete(case, "false-occupancy", stand=False):
        if isinstance(block, Unchecked):
            yield block
            continue
        fed = case.wiring.fed[block]
        if fed.channel is None or fed.type is None:
            continue
        amperes, harness = electrics.false_current(block), fed.block.harness
        if amperes is None:
            key = "leakage" if case.layout.about.control == "dc" else "capacitance"
            yield Unchecked("false-occupancy", block, (f"harnesses.{harness}.{key}",))
            continue
        limit = fed.type.threshold_a / margin
        if amperes > limit:
            yield Finding(
                f"{block} draws up to {amps(amperes)} while it is empty; channel {fed.channel} reads from "
                f"{amps(fed.type.threshold_a)}, and no more than a {margin:g}th of that should flow",
                subject=block,
                at=("blocks", block, "channel"),
                related=(
                    Label(("harnesses", str(harness), "capacitance"), "the pair is long, or close together"),
                    Label(("board_types", fed.type.name, "threshold"), "the threshold"),
                ),
                measured=amperes,
                limit=limit,
                unit="A",
                help="take a shorter lead, a pair of less capacitance, or a less sensitive board",
            )


RULE = Rule(
    __doc__ or "",
    "false-occupancy",
    "electrics",
    Severity.ERROR,
    check,
    needs=("harnesses.*.capacitance", "harnesses.*.lead", "blocks.*.length"),
)
