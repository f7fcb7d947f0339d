"""Blocks that a turnout, a throat or a train's way joins have their joint, and no block meets nothing.

Why: whether the rails are cut where two blocks meet decides everything else; a joint that nobody wrote down was never
looked at.

Mend: write the joint: [[joints]] with blocks = ["A", "B"] and its gap; accept a block that really meets no other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from blockcheck.analysis.study import Study
from blockcheck.analysis.turnouts import End, Ladders, Leg, opposite
from blockcheck.core.findings import Finding, Label, Rewrite, Severity
from blockcheck.core.natural import condensed, natural_key
from blockcheck.core.pieces import pieces
from blockcheck.model.datum import data
from blockcheck.rules._joints import Ends, gap_between, joint_lines
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, in_scenario, listed


def check(study: Study) -> Said:
    """Those at the legs of turnouts, then the blocks that meet nothing, then those between which a train goes."""
    ladders = study.always(Ladders.of)
    missing = list(_missing(study, ladders))
    yield from _at_legs(study, ladders, missing)
    yield from _alone(study, ladders)
    yield from _on_the_way(study, missing)


# --- legs of turnouts ---------------------------------------------------------------------------------------------


def _missing(study: Study, ladders: Ladders) -> Iterator[Leg]:
    """The legs at which two blocks meet without any joint, each meeting once; not those that disagree with others."""
    of_pair: dict[frozenset[str], dict[str, list[Leg]]] = {}
    for leg in ladders.legs:
        if leg.pair not in study.wiring.joints_of and leg.path not in study.mended:
            of_pair.setdefault(leg.pair, {}).setdefault(leg.home, []).append(leg)
    for sides in of_pair.values():
        yield from max(sides.values(), key=len)


def _at_legs(study: Study, ladders: Ladders, missing: Iterable[Leg]) -> Iterator[Finding]:
    """A finding for each block and its joints that are alike and forgotten."""
    groups: dict[tuple[str, End, End, str], list[Leg]] = {}
    for leg, here, there in Ends.of(study, ladders).fitted(missing):
        gap = gap_between(study, leg.home, leg.beyond, leg, like=here == there)
        groups.setdefault((leg.home, here, there, gap), []).append(leg)
    for (home, here, there, gap), legs in groups.items():
        beyond = sorted({leg.beyond for leg in legs}, key=natural_key)
        lines = joint_lines(home, here, beyond, there, gap)
        first, turnouts = legs[0], condensed(leg.turnout for leg in legs)
        yield Finding(
            f"{home} and {first.beyond} meet at {first}, and no joint says how"
            if len(legs) == 1
            else f"{home} meets {listed(condensed(beyond))} at legs of {listed(turnouts)}, and no joints say how",
            subject=home,
            at=first.path,
            others=tuple(beyond),
            related=tuple(Label(("blocks", name), f"{name} stands here") for name in beyond[:1]),
            help=_to_write(lines),
            edits=tuple(Rewrite(("joints",), one) for one in lines),
        )


def _to_write(lines: list[str]) -> str:
    """Joints to write, in a sentence."""
    told = [" and ".join(one.splitlines()) for one in lines]
    return f"write [[joints]] with {'; and one with '.join(told[:3])}" + ("; and so on" if len(told) > 3 else "")


# --- blocks that meet nothing -------------------------------------------------------------------------------------


def _alone(study: Study, ladders: Ladders) -> Said:
    """Blocks that no joint and no leg names: of one kind together. Where nothing is told of track, that is listed."""
    met = {*study.wiring.joints_at, *(name for leg in ladders.legs for name in leg.pair)}
    alone = [name for name in study.wiring.fed if name not in met]
    throats = [name for name in alone if study.layout.blocks[name].kind == "throat"]
    if len(study.wiring.fed) < 2:
        return
    yield from map(Judged, study.wiring.fed)
    astray = data(one.path for one in study.wiring.unresolved if one.path[0] in ("joints", "turnouts"))
    if astray:  # a name that does not exist may mean one of them
        yield from (Lacks(name, astray) for name in alone)
        return
    if not study.layout.joints and not ladders.legs and not throats:
        yield from (Lacks(name, ("joints",)) for name in alone)
        return
    like: dict[_Meets, list[str]] = {}
    families = _families(study, met)
    for name in alone:
        like.setdefault(families.get(_family(study, name), _Meets()), []).append(name)
    for meets, names in like.items():
        lines = [line for one in meets.joints for line in _joints_like(study, names, one)]
        tracks = [name for name in names if name not in throats]
        help_ = _to_write(lines) if lines else _for_throats(throats, tracks)
        meet = "meets" if len(names) == 1 else "meet"
        others = f", and {listed(condensed(meets.names))} do{'es' * (len(meets.names) == 1)}" if meets.names else ""
        yield Finding(
            f"{listed(condensed(names))} {meet} nothing{others}",
            subject=names[0],
            at=("blocks", names[0]),
            others=tuple(names[1:]),
            related=tuple(Label(("blocks", name), f"{name} is joined to others") for name in meets.names[:1]),
            help=help_,
            edits=tuple(Rewrite(("joints",), one) for one in lines),
        )


_Meeting = tuple[End, str, End, str]


class _Meets(NamedTuple):
    """What the blocks of a family meet, all of them alike: own end, the other block, its end, and the gap."""

    joints: tuple[_Meeting, ...] = ()
    names: tuple[str, ...] = ()


_Family = tuple[str, str | None, str | None]


def _family(study: Study, name: str) -> _Family:
    """What blocks that are numbered through have in common."""
    block = study.layout.blocks[name]
    return name.rstrip("0123456789"), block.kind, block.group


def _families(study: Study, met: Iterable[str]) -> Mapping[_Family, _Meets]:
    """Family -> what its blocks meet, where they all meet the same."""
    found: dict[_Family, dict[tuple[_Meeting, ...], list[str]]] = {}
    for name in study.wiring.fed:
        if name in met and name[-1:].isdecimal():
            joints: list[_Meeting] = []
            for index in study.wiring.joints_at.get(name, ()):
                joint = study.layout.joints[index]
                side = joint.blocks.index(name)
                joints.append((joint.ends[side], str(joint.blocks[1 - side]), joint.ends[1 - side], joint.gap))
            found.setdefault(_family(study, name), {}).setdefault(tuple(sorted(joints)), []).append(name)
    made: dict[_Family, _Meets] = {}
    for family, by_joints in found.items():
        if len(by_joints) == 1:
            ((joined, names),) = by_joints.items()
            made[family] = _Meets(joined, tuple(names))
    return made


def _joints_like(study: Study, names: list[str], one: _Meeting) -> list[str]:
    here, other, there, gap = one
    wanted = {gap_between(study, name, other, None, like=here == there) for name in names}
    return joint_lines(other, there, names, here, gap if wanted == {"detected"} else "both")


def _for_throats(throats: list[str], tracks: list[str]) -> str:
    """What to write where the tracks of one or two throats, as far as one can guess, have no joints at all."""
    if tracks and 1 <= len(throats) <= 2:
        ends: tuple[End, End] = ("far", "near")
        lines = [
            line
            for throat, end in zip(throats, ends, strict=False)
            for line in joint_lines(throat, end, tracks, opposite(end), "detected")
        ]
        return f"{_to_write(lines)}, if that is what they meet"
    return "write [[joints]] where its rails meet others, or accept it if they meet none"


# --- ways of trains -----------------------------------------------------------------------------------------------


def _on_the_way(study: Study, missing: Iterable[Leg]) -> Iterator[Finding]:
    """A finding for each two stretches of track between which a train goes, and which no joints connect."""
    number = {name: index for index, name in enumerate(study.wiring.fed)}
    joined = [joint.blocks for joint in study.layout.joints if set(joint.blocks) <= number.keys()]
    meeting = [*joined, *((leg.home, leg.beyond) for leg in missing)]
    piece = pieces(len(number), ((number[one], number[other]) for one, other in meeting))
    met = {name for pair in meeting for name in pair}
    told: set[frozenset[int]] = set()
    first: dict[str, tuple[str, str | None]] = {}
    for operation in study.operations:
        for one in operation.trains:
            before, scenario = first.setdefault(one.train, (one.block, operation.scenario))
            between = frozenset((piece[number[before]], piece[number[one.block]]))
            if len(between) == 1 or between in told or not {before, one.block} <= met:
                continue
            told.add(between)
            yield Finding(
                f"{one.train} stands in {before}{in_scenario(scenario)} and in {one.block}"
                f"{in_scenario(operation.scenario)}, and no joints lead from one to the other",
                subject=before,
                at=one.path,
                others=(one.block, one.train),
                related=(Label(("blocks", before), f"{before} stands here"),),
                help="write the [[joints]] on its way",
            )


RULE = Rule(__doc__, __name__, "joining", Severity.WARNING, check, needs=("joints",))
