"""The longest train fits between the two ends of a section whose polarity changes.

Why: while a train bridges the gaps at both ends at once, one of them has the wrong polarity, whichever the section has.

Mend: lengthen the section: move its gaps outwards, or take the next block into its district; or shorten the train.
"""

from __future__ import annotations

from blockcheck.analysis.reversing import inside, longest_train, sections
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed, metres


def check(study: Study) -> Said:
    """One for each section: the shortest way through it, against the longest train."""
    train = study.always(longest_train)
    for section in study.always(sections):
        yield from map(Judged, section.blocks)
        way = min(inside(study, section), key=lambda one: one.length_m, default=None)
        lacks = () if way is None else train.lacks(way)
        if lacks:
            yield Lacks(section.blocks[0], lacks)
        if way is None or lacks is not None:
            continue
        yield Finding(
            f"the way through {listed(list(way.blocks))}, whose polarity changes, is {metres(way.length_m, study)} "
            f"long, and {train.train} {metres(train.length_m, study)}: it bridges both ends at once",
            subject=section.blocks[0],
            at=("blocks", way.blocks[0], "length"),
            others=section.blocks[1:],
            related=(
                Label(("trains", str(train.train)), "the longest train"),
                Label(("districts", section.district, "polarity"), "its polarity changes"),
            ),
            measured=train.length_m,
            limit=way.length_m,
            unit="m",
            help="move its gaps outwards: take the blocks beyond into the district, or shorten the train",
        )


RULE = Rule(
    __doc__,
    __name__,
    "joining",
    Severity.ERROR,
    check,
    needs=("blocks.*.length", "trains.*.length or loads.*.length"),
)
