"""A block's wires and rails at their places: drops along the bus, the bench-work joints between them, the rails.

Everything here follows from the block and its harness alone; ``electric`` puts it into the network.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from blockcheck.circuit.parts import Edge
from blockcheck.core.spans import Path
from blockcheck.model.layout import Block, Feed, Harness, Isolator, Layout, Panel, Single
from blockcheck.model.standards import (
    COPPER_PER_KELVIN,
    NICKEL_SILVER_PER_KELVIN,
    RAILS,
    copper_resistance,
    parse_size,
    warmed,
)
from blockcheck.model.tables.panels import panel_of
from blockcheck.model.wiring import Fed

TINY = 1e-9
"""Places nearer than this, in metres, are one."""


class Ladder(NamedTuple):
    """What the network needs to know of a block. Metres from its near end, ohms per metre, ohms.

    ``drops_m`` are the places of the drops; ``lead_m`` the way from the board to the near end, of bus and common
    alike; ``segment_m`` the length between bench-work joints, or None where the buses are in one piece.
    """

    length_m: float
    lead_m: float
    drops_m: tuple[float, ...]
    bus_ohm_per_m: float
    common_ohm_per_m: float
    feeder_ohm: float
    rail_ohm_per_m: float
    segment_m: float | None
    joint_ohm: float

    def wire_ohm(self, ohm_per_m: float, start_m: float, end_m: float, whole_m: float) -> float:
        """Resistance of a bus of ``whole_m`` between two distances from the board, with the joints on that stretch.

        Two places that differ by rounding alone are one: a resistance of 1e-17 ohm would carry no current that shows.
        """
        metres = end_m - start_m if end_m - start_m > TINY else 0.0
        return ohm_per_m * metres + self.joint_ohm * bench_joints(self.segment_m, start_m, end_m, whole_m)


def bench_joints(segment_m: float | None, start_m: float, end_m: float, whole_m: float) -> int:
    """How many bench-work joints lie beyond one distance from the board and up to another, strictly inside the bus."""
    if segment_m is None or segment_m <= 0:
        return 0
    last = min(end_m, whole_m - 2 * TINY)
    return max(0, math.floor((last + TINY) / segment_m) - math.floor((start_m + TINY) / segment_m))


def drop_places(block: Block, harness: Harness) -> tuple[float, ...] | None:
    """The places of a block's drops: as listed, or each in the middle of an equal share; None where data lack."""
    if block.feeders_at_m is not None:
        return tuple(sorted(block.feeders_at_m))
    if block.length_m is None:
        return None
    if block.feeders is not None:
        count: int = block.feeders
    elif harness.feeder_spacing_m:
        count = max(1, math.ceil(block.length_m / harness.feeder_spacing_m - TINY))
    else:
        return None
    return tuple((i + 0.5) * block.length_m / count for i in range(count))


def conductor_ohm_per_m(layout: Layout, conductor: str) -> float | None:
    """Resistance of a conductor by its size or its wire's name; None for a wire that does not exist.

    A resistance that a wire states is that at 20 degC, and of copper.
    """
    temperature = layout.limits.conductor_temperature_c
    wire = layout.wires.get(conductor)
    if wire is not None and wire.resistance_ohm_per_m is not None:
        return wire.resistance_ohm_per_m * warmed(COPPER_PER_KELVIN, temperature)
    return _copper_ohm_per_m(wire.size if wire is not None else conductor, temperature)


def stretch_ohm(layout: Layout, stretch: Feed | Single | None) -> float:
    """Resistance of one conductor of a length; none of what is not told, or of a wire that does not exist."""
    return 0.0 if stretch is None else (conductor_ohm_per_m(layout, stretch.wire) or 0.0) * stretch.length_m


def panel_ohm(layout: Layout, panel: Panel | None, metres: float) -> float:
    """Resistance of so many metres of the wire to a panel; none of a wire that does not exist."""
    if panel is None or panel.wire is None:
        return 0.0
    return (conductor_ohm_per_m(layout, panel.wire) or 0.0) * metres


def contact_ohm(layout: Layout, isolator: Isolator, edge: Edge) -> float:
    """Resistance of a closed contact, with that of the wire back from the panel that it is on."""
    return isolator.contact_resistance_ohm + panel_ohm(layout, panel_of(layout, isolator), edge.panel_m)


@cache
def _copper_ohm_per_m(size: str, temperature_c: float) -> float | None:
    return copper_resistance(parse_size(size), temperature_c) if size[:1].isdecimal() else None


def rail_ohm_per_m(layout: Layout, rail: str) -> float | None:
    """Resistance of one rail of a kind, stated at 20 degC and of nickel silver; None for a kind that does not exist."""
    named = layout.rails.get(rail)
    if named is None and rail not in RAILS:
        return None
    ohms = named.resistance_ohm_per_m if named is not None else RAILS[rail].value
    return ohms * warmed(NICKEL_SILVER_PER_KELVIN, layout.limits.conductor_temperature_c)


def ladder(layout: Layout, fed: Fed, feeding: str | None) -> tuple[Ladder | None, tuple[Path, ...]]:
    """A block's ladder, or the data that it lacks: none where it is a name that does not resolve.

    ``feeding`` is the district that feeds it in the state that is looked at.
    """
    block, path = fed.block, ("blocks", fed.block.name)
    harness = layout.harnesses.get(block.harness) if block.harness is not None else None
    lacks: list[Path] = list(fed.missing)
    if block.length_m is None or block.length_m <= 0:
        lacks.append((*path, "length"))
    district = layout.districts.get(feeding) if feeding is not None else None
    if district is not None and district.feed is None:
        lacks.append(("districts", district.name, "feed"))
    if harness is None:
        lacks.append((*path, "harness"))
        return None, tuple(lacks)
    if fed.through is not None:
        return _rails_alone(layout, block, harness, lacks)
    wanted: dict[str, object] = {
        key: getattr(harness, key) for key in ("bus", "common", "feeder", "feeder_length_m", "rail")
    }
    wanted["lead"] = block.lead_m if block.lead_m is not None else harness.lead_m
    wanted["feeder_spacing"] = drop_places(block, harness) if block.length_m is not None else ()
    for key, value in wanted.items():
        if value is None:
            lacks.append(("harnesses", harness.name, key.removesuffix("_m")))
    if lacks:
        return None, tuple(lacks)
    feeds = (district.feed if district is not None else None, fed.board.feed if fed.board is not None else None)
    wires = [one.wire for one in feeds if one is not None]
    panels = (panel_of(layout, isolator) for isolator in fed.isolators)
    wires += [panel.wire for panel in panels if panel is not None and panel.wire is not None]
    if any(conductor_ohm_per_m(layout, one) is None for one in wires):
        return None, ()
    return _whole(layout, block, harness), ()


def _rails_alone(
    layout: Layout, block: Block, harness: Harness, lacks: list[Path]
) -> tuple[Ladder | None, tuple[Path, ...]]:
    """The ladder of a block without drops: its rails."""
    if harness.rail is None:
        lacks.append(("harnesses", harness.name, "rail"))
    rail = rail_ohm_per_m(layout, str(harness.rail))
    if lacks or rail is None or block.length_m is None:
        return None, tuple(lacks)
    return Ladder(block.length_m, 0.0, (), 0.0, 0.0, 0.0, rail, None, 0.0), ()


def _whole(layout: Layout, block: Block, harness: Harness) -> Ladder | None:
    places, lead_m = drop_places(block, harness), block.lead_m if block.lead_m is not None else harness.lead_m
    ohms = [conductor_ohm_per_m(layout, str(wire)) for wire in (harness.bus, harness.common, harness.feeder)]
    rail = rail_ohm_per_m(layout, str(harness.rail))
    if None in ohms or rail is None or places is None or lead_m is None:
        return None  # a name that does not resolve, which unknown-name reports
    bus, common, feeder = (float(one) for one in ohms if one is not None)
    assert block.length_m is not None
    assert harness.feeder_length_m is not None
    return Ladder(
        block.length_m,
        lead_m,
        places,
        bus,
        common,
        feeder * harness.feeder_length_m,
        rail,
        harness.segment_m,
        harness.joint_resistance_ohm,
    )


def rail_places(ladder: Ladder, marks: Sequence[float]) -> tuple[float, ...]:
    """The places at which a block's rails have nodes: ends, drops, middle and marks, each once, in order."""
    places: list[float] = []
    for place in sorted((0.0, ladder.length_m, ladder.length_m / 2, *ladder.drops_m, *marks)):
        clipped = min(max(place, 0.0), ladder.length_m)
        if not places or clipped - places[-1] > TINY:
            places.append(clipped)
    if ladder.length_m - places[-1] > 0:
        places[-1] = ladder.length_m if len(places) > 1 else places[-1]
    return tuple(places)
