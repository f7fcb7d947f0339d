"""Blocks that follow one another in a harness do not start at the same distance from the board.

Why: a lead ends at the near end of its block. Where a block follows another, that is farther from the board by the
length of the one before; with one lead for a whole line, the volts and the shorts at its end come out too good.

Mend: write lead in each block, to its own near end; near ends lie as far apart as the block between them is long.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from math import isclose
from typing import NamedTuple

from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.core.natural import condensed, natural_key
from blockcheck.core.spans import Path
from blockcheck.rules._rule import Judged, Rule, Said, listed, metres


class _Start(NamedTuple):
    """Where the wires of a block begin: its harness, metres from the board, and the line that says so."""

    harness: str
    lead_m: float
    at: Path

    def like(self, other: _Start) -> bool:
        return self.harness == other.harness and isclose(self.lead_m, other.lead_m)


def check(study: Study) -> Said:
    """A finding for each row of blocks, one after another, that all start at one distance."""
    starts = dict(_starts(study))
    yield from map(Judged, starts)
    after = dict(_followed(study, starts))
    rest = sorted(after, key=natural_key)
    for first in [*(name for name in rest if name not in after.values()), *rest]:  # the heads of rows, then rings
        row = [first]
        while row[-1] in after:
            row.append(after.pop(row[-1]))
        if len(row) > 1:
            yield _finding(study, starts, list(dict.fromkeys(row)))


def _starts(study: Study) -> Iterator[tuple[str, _Start]]:
    for name, block in study.layout.blocks.items():
        harness = study.layout.harnesses.get(str(block.harness))
        if harness is None or block.unpowered is not None or block.fed_through is not None:
            continue
        if block.lead_m is not None:
            yield name, _Start(harness.name, block.lead_m, ("blocks", name, "lead"))
        elif harness.lead_m is not None:
            yield name, _Start(harness.name, harness.lead_m, ("harnesses", harness.name, "lead"))


def _followed(study: Study, starts: Mapping[str, _Start]) -> Iterator[tuple[str, str]]:
    """A block and the one that alone follows it, its near end on the far end of the other, where both start alike."""
    ends: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for joint in study.layout.joints:
        one, other = zip(map(str, joint.blocks), joint.ends, strict=True)
        ends.setdefault(one, []).append(other)
        ends.setdefault(other, []).append(one)
    for name, start in starts.items():
        beyond = ends.get((name, "far"), [])
        if len(beyond) == 1 and beyond[0][1] == "near" and len(ends[beyond[0]]) == 1:
            follower = beyond[0][0]
            if follower != name and follower in starts and start.like(starts[follower]):
                yield name, follower


def _finding(study: Study, starts: Mapping[str, _Start], row: list[str]) -> Finding:
    first, start = row[0], starts[row[1]]
    lengths = [study.layout.blocks[name].length_m for name in row[:-1]]
    apart = [
        f"{metres(length, study)} from {before} to {name}"
        for (before, name), length in zip(pairwise(row), lengths, strict=True)
        if length is not None
    ]
    return Finding(
        f"{listed(condensed(row))} follow one another in harness {start.harness}, and each starts "
        f"{metres(start.lead_m, study)} from the board",
        subject=first,
        at=start.at,
        others=tuple(row[1:]),
        related=(Label(("blocks", first), f"{first} comes first"),),
        help="write in each the lead to its near end" + (f"; it is {listed(apart, 3)}" if apart else ""),
    )


RULE = Rule(__doc__, __name__, "structure", Severity.NOTE, check)
