"""Layouts with less in them: any keys, tables and list items taken away from a layout as TOML has it."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator
from typing import Any

Place = tuple[str | int, ...]


def places(value: Any, so_far: Place = ()) -> Iterator[Place]:
    """The way to everything that can be taken away: keys, tables, items of lists; outer ones first."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in inner:
        yield (*so_far, key)
        yield from places(one, (*so_far, key))


def without(values: dict[str, Any], away: Iterable[Place]) -> dict[str, Any]:
    """A copy with some places taken away. A place inside another that goes, goes with it."""
    left = copy.deepcopy(values)
    for place in away:
        _remove(left, place)
    return {key: _whole(one) for key, one in left.items() if one is not _GONE}


_GONE = object()


def _remove(value: Any, place: Place) -> None:
    for step in place[:-1]:
        value = value[step]
        if value is _GONE:
            return
    value[place[-1]] = _GONE  # the items of a list keep their numbers until all is done


def _whole(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _whole(one) for key, one in value.items() if one is not _GONE}
    if isinstance(value, list):
        return [_whole(one) for one in value if one is not _GONE]
    return value
