"""Sections whose polarity changes, where they meet other track, and the shortest ways between those places.

A train takes a way that enters a block at one end and leaves it at the other, so a way is a row of blocks with lengths.
That a section is cut in both rails at both ends, and longer than the longest train, is common practice, no source.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from blockcheck.analysis.study import Study
from blockcheck.analysis.turnouts import End, opposite
from blockcheck.core.natural import natural_key
from blockcheck.core.pieces import pieces
from blockcheck.model.datum import datum
from blockcheck.model.operate import train_length


class Section(NamedTuple):
    """The blocks of a district whose polarity changes that hang together, in natural order. ``borders``: the joints, by
    number, at which they meet another district."""

    district: str
    blocks: tuple[str, ...]
    borders: tuple[int, ...]


class Stretch(NamedTuple):
    """The shortest way from one border to another: its blocks, their length in metres, and the lengths it lacks."""

    start: int
    end: int
    blocks: tuple[str, ...]
    length_m: float
    needs: tuple[str, ...]


def sections(study: Study) -> tuple[Section, ...]:
    """The sections of a layout, by their first blocks."""
    layout, fed = study.layout, study.wiring.fed
    turning = {name for name, district in layout.districts.items() if district.turns}
    homes = {name: str(one.district) for name, one in fed.items() if one.district in turning}
    names = sorted(homes, key=natural_key)
    number = {name: at for at, name in enumerate(names)}
    inside, borders = list[tuple[int, int]](), list[tuple[int, str]]()
    for index, joint in enumerate(layout.joints):
        one, other = map(str, joint.blocks)
        if homes.get(one) is not None and homes.get(one) == homes.get(other):
            inside.append((number[one], number[other]))
        else:
            borders += [(index, name) for name in (one, other) if name in homes]
    found: dict[int, list[str]] = {}
    piece = pieces(len(names), inside)
    for name in names:
        found.setdefault(piece[number[name]], []).append(name)
    return tuple(
        Section(homes[own[0]], tuple(own), tuple(index for index, name in borders if name in own))
        for own in found.values()
    )


class Longest(NamedTuple):
    """The longest train: its name, its length in metres; and what lacks to know that none is longer."""

    train: str | None
    length_m: float
    needs: tuple[str, ...]

    def lacks(self, way: Stretch) -> tuple[str, ...] | None:
        """What lacks to know that it fits a way; nothing where it is known to, None where it is known not to."""
        if way.length_m >= self.length_m * (1 - 1e-9):
            return self.needs
        return (*way.needs, *self.needs) if way.needs else None


def longest_train(study: Study) -> Longest:
    """The longest of all trains of the layout, wherever they stand."""
    needs, known = dict[str, None](), list[tuple[float, str]]()
    for name in sorted(study.layout.trains, key=natural_key):
        length, lacks = train_length(study.layout, name)
        needs.update(dict.fromkeys(lacks))
        if length is not None:
            known.append((length, name))
    most, train = max(known, default=(0.0, None))
    return Longest(train, most, tuple(needs))


def inside(study: Study, section: Section) -> Iterator[Stretch]:
    """From each border of a section through it to each border that a train can come to, each pair once."""
    own = frozenset(section.blocks)
    for start in section.borders:
        for one in _ways(study, start, own, section.borders):
            if start <= one.end:
                yield one


def outside(study: Study, section: Section, turning: Mapping[str, Section]) -> Iterator[Stretch]:
    """From each border of a section through track that keeps its polarity to borders of sections in ``turning``, which
    are by the names of blocks."""
    goals = {index for one in turning.values() for index in one.borders}
    own = frozenset(study.layout.blocks) - turning.keys()
    for start in section.borders:
        yield from (one for one in _ways(study, start, own, goals) if one.end != start)


def _ways(study: Study, start: int, own: frozenset[str], goals: tuple[int, ...] | set[int]) -> Iterator[Stretch]:
    """By Dijkstra's algorithm; a block of which no length is known counts nothing, and is named."""
    joints, blocks = study.layout.joints, study.layout.blocks
    heap: list[tuple[float, tuple[str, ...], End]] = []
    for name, into in zip(joints[start].blocks, joints[start].ends, strict=True):
        if name in own:
            heap.append((0.0, (str(name),), into))
    done, told = set[tuple[str, End]](), set[int]()
    while heap:
        length, way, end = heapq.heappop(heap)
        if (way[-1], end) in done:
            continue
        done.add((way[-1], end))
        length += blocks[way[-1]].length_m or 0.0
        leaving = opposite(end)
        for index in study.wiring.joints_at.get(way[-1], ()):
            for side in (0, 1):
                here, other = joints[index].blocks[side], str(joints[index].blocks[1 - side])
                if here != way[-1] or joints[index].ends[side] != leaving:
                    continue
                if index in goals and index not in told and other not in own:
                    told.add(index)
                    needs = tuple(datum("blocks", one, "length") for one in way if blocks[one].length_m is None)
                    yield Stretch(start, index, way, length, needs)
                elif other in own:
                    heapq.heappush(heap, (length, (*way, other), joints[index].ends[1 - side]))
