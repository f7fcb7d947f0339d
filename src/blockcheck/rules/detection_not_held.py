"""Where detection is meant to be held, the smallest vehicle still reads with margin while the isolator is open, and no
locomotive gets enough to wake.

Why: the point of a hold resistor is that a sleeping train still shows; one that is missing or too large shows nothing,
one that is too small leaves the locomotive half awake.

Mend: put a hold resistor across the contact, of a value between the two.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.analysis.isolation import Isolation
from blockcheck.circuit.reach import Never
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.model.operate import open_position
from blockcheck.rules._rule import Rule, isolation_claim


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding where nothing can reach the channel at all; how much reaches it needs the solved network."""
    isolation = Isolation(case)
    for name, blocks in case.wiring.meant.items():
        isolator = case.layout.isolators[name]
        if isolator.detection != "held" or open_position(case.wiring, name) is None:
            continue
        for block in blocks:
            if block not in case.circuit.detected or isolation_claim(name, block) in case.mended:
                continue
            if case.wiring.fed[block].channel is None:
                continue
            if not isinstance(isolation.trickles(name, block), Never):
                yield Unchecked("detection-not-held", block, ("the solved network",))
                continue
            yield Finding(
                f"with {name} open, nothing in {block} can make channel {case.wiring.fed[block].channel} read, "
                "and detection is meant to be held",
                subject=block,
                at=("isolators", name, "detection"),
                others=(name,),
                related=(Label(("blocks", block, "channel"), f"{block} has its channel here"),),
                state={name: str(open_position(case.wiring, name))},
                help='put a resistor across the contact (hold = "10 kohm"), or write detection = "off"',
                causes=frozenset({isolation_claim(name, block)}),
            )


RULE = Rule(__doc__ or "", "detection-not-held", "isolation", Severity.ERROR, check, needs=("the solved network",))
