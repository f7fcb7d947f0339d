"""Isolation is not done in the shared return, where it starves the neighbours or leaves the detected rail live.

Why: with the return cut, the detected rail keeps its full voltage: a metal wagon or a finger across a gap closes the
circuit in ways that nobody drew.

Mend: put the isolator behind the detector: side = "after-detector".
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.rules import _subjects
from blockcheck.rules._rule import Rule


def check(case: Case) -> Iterator[Finding]:
    """A finding for each isolator in the common rail, unless a worse one on it has been made already."""
    for name, blocks in case.wiring.switched.items():
        worse = any(claim[:2] == ("isolation", name) for claim in case.mended)
        if case.layout.isolators[name].side == "common-rail" and blocks and not worse:
            yield Finding(
                f"{name} cuts the common rail; the detected rail stays live",
                subject=name,
                at=("isolators", name, "side"),
                others=blocks,
                related=tuple(
                    Label(("blocks", block, "isolator"), f"{block} is switched by it") for block in blocks[:1]
                ),
                help='move it behind the detector: side = "after-detector"',
            )


RULE = Rule(
    __doc__ or "", "isolates-common-rail", "isolation", Severity.WARNING, check, subjects=_subjects.used_isolators
)
