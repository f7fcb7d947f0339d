"""Closed ways of track that turn a train round: where a rail comes back to its start as the other one.

Within a block each rail runs from end to end. Where unlike ends meet (far to near) it goes on as the same rail, where
like ends meet (far to far) as the other one. Which rail of a block is detected may be chosen so that this matters
nowhere, unless a closed way has an odd number of like ends: then somewhere on it the two meet. (A signed graph is
balanced where no closed way has an odd number of negative edges: Harary, 1953.)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Layout


class Way(NamedTuple):
    """A closed way that turns trains round: its blocks in order, and the joints between them by number; the last joint
    closes it."""

    blocks: tuple[str, ...]
    joints: tuple[int, ...]


def turned_ways(layout: Layout, joints: Iterable[int]) -> Iterator[Way]:
    """One way for every joint, of those given, that closes one with an odd number of like ends."""
    return _closed(layout, joints, odd=True)


def rings(layout: Layout, joints: Iterable[int]) -> Iterator[Way]:
    """One way for every joint, of those given, that closes one with an even number of like ends."""
    return _closed(layout, joints, odd=False)


def _closed(layout: Layout, joints: Iterable[int], odd: bool) -> Iterator[Way]:
    meets: dict[str, list[tuple[str, int, bool]]] = {}
    for index in joints:
        one, other = map(str, layout.joints[index].blocks)
        like = len({*layout.joints[index].ends}) == 1
        meets.setdefault(one, []).append((other, index, like))
        meets.setdefault(other, []).append((one, index, like))
    turned: dict[str, bool] = {}
    back: dict[str, tuple[str, int] | None] = {}
    for start in sorted(meets, key=natural_key):
        if start in turned:
            continue
        turned[start], back[start] = False, None
        row, used = [start], set[int]()
        for block in row:  # it grows: breadth first, so that ways are short
            for beyond, index, like in meets[block]:
                if index in used:
                    continue
                used.add(index)
                if beyond not in turned:
                    turned[beyond], back[beyond] = turned[block] ^ like, (block, index)
                    row.append(beyond)
                elif (turned[beyond] != turned[block] ^ like) is odd:
                    yield _way(back, block, beyond, index)


def _way(back: dict[str, tuple[str, int] | None], one: str, other: str, closing: int) -> Way:
    """From a block up to where the ways of both to the start meet, down to the other, and by the joint back."""
    (left, left_by), (right, right_by) = _up(back, one), _up(back, other)
    while len(left) > 1 and len(right) > 1 and left[-2] == right[-2]:
        left, right, left_by, right_by = left[:-1], right[:-1], left_by[:-1], right_by[:-1]
    return Way((*left, *right[-2::-1]), (*left_by, *right_by[::-1], closing))


def _up(back: dict[str, tuple[str, int] | None], block: str) -> tuple[list[str], list[int]]:
    blocks, joints = [block], list[int]()
    step = back[block]
    while step is not None:
        blocks.append(step[0])
        joints.append(step[1])
        step = back[step[0]]
    return blocks, joints
