"""A failing case made small: halves of its lines, asks and words are taken away as long as it fails alike."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from attrs import evolve

from tests.fuzz.cases import Case


def smaller(case: Case, fails: Callable[[Case], bool], seconds: float = 60.0) -> Case:
    """The smallest case that is found in so much time."""
    end = time.monotonic() + seconds
    found = True
    while found and time.monotonic() < end:
        found = False
        for less in fewer(case):
            if time.monotonic() > end:
                break
            if fails(less):
                case, found = less, True
                break
    return case


def fewer(case: Case) -> Iterator[Case]:
    """Cases that have less of something, those that have much less first."""
    for name in case.files:
        if len(case.files) > 1:
            yield evolve(case, files={one: data for one, data in case.files.items() if one != name})
    for asks in halves(case.asks):
        if asks:
            yield evolve(case, asks=tuple(asks))
    for name, data in case.files.items():
        for lines in halves(data.splitlines(keepends=True)):
            yield evolve(case, files={**case.files, name: b"".join(lines)})
    for number, ask in enumerate(case.asks):
        if case.room not in ("live", "lsp"):
            for words in halves(ask[1:]):
                yield evolve(case, asks=(*case.asks[:number], (*ask[:1], *words), *case.asks[number + 1 :]))


def halves(parts: Sequence[Any]) -> Iterator[list[Any]]:
    """All but a half, all but a quarter, ... all but one."""
    size = len(parts) // 2 or (1 if parts else 0)
    while size:
        for start in range(0, len(parts), size):
            yield [*parts[:start], *parts[start + size :]]
        size //= 2
