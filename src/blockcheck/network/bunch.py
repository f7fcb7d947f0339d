"""Blocks of one shape in a large grid, as arrays."""

from __future__ import annotations

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.circuit.ladder import Ladder

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@frozen(eq=False, repr=False)
class Bunch:
    """Blocks of one shape. Arrays have one row a block: [block, place] or [block, drop]."""

    blocks: tuple[str, ...]
    ladders: tuple[Ladder, ...]
    at_m: Floats
    detected: Ints
    common: Ints
    rails: Ints
    """[block, rail (detected, common), stretch]: the resistors from each place to the next."""
    rail_ohm_per_m: Floats
    middle: int
    """The place in the middle of the block."""
