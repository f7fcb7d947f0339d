"""The layout as it would be if the data that its wires and rails lack were the best that they could be.

What fails there fails whatever the missing data are: less resistance never lets less of a short through, nor leaves
less for a wheel (Rayleigh).
"""

from __future__ import annotations

from attrs import evolve

from blockcheck.analysis.study import Study
from blockcheck.circuit.ladder import conductor_ohm_per_m, drop_places, rail_ohm_per_m
from blockcheck.model.keys import Conductor, Name
from blockcheck.model.layout import Block, Booster, District, Feed, Harness, Layout, Rail, Wire
from blockcheck.model.quantities import Metres, Ohms, OhmsPerMetre
from blockcheck.model.standards import NICKEL_SILVER_PER_KELVIN, warmed

_NAME = Name("")
"""The harness of blocks that name none, and the rail without resistance; no table has that name."""
_WIRE, _NOTHING = Conductor(_NAME), OhmsPerMetre(0.0)
"""The wire without resistance."""
_OUTPUT = Ohms(1e-6)
"""Next to none, of a booster with a feed of none: it may feed a frog that shorts it."""
_NONE, _LITTLE = Metres(0.0), Metres(1e-6)
"""What counts as no length; a block has some."""


def at_best(study: Study) -> Study:
    """The study with what the wires and rails of its blocks lack filled in: without length, without resistance.

    A block of which it is not known what feeds it stays as it is.
    """
    wiring, layout = study.wiring, study.layout
    blocks = {name: _block(layout, block) for name, block in layout.blocks.items()}
    harnesses = {**layout.harnesses, _NAME: Harness(name=_NAME)}
    bare = {district.booster for district in layout.districts.values() if district.feed is None}
    filled = evolve(
        layout,
        wires={**layout.wires, _WIRE: Wire(name=_WIRE, size=Conductor("1 mm2"), resistance_ohm_per_m=_NOTHING)},
        rails={
            **layout.rails,
            _NAME: Rail(name=_NAME, resistance_ohm_per_m=_NOTHING),
            **{_beside(name): _rail(layout, one) for name, one in layout.harnesses.items()},
        },
        boosters={name: _booster(one) if name in bare else one for name, one in layout.boosters.items()},
        districts={name: _district(one) for name, one in layout.districts.items()},
        harnesses={name: _harness(layout, one) for name, one in harnesses.items()},
        blocks=blocks,
    )
    fed = {name: one._replace(block=blocks[name]) for name, one in wiring.fed.items()}
    return Study.of(evolve(wiring, layout=filled, fed=fed))


def _booster(booster: Booster) -> Booster:
    return evolve(booster, resistance_ohm=max(booster.resistance_ohm, _OUTPUT))


def _district(district: District) -> District:
    return district if district.feed is not None else evolve(district, feed=Feed(wire=_WIRE, length_m=_NONE))


def _block(layout: Layout, block: Block) -> Block:
    """A block whose drops are known nowhere has one, at its near end; its rails make up for the others. No block is
    shorter than to its last drop."""
    harness = layout.harnesses.get(block.harness) if block.harness is not None else None
    places = drop_places(block, harness) if harness is not None else None
    shortest = Metres(max((_LITTLE, *(places or ()))))
    return evolve(
        block,
        length_m=shortest if block.length_m is None else block.length_m,
        harness=_NAME if block.harness is None else block.harness,
        feeders_at_m=(_NONE,) if places is None else block.feeders_at_m,
    )


def _harness(layout: Layout, harness: Harness) -> Harness:
    """A harness of which some drops are known nowhere has drops without resistance, and rails with the bus beside
    them."""
    own = (block for block in layout.blocks.values() if block.harness == harness.name and block.length_m is not None)
    known = all(drop_places(block, harness) is not None for block in own)
    return evolve(
        harness,
        bus=_WIRE if harness.bus is None else harness.bus,
        common=_WIRE if harness.common is None else harness.common,
        lead_m=_NONE if harness.lead_m is None else harness.lead_m,
        feeder=_WIRE if harness.feeder is None or not known else harness.feeder,
        feeder_length_m=_NONE if harness.feeder_length_m is None else harness.feeder_length_m,
        rail=(_NAME if harness.rail is None else harness.rail) if known else _beside(harness.name),
    )


def _beside(harness: str) -> Name:
    return Name(f"\n{harness}")  # no name has a line break


def _rail(layout: Layout, harness: Harness) -> Rail:
    """A rail with the bus beside it, as if drops without resistance joined them everywhere; none beside the common,
    which other blocks share."""
    rail = rail_ohm_per_m(layout, str(harness.rail)) or 0.0
    bus = conductor_ohm_per_m(layout, str(harness.bus)) or 0.0
    both = rail * bus / (rail + bus) if rail and bus else 0.0
    at_20 = both / 2 / warmed(NICKEL_SILVER_PER_KELVIN, layout.limits.conductor_temperature_c)
    return Rail(name=_beside(harness.name), resistance_ohm_per_m=OhmsPerMetre(at_20))
