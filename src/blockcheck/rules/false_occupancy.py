"""Cable capacitance and roadbed leakage stay below the threshold, with margin.

Why: a long cable that reads as a train makes a track that is never free.

Mend: take a shorter lead, a pair of less capacitance, or a less sensitive board.
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
        yield Unchecked("false-occupancy", district, ("the solved network",))


RULE = Rule(
    __doc__ or "",
    "false-occupancy",
    "electrics",
    Severity.ERROR,
    check,
    needs=("harnesses.*.capacitance", "harnesses.*.lead", "blocks.*.length"),
)
