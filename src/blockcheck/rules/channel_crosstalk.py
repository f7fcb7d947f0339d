"""In no state does a vehicle in one block make another block's channel read.

Why: a train that shows in two blocks, or in the wrong one, is worse than one that shows nowhere.

Mend: cut the detected rail between the two blocks.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.isolation.ways import Stray, round_detector
from blockcheck.analysis.study import Study
from blockcheck.circuit.reach import Undecided
from blockcheck.core.findings import UNDECIDED, Finding, Label, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.layout import ChannelRef
from blockcheck.model.tables.selectors import one_pole
from blockcheck.rules._claims import Shared
from blockcheck.rules._joints import alike, wider, with_gap
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed, unbuilt
from blockcheck.rules.pole_shared import conductors_of_poles


def check(study: Study) -> Said:
    """A finding for each part by which current for one block comes through another block's channel.

    One channel for two blocks, and one pole in which the leads of two channels end, have rules of their own; what
    follows from them is told where those are off, or accept it.
    """
    yield from _shared(study)
    own = [fed for fed in study.wiring.fed.values() if fed.channel is not None and fed.through is None]
    owners = {str(fed.channel): fed.block.name for fed in own}
    for block, fed in study.wiring.fed.items():
        if block not in study.circuit.detected:
            if fed.missing:
                yield unbuilt(study, block)
            continue
        if fed.channel is not None:
            yield Judged(block)
        for stray in round_detector(study, block):
            if isinstance(stray, Undecided):
                yield Lacks(block, UNDECIDED)
            elif stray.through and (stray.culprit is None or stray.culprit not in study.mended):
                finding = _finding(study, block, owners.get(stray.through[-1], stray.through[-1]), stray)
                study = study.mending(finding.causes)
                yield finding


def _shared(study: Study) -> Iterator[Finding]:
    """A finding for each channel or pole that makes several blocks read as one, and that no earlier rule blames."""
    for channel, sharers in study.wiring.blocks_of_channel.items():
        if one_pole(study.layout, sharers):
            continue
        if len(sharers) > 1 and Shared(str(channel), sharers) not in study.claims:
            yield _at(study, ("blocks", sharers[1], "channel"), f"channel {channel}", sharers)
    for pole, ends in conductors_of_poles(study).items():
        leads = tuple(block for end, block in ends.items() if isinstance(end, ChannelRef))
        if len(leads) > 1 and Shared(str(pole), ends.values()) not in study.claims:
            yield _at(study, ("blocks", leads[1], "isolator"), f"pole {pole}", leads)


def _at(study: Study, at: Path, joined: str, blocks: tuple[str, ...]) -> Finding:
    return Finding(
        f"a vehicle in {blocks[0]} makes {listed(blocks[1:])} read too: {joined} makes them one",
        subject=blocks[0],
        at=at,
        others=blocks[1:],
        related=tuple(
            Label(("blocks", name, "channel"), f"{name} is on {study.wiring.fed[name].channel}") for name in blocks[:1]
        ),
        help=f"give each of them its own {joined.partition(' ')[0]}",
    )


def _finding(study: Study, block: str, other: str, stray: Stray) -> Finding:
    path: Path = stray.culprit or ("blocks", block)
    first, second = sorted((block, other), key=natural_key)
    gap = wider(study.layout.joints[int(path[1])].gap, "detected") if path[0] == "joints" else ""
    return Finding(
        f"a vehicle in {block} makes channel {stray.through[-1]} of {other} read",
        subject=first,
        at=(*path, "gap") if path[0] == "joints" else path,
        others=(second,),
        related=tuple(
            Label(("blocks", name, "channel"), f"{name} is on {study.wiring.fed[name].channel}")
            for name in (first, second)
            if name in study.wiring.fed and study.wiring.fed[name].channel is not None
        ),
        state=stray.state or None,
        way=stray.way,
        help=f'cut the detected rail between them: gap = "{gap}"' if gap else "take the connection out",
        edits=with_gap(path, gap) if gap else (),
        group=alike(study, path),
        causes=frozenset({path}),
    )


RULE = Rule(__doc__, __name__, "joining", Severity.ERROR, check)
