"""Rows that differ by number only, as one: ``D1:1-10 > I1-10:in``, ten times."""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterable, Iterator, Sequence

from attrs import evolve, frozen

_NUMBER = re.compile(r"(\d+)")
_AGAIN = "and again"
_Numbers = tuple[int, ...]


@frozen
class Row:
    """What may be taken together: ``texts`` whose numbers may count up from row to row, a ``colour`` that may differ,
    and ``rest``, which must be the same."""

    texts: tuple[str, ...]
    colour: str | None = None
    rest: tuple[Hashable, ...] = ()


@frozen
class Ranged:
    """Rows taken together: ``texts`` with ranges, the colours in their order, and of how many rows."""

    texts: tuple[str, ...]
    colour: str
    rest: tuple[Hashable, ...]
    count: int


def ranged(rows: Iterable[Row]) -> Iterator[Ranged]:
    """Rows in the order of the first of each; those of which the same numbers grow by one from each to the next are
    one row, as many as can be, of one colour rather than of several."""
    groups: dict[tuple[object, ...], dict[_Numbers, tuple[int, Row]]] = {}
    found: list[tuple[int, Ranged]] = []
    for place, row in enumerate(rows):
        stems = tuple(tuple(_NUMBER.split(text)[::2]) for text in row.texts)
        members = groups.setdefault((stems, row.rest, row.colour is None), {})
        numbers = _numbers(row)
        if numbers is None or numbers in members:
            found.append((place, _joined([row])))
        else:
            members[numbers] = place, row
    for members in groups.values():
        found += _chains(members)
    return (one for _, one in sorted(found, key=lambda one: one[0]))


def _numbers(row: Row) -> _Numbers | None:
    """The numbers in its texts; None where one is not written as numbers are counted."""
    found = [number for text in row.texts for number in _NUMBER.findall(text)]
    odd = any(len(number) > 9 or (number != "0" and number[0] == "0") for number in found)
    return None if odd else tuple(map(int, found))


def _chains(members: dict[_Numbers, tuple[int, Row]]) -> Iterator[tuple[int, Ranged]]:
    """The members in as few chains as taking the longest from the first that is left makes."""
    left = dict(members)
    while left:
        first = next(iter(left))
        chain = max(
            (_chain(left, first, step) for step in _steps(left, first)),
            key=lambda one: (len(one), -len({left[numbers][1].colour for numbers in one})),
            default=[first],
        )
        yield left[first][0], _joined([left[numbers][1] for numbers in chain])
        for numbers in chain:
            del left[numbers]


def _steps(left: dict[_Numbers, tuple[int, Row]], first: _Numbers) -> Iterator[_Numbers]:
    for other in left:
        step = tuple(after - before for before, after in zip(first, other, strict=True))
        if {*step} <= {0, 1} and 1 in step:
            yield step


def _chain(left: dict[_Numbers, tuple[int, Row]], first: _Numbers, step: _Numbers) -> list[_Numbers]:
    chain = [first]
    while (following := tuple(map(sum, zip(chain[-1], step, strict=True)))) in left:
        chain.append(following)
    return chain


def _joined(run: Sequence[Row]) -> Ranged:
    first, last = run[0], run[-1]
    texts = tuple(_range(*texts) for texts in zip(first.texts, last.texts, strict=True))
    return Ranged(texts, in_order([row.colour for row in run]), first.rest, len(run))


def _range(first: str, last: str) -> str:
    parts = zip(_NUMBER.split(first), _NUMBER.split(last), strict=True)
    return "".join(one if one == other else f"{one}-{other}" for one, other in parts)


def in_order(colours: Sequence[str | None]) -> str:
    """Colours one after the other: one alone where all are alike, and those that come back in turn once."""
    told = [one or "" for one in colours]
    turn = next(n for n in range(1, len(told) + 1) if all(one == told[i % n] for i, one in enumerate(told)))
    return ", ".join([*told[:turn], *([_AGAIN] if 1 < turn < len(told) else [])])


def labelled(rows: Iterable[Row]) -> Iterator[Ranged]:
    """As ``ranged``, and once more: rows with ranges that differ by another number are one row, of all that they stand
    for."""
    once = [(one, Row(one.texts, None, (one.count,))) for one in ranged(rows)]
    for again in ranged(row for _, row in once):
        yield evolve(again, count=again.count * int(str(again.rest[0])))
