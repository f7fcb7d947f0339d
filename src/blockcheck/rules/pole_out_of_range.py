"""The isolator has that pole.

Why: a wire to a pole that the switch does not have ends nowhere.

Mend: take a pole that it has, or write how many it really has (poles = 2).
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding for each block on a pole that its isolator does not have."""
    for name, fed in study.wiring.fed.items():
        if fed.poles:
            yield Judged(name)
        for isolator, pole in fed.poles:
            if 1 <= pole <= isolator.poles:
                continue
            yield Finding(
                f"{name} is on pole {pole} of {isolator.name}, which has "
                f"{'one pole' if isolator.poles == 1 else f'poles 1 to {isolator.poles}'}",
                subject=name,
                at=("blocks", name, "isolator"),
                others=(isolator.name,),
                related=(Label(("isolators", isolator.name), "the switch stands here"),),
                measured=float(pole),
                limit=float(isolator.poles),
                help=f"write poles = {pole} if it has that many, or take another pole"
                if pole
                else "poles count from 1",
            )


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
