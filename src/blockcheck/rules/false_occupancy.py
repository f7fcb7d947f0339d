"""Cable capacitance and roadbed leakage stay below the threshold, with margin.

Why: a long cable that reads as a train makes a track that is never free. What was put across the rails on purpose is
for `occupied-for-ever` to tell. Where it draws less than the threshold, and
the margin alone is missing, it is a warning.

Mend: take a shorter lead, a pair of less capacitance, a drier roadbed, or a less sensitive board.
"""

from __future__ import annotations

from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.power.false_occupancy import Empty, empty_current, leakage
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.quantities import Amperes
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, amps, unbuilt
from blockcheck.rules._volts import apart, marginal, usual


def check(study: Study) -> Said:
    """A finding for each detected block whose empty track may draw too much. The current is a bound."""
    margin = study.layout.limits.detection_margin
    for block, fed in study.wiring.fed.items():
        if block not in study.circuit.detected and fed.block.channel is not None:
            yield unbuilt(study, block)
    for block, district in usual(study).feeding.supply.items():
        if study.wiring.fed[block].through is not None:
            continue  # it has no cable of its own
        fed = study.wiring.fed[block]
        if fed.channel is None or fed.type is None:
            continue
        yield Judged(block)
        empty = empty_current(study, block, district)
        if empty.needs:
            yield Lacks(block, empty.needs)
            continue
        limit = fed.threshold_a / margin
        if empty.leaks_a > limit:
            own = marginal(settled(empty.leaks_a) < fed.threshold_a)
            cause, help_ = _cause(study, block, empty)
            draws, most = apart(empty.leaks_a, limit, Amperes)
            yield Finding(
                f"{block} may draw {draws} while it is empty; channel {fed.channel} reads from "
                f"{amps(fed.threshold_a)}, and {most} is the most that leaves the margin",
                subject=block,
                at=("blocks", block, "channel"),
                related=(cause, Label(("board_types", fed.type.name, "threshold"), "the threshold")),
                measured=empty.leaks_a,
                limit=limit,
                unit="A",
                help=help_,
                group=(cause.at, fed.type.name, own),
                own=own,
                margin=-empty.leaks_a / limit,
            )


def _cause(study: Study, block: str, empty: Empty) -> tuple[Label, str]:
    """What lets most of it through, and how to mend that."""
    name = str(study.layout.blocks[block].harness)
    if empty.cable_a >= empty.roadbed_a:
        label = Label(("harnesses", name, "capacitance"), f"{amps(empty.cable_a)} charges the pair")
        return label, "take a shorter lead, a pair of less capacitance, or a less sensitive board"
    path = max((leakage(study, one) for one in study.wiring.with_hung(block)), key=lambda one: one.siemens).path
    label = Label(path, f"{amps(empty.roadbed_a)} leaks through the roadbed")
    return label, "clean or dry the roadbed, divide the block, or take a less sensitive board"


RULE = Rule(
    __doc__,
    __name__,
    "electrics",
    Severity.ERROR,
    check,
    needs=("harnesses.*.capacitance", "harnesses.*.lead", "harnesses.*.leakage", "blocks.*.length"),
)
