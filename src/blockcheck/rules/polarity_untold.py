"""Which way the rails run round a closed way of track does not rest on ends that nobody wrote.

Why: where several blocks meet one end of another there are points. Whether a way through them turns trains round, and
so joins a detected rail to a common rail, depends on the ends that meet there; what is not written is taken as far to
near, and a loop that is a dead short can pass as a ring.

Mend: describe the points as a turnout in the block that holds them, or write ends in each of these joints.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.study import Study
from blockcheck.analysis.turned import Way, rings
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.rules._rule import Judged, Rule, Said, listed


def check(study: Study) -> Said:
    """A finding for each end of plain track that a ring leads through, where others meet it too and ends are not
    written."""
    joints = study.layout.joints
    whole = [index for index, joint in enumerate(joints) if {*joint.blocks} <= study.layout.blocks.keys()]
    at: dict[tuple[str, str], list[int]] = {}
    for index in whole:
        for name, met in zip(joints[index].blocks, joints[index].ends, strict=True):
            at.setdefault((str(name), met), []).append(index)
    points = {str(turnout.block) for turnout in study.layout.turnouts.values()}
    told = set[int]()
    for way in rings(study.layout, whole):
        yield from (Judged(name) for name in way.blocks)
        for block, end in _ends(study, way):
            unwritten = [index for index in at[block, end] if "ends" not in _written(study, index)]
            if len(at[block, end]) > 1 and unwritten and block not in points and not told.issuperset(at[block, end]):
                told.update(at[block, end])
                yield _finding(study, way, block, end, at[block, end], unwritten)


def _ends(study: Study, way: Way) -> Iterator[tuple[str, str]]:
    """The ends that a way leads through, block by block."""
    for index in way.joints:
        joint = study.layout.joints[index]
        yield from ((str(name), end) for name, end in zip(joint.blocks, joint.ends, strict=True))


def _written(study: Study, index: int) -> dict[str, object]:
    found = study.wiring.document.value(("joints", index))
    return found if isinstance(found, dict) else {}


def _finding(study: Study, way: Way, block: str, end: str, met: list[int], unwritten: list[int]) -> Finding:
    joints = study.layout.joints
    others = sorted({str(name) for index in met for name in joints[index].blocks} - {block}, key=natural_key)
    meet = f"meet the {end} end of {block}" if len(others) > 1 else f"meets the {end} end of {block} twice"
    return Finding(
        f"{listed(others)} {meet}, and no points are described there: that the way "
        f"{' > '.join((*way.blocks, way.blocks[0]))} does not turn trains round rests on ends that are not written",
        subject=block,
        at=("joints", unwritten[0], "blocks"),
        others=tuple(others),
        related=tuple(
            Label(("joints", index, "blocks"), "its ends are taken as far to near") for index in unwritten[1:4]
        ),
        help=f"describe the points as a turnout in {block}, or write ends in each of these joints",
    )


RULE = Rule(__doc__, __name__, "joining", Severity.NOTE, check)
