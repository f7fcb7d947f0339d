"""Interlocks: which states of the controls cannot be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from attrs import frozen

from blockcheck.core.words import listed
from blockcheck.model.layout import Interlock, Layout
from blockcheck.text.ranges import names_of


@frozen
class Bar:
    """Of some controls at some positions at most ``most`` hold at once; ``index`` is that of the interlock."""

    holds: tuple[tuple[str, str], ...]
    most: int
    index: int

    def broken(self, state: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
        """What holds in a state, where that is more than may; else nothing."""
        held = tuple(one for one in self.holds if state.get(one[0]) == one[1])
        return held if len(held) > self.most else ()

    def given(self, control: str, position: str) -> Bar:
        """What it leaves to the others with a control at a position."""
        rest = tuple(one for one in self.holds if one[0] != control)
        return Bar(rest, self.most - ((control, position) in self.holds), self.index)


def bars(layout: Layout) -> tuple[Bar, ...]:
    """What the interlocks keep out. A position that never holds with one of an unknown control is not kept out."""
    return tuple(_bars(layout))


def _bars(layout: Layout) -> Iterator[Bar]:
    for index, one in enumerate(layout.interlocks):
        if one.at_most_one is not None:
            known = [name for name in controls_of(layout, one) if name in layout.isolators or name in layout.turnouts]
            yield Bar(tuple((name, str(one.at_most_one)) for name in known), 1, index)
        elif all(name in layout.isolators or name in layout.turnouts for name in one.never):
            yield Bar(tuple((str(name), str(place)) for name, place in one.never.items()), len(one.never) - 1, index)


def controls_of(layout: Layout, interlock: Interlock) -> tuple[str, ...]:
    """The controls of which at most one has a position, ranges written out, each once."""
    known = {*layout.isolators, *layout.turnouts}
    parts = ((text,) if text in known else names_of(text) or (text,) for text in interlock.controls)
    return tuple(dict.fromkeys(name for part in parts for name in part))


def says(interlock: Interlock) -> str:
    """An interlock in words, with its reason: ``at most one of I1-I4 is closed, because ...``."""
    if interlock.at_most_one is not None:
        rule = f"at most one of {listed(interlock.controls)} is {placed(str(interlock.at_most_one))}"
    else:
        rule = f"never {standing(tuple(interlock.never.items()))}"
    return f"{rule}, because {interlock.because}"


def standing(held: tuple[tuple[str, str], ...]) -> str:
    """Controls and where they stand: ``I1 and I2 closed``, ``I3 closed and X1 at east``."""
    places: dict[str, list[str]] = {}
    for name, place in held:
        places.setdefault(place, []).append(name)
    return " and ".join(f"{listed(names, 6)} {placed(place)}" for place, names in places.items())


def placed(position: str) -> str:
    """A position in words: ``closed``, ``off``, ``at east``."""
    return position if position in ("closed", "open", "off", "through", "diverging") else f"at {position}"
