"""Rotary switches: each of their contacts is an isolator, and what one shaft moves is an interlock.

So whatever is proved, computed and listed of isolators is of these contacts too, in the states that the switch has.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from attrs import evolve

from blockcheck.model.keys import Name, Reason
from blockcheck.model.layout import Block, Interlock, Isolator, Layout, PoleRef, Selector
from blockcheck.text.document import Document
from blockcheck.text.ranges import RangeError, names_of

OFF = "off"


def contact(selector: str, track: str) -> str:
    """What the contact of a track is called: ``R/S3``."""
    return f"{selector}/{track}"


def selector_of(layout: Layout, isolator: str) -> Selector | None:
    """The rotary switch that an isolator is a contact of."""
    return layout.selectors.get(isolator.partition("/")[0]) if "/" in isolator else None


def tracks_of(selector: Selector) -> tuple[str, ...]:
    """The blocks that a selector names, ranges written out, each once; what reads as a range and is none by itself."""
    return tuple(dict.fromkeys(name for text in selector.tracks for name in _names(text)))


def _names(text: str) -> tuple[str, ...]:
    try:
        return names_of(text) or (text,)
    except RangeError:
        return (text,)  # the linker tells it


def places(selector: Selector) -> tuple[str, ...]:
    """The positions of a selector: its blocks, and off."""
    return (*tracks_of(selector), *((OFF,) if selector.off else ()))


def usual_place(selector: Selector) -> str:
    """Where a selector usually stands."""
    return str(selector.usually or (OFF if selector.off else next(iter(tracks_of(selector)), OFF)))


def one_pole(layout: Layout, blocks: Iterable[str]) -> bool:
    """Whether the pole of one selector chooses between blocks, so that in no state two of them hang on its channel."""
    return any(one.wired == "pole" and {*blocks} <= {*tracks_of(one)} for one in layout.selectors.values())


def stands(selector: Selector, place: str) -> Mapping[str, str]:
    """The positions of a selector's contacts while it stands at a place."""
    return {contact(selector.name, one): "closed" if one == place else "open" for one in tracks_of(selector)}


def place_of(selector: Selector, positions: Mapping[str, str]) -> str:
    """Where a selector stands by the positions of its contacts."""
    closed = (one for one in tracks_of(selector) if positions.get(contact(selector.name, one)) == "closed")
    return next(closed, OFF)


def with_contacts(document: Document, layout: Layout) -> Layout:
    """A layout with the contacts of its selectors as isolators, and each switch as interlocks of them.

    The document is told where they stand: what is said of them points at their switch.
    """
    if not layout.selectors:
        return layout
    isolators, blocks = {**layout.isolators}, {**layout.blocks}
    interlocks = [evolve(one, never=_in_contacts(layout, one.never)) for one in layout.interlocks]
    for selector in layout.selectors.values():
        where = document.layers[("selectors", selector.name)]
        for made in _isolators(selector):
            isolators.setdefault(made.name, made)
            document.layers.setdefault(("isolators", made.name), where)
        for track in tracks_of(selector):
            if track in blocks:
                blocks[track] = _behind(blocks[track], contact(selector.name, track))
        for one in _shaft(selector):
            document.layers[("interlocks", len(interlocks))] = where
            interlocks.append(one)
    return evolve(layout, isolators=isolators, blocks=blocks, interlocks=tuple(interlocks))


def _isolators(selector: Selector) -> Iterator[Isolator]:
    usual = stands(selector, usual_place(selector))
    for track in tracks_of(selector):
        name = contact(selector.name, track)
        yield Isolator(
            name=name,
            poles=selector.poles,
            usually=Name(usual[name]),
            contact_resistance_ohm=selector.contact_resistance_ohm,
            rating_a=selector.rating_a,
            panel=selector.panel,
        )


def _behind(block: Block, name: str) -> Block:
    return evolve(block, isolated_by=(PoleRef(name), *block.isolated_by))


def _shaft(selector: Selector) -> Iterator[Interlock]:
    """At most one contact is closed; without an off position never all are open."""
    names = [Name(contact(selector.name, track)) for track in tracks_of(selector)]
    because = f"{selector.name} is one switch"
    if len(names) > 1:
        yield Interlock(controls=tuple(names), at_most_one=Name("closed"), because=Reason(because))
    if names and not selector.off:
        yield Interlock(never=dict.fromkeys(names, Name("open")), because=Reason(because))


def _in_contacts(layout: Layout, never: Mapping[Name, Name]) -> Mapping[Name, Name]:
    """Positions of selectors as those of their contacts, as far as they exist."""
    found: dict[Name, Name] = {}
    for name, place in never.items():
        selector = layout.selectors.get(name)
        if selector is None or place not in places(selector):
            found[name] = place
        elif place == OFF:
            found |= {Name(one): Name(stand) for one, stand in stands(selector, OFF).items()}
        else:
            found[Name(contact(name, place))] = Name("closed")
    return found
