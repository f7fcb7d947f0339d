"""What the rules about joints share: how one is to be written, in words and as the rewrites that write it."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import NamedTuple

from blockcheck.analysis.study import Study
from blockcheck.analysis.turnouts import End, Ladders, Leg, opposite
from blockcheck.core.findings import Rewrite
from blockcheck.core.natural import condensed
from blockcheck.core.spans import Path
from blockcheck.text.document import ReadFile
from blockcheck.text.edits import quoted


def wider(cut: str, rail: str) -> str:
    """The gap of a joint in which ``rail`` (or both) is cut besides what is cut already."""
    return rail if cut in ("none", rail) else "both"


def with_gap(joint: Path, gap: str) -> tuple[Rewrite, ...]:
    """A joint, as it is written, with another gap."""
    return (Rewrite((*joint, "gap"), quoted(gap)),)


def alike(study: Study, part: Path, *more: object) -> object:
    """What findings about joints that join others to the same end of one block with the same gap have in common.

    None for parts that are no joint, and where neither block has more joints than the other.
    """
    if part[0] != "joints":
        return None
    joint = study.layout.joints[int(part[1])]
    counts = [len(study.wiring.joints_at[name]) for name in joint.blocks]
    if counts[0] == counts[1]:
        return None
    hub = counts.index(max(counts))
    return (joint.blocks[hub], joint.ends[hub], joint.gap, *more)


def joint_lines(home: str, here: End, beyond: Collection[str], there: End, gap: str) -> list[str]:
    """The lines of the tables of joints that join the same end of one block to the same end of others, ranges alike."""
    lines = []
    for names in condensed(beyond):
        blocks, ends = as_written(home, here, names, there)
        lines.append("\n".join((f"blocks = {blocks}", f"gap = {quoted(gap)}", *([f"ends = {ends}"] if ends else []))))
    return lines


def gap_between(study: Study, one: str, other: str, leg: Leg | None, like: bool) -> str:
    """The gap that a joint of two blocks needs: the detected rail is cut, and the common rail where it must be too.

    That is where districts of different returns meet, where a return is switched, where ends meet that are ``like``, so
    that the rails cross over, and at a leg on which a frog that is not cut off carries the common rail.
    """
    feds = [study.wiring.fed[name] for name in (one, other)]
    groups = study.circuit.return_of
    returns = {groups.get(str(fed.district)) for fed in feds} - {None}
    switched = any(one.side == "common-rail" or one.switches_return for fed in feds for one in fed.isolators)
    return (
        "both"
        if like or len(returns) > 1 or switched or (leg is not None and _carries_common(study, leg))
        else "detected"
    )


def _carries_common(study: Study, leg: Leg) -> bool:
    turnout = study.layout.turnouts[leg.turnout]
    carried = turnout.frog_rail == "common" if leg.leg == "through" else turnout.frog_rail == "detected"
    return turnout.frog == "switched" and turnout.frog_gaps is False and leg.leg != "toe" and carried


def as_written(here: str, here_end: End, there: str, there_end: End) -> tuple[str, str | None]:
    """``blocks`` and, where they are needed, ``ends`` of a joint, as TOML has them."""
    if here_end != there_end:
        first, second = (here, there) if here_end == "far" else (there, here)
        return json.dumps([first, second], ensure_ascii=False), None
    return json.dumps([here, there], ensure_ascii=False), json.dumps([here_end, there_end])


def free_end(study: Study, block: str, but: int) -> End | None:
    """The one end of a block at which no joint is but the one of that number; None if it is not one."""
    joints = study.layout.joints
    taken = {
        end
        for index in study.wiring.joints_at.get(block, ())
        if index != but
        for name, end in zip(joints[index].blocks, joints[index].ends, strict=True)
        if name == block
    }
    return opposite(taken.pop()) if len(taken) == 1 else None


def turned_ends(study: Study, ladders: Ladders, leg: Leg, index: int, wrong: Collection[Leg]) -> tuple[End, End]:
    """The ends, of a leg's block and of the one beyond, that a joint is to have so that the leg is at the other end."""
    joint = study.layout.joints[index]
    here = opposite(joint.ends[joint.blocks.index(leg.home)])
    for back in ladders.back(leg):
        known = ladders.end(back, ladders.believed) if back not in wrong else None
        if known is not None:
            return here, known
    return here, free_end(study, leg.beyond, index) or opposite(here)


def turned(study: Study, home: str, ends: Mapping[int, tuple[End, End]]) -> tuple[Rewrite, ...]:
    """Joints written with other ends, by their numbers; nothing where a line has some that are to stay as they are."""
    document = study.wiring.document
    lines: dict[tuple[ReadFile, Path], list[int]] = {}
    for index in range(len(study.layout.joints)):
        lines.setdefault(document.written_in(("joints", index)), []).append(index)
    found: list[Rewrite] = []
    for (file, line), numbers in lines.items():
        if not ends.keys() & set(numbers):
            continue
        if {ends.get(index) for index in numbers} != {ends.get(numbers[0])}:
            return ()
        raw = file.values["joints"][int(line[1])]
        side = study.layout.joints[numbers[0]].blocks.index(home)
        here, there = ends[numbers[0]]
        blocks, both = as_written(raw["blocks"][side], here, raw["blocks"][1 - side], there)
        for index in numbers:
            wanted = {"blocks": blocks, "ends": both}
            found += [Rewrite(("joints", index, key), to) for key, to in wanted.items() if to is not None or key in raw]
    return tuple(found)


class Ends(NamedTuple):
    """At which ends of their blocks joints are to be that are not written yet: filled in one by one, as each tells more
    of how its ladder lies, and of which end of plain track is left."""

    study: Study
    ladders: Ladders
    believed: dict[str, int]
    """First turnout of a ladder -> how it lies, as far as that is known or settled."""
    taken: dict[str, set[End]]
    """Block -> the ends at which a joint is, or is settled to be."""

    @classmethod
    def of(cls, study: Study, ladders: Ladders) -> Ends:
        """What the joints of a layout say."""
        taken: dict[str, set[End]] = {}
        for joint in study.layout.joints:
            for name, end in zip(joint.blocks, joint.ends, strict=True):
                taken.setdefault(str(name), set()).add(end)
        return cls(study, ladders, dict(ladders.believed), taken)

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
