"""Selections: ``3-7``, ``lower:3-7``, ``S3,I4``, a group's name; the same on the command line and in the file."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from blockcheck.core.errors import CallError
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import did_you_mean
from blockcheck.model.wiring import Wiring
from blockcheck.text.ranges import RangeError, names_of


@frozen
class Selected:
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


def select_blocks(wiring: Wiring, text: str) -> tuple[str, ...]:
    """The blocks of a selection; an isolator in it stands for the blocks that it is meant to isolate."""
    found = select(wiring, text)
    blocks = {*found.blocks, *(block for name in found.isolators for block in wiring.meant[name])}
    return tuple(sorted(blocks, key=natural_key))


def select_isolators(wiring: Wiring, text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The isolators of a selection, a block standing for those meant for it; and the blocks that have none."""
    found = select(wiring, text)
    isolators = set(found.isolators)
    without = []
    for block in found.blocks:
        mine = wiring.isolators_of[block]
        isolators.update(mine)
        if not mine:
            without.append(block)
    return tuple(sorted(isolators, key=natural_key)), tuple(without)


def _groups(wiring: Wiring) -> dict[str, list[str]]:
    groups: dict[str, list[str]] = {}
    for name in wiring.fed:
        group = wiring.layout.blocks[name].group
        if group is not None:
            groups.setdefault(group, []).append(name)
    return groups


def _item(wiring: Wiring, item: str) -> Iterator[tuple[str, str]]:
    groups = _groups(wiring)
    group, colon, rest = item.partition(":")
    if colon:
        group, rest = group.strip(), rest.strip()
        if group not in groups:
            known = did_you_mean(group, groups) or _list("the groups are", groups)
            raise CallError(f'there is no group "{group}"', known)
        yield from _within(wiring, item, rest, groups[group])
        return
    if item in groups:
        if item in wiring.fed and groups[item] != [item]:
            raise CallError(f'"{item}" is both a block and a group', f"write {item}:{item} for the block")
        yield from (("block", name) for name in groups[item])
        return
    yield from _within(wiring, item, item, None)


def _within(wiring: Wiring, item: str, text: str, within: list[str] | None) -> Iterator[tuple[str, str]]:
    try:
        names = names_of(text) or (text,)
    except RangeError as error:
        raise CallError(error.message, error.help) from None
    known = wiring.fed.keys() if within is None else within
    for name in names:
        matches = [("block", name)] if name in known else []
        if within is None and name in wiring.layout.isolators:
            matches.append(("isolator", name))
        if not matches and name.isascii() and name.isdecimal():
            number = int(name)
            matches = [("block", block) for block in known if wiring.tracks.get(block) == number]
        if len(matches) == 1:
            yield matches[0]
            continue
        raise _no_match(wiring, item, name, matches)


def _no_match(wiring: Wiring, item: str, name: str, matches: list[tuple[str, str]]) -> CallError:
    if matches:
        candidates = []
        for kind, one in matches:
            group = wiring.layout.blocks[one].group if kind == "block" else None
            candidates.append(f"{group}:{name}" if group and name.isdecimal() else f"{one} (the {kind})")
        what = f"track {name}" if name.isdecimal() else f'"{name}"'
        return CallError(f"{what} is ambiguous", f"it may be {' or '.join(candidates)}")
    where = f" in {item.partition(':')[0]}" if ":" in item else ""
    everything = [*wiring.fed, *wiring.layout.isolators, *_groups(wiring)]
    if name.isdecimal():
        numbers = sorted({wiring.tracks[block] for block in wiring.fed if block in wiring.tracks})
        return CallError(f"there is no track {name}{where}", _list("the tracks are", map(str, numbers)))
    near = did_you_mean(name, everything)
    return CallError(f'"{name}"{where} is no block, isolator, group or track', near or _list("there are", everything))


def _list(words: str, names: object) -> str:
    found = [str(name) for name in names]  # type: ignore[attr-defined]
    shown = ", ".join(found[:20]) + (f" and {len(found) - 20} more" if len(found) > 20 else "")
    return f"{words} {shown}" if found else "there are none"
