"""No state joins two districts' detected rails, nor two returns that are separate.

Why: two boosters on one piece of rail fight each other, and a breaker that lets go is held up by its neighbour.

Mend: cut both rails where the districts meet: gap = "both"; where they share a return, gap = "detected" is enough.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.analysis.ways import Stray, between_districts, return_groups
from blockcheck.circuit.reach import Undecided
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.rules._rule import Rule


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each part that joins two districts."""
    for district in sorted(case.circuit.feeds, key=natural_key):
        for stray in between_districts(case, district):
            if isinstance(stray, Undecided):
                yield Unchecked("districts-joined", district, ("a decision within bounds",))
                continue
            finding = _finding(case, district, stray)
            case = case.mending(finding.causes)
            yield finding


def _finding(case: Case, district: str, stray: Stray) -> Finding:
    other = stray.way[-1]
    path: Path = stray.culprit or ("districts", other)
    rails, gap = f"{stray.rail} rails", "detected"
    subject, others = district, (other,)
    where = ""
    if path[0] == "joints":
        first, second = sorted(case.layout.joints[int(path[1])].blocks, key=natural_key)
        group = return_groups(case)
        separate = group[district] != group[other]
        if separate:
            gap = "both"
        if stray.rail == "detected" and separate and case.layout.joints[int(path[1])].gap == "none":
            rails = "rails"
        where = f" where {first} meets {second}"
        subject, others = first, (second,)
    return Finding(
        f"districts {district} and {other} are joined by their {rails}{where}",
        subject=subject,
        at=(*path, "gap") if path[0] == "joints" else path,
        others=others,
        related=tuple(
            Label(("blocks", name), _home(case, name)) for name in (subject, *others) if name in case.wiring.fed
        ),
        state=stray.state or None,
        way=stray.way,
        help=f'cut the joint: gap = "{gap}"' if path[0] == "joints" else "take the connection out",
        causes=frozenset({path}),
    )


def _home(case: Case, block: str) -> str:
    fed = case.wiring.fed[block]
    if fed.isolator is not None and fed.isolator.contact == "changeover":
        return f"{block} is fed through {fed.isolator.name}, from {' or '.join(fed.isolator.between or ())}"
    return f"{block} belongs to {fed.district}"


RULE = Rule(__doc__ or "", "districts-joined", "joining", Severity.ERROR, check)
