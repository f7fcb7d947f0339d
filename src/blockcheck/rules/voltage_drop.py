"""Every wheel gets at least the voltage that the limits ask.

Why: at the far end of a thin bus, locomotives slow down and decoders forget where they were.

Mend: take a thicker feed or bus, more drops, or a shorter way; the finding says where most is lost.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.limits import least_voltage
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.datum import RUNNING
from blockcheck.model.quantities import Volts
from blockcheck.rules._claims import Starved
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, amps
from blockcheck.rules._volts import apart, as_bound, at_place, complete, largest_loss, usual, whatever


def check(study: Study) -> Said:
    """A finding for each block in which the heaviest runner gets too little somewhere."""
    for block in complete(study, stand=True):
        yield Judged(block.subject if isinstance(block, Lacks) else block)
        if isinstance(block, Lacks):
            yield from whatever(study, block, _block)
        elif usual(study).probe is None:
            yield Lacks(block, (RUNNING,))
        else:
            yield from _block(study, block)


def _block(study: Study, block: str, whatever: str = "") -> Iterator[Finding]:
    """What is wrong with a block; ``whatever``: as `_volts.whatever` has it."""
    electrics = usual(study)
    spot, probe, district = electrics.lowest_voltage(block), electrics.probe, electrics.feeding.supply.get(block)
    if spot is None or probe is None or district is None:
        return
    limit = least_voltage(study, district)
    if spot.value >= limit:
        return
    blocks, reached = Budget.of(study, study.operations[0]).blocks, electrics.feeding.reached
    rest = sum(amperes for name, (amperes, _) in blocks.items() if reached[name] == district)
    loss = largest_loss(study, block, spot.at_m, probe.amperes, rest)
    gets, least = apart(spot.value, limit, Volts)
    bound, labels = as_bound(study, block)
    place = f"somewhere in {block}" if whatever else at_place(block, spot.at_m, study)
    yield Finding(
        f"{probe.name}, drawing {amps(probe.amperes)}, gets {'at most ' * bool(whatever)}{gets} {place}{whatever}; "
        f"the limits ask for {least}{bound}",
        subject=block,
        at=("blocks", block),
        related=(Label(loss.at, f"most is lost here: {loss.words}"), *labels),
        measured=spot.value,
        limit=limit,
        unit="V",
        help=loss.help,
        group=loss.at,
        margin=spot.value - limit,
        causes=frozenset({Starved(block)} if spot.value < (study.layout.least_voltage_v or 0.0) else ()),
    )


RULE = Rule(
    __doc__,
    __name__,
    "electrics",
    Severity.WARNING,
    check,
    needs=("harnesses.*", "blocks.*.length", "districts.*.feed", "loads.*.running"),
)
