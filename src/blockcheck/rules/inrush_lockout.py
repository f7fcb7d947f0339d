"""When a district comes back, the decoders' charge is served within the breaker's delay.

Why: a breaker that trips again at every restart locks the district out until somebody lifts locomotives off.

Mend: wake the tracks in stages, or take a breaker of a longer delay.
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
        yield Unchecked("inrush-lockout", district, ("the solved network",))


RULE = Rule(
    __doc__ or "",
    "inrush-lockout",
    "electrics",
    Severity.ERROR,
    check,
    needs=("loads.*.capacitance", "boosters.*.trip", "boosters.*.delay"),
)
