"""In no state does current reach a block that has a detector without passing any detector.

Why: current that goes round the detectors is a train that is not seen. Where it passes the detector of another block,
the train is seen in the wrong place; that is channel-crosstalk.

Mend: cut the detected rail where the way leads into the block, or feed the neighbour through this block's channel by
making the two one block.
"""

from __future__ import annotations

from blockcheck.analysis.isolation.ways import Stray, round_detector
from blockcheck.analysis.study import Study
from blockcheck.circuit.reach import Undecided
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.rules._joints import alike, wider, with_gap
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, unbuilt


def check(study: Study) -> Said:
    """A finding for each part by which current that no detector sees gets into a detected block."""
    for block, fed in study.wiring.fed.items():
        if block not in study.circuit.detected:
            if fed.missing:
                yield unbuilt(study, block)
            continue
        if fed.channel is None:
            continue
        yield Judged(block)
        for stray in round_detector(study, block):
            if isinstance(stray, Undecided):
                yield Lacks(block, UNDECIDED)
            elif not stray.through and (stray.culprit is None or stray.culprit not in study.mended):
                finding = _finding(study, block, stray)
                study = study.mending(finding.causes)
                yield finding


def _finding(study: Study, block: str, stray: Stray) -> Finding:
    path: Path = stray.culprit or ("blocks", block)
    others: tuple[str, ...] = ()
    gap = ""
    if path[0] == "joints":
        gap = wider(study.layout.joints[int(path[1])].gap, "detected")
        others = tuple(sorted(set(study.layout.joints[int(path[1])].blocks) - {block}, key=natural_key))
    neighbours = [name for name in stray.way if name in study.wiring.fed and name != block]
    via = f" through {neighbours[-1]}" if neighbours else ""
    return Finding(
        f"current reaches {block}{via} without passing its channel {study.wiring.fed[block].channel} or any other",
        subject=block,
        at=(*path, "gap") if path[0] == "joints" else path,
        others=others or tuple(neighbours[-1:]),
        related=(Label(("blocks", block, "channel"), f"{block} has its channel here"),),
        state=stray.state or None,
        way=stray.way,
        help=f'cut the detected rail there: gap = "{gap}"' if gap else "take the connection out",
        edits=with_gap(path, gap) if gap else (),
        group=alike(study, path),
        causes=frozenset({path}),
    )


RULE = Rule(__doc__, __name__, "joining", Severity.ERROR, check)
