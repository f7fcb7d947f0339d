"""No closed way of track joins a detected rail to a common rail.

Why: a way that turns a train round leads each rail back as the other one. Unless both rails are cut at both ends of a
section on it, that is a dead short; and unless the polarity of that section changes, each train that leaves it is one.

Mend: cut both rails at both ends of a section that is longer than the longest train, and make it a district of its own
whose polarity changes: polarity = "automatic", or "switch".
"""

from __future__ import annotations

from blockcheck.analysis.reversing import sections
from blockcheck.analysis.study import Study
from blockcheck.analysis.turned import Way, turned_ways
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.rules._rule import Judged, Rule, Said, listed


def check(study: Study) -> Said:
    """A finding for each closed way that turns trains round, those that share a block together: where a rail goes all
    round, fewer than two joints cut both, or no section on it changes its polarity.
    """
    joints = study.layout.joints
    yield from (Judged(name) for joint in joints for name in joint.blocks)
    whole = [index for index, joint in enumerate(joints) if {*joint.blocks} <= study.layout.blocks.keys()]
    uncut = [index for index in whole if joints[index].gap != "both"]
    borders = {index for section in study.always(sections) for index in section.borders}
    fixed = [index for index in whole if joints[index].gap != "both" or index not in borders]
    told: dict[str, str] = {}
    for way, shorted in [
        *((way, True) for way in turned_ways(study.layout, uncut)),
        *((way, False) for way in turned_ways(study.layout, fixed)),
    ]:
        first = next((told[block] for block in way.blocks if block in told), None)
        told.update(dict.fromkeys(way.blocks, first or way.blocks[0]))
        if first is None:
            yield _finding(study, way, shorted)


def _finding(study: Study, way: Way, shorted: bool) -> Finding:
    joints = study.layout.joints
    if len(way.joints) == 1:
        return _itself(way.blocks[0], way.joints[0], joints[way.joints[0]].ends[0])
    full_cuts = sum(joints[index].gap == "both" for index in way.joints)
    short = shorted or full_cuts < 2
    like = [index for index in way.joints if len({*joints[index].ends}) == 1]
    told = (
        "no section of it is cut off in both rails: a dead short"
        if shorted
        else "both rails are cut at one place only: a train across it is a dead short"
        if short
        else "nothing on it changes its polarity: a train that leaves what is cut off is a dead short"
    )
    return Finding(
        f"{' > '.join((*way.blocks, way.blocks[0]))} turns trains round, and {told}",
        subject=way.blocks[0],
        at=("joints", way.joints[-1], "gap" if short else "blocks"),
        others=way.blocks[1:],
        related=tuple(
            Label(("joints", index), f"like ends of {listed(list(joints[index].blocks))} meet here")
            for index in like[:3]
        ),
        help=(
            'cut both rails (gap = "both") at both ends of a section longer than the longest train, and make it a '
            'district with polarity = "automatic"; or correct ends, where no way leads back'
        )
        if short
        else 'make what lies between the cuts a district of its own, with polarity = "automatic" or "switch"',
    )


def _itself(block: str, joint: int, end: str) -> Finding:
    """An end of a block joined to itself, which no track is; a ring of one block is no way that turns trains round."""
    ends = '["far", "near"]'
    return Finding(
        f"the {end} end of {block} would meet itself, detected rail on common rail; in a ring of one block its far end "
        "meets its near end",
        subject=block,
        at=("joints", joint, "ends"),
        help=f"write ends = {ends}, or the name of the block that {block} meets there",
        edits=(Rewrite(("joints", joint, "ends"), ends),),
    )


RULE = Rule(__doc__, __name__, "joining", Severity.ERROR, check)
