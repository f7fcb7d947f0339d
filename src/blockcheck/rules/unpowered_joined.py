"""Track without power meets track with power only where both rails are cut.

Why: a rail that is not cut feeds what is taken for dead track: it is live where nobody looks, and a short there trips
the breaker of what it meets.

Mend: cut both rails at the joint: gap = "both"; or say what feeds the block, and take unpowered out.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.spans import Path
from blockcheck.rules._joints import with_gap
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding for each joint at which a rail of a block without power runs on into one that has power."""
    blocks = study.layout.blocks
    yield from (Judged(name) for name, block in blocks.items() if block.unpowered is not None)
    for index, joint in enumerate(study.layout.joints):
        plain = [name for name in joint.blocks if name in blocks and blocks[name].unpowered is not None]
        if len(plain) != 1 or joint.gap == "both" or not {*joint.blocks} <= blocks.keys():
            continue
        path: Path = ("joints", index)
        other = next(name for name in joint.blocks if name not in plain)
        rails = {"none": "both rails run", "detected": "the common rail runs", "common": "the detected rail runs"}
        yield Finding(
            f"{plain[0]} is track without power, and {rails[joint.gap]} on into {other}",
            subject=plain[0],
            at=(*path, "gap"),
            others=(other,),
            related=(Label(("blocks", plain[0], "unpowered"), "it says so here"),),
            help='cut both rails: gap = "both"',
            edits=with_gap(path, "both"),
            causes=frozenset({path}),
        )


RULE = Rule(__doc__, __name__, "joining", Severity.ERROR, check)
