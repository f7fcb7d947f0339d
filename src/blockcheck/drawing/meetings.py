"""Which blocks meet which, at which ends, over which gap and turnouts; and which way round each block is drawn."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from functools import cached_property

from attrs import frozen

from blockcheck.model.layout import Turnout
from blockcheck.model.wiring import LEGS, Wiring

UNKNOWN = "unknown"
"""The gap of a meeting that no joint describes."""


@frozen(eq=False)
class Meeting:
    """Two blocks whose rails meet: ``left`` with its right end, ``right`` with its left end, if they can be drawn so.

    ``bent`` says that they cannot: the end of ``left`` (or ``right``) is on the other side, as in a reversing loop.
    """

    left: str
    right: str
    gap: str
    joint: int | None
    left_side: str = "right"
    right_side: str = "left"

    @property
    def bent(self) -> bool:
        """Whether it does not lead from a right end to a left one."""
        return (self.left_side, self.right_side) != ("right", "left")


@frozen(eq=False, slots=False)
class Track:
    """All meetings of a layout, with the blocks turned so that they follow each other from left to right."""

    wiring: Wiring
    meetings: tuple[Meeting, ...]
    flipped: frozenset[str]
    """Blocks that are drawn with their near end to the right."""

    @cached_property
    def turnouts_in(self) -> Mapping[str, tuple[Turnout, ...]]:
        """Block -> the turnouts that lie in it, in the order of the ladder as far as there is one."""
        found: dict[str, list[Turnout]] = {}
        for turnout in self.wiring.layout.turnouts.values():
            found.setdefault(turnout.block, []).append(turnout)
        return {block: tuple(_ladder(turnouts)) for block, turnouts in found.items()}

    def block_of(self, name: str | None) -> str | None:
        """The block that a leg leads to: itself, or the one that the turnout beyond lies in."""
        turnouts = self.wiring.layout.turnouts
        return str(turnouts[name].block) if name is not None and name in turnouts else name

    @cached_property
    def points(self) -> Mapping[tuple[str, str], tuple[str, ...]]:
        """Block and its neighbour -> the turnouts of the block that lead there, each told once and in one place."""
        found: dict[tuple[str, str], list[str]] = {}
        for block, turnouts in self.turnouts_in.items():
            for turnout in turnouts:
                for leg in ("diverging", "through", "toe"):
                    beyond = self.block_of(getattr(turnout, leg))
                    if beyond in self.wiring.layout.blocks and beyond != block:
                        found.setdefault((block, str(beyond)), []).append(turnout.name)
                        break
        return {pair: tuple(names) for pair, names in found.items()}


def track(wiring: Wiring) -> Track:
    """The meetings of a layout: its joints, and where turnouts lead to with no joint written."""
    raw = _joints(wiring)
    flipped = _turned(list(wiring.layout.blocks), raw)

    def side(block: str, end: str) -> str:
        return "right" if (end == "far") != (block in flipped) else "left"

    meetings = []
    for (a, a_end), (b, b_end), gap, joint in raw:
        a_side, b_side = side(a, a_end), side(b, b_end)
        if (a_side, b_side) == ("left", "right"):
            a, b, a_side, b_side = b, a, b_side, a_side
        meetings.append(Meeting(a, b, gap, joint, a_side, b_side))
    return Track(wiring, tuple(meetings), frozenset(flipped))


_End = tuple[str, str]
_Raw = tuple[_End, _End, str, int | None]


def _joints(wiring: Wiring) -> list[_Raw]:
    blocks = wiring.layout.blocks
    found: list[_Raw] = []
    for index, joint in enumerate(wiring.layout.joints):
        if all(name in blocks for name in joint.blocks):
            (a, b), (a_end, b_end) = joint.blocks, joint.ends
            found.append(((str(a), a_end), (str(b), b_end), joint.gap, index))
    told = {frozenset((a, b)) for (a, _), (b, _), *_ in found}
    turnouts = wiring.layout.turnouts
    for turnout in turnouts.values():
        for leg in LEGS:
            beyond = getattr(turnout, leg)
            other = turnouts[beyond].block if beyond in turnouts else beyond
            pair = frozenset((str(turnout.block), str(other)))
            if len(pair) < 2 or pair in told or not pair <= blocks.keys():
                continue
            told.add(pair)
            ends = ("near", "far") if leg == "toe" else ("far", "near")
            found.append(((str(turnout.block), ends[0]), (str(other), ends[1]), UNKNOWN, None))
    return found


def _turned(blocks: Iterable[str], raw: Iterable[_Raw]) -> set[str]:
    """Blocks to draw the other way round, so that as many meetings as a walk can serve lead from left to right."""
    around: dict[str, list[tuple[str, str, str]]] = {}
    for (a, a_end), (b, b_end), *_ in raw:
        around.setdefault(a, []).append((a_end, b, b_end))
        around.setdefault(b, []).append((b_end, a, a_end))
    seen: set[str] = set()
    flipped: set[str] = set()
    for start in blocks:
        walk = deque([] if start in seen else [start])
        seen.add(start)
        part = [*walk]
        turned: set[str] = set()
        while walk:
            block = walk.popleft()
            for end, other, other_end in around.get(block, ()):
                if other not in seen:
                    seen.add(other)
                    on_right = (end == "far") != (block in turned)
                    if on_right == (other_end == "far"):
                        turned.add(other)
                    walk.append(other)
                    part.append(other)
        flipped |= turned if 2 * len(turned) <= len(part) else {*part} - turned
    return flipped


def _ladder(turnouts: list[Turnout]) -> list[Turnout]:
    """Turnouts of a block, each followed by those that its through leg leads on to."""
    named = {turnout.name: turnout for turnout in turnouts}
    led = {str(getattr(one, leg)) for one in turnouts for leg in ("through", "diverging")}
    heads = [one for one in turnouts if one.name not in led]
    found: dict[str, Turnout] = {}
    walk = list(reversed(heads))
    rest = iter(turnouts)
    while len(found) < len(turnouts):
        one = walk.pop() if walk else next(rest)
        if one.name in found:
            continue
        found[one.name] = one
        walk += [named[leg] for leg in map(str, (one.diverging, one.through)) if leg in named]
    return list(found.values())
