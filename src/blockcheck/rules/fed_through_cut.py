"""A block that is fed through another meets it where no rail is cut.

Why: it has no drops of its own; where a rail is cut, or no joint joins the two, nothing feeds it.

Mend: let both rails run through at that joint: gap = "none"; or give the block a channel and drops of its own.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.core.spans import Path
from blockcheck.model.tables.through import feeder_of
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding for each such block that no joint feeds with both rails."""
    joints = study.layout.joints
    for name, fed in study.wiring.fed.items():
        if fed.through is None:
            continue
        yield Judged(name)
        before = str(feeder_of(study.layout, name))
        met = study.wiring.joints_of.get(frozenset((before, name)), ())
        if any(joints[index].gap == "none" for index in met):
            continue
        at: Path = ("joints", met[0], "gap") if met else ("blocks", name, "fed_through")
        write = f'write [[joints]] with blocks = ["{before}", "{name}"] and gap = "none"'
        yield Finding(
            f"{name} is fed through {before}, and {'a rail is cut between them' if met else 'no joint joins the two'}",
            subject=name,
            at=at,
            others=(before,),
            related=(Label(("blocks", name, "fed_through"), "it says so here"),) if met else (),
            help='let both rails run through: gap = "none"' if met else write,
            edits=(Rewrite(at, '"none"'),) if met else (),
        )


RULE = Rule(__doc__, __name__, "joining", Severity.ERROR, check)
