"""Blocks that other blocks feed by their rails alone, and points that pass power to one leg only."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import evolve

from blockcheck.model.layout import Layout


def feeder_of(layout: Layout, block: str) -> str | None:
    """The block that feeds one by its rails, as it says: that of the turnout where it names one."""
    named = layout.blocks[block].fed_through
    turnout = layout.turnouts.get(named) if named is not None and named not in layout.blocks else None
    return str(turnout.block) if turnout is not None else named


def hosts(layout: Layout) -> Mapping[str, str | None]:
    """Block fed through others -> the one among them that has a feed; None where there is none."""
    return {name: _host(layout, name) for name, block in layout.blocks.items() if block.fed_through is not None}


def _host(layout: Layout, name: str) -> str | None:
    seen = {name}
    while layout.blocks[name].fed_through is not None:
        before = feeder_of(layout, name)
        if before not in layout.blocks or before in seen:
            return None
        name = str(before)
        seen.add(name)
    return name


def with_harnesses(layout: Layout) -> Layout:
    """A layout in which what is fed through another block has that one's kind of rail, where it tells none."""
    found = hosts(layout)
    blocks = {
        name: evolve(layout.blocks[name], harness=layout.blocks[host].harness)
        for name, host in found.items()
        if host is not None and layout.blocks[name].harness is None
    }
    return evolve(layout, blocks={**layout.blocks, **blocks}) if blocks else layout
