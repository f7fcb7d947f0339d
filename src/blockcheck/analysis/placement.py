"""Whether vehicles fit on tracks: packing lengths into lengths."""

from __future__ import annotations

from collections.abc import Sequence

MOST_STEPS = 20_000
_SLACK = 1e-9


def fits(vehicles: Sequence[float], tracks: Sequence[float]) -> bool | None:
    """Whether all vehicles can stand on the tracks, each whole on one; None where that is not decided in bounds.

    Lengths in one unit. Best-fit decreasing finds most ways; the sum of lengths and a bounded search decide the rest.
    """
    pending = sorted(vehicles, reverse=True)
    if sum(pending) > sum(tracks) * (1 + _SLACK):
        return False
    room = sorted(tracks)
    for length in pending:
        best = min((free for free in room if free >= length * (1 - _SLACK)), default=None)
        if best is None:
            return _search(pending, sorted(tracks))
        room.remove(best)
        room.append(best - length)
    return True


def _search(vehicles: list[float], tracks: list[float]) -> bool | None:
    steps = 0
    stack: list[tuple[int, tuple[float, ...]]] = [(0, tuple(tracks))]
    seen: set[tuple[int, tuple[float, ...]]] = set()
    while stack:
        steps += 1
        if steps > MOST_STEPS:
            return None
        index, room = stack.pop()
        if index == len(vehicles):
            return True
        for place, free in enumerate(room):
            if free >= vehicles[index] * (1 - _SLACK) and (place == 0 or room[place - 1] != free):
                after = (index + 1, tuple(sorted((*room[:place], *room[place + 1 :], free - vehicles[index]))))
                if after not in seen:
                    seen.add(after)
                    stack.append(after)
    return False
