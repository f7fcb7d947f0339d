"""Every wheel gets at least the voltage that the limits ask.

Why: at the far end of a thin bus, locomotives slow down and decoders forget where they were.

Mend: take a thicker feed or bus, more drops, or a shorter way; the finding says where most is lost.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.budgets import Budget
from blockcheck.analysis.case import Case
from blockcheck.analysis.electrics import Electrics
from blockcheck.analysis.limits import least_voltage
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.model.quantities import Volts
from blockcheck.rules import _subjects
from blockcheck.rules._rule import Rule, amps
from blockcheck.rules._volts import apart, as_bound, at_place, complete, largest_loss, usual


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each block in which the heaviest runner gets too little somewhere."""
    electrics = usual(case)
    for block in complete(case, "voltage-drop", stand=True):
        if isinstance(block, Unchecked):
            yield block
        elif electrics.probe is None:
            yield Unchecked("voltage-drop", block, ("loads.*.running",))
        else:
            yield from _block(case, electrics, block)


def _block(case: Case, electrics: Electrics, block: str) -> Iterator[Finding]:
    spot, probe, district = electrics.lowest_voltage(block), electrics.probe, electrics.feeding.supply.get(block)
    if spot is None or probe is None or district is None:
        return
    limit = least_voltage(case, district)
    if spot.value >= limit:
        return
    blocks, reached = Budget.of(case, case.operations[0]).blocks, electrics.feeding.reached
    rest = sum(amperes for name, (amperes, _) in blocks.items() if reached[name] == district)
    loss = largest_loss(case, block, spot.at_m, probe.amperes, rest)
    gets, least = apart(spot.value, limit, Volts)
    bound, labels = as_bound(case, block)
    yield Finding(
        f"{probe.name}, drawing {amps(probe.amperes)}, gets {gets} {at_place(block, spot.at_m, case)}; "
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
        causes=frozenset({("starved", block)} if spot.value < (case.layout.least_voltage_v or 0.0) else ()),
    )


RULE = Rule(
    __doc__ or "",
    "voltage-drop",
    "electrics",
    Severity.WARNING,
    check,
    needs=("harnesses.*", "blocks.*.length", "districts.*.feed", "loads.*.running"),
    subjects=_subjects.stood_in,
)
