"""The smallest vehicle that is meant to be seen draws more than the threshold, with margin.

Why: a wagon left behind that the detector does not see is hit by the next train.

Mend: take a lower axle resistance, or a more sensitive board.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Severity, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.rules._rule import Rule


def check(case: Case) -> Iterator[Unchecked]:
    """Volts and amperes along the wires need the solved network, so each district is listed as not checked."""
    for district in sorted(case.layout.districts, key=natural_key):
        yield Unchecked("vehicle-unseen", district, ("the solved network",))


RULE = Rule(
    __doc__ or "",
    "vehicle-unseen",
    "electrics",
    Severity.ERROR,
    check,
    needs=("loads.*.axle", "harnesses.*", "blocks.*.length"),
)
