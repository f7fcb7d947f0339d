"""Selections: ``3-7``, ``lower:3-7``, ``S3,I4``, a group's name; the same on the command line and in the file.

On the command line a control can be set among them too: ``S3,route=5``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from blockcheck.core.errors import CallError
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.words import cut_short
from blockcheck.model.tables.selectors import contact, tracks_of
from blockcheck.model.wiring import Wiring
from blockcheck.text.ranges import RangeError, names_of

_NUMBER = re.compile("[0-9]{1,9}")
_NO_GROUP = 'no block has a group; write group = "..." below its header'


class Selected(NamedTuple):
    """What a selection names, each in natural order and once."""

    blocks: tuple[str, ...] = ()
    isolators: tuple[str, ...] = ()


def select(wiring: Wiring, text: str) -> Selected:
    """Resolve a selection. Raises CallError, with the candidates, for what matches nothing or is ambiguous."""
    blocks: set[str] = set()
    isolators: set[str] = set()
    items = [item.strip() for item in text.split(",")]
    if not any(items):
        raise CallError("the selection is empty", "name tracks, blocks, isolators or a group, such as 3-7 or lower:3-7")
    for item in filter(None, items):
        for kind, name in _item(wiring, item):
            (blocks if kind == "block" else isolators).add(name)
    return Selected(tuple(sorted(blocks, key=natural_key)), tuple(sorted(isolators, key=natural_key)))


def parted(wiring: Wiring, text: str) -> tuple[str | None, dict[str, str]]:
    """A selection without the controls that are set in it (None where nothing else is), and control -> position. Raises
    CallError for one that is set to two positions, or to none."""
    items = text.split(",")
    moves = [one for one in items if "=" in one and not _is_name(wiring, one.strip())]
    rest = ",".join(one for one in items if one not in moves)
    moved = dict[str, str]()
    for name, _, place in ((part.strip() for part in one.partition("=")) for one in moves):
        if not name or not place:
            raise CallError(f"{shown(f'{name}={place}')} sets nothing", "write a control and its position: route=5")
        if moved.setdefault(name, place) != place:
            raise CallError(f"{name} is set to {shown(moved[name])} and to {shown(place)}", "set it once")
    return (rest if rest.strip(" ,") or not moved else None), moved


def _is_name(wiring: Wiring, item: str) -> bool:
    """Whether an item with an equals sign is what the layout calls something."""
    layout, groups = wiring.layout, wiring.groups
    known = item in wiring.fed or item in layout.isolators or item in layout.selectors or item in groups
    return known or item.partition(":")[0].strip() in groups


def select_blocks(wiring: Wiring, text: str) -> tuple[str, ...]:
    """The blocks of a selection; an isolator in it stands for the blocks that it is meant to isolate."""
    found = select(wiring, text)
    blocks = {*found.blocks, *(block for name in found.isolators for block in wiring.meant[name])}
    return tuple(sorted(blocks, key=natural_key))


def select_isolators(wiring: Wiring, text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The isolators of a selection, a block standing for those meant for it; and the blocks that have none.

    One that would put others to sleep too, such as the master switch of a yard, stays closed where another cuts.
    """
    found = select(wiring, text)
    isolators, chosen = set(found.isolators), {*found.blocks}
    without = []
    for block in found.blocks:
        mine = wiring.isolators_of[block]
        able = [one for one in mine if _cuts(wiring, one)]
        alone = [one for one in able if chosen.issuperset(wiring.meant[one])]
        isolators.update(alone or able or mine)
        if not mine:
            without.append(block)
    return tuple(sorted(isolators, key=natural_key)), tuple(without)


def _cuts(wiring: Wiring, isolator: str) -> bool:
    own = wiring.layout.isolators[isolator]
    return own.contact == "on-off" or own.centre_off


def _item(wiring: Wiring, item: str) -> Iterator[tuple[str, str]]:
    groups = wiring.groups
    group, colon, rest = item.partition(":")
    if colon:
        group, rest = group.strip(), rest.strip()
        if not group:
            raise CallError(f"{shown(item)} names no group", "write a group before the colon, such as lower:3-7")
        if group not in groups:
            known = did_you_mean(group, groups) or (_list("the groups are", groups) if groups else _NO_GROUP)
            raise CallError(f"there is no group {shown(group)}", known)
        if not rest:
            raise CallError(f"{shown(item)} names no track", f'write tracks behind the colon, or "{group}" for all')
        yield from _within(wiring, rest, group)
        return
    if item in groups:
        if item in wiring.fed and [*groups[item]] != [item]:
            raise CallError(f"{shown(item)} is both a block and a group", f"write {item}:{item} for the block")
        yield from (("block", name) for name in groups[item])
        return
    yield from _within(wiring, item, None)


def _within(wiring: Wiring, text: str, group: str | None) -> Iterator[tuple[str, str]]:
    try:
        names = names_of(text) or (text,)
    except RangeError as error:
        raise CallError(error.message, error.help) from None
    known = wiring.fed if group is None else wiring.groups[group]
    selector = wiring.layout.selectors.get(text) if group is None and text not in known else None
    if selector is not None:
        yield from (("isolator", contact(text, track)) for track in tracks_of(selector) if track in wiring.fed)
        return
    for name in names:
        matches = [("block", name)] if name in known else []
        if group is None and name in wiring.layout.isolators:
            matches.append(("isolator", name))
        if not matches and _NUMBER.fullmatch(name):
            matches = [("block", block) for block in wiring.blocks_of_track.get(int(name), ()) if block in known]
        if len(matches) == 1:
            yield matches[0]
            continue
        raise _no_match(wiring, name, group, matches)


def _no_match(wiring: Wiring, name: str, group: str | None, matches: list[tuple[str, str]]) -> CallError:
    is_number = _NUMBER.fullmatch(name) is not None
    if matches:
        candidates = []
        for kind, one in matches:
            home = wiring.layout.blocks[one].group if kind == "block" else None
            candidates.append(f"{home}:{name}" if home and is_number else f"{one} (the {kind})")
        what = f"track {name}" if is_number else shown(name)
        return CallError(f"{what} is ambiguous", f"it may be {' or '.join(candidates)}")
    where = f" in {group}" if group is not None else ""
    blocks = wiring.fed if group is None else wiring.groups[group]
    if is_number:
        numbers = sorted({wiring.tracks[block] for block in blocks if block in wiring.tracks})
        return CallError(f"there is no track {name}{where}", _list("the tracks are", map(str, numbers)))
    layout = wiring.layout
    others = (*layout.isolators, *layout.selectors, *wiring.groups)
    everything = [*blocks] if group is not None else [*blocks, *others]
    near = did_you_mean(name, everything)
    kinds = "block or track" if group is not None else "block, isolator, group or track"
    return CallError(f"{shown(name)}{where} is no {kinds}", near or _list("there are", everything))


def _list(words: str, names: Iterable[str]) -> str:
    found = list(names)
    listed = cut_short(found, 20)
    return f"{words} {listed}" if found else "there are none"
