"""A short anywhere in a block draws enough current to trip its breaker, with margin.

Why: a short that does not trip goes on heating rails and wire until somebody smells it.

Mend: take a thicker bus, more drops, or a breaker that trips lower.
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
        yield Unchecked("short-will-not-trip", district, ("the solved network",))


RULE = Rule(
    __doc__ or "",
    "short-will-not-trip",
    "electrics",
    Severity.ERROR,
    check,
    needs=("harnesses.*", "blocks.*.length", "boosters.*.trip"),
)
