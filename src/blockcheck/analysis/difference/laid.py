"""The wires of a layout as they are laid: the lines of the one list, those together that are one job at the bench.

A wire that a switch parts is one way from end to end, a pair of conductors one pair; the drops of a block are one
thing, the wires of a run one run, and those of a frog one frog.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from attrs import field, frozen

from blockcheck.analysis.difference.conductors import Made, made_of
from blockcheck.analysis.difference.renames import NONE, Renames
from blockcheck.analysis.study import Study
from blockcheck.circuit.across import lying_across
from blockcheck.circuit.line import Line, Resistor
from blockcheck.circuit.terminals import FEED, Terminal
from blockcheck.circuit.wires import lines
from blockcheck.model.quantities import DIMENSIONS, Ohms, show

ARROW = " > "
KINDS = ("feed", "tie", "bank", "common", "panel", "bus", "drops", "hold", "across", "frog", "run")
"""Kinds of what is laid, from the booster outwards."""
SHARED = ("feed", "tie", "bank", "common")
"""Those that serve several blocks."""
_TABLES = {
    "booster": "boosters",
    "district": "districts",
    "board": "boards",
    "isolator": "isolators",
    "block": "blocks",
    "harness": "harnesses",
}
"""Kind of a terminal's owner -> its table."""


@frozen
class Laid:
    """A wire, or several that are laid together.

    ``key`` says what it is for, by names; ``ends`` are the terminals that it passes, in the order of the current, such
    as ``("D1:3", "I3", "S3:end")``; a switch or a breaker stands for both of its sides. Lengths in metres; ``at_m`` are
    the places of drops from the block's near end; ``count`` is how many wires lie side by side; None is not known.
    ``blocks`` are those that it serves, by this layout's names.
    """

    key: tuple[str, ...]
    name: str
    ends: tuple[str, ...]
    made: Made | None = None
    length_m: float | None = None
    segment_m: float | None = None
    at_m: tuple[float, ...] = ()
    count: int = 1
    colour: str | None = field(default=None, eq=False)
    blocks: tuple[str, ...] = field(default=(), eq=False)

    @property
    def kind(self) -> str:
        """One of KINDS."""
        return self.key[0]

    @property
    def way(self) -> str:
        """Its ends as people write them: ``D1:3 > I3 > S3:end``."""
        return ARROW.join(self.ends)


def laid(study: Study, names: Renames = NONE) -> tuple[Laid, ...]:
    """All wires of a layout, each key once, in the order of its list.

    ``names`` says what a thing is called in the other layout; it changes words, not their order.
    """
    return tuple(_Laying(study, names).all())


@frozen(eq=False, repr=False, slots=False)
class _Laying:
    study: Study
    names: Renames
    to_contact: dict[tuple[str, str], list[Line]] = field(factory=dict)
    """Isolator and pole, district and its breaker -> the wires that come to it."""

    def all(self) -> Iterator[Laid]:
        found = lines(self.study.wiring, self.study.circuit)
        groups: dict[tuple[str, ...], list[Line]] = {}
        for line in found.wires:
            if line.end.passes:
                self.to_contact.setdefault((line.end.owner, line.end.part), []).append(line)
        for line in found.wires:
            if not line.end.passes:  # else it is the beginning of what goes on from there
                groups.setdefault(self._key(line), []).append(line)
        for key, group in groups.items():
            yield self._laid(key, group)
        for resistor in found.resistors:
            yield self._hold(resistor)
        for block in self.study.blocks:
            for one in lying_across(self.study.wiring, block):
                here, at = self.say("block", block), "bus pair" if one.at_bus else "rails"
                made = Made(one.words, one.words)
                yield Laid(("across", here, at), f"{at} of {here}", (f"the {at} of {here}",), made, blocks=(here,))

    def say(self, kind: str, name: str) -> str:
        """What the other layout calls it."""
        return self.names.new(_TABLES.get(kind, kind), name)

    def terminal(self, terminal: Terminal) -> Terminal:
        """A terminal by the other layout's names."""
        part = self.say("district", terminal.part) if terminal.kind == "harness" else terminal.part
        return terminal._replace(owner=self.say(terminal.kind, terminal.owner), part=part)

    def _key(self, line: Line) -> tuple[str, ...]:
        kind, end = line.kind, self.terminal(line.end)
        if kind in ("feed", "return"):
            return ("feed", self.say("district", line.subject))
        if kind == "tie" and end.kind == "return":
            return ("tie", self.say("district", line.subject))
        if kind == "tie":
            return ("tie", self.terminal(line.start).name, end.name)
        if kind == "bank":
            return ("bank", end.owner, end.spot)
        if kind == "common":
            return ("common", end.kind, end.owner, end.part)
        if kind == "panel":
            return ("panel", end.name)
        if kind in ("frog", "frog tie", "run"):
            return (kind.partition(" ")[0], line.subject)
        return ("drops" if kind == "drop" else kind, self.say("block", line.subject))

    def _laid(self, key: tuple[str, ...], group: list[Line]) -> Laid:
        line = group[0]
        ends = {"drops": self._taps, "frog": self._ties, "feed": self._pair}.get(key[0], self._way)(group)
        return Laid(
            key,
            _named(key),
            ends,
            made_of(self.study.layout, line.conductor) if line.conductor is not None else None,
            line.length_m,
            line.segment_m,
            tuple(one.at_m for one in group if one.at_m is not None and one.rail == line.rail),
            len(group) if key[0] == "run" else 1,
            line.colour,
            self._serves(key[0], line),
        )

    def _hold(self, resistor: Resistor) -> Laid:
        across = tuple(self.terminal(end) for end in resistor.across)
        made = Made(resistor.ohm, show(resistor.ohm, DIMENSIONS[Ohms], digits=6))
        item = across[0].item
        return Laid(("hold", item), f"hold resistor of {item}", tuple(end.name for end in across), made)

    # --- ends ------------------------------------------------------------------------------------------------------
    def _way(self, group: list[Line]) -> tuple[str, ...]:
        """The way of a wire, from where its first part begins; where a changeover chooses, from either."""
        line = group[0]
        end = self.terminal(line.end)
        here = end.item if end.passes else end.name
        start = self.terminal(line.start)
        if not start.passes:
            return start.name, here
        before = self.to_contact.get((line.start.owner, line.start.part), [])
        own = [one for one in before if one.subject == line.subject] or before
        ways = [self._way([one]) for one in own]
        if not ways:
            return start.item, here
        return " or ".join(dict.fromkeys(way[0] for way in ways)), *ways[0][1:], here

    def _pair(self, group: list[Line]) -> tuple[str, ...]:
        """Of a pair: from what to what, as both conductors go."""
        return tuple(end.partition(":")[0] for end in self._way(group))

    def _taps(self, group: list[Line]) -> tuple[str, ...]:
        """Where the drops to the detected and those to the common rail begin."""
        return tuple(dict.fromkeys(self.terminal(line.start).name for line in group))

    def _ties(self, group: list[Line]) -> tuple[str, ...]:
        """Where the wires to the points' contact come from, that for the through leg first, and the frog."""
        ties = {line.end.spot: self.terminal(line.start).name for line in group if line.kind == "frog tie"}
        return ties["through"], ties["diverging"], next(line.end.name for line in group if line.kind == "frog")

    # --- blocks ----------------------------------------------------------------------------------------------------
    @cached_property
    def _fed(self) -> dict[tuple[str, str, int | None], tuple[str, ...]]:
        """What feeds -> the blocks that it serves: a district, or a bank of a board."""
        found: dict[tuple[str, str, int | None], list[str]] = {}
        for name, fed in self.study.wiring.fed.items():
            if fed.district is not None:
                found.setdefault(("district", fed.district, None), []).append(name)
            if fed.board is not None:
                found.setdefault(("bank", fed.board.name, fed.bank), []).append(name)
        return {key: tuple(names) for key, names in found.items()}

    def _serves(self, kind: str, line: Line) -> tuple[str, ...]:
        if kind == "bank":
            return self._fed.get(("bank", line.end.owner, int(line.end.spot.removeprefix(FEED) or 1)), ())
        if kind in ("feed", "tie"):
            return self._fed.get(("district", line.subject, None), ())
        if kind == "frog":
            return (str(self.study.layout.turnouts[line.subject].block),)
        if kind == "panel":
            return (line.end.owner,) if line.end.kind == "block" else ()
        return () if kind == "run" else line.blocks or (line.subject,)


def _named(key: tuple[str, ...]) -> str:
    """What a wire is called, by its key."""
    kind, what, *more = key
    if kind == "bank":
        number = more[0].removeprefix(FEED)
        return f"feed of {what}" + (f" bank {number}" if number else "")
    if kind == "common" and what == "harness":
        return f"common bus of {more[0]}" + (f" from {more[1]}" if more[1] else "")
    words = {"feed": "feed pair of", "run": "run", "common": "common of", "tie": "tie of", "panel": "panel wire of"}
    return f"{words.get(kind, f'{kind} of')} {more[0] if kind == 'common' else what.partition(':')[0]}"
