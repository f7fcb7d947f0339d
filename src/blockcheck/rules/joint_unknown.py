"""Two blocks that meet at a turnout have a joint that says how.

Why: whether the rails are cut there decides everything else; a joint that nobody wrote down was never looked at.

Mend: write the joint: [[joints]] with blocks = ["A", "B"] and its gap.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.model.wiring import LEGS
from blockcheck.rules import _subjects
from blockcheck.rules._rule import Rule


def check(case: Case) -> Iterator[Finding]:
    """A finding for each pair of blocks that meet at a turnout's leg and have no joint."""
    layout, told = case.layout, set[frozenset[str]]()
    for name in sorted(layout.turnouts, key=natural_key):
        turnout = layout.turnouts[name]
        for leg in LEGS:
            target = getattr(turnout, leg)
            beyond = layout.turnouts[target].block if target in layout.turnouts else target
            pair = frozenset((str(turnout.block), str(beyond)))
            if len(pair) < 2 or pair in told or pair in case.wiring.joints_of or not pair <= layout.blocks.keys():
                continue
            told.add(pair)
            first, second = sorted(pair, key=natural_key)
            yield Finding(
                f"{first} and {second} meet at the {leg} leg of turnout {name}, and no joint says how",
                subject=first,
                at=("turnouts", name, leg),
                others=(second,),
                related=(Label(("blocks", second), f"{second} stands here"),),
                help=f'write [[joints]] with blocks = ["{turnout.block}", "{beyond}"] and gap = "detected"',
            )


RULE = Rule(__doc__ or "", "joint-unknown", "joining", Severity.NOTE, check, subjects=_subjects.at_turnouts)
