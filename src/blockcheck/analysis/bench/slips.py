"""What readings are searched for: every fault that a sheet tells, those of any size with their size left free, and
besides what people do at plugs, drops and buses that no sheet is made to tell from all else."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from itertools import combinations, permutations

from attrs import frozen

from blockcheck.analysis.bench import fault_kinds as kinds
from blockcheck.analysis.bench.fault_kinds import Fault, Size
from blockcheck.analysis.bench.faults import POOR_SIZES, every_fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.circuit.terminals import drop_spot
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import ChannelRef
from blockcheck.model.wiring import bank_district
from blockcheck.network.built import Change

TOUCH_SIZES, WET_SIZES, JOINER_SIZES = (0.001, 5.0), (0.01, 50_000.0), (0.05, 30.0)
"""Least and most ohms of a bus that touches the common one, of what lies between the rails, and of a poor joiner.
Common practice, no source."""


def causes(bench: Bench) -> tuple[Fault, ...]:
    """Every single fault that readings are searched for. Raises CallError where they are too many."""
    known = [one for one in every_fault(bench, guesses=True) if one.kind != kinds.JOINT_POOR or not one.guess]
    slips = _Slips(bench)
    return (*known, *slips.drops(), *slips.plugs(), *slips.switches(known), *slips.rails())


@frozen(eq=False, repr=False, slots=False)
class _Slips:
    bench: Bench

    def sized(self, kind: str, where: str, subjects: tuple[str, ...], words: str, look: str, size: Size) -> Fault:
        return Fault.of(kind, where, subjects, words, look, size.change(size.typical[0]), size=size)

    # -- drops ------------------------------------------------------------------------------------------------------
    def drops(self) -> Iterator[Fault]:
        built = self.bench.built
        for block, track in built.grid.tracks.items():
            everything: dict[int, tuple[int, int]] = {}
            for place, at_m in enumerate(track.ladder.drops_m):
                where = f"{self.bench.length(at_m)} from the near end"
                spot = track.nearest(at_m)
                rails = track.detected[spot], track.common[spot]
                crossed: dict[int, tuple[int, int]] = {}
                for rail, here, there in zip(("detected", "common"), rails, rails[::-1], strict=True):
                    number = built.number["drop", block, rail, place]
                    piece = built.pieces[number]
                    crossed[number] = (
                        there if piece.a == here else piece.a,
                        there if piece.b == here else piece.b,
                    )
                    name = f"drop {block}:{drop_spot(place + 1, rail)}"
                    yield self.sized(
                        kinds.DROP_POOR,
                        f"{block}.{rail}.{place + 1}",
                        (block,),
                        f"{name}, {where}, makes poor contact",
                        f"under {block}, {where}: the solder and the crimp of {name}",
                        Size(*POOR_SIZES, (0.3,), number, piece.ohms),
                    )
                everything |= crossed
                look = f"under {block}, {where}: which wire is on which rail"
                yield Fault.of(
                    kinds.DROPS_CROSSED,
                    f"{block}.{place + 1}",
                    (block,),
                    f"both drops of {block}, {where}, are crossed: each is on the other rail",
                    look,
                    Change(moved=crossed),
                )
                bus = built.pieces[built.number["bus", block, place]].b
                down = built.pieces[built.number["drop", block, "common", place]]
                common = down.a if down.b == rails[1] else down.b
                yield self.sized(
                    kinds.BUS_TOUCHES,
                    f"{block}.{place + 1}",
                    (block,),
                    f"the bus of {block} touches the common bus near its drop {place + 1}, {where}",
                    f"under {block}, {where}: both buses and their taps",
                    Size(*TOUCH_SIZES, (0.05,), between=(bus, common)),
                )
            if len(track.ladder.drops_m) > 1:
                yield Fault.of(
                    kinds.RAILS_EXCHANGED,
                    block,
                    (block,),
                    f"the two rails of {block} are exchanged: all of its drops are on the other rail",
                    f"under {block}: the colours of its drops, rail by rail",
                    Change(moved=everything),
                )

    def rails(self) -> Iterator[Fault]:
        for meet in self.bench.meetings():
            if not meet.cut:
                (first, second), rail = meet.blocks, meet.rail
                number = self.bench.built.number["joint", meet.joint, rail]
                yield self.sized(
                    kinds.JOINER_POOR,
                    f"{first},{second}{meet.again}.{rail}",
                    meet.blocks,
                    f"the {rail} rail makes poor contact between {first} and {second}",
                    f"the joint of {first} and {second}: its joiner in the {rail} rail",
                    Size(*JOINER_SIZES, (0.3,), number, self.bench.built.pieces[number].ohms),
                )
        for block, track in self.bench.built.grid.tracks.items():
            middle = len(track.detected) // 2
            yield self.sized(
                kinds.BALLAST_WET,
                block,
                (block,),
                f"something conducts between the rails of {block}, such as damp ballast or a piece of metal",
                f"{block}: its ballast, glue and roadbed, and anything that lies across the rails",
                Size(*WET_SIZES, (1.0, 1000.0, 40_000.0), between=(track.detected[middle], track.common[middle])),
            )

    # -- switches ---------------------------------------------------------------------------------------------------
    def switches(self, known: Iterable[Fault]) -> Iterator[Fault]:
        """The wires to the track behind two switches, each on the other's terminal: a switch then has the other's
        track, and the channel of its own. Behind a changeover or the pole of a rotary switch, both of which are fed
        alike, that is no other fault than the switches being swapped."""
        wiring, pieces = self.bench.study.wiring, self.bench.built.pieces
        for swapped in known:
            if swapped.kind != kinds.ISOLATORS_SWAPPED:
                continue
            one, two = swapped.subjects
            outs = [self.bench.built.moved_by[name] for name in swapped.subjects]
            blocks = [wiring.switched[name] for name in swapped.subjects]
            if any(len(some) != 1 for some in (*outs, *blocks)) or not self.behind_detector(one, two):
                continue
            first, second = (pieces[some[0]] for some in outs)
            if first.a == second.a:
                continue
            moved = {
                number: (own.a, other.b)
                for own, other in ((first, second), (second, first))
                for number, piece in enumerate(pieces)
                if (piece.a, piece.b) == (own.a, own.b)  # the contact, and what lies across it
            }
            (mine,), (others,) = blocks
            yield Fault.of(
                kinds.OUTS_SWAPPED,
                f"{one},{two}",
                (one, two, mine, others),
                f"the wires behind {one} and {two} are swapped: {others}'s bus is on {one}:out, {mine}'s on {two}:out",
                f"the terminals {one}:out and {two}:out: read the labels on both wires",
                Change(moved=moved),
                factor=swapped.weight / kinds.KINDS[swapped.kind],
            )

    def behind_detector(self, *names: str) -> bool:
        isolators = self.bench.study.layout.isolators
        return all(isolators[one].side == "after-detector" and isolators[one].contact == "on-off" for one in names)

    # -- plugs ------------------------------------------------------------------------------------------------------
    @cached_property
    def behind(self) -> Mapping[int, list[int]]:
        """Node -> the pieces there but for the detector."""
        found: dict[int, list[int]] = {}
        for number, piece in enumerate(self.bench.built.pieces):
            if not piece.part or piece.part[0] != "detector":
                for node in {piece.a, piece.b}:
                    found.setdefault(node, []).append(number)
        return found

    def into(self, to: Mapping[int, int]) -> dict[int, tuple[int, int]]:
        """Pieces of plugs that are put in other terminals, by nodes."""
        pieces = self.bench.built.pieces
        return {
            number: (to.get(pieces[number].a, pieces[number].a), to.get(pieces[number].b, pieces[number].b))
            for number in {number for node in to for number in self.behind.get(node, ())}
        }

    def plugs(self) -> Iterator[Fault]:
        study = self.bench.study
        boards: dict[str, list[tuple[str, ChannelRef]]] = {}
        for block in self.bench.plugs:
            channel = study.wiring.fed[block].channel
            assert channel is not None
            boards.setdefault(channel.board, []).append((block, channel))
        for board in sorted(boards, key=natural_key):
            own = sorted(boards[board], key=lambda one: one[1].number)
            yield from self.free(board, own)
            yield from self.together(own)
            if len(own) <= kinds.MOST_AMONG:  # of more they are too many threes
                yield from self.rotated(own)

    def moves(self, block: str, to: str) -> dict[int, int]:
        """A plug in the terminal of another, by nodes."""
        channels = self.bench.study.circuit.channels
        return {channels[one]: channels[to] for one in self.bench.plugs[block].blocks}

    def name(self, block: str) -> str:
        """The terminal in which a bus belongs."""
        return self.bench.terminals.at(self.bench.study.circuit.channels[block]).name

    def free(self, board: str, own: list[tuple[str, ChannelRef]]) -> Iterator[Fault]:
        """A bus in a channel that has none."""
        study = self.bench.study
        kind = study.layout.board_types[study.layout.boards[board].type]
        size = kind.bank_size or kind.channels
        circuit = study.circuit
        used = {channel.number for _, channel in own}
        for block, channel in own:
            plug = self.bench.plugs[block]
            for number in (one for one in range(1, kind.channels + 1) if one not in used):
                if not kinds.mistaken(channel.number, number, kind.channels):
                    continue
                there = ChannelRef(board, number)
                plugged: dict[int, tuple[int, int]] = {}
                banks = ((one - 1) // size + 1 for one in (channel.number, number))
                mine, other = (bank_district(study.layout, study.layout.boards[board], bank) for bank in banks)
                if (
                    mine != other and other is not None and other in circuit.feeds
                ):  # the detector there is fed by that one
                    number_of, feed = self.bench.built.number, circuit.feeds[other]
                    plugged = {number_of["detector", one]: (feed, circuit.channels[one]) for one in plug.blocks}
                yield Fault.of(
                    kinds.FREE_CHANNEL,
                    f"{plug.name}>{there}",
                    plug.blocks,
                    f"the bus of {plug.name} is in the spare channel {there} instead of {channel}",
                    f"the terminals {self.name(block)} and {board}:{number}",
                    Change(plugged=plugged, renamed=dict.fromkeys(plug.blocks, str(there))),
                    factor=1.0 if abs(number - channel.number) == 1 else 0.3,
                )

    def together(self, own: list[tuple[str, ChannelRef]]) -> Iterator[Fault]:
        """Two buses in one terminal."""
        plugs = self.bench.plugs
        for (one, first), (two, second) in permutations(own, 2):
            if not kinds.mistaken(first.number, second.number, len(own)):
                continue
            mine, other = plugs[one], plugs[two]
            yield Fault.of(
                kinds.ONE_TERMINAL,
                f"{mine.name}>{second}",
                (*mine.blocks, *other.blocks),
                f"the bus of {mine.name} is in the terminal of {other.name}, {self.name(two)}, beside that one's own",
                f"the terminals {self.name(one)}, which is empty then, and {self.name(two)}",
                Change(plugged=self.into(self.moves(one, two))),
                factor=1.0 if abs(first.number - second.number) == 1 else 0.2,
            )

    def rotated(self, own: list[tuple[str, ChannelRef]]) -> Iterator[Fault]:
        """Three plugs, each in the place of another."""
        plugs = self.bench.plugs
        for three in combinations(own, 3):
            blocks = [block for block, _ in three]
            beside = three[2][1].number - three[0][1].number == 2
            for turned in (blocks[1:] + blocks[:1], blocks[2:] + blocks[:2]):
                pairs = [*zip(blocks, turned, strict=True)]
                where = ", ".join(f"{plugs[one].name}'s in {self.name(two)}" for one, two in pairs)
                moves = {node: to for one, two in pairs for node, to in self.moves(one, two).items()}
                yield Fault.of(
                    kinds.ROTATED,
                    ",".join(f"{plugs[one].name}>{self.name(two)}" for one, two in pairs),
                    tuple(block for one in blocks for block in plugs[one].blocks),
                    f"three plugs have changed places: {where}",
                    f"the terminals {', '.join(map(self.name, blocks))}: read the labels on the wires",
                    Change(plugged=self.into(moves)),
                    factor=1.0 if beside else 0.1,
                )
