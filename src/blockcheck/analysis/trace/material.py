"""What the pieces of a layout are made of: rail and wire differ from their tables, one factor for each kind.

The factors are unknowns beside the faults. Rail is within a fifth or so of its table and copper within a tenth
(class 5 of IEC 60228 allows 15 % more than its maximum less temperature), crimps and contacts within half to twice
what is reckoned with: common practice, no source. Besides, pieces of one kind differ among themselves.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from blockcheck.analysis.bench.wired import Wired

Floats = NDArray[np.float64]

RAIL, WIRE, JOINTS, CONTACTS = "rail", "wire", "joints", "contacts"
SPREAD = {RAIL: 0.2, WIRE: 0.08, JOINTS: 0.7, CONTACTS: 0.7}
"""Standard deviation of the logarithm of a kind's factor. Common practice, no source."""
APART = {RAIL: 0.03, WIRE: 0.03, JOINTS: 0.4, CONTACTS: 0.3}
"""The same of pieces of a kind among themselves. Common practice, no source."""


@frozen(eq=False, repr=False, slots=False)
class Material:
    """Pieces as what they are made of: ``fixed`` ohms, and ``ohms[piece, kind]`` that go with a kind's factor.

    The stretches of common buses, ``own``, have an unknown each besides: they are in most readings of a yard at once,
    and what they differ by is no noise. ``spread`` is the standard deviation of each unknown's logarithm, the kinds
    before the stretches; ``apart`` how far pieces differ among themselves by each.
    """

    kinds: tuple[str, ...]
    fixed: Floats
    ohms: Floats
    own: NDArray[np.int64]
    spread: Floats
    apart: Floats

    @classmethod
    def of(cls, bench: Wired) -> Material:
        """The material of a layout."""
        pieces = bench.built.pieces
        parts = [(number, kind, ohms) for number, kind, ohms in _parts(bench) if ohms > 0]
        kinds = tuple(dict.fromkeys(kind for _, kind, _ in parts))
        table = np.zeros((len(pieces), len(kinds)))
        for number, kind, ohms in parts:
            table[number, kinds.index(kind)] = ohms
        whole = np.array([piece.ohms if math.isfinite(piece.ohms) else np.inf for piece in pieces])
        fixed = whole - table.sum(axis=1)
        fixed[np.abs(fixed) < 1e-9] = 0.0
        own = [n for n, piece in enumerate(pieces) if piece.part and piece.part[0] == "common" and table[n].any()]
        apart = np.array([APART[kind.split()[0]] for kind in kinds])
        alone = [math.hypot(*(apart * table[n])) / table[n].sum() for n in own]
        spread = np.array([*(SPREAD[kind.split()[0]] for kind in kinds), *alone])
        return cls(
            kinds, fixed, table, np.array(own, dtype=np.int64), spread, np.concatenate([apart, np.zeros(len(own))])
        )

    def each(self, logs: Floats) -> Floats:
        """Ohms of every piece, for logarithms of the factors."""
        found: Floats = self.fixed + self.ohms @ np.exp(logs[: len(self.kinds)])
        found[self.own] *= np.exp(logs[len(self.kinds) :])
        return found

    def slopes(self, logs: Floats) -> Floats:
        """[piece, unknown]: how many ohms a piece has by each factor, that is the slope by its logarithm."""
        kinds = self.ohms * np.exp(logs[: len(self.kinds)])
        alone = np.zeros((len(kinds), len(self.own)))
        kinds[self.own] *= np.exp(logs[len(self.kinds) :])[:, None]
        alone[self.own, np.arange(len(self.own))] = kinds[self.own].sum(axis=1)
        return np.hstack([kinds, alone])


def _parts(bench: Wired) -> Iterator[tuple[int, str, float]]:
    """Piece, kind and ohms of whatever has a kind."""
    built, layout = bench.built, bench.study.layout
    grid = built.grid
    whose = {node: block for block, track in grid.tracks.items() for node in (*track.detected, *track.common)}
    for number, piece in enumerate(built.pieces):
        what = piece.part[0] if piece.part else None
        if what is None and piece.a in whose:
            yield number, f"{RAIL} {layout.harnesses[str(layout.blocks[whose[piece.a]].harness)].rail}", piece.ohms
        elif what in ("bus", "drop", "common"):
            block = str(piece.part[1])
            harness, ladder = layout.harnesses[str(layout.blocks[block].harness)], grid.tracks[block].ladder
            if what == "drop":
                yield number, f"{WIRE} {harness.feeder}", piece.ohms
                continue
            bus = what == "bus"
            ends: Sequence[Any] = (
                [ladder.lead_m + place for place in ladder.drops_m] if bus else grid.commons[block].ends_m
            )
            place = int(piece.part[2])
            metres = ends[place] - (ends[place - 1] if place else 0.0)
            wire = min((ladder.bus_ohm_per_m if bus else ladder.common_ohm_per_m) * metres, piece.ohms)
            yield number, f"{WIRE} {harness.bus if bus else harness.common}", wire
            if piece.ohms - wire > 1e-6:
                yield number, JOINTS, piece.ohms - wire
        elif piece.control is not None and math.isfinite(piece.ohms):
            yield number, CONTACTS, piece.ohms
