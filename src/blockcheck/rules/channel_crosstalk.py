"""In no state does a vehicle in one block make another block's channel read.

Why: a train that shows in two blocks, or in the wrong one, is worse than one that shows nowhere.

Mend: cut the detected rail between the two blocks.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.analysis.ways import Stray, round_detector
from blockcheck.circuit.reach import Undecided
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.rules import _subjects
from blockcheck.rules._rule import Rule, unbuilt


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each part by which current for one block comes through another block's channel."""
    owners = {str(fed.channel): name for name, fed in case.wiring.fed.items() if fed.channel is not None}
    for block, fed in case.wiring.fed.items():
        if block not in case.circuit.detected:
            if fed.missing:
                yield unbuilt(case, "channel-crosstalk", block)
            continue
        for stray in round_detector(case, block):
            if isinstance(stray, Undecided):
                yield Unchecked("channel-crosstalk", block, ("a decision within bounds",))
            elif stray.through and (stray.culprit is None or stray.culprit not in case.mended):
                finding = _finding(case, block, owners.get(stray.through[-1], stray.through[-1]), stray)
                case = case.mending(finding.causes)
                yield finding


def _finding(case: Case, block: str, other: str, stray: Stray) -> Finding:
    path: Path = stray.culprit or ("blocks", block)
    first, second = sorted((block, other), key=natural_key)
    return Finding(
        f"a vehicle in {block} makes channel {stray.through[-1]} of {other} read",
        subject=first,
        at=(*path, "gap") if path[0] == "joints" else path,
        others=(second,),
        related=tuple(
            Label(("blocks", name, "channel"), f"{name} is on {case.wiring.fed[name].channel}")
            for name in (first, second)
            if name in case.wiring.fed and case.wiring.fed[name].channel is not None
        ),
        state=stray.state or None,
        way=stray.way,
        help='cut the detected rail between them: gap = "detected"'
        if path[0] == "joints"
        else "take the connection out",
        causes=frozenset({path}),
    )


RULE = Rule(__doc__ or "", "channel-crosstalk", "joining", Severity.ERROR, check, subjects=_subjects.detected)
