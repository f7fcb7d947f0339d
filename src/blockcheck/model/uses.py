"""Which of the things that a layout describes it uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, get_args

import attrs

from blockcheck.model.keys import Conductor, key_kinds
from blockcheck.model.layout import Layout
from blockcheck.model.tables.panels import controls_on
from blockcheck.model.wiring import Wiring


def uses(wiring: Wiring) -> Mapping[str, frozenset[str]]:
    """Table -> the names in it that something else of the layout refers to.

    A board whose free channels are not all listed as spare is told by those, and counts as used.
    """
    layout = wiring.layout
    named = {name for train in layout.trains.values() for name in train.vehicles}
    named |= {one.load for district in layout.districts.values() for one in district.expects}
    placed = {str(train) for scenario in layout.scenarios.values() for train in scenario.at}
    found: dict[str, set[str | None]] = {
        "boosters": {one.booster for one in layout.districts.values()},
        "districts": {
            *(name for one in wiring.fed.values() for name in (one.district, one.block.district)),
            *(name for one in layout.isolators.values() for name in one.between or ()),
        },
        "board_types": {one.type for one in layout.boards.values()},
        "boards": {
            *(one.block.channel.board for one in wiring.fed.values() if one.block.channel is not None),
            *(name for name in layout.boards if not _all_spare(layout, name)),
        },
        "harnesses": {one.harness for one in layout.blocks.values()},
        "wires": {*_conductors(layout, Layout)},
        "panels": {name for name in layout.panels if controls_on(layout, name)},
        "rails": {one.rail for one in layout.harnesses.values()},
        "loads": {*named},
        "trains": {*(name for name, one in layout.trains.items() if one.at is not None), *placed},
    }
    return {table: frozenset(str(name) for name in names if name is not None) for table, names in found.items()}


def _all_spare(layout: Layout, board: str) -> bool:
    kind = layout.board_types.get(layout.boards[board].type)
    return kind is not None and len({*layout.boards[board].spare}) >= kind.channels


def _conductors(value: Any, hint: Any) -> Iterator[str]:
    """Whatever stands in a layout where a conductor is wanted: a size, or the name of a wire."""
    if value is None or not _wired(hint):
        return
    if isinstance(value, str):
        yield value
    elif attrs.has(type(value)):
        for name, inner in key_kinds(value.__class__).items():
            yield from _conductors(getattr(value, name), inner)
    else:
        for one in value.values() if isinstance(value, Mapping) else value:
            yield from _conductors(one, hint)


@cache
def _wired(hint: Any) -> bool:
    """Whether a conductor may stand somewhere in a value of a kind."""
    inner = key_kinds(hint).values() if attrs.has(hint) else get_args(hint)
    return hint is Conductor or any(map(_wired, inner))
