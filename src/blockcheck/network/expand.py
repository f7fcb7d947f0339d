"""From a circuit in one state to its grid; here the way is chosen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from blockcheck.circuit.parts import Circuit
from blockcheck.circuit.state import State
from blockcheck.core.spans import Path
from blockcheck.model.wiring import Wiring
from blockcheck.network.electric import Expander
from blockcheck.network.grid import Grid

LARGE_BLOCKS = 80
"""Above this many blocks a grid is made and solved by arrays (see ``expand``): there `check` and `power` of wired yards
took as long either way, importing numpy and scipy included."""


def expand(
    wiring: Wiring,
    circuit: Circuit,
    state: State,
    marks: Mapping[str, Sequence[float]],
    mended: frozenset[Path] = frozenset(),
) -> Grid:
    """Expand a circuit in one state. ``marks`` are further places, in metres, at which a block's rails need nodes;
    frogs that are ``mended`` count as cut from the rails beyond them.

    Here alone it is chosen how: a grid of many blocks is made and solved by arrays, which needs numpy and scipy, a
    small one node by node. The numbers of nodes and resistors differ, and nothing else.
    """
    if len(circuit.detected) > LARGE_BLOCKS:
        from blockcheck.network.bulk import LargeExpander

        return LargeExpander(wiring, circuit, state, marks, mended).grid()
    return Expander(wiring, circuit, state, marks, mended).grid()
