"""Every block has one detector channel, or says why it has none.

Why: a train in a block without a detector is a train that nobody sees.

Mend: give the block a channel, or write undetected = "the reason".
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Severity
from blockcheck.rules._rule import Judged, Rule, Said


def check(study: Study) -> Said:
    """A finding for each block that has neither a channel nor a reason for having none."""
    for name, fed in study.wiring.fed.items():
        yield Judged(name)
        if not (fed.block.channel or fed.block.undetected or fed.block.unpowered or fed.through):
            yield Finding(
                f"{name} has no detector channel and does not say why",
                subject=name,
                at=("blocks", name),
                help='write channel = "BOARD.NUMBER", or undetected = "the reason"',
            )


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
