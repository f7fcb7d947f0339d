"""What people do wrong with the layout of the second model, and what is read on it then."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.second_model import LEGS, OPEN, RAILS, TIE, Model
from tests.second_reader import amount
from tests.second_solver import Node, Piece, solved

PLUGS = (
    "isolator-stuck",
    "isolators-swapped",
    "channel-dead",
    "fuse-blown",
    "channels-swapped",
    "plugs-rotated",
    "two-buses-in-one-terminal",
    "bus-on-free-channel",
)
OTHER = {"detected": "common", "common": "detected"}


class Second(Model):
    """The layout with what is wrong with it."""

    def __init__(
        self, layout: str | Path, chance: random.Random | None = None, factors: dict[str, float] | None = None
    ) -> None:
        super().__init__(layout, chance, factors)
        self.stuck: dict[str, str] = {}
        self.acts: dict[str, str] = {}
        self.dead: set[str] = set()
        self.blown: set[str] = set()  # channels whose fuse is
        self.plug = {block: block for block in self.fed}  # block -> the block in whose terminal its bus is
        self.label = {block: block for block in self.fed}  # block -> the one whose bus has its label
        self.free: dict[str, str] = {}  # block -> the spare channel in which its bus is

    # -- faults -------------------------------------------------------------------------------------------------------
    def break_(self, fault: str, ohms: float, guess: int = 1) -> None:
        """Do what a fault of the list is, with so many ohms where it has a size; ``guess`` 0: what is swapped at the
        board has the other's label."""
        kind, _, where = fault.partition(":")
        part = re.split("[.,]", where)
        make = getattr(self, "_" + kind.replace("-", "_"), None)
        if kind in PLUGS:
            self.plug_in(kind, where, guess)
        elif kind in ("drop-missing", "drop-poor", "drop-on-wrong-rail"):
            piece = self.pieces["drop", part[0], part[1], int(part[2])]
            if kind == "drop-on-wrong-rail":
                piece[1] = (OTHER[part[1]], *piece[1][1:])
            else:
                piece[2] = math.inf if kind == "drop-missing" else piece[2] + ohms
        elif kind in ("bus-joint-open", "bus-joint-poor"):
            named, _, joint = where.rpartition(".")
            side = "common" if named.endswith(".common") else "bus"
            piece = self.pieces[side, named.removesuffix(".common"), "joint", int(joint)]
            piece[2] = math.inf if kind == "bus-joint-open" else piece[2] + ohms
        elif kind in ("gap-bridged", "rail-cut", "rail-joint-poor"):
            self.at_joint(kind, where, ohms)
        elif kind in ("across-missing", "across-wrong"):
            piece = self.pieces["across", part[0], part[1]]
            piece[2] = math.inf if kind == "across-missing" else piece[2] * float(where.split(".", 2)[2])
        elif kind in ("hold-missing", "hold-wrong"):
            name, _, factor = where.partition(".")
            for tag, piece in self.pieces.items():
                if tag[:2] == ("hold", name):
                    piece[2] = piece[2] * float(factor) if factor else math.inf
        else:
            assert make is not None, fault
            make(part, ohms)

    def at_joint(self, kind: str, where: str, ohms: float) -> None:
        at, _, rail = where.rpartition(".")
        one, two, ends = next((a, b, ends) for a, b, _, ends, again in self.joints if f"{a},{b}{again}" == at)
        if kind == "gap-bridged":
            a, b = self.ends(one, two, ends, rail)
            self.put(("bridge", at, rail), a, b, max(ohms, TIE))
        else:
            piece = self.pieces["joiner", at, rail]
            piece[2] = math.inf if kind == "rail-cut" else piece[2] + ohms

    def _drop_on_neighbours_bus(self, part: list[str], _: float) -> None:
        block, number, other = part[0], int(part[1]), part[2]
        at_m = self.lead(block) + self.drops(block)[number - 1]
        near = min(range(len(self.drops(other))), key=lambda n: abs(self.lead(other) + self.drops(other)[n] - at_m))
        self.pieces["drop", block, "detected", number][0] = ("tap", other, near + 1)

    def _drops_crossed(self, part: list[str], _: float) -> None:
        here, there = (self.pieces["drop", part[0], rail, int(part[1])] for rail in RAILS)
        here[1], there[1] = there[1], here[1]

    def _rails_exchanged(self, part: list[str], _: float) -> None:
        for number in range(1, len(self.drops(part[0])) + 1):
            self._drops_crossed([part[0], str(number)], 0.0)

    def _bus_touches_common(self, part: list[str], ohms: float) -> None:
        near = int(part[1])
        self.put(("touch", part[0], near), ("tap", part[0], near), ("ctap", part[0], near), ohms)

    def _ballast_wet(self, part: list[str], ohms: float) -> None:
        a, b = (self.spot(part[0], rail, self.length(part[0]) / 2) for rail in RAILS)
        self.put(("wet", part[0]), a, b, ohms)

    def _wires_behind_isolators_swapped(self, part: list[str], _: float) -> None:
        outs = [[tag for tag in self.pieces if tag[:2] in (("contact", name), ("hold", name))] for name in part]
        far = [self.pieces[some[0]][1] for some in outs]
        for some, end in zip(outs, far[::-1], strict=True):
            for tag in some:
                self.pieces[tag][1] = end

    def _frog_reversed(self, part: list[str], _: float) -> None:
        one, two = (self.pieces["tie", part[0], leg] for leg in LEGS)
        one[1], two[1] = two[1], one[1]

    def _points_bridged(self, part: list[str], _: float) -> None:
        a, b = self._at_points(part)
        self.put(("past", *part), a, b, TIE)

    def _feed_crossed(self, part: list[str], _: float) -> None:
        feed, back = self.pieces["feed", part[0]], self.pieces["return", part[0]]
        feed[0], back[0] = back[0], feed[0]

    def _bank_on_wrong_district(self, part: list[str], _: float) -> None:
        bank, other = (part[0], int(part[1])), part[2]
        before = self.before(bank)
        piece = self.pieces[("contact", before[0], "") if before else ("bank", *bank)]
        piece[0] = ("feed", other)

    def plug_in(self, kind: str, where: str, guess: int) -> None:
        """What is done at the board and at the panel."""
        if kind == "isolator-stuck":
            name, _, position = where.partition(".")
            self.stuck[name] = position
        elif kind == "isolators-swapped":
            one, two = where.split(",")
            self.acts.update({one: two, two: one})
        elif kind == "channel-dead":
            self.dead.add(where)
        elif kind == "fuse-blown":
            self.blown.add(where)
        elif kind == "channels-swapped":
            some, others = (self.blocks_of(channel) for channel in where.split(","))
            for here, there in ((some, others), (others, some)):
                self.plug.update(dict.fromkeys(here, there[0]))
                if not guess:
                    self.label.update(dict.fromkeys(here, there[0]))
        elif kind == "plugs-rotated":
            for each in where.split(","):
                block, terminal = each.split(">")
                self.plug[self.stem(block)] = self.block_of(terminal.replace(":", "."))
        elif kind == "two-buses-in-one-terminal":
            block, channel = where.split(">")
            self.plug[self.stem(block)] = self.block_of(channel)
        else:
            block, channel = where.split(">")
            self.free[self.stem(block)] = channel

    def blocks_of(self, channel: str) -> list[str]:
        """Whose buses are meant to be in a channel's terminal."""
        return [block for block, keys in self.blocks.items() if keys.get("channel") == channel]

    def block_of(self, channel: str) -> str:
        return self.blocks_of(channel)[0]

    # -- readings -----------------------------------------------------------------------------------------------------
    def read(self, id_: str, kind: str, state: dict[str, str], across: float | None) -> float | frozenset[str]:
        """What a test reads, without the meter's noise; isolators that the state has not are closed."""
        red, black, jumper = self.probes(id_)
        live = kind != "ohms"
        pieces = [*self.conducting(state, live), *([[*jumper, TIE]] if jumper else [])]
        if red == black:
            return TIE
        if not live:
            volts, island = solved(pieces, {red: 1.0, black: -1.0})
            return OPEN if island[red] != island[black] else min(volts[red] - volts[black], OPEN)
        assert across is not None
        boosters = self.table("boosters")
        most = max(amount(keys["voltage"]) for keys in boosters.values())
        # a diode under a small current is like a resistor of its drop at the axle's; in a short it takes its drop off
        detectors: dict[str, Piece] = {
            channel: [("bank", *self.bank(channel)), ("terminal", channel), own]
            for channel, own in ((one, self.detector_ohm(one, kind, across / most)) for one in self.channels())
            if channel not in self.blown
        }
        # in a short the drop is taken off the source where it is at the place that is shorted
        less = max((self.drop(one) for one in self.drops_at(id_)), default=0.0) if kind == "trips" else 0.0
        push: dict[Node, float] = {}
        sources: dict[str, Piece] = {}
        for name, keys in boosters.items():
            ohms = max(amount(keys.get("resistance", "0 ohm")), TIE)
            sources[name] = [("back", name), ("hot", name), ohms]
            push["hot", name] = (amount(keys["voltage"]) - less) / ohms
            push["back", name] = -push["hot", name]
        volts, _ = solved([*pieces, *detectors.values(), *sources.values(), [red, black, across]], push)
        if kind == "volts":
            return abs(volts[red] - volts[black])
        if kind == "trips":
            return self.tripped(volts, sources, less)
        amperes = {channel: abs(volts[a] - volts[b]) / ohms for channel, (a, b, ohms) in detectors.items()}
        return frozenset(
            channel
            for channel, flows in amperes.items()
            if flows > self.threshold(channel) and channel not in self.dead
        )

    def tripped(self, volts: dict[Node, float], sources: dict[str, Piece], less: float) -> frozenset[str]:
        """The breakers that more flows through than they bear: a district's own, else its booster's."""
        found, boosters = set(), set()
        for name, keys in self.table("districts").items():
            if "trip" in keys:
                a, b, ohms, _ = self.pieces["feed", name]
                if abs(volts[a] - volts[b]) / ohms > amount(keys["trip"]):
                    found.add(name)
            else:
                boosters.add(keys["booster"])
        for name in boosters:
            keys = self.table("boosters")[name]
            ohms = sources[name][2]
            flows = abs(amount(keys["voltage"]) - less - volts["hot", name] + volts["back", name]) / ohms
            if flows > amount(keys["trip"]):
                found.add(name)
        return frozenset(found)

    def kind_of(self, channel: str) -> dict[str, Any]:
        return self.table("board_types")[self.table("boards")[channel.rsplit(".", 1)[0]]["type"]]

    def drop(self, channel: str) -> float:
        kind = self.kind_of(channel)
        return amount(kind.get("drop", "0 V")) if kind.get("sensing", "series") == "series" else 0.0

    def threshold(self, channel: str) -> float:
        fed = (block for block in self.fed if "channel" in self.blocks[block])
        turns = [self.blocks[block].get("passes", 1) for block in fed if self.home(block) == channel]
        return amount(self.kind_of(channel)["threshold"]) / max(turns, default=1)

    def detector_ohm(self, channel: str, kind: str, per_volt: float) -> float:
        return TIE if kind == "trips" else max(self.drop(channel) * per_volt, 1e-2)

    def drops_at(self, id_: str) -> Iterator[str]:
        """The channel of the block that a short is laid across."""
        keys = self.blocks.get(id_.split(".")[1], {})
        if "channel" in keys:
            yield keys["channel"]

    def channels(self) -> list[str]:
        """The channels in which a bus is."""
        some = (block for block in self.fed if "channel" in self.blocks[block] and self.stem(block) == block)
        homes = map(self.home, some)
        return list(dict.fromkeys(homes))

    def home(self, block: str) -> str:
        return self.free.get(block) or str(self.blocks[self.plug[block]]["channel"])

    def conducting(self, state: dict[str, str], live: bool) -> Iterator[Piece]:
        for tag, (a, b, ohms, when) in self.pieces.items():
            if when is not None:
                control, position = when
                stands = self.stuck.get(control) or state.get(self.acts.get(control, control), "closed")
                if stands != position:
                    continue
            if math.isfinite(ohms) and (live or tag not in self.powered):
                yield [a, b, ohms]
        for block in self.fed if live else ():
            if "channel" in self.blocks[block] and self.stem(block) == block:
                yield [("terminal", self.home(block)), ("plug", block), TIE]

    # -- places -------------------------------------------------------------------------------------------------------
    def probes(self, id_: str) -> tuple[Node, Node, list[Node] | None]:
        """Both places of a test, and where a wire is laid across a gap besides."""
        what, *rest = id_.split(".")
        make = getattr(self, "_at_" + what, None)
        if make is not None:
            return (*make(rest), None)
        if what in ("polarity", "volts") and len(rest) > 1 and rest[0] in self.blocks and rest[1] in self.blocks:
            joint = next(
                one for one in self.joints if f"{one[0]}.{one[1]}{one[4]}" == ".".join(rest) or one[:2] == (*rest[:2],)
            )
            one, two, gap, ends, _ = joint
            return (
                *self.ends(one, two, ends, "detected"),
                self.ends(one, two, ends, "common") if gap == "both" else None,
            )
        own = rest[0] in self.blocks and what in ("axle", "volts")
        block = rest[0] if what in ("axle", "volts") and own else rest[-1]
        place = "far" if what in ("rails", "short") else rest[1] if own else "middle"
        return self.at(block, "detected", place), self.at(block, "common", place), None

    def _at_district(self, rest: list[str]) -> tuple[Node, Node]:
        return ("feed", rest[0]), ("return", rest[0])

    def _at_districts(self, rest: list[str]) -> tuple[Node, Node]:
        side = rest[2].removesuffix("s")
        return (side, rest[0]), (side, rest[1])

    def _at_bank(self, rest: list[str]) -> tuple[Node, Node]:
        bank = rest[0], int(rest[1])
        return ("feed", rest[2] if len(rest) > 2 else self.district_of(bank)), ("bank", *bank)

    def _at_joint(self, rest: list[str]) -> tuple[Node, Node]:
        at = ".".join(rest[:-1])
        one, two, ends = next((a, b, ends) for a, b, _, ends, again in self.joints if f"{a}.{b}{again}" == at)
        first, second = self.ends(one, two, ends, rest[-1])
        return first, second

    def _at_points(self, rest: list[str]) -> tuple[Node, Node]:
        ends = (
            self.ends(one, two, ends, rail)
            for one, two, _, ends, _ in self.joints
            for rail in RAILS
            if self.routed(one, two, rail) == (rest[0], rest[1])
        )
        first, second = next(ends)
        return first, second

    def _at_wire(self, rest: list[str]) -> tuple[Node, Node]:
        block, rail, place = rest
        host = self.host(block)
        start = self.plug_node(self.label[self.stem(host)]) if rail == "detected" else ("return", self.district(host))
        return start, self.at(block, rail, place)

    def host(self, block: str) -> str:
        """The block by whose feed a block has power."""
        through = self.blocks[block].get("fed_through")
        return block if through is None else self.host(self.table("turnouts").get(through, {}).get("block", through))

    def _at_switch(self, rest: list[str]) -> tuple[Node, Node]:
        if rest[1] in self.blocks and rest[0] in self.returns(rest[1]) and "/" not in rest[0]:
            return ("return", self.district(rest[1])), self.at(rest[1], "common", "far")
        row = self.behind(rest[1]) if rest[1] in self.blocks else []
        if rest[0] in row[:-1]:  # another contact stands between it and the rail
            at = row.index(rest[0])
            before = ("behind", rest[1], row[at - 1]) if at else self.plug_node(self.label[self.stem(rest[1])])
            return before, ("behind", rest[1], rest[0])
        if rest[1] in self.blocks:
            return self.plug_node(self.label[self.stem(rest[1])]), self.at(rest[1], "detected", "far")
        black = ("throw", rest[0]) if self.switch(rest[0]).get("contact") == "changeover" else ("before", rest[0])
        return ("feed", rest[2]), black

    def _at_frog(self, rest: list[str]) -> tuple[Node, Node]:
        return self.at(self.table("turnouts")[rest[0]]["block"], "detected", "near"), ("frog", rest[0])

    def _at_tap(self, rest: list[str]) -> tuple[Node, Node]:
        return self.plug_node(self.label[self.stem(rest[0])]), ("tap", rest[0], int(rest[1]))

    def at(self, block: str, rail: str, place: str) -> Node:
        metres = {"near": 0.0, "middle": self.length(block) / 2, "far": self.length(block)}
        at_m = metres[place] if place in metres else self.drops(block)[int(place.removeprefix("drop")) - 1]
        return self.spot(block, rail, at_m)
