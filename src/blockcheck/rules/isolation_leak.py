"""With an isolator open, in any state of everything else, no path of conductors reaches the blocks that it isolates.

Why: a track that should sleep and does not keeps its locomotives awake and loads the booster, and a track that is
taken for dead is worked on.

Mend: find the way that is shown and cut it, mostly with a gap or by wiring the isolator into that feed too.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case, hops
from blockcheck.analysis.isolation import Isolation
from blockcheck.circuit.reach import Undecided, Witness
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.core.spans import Path
from blockcheck.model.operate import open_position
from blockcheck.rules._rule import Rule, isolation_claim, unbuilt


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each isolator and block that it should kill and that some state keeps alive."""
    isolation = Isolation(case)
    for name, blocks in case.wiring.meant.items():
        if open_position(case.wiring, name) is None:
            continue
        for block in blocks:
            if block not in case.circuit.detected:
                if case.wiring.fed[block].missing:
                    yield unbuilt(case, "isolation-leak", block)
                continue
            if isolation_claim(name, block) in case.mended:
                continue
            answer, route = isolation.gets_round(name, block)
            if isinstance(answer, Undecided):
                yield Unchecked("isolation-leak", block, ("a decision within bounds",))
            elif isinstance(answer, Witness):
                yield _finding(case, name, block, answer, route)


def _finding(case: Case, name: str, block: str, answer: Witness, route: int) -> Finding:
    circuit = case.circuit
    joints = [circuit.edges[number].path for number in answer.paths[route] if circuit.edges[number].kind == "joint"]
    way = hops(circuit, answer, route, reverse=route == 0)
    rail = "" if route == 0 else "; its common rail still finds the return"
    at: Path = (*joints[0], "gap") if joints else ("blocks", block, "isolator")
    gap = "detected" if route == 0 else "both"
    return Finding(
        f"{block} stays live with {name} open{rail}",
        subject=block,
        at=at,
        others=(name,),
        related=(
            Label(("isolators", name), f"{name} should cut it off"),
            *(Label(("blocks", block), f"{block} stands here") for _ in joints[:1]),
        ),
        state=answer.state,
        way=way,
        help=f'cut the rail on that way: gap = "{gap}"' if joints else f"wire that feed of {block} through {name} too",
        causes=frozenset({isolation_claim(name, block)}),
    )


RULE = Rule(__doc__ or "", "isolation-leak", "isolation", Severity.ERROR, check)
