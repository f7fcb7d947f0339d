"""What a wire is made of: two conductors are one where they are as thick, as resistive and may carry as much."""

from __future__ import annotations

import attrs
from attrs import field, frozen

from blockcheck.circuit.ladder import conductor_ohm_per_m
from blockcheck.model.layout import Layout, Limits
from blockcheck.model.quantities import DIMENSIONS, Amperes, OhmsPerMetre, QuantityError, show
from blockcheck.model.standards import parse_size


@frozen
class Made:
    """A conductor. ``identity`` is equal for two that are the same thing, whatever their wires are called; ``words``
    is what people call it."""

    identity: object
    words: str = field(eq=False)


def made_of(layout: Layout, conductor: str, imperial: bool = False) -> Made:
    """A conductor by its size or the name of its wire. A name that does not exist stands for itself."""
    wire = layout.wires.get(conductor)
    size = conductor if wire is None else str(wire.size)
    limit = wire.current_a if wire is not None else None
    words = size
    if wire is not None and wire.resistance_ohm_per_m is not None:
        words += f" of {show(wire.resistance_ohm_per_m, DIMENSIONS[OhmsPerMetre], imperial)}"
    if limit is not None:
        words += f" for {show(limit, DIMENSIONS[Amperes])}"
    try:
        area_mm2 = parse_size(size)
    except QuantityError:
        return Made(conductor, words)
    ohms = conductor_ohm_per_m(attrs.evolve(layout, limits=Limits()), conductor)  # another temperature, no other wire
    return Made((area_mm2, ohms, limit), words)
