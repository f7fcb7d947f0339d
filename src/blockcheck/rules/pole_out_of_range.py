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
        pole = fed.block.isolator
        if fed.isolator is None or pole is None:
            continue
        yield Judged(name)
        if not 1 <= pole.pole <= fed.isolator.poles:
            yield Finding(
                f"{name} is on pole {pole.pole} of {pole.isolator}, which has "
                f"{'one pole' if fed.isolator.poles == 1 else f'poles 1 to {fed.isolator.poles}'}",
                subject=name,
                at=("blocks", name, "isolator"),
                others=(pole.isolator,),
                related=(Label(("isolators", pole.isolator), "the switch stands here"),),
                measured=float(pole.pole),
                limit=float(fed.isolator.poles),
                help=f"write poles = {pole.pole} if it has that many, or take another pole"
                if pole.pole
                else "poles count from 1",
            )


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
