"""What the rules about joints share: how one is to be written, in words and as the rewrites that write it."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator

from attrs import frozen

from blockcheck.analysis.case import Case
from blockcheck.analysis.turnouts import End, Ladders, Leg, opposite
from blockcheck.core.findings import Rewrite
from blockcheck.core.natural import condensed
from blockcheck.core.spans import Path
from blockcheck.text.edits import quoted


def wider(cut: str, rail: str) -> str:
    """The gap of a joint in which ``rail`` (or both) is cut besides what is cut already."""
    return rail if cut in ("none", rail) else "both"


def with_gap(joint: Path, gap: str) -> tuple[Rewrite, ...]:
    """A joint, as it is written, with another gap."""
    return (Rewrite((*joint, "gap"), quoted(gap)),)


def line_of(case: Case, part: Path, *more: object) -> object:
    """What findings about joints that are written in one line have in common; None for other parts."""
    return (case.wiring.document.written(part), *more) if part[0] == "joints" else None


def joint_lines(home: str, here: End, beyond: Collection[str], there: End, gap: str) -> list[str]:
    """The lines of the tables of joints that join the same end of one block to the same end of others, ranges alike."""
    lines = []
    for names in condensed(beyond):
        blocks, ends = as_written(home, here, names, there)
        lines.append("\n".join((f"blocks = {blocks}", f"gap = {quoted(gap)}", *([f"ends = {ends}"] if ends else []))))
    return lines


def gap_between(case: Case, one: str, other: str, leg: Leg | None, like: bool) -> str:
    """The gap that a joint of two blocks needs: the detected rail is cut, and the common rail where it must be too.

    That is where districts of different returns meet, where a return is switched, where ends meet that are ``like``, so
    that the rails cross over, and at a leg on which a frog that is not cut off carries the common rail.
    """
    feds = [case.wiring.fed[name] for name in (one, other)]
    groups = case.circuit.return_of
    returns = {groups.get(str(fed.district)) for fed in feds} - {None}
    switched = any(
        fed.isolator is not None and (fed.isolator.side == "common-rail" or fed.isolator.poles > 1) for fed in feds
    )
    return (
        "both"
        if like or len(returns) > 1 or switched or (leg is not None and _carries_common(case, leg))
        else "detected"
    )


def _carries_common(case: Case, leg: Leg) -> bool:
    turnout = case.layout.turnouts[leg.turnout]
    carried = turnout.frog_rail == "common" if leg.leg == "through" else turnout.frog_rail == "detected"
    return turnout.frog == "switched" and turnout.frog_gaps is False and leg.leg != "toe" and carried


def as_written(here: str, here_end: End, there: str, there_end: End) -> tuple[str, str | None]:
    """``blocks`` and, where they are needed, ``ends`` of a joint, as TOML has them."""
    if here_end != there_end:
        first, second = (here, there) if here_end == "far" else (there, here)
        return json.dumps([first, second], ensure_ascii=False), None
    return json.dumps([here, there], ensure_ascii=False), json.dumps([here_end, there_end])


def free_end(case: Case, block: str, line: Path) -> End | None:
    """The one end of a block at which no joint is but those that are written at ``line``; None if it is not one."""
    joints, document = case.layout.joints, case.wiring.document
    taken = {
        end
        for index in case.wiring.joints_at.get(block, ())
        if document.written(("joints", index)) != line
        for name, end in zip(joints[index].blocks, joints[index].ends, strict=True)
        if name == block
    }
    return opposite(taken.pop()) if len(taken) == 1 else None


def turned(
    case: Case, ladders: Ladders, leg: Leg, index: int, wrong: Collection[Leg]
) -> tuple[str, tuple[Rewrite, ...]]:
    """How to write a joint so that a leg is at the other end of its block; as rewrites where its whole line agrees."""
    document, joints, path = case.wiring.document, case.layout.joints, ("joints", index)
    file, line = document.written_in(path)
    raw = file.values["joints"][line[1]]
    side = joints[index].blocks.index(leg.home)
    here = opposite(joints[index].ends[side])
    there = _beyond(case, ladders, leg, line, wrong, here)
    blocks, ends = as_written(raw["blocks"][side], here, raw["blocks"][1 - side], there)
    wanted = {"blocks": blocks, "ends": ends}
    help_ = f"write blocks = {blocks}" + (f" and ends = {ends}" if ends is not None else "")
    if ends is None and "ends" in raw:
        help_ += ", without ends"
    same = [one for one in range(len(joints)) if document.written_in(("joints", one)) == (file, line)]
    for one in same:
        alike = [other for other in wrong if other.home == leg.home and other.pair == frozenset(joints[one].blocks)]
        if not alike or any(_beyond(case, ladders, other, line, wrong, here) != there for other in alike):
            return help_, ()
    return help_, tuple(Rewrite((*path, key), to) for key, to in wanted.items() if to is not None or key in raw)


def _beyond(case: Case, ladders: Ladders, leg: Leg, line: Path, wrong: Collection[Leg], here: End) -> End:
    """At which end of the block beyond a leg the joint is to be: where its turnouts say, else where no joint is yet."""
    for back in ladders.back(leg):
        known = ladders.end(back, ladders.believed) if back not in wrong else None
        if known is not None:
            return known
    return free_end(case, leg.beyond, line) or opposite(here)


@frozen(eq=False, repr=False)
class Ends:
    """At which ends of their blocks joints are to be that are not written yet: filled in one by one, as each tells more
    of how its ladder lies, and of which end of plain track is left."""

    case: Case
    ladders: Ladders
    believed: dict[str, int]
    """First turnout of a ladder -> how it lies, as far as that is known or settled."""
    taken: dict[str, set[End]]
    """Block -> the ends at which a joint is, or is settled to be."""

    @classmethod
    def of(cls, case: Case, ladders: Ladders) -> Ends:
        """What the joints of a layout say."""
        taken: dict[str, set[End]] = {}
        for joint in case.layout.joints:
            for name, end in zip(joint.blocks, joint.ends, strict=True):
                taken.setdefault(str(name), set()).add(end)
        return cls(case, ladders, dict(ladders.believed), taken)

    def fitted(self, legs: Iterable[Leg]) -> Iterator[tuple[Leg, End, End]]:
        """Legs, each with the end of its block and that of the block beyond; what is known by others comes first."""
        left = list(legs)
        while left:
            known = [leg for leg in left if self._sure(leg) or self._there(leg)]
            for leg in known or left[:1]:
                here, there = self._sure(leg), self._there(leg)
                here = here or (opposite(there) if there is not None else self._likely(leg))
                there = there or opposite(here)
                self._settle(leg, here, there)
                yield leg, here, there
            done = set(known or left[:1])
            left = [leg for leg in left if leg not in done]

    def _sure(self, leg: Leg) -> End | None:
        return self.ladders.end(leg, self.believed)

    def _likely(self, leg: Leg) -> End:
        """Where the toes, or the legs, of other ladders in the block are; else where no joint is; else as most are."""
        alike = [one for one in self.ladders.out_of[leg.home] if (one.leg == "toe") == (leg.leg == "toe")]
        kin = {self._sure(one) for one in alike} - {None}
        likely = kin.pop() if len(kin) == 1 else self._free(leg.home)
        return likely or ("near" if leg.leg == "toe" else "far")

    def _there(self, leg: Leg) -> End | None:
        ends = (self.ladders.end(back, self.believed) for back in self.ladders.back(leg))
        return next((end for end in ends if end is not None), None) or self._free(leg.beyond)

    def _free(self, block: str) -> End | None:
        """The end that is left of a block with joints at one end."""
        taken = self.taken.get(block, set())
        return opposite(next(iter(taken))) if len(taken) == 1 else None

    def _settle(self, leg: Leg, here: End, there: End) -> None:
        for one, end in ((leg, here), *((back, there) for back in self.ladders.back(leg))):
            self.believed.setdefault(self.ladders.lies[one.turnout][0], self.ladders.vote(one, end))
        for block, end in ((leg.home, here), (leg.beyond, there)):
            self.taken.setdefault(block, set()).add(end)
