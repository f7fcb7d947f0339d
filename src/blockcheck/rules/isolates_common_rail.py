"""Isolation is not done in the shared return, where it starves the neighbours or leaves the detected rail live.

Why: with the return cut, the detected rail keeps its full voltage: a metal wagon or a finger across a gap closes the
circuit in ways that nobody drew. It is an error where the common rail runs on into a neighbour, so that the block that
should sleep stays live.

Mend: put the isolator behind the detector: side = "after-detector".
"""

from __future__ import annotations

from attrs import evolve

from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.study import Study, hops
from blockcheck.circuit.reach import Never, Witness
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.model.link import link
from blockcheck.rules._claims import Isolates
from blockcheck.rules._rule import Judged, Rule, Said, listed


def check(study: Study) -> Said:
    """A finding for each isolator in the common rail; one that would not leak elsewhere does not leak on its own."""
    isolators = study.layout.isolators
    yield from (Judged(name) for name, blocks in study.wiring.switched.items() if blocks)
    wrong = [name for name, blocks in study.wiring.switched.items() if blocks and isolators[name].side == "common-rail"]
    if wrong:
        now, moved = Isolation(study), Isolation(_moved(study, wrong))
        for name in wrong:
            yield _finding(now, moved, name)


def _moved(study: Study, wrong: list[str]) -> Study:
    """The study with these isolators behind the detectors."""
    isolators = {**study.layout.isolators}
    isolators |= {name: evolve(isolators[name], side="after-detector") for name in wrong}
    other = Study.of(link(study.wiring.document, evolve(study.layout, isolators=isolators)))
    return other.mended_as(study)


def _finding(now: Isolation, moved: Isolation, name: str) -> Finding:
    study, blocks = now.study, now.study.wiring.switched[name]
    leaks: dict[str, Witness] = {}
    for block in study.wiring.meant[name]:
        if block in study.circuit.detected and isinstance(moved.gets_round(name, block)[0], Never):
            answer, _ = now.gets_round(name, block)
            if isinstance(answer, Witness):
                leaks[block] = answer
    also, first = "", next(iter(leaks.values()), None)
    if leaks:
        stays = "stays" if len(leaks) == 1 else "stay"
        also = f"; with it open {listed([*leaks])} {stays} live, since the common rail still finds the return"
    return Finding(
        f"{name} cuts the common rail; the detected rail stays live{also}",
        subject=name,
        at=("isolators", name, "side"),
        others=blocks,
        related=tuple(Label(("blocks", block, "isolator"), f"{block} is switched by it") for block in blocks[:1]),
        state=first.state if first is not None else None,
        way=hops(study.circuit, first, 1) if first is not None else None,
        help='move it behind the detector: side = "after-detector"',
        edits=(Rewrite(("isolators", name, "side"), '"after-detector"'),),
        causes=frozenset(Isolates(name, block) for block in leaks),
        own=Severity.ERROR if leaks else None,
    )


RULE = Rule(
    __doc__,
    __name__,
    "isolation",
    Severity.WARNING,
    check,
)
