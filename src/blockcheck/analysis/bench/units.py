"""A large layout on the bench in units: what shares a harness, a board, an isolator or a joint is tested together.

A sheet that sees every fault is the union of its units' sheets: each fault lies in one unit, and what sees it lies
there too. Dead tests hear nothing of another unit, since its detected rails hang on no feed; live ones at most that
the booster is short. What is between districts is tested in every unit that has them, and stands on the sheet once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable
from itertools import pairwise
from typing import Any

from attrs import evolve

from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.study import Study
from blockcheck.core.errors import InputError
from blockcheck.core.pieces import pieces
from blockcheck.model.link import link

WHOLE = 32
"""Up to so many blocks are looked at together."""
MOST_DISTRICTS = 6
"""Districts that a unit is tested against, its own among them."""


def units(study: Study) -> tuple[Study, ...]:
    """The units, each a study of its own; the study itself where it is small, or hangs together."""
    groups = _groups(study, every=True) if len(study.layout.blocks) > WHOLE else []
    try:
        return tuple(_alone(study, blocks) for blocks in groups) if len(groups) > 1 else (study,)
    except InputError:  # something names what is in another unit
        return (study,)


def cut(study: Study) -> tuple[tuple[Study, frozenset[str]], ...]:
    """The same for a sheet, which takes a row of blocks apart where both rails are cut: each unit with its rim, the
    blocks beyond such gaps, which are there for what lies between."""
    groups = _groups(study, every=False) if len(study.layout.blocks) > WHOLE else []
    if len(groups) < 2:
        return ((study, frozenset()),)
    found = list[tuple[Study, frozenset[str]]]()
    try:
        for blocks in groups:
            own = {*blocks}
            beyond = (one for joint in study.layout.joints if own & {*joint.blocks} for one in joint.blocks)
            rim = tuple(dict.fromkeys(one for one in beyond if one not in own))
            found.append((_alone(study, blocks, rim), frozenset(_of(study, rim) - _of(study, blocks))))
    except InputError:  # something names what is in another unit
        return ((study, frozenset()),)
    return tuple(found)


def _of(study: Study, blocks: tuple[str, ...]) -> set[str]:
    """Blocks with their boards and controls."""
    some, fed = {*blocks}, (study.wiring.fed.get(name) for name in blocks)
    boards = {one.board.name for one in fed if one is not None and one.board is not None}
    return some | boards | {name for name, switched in study.wiring.switched.items() if some & {*switched}}


def _groups(study: Study, every: bool) -> list[tuple[str, ...]]:
    """The blocks of each unit; ``every``: what meets at a joint is of one, also where both rails are cut."""
    layout, wiring = study.layout, study.wiring
    number = {name: at for at, name in enumerate(layout.blocks)}
    sharing = defaultdict[Hashable, list[str]](list)
    for name, block in layout.blocks.items():
        fed = wiring.fed.get(name)
        if block.harness is not None:
            sharing["harness", block.harness].append(name)
        if fed is not None and fed.board is not None:
            sharing["board", fed.board.name].append(name)
    for bar in layout.interlocks:
        controls = (*(bar.controls or ()), *(bar.never or {}))
        sharing["bar", controls] += [name for one in controls for name in wiring.switched.get(one, ())]
    joints = (joint.blocks for joint in layout.joints if every or joint.gap != "both")
    groups = [*sharing.values(), *wiring.switched.values(), *joints]
    tied = [(number[one], number[two]) for names in groups for one, two in pairwise(names)]
    found = defaultdict[int, list[str]](list)
    for name, piece in zip(layout.blocks, pieces(len(number), tied), strict=True):
        found[piece].append(name)
    return [tuple(blocks) for blocks in found.values()]


def _alone(study: Study, blocks: tuple[str, ...], rim: tuple[str, ...] = ()) -> Study:
    layout, wiring, own = study.layout, study.wiring, {*blocks, *rim}
    fed = [wiring.fed[name] for name in (*blocks, *rim) if name in wiring.fed]
    boards = {one.board.name for one in fed if one.board is not None}
    controls = {name for name, some in wiring.switched.items() if own & {*some}}
    mine = {str(one.district) for one in fed} | {bank for name in boards for bank in layout.boards[name].banks or ()}
    others = [name for name in layout.districts if name not in mine]
    own_first = [*(name for name in layout.districts if name in mine), *others[: max(0, MOST_DISTRICTS - len(mine))]]
    boosters = list(dict.fromkeys(layout.districts[name].booster for name in own_first))
    first = frozenset(mine) | {layout.districts[name].booster for name in own_first if name in mine}
    harnesses = {layout.blocks[name].harness for name in own}
    rest = evolve(
        layout,
        boosters={name: layout.boosters[name] for name in boosters if name in layout.boosters},
        districts={name: layout.districts[name] for name in own_first},
        boards={name: one for name, one in layout.boards.items() if name in boards},
        blocks={name: one for name, one in layout.blocks.items() if name in own},
        isolators={name: one for name, one in layout.isolators.items() if name in controls},
        joints=tuple(one for one in layout.joints if {*blocks} & {*one.blocks}),
        turnouts={name: one for name, one in layout.turnouts.items() if one.block in own},
        interlocks=tuple(one for one in layout.interlocks if controls & {*(one.controls or ()), *(one.never or {})}),
        harnesses={name: one for name, one in layout.harnesses.items() if name in harnesses},
        trains={},
        scenarios={},
        accept=(),
    )
    return Study.of(link(wiring.document, rest, first))


def benches(study: Study) -> tuple[Bench, ...]:
    """The bench of each unit, with the test axle of the whole layout."""
    own, every, alike = Bench.of(study), units(study), dict[object, Any]()
    return tuple(own if one is study else Bench(one, own.axle_ohm, alike) for one in every)
