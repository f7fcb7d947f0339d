"""No conductor carries more than it may, in service or at the trip current.

Why: a wire that is too thin for what the breaker lets through is the fuse, and it lies under the scenery.

Mend: take a thicker conductor, or a breaker that trips lower.
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
        yield Unchecked("wire-over-current", district, ("the solved network",))


RULE = Rule(
    __doc__ or "",
    "wire-over-current",
    "budgets",
    Severity.ERROR,
    check,
    needs=("harnesses.*.bus", "harnesses.*.common", "districts.*.feed"),
)
