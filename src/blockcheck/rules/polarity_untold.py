"""Where a closed way of track comes to points, the joints say at which ends.

Why: a way turns trains round, and joins one rail to the other, where it leaves a block by the end at which it came in.
Of a joint that says no ends it is taken that blocks follow one another, so that a balloon loop reads as an oval, and
the dead short at its points as nothing.

Mend: write the ends of those joints, or what the legs of the turnout lead to.
"""

from __future__ import annotations

from collections.abc import Iterable

from blockcheck.analysis.study import Study
from blockcheck.analysis.turned import Way, rings
from blockcheck.analysis.turnouts import Ladders
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import condensed, natural_key
from blockcheck.rules._rule import Judged, Rule, Said, listed


def check(study: Study) -> Said:
    """A finding for each block at which a closed way that seems to be a ring may turn, as far as its joints say.

    A way through plain track enters at one end and leaves at the other, whatever is written: a block of two joints
    leaves nothing open. Nor do two joints of one range, which are at one end, or a turnout's legs, which tell the ends.
    """
    layout = study.layout
    powered = {name for name, block in layout.blocks.items() if block.unpowered is None}
    whole = [index for index, joint in enumerate(layout.joints) if {*joint.blocks} <= powered]
    points = {str(turnout.block) for turnout in layout.turnouts.values()}
    points |= {name for name, block in layout.blocks.items() if block.kind == "throat"}
    hubs = {name for name, own in study.wiring.joints_at.items() if len(own) > 2 or name in points}
    yield from map(Judged, sorted(hubs, key=natural_key))
    legs = {leg.pair for leg in study.always(Ladders.of).legs}
    written = study.wiring.document.values.get("joints", ())
    silent = {
        index for index in whole if "ends" not in written[index] and frozenset(layout.joints[index].blocks) not in legs
    }
    found: dict[str, tuple[Way, set[int]]] = {}
    for way in rings(layout, whole):
        for at, name in enumerate(way.blocks):
            passed = {way.joints[at - 1], way.joints[at]}
            missing = passed & silent
            if name in hubs and missing and len(passed) == 2 and not _of_one_range(study, missing):
                found.setdefault(name, (way, set()))[1].update(missing)
    for name in sorted(found, key=natural_key):
        yield _finding(study, name, found[name][0], sorted(found[name][1]))


def _of_one_range(study: Study, joints: Iterable[int]) -> bool:
    """Whether several joints stand in one table."""
    document, many = study.wiring.document, [*joints]
    return len(many) > 1 and len({document.place(("joints", index)) for index in many}) == 1


def _finding(study: Study, name: str, way: Way, silent: list[int]) -> Finding:
    beyond = [next((one for one in study.layout.joints[index].blocks if one != name), name) for index in silent]
    beyond = list(dict.fromkeys(beyond))
    return Finding(
        f"whether {' > '.join((*way.blocks, way.blocks[0]))} turns trains round hangs on which ends of {name} meet "
        f"{listed(condensed(beyond))}, and no joint says; it is taken that it does not",
        subject=name,
        at=("joints", silent[0], "blocks"),
        others=tuple(beyond),
        related=tuple(Label(("joints", index, "blocks"), "nor is it said here") for index in silent[1:3]),
        help='write ends there: ["far", "near"] if the far end of the first block meets the near end of the second',
    )


RULE = Rule(__doc__, __name__, "joining", Severity.NOTE, check)
