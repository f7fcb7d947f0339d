"""The wiring: a layout with its names resolved, who feeds what."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import NamedTuple

from attrs import frozen

from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.interlocks import Bar, bars, says, standing
from blockcheck.model.layout import Block, Board, BoardType, ChannelRef, Isolator, Layout, Turnout
from blockcheck.text.document import Document

LEGS = ("toe", "through", "diverging")


class Unresolved(NamedTuple):
    """A name that is referred to and does not exist. ``kind`` says in words what it should be the name of.

    ``is_key`` says that the name is the key at ``path``, not its value.
    """

    path: Path
    name: str
    kind: str
    known: tuple[str, ...]
    is_key: bool = False


class Fed(NamedTuple):
    """How a block is fed, as far as its names resolve.

    ``district`` is its home district: the one of its channel's bank, else the one it names. ``missing`` lists the
    paths of what its feed cannot be told without; where it is not empty the block is left out of the circuit.
    """

    block: Block
    board: Board | None = None
    type: BoardType | None = None
    bank: int | None = None
    district: str | None = None
    poles: tuple[tuple[Isolator, int], ...] = ()
    """The isolators in its feed, as far as they exist, each with its pole, in the order in which the feed passes them.
    """
    missing: tuple[Path, ...] = ()
    through: Block | None = None
    """The block whose feed it has by its rails, where it has none of its own."""

    @property
    def isolators(self) -> tuple[Isolator, ...]:
        """The isolators in its feed."""
        return tuple(isolator for isolator, _ in self.poles)

    @property
    def own_poles(self) -> tuple[tuple[Isolator, int], ...]:
        """The on-off ones in its own feed: after its detector, or anywhere but in the return where it has none."""
        return tuple(
            (one, pole)
            for one, pole in self.poles
            if one.contact == "on-off"
            and (one.side == "after-detector" or (self.channel is None and one.side != "common-rail"))
        )

    @property
    def common_poles(self) -> tuple[tuple[Isolator, int], ...]:
        """The on-off ones in its return, each with its pole there."""
        return tuple(
            (one, 2 if one.switches_return else pole)
            for one, pole in self.poles
            if one.contact == "on-off" and (one.side == "common-rail" or one.switches_return)
        )

    @property
    def changeover(self) -> Isolator | None:
        """The changeover in its feed; there is one at most."""
        return next((one for one in self.isolators if one.contact == "changeover"), None)

    @property
    def channel(self) -> ChannelRef | None:
        """Its channel, where board and number exist."""
        return (self.through or self.block).channel if self.bank is not None else None

    @property
    def threshold_a(self) -> float:
        """The least current of the block that reads occupied: each pass through a coil counts once more."""
        assert self.type is not None
        return self.type.threshold_a / self.block.passes

    @property
    def fuse(self) -> tuple[float, Path] | None:
        """The rating of the fuse in its feed, and where that is written: its own, else its board's."""
        if self.block.fuse_a is not None:
            return self.block.fuse_a, ("blocks", self.block.name, "fuse")
        if self.board is not None and self.board.fuse_a is not None:
            return self.board.fuse_a, ("boards", self.board.name, "fuse")
        return None

    @property
    def lost_v(self) -> float:
        """The volts that its detector takes off while it conducts."""
        return self.type.drop_v if self.type is not None and self.type.sensing == "series" else 0.0

    @property
    def address(self) -> int | None:
        """The number that its channel reports as, where the board says so."""
        first = self.board.first_address if self.board is not None else None
        return None if first is None or self.channel is None else first + self.channel.number - 1


@frozen(eq=False, repr=False, slots=False)
class Wiring:
    """A layout with its names resolved. Blocks and isolators are in natural order."""

    document: Document
    layout: Layout
    fed: Mapping[str, Fed]
    meant: Mapping[str, tuple[str, ...]]
    """Isolator -> the blocks that it is meant to isolate."""
    switched: Mapping[str, tuple[str, ...]]
    """Isolator -> the blocks that name it, which is where it is really wired."""
    unresolved: tuple[Unresolved, ...]
    first: frozenset[str] = frozenset()
    """Boosters and districts that are numbered before all others."""

    def supplies(self, names: Iterable[str]) -> list[str]:
        """Boosters or districts in their order."""
        return sorted(names, key=lambda name: (name not in self.first, natural_key(name)))

    @cached_property
    def isolators_of(self) -> Mapping[str, tuple[str, ...]]:
        """Block -> the isolators that are meant to isolate it."""
        found: dict[str, list[str]] = {name: [] for name in self.layout.blocks}
        for isolator, blocks in self.meant.items():
            for block in blocks:
                found[block].append(isolator)
        return {name: tuple(isolators) for name, isolators in found.items()}

    @cached_property
    def blocks_of_channel(self) -> Mapping[ChannelRef, tuple[str, ...]]:
        """Channel -> the blocks on it, in natural order."""
        found: dict[ChannelRef, list[str]] = {}
        for name, fed in self.fed.items():
            if fed.channel is not None and fed.through is None:
                found.setdefault(fed.channel, []).append(name)
        return {channel: tuple(found[channel]) for channel in sorted(found)}

    @cached_property
    def tracks(self) -> Mapping[str, int]:
        """Block -> the number that people call it by, for those that have one."""
        found = {}
        for name, block in self.layout.blocks.items():
            number = track_number(block)
            if number is not None:
                found[name] = number
        return found

    @cached_property
    def blocks_of_track(self) -> Mapping[int, tuple[str, ...]]:
        """The number that people call a track by -> the blocks that have it, in natural order."""
        found: dict[int, list[str]] = {}
        for name in self.fed:
            if name in self.tracks:
                found.setdefault(self.tracks[name], []).append(name)
        return {number: tuple(names) for number, names in found.items()}

    @cached_property
    def groups(self) -> Mapping[str, Mapping[str, None]]:
        """Group -> its blocks, in natural order."""
        found: dict[str, dict[str, None]] = {}
        for name in self.fed:
            group = self.layout.blocks[name].group
            if group is not None:
                found.setdefault(group, {})[name] = None
        return found

    @cached_property
    def bank_isolators(self) -> Mapping[tuple[str, int | None], tuple[tuple[Isolator, int], ...]]:
        """Board and bank -> the isolators, each with its pole, that stand in the feed of the whole bank."""
        found: dict[tuple[str, int | None], dict[str, tuple[Isolator, int]]] = {}
        for fed in self.fed.values():
            if fed.board is None or fed.missing:
                continue
            for isolator, pole in fed.poles:
                if isolator.contact == "changeover" or isolator.side == "before-detector":
                    found.setdefault((fed.board.name, fed.bank), {}).setdefault(isolator.name, (isolator, pole))
        return {bank: tuple(isolators.values()) for bank, isolators in found.items()}

    @cached_property
    def bars(self) -> tuple[Bar, ...]:
        """What interlocks keep out."""
        return bars(self.layout)

    @cached_property
    def interlocked(self) -> frozenset[str]:
        """The controls that an interlock names."""
        return frozenset(name for bar in self.bars for name, _ in bar.holds)

    def usual_position(self, control: str) -> str:
        """Where an isolator or a turnout usually stands."""
        isolator = self.layout.isolators.get(control)
        return self.layout.turnouts[control].usually if isolator is None else usual_position(self, isolator)

    def broken(self, positions: Mapping[str, str]) -> tuple[Bar, str] | None:
        """Which interlock a state breaks, and how, in words; None where it can be. What is not in ``positions`` stands
        as usual."""
        if not self.bars:
            return None
        state = {name: positions.get(name) or self.usual_position(name) for name in self.interlocked}
        for bar in self.bars:
            held = bar.broken(state)
            if held:
                return bar, f"{standing(held)} cannot be: {says(self.layout.interlocks[bar.index])}"
        return None

    def host(self, block: str) -> Fed:
        """The feed of a block: that of the one whose rails feed it, where it has none of its own."""
        own = self.fed[block]
        return own if own.through is None else self.fed[own.through.name]

    def in_feed(self, block: str) -> tuple[Isolator, ...]:
        """The isolators that a block's feed runs through: its own, or its host's, and those before the whole bank."""
        fed = self.host(block)
        bank = self.bank_isolators.get((fed.board.name, fed.bank), ()) if fed.board is not None else ()
        return (*fed.isolators, *(one for one, _ in bank if one not in fed.isolators))

    def bank_of(self, block: str) -> object:
        """What a changeover before a block is before: its bank, or where it has no detector itself, or its host."""
        fed = self.host(block)
        return fed.block.name if fed.board is None else (fed.board.name, fed.bank)

    @cached_property
    def hung(self) -> Mapping[str, tuple[str, ...]]:
        """Block -> those that it feeds by its rails, in natural order."""
        found: dict[str, tuple[str, ...]] = {}
        for name, fed in self.fed.items():
            if fed.through is not None:
                found[fed.through.name] = (*found.get(fed.through.name, ()), name)
        return found

    def with_hung(self, block: str) -> tuple[str, ...]:
        """A block, and those that it feeds by its rails."""
        return (block, *self.hung.get(block, ()))

    @cached_property
    def routed(self) -> Mapping[tuple[int, str], tuple[str, str]]:
        """Joint and rail -> the points, and the leg for which they are set, that alone pass power there."""
        found: dict[tuple[int, str], tuple[str, str]] = {}
        for name, turnout in self.layout.turnouts.items():
            other = "common" if turnout.frog_rail == "detected" else "detected"
            for leg, rail in (("through", turnout.frog_rail), ("diverging", other)) if turnout.routes else ():
                beyond = getattr(turnout, leg)
                beyond = self.layout.turnouts[beyond].block if beyond in self.layout.turnouts else beyond
                if beyond is None or beyond == turnout.block:
                    continue
                for index in self.joints_of.get(frozenset((turnout.block, beyond)), ()):
                    found[index, rail] = (name, leg)
        return found

    @cached_property
    def joints_at(self) -> Mapping[str, tuple[int, ...]]:
        """Block -> indices of its joints, in the order of the file."""
        found: dict[str, list[int]] = {}
        for index, joint in enumerate(self.layout.joints):
            for name in dict.fromkeys(joint.blocks):
                found.setdefault(name, []).append(index)
        return {name: tuple(indices) for name, indices in found.items()}

    @cached_property
    def joints_of(self) -> Mapping[frozenset[str], tuple[int, ...]]:
        """Pair of blocks -> indices of the joints between them, in an order that is not that of the file."""
        joints, found = self.layout.joints, dict[frozenset[str], tuple[int, ...]]()
        for index in sorted(range(len(joints)), key=lambda one: (joints[one].ends, joints[one].gap)):
            pair = frozenset(joints[index].blocks)
            found[pair] = (*found.get(pair, ()), index)
        return found


def track_number(block: Block) -> int | None:
    """The number that people call a block by: as given, else the digits that end its name; throats have none."""
    if block.track is not None:
        return block.track
    if block.kind == "throat":
        return None
    digits = block.name[len(block.name.rstrip("0123456789")) :]
    return int(digits) if digits else None


def bus_colours(wiring: Wiring) -> dict[str, str]:
    """Block -> insulation colour of its detected bus: a harness's colours, dealt out in the order of its blocks."""
    found: dict[str, str] = {}
    counts: dict[str, int] = {}
    for name, block in wiring.layout.blocks.items():
        harness = wiring.layout.harnesses.get(block.harness) if block.harness is not None else None
        own = block.fed_through is None
        if harness is None or harness.colours is None or not harness.colours.detected or not own:
            continue
        number = counts.get(harness.name, 0)
        counts[harness.name] = number + 1
        found[name] = harness.colours.detected[number % len(harness.colours.detected)]
    return found


def usual_position(wiring: Wiring, isolator: Isolator) -> str:
    """The usual position of an isolator: ``closed`` or ``open``; for a changeover a district's name or ``off``."""
    if isolator.usually is not None:
        return str(isolator.usually)
    if isolator.contact == "on-off":
        return "closed"
    between = isolator.between or ()
    for block in wiring.switched.get(isolator.name, ()):
        district = wiring.fed[block].district
        if district in between:
            return str(district)
    return str(between[0]) if between else "off"


def bank_district(layout: Layout, board: Board, bank: int) -> str | None:
    """The district that the layout names for a bank of a board; None where it names none."""
    if len(board.banks) > 1:
        return board.banks[bank - 1] if bank <= len(board.banks) else None
    if board.banks:
        return board.banks[0]
    return next(iter(layout.districts)) if len(layout.districts) == 1 else None


def bank_count(kind: BoardType) -> int:
    """How many banks a board of a type has."""
    return -(-kind.channels // (kind.bank_size or kind.channels))


def positions(control: Isolator | Turnout) -> tuple[str, ...]:
    """The positions that a control can be in, by name."""
    if isinstance(control, Turnout):
        return ("through", "diverging")
    if control.contact == "on-off":
        return ("closed", "open")
    return (*map(str, control.between or ()), *(("off",) if control.centre_off else ()))
