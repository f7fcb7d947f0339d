"""Which port of the track meets which: legs of turnouts, and ends of the blocks that hold none.

Blocks that hold turnouts have no ends of their own: their rails are the turnouts and what joins them. Each port meets
one other at most; what no port is left for is told in a sentence, never left out in silence.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cached_property

from attrs import field, frozen

from blockcheck.model.layout import Layout, Turnout

LEGS = ("toe", "through", "diverging")
Port = tuple[str, str]
"""A turnout and its leg, or a block and its end."""


@frozen(eq=False)
class _Joint:
    index: int
    ends: tuple[Port, Port]

    def joins(self, one: str, other: str) -> bool:
        return one != other and {self.ends[0][0], self.ends[1][0]} == {one, other}

    def holds(self, block: str) -> bool:
        return block in (self.ends[0][0], self.ends[1][0])

    def end_of(self, block: str) -> Port:
        return self.ends[0] if self.ends[0][0] == block else self.ends[1]


@frozen(eq=False, slots=False)
class Ports:
    """The ports of a layout, joined in pairs."""

    layout: Layout
    link: dict[Port, Port] = field(factory=dict, init=False)
    joint: dict[Port, int] = field(factory=dict, init=False)
    """Port -> the joint by which it meets its other."""
    guessed: dict[str, str] = field(factory=dict, init=False)
    """Turnouts that nobody described, and the block at whose end each lies."""
    notes: list[str] = field(factory=list, init=False)
    """What could not be drawn."""
    undrawn: set[int] = field(factory=set, init=False)
    """Joints that no port was left for."""
    _outer: set[Port] = field(factory=set, init=False)
    """Ends of own track of blocks that hold turnouts."""
    _used: set[int] = field(factory=set, init=False)
    _joints: list[_Joint] = field(factory=list, init=False)

    @property
    def turnouts(self) -> Mapping[str, Turnout]:
        return self.layout.turnouts

    def throat(self, fork: str) -> str:
        """The block that a turnout lies in."""
        return self.guessed.get(fork) or str(self.turnouts[fork].block)

    def beyond(self, port: Port) -> str | None:
        """What a leg is said to lead to."""
        value = getattr(self.turnouts[port[0]], port[1])
        return None if value is None else str(value)

    @property
    def holding(self) -> set[str]:
        """Blocks that hold turnouts."""
        return {str(one.block) for one in self.turnouts.values()}

    @property
    def plain(self) -> list[str]:
        """Blocks that hold none."""
        holding = self.holding
        return [name for name in self.layout.blocks if name not in holding]

    @property
    def meetings(self) -> set[frozenset[str]]:
        """The pairs of blocks that meet: those that joints name, and those that legs of turnouts lead to."""
        found = {frozenset(port[0] for port in joint.ends) for joint in self._joints if joint.index not in self.undrawn}
        for one, other in self.link.items():
            found.add(frozenset(self.throat(port[0]) if port[1] in LEGS else port[0] for port in (one, other)))
        return {pair for pair in found if len(pair) > 1}

    @cached_property
    def met(self) -> Mapping[Port, list[str]]:
        """End of a block -> the blocks that joints say it meets there."""
        found = defaultdict[Port, list[str]](list)
        for joint in self.layout.joints:
            (a, b), (a_end, b_end) = map(str, joint.blocks), map(str, joint.ends)
            found[a, a_end].append(b)
            found[b, b_end].append(a)
        return found

    def meeting(self, one: str, other: str) -> int | None:
        """A joint of two blocks."""
        joint = self._between(one, other)
        return None if joint is None else joint.index

    def _legs(self) -> Iterator[Port]:
        return ((name, leg) for name in self.turnouts for leg in LEGS)

    def _tie(self, one: Port, other: Port, joint: int | None = None) -> bool:
        if one in self.link or other in self.link or one == other:
            return False
        self.link[one], self.link[other] = other, one
        if joint is not None:
            self.joint[one] = self.joint[other] = joint
            self._used.add(joint)
        return True

    def _between(self, one: str, other: str) -> _Joint | None:
        """A joint of two blocks, one that is not drawn yet if there is one."""
        found = [joint for joint in self._joints if joint.joins(one, other)]
        return next((joint for joint in found if joint.index not in self._used), found[0] if found else None)

    def _turnouts_to_turnouts(self) -> None:
        for port in self._legs():
            there = self.beyond(port)
            if there is None or there not in self.turnouts or port in self.link:
                continue
            own = self.throat(port[0])
            free = [leg for leg in LEGS if (there, leg) not in self.link and (there, leg) != port]
            named = [leg for leg in free if self.beyond((there, leg)) == port[0]]
            named += [leg for leg in free if self.beyond((there, leg)) == own]
            named += [leg for leg in free if self.beyond((there, leg)) is None]
            joint = self._between(own, self.throat(there))
            if not named or not self._tie(port, (there, named[0]), joint.index if joint else None):
                self.notes.append(f"{port[0]}, {port[1]}: no leg of {there} is free")

    def _turnouts_to_blocks(self) -> None:
        holding = self.holding
        for port in self._legs():
            there = self.beyond(port)
            if there in self.layout.blocks and port not in self.link:
                (self._to_throat if there in holding else self._to_plain)(port, str(there))

    def _to_plain(self, port: Port, there: str) -> None:
        own = self.throat(port[0])
        for joint in self._joints:
            free = joint.index not in self._used and joint.joins(own, there)
            if free and self._tie(port, joint.end_of(there), joint.index):
                return
        for end in ("far", "near") if port[1] == "toe" else ("near", "far"):
            if self._tie(port, (there, end)):
                return
        self.notes.append(f"{port[0]}, {port[1]}: both ends of {there} are taken")

    def _to_throat(self, port: Port, there: str) -> None:
        own = self.throat(port[0])
        joint = self._between(own, there)
        for name in self.turnouts:
            for leg in LEGS:
                fits = self.throat(name) == there and name != port[0] and self.beyond((name, leg)) == own
                if fits and self._tie(port, (name, leg), joint.index if joint else None):
                    return

    def _own_track(self) -> None:
        """The track of a block that holds turnouts itself: between two toes, or beyond one, that nothing is said of."""
        toes: dict[str, list[Port]] = {}
        for name in self.turnouts:
            if (name, "toe") not in self.link and self.beyond((name, "toe")) is None:
                toes.setdefault(self.throat(name), []).append((name, "toe"))
        for block, free in toes.items():
            if len(free) == 2:
                self._tie(free[0], (block, "near"))
                self._tie(free[1], (block, "far"))
            elif len(free) == 1 and self.layout.blocks[block].kind != "throat":
                inner = self._side_of_legs(block)
                self._tie(free[0], (block, inner))
                self._outer.add((block, "near" if inner == "far" else "far"))

    def _side_of_legs(self, block: str) -> str:
        """The end of a block where the legs of its turnouts lead out."""
        ends = [joint.end_of(block)[1] for joint in self._joints if joint.index in self._used and joint.holds(block)]
        return "near" if ends.count("near") > ends.count("far") else "far"

    def _guess(self) -> None:
        """An end that meets several: turnouts that nobody described, a ladder in the order of the joints."""
        meets: dict[Port, list[tuple[int, Port]]] = {}
        holding = self.holding
        for joint in self._joints:
            if joint.index in self._used:
                continue
            for one, other in (joint.ends, joint.ends[::-1]):
                if one[0] not in holding and one[0] in self.layout.blocks:
                    meets.setdefault(one, []).append((joint.index, other))
        for port, all_ in meets.items():
            fits = [
                (index, other)
                for index, other in all_
                if index not in self._used
                and other[0] not in holding
                and other not in self.link
                and other != port
                and len(meets.get(other, ())) < 2
            ]
            if len(fits) > 1 and port not in self.link:
                self._ladder(port, fits)

    def _ladder(self, port: Port, others: list[tuple[int, Port]]) -> None:
        at = port
        for number, (index, other) in enumerate(others, 1):
            if number == len(others):
                self._tie(at, other, index)
                return
            name = f"?{port[0]}.{port[1]}.{number}"
            self.guessed[name] = port[0]
            self._tie(at, (name, "toe"))
            self._tie((name, "diverging"), other, index)
            at = (name, "through")

    def _rest(self) -> None:
        """End to end, and legs that nothing was said of."""
        for joint in self._joints:
            if joint.index in self._used:
                continue
            one, other = map(self._free, joint.ends)
            if one is not None and other is not None and self.link.get(one) == other:
                continue  # told twice
            if one is None or other is None or not self._tie(one, other, joint.index):
                (a, a_end), (b, b_end) = joint.ends
                self.undrawn.add(joint.index)
                self.notes.append(f"{a} ({a_end}) meets {b} ({b_end}), but nothing is free there: see its turnouts")

    def _free(self, end: Port) -> Port | None:
        """The port that an end of a block is."""
        block, side = end
        if block not in self.holding:
            return end if block in self.layout.blocks else None
        if end in self._outer and end not in self.link:
            return end
        order = LEGS if side == "near" else ("through", "diverging", "toe")
        for leg in order:
            for name in self.turnouts:
                port = (name, leg)
                if self.throat(name) == block and port not in self.link and self.beyond(port) is None:
                    return port
        return None


def read(layout: Layout) -> Ports:
    """The ports of a layout, tied in the order in which the description is surest."""
    ports = Ports(layout)
    for index, joint in enumerate(layout.joints):
        (a, b), (a_end, b_end) = joint.blocks, joint.ends
        ports._joints.append(_Joint(index, ((str(a), a_end), (str(b), b_end))))
    ports._turnouts_to_turnouts()
    ports._turnouts_to_blocks()
    ports._own_track()
    ports._guess()
    ports._rest()
    return ports
