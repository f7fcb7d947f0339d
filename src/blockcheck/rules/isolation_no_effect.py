"""Closing and opening an isolator makes a difference to each block that it is meant for, and a changeover feeds its
blocks in either of its positions. A pole that switches the return alike leaves the common rail no other way back.

Why: a switch that is thrown and changes nothing leaves the track live, and somebody's hand on it; one that feeds a rail
and leaves the return with another booster feeds nothing.

Mend: wire the block through the isolator (isolator = "..."), or take the block out of what it isolates; switch the
return along with the feed (poles = 2), or let the two districts share one; where a return is switched, cut the common
rail too.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.study import Study, hops
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.reach import Question, Route, Undecided, Witness
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.operate import open_position
from blockcheck.rules._claims import Isolates
from blockcheck.rules._joints import wider, with_gap
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed, unbuilt
from blockcheck.text.ranges import names_of


def check(study: Study) -> Said:
    """A finding for each isolator and block that it is meant for and does not affect in any state."""
    isolation = Isolation(study)
    yield from _dead_positions(study)
    yield from _returns(study)
    for name, blocks in study.wiring.meant.items():
        opens, listed_in = open_position(study.wiring, name) is not None, study.layout.isolators[name].isolates
        if blocks and (opens or listed_in is not None) and study.circuit.detected.keys() >= {*blocks}:
            yield Judged(name)
        if not opens:
            if blocks and listed_in is not None:
                yield _never_off(name, blocks)
            continue
        for block in blocks:
            if block not in study.circuit.detected:
                if study.wiring.fed[block].missing:
                    yield unbuilt(study, block)
                continue
            if Isolates(name, block) in study.claims:
                continue
            effect = isolation.matters(name, block)
            if effect is None:
                yield Lacks(name, UNDECIDED)
            elif not effect and not _leaks(isolation, name, block):
                yield _finding(isolation, name, block)


def _dead_positions(study: Study) -> Iterator[Finding]:
    """A finding for each changeover of one pole between districts of which one has another return than its blocks."""
    groups = study.circuit.return_of
    for name, blocks in study.wiring.switched.items():
        isolator = study.layout.isolators[name]
        if isolator.contact != "changeover" or isolator.poles > 1:
            continue
        for district in isolator.between or ():
            home = {block: study.wiring.fed[block].district for block in blocks if block in study.circuit.detected}
            dead = [block for block, own in home.items() if own in groups and groups.get(district) != groups[str(own)]]
            if district in groups and dead:
                yield Finding(
                    f"with {name} at {district} nothing flows in {listed(dead)}: "
                    f"{'its return goes' if len(dead) == 1 else 'their returns go'} to {home[dead[0]]}, "
                    "which shares none with it",
                    subject=name,
                    at=("isolators", name, "between"),
                    others=tuple(dead),
                    related=(Label(("districts", district), f"{district} has a return of its own"),),
                    state={name: district},
                    help="switch the return alike (poles = 2), or let both districts name one return",
                )


def _returns(study: Study) -> Said:
    """A finding for each joint by which a common rail finds its return round the open pole that switches it; what a
    frog joins is frog-short's."""
    circuit, back = study.circuit, frozenset(study.circuit.back.values())
    frogs = frozenset(number for number, edge in enumerate(circuit.edges) if edge.kind is Kind.FROG)
    for name, blocks in study.wiring.switched.items():
        isolator = study.layout.isolators[name]
        if isolator.contact != "on-off" or not isolator.switches_return:
            continue
        for block in blocks:
            route = [Route(frozenset({circuit.common[block]}), back)] if block in circuit.common else []
            while route:
                answer = Question(circuit, route, {name: "open"}, frogs.__contains__, mended=study.mended).answer()
                if isinstance(answer, Undecided):
                    yield Lacks(name, UNDECIDED)
                if not isinstance(answer, Witness):
                    break
                joint = next(
                    edge.path for edge in map(circuit.edges.__getitem__, answer.paths[0]) if edge.kind is Kind.JOINT
                )
                yield _round_the_return(study, name, block, joint, answer)
                study = study.mending(frozenset({joint}))


def _round_the_return(study: Study, name: str, block: str, joint: Path, answer: Witness) -> Finding:
    gap = wider(study.layout.joints[int(joint[1])].gap, "common")
    return Finding(
        f"with {name} open the common rail of {block} still finds the return",
        subject=name,
        at=(*joint, "gap"),
        others=(block,),
        related=(Label(("isolators", name), f"a pole of {name} switches the return"),),
        state=answer.state,
        way=hops(study.circuit, answer, 0),
        help=f'cut that rail too: gap = "{gap}"',
        edits=with_gap(joint, gap),
        causes=frozenset({joint}),
        own=Severity.WARNING,
    )


def _leaks(isolation: Isolation, name: str, block: str) -> bool:
    """Whether a block that is wired through the isolator is kept alive by a way that isolation-leak can show."""
    wired = block in isolation.study.wiring.switched[name]
    return wired and isinstance(isolation.gets_round(name, block)[0], Witness)


def _never_off(name: str, blocks: tuple[str, ...]) -> Finding:
    return Finding(
        f"{name} is meant to isolate {listed(blocks)}, and it has no off position",
        subject=name,
        at=("isolators", name, "isolates"),
        others=blocks,
        related=(Label(("isolators", name, "centre_off"), "it only chooses between two districts"),),
        help=f"leave isolates out, or give {name} an off position (centre_off = true)",
    )


def _finding(isolation: Isolation, name: str, block: str) -> Finding:
    study = isolation.study
    own = [one.name for one in study.wiring.fed[block].isolators]
    wired = f"{block} is wired through {listed(own) if own else 'no isolator'}"
    instead = sorted(isolation.kills.get(name, frozenset()) - set(study.wiring.meant[name]), key=natural_key)
    does = f"takes power from {listed(instead)} instead" if instead else "changes nothing there"
    return Finding(
        f"{name} is meant to isolate {block}, and opening it {does}",
        subject=name,
        at=_where(study, name, block),
        others=(block,),
        related=(Label(("blocks", block, "isolator") if own else ("blocks", block), wired),),
        help=f'write isolator = "{name}" in {block}, or take {block} out of what {name} isolates',
        causes=frozenset(Isolates(name, one) for one in (block, *instead)),
    )


def _where(study: Study, name: str, block: str) -> Path:
    """The selection that names the block; where there is none, the block's own isolator."""
    for index, text in enumerate(study.layout.isolators[name].isolates or ()):
        if block == text or block in (names_of(text) or ()):
            return ("isolators", name, "isolates", index)
    return ("blocks", block, "isolator")


RULE = Rule(__doc__, __name__, "isolation", Severity.ERROR, check)
