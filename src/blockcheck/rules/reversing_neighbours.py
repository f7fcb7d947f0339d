"""Gaps at which a polarity changes by itself are never bridged two at once.

Why: each device sees a dead short, exchanges its rails, and so makes it the other's: they hunt until a breaker trips.

Mend: keep a train's length of track with a fixed polarity between them, or let one device feed both.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.reversing import Section, Stretch, longest_train, outside, sections
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed, metres


def check(study: Study) -> Said:
    """Sections that meet, then those between whose gaps a train has no room: of two sections, where it has least."""
    districts = study.layout.districts
    for section in study.always(sections):
        yield from map(Judged, section.blocks)
    automatic = [one for one in study.always(sections) if districts[one.district].polarity == "automatic"]
    home = {name: section for section in automatic for name in section.blocks}
    for index in sorted({index for section in automatic for index in section.borders}):
        one, other = sorted(map(str, study.layout.joints[index].blocks), key=natural_key)
        if one in home and other in home:
            yield Finding(
                f"{one} and {other} meet, and the polarity of both changes by itself",
                subject=one,
                at=("joints", index),
                others=(other,),
                related=tuple(Label(("districts", home[name].district, "polarity"), name) for name in (one, other)),
                help="let one device feed both, or keep a train's length of fixed polarity between them",
            )
    nearest: dict[frozenset[str], tuple[Section, Stretch]] = {}
    for section in automatic:
        for way in outside(study, section, home):
            beyond = next(home[name] for name in map(str, study.layout.joints[way.end].blocks) if name in home)
            pair = frozenset({section.blocks[0], beyond.blocks[0]})
            if pair not in nearest or way.length_m < nearest[pair][1].length_m:
                nearest[pair] = section, way
    for section, way in nearest.values():
        yield from _between(study, section, way)


def _between(study: Study, section: Section, way: Stretch) -> Iterator[Finding | Lacks]:
    train = study.always(longest_train)
    lacks = train.lacks(way)
    if lacks:
        yield Lacks(section.blocks[0], lacks)
    elif lacks is None:
        yield Finding(
            f"{listed(list(way.blocks))} between two gaps at which a polarity changes by itself: "
            f"{metres(way.length_m, study)}, and {train.train} is {metres(train.length_m, study)} long",
            subject=section.blocks[0],
            at=("joints", way.start),
            others=way.blocks,
            related=(
                Label(("joints", way.end), "the other gap"),
                Label(("trains", str(train.train)), "the longest train"),
            ),
            measured=train.length_m,
            limit=way.length_m,
            unit="m",
            help="lengthen the track between them, or let one device feed both sections",
        )


RULE = Rule(
    __doc__,
    __name__,
    "joining",
    Severity.ERROR,
    check,
    needs=("blocks.*.length", "trains.*.length or loads.*.length"),
)
