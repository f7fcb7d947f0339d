"""All trains in one block together fit it, as usual and in every scenario.

Why: each of them fits by itself, and the second is stopped with its tail in the throat, or against the first.

Mend: let one of them stand in another track, or shorten them; where each has an offset, let them not overlap.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from blockcheck.analysis.placement import fits
from blockcheck.analysis.study import Study
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.model.datum import datum
from blockcheck.model.operate import Operation, Placed, train_length
from blockcheck.rules._claims import TooLong
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, in_scenario, listed, metres


def check(study: Study) -> Said:
    """A finding for each block whose trains do not all fit, unless the same ones do not fit as usual already."""
    told: dict[str, list[frozenset[str]]] = {}
    for operation in study.operations:
        for block, trains in _together(study, operation).items():
            yield Judged(block)
            names = frozenset(one.train for one in trains)
            if any(known <= names for known in told.get(block, ())):
                continue
            for item in _block(study, operation, block, trains):
                if isinstance(item, Finding):
                    told.setdefault(block, []).append(names)
                yield item


def _together(study: Study, operation: Operation) -> dict[str, list[Placed]]:
    """Block, no throat -> the trains in it, where there are several; but for those that are too long by themselves."""
    found: dict[str, list[Placed]] = {}
    for one in sorted(operation.trains, key=lambda placed: natural_key(placed.train)):
        if study.layout.blocks[one.block].kind != "throat" and TooLong(one.train, one.block) not in study.claims:
            found.setdefault(one.block, []).append(one)
    return {block: trains for block, trains in found.items() if len(trains) > 1}


def _block(study: Study, operation: Operation, block: str, trains: Sequence[Placed]) -> Iterator[Finding | Lacks]:
    room, lengths, needs = study.layout.blocks[block].length_m, dict[str, float](), dict[str, None]()
    if room is None:
        needs[datum("blocks", block, "length")] = None
    for one in trains:
        length, lacks = train_length(study.layout, one.train)
        needs.update(dict.fromkeys(lacks))
        lengths[one.train] = length or 0.0
    if needs or room is None:
        yield Lacks(block, tuple(needs))
        return
    total, names = sum(lengths.values()), [one.train for one in trains]
    stand = f"{listed(names)} stand in {block}{in_scenario(operation.scenario)}"
    if total > room * (1 + 1e-9):
        message = f"{stand}: {metres(total, study)} together, and it has {metres(room, study)}"
        yield _finding(operation, trains, message, total, room)
        return
    fixed = sorted((offset, lengths[name]) for name, offset in _offsets(study, trains).items())
    ends = [(0.0, 0.0), *((at - length / 2, at + length / 2) for at, length in fixed), (room, room)]
    gaps = [after - before for (_, before), (after, _) in pairwise(ends)]
    free = [length for name, length in lengths.items() if name not in _offsets(study, trains)]
    if min(gaps) < -1e-9 * room:
        yield _finding(operation, trains, f"{stand}, and by their offsets they overlap")
        return
    fit = fits(free, gaps)
    if fit is None:
        yield Lacks(block, UNDECIDED)
    elif not fit:
        yield _finding(operation, trains, f"{stand}: it has the room, but not in one piece where the offsets leave it")


def _offsets(study: Study, trains: Sequence[Placed]) -> dict[str, float]:
    """Train -> from the near end to its middle, for those that say so of where they stand."""
    found = {one.train: study.layout.trains[one.train].offset_m for one in trains if one.path[0] == "trains"}
    return {name: offset for name, offset in found.items() if offset is not None}


def _finding(
    operation: Operation, trains: Sequence[Placed], message: str, total: float | None = None, room: float | None = None
) -> Finding:
    *others, last = sorted(trains, key=lambda one: one.path[0] == "scenarios")  # stable
    in_order = () if operation.scenario is None else (operation.scenario,)
    return Finding(
        message,
        subject=last.block,
        at=last.path,
        others=(*(one.train for one in trains), *in_order),
        related=(
            *(Label(one.path, f"{one.train} stands there too") for one in others[:3]),
            Label(("blocks", last.block, "length"), "the length of the block"),
        ),
        measured=total,
        limit=room,
        unit="m" if total is not None else None,
        help=f"let {last.train} stand in another track, or shorten the trains"
        if total is not None
        else "correct the offsets, or leave them out",
    )


RULE = Rule(
    __doc__,
    __name__,
    "operation",
    Severity.ERROR,
    check,
    needs=("blocks.*.length", "trains.*.length or loads.*.length"),
)
