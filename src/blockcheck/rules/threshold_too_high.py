"""A board reads occupied from less than its channels may carry.

Why: a channel that may not carry what it takes to read never reads; mostly mA was meant where A is written.

Mend: write the threshold, or channel_current, as the data sheet has it.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.rules._claims import Unseen
from blockcheck.rules._rule import Judged, Rule, Said, amps


def check(study: Study) -> Said:
    """A finding for each type of board whose data say both, and contradict each other."""
    for name in sorted(study.layout.board_types, key=natural_key):
        kind = study.layout.board_types[name]
        if kind.channel_current_a is None:
            continue
        yield Judged(name)
        if kind.threshold_a >= kind.channel_current_a:
            yield Finding(
                f"a channel of {name} reads from {amps(kind.threshold_a)}, and may carry "
                f"{amps(kind.channel_current_a)}",
                subject=name,
                at=("board_types", name, "threshold"),
                related=(Label(("board_types", name, "channel_current"), "the most that it may carry"),),
                measured=kind.threshold_a,
                limit=kind.channel_current_a,
                unit="A",
                causes=frozenset(
                    Unseen(block)
                    for block, fed in study.wiring.fed.items()
                    if fed.type is not None and fed.type.name == name
                ),
                help="write both as the data sheet has them; a threshold is some mA",
            )


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
