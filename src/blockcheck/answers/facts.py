"""What a finding tells beside its message: what was measured, how the current goes, how to mend it, where else."""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.core.findings import Finding
from blockcheck.core.spans import Place
from blockcheck.core.words import cut_short


def facts_of(finding: Finding) -> Iterator[tuple[str, str]]:
    """A word for each, and what it is."""
    if finding.measured is not None and finding.limit is not None:
        unit = finding.unit or ""
        yield "computed", f"{number_of(finding.measured, unit)}, limit {number_of(finding.limit, unit)}"
    if finding.way:
        yield "current", way_of(finding)
    elif finding.state:
        yield "with", positions_of(finding)
    if finding.help:
        yield "mend", finding.help


def place_of(finding: Finding) -> Place:
    """Where a finding is that a report has located."""
    assert isinstance(finding.at, Place)
    return finding.at


def related_of(finding: Finding) -> Iterator[tuple[Place, str]]:
    """Further places and why they are involved, each once: a range's line stands for many blocks."""
    together: dict[Place, list[str]] = {}
    for label in finding.related:
        assert isinstance(label.at, Place)
        together.setdefault(label.at, []).append(label.message)
    for at, messages in together.items():
        yield at, "; ".join(dict.fromkeys(messages))


def number_of(value: float, unit: str) -> str:
    """With four digits, and the prefix that people would write: 1.418 mA."""
    if unit in ("A", "V", "s") and 0 < abs(value) < 0.1:
        factor, prefix = (1e-3, "m") if abs(value) >= 1e-4 else (1e-6, "u")
        value, unit = value / factor, prefix + unit
    return f"{value:.4g} {unit}".strip()


def way_of(finding: Finding) -> str:
    """The path of the current, with the position of every switch on it; then the switches that stand beside it."""
    state = dict(finding.state or {})
    hops = []
    passed = set()
    for name in finding.way or ():
        control = name if name in state else name.partition(".")[0]
        if control in state:
            passed.add(control)
            hops.append(f"{name} ({state[control]})")
        else:
            hops.append(name)
    beside = [f"{name} {place}" for name, place in state.items() if name not in passed]
    return " > ".join(hops) + (f"; with {', '.join(beside)}" if beside else "")


def positions_of(finding: Finding) -> str:
    """Every control with its position; of many, the first few."""
    items = [f"{name} {place}" for name, place in (finding.state or {}).items()]
    return cut_short(items, 12)
