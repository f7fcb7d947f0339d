"""Every wheel gets at least the voltage that the limits ask.

Why: at the far end of a thin bus, locomotives slow down and decoders forget where they were.

Mend: take a thicker bus, more drops, or a shorter way.
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
        yield Unchecked("voltage-drop", district, ("the solved network",))


RULE = Rule(
    __doc__ or "",
    "voltage-drop",
    "electrics",
    Severity.WARNING,
    check,
    needs=("harnesses.*", "blocks.*.length"),
)
