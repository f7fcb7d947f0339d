"""The plan of the track: panels of columns and rows, and what connects them.

A panel is a layered drawing (Sugiyama, Tagawa and Toda, 1981): loops are cut open, blocks stand in columns so that
track leads from left to right, columns are ordered by the mean place of their neighbours, and long connections pass
through every column between. So a yard comes out as parallel tracks between its throats, a line as a chain, and
anything else as near to that as it is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence

from attrs import evolve

from blockcheck.core.natural import natural_key
from blockcheck.core.pieces import pieces
from blockcheck.drawing.columns import layered
from blockcheck.drawing.maker import make
from blockcheck.drawing.meetings import Track
from blockcheck.drawing.panel import Panel

MOST_ROWS = 26
"""Blocks one above the other in one panel; more go on in another."""


def plan(
    track: Track, title: str, fits: Callable[[Panel], bool], width: Callable[[str], float], limit: float
) -> list[Panel]:
    """The panels of a layout. ``fits`` says whether a panel does on a page; ``width`` is that of a block in a chain."""
    layout = track.wiring.layout
    meet = [(one.left, one.right) for one in track.meetings]
    groups = _groups(track)
    found: list[Panel] = []
    loose: dict[str, list[str]] = {}
    for blocks in _connected(list(layout.blocks), meet):
        if len(blocks) == 1:
            loose.setdefault(groups[blocks[0]] or title, []).append(blocks[0])
            continue
        names = {groups[name] or title for name in blocks}
        one = (
            make(track, blocks, ", ".join(sorted(names, key=natural_key)))
            if _may(track, blocks, width, limit)
            else None
        )
        if one is not None and fits(one):
            found.append(one)
            continue
        for name in dict.fromkeys(groups[block] or title for block in blocks):
            for piece in _connected([block for block in blocks if (groups[block] or title) == name], meet):
                found += _split(track, piece, name, fits, width, limit)
    for name, blocks in loose.items():
        found += _loose(track, blocks, name, fits)
    seen: set[str] = set()
    for number, panel in enumerate(found):
        if panel.title in seen:
            found[number] = evolve(panel, title=f"{panel.title}, continued")
        seen.add(panel.title)
    return found


def _connected(blocks: Sequence[str], meet: Iterable[tuple[str, str]]) -> list[list[str]]:
    """The blocks in groups of those that hang together by themselves, in their order."""
    at = {block: number for number, block in enumerate(blocks)}
    found: dict[int, list[str]] = {}
    joined = pieces(len(at), ((at[a], at[b]) for a, b in meet if a in at and b in at))
    for block, piece in zip(blocks, joined, strict=True):
        found.setdefault(piece, []).append(block)
    return list(found.values())


def _may(track: Track, blocks: list[str], width: Callable[[str], float], limit: float) -> bool:
    """Whether it is worth trying to put connected blocks into one panel."""
    inside = {*blocks}
    layers, _ = layered(blocks, [one for one in track.meetings if one.left in inside and one.right in inside])
    widest: dict[int, float] = {}
    for name in blocks:
        widest[layers[name]] = max(widest.get(layers[name], 0.0), width(name))
    return sum(widest.values()) <= limit and len(blocks) <= MOST_ROWS * len(widest)


def _groups(track: Track) -> dict[str, str | None]:
    """Block -> its group; one that names none belongs to the group that most of its neighbours belong to."""
    layout = track.wiring.layout
    found: dict[str, str | None] = {name: block.group for name, block in layout.blocks.items()}
    counts: dict[str, Counter[str]] = {}
    for one in track.meetings:
        for block, other in ((one.left, one.right), (one.right, one.left)):
            group = layout.blocks[other].group
            if layout.blocks[block].group is None and group is not None:
                counts.setdefault(block, Counter())[group] += 1
    for block, counted in counts.items():
        found[block] = min(counted, key=lambda group: (-counted[group], natural_key(group)))
    return found


def _loose(track: Track, blocks: list[str], title: str, fits: Callable[[Panel], bool]) -> list[Panel]:
    """Blocks that meet no other, in order from left to right, as many side by side as the page takes."""
    blocks = sorted(blocks, key=natural_key)
    for across in (4, 3, 2, 1):
        step = across * (MOST_ROWS // 2)
        found = []
        for start in range(0, len(blocks), step):
            some = blocks[start : start + step]
            found.append(make(track, some, title, {name: number % across for number, name in enumerate(some)}))
        if all(map(fits, found)):
            break
    return found


def _split(
    track: Track,
    blocks: list[str],
    title: str,
    fits: Callable[[Panel], bool],
    width: Callable[[str], float],
    limit: float,
) -> list[Panel]:
    """Connected blocks in as many panels as it takes: tall columns are cut first, then long rows."""
    found: list[Panel] = []
    left = [blocks]
    while left:
        some = left.pop(0)
        inside = {*some}
        layers, _ = layered(some, [one for one in track.meetings if one.left in inside and one.right in inside])
        columns: dict[int, list[str]] = {}
        for name in sorted(some, key=natural_key):
            columns.setdefault(layers[name], []).append(name)
        tall = next((names for _, names in sorted(columns.items()) if len(names) > MOST_ROWS), None)
        if tall is not None and len(tall) < len(some):
            left = [[name for name in some if name not in tall[MOST_ROWS:]], tall[MOST_ROWS:], *left]
            continue
        if tall is not None:
            left = [tall[:MOST_ROWS], tall[MOST_ROWS:], *left]
            continue
        count, used = 0, 0.0
        for _, names in sorted(columns.items()):
            used += max(map(width, names)) + 9
            if used > limit and count:
                break
            count += 1
        while True:
            kept = [name for name in some if layers[name] < count]
            panel = make(track, kept, title)
            if count == 1 or fits(panel):
                break
            count -= 1
        found.append(panel)
        rest = [name for name in some if layers[name] >= count]
        if rest:
            left.insert(0, rest)
    return found
