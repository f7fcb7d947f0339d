"""Which way the rails run round a closed way of track does not rest on ends that nobody wrote.

Why: where several blocks meet one end of another there are points. Whether a way through them turns trains round, and
so joins a detected rail to a common rail, depends on the ends that meet there; what is not written is taken as far to
near, and a loop that is a dead short can pass as a ring.

Mend: describe the points as a turnout in the block that holds them, or write ends in each of these joints.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.analysis.turned import rings, turned_ways
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.rules._rule import Judged, Rule, Said, listed


def check(study: Study) -> Said:
    """A finding for each end of plain track that a way round leads through, where others meet it too and nobody wrote
    ends; two blocks that meet each other alone there are told once."""
    layout = study.layout
    whole = [index for index, joint in enumerate(layout.joints) if {*joint.blocks} <= layout.blocks.keys()]
    ways = (*rings(layout, whole), *turned_ways(layout, whole))
    round_ = {index for way in ways for index in way.joints}
    at: dict[tuple[str, str], list[int]] = {}
    for index in whole:
        for name, end in zip(layout.joints[index].blocks, layout.joints[index].ends, strict=True):
            at.setdefault((str(name), str(end)), []).append(index)
    yield from (Judged(str(name)) for index in sorted(round_) for name in layout.joints[index].blocks)
    points = {str(turnout.block) for turnout in layout.turnouts.values()}
    told = set[int]()
    for block, side in sorted(at, key=lambda one: (natural_key(one[0]), one[1])):
        met = at[block, side]
        silent = not any("ends" in study.wiring.document.value(("joints", index)) for index in met)
        if len(met) > 1 and silent and block not in points and round_ & {*met} and not told.issuperset(met):
            told.update(met)
            yield _finding(study, block, side, met)


def _finding(study: Study, block: str, end: str, met: list[int]) -> Finding:
    joints = study.layout.joints
    others = sorted({str(name) for index in met for name in joints[index].blocks} - {block}, key=natural_key)
    who = listed(others or [block])
    meet = f"meet the {end} end of {block}" if len(others) > 1 else f"meets the {end} end of {block} twice"
    return Finding(
        f"{who} {meet}, and no points are described there: that no way round through them turns trains "
        "round rests on ends that are not written",
        subject=block,
        at=("joints", met[0], "blocks"),
        others=tuple(others),
        related=tuple(Label(("joints", index, "blocks"), "its ends are taken as far to near") for index in met[1:4]),
        help=f"describe the points as a turnout in {block}, or write ends in each of these joints",
    )


RULE = Rule(__doc__, __name__, "joining", Severity.NOTE, check)
