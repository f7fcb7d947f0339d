"""What is said of turnouts agrees: a link between two is said the same from both sides, no end of plain track has two
legs, and toe and legs lie at opposite ends of their block.

Why: a ladder that cannot be laid as it is described is a slip of the pen; joints and drops are then counted at the
wrong ends, and a track hangs on nothing.

Mend: write in each turnout what lies beyond its legs, and in each joint which end of a block meets which.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from blockcheck.analysis.study import Study
from blockcheck.analysis.turnouts import End, Ladders, Leg, opposite, words
from blockcheck.core.findings import Claim, Finding, Label, Rewrite, Severity
from blockcheck.core.natural import condensed, natural_key
from blockcheck.core.spans import Path
from blockcheck.model.wiring import LEGS
from blockcheck.rules._joints import as_written, free_end, turned, turned_ends
from blockcheck.rules._rule import Judged, Rule, Said, listed
from blockcheck.text.edits import quoted


def check(study: Study) -> Said:
    """First what turnouts say of each other, then what joints say of their ends, then what is left of plain track."""
    ladders, blamed = study.always(Ladders.of), set[Path | Claim]()
    names = {*ladders.names, *(block for leg in ladders.legs for block in leg.pair)}
    yield from map(Judged, sorted(names, key=natural_key))
    for finding in _links(ladders):
        blamed |= finding.causes
        yield finding
    wrong = [leg for leg, vote in ladders.votes.items() if vote != ladders.believed[ladders.lies[leg.turnout][0]]]
    yield from _turned(study, ladders, wrong)
    for block in study.wiring.fed:
        legs = ladders.into.get(block, ())
        if len(legs) > 1 and not any(turnout.block == block for turnout in study.layout.turnouts.values()):
            yield from _crowded(
                study, ladders, block, [leg for leg in legs if leg not in wrong and leg.path not in blamed]
            )


# --- links between turnouts ---------------------------------------------------------------------------------------


def _links(ladders: Ladders) -> Iterator[Finding]:
    """A finding for each leg that leads to a turnout of which no leg leads back; for two that contradict, one."""
    alone = ladders.unanswered
    rivals: dict[str, str] = {}
    for name, to in alone:
        rivals.setdefault(to, name)
    told: set[tuple[str, str]] = set()
    alike: dict[tuple[str, str], list[_Link]] = {}
    for (name, to), leg in alone.items():
        rival = rivals.get(name, to)
        if rival != to and (name, to) not in told:
            told |= {(name, to), (rival, name)}
            link = _Link(name, leg, to, rival, alone[rival, name])
            alike.setdefault((to, leg), []).append(link)
    for links in alike.values():
        yield from _corrected(links)
    for (name, to), leg in alone.items():
        if (name, to) not in told:
            yield Finding(
                f"{name} leads to {to} by its {words(leg)}, and no leg of {to} leads back",
                subject=name,
                at=("turnouts", name, leg),
                others=(to,),
                related=(Label(("turnouts", to), f"the legs of {to} lead elsewhere"),),
                help=f"correct the {words(leg)} of {name}, or {_leading_back(leg)} = {quoted(name)} in {to}",
                causes=_claims(name, to),
            )


def _leading_back(leg: str) -> str:
    return "write toe" if leg != "toe" else "write through or diverging"


class _Link(NamedTuple):
    """A turnout that leads to another by a leg, and the one that leads to it, by its leg ``way``."""

    name: str
    leg: str
    to: str
    rival: str
    way: str

    @property
    def path(self) -> Path:
        return ("turnouts", self.name, self.leg)


def _corrected(links: list[_Link]) -> Iterator[Finding]:
    """The findings about turnouts that lead to the same one by the same leg, and what to write in them."""
    rewrites = tuple(Rewrite(one.path, quoted(one.rival)) for one in links)
    names, rivals = condensed(one.name for one in links), condensed(one.rival for one in links)
    in_step = len(names) == len(rivals) == 1
    told = (
        [f"{quoted(rivals[0])} in {names[0]}"] if in_step else [f"{quoted(one.rival)} in {one.name}" for one in links]
    )
    help_ = f"write {links[0].leg} = {listed(told)}"
    for one in links:
        yield Finding(
            f"{one.name} leads to {one.to} by its {words(one.leg)}, and no leg of {one.to} leads back; {one.rival} "
            f"leads to {one.name} by its {words(one.way)}",
            subject=one.name,
            at=one.path,
            others=(one.to, one.rival),
            related=(Label(("turnouts", one.rival, one.way), f"{one.rival} leads to {one.name} here"),),
            help=help_,
            edits=rewrites,
            group=("link", one.to, one.leg),
            causes=_claims(one.name, one.to, one.rival),
        )


def _claims(*names: str) -> frozenset[Path]:
    """What is not to be told of legs of these turnouts once more."""
    return frozenset(("turnouts", name, leg) for name in names for leg in LEGS)


# --- ends of blocks -----------------------------------------------------------------------------------------------


def _turned(study: Study, ladders: Ladders, wrong: list[Leg]) -> Iterator[Finding]:
    """A finding for each joint that puts a leg where, by the other joints of its ladder, it cannot be."""
    groups: dict[tuple[str, End, End], list[tuple[Leg, int]]] = {}
    for leg in wrong:
        for index in study.wiring.joints_of[leg.pair]:
            here, there = turned_ends(study, ladders, leg, index, wrong)
            groups.setdefault((leg.home, here, there), []).append((leg, index))
    for (home, here, there), many in groups.items():
        lines = [as_written(home, here, name, there) for name in condensed(leg.beyond for leg, _ in many)]
        told = [f"blocks = {blocks}" + (f" and ends = {ends}" if ends is not None else "") for blocks, ends in lines]
        edits = turned(study, home, {index: (here, there) for _, index in many})
        for leg, index in many:
            yield _at_wrong_end(study, ladders, leg, index, wrong, f"write {listed(told)}", edits, (home, here, there))


def _at_wrong_end(
    study: Study,
    ladders: Ladders,
    leg: Leg,
    index: int,
    wrong: list[Leg],
    help_: str,
    edits: tuple[Rewrite, ...],
    group: object,
) -> Finding:
    first, is_toe = ladders.lies[leg.turnout][0], leg.leg == "toe"
    right = [one for one in ladders.votes if one not in wrong and ladders.lies[one.turnout][0] == first]
    against = sorted(right, key=lambda one: (one.leg == "toe") == is_toe)[0]  # a toe against legs, if there is one
    (end,) = set(ladders.ends(leg.home, leg.beyond))
    (other,) = set(ladders.ends(against.home, against.beyond))
    where = f"where {against} is too" if other == end else f"and {against} is at its {other} end"
    said = "ends" if "ends" in study.wiring.document.value(("joints", index)) else "blocks"
    return Finding(
        f"the joint of {leg.home} and {leg.beyond} puts {leg} at the {end} end of {leg.home}, {where}",
        subject=leg.home,
        at=("joints", index, said),
        others=(leg.beyond,),
        related=(
            Label(leg.path, f"{leg} leads to {leg.beyond}"),
            Label(against.path, f"{against} leads to {against.beyond}"),
        ),
        help=help_,
        edits=edits,
        group=("ends", group),
    )


def _crowded(study: Study, ladders: Ladders, block: str, legs: list[Leg]) -> Iterator[Finding]:
    """A finding for a block of plain track to which more legs lead than it has ends, or two at one end."""
    ends = {leg: set(ladders.ends(block, leg.home)) or {"near", "far"} for leg in legs}
    if len(legs) < 2 or (len(legs) == 2 and len(set.union(*ends.values())) > 1):
        return
    homes = [leg.home for leg in legs]
    lost = next((_leads_nowhere(study, ladders, leg) for leg in legs if homes.count(leg.home) > 1), None)
    help_ = f"let one of them lead to {lost}, to which no leg does" if lost else "let each lead to a track of its own"
    first, last = legs[0], legs[-1]
    if len(legs) > 2:
        said = f"{len(legs)} legs lead to {block}, and plain track has two ends: {listed(list(map(str, legs)))}"
    elif first.home == last.home:
        said = f"{first} and {last} both lead to {block}, and it meets {first.home} at one end only"
    else:
        said = f"{first} and {last} both lead to the {ends[first].pop()} end of {block}"
        help_ = f"{_other_end(study, block, first, last)}, or {help_}"
    yield Finding(
        said,
        subject=block,
        at=last.path,
        others=tuple(dict.fromkeys(leg.turnout for leg in legs)),
        related=tuple(Label(leg.path, f"{leg} leads there too") for leg in legs[:-1][:3]),
        help=help_,
        causes=frozenset(leg.path for leg in legs),
    )


def _other_end(study: Study, block: str, *legs: Leg) -> str:
    """How to write one of two joints at one end of a block so that it is at the other: that of the smaller fan."""
    leg = min(legs, key=lambda one: len(study.wiring.joints_at[one.home]))
    index = study.wiring.joints_of[leg.pair][0]
    joint = study.layout.joints[index]
    end = opposite(joint.ends[joint.blocks.index(block)])
    blocks, ends = as_written(block, end, leg.home, free_end(study, leg.home, index) or opposite(end))
    return f"write blocks = {blocks}{f' and ends = {ends}' if ends else ''} for {block} and {leg.home}"


def _leads_nowhere(study: Study, ladders: Ladders, leg: Leg) -> str | None:
    """The one block that meets a leg's block where that leg does, and to which no leg of it leads, if it is one."""
    ends, joints = set(ladders.ends(leg.home, leg.beyond)), study.layout.joints
    led = {one.beyond for one in ladders.out_of[leg.home]}
    lost = {
        name
        for index in study.wiring.joints_at.get(leg.home, ())
        if joints[index].ends[joints[index].blocks.index(leg.home)] in ends
        for name in joints[index].blocks
        if name not in led | {leg.home}
    }
    return lost.pop() if len(lost) == 1 else None


RULE = Rule(__doc__, __name__, "structure", Severity.ERROR, check)
