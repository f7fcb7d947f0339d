"""With everything else as usual, an isolator takes power from no block but those that it is meant for.

Why: the train next door stops, or goes blind, because somebody put this track to sleep.

Mend: move the isolator to where it cuts only what it should, mostly behind the detector; or list the block in isolates
if it is meant.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.analysis.isolation import Isolation
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.operate import open_position
from blockcheck.rules._rule import Rule, isolation_claim, listed


def check(case: Case) -> Iterator[Finding]:
    """One finding for each isolator that kills, or moves to another district, blocks that it is not meant for."""
    kills = Isolation(case).kills
    for name, meant in case.wiring.meant.items():
        victims = sorted((kills.get(name, frozenset()) | _moved(case, name)) - set(meant), key=natural_key)
        if not victims:
            continue
        isolator = case.layout.isolators[name]
        at: Path = ("isolators", name, "side") if isolator.side != "after-detector" else ("isolators", name)
        cut = open_position(case.wiring, name)
        does = "takes power from" if cut is not None else "moves to another district"
        yield Finding(
            f"{name} also {does} {listed(victims)}",
            subject=name,
            at=at,
            others=tuple(victims),
            related=tuple(Label(("blocks", victim), f"{victim} is not meant to go") for victim in victims[:2]),
            state={name: cut} if cut is not None else None,
            help='cut behind the detector (side = "after-detector"), or list them in isolates if they are meant'
            if isolator.contact == "on-off"
            else "let every block of the bank name it, or give them another bank",
            causes=frozenset(isolation_claim(name, victim) for victim in victims),
        )


def _moved(case: Case, name: str) -> set[str]:
    """Blocks in the bank of a changeover without an off position that do not name it: they move with it."""
    isolator = case.layout.isolators[name]
    if isolator.contact != "changeover" or isolator.centre_off:
        return set()
    fed = case.wiring.fed
    banks = {
        (fed[block].board, fed[block].bank) for block in case.wiring.switched[name] if fed[block].board is not None
    }
    return {block for block, one in fed.items() if (one.board, one.bank) in banks and one.isolator is not isolator}


RULE = Rule(__doc__ or "", "isolation-overreach", "isolation", Severity.ERROR, check)
