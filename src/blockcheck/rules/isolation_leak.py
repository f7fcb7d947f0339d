"""With an isolator open, in any state of everything else, no path of conductors reaches the blocks that it isolates.

Why: a track that should sleep and does not keeps its locomotives awake and loads the booster, and a track that is
taken for dead is worked on.

Mend: find the way that is shown and cut it, mostly with a gap or by wiring the isolator into that feed too.
"""

from __future__ import annotations

from typing import NamedTuple

from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.study import Study, hops
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.reach import Undecided, Witness
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.core.spans import Path
from blockcheck.model.operate import open_position
from blockcheck.rules._claims import Isolates
from blockcheck.rules._joints import wider, with_gap
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed, unbuilt


def check(study: Study) -> Said:
    """A finding for each isolator and block that it should kill and that some state keeps alive.

    Where one joint keeps several alive, it is one finding: the first, and what else goes through it.
    """
    for block, fed in study.wiring.fed.items():
        if len(fed.poles) < len(fed.block.isolated_by):
            yield unbuilt(study, block)
    isolation = Isolation(study)
    leaks: dict[Path, list[_Leak]] = {}
    for name, blocks in study.wiring.meant.items():
        if open_position(study.wiring, name) is None:
            continue
        for block in blocks:
            if block not in study.circuit.detected:
                if study.wiring.fed[block].missing:
                    yield unbuilt(study, block)
                continue
            yield Judged(block)
            if Isolates(name, block) in study.claims:
                continue
            answer, route = isolation.gets_round(name, block)
            if isinstance(answer, Undecided):
                yield Lacks(block, UNDECIDED)
            elif isinstance(answer, Witness):
                leak = _Leak(name, block, answer, route)
                joints = leak.joints(study)
                at = joints[0] if joints else ("blocks", block, "isolator")
                leaks.setdefault(at, []).append(leak)
    for at, group in leaks.items():
        yield _finding(study, at, *group)


class _Leak(NamedTuple):
    isolator: str
    block: str
    answer: Witness
    route: int

    def joints(self, study: Study) -> list[Path]:
        edges = [study.circuit.edges[number] for number in self.answer.paths[self.route]]
        return [edge.path for edge in edges if edge.kind is Kind.JOINT]

    def __str__(self) -> str:
        return f"{self.block} with {self.isolator} open"


def _finding(study: Study, at: Path, first: _Leak, *more: _Leak) -> Finding:
    name, block, joint = first.isolator, first.block, at[0] == "joints"
    rail = "" if first.route == 0 else "; its common rail still finds the return"
    also = f"; so {'does' if len(more) == 1 else 'do'} {listed(list(map(str, more)))}" if more else ""
    rails = "detected" if first.route == 0 else "both"
    gap = wider(study.layout.joints[int(at[1])].gap, rails) if joint else ""
    claims = {Isolates(leak.isolator, leak.block) for leak in (first, *more)}
    return Finding(
        f"{block} stays live with {name} open{rail}{also}",
        subject=block,
        at=(*at, "gap") if joint else at,
        others=tuple(dict.fromkeys((name, *(one for leak in more for one in (leak.block, leak.isolator))))),
        related=(
            Label(("isolators", name), f"{name} should cut it off"),
            *((Label(("blocks", block), f"{block} stands here"),) if joint else ()),
        ),
        state=first.answer.state,
        way=hops(study.circuit, first.answer, first.route, reverse=first.route == 0),
        help=f'cut the rail on that way: gap = "{gap}"' if joint else f"wire that feed of {block} through {name} too",
        edits=with_gap(at, gap) if joint else (),
        causes=frozenset({*claims, *([at] if joint else [])}),
    )


RULE = Rule(__doc__, __name__, "isolation", Severity.ERROR, check)
