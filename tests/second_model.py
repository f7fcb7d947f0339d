"""A second model of a yard on the bench, for readings that do not come from the predictions they are judged by.

It reads the layout itself (tomllib, and ranges by hand), makes its own network of single pieces, each bench-work joint
one of them, and solves it by numpy. Its tables are its own: annealed copper and published rail.
It knows what the yards of the tests have: boards of one bank, isolators behind the detector, one return, one booster.
"""

from __future__ import annotations

import math
import random
import re
import tomllib
from collections.abc import Iterator
from typing import Any

import numpy as np

COPPER = 17.241
"""Annealed copper, ohm mm2 per km at 20 degC (IEC 60028)."""
RAIL = {"code100": 0.076, "code83": 0.108, "code70": 0.206}
"""Ohm per metre of one rail of nickel silver."""
PREFIX = {"m": 1e-3, "u": 1e-6, "k": 1e3, "": 1.0, "c": 1e-2}
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
TIE = 1e-4
OPEN = 1e5


def amount(text: str) -> float:
    """A number with its unit, in SI."""
    found = re.fullmatch(r"([0-9.e+-]+) ?(m|u|k|c)?(ohm|A|V|s|m)", text)
    assert found, text
    return float(found[1]) * PREFIX[found[2] or ""]


def spread(text: str) -> list[str]:
    """``R1-R6`` and ``D1.1-6`` written out."""
    found = re.fullmatch(r"(.*?)(\d+)-(?:[A-Za-z]*?)(\d+)", text)
    return [f"{found[1]}{n}" for n in range(int(found[2]), int(found[3]) + 1)] if found else [text]


def tables(text: str) -> dict[str, dict[str, dict[str, Any]]]:
    """The named tables of a layout, ranges written out and dealt out."""
    found: dict[str, dict[str, dict[str, Any]]] = {}
    for kind, named in tomllib.loads(text).items():
        if not isinstance(named, dict) or kind in ("layout", "limits", "rules"):
            continue
        for name, keys in named.items():
            each = spread(name)
            for at, one in enumerate(each):
                mine = found.setdefault(kind, {}).setdefault(one, {})
                for key, value in keys.items():
                    dealt = spread(value) if isinstance(value, str) and key in ("channel", "isolator") else [value]
                    mine[key] = dealt[at if len(dealt) > 1 else 0]
    return found


class Second:
    """The yard as it was built: ``pieces[tag] = [node, node, ohms]``, with its own material."""

    def __init__(self, text: str, chance: random.Random | None = None, factors: dict[str, float] | None = None) -> None:
        self.tables, raw = tables(text), tomllib.loads(text)
        self.blocks, self.harness = self.tables["blocks"], next(iter(self.tables["harnesses"].values()))
        self.harness_name = next(iter(self.tables["harnesses"]))
        self.chance = chance
        self.pieces: dict[tuple[Any, ...], list[Any]] = {}
        self.factor = dict(factors or {})
        self.stuck: dict[str, str] = {}
        self.acts: dict[str, str] = {}
        self.dead: set[str] = set()
        self.blown: set[str] = set()  # channels whose fuse is
        self.plug = {name: name for name in self.blocks}  # block -> the block in whose terminal its bus is
        self.free: dict[str, str] = {}  # block -> the spare channel in which its bus is
        self.joints = [
            (one, two, joint["gap"], joint.get("ends", ["far", "near"]))
            for joint in raw.get("joints", [])
            for one in spread(joint["blocks"][0])
            for two in spread(joint["blocks"][1])
        ]
        self.rails()
        self.buses()
        self.common()
        self.meet()

    # -- material -----------------------------------------------------------------------------------------------------
    def of(self, kind: str, low: float, high: float) -> float:
        """The factor of a kind of material in this yard."""
        if self.chance is None:
            return 1.0
        if kind not in self.factor:
            self.factor[kind] = self.chance.uniform(low, high)
        return self.factor[kind]

    def wire(self, key: str, metres: float) -> float:
        size = self.harness[key]
        return COPPER / float(size.split()[0]) / 1000 * metres * self.of(size, 0.88, 1.12)

    def joint_ohm(self) -> float:
        ohms = amount(self.harness.get("joint_resistance", "0 ohm"))
        own = 1.0 if self.chance is None else self.chance.uniform(0.7, 1.3)
        if self.chance is not None and "joints" not in self.factor:
            self.factor["joints"] = 2.0 ** self.chance.uniform(-1, 1)
        return ohms * self.factor.get("joints", 1.0) * own

    # -- the yard -----------------------------------------------------------------------------------------------------
    def length(self, block: str) -> float:
        return amount(self.blocks[block]["length"])

    def drops(self, block: str) -> list[float]:
        count = math.ceil(self.length(block) / amount(self.harness["feeder_spacing"]) - 1e-9)
        return [(n + 0.5) * self.length(block) / count for n in range(count)]

    def lead(self, block: str) -> float:
        return amount(self.blocks[block].get("lead", self.harness["lead"]))

    def places(self, block: str) -> list[float]:
        return sorted({0.0, self.length(block) / 2, self.length(block), *self.drops(block)})

    def spot(self, block: str, rail: str, at_m: float) -> tuple[Any, ...]:
        return (rail, block, min(self.places(block), key=lambda one: abs(one - at_m)))

    def rails(self) -> None:
        for block in self.blocks:
            for rail in ("detected", "common"):
                for one, two in zip(self.places(block), self.places(block)[1:], strict=False):
                    ohms = RAIL[self.harness["rail"]] * (two - one) * self.of("rail", 0.75, 1.25)
                    self.pieces["rail", block, rail, one] = [(rail, block, one), (rail, block, two), ohms]

    def stretch(self, tag: tuple[Any, ...], key: str, taps: list[tuple[float, Any]], start: Any, whole: float) -> None:
        """A bus from ``start`` past its taps, cut at each bench-work joint."""
        here, at_m, joint = start, 0.0, 1
        segment = amount(self.harness["segment"]) if "segment" in self.harness else math.inf
        for distance, node in taps:
            while joint * segment < min(distance + 1e-9, whole - 2e-9):
                end = joint * segment
                self.pieces[(*tag, "wire", end)] = [here, (*tag, "before", joint), self.wire(key, end - at_m)]
                self.pieces[(*tag, "joint", joint)] = [
                    (*tag, "before", joint),
                    (*tag, "after", joint),
                    self.joint_ohm(),
                ]
                here, at_m, joint = (*tag, "after", joint), end, joint + 1
            self.pieces[(*tag, "wire", distance, node)] = [here, node, self.wire(key, distance - at_m)]
            here, at_m = node, distance

    def buses(self) -> None:
        for block, keys in self.blocks.items():
            if "isolator" in keys:
                self.pieces["contact", keys["isolator"]] = [("plug", block), ("bus", block), TIE]
            else:
                self.pieces["through", block] = [("plug", block), ("bus", block), TIE]
            lead = self.lead(block)
            taps = [(lead + at_m, ("tap", block, n)) for n, at_m in enumerate(self.drops(block), 1)]
            self.stretch(("bus", block), "bus", taps, ("bus", block), lead + self.length(block))
            for n, at_m in enumerate(self.drops(block), 1):
                for rail, tap in (("detected", "tap"), ("common", "ctap")):
                    ohms = self.wire("feeder", amount(self.harness["feeder_length"]))
                    self.pieces["drop", block, rail, n] = [(tap, block, n), self.spot(block, rail, at_m), ohms]

    def common(self) -> None:
        taps = sorted(
            (self.lead(block) + at_m, block, n) for block in self.blocks for n, at_m in enumerate(self.drops(block), 1)
        )
        named = [(distance, ("ctap", block, n)) for distance, block, n in taps]
        whole = max(self.lead(block) + self.length(block) for block in self.blocks)
        self.stretch(("common",), "common", named, "return", whole)

    def meet(self) -> None:
        for one, two, gap, ends in self.joints:
            for rail in ("detected", "common"):
                if gap not in (rail, "both"):
                    self.pieces["joiner", one, two, rail] = [*self.ends(one, two, ends, rail), TIE]

    def ends(self, one: str, two: str, ends: list[str], rail: str) -> list[Any]:
        far = [0.0 if end == "near" else self.length(block) for block, end in zip((one, two), ends, strict=True)]
        return [(rail, one, far[0]), (rail, two, far[1])]

    # -- faults -------------------------------------------------------------------------------------------------------
    def break_(self, fault: str, ohms: float) -> None:
        """Do what a fault of the list is, with so many ohms where it has a size."""
        kind, _, where = fault.partition(":")
        part = where.split(".")
        if kind in ("drop-missing", "drop-poor", "drop-on-wrong-rail"):
            piece = self.pieces["drop", part[0], part[1], int(part[2])]
            if kind == "drop-poor":
                piece[2] += ohms
            elif kind == "drop-missing":
                piece[2] = math.inf
            else:
                piece[1] = ({"detected": "common", "common": "detected"}[part[1]], *piece[1][1:])
        elif kind == "drop-on-neighbours-bus":
            block, number, other = part[0], int(part[1]), part[2]
            at_m = self.lead(block) + self.drops(block)[number - 1]
            near = min(range(len(self.drops(other))), key=lambda n: abs(self.lead(other) + self.drops(other)[n] - at_m))
            self.pieces["drop", block, "detected", number][0] = ("tap", other, near + 1)
        elif kind in ("bus-joint-open", "bus-joint-poor"):
            tag = ("common",) if part[1] == "common" else ("bus", part[0])
            piece = self.pieces[(*tag, "joint", int(part[-1]))]
            piece[2] = math.inf if kind == "bus-joint-open" else piece[2] + ohms
        elif kind in ("gap-bridged", "rail-cut", "rail-joint-poor"):
            one, two = part[0].split(",")
            ends = next(ends for a, b, _, ends in self.joints if (a, b) == (one, two))
            if kind == "rail-cut":
                self.pieces["joiner", one, two, part[-1]][2] = math.inf
            elif kind == "rail-joint-poor":
                self.pieces["joiner", one, two, part[-1]][2] += ohms
            else:
                self.pieces["bridge", one, two, part[-1]] = [*self.ends(one, two, ends, part[-1]), max(ohms, TIE)]
        elif kind in PLUGS:
            self.plug_in(kind, where)
        elif kind in ("drops-crossed", "rails-exchanged"):
            numbers = [int(part[1])] if kind == "drops-crossed" else range(1, len(self.drops(part[0])) + 1)
            for n in numbers:
                here, there = (self.pieces["drop", part[0], rail, n] for rail in ("detected", "common"))
                here[1], there[1] = there[1], here[1]
        elif kind == "bus-touches-common":
            near = int(part[1])
            self.pieces["touch", part[0], near] = [("tap", part[0], near), ("ctap", part[0], near), ohms]
        elif kind == "ballast-wet":
            half = self.length(part[0]) / 2
            self.pieces["wet", part[0]] = [("detected", part[0], half), ("common", part[0], half), ohms]
        else:
            raise AssertionError(fault)

    def plug_in(self, kind: str, where: str) -> None:
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
            one, two = (self.block_of(channel) for channel in where.split(","))
            self.plug.update({one: two, two: one})
        elif kind == "plugs-rotated":
            for each in where.split(","):
                block, terminal = each.split(">")
                self.plug[block] = self.block_of(terminal.replace(":", "."))
        elif kind == "two-buses-in-one-terminal":
            block, channel = where.split(">")
            self.plug[block] = self.block_of(channel)
        elif kind == "bus-on-free-channel":
            block, channel = where.split(">")
            self.free[block] = channel

    def block_of(self, channel: str) -> str:
        return next(block for block, keys in self.blocks.items() if keys["channel"] == channel)

    # -- readings -----------------------------------------------------------------------------------------------------
    def read(self, id_: str, kind: str, state: dict[str, str], across: float | None) -> float | frozenset[str]:
        """What a test reads, without the meter's noise."""
        red, black = self.probes(id_)
        booster = next(iter(self.tables["boosters"].values()))
        pieces = [piece for _, piece in self.conducting(state)]
        if kind == "ohms":
            return self.between(pieces, red, black)
        blocks = list(self.blocks)
        types = {board: self.tables["board_types"][keys["type"]] for board, keys in self.tables["boards"].items()}
        for block in blocks:
            home = ("channel", self.free.get(block) or self.blocks[self.plug[block]]["channel"])
            if home[1] not in self.blown:
                pieces.append([home, ("plug", block), TIE])
        channels = sorted({piece[0] for piece in pieces if piece[0][0] == "channel"})
        assert across is not None
        volts = amount(booster["voltage"])
        drop = max(amount(one.get("drop", "0 V")) for one in types.values())
        # two diodes side by side share a small current: each is like a resistor of its drop at the axle's current
        own = 0.01 if kind == "trips" else drop * across / volts
        measured = [["source", channel, own] for channel in channels]
        pieces += [*measured, [red, black, across]]
        solved = self.solve(pieces, volts - (drop if kind == "trips" else 0.0))
        if kind == "volts":
            return abs(solved.get(red, 0.0) - solved.get(black, 0.0))
        amperes = {one[1][1]: abs(solved["source"] - solved.get(one[1], 0.0)) / own for one in measured}
        if kind == "trips":
            name = next(iter(self.tables["boosters"]))
            return frozenset({name} if sum(amperes.values()) > amount(booster["trip"]) else ())
        limit = amount(next(iter(types.values()))["threshold"])
        return frozenset(name for name, value in amperes.items() if value > limit and name not in self.dead)

    def conducting(self, state: dict[str, str]) -> Iterator[tuple[Any, list[Any]]]:
        for tag, piece in self.pieces.items():
            if tag[0] == "contact":
                position = self.stuck.get(tag[1]) or state.get(self.acts.get(tag[1], tag[1]), "closed")
                if position != "closed":
                    continue
            if math.isfinite(piece[2]):
                yield tag, list(piece)

    def probes(self, id_: str) -> tuple[Any, Any]:
        what, *rest = id_.split(".")
        if what == "district":
            return "source", "return"
        if what == "bank":
            return "source", "source"
        if what == "joint":
            ends = next(ends for a, b, _, ends in self.joints if [a, b] == rest[:2])
            one, two = self.ends(rest[0], rest[1], ends, rest[-1])
            return one, two
        if what == "wire":
            start = ("plug", rest[0]) if rest[1] == "detected" else "return"
            return start, self.at(rest[0], rest[1], rest[2])
        if what == "switch":
            return ("plug", rest[1]), self.at(rest[1], "detected", "far")
        if what == "tap":
            return ("plug", rest[0]), ("tap", rest[0], int(rest[1]))
        block = rest[-1] if rest[0] not in self.blocks else rest[0]
        place = rest[1] if what in ("axle", "volts") and rest[0] in self.blocks else "middle"
        place = "far" if what in ("rails", "short") else place
        return self.at(block, "detected", place), self.at(block, "common", place)

    def at(self, block: str, rail: str, place: str) -> tuple[Any, ...]:
        metres = {"near": 0.0, "middle": self.length(block) / 2, "far": self.length(block)}
        at_m = metres[place] if place in metres else self.drops(block)[int(place.removeprefix("drop")) - 1]
        return self.spot(block, rail, at_m)

    def between(self, pieces: list[list[Any]], red: Any, black: Any) -> float:
        if red == black:
            return TIE
        nodes, matrix = self.matrix(pieces, [red, black])
        matrix += np.eye(len(matrix)) * 1e-9  # what hangs loose has nought volts
        push = np.zeros(len(matrix))
        push[nodes[red]], push[nodes[black]] = 1.0, -1.0
        found = np.linalg.solve(matrix, push)
        return float(min(found[nodes[red]] - found[nodes[black]], OPEN))

    def solve(self, pieces: list[list[Any]], volts: float) -> dict[Any, float]:
        nodes, matrix = self.matrix(pieces, ["source", "return"])
        matrix += np.eye(len(matrix)) * 1e-12
        push = np.zeros(len(matrix))
        for node, value in (("source", volts), ("return", 0.0)):
            matrix[nodes[node], nodes[node]] += 1e6
            push[nodes[node]] += 1e6 * value
        found = np.linalg.solve(matrix, push)
        return {node: float(found[at]) for node, at in nodes.items()}

    @staticmethod
    def matrix(pieces: list[list[Any]], more: list[Any]) -> tuple[dict[Any, int], Any]:
        nodes: dict[Any, int] = {}
        for node in [*more, *(end for piece in pieces for end in piece[:2])]:
            nodes.setdefault(node, len(nodes))
        matrix = np.zeros((len(nodes), len(nodes)))
        for a, b, ohms in pieces:
            i, j, siemens = nodes[a], nodes[b], 1 / max(ohms, 1e-6)
            matrix[i, i] += siemens
            matrix[j, j] += siemens
            matrix[i, j] -= siemens
            matrix[j, i] -= siemens
        return nodes, matrix


def shown_by_a_meter(value: float | frozenset[str], chance: random.Random) -> float | frozenset[str]:
    """With 2 % and a milliohm of noise, rounded to a milliohm; open above 100 kohm."""
    if not isinstance(value, float):
        return value
    if value >= 0.5 * OPEN:
        return OPEN
    return max(round(value * chance.gauss(1.0, 0.02) + chance.gauss(0.0, 0.001), 3), 0.0)
