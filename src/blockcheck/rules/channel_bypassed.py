"""In no state does current reach a block that has a detector without passing any detector.

Why: current that goes round the detectors is a train that is not seen. Where it passes the detector of another block,
the train is seen in the wrong place; that is channel-crosstalk.

Mend: cut the detected rail where the way leads into the block, or feed the neighbour through this block's channel by
making the two one block.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.analysis.ways import Stray, round_detector
from blockcheck.circuit.reach import Undecided
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.rules import _subjects
from blockcheck.rules._joints import alike, wider, with_gap
from blockcheck.rules._rule import Rule, unbuilt


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each part by which current that no detector sees gets into a detected block."""
    for block, fed in case.wiring.fed.items():
        if block not in case.circuit.detected:
            if fed.missing:
                yield unbuilt(case, "channel-bypassed", block)
            continue
        if fed.channel is None:
            continue
        for stray in round_detector(case, block):
            if isinstance(stray, Undecided):
                yield Unchecked("channel-bypassed", block, UNDECIDED)
            elif not stray.through and (stray.culprit is None or stray.culprit not in case.mended):
                finding = _finding(case, block, stray)
                case = case.mending(finding.causes)
                yield finding


def _finding(case: Case, block: str, stray: Stray) -> Finding:
    path: Path = stray.culprit or ("blocks", block)
    others: tuple[str, ...] = ()
    gap = ""
    if path[0] == "joints":
        gap = wider(case.layout.joints[int(path[1])].gap, "detected")
        others = tuple(sorted(set(case.layout.joints[int(path[1])].blocks) - {block}, key=natural_key))
    neighbours = [name for name in stray.way if name in case.wiring.fed and name != block]
    via = f" through {neighbours[-1]}" if neighbours else ""
    return Finding(
        f"current reaches {block}{via} without passing its channel {case.wiring.fed[block].channel} or any other",
        subject=block,
        at=(*path, "gap") if path[0] == "joints" else path,
        others=others or tuple(neighbours[-1:]),
        related=(Label(("blocks", block, "channel"), f"{block} has its channel here"),),
        state=stray.state or None,
        way=stray.way,
        help=f'cut the detected rail there: gap = "{gap}"' if gap else "take the connection out",
        edits=with_gap(path, gap) if gap else (),
        group=alike(case, path),
        causes=frozenset({path}),
    )


RULE = Rule(__doc__ or "", "channel-bypassed", "joining", Severity.ERROR, check, subjects=_subjects.detected)
