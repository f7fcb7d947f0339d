"""Within a group no track number is used twice.

Why: "isolate track 4" must mean one track.

Mend: number the tracks of a group once each, or put them into different groups.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.rules._rule import Judged, Rule, Said, listed


def check(study: Study) -> Said:
    """A finding for each number that several blocks of a group have. Numbers that only names suggest may clash
    outside groups, where nobody gave them."""
    users: dict[tuple[str | None, int], list[str]] = {}
    for name in study.wiring.fed:
        if name in study.wiring.tracks:
            yield Judged(name)
            users.setdefault((study.layout.blocks[name].group, study.wiring.tracks[name]), []).append(name)
    for (group, number), blocks in users.items():
        given = [name for name in blocks if study.layout.blocks[name].track is not None]
        if len(blocks) < 2 or (group is None and not given):
            continue
        where = f" in {group}" if group is not None else ""
        last = given[-1] if given else blocks[-1]
        first = next(name for name in blocks if name != last)
        yield Finding(
            f"track {number}{where} stands for {listed(blocks)}",
            subject=blocks[0],
            at=("blocks", last, "track"),
            others=tuple(blocks[1:]),
            related=(Label(("blocks", first, "track"), f"{first} has this number too"),),
            help="give each a number of its own (track = ...), or a group of its own",
        )


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
