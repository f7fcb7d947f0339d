"""No closed way of track joins a detected rail to a common rail.

Why: a way that turns a train round leads each rail back as the other one. Unless both rails are cut at both ends of a
section on it, that is a dead short; and unless the polarity of that section changes, each train that leaves it is one.

Mend: cut both rails at both ends of a section that is longer than the longest train, and feed it by what changes its
polarity; such a feed cannot be described yet, so accept the warning that stays, with what was built.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.study import Study
from blockcheck.analysis.turned import Way, turned_ways
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.rules import _subjects
from blockcheck.rules._rule import Rule, listed


def check(study: Study) -> Iterator[Finding]:
    """A finding for each closed way that turns trains round, those that share a block together.

    An error where a rail goes all round or fewer than two joints cut both; else a warning, for whether the polarity of
    the section changes is not known.
    """
    layout = study.layout
    whole = [index for index, joint in enumerate(layout.joints) if {*joint.blocks} <= layout.blocks.keys()]
    uncut = [index for index in whole if layout.joints[index].gap != "both"]
    told: dict[str, str] = {}
    for way, shorted in [
        *((way, True) for way in turned_ways(layout, uncut)),
        *((way, False) for way in turned_ways(layout, whole)),
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
        else "whether the polarity of its cut section changes is not described"
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
        own=None if short else Severity.WARNING,
        help=(
            'cut both rails (gap = "both") at both ends of a section longer than the longest train, and have its '
            "polarity changed; or correct ends, where no way leads back"
        )
        if short
        else "have the polarity of that section changed, by itself or by a switch, and accept this with what was built",
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


RULE = Rule(__doc__ or "", "rails-crossed", "joining", Severity.ERROR, check, subjects=_subjects.meeting)
