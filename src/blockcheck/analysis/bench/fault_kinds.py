"""What a wiring fault is; the kinds of single ones, and how likely each is: weights, common practice, no source."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from attrs import evolve, field, frozen

from blockcheck.core.errors import CallError
from blockcheck.model.quantities import DIMENSIONS, Ohms, show
from blockcheck.network.built import Change

CHANNELS_SWAPPED, ISOLATORS_SWAPPED = "channels-swapped", "isolators-swapped"
DROP_MISSING, DROP_RAIL, DROP_BUS = "drop-missing", "drop-on-wrong-rail", "drop-on-neighbours-bus"
JOINT_OPEN, JOINT_POOR = "bus-joint-open", "bus-joint-poor"
GAP_BRIDGED, RAIL_CUT, POINTS_BRIDGED = "gap-bridged", "rail-cut", "points-bridged"
STUCK, CHANNEL_DEAD, WRONG_DISTRICT = "isolator-stuck", "channel-dead", "bank-on-wrong-district"
HOLD_MISSING, HOLD_WRONG, FROG_REVERSED = "hold-missing", "hold-wrong", "frog-reversed"
ACROSS_MISSING, ACROSS_WRONG = "across-missing", "across-wrong"
FUSE_BLOWN, FEED_CROSSED = "fuse-blown", "feed-crossed"
DROP_POOR, DROPS_CROSSED, RAILS_EXCHANGED = "drop-poor", "drops-crossed", "rails-exchanged"
FREE_CHANNEL, ONE_TERMINAL, ROTATED = "bus-on-free-channel", "two-buses-in-one-terminal", "plugs-rotated"
OUTS_SWAPPED = "wires-behind-isolators-swapped"
BUS_TOUCHES, BALLAST_WET, JOINER_POOR = "bus-touches-common", "ballast-wet", "rail-joint-poor"

KINDS = {
    DROP_MISSING: 8.0,
    JOINT_POOR: 6.0,
    JOINT_OPEN: 4.0,
    FROG_REVERSED: 4.0,
    GAP_BRIDGED: 3.0,
    CHANNELS_SWAPPED: 3.0,
    ISOLATORS_SWAPPED: 3.0,
    DROP_RAIL: 3.0,
    DROP_BUS: 2.0,
    HOLD_WRONG: 2.0,
    HOLD_MISSING: 2.0,
    ACROSS_MISSING: 2.0,
    ACROSS_WRONG: 2.0,
    RAIL_CUT: 1.0,
    POINTS_BRIDGED: 1.0,
    STUCK: 1.0,
    CHANNEL_DEAD: 1.0,
    FUSE_BLOWN: 1.0,
    WRONG_DISTRICT: 1.0,
    FEED_CROSSED: 1.0,
}
"""Kinds of fault -> how likely one such is, against the others."""

READ_ALONE = {
    DROP_POOR: 3.0,
    JOINER_POOR: 2.0,
    FREE_CHANNEL: 2.0,
    OUTS_SWAPPED: 2.0,
    DROPS_CROSSED: 2.0,
    ONE_TERMINAL: 1.0,
    RAILS_EXCHANGED: 1.0,
    BUS_TOUCHES: 1.0,
    BALLAST_WET: 1.0,
    ROTATED: 0.5,
}
"""The same of those that readings are searched for, though no sheet is made to tell each of them."""


class Size(NamedTuple):
    """What a fault may have, from the least to the most ohms: in series with a piece of ``base_ohm``, or ``between``
    two nodes. ``typical`` stand for all of them where a reading tells little more than connected or not."""

    least_ohm: float
    most_ohm: float
    typical: tuple[float, ...]
    piece: int | None = None
    base_ohm: float = 0.0
    between: tuple[int, int] = (0, 0)

    def change(self, ohms: float) -> Change:
        """What a fault of this size makes of the wiring."""
        if self.piece is None:
            return Change(added=((*self.between, ohms),))
        return Change(ohms={self.piece: self.base_ohm + ohms})


@frozen(eq=False, repr=False)
class Fault:
    """One wiring fault. ``words`` say what is wrong, ``look`` where to look first.

    ``subjects`` are the blocks, isolators, turnouts or boards that it touches. ``guess`` is the number of what else the
    same fault may amount to (another resistance of a poor joint; plugs that were swapped after the dead tests), 0 for
    the one that the test sheet reckons with.
    """

    id: str
    kind: str
    subjects: tuple[str, ...]
    words: str
    look: str
    weight: float
    change: Change = field(factory=Change)
    guess: int = 0
    value: float | None = None
    size: Size | None = None

    @classmethod
    def of(
        cls,
        kind: str,
        where: str,
        subjects: tuple[str, ...],
        words: str,
        look: str,
        change: Change,
        factor: float = 1.0,
        size: Size | None = None,
    ) -> Fault:
        """One of a kind, ``factor`` times as likely as such a fault is."""
        weight = (KINDS.get(kind) or READ_ALONE[kind]) * factor
        return cls(f"{kind}:{where}", kind, subjects, words, look, weight, change, size=size)

    @property
    def changes(self) -> list[Change]:
        """What it makes of the wiring, at each size that is typical of it."""
        return [self.change] if self.size is None else [self.size.change(ohms) for ohms in self.size.typical]

    def at(self, ohms: float) -> Fault:
        """The same fault, found to have so many ohms."""
        if self.size is None:
            return self
        words = f"{self.words.rpartition(': about ')[0] or self.words}: about {shown_ohms(ohms)}"
        return evolve(self, words=words, change=self.size.change(ohms), value=ohms)


@lru_cache(maxsize=1000)
def shown_ohms(ohms: float) -> str:
    """A resistance in words."""
    return show(ohms, DIMENSIONS[Ohms], digits=2)


MOST_AMONG, REACH = 24, 12
"""Plugs of one board, or switches side by side, of which any two are taken for each other; of more, those no further
apart than so many places. Common practice, no source."""


def mistaken(one: int, other: int, among: int) -> bool:
    """Whether two places, of so many, are near enough to be taken for each other."""
    return among <= MOST_AMONG or abs(one - other) <= REACH


def too_many(found: Sequence[Fault], most_faults: int) -> CallError:
    """What is said of more faults than are told from each other."""
    (name, most), *_ = Counter(one.subjects[0] for one in found).most_common(1)
    return CallError(
        f"there would be more than {most_faults:,} wiring faults to tell from each other",
        f"{name} alone has {most:,} of these: give its bus a longer segment"
        if most > most_faults // 10
        else "keep each yard in a file of its own, and make a sheet of each",
    )
