"""How turnouts lie in the track: where each leg leads, and at which end of its block it is by what the joints say.

A turnout's toe is at one end of its block and its legs are at the other, and turnouts of one ladder lie alike. So the
ends that joints name are votes on how a ladder lies; where they differ, most of them are believed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from typing import Literal, NamedTuple

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.layout import Turnout
from blockcheck.model.wiring import LEGS, Wiring

End = Literal["near", "far"]


def opposite(end: End) -> End:
    """The other end of a block."""
    return "far" if end == "near" else "near"


class Leg(NamedTuple):
    """A leg that leads out of its turnout's block: from ``home`` to the block ``beyond``; ``other`` is the turnout
    in that block which it names, if it names one."""

    turnout: str
    leg: str
    home: str
    beyond: str
    other: str | None

    @property
    def path(self) -> Path:
        """Where it is written."""
        return ("turnouts", self.turnout, self.leg)

    @property
    def pair(self) -> frozenset[str]:
        """The two blocks that meet at it."""
        return frozenset((self.home, self.beyond))

    def __str__(self) -> str:
        return f"the {words(self.leg)} of {self.turnout}"


def words(leg: str) -> str:
    """A leg as people call it."""
    return leg if leg == "toe" else f"{leg} leg"


@frozen(eq=False, repr=False, slots=False)
class Ladders:
    """The turnouts of a layout, those that lead to each other within a block together."""

    wiring: Wiring

    @classmethod
    def of(cls, study: Study) -> Ladders:
        """Those of a study."""
        return cls(study.wiring)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The turnouts that lie in a block that exists, in natural order."""
        layout = self.wiring.layout
        return tuple(
            sorted((name for name, one in layout.turnouts.items() if one.block in layout.blocks), key=natural_key)
        )

    def beyond(self, turnout: Turnout, leg: str) -> tuple[str | None, str | None]:
        """The block and the turnout beyond a leg; no block where that is its own, or nothing that exists."""
        layout, target = self.wiring.layout, getattr(turnout, leg)
        other = str(target) if target in layout.turnouts else None
        block = layout.turnouts[target].block if other is not None else target
        return (str(block) if block in layout.blocks and block != turnout.block else None), other

    @cached_property
    def legs(self) -> tuple[Leg, ...]:
        """The legs that lead out of their block."""
        found = []
        for name in self.names:
            turnout = self.wiring.layout.turnouts[name]
            for leg in LEGS:
                block, other = self.beyond(turnout, leg)
                if block is not None:
                    found.append(Leg(name, leg, str(turnout.block), block, other))
        return tuple(found)

    @cached_property
    def unanswered(self) -> Mapping[tuple[str, str], str]:
        """Turnout and one that it leads to, of which no leg can be meant to lead back to it -> its leg."""
        claims: dict[str, list[tuple[str, str]]] = {}
        for name in self.names:
            for leg in LEGS:
                claims.setdefault(str(getattr(self.wiring.layout.turnouts[name], leg)), []).append((name, leg))
        return {(name, to): leg for to in self.names for name, leg in self._unanswered(to, claims.get(to, []))}

    def _unanswered(self, to: str, claims: list[tuple[str, str]]) -> Iterator[tuple[str, str]]:
        """Those of some legs that lead to a turnout for which none of its own is left; toes are doubted first."""
        turnouts = self.wiring.layout.turnouts
        taken: dict[str, int] = {}  # leg of this turnout -> the claim that it answers

        def answered(number: int, tried: set[str]) -> bool:
            other = turnouts[claims[number][0]]
            for leg in LEGS:
                if leg in tried or getattr(turnouts[to], leg) not in (
                    None,
                    turnouts[to].block,
                    other.name,
                    other.block,
                ):
                    continue
                tried.add(leg)
                if leg not in taken or answered(taken[leg], tried):
                    taken[leg] = number
                    return True
            return False

        named = {getattr(turnouts[to], leg) for leg in LEGS}
        for number in sorted(
            range(len(claims)), key=lambda one: (claims[one][0] not in named, claims[one][1] == "toe")
        ):
            if not answered(number, set()):
                yield claims[number]

    @cached_property
    def lies(self) -> Mapping[str, tuple[str, int]]:
        """Turnout -> the first of its ladder, and 1 if it lies as that does, -1 if the other way round."""
        alike: dict[str, list[tuple[str, int]]] = {name: [] for name in self.names}
        for one, other, sign in self._links():
            alike[one].append((other, sign))
            alike[other].append((one, sign))
        found: dict[str, tuple[str, int]] = {}
        for first in self.names:
            todo = [(first, 1)] if first not in found else []
            while todo:
                name, sign = todo.pop()
                if name not in found:
                    found[name] = first, sign
                    todo += [(other, sign * own) for other, own in alike[name]]
        return found

    def _links(self) -> Iterator[tuple[str, str, int]]:
        """Two turnouts of one block that lead to each other, and 1 where that is by one's toe and the other's leg."""
        turnouts = self.wiring.layout.turnouts
        for name in self.names:
            turnout = turnouts[name]
            for leg in LEGS:
                _, other = self.beyond(turnout, leg)
                if other is None or other == name or turnouts[other].block != turnout.block:
                    continue
                if (name, other) in self.unanswered or (other, name) in self.unanswered:
                    continue
                there = turnouts[other]
                back = [way for way in LEGS if getattr(there, way) == name]
                back = back or [way for way in LEGS if getattr(there, way) is None]
                kinds = {way == "toe" for way in back}
                if len(kinds) == 1:
                    yield name, other, -1 if kinds == {leg == "toe"} else 1

    def ends(self, block: str, beyond: str) -> tuple[End, ...]:
        """At which ends of a block its joints with another are."""
        joints = (
            self.wiring.layout.joints[index] for index in self.wiring.joints_of.get(frozenset((block, beyond)), ())
        )
        return tuple(one.ends[one.blocks.index(block)] for one in joints)

    @cached_property
    def votes(self) -> Mapping[Leg, int]:
        """Leg -> how its ladder lies by its joints: 1 if the toe of its first turnout is at the near end, else -1."""
        found = {}
        for leg in self.legs:
            ends = set(self.ends(leg.home, leg.beyond))
            if len(ends) == 1:
                found[leg] = self.vote(leg, ends.pop())
        return found

    def vote(self, leg: Leg, end: End) -> int:
        """How its ladder lies if a leg is at an end of its block."""
        return self.lies[leg.turnout][1] * (1 if (leg.leg == "toe") == (end == "near") else -1)

    @cached_property
    def believed(self) -> Mapping[str, int]:
        """First turnout of a ladder -> how most of the votes say that it lies; the legs decide where they are even."""
        sums: dict[str, tuple[int, int]] = {}
        for leg, vote in self.votes.items():
            first = self.lies[leg.turnout][0]
            every, legs = sums.get(first, (0, 0))
            sums[first] = every + vote, legs + (vote if leg.leg != "toe" else 0)
        return {first: 1 if counts > (0, 0) else -1 for first, counts in sums.items()}

    def end(self, leg: Leg, believed: Mapping[str, int]) -> End | None:
        """At which end of its block a leg is by how its ladder lies; None where nothing says so."""
        first, own = self.lies[leg.turnout]
        if first not in believed:
            return None
        return "near" if (believed[first] * own > 0) == (leg.leg == "toe") else "far"

    def back(self, leg: Leg) -> tuple[Leg, ...]:
        """The legs beyond that lead back to a leg."""
        named = [one for one in self.into.get(leg.home, ()) if one.home == leg.beyond]
        if leg.other is not None:
            named = [one for one in named if one.turnout == leg.other]
        return tuple(one for one in named if one.other in (None, leg.turnout))

    @cached_property
    def into(self) -> Mapping[str, tuple[Leg, ...]]:
        """Block -> the legs of other blocks' turnouts that lead to it."""
        return self._by(lambda leg: leg.beyond)

    @cached_property
    def out_of(self) -> Mapping[str, tuple[Leg, ...]]:
        """Block -> the legs of its turnouts that lead out of it."""
        return self._by(lambda leg: leg.home)

    def _by(self, block: Callable[[Leg], str]) -> Mapping[str, tuple[Leg, ...]]:
        found: dict[str, list[Leg]] = {}
        for leg in self.legs:
            found.setdefault(block(leg), []).append(leg)
        return {name: tuple(legs) for name, legs in found.items()}
