"""A train fits the block that it stands in, so that the throat beyond reads clear; none stands in a throat.

Why: a tail that hangs out fouls the throat: it reads occupied, and the next train meets it.

Mend: shorten the train, or let it stand in a longer track, and in no throat.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.model.datum import datum
from blockcheck.model.operate import Placed, train_length
from blockcheck.rules._claims import TooLong
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, metres


def check(study: Study) -> Said:
    """A finding for each train and block that it stands in, usually or in a scenario, and does not fit."""
    done: set[tuple[str, str]] = set()
    for operation in study.operations:
        for one in operation.trains:
            yield Judged(one.train)
            if (one.train, one.block) not in done:
                done.add((one.train, one.block))
                yield from _fit(study, one)


def _fit(study: Study, one: Placed) -> Iterator[Finding | Lacks]:
    layout = study.layout
    if layout.blocks[one.block].kind == "throat":
        if one.state != "running":  # one that runs is on its way through
            yield _in_throat(one)
        return
    train, block = layout.trains[one.train], layout.blocks[one.block]
    length, lacks = train_length(layout, one.train)
    needs = (*([] if block.length_m is not None else [datum("blocks", one.block, "length")]), *lacks)
    if block.length_m is None or length is None:
        yield Lacks(one.train, needs)
        return
    track: float = block.length_m
    offset = train.offset_m if one.path[0] == "trains" else None
    room = track if offset is None else 2 * min(offset, max(track - offset, 0.0))
    if length <= room * (1 + 1e-9):
        return
    askew = offset is not None and length <= track * (1 + 1e-9)  # it would fit, did it stand elsewhere in the block
    short = f"{one.block} has {metres(track, study)}"
    if askew and offset is not None:
        short += f", but its middle stands {metres(offset, study)} from the near end"
    yield Finding(
        f"{one.train} is {metres(length, study)} long, and {short}",
        subject=one.train,
        at=("trains", one.train, "offset") if askew else one.path,
        others=(one.block,),
        related=(Label(("blocks", one.block, "length"), "the length of the block"),),
        measured=length,
        limit=room if askew else track,
        unit="m",
        help="let it stand nearer to the middle, which is where it stands without offset"
        if askew
        else "shorten the train, or let it stand in a longer track",
        edits=(Rewrite(("trains", one.train, "offset"), None),) if askew else (),
        causes=frozenset({TooLong(one.train, one.block)}),
    )


def _in_throat(one: Placed) -> Finding:
    return Finding(
        f"{one.train} stands in {one.block}, which is a throat: no train fits there",
        subject=one.train,
        at=one.path,
        others=(one.block,),
        related=(Label(("blocks", one.block, "kind"), "it is a throat here"),),
        help="let it stand in a track, or let it run if it is on its way through",
    )


RULE = Rule(
    __doc__,
    __name__,
    "operation",
    Severity.ERROR,
    check,
    needs=("blocks.*.length", "trains.*.length or loads.*.length"),
)
