"""Two blocks on different channels meet only across a cut detected rail.

Why: without the gap the two blocks are one piece of rail: each reads the other's trains, and neither can be isolated.

Mend: cut the detected rail at the joint: gap = "detected", or "both".
"""

from __future__ import annotations

from blockcheck.analysis.isolation.ways import Stray, round_detector
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.rules._joints import alike, wider, with_gap
from blockcheck.rules._rule import Judged, Rule, Said, unbuilt


def check(study: Study) -> Said:
    """A finding for each joint that leaves the detected rail whole between two channels."""
    for index, joint in enumerate(study.layout.joints):
        path: Path = ("joints", index)
        feds = [study.wiring.fed.get(name) for name in joint.blocks]
        for one in feds:
            if one is not None and one.channel is not None and one.block.name in study.circuit.detected:
                yield Judged(one.block.name)
        if joint.gap not in ("none", "common") or path in study.mended:
            continue
        for one in feds:
            if one is not None and one.channel is None and one.block.channel is not None:
                yield unbuilt(study, one.block.name)
        channels = {fed.channel for fed in feds if fed is not None}
        if len(channels) < 2 or None in channels or None in feds:
            continue
        first, second = sorted(joint.blocks, key=natural_key)
        strays = round_detector(study, first) if first in study.circuit.detected else iter(())
        stray = next((one for one in strays if isinstance(one, Stray) and one.culprit == path), None)
        fed, other = study.wiring.fed[first], study.wiring.fed[second]
        yield Finding(
            f"{first} and {second} meet without a gap in the detected rail, and are on different channels",
            subject=first,
            at=(*path, "gap"),
            others=(second,),
            related=(
                Label(("blocks", first, "channel"), f"{first} is on {fed.channel}"),
                Label(("blocks", second, "channel"), f"{second} is on {other.channel}"),
            ),
            state=(stray.state or None) if stray is not None else None,
            way=stray.way if stray is not None else None,
            help='cut the detected rail: gap = "detected"' if joint.gap == "none" else 'cut it too: gap = "both"',
            edits=with_gap(path, wider(joint.gap, "detected")),
            group=alike(study, path),
            causes=frozenset({path}),
        )


RULE = Rule(__doc__, __name__, "joining", Severity.ERROR, check)
