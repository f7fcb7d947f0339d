"""Where detection is meant to go off, no vehicle in the block can make the channel read while the isolator is open.

Why: a sleeping track that still shows a train, now and then, is a detector that nobody believes.

Mend: take the hold resistor out, or write detection = "held" if the parked train is meant to show.
"""

from __future__ import annotations

from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.study import Study, hops
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.reach import Undecided, Witness
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.model.operate import open_position
from blockcheck.rules._claims import Isolates
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed, unbuilt


def check(study: Study) -> Said:
    """A finding for each isolator that leaves a trickle by which channels can still be made to read."""
    isolation = Isolation(study)
    for name, blocks in study.wiring.meant.items():
        if study.layout.isolators[name].detection != "off" or open_position(study.wiring, name) is None:
            continue
        reading: list[tuple[str, Witness]] = []
        for block in blocks:
            if block not in study.circuit.detected:
                if study.layout.blocks[block].unpowered is None:
                    yield unbuilt(study, block)
                continue
            yield Judged(block)
            if Isolates(name, block) in study.claims:
                continue
            answer = isolation.trickles(name, block)
            if isinstance(answer, Undecided):
                yield Lacks(block, UNDECIDED)
            elif isinstance(answer, Witness):
                reading.append((block, answer))
        if reading:
            yield _finding(study, name, *reading)


def _finding(study: Study, name: str, first: tuple[str, Witness], *more: tuple[str, Witness]) -> Finding:
    block, answer = first
    also, channel = [one for one, _ in more], study.wiring.fed[block].channel
    return Finding(
        f"with {name} open, a vehicle in {block} can still make channel {channel} read"
        + (f"; so can one in {listed(also)}" if also else ""),
        subject=block,
        at=("isolators", name, "hold"),
        others=(name, *also),
        related=(Label(("blocks", block, "channel"), f"{block} has its channel here"),),
        state=answer.state,
        way=_way(study, answer, str(channel)),
        help='take the hold resistor out, or write detection = "held"',
        causes=frozenset(Isolates(name, one) for one in (block, *also)),
    )


def _way(study: Study, answer: Witness, channel: str) -> tuple[str, ...]:
    """From the booster through the channel into the block; on to the return where the trickle is on that side."""
    kinds = {study.circuit.edges[number].kind for number in answer.paths[2]}
    back = hops(study.circuit, answer, 2)[1:] if Kind.HOLD in kinds else ()
    return (
        *hops(study.circuit, answer, 1, reverse=True),
        channel,
        *hops(study.circuit, answer, 0, reverse=True),
        *back,
    )


RULE = Rule(__doc__, __name__, "isolation", Severity.ERROR, check)
