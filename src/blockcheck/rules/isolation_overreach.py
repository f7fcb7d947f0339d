"""With everything else as usual, an isolator takes power from no block but those that it is meant for.

Why: the train next door stops, or goes blind, because somebody put this track to sleep.

Mend: move the isolator to where it cuts only what it should, mostly behind the detector; or list the block in isolates
if it is meant.
"""

from __future__ import annotations

from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.study import Study
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import open_position
from blockcheck.rules._claims import Isolates
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed


def check(study: Study) -> Said:
    """One finding for each isolator that kills, or moves to another district, blocks that it is not meant for."""
    kills = Isolation(study).kills
    for name, meant in study.wiring.meant.items():
        yield Judged(name)
        if name not in kills and open_position(study.wiring, name) is not None:
            yield Lacks(name, UNDECIDED)
        victims = [
            victim
            for victim in sorted((kills.get(name, frozenset()) | _moved(study, name)) - set(meant), key=natural_key)
            if Isolates(name, victim) not in study.claims
        ]
        if not victims:
            continue
        cut = open_position(study.wiring, name)
        yield Finding(
            f"{name} also takes power from {listed(victims)}"
            if cut is not None
            else f"{name} also moves {listed(victims)} to another district",
            subject=name,
            at=_where(study.layout.isolators[name]),
            others=tuple(victims),
            related=tuple(
                Label(("blocks", victim, "isolator"), f"{victim} is not meant to go") for victim in victims[:2]
            ),
            state={name: cut} if cut is not None else None,
            help=_help(study.layout.isolators[name], victims),
            causes=frozenset(Isolates(name, victim) for victim in victims),
        )


def _where(isolator: Isolator) -> Path:
    """What decides it: the side on which it cuts, else what it is meant for."""
    on_side = isolator.contact == "on-off" and isolator.side != "after-detector"
    return ("isolators", isolator.name, "side" if on_side else "isolates")


def _help(isolator: Isolator, victims: list[str]) -> str:
    which, them, they = (victims[0], "it", "it is") if len(victims) == 1 else ("them", "them", "they are")
    if isolator.contact == "changeover":
        return f"let every block of the bank name {isolator.name}, or move {which} to another bank"
    if isolator.side == "before-detector":
        return f'cut behind the detector (side = "after-detector"), or list {which} in isolates if {they} meant'
    return f"wire {which} through another isolator, or list {them} in isolates if {they} meant"


def _moved(study: Study, name: str) -> set[str]:
    """Blocks in the bank of a changeover without an off position that do not name it: they move with it."""
    isolator = study.layout.isolators[name]
    if isolator.contact != "changeover" or isolator.centre_off:
        return set()
    fed = study.wiring.fed
    banks = {
        (fed[block].board, fed[block].bank) for block in study.wiring.switched[name] if fed[block].board is not None
    }
    return {block for block, one in fed.items() if (one.board, one.bank) in banks and isolator not in one.isolators}


RULE = Rule(__doc__, __name__, "isolation", Severity.ERROR, check)
