"""What the rules about joints share: which gap mends one, as a line to write and as the rewrite that writes it."""

from __future__ import annotations

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Rewrite
from blockcheck.core.spans import Path
from blockcheck.text.edits import quoted


def wider(cut: str, rail: str) -> str:
    """The gap of a joint in which ``rail`` (or both) is cut besides what is cut already."""
    return rail if cut in ("none", rail) else "both"


def with_gap(joint: Path, gap: str) -> tuple[Rewrite, ...]:
    """A joint, as it is written, with another gap."""
    return (Rewrite((*joint, "gap"), quoted(gap)),)


def line_of(case: Case, part: Path, *more: object) -> object:
    """What findings about joints that are written in one line have in common; None for other parts."""
    return (case.wiring.document.written(part), *more) if part[0] == "joints" else None
