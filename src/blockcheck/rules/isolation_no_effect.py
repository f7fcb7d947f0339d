"""Closing and opening an isolator makes a difference to each block that it is meant for.

Why: a switch that is thrown and changes nothing leaves the track live, and somebody's hand on it.

Mend: wire the block through the isolator (isolator = "..."), or take the block out of what it isolates.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.analysis.isolation import Isolation
from blockcheck.circuit.reach import Witness
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.core.spans import Path
from blockcheck.model.operate import open_position
from blockcheck.rules._rule import Rule, isolation_claim, unbuilt


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each isolator and block that it is meant for and does not affect in any state."""
    isolation = Isolation(case)
    for name, blocks in case.wiring.meant.items():
        if open_position(case.wiring, name) is None:
            continue
        for block in blocks:
            if block not in case.circuit.detected:
                if case.wiring.fed[block].missing:
                    yield unbuilt(case, "isolation-no-effect", block)
                continue
            effect = isolation.matters(name, block)
            if effect is None:
                yield Unchecked("isolation-no-effect", name, ("a decision within bounds",))
            elif not effect and not _leaks(isolation, name, block):
                yield _finding(case, name, block)


def _leaks(isolation: Isolation, name: str, block: str) -> bool:
    """Whether a block that is wired through the isolator is kept alive by a way that isolation-leak can show."""
    wired = block in isolation.case.wiring.switched[name]
    return wired and isinstance(isolation.gets_round(name, block)[0], Witness)


def _finding(case: Case, name: str, block: str) -> Finding:
    given = case.layout.isolators[name].isolates is not None
    at: Path = ("isolators", name, "isolates") if given else ("blocks", block, "isolator")
    own = case.wiring.fed[block].isolator
    wired = f"{block} is wired through {own.name}" if own is not None else f"{block} is wired through no isolator"
    return Finding(
        f"{name} is meant to isolate {block}, and opening it changes nothing there",
        subject=name,
        at=at,
        others=(block,),
        related=(Label(("blocks", block, "isolator") if own is not None else ("blocks", block), wired),),
        help=f'write isolator = "{name}" in {block}, or take {block} out of what {name} isolates',
        causes=frozenset({isolation_claim(name, block)}),
    )


RULE = Rule(__doc__ or "", "isolation-no-effect", "isolation", Severity.ERROR, check)
