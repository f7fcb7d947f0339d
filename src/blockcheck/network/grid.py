"""What a circuit in one state becomes: a network of numbered nodes, and what its resistors stand for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import attrs
from attrs import field, frozen

from blockcheck.circuit.ladder import Ladder
from blockcheck.circuit.state import State
from blockcheck.core.spans import Path
from blockcheck.solver.network import Network, Sinks

if TYPE_CHECKING:
    from blockcheck.network.bunch import Bunch

Part = tuple[str | int, ...]
"""What a resistor stands for: ``("edge", number)`` of the contacts' view; ``("joint", index, rail)``;
``("drop", block, rail, number)``; ``("bus", block, number)`` the stretch of its bus up to that drop;
``("common", block, number)`` the stretch of a common bus up to a tap, by the first of the blocks on it."""


class Track(NamedTuple):
    """The rails of one block in the network: places in metres from the near end, and the nodes there."""

    block: str
    ladder: Ladder
    at_m: tuple[float, ...]
    detected: tuple[int, ...]
    common: tuple[int, ...]

    def nearest(self, at_m: float) -> int:
        """Number of the place nearest to a distance from the near end."""
        return min(range(len(self.at_m)), key=lambda place: abs(self.at_m[place] - at_m))


class Run(NamedTuple):
    """A conductor in the network: what it is, where the layout says so, and its resistors. ``size`` is as written."""

    name: str
    size: str
    path: Path
    resistors: tuple[int, ...]


class Common(NamedTuple):
    """A common bus: its harness, the blocks on it, its whole length, and where each of its stretches ends, in metres
    from the terminal."""

    harness: str
    blocks: tuple[str, ...]
    whole_m: float
    ends_m: tuple[float, ...]


@frozen(eq=False, repr=False, slots=False)
class Grid:
    """A layout as a network without loads, in one state.

    ``sources`` maps a booster to the number of its source; ``drops`` a block to that of its detector's drop, where it
    has one; ``channels`` a block to the resistor that stands for a detector without a drop; ``contacts`` an isolator's
    name to the resistors of its closed poles; ``lacking`` a block to the data without which it was left out.
    ``parts`` names resistors; ``ties`` maps each edge of a switched frog to its two nodes, whether it conducts or not;
    ``commons`` the first block on each common bus to that bus; these three are filled by `Expander` alone.
    ``bus_ends`` maps a block whose harness has a terminator to the far ends of its own bus and the common one.
    """

    network: Network
    state: State
    tracks: Mapping[str, Track]
    sources: Mapping[str, int]
    drops: Mapping[str, int]
    channels: Mapping[str, int]
    contacts: Mapping[str, tuple[int, ...]]
    runs: Sequence[Run]
    lacking: Mapping[str, tuple[Path, ...]]
    parts: Mapping[Part, int] = field(factory=dict)
    ties: Mapping[int, tuple[int, int]] = field(factory=dict)
    commons: Mapping[str, Common] = field(factory=dict)
    bus_ends: Mapping[str, tuple[int, int]] = field(factory=dict)
    bunches: Sequence[Bunch] = ()
    """The blocks of a large layout by shape, as arrays; none for a small one."""

    @cached_property
    def middles(self) -> Mapping[str, tuple[int, int]]:
        """Block -> the nodes of its rails in its middle."""
        found: dict[str, tuple[int, int]] = {}
        for bunch in self.bunches:
            ends = (rail[:, bunch.middle].tolist() for rail in (bunch.detected, bunch.common))
            found.update(zip(bunch.blocks, zip(*ends, strict=True), strict=True))
        for block, track in () if found else self.tracks.items():
            place = track.nearest(track.ladder.length_m / 2)
            found[block] = track.detected[place], track.common[place]
        return found

    def loaded(self, sinks: Sinks) -> Network:
        """The network with loads."""
        return attrs.evolve(self.network, sinks=sinks)
