"""A second model of a layout on the bench, for readings that do not come from the predictions they are judged by.

It reads the layout itself (tomllib, and ranges by hand), makes its own network of single pieces, each bench-work joint
one of them, and solves it by scipy. Its tables are its own: annealed copper and published rail. `second_faults.py` has
what people do wrong with it.
"""

from __future__ import annotations

import math
import random
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.second_reader import amount, ohms_of_signal, pairs, spread, tables, whole
from tests.second_solver import Node, Piece

COPPER = 17.241
"""Annealed copper, ohm mm2 per km at 20 degC (IEC 60028)."""
RAIL = {"code100": 0.076, "code83": 0.108, "code70": 0.206}
"""Ohm per metre of one rail of nickel silver."""
TIE = 1e-4
OPEN = 1e5
RAILS = ("detected", "common")
When = tuple[str, str] | None


class Model:
    """The layout as it was built: ``pieces[tag] = [node, node, ohms, when]``, with its own material."""

    def __init__(
        self, layout: str | Path, chance: random.Random | None = None, factors: dict[str, float] | None = None
    ) -> None:
        raw = whole(layout) if isinstance(layout, Path) else tomllib.loads(layout)
        self.raw, self.tables = raw, tables(raw)
        self.dc = raw["layout"]["control"] == "dc"
        self.blocks = self.tables["blocks"]
        self.chance, self.factor = chance, dict(factors or {})
        self.pieces: dict[tuple[Any, ...], Piece] = {}
        self.powered: set[tuple[Any, ...]] = set()  # conducting with power alone
        self.joints = list(self.met())
        for keys in self.blocks.values():
            self.points_that_feed(keys)
        self.rails()
        self.supplies()
        for block in self.fed:
            self.feed(block)
            self.bus(block)
        self.commons()
        self.meet()
        self.frogs()
        self.lying()

    def table(self, kind: str) -> dict[str, dict[str, Any]]:
        return self.tables.get(kind, {})

    def met(self) -> Iterator[tuple[str, str, str, list[str], str]]:
        """Both blocks, the gap, the ends, and ".2" where they meet for a second time."""
        seen: dict[tuple[str, str], int] = {}
        for joint in self.raw.get("joints", []):
            for one, two in pairs(*joint["blocks"]):
                seen[one, two] = seen.get((one, two), 0) + 1
                again = f".{seen[one, two]}" if seen[one, two] > 1 else ""
                yield one, two, joint["gap"], joint.get("ends", ["far", "near"]), again

    # -- material -----------------------------------------------------------------------------------------------------
    def of(self, kind: str, low: float, high: float) -> float:
        """The factor of a kind of material in this layout."""
        if self.chance is None:
            return 1.0
        if kind not in self.factor:
            self.factor[kind] = self.chance.uniform(low, high)
        return self.factor[kind]

    def wire(self, size: str, metres: float) -> float:
        named = self.table("wires").get(size)
        if named is not None and "resistance" in named:
            ohms = float(named["resistance"].split()[0]) / 1000
        else:
            number, unit = (named["size"] if named is not None else size).split()
            square = float(number) if unit == "mm2" else math.pi / 4 * (0.127 * 92 ** ((36 - int(number)) / 39)) ** 2
            ohms = COPPER / square / 1000
        return ohms * metres * self.of(size, 0.88, 1.12)

    def joint_ohm(self, harness: dict[str, Any]) -> float:
        ohms = amount(harness.get("joint_resistance", "0 ohm"))
        own = 1.0 if self.chance is None else self.chance.uniform(0.7, 1.3)
        if self.chance is not None and "joints" not in self.factor:
            self.factor["joints"] = 2.0 ** self.chance.uniform(-1, 1)
        return ohms * self.factor.get("joints", 1.0) * own

    def pair(self, feed: dict[str, str] | None) -> float:
        """One wire of a pair of a length."""
        return TIE if feed is None else max(self.wire(feed["wire"], amount(feed["length"])), TIE)

    # -- what belongs to what -----------------------------------------------------------------------------------------
    def points_that_feed(self, keys: dict[str, Any]) -> None:
        """What is fed through a turnout or a block has that one's rail."""
        through = keys.get("fed_through")
        if through is not None:
            home = self.table("turnouts").get(through, {}).get("block", through)
            keys.setdefault("harness", self.blocks[home]["harness"])

    @property
    def fed(self) -> list[str]:
        """The blocks with a feed of their own."""
        return [block for block, keys in self.blocks.items() if "fed_through" not in keys]

    def harness(self, block: str) -> dict[str, Any]:
        return self.table("harnesses")[self.blocks[block]["harness"]]

    def bank(self, channel: str) -> tuple[str, int]:
        board, number = channel.rsplit(".", 1)
        kind = self.table("board_types")[self.table("boards")[board]["type"]]
        return board, (int(number) - 1) // kind.get("bank_size", kind["channels"]) + 1

    def banks(self) -> Iterator[tuple[str, int]]:
        for name, board in self.table("boards").items():
            kind = self.table("board_types")[board["type"]]
            for number in range(1, kind["channels"] + 1, kind.get("bank_size", kind["channels"])):
                yield self.bank(f"{name}.{number}")

    def district_of(self, bank: tuple[str, int]) -> str:
        banks = self.table("boards")[bank[0]].get("banks") or [*self.table("districts")]
        return str(banks[bank[1] - 1] if len(banks) > 1 else banks[0])

    def district(self, block: str) -> str:
        keys = self.blocks[block]
        if "channel" in keys:
            return self.district_of(self.bank(keys["channel"]))
        between = self.changeover(block)
        return str(keys.get("district") or (between[1][0] if between else next(iter(self.table("districts")))))

    def isolators(self, block: str) -> list[str]:
        """What is in a block's feed, as the current passes it; a selector's contact has the track's name."""
        named = self.blocks[block].get("isolator", [])
        chosen = [f"{name}/{block}" for name, keys in self.table("selectors").items() if block in self.chosen(keys)]
        some = [named] if isinstance(named, str) else named
        return [
            *chosen,
            *(one if one in self.table("isolators") or "." not in one else one.rpartition(".")[0] for one in some),
        ]

    def returns(self, block: str) -> list[str]:
        """What is in its return: an isolator that is put there, and the second pole of a rotary switch."""
        both = (name for name in self.isolators(block) if "/" in name and self.switch(name).get("poles", 1) > 1)
        own = (name for name in self.isolators(block) if self.switch(name).get("side") == "common-rail")
        return [*both, *own]

    def stem(self, name: str) -> str:
        """The block by which a plug goes: of what hangs on one pole, the first."""
        for selector, keys in self.table("selectors").items():
            if keys.get("wired") == "pole" and name in (selector, *self.chosen(keys)):
                return self.chosen(keys)[0]
        return name

    def chosen(self, selector: dict[str, Any]) -> list[str]:
        tracks = selector["tracks"]
        return [one for text in ([tracks] if isinstance(tracks, str) else tracks) for one in spread(text)]

    def switch(self, name: str) -> dict[str, Any]:
        return self.table("isolators").get(name) or self.table("selectors")[name.partition("/")[0]]

    def changeover(self, block: str) -> tuple[str, list[str]] | None:
        for name in self.isolators(block):
            if self.switch(name).get("contact") == "changeover":
                return name, self.switch(name)["between"]
        return None

    def plug_node(self, block: str) -> Node:
        """Where a block's own wires begin: its plug, the common of its changeover, or its district's terminal."""
        between = self.changeover(block)
        if "channel" in self.blocks[block]:
            return "plug", self.stem(block)
        return ("throw", between[0]) if between else ("feed", self.district(block))

    # -- the layout ---------------------------------------------------------------------------------------------------
    def length(self, block: str) -> float:
        return amount(self.blocks[block]["length"])

    def drops(self, block: str) -> list[float]:
        if "fed_through" in self.blocks[block]:
            return []
        count = math.ceil(self.length(block) / amount(self.harness(block)["feeder_spacing"]) - 1e-9)
        return [(n + 0.5) * self.length(block) / count for n in range(count)]

    def lead(self, block: str) -> float:
        return amount(self.blocks[block].get("lead", self.harness(block)["lead"]))

    def places(self, block: str) -> list[float]:
        found: list[float] = []
        for at_m in sorted((0.0, self.length(block) / 2, self.length(block), *self.drops(block))):
            if not found or at_m - found[-1] > 1e-9:
                found.append(at_m)
        return found

    def spot(self, block: str, rail: str, at_m: float) -> tuple[Any, ...]:
        return (rail, block, min(self.places(block), key=lambda one: abs(one - at_m)))

    def put(self, tag: tuple[Any, ...], a: Node, b: Node, ohms: float, when: When = None) -> None:
        self.pieces[tag] = [a, b, ohms, when]

    def rails(self) -> None:
        for block in self.blocks:
            for rail in RAILS:
                for one, two in zip(self.places(block), self.places(block)[1:], strict=False):
                    ohms = RAIL[self.harness(block)["rail"]] * (two - one) * self.of("rail", 0.75, 1.25)
                    self.put(("rail", block, rail, one), (rail, block, one), (rail, block, two), ohms)

    def supplies(self) -> None:
        """From the boosters to the terminals of the districts and the banks of the boards."""
        for name, keys in self.table("districts").items():
            booster, ohms = keys["booster"], self.pair(keys.get("feed"))
            self.put(("feed", name), ("hot", booster), ("feed", name), ohms)
            self.put(("return", name), ("back", booster), ("return", name), ohms)
            if "trip" in keys or "breaker" in keys or keys.get("polarity") == "automatic":
                self.powered.add(("feed", name))
            if keys.get("polarity") == "automatic":
                self.powered.add(("return", name))
            shared = keys.get("return", "" if self.dc and "polarity" not in keys else None)
            if shared is not None:
                self.put(("shared", name), ("shared", shared), ("return", name), TIE)
        for bank in self.banks():
            here: Node = ("feed", self.district_of(bank))
            for name in self.before(bank):
                self.contact(name, here, ("before", name), when=(name, "closed"))
                here = ("before", name)
            self.put(("bank", *bank), here, ("bank", *bank), self.pair(self.table("boards")[bank[0]].get("feed")))

    def before(self, bank: tuple[str, int]) -> list[str]:
        """The switches in the feed of a whole bank."""
        some = [
            name
            for block, keys in self.blocks.items()
            if "channel" in keys and self.bank(keys["channel"]) == bank
            for name in self.isolators(block)
            if self.switch(name).get("side") == "before-detector"
        ]
        return list(dict.fromkeys(some))

    def contact(self, name: str, a: Node, b: Node, when: tuple[str, str], again: str = "") -> None:
        """A contact, with the wires to and from the panel that it is on, and what lies across it."""
        keys = self.switch(name)
        panel = self.table("panels").get(keys.get("panel", ""), {})
        there, back = (
            self.wire(panel["wire"], amount(panel[key])) if key in panel else 0.0 for key in ("from_board", "to_bus")
        )
        if there:
            self.put(("lead", name, again), a, ("in", name, again), there)
            a = ("in", name, again)
        self.put(("contact", name, again), a, b, max(amount(keys.get("contact_resistance", "0 ohm")) + back, TIE), when)
        if "hold" in keys:
            self.put(("hold", name, again), a, b, amount(keys["hold"]))

    def feed(self, block: str) -> None:
        """From where a block's wires begin to its bus, through its isolators."""
        here, between = self.plug_node(block), self.changeover(block)
        if between and "channel" not in self.blocks[block]:
            for district in between[1]:
                self.contact(between[0], ("feed", district), here, (between[0], district), district)
        own = self.behind(block)
        for at, name in enumerate(own):
            there = ("bus", block) if at + 1 == len(own) else ("behind", block, name)
            self.contact(name, here, there, (name, "closed"), block)
            here = there
        if not own:
            self.put(("through", block), here, ("bus", block), TIE)

    def behind(self, block: str) -> list[str]:
        """The contacts between where a block's wires begin and its bus."""
        between = self.changeover(block)
        own = (one for one in self.isolators(block) if not (between and one == between[0]))
        return [one for one in own if self.switch(one).get("side", "after-detector") == "after-detector"]

    def stretch(
        self, tag: tuple[Any, ...], harness: dict[str, Any], taps: list[tuple[float, Any]], start: Any, far_m: float
    ) -> None:
        """A bus from ``start`` past its taps, cut at each bench-work joint."""
        size, here, at_m, joint = harness["bus" if tag[0] == "bus" else "common"], start, 0.0, 1
        segment = amount(harness["segment"]) if "segment" in harness else math.inf
        for distance, node in taps:
            while joint * segment < min(distance + 1e-9, far_m - 2e-9):
                end = joint * segment
                self.put((*tag, "wire", end), here, (*tag, "before", joint), self.wire(size, end - at_m))
                ends = (*tag, "before", joint), (*tag, "after", joint)
                self.put((*tag, "joint", joint), *ends, self.joint_ohm(harness))
                here, at_m, joint = (*tag, "after", joint), end, joint + 1
            self.put((*tag, "wire", distance, node), here, node, self.wire(size, distance - at_m))
            here, at_m = node, distance

    def bus(self, block: str) -> None:
        harness, lead = self.harness(block), self.lead(block)
        taps = [(lead + at_m, ("tap", block, n)) for n, at_m in enumerate(self.drops(block), 1)]
        self.stretch(("bus", block), harness, taps, ("bus", block), lead + self.length(block))
        for n, at_m in enumerate(self.drops(block), 1):
            for rail, tap in (("detected", "tap"), ("common", "ctap")):
                ohms = self.wire(harness["feeder"], amount(harness["feeder_length"]))
                self.put(("drop", block, rail, n), (tap, block, n), self.spot(block, rail, at_m), ohms)

    def commons(self) -> None:
        """One common bus a harness, from the return terminals of what feeds it; behind a contact in its return each
        block has its own."""
        for name, harness in self.table("harnesses").items():
            blocks = [block for block in self.fed if self.blocks[block].get("harness") == name]
            for district in dict.fromkeys(map(self.district, blocks)):
                self.put(("tied", name, district), ("return", district), ("common", name), TIE)
            alone = [[block] for block in blocks if self.returns(block)]
            for some in (*alone, [block for block in blocks if not self.returns(block)]):
                each = [(block, n, at_m) for block in some for n, at_m in enumerate(self.drops(block), 1)]
                taps = sorted((self.lead(block) + at_m, ("ctap", block, n)) for block, n, at_m in each)
                here: Node = ("common", name)
                tag = name if len(some) > 1 else ".".join((name, *some))
                for switch in self.returns(some[0]) if some else ():
                    there = ("returns", some[0], switch)
                    self.contact(switch, here, there, (switch, "closed"), f"{some[0]} back")
                    here = there
                far_m = max((self.lead(block) + self.length(block) for block in some), default=0.0)
                self.stretch(("common", tag), harness, taps, here, far_m)

    def lying(self) -> None:
        """What lies across the rails, at the far end, and across bus pairs, where the last drop is."""
        for block, keys in self.blocks.items():
            if "across" in keys:
                one, other = (self.spot(block, rail, self.length(block)) for rail in RAILS)
                self.lies(("across", block, "rails"), one, other, keys["across"])
            part = self.harness(block).get("terminator") if block in self.fed else None
            if part is not None:
                last = len(self.drops(block))
                self.lies(("across", block, "bus"), ("tap", block, last), ("ctap", block, last), part)

    def lies(self, tag: tuple[Any, ...], a: Node, b: Node, part: dict[str, str]) -> None:
        if "capacitance" in part:
            self.powered.add(tag)
        self.put(tag, a, b, ohms_of_signal(part, self.dc))

    def meet(self) -> None:
        for one, two, gap, ends, again in self.joints:
            for rail in RAILS:
                if gap not in (rail, "both"):
                    when = self.routed(one, two, rail)
                    a, b = self.ends(one, two, ends, rail)
                    self.put(("joiner", f"{one},{two}{again}", rail), a, b, TIE, when)

    def routed(self, one: str, two: str, rail: str) -> tuple[str, str] | None:
        """The points, and how they must stand, where they pass power to the leg alone for which they are set."""
        for name, keys in self.table("turnouts").items():
            carries = keys.get("frog_rail", "detected")
            legs = (("through", carries), ("diverging", "common" if carries == "detected" else "detected"))
            for leg, own in legs if keys.get("routes") else ():
                beyond = self.block_beyond(keys.get(leg))
                if rail == own and {keys["block"], beyond} == {one, two}:
                    return name, leg
        return None

    def block_beyond(self, name: str | None) -> str | None:
        """The block of a turnout that is named, or the block itself."""
        found: str | None = self.table("turnouts").get(str(name), {}).get("block", name)
        return found

    def ends(self, one: str, two: str, ends: list[str], rail: str) -> list[Any]:
        far = [0.0 if end == "near" else self.length(block) for block, end in zip((one, two), ends, strict=True)]
        return [(rail, one, far[0]), (rail, two, far[1])]

    def frogs(self) -> None:
        """Each switched frog, tied to the rail for which its points are set, at the end where it lies."""
        for name, keys in self.table("turnouts").items():
            if keys.get("frog") != "switched":
                continue
            block, carries = keys["block"], keys.get("frog_rail", "detected")
            beyond = [self.block_beyond(keys.get(leg)) for leg in LEGS]
            end = next(
                (
                    ends[(a, b).index(block)]
                    for leg in beyond
                    for a, b, _, ends, _ in self.joints
                    if {a, b} == {block, leg}
                ),
                "near",
            )
            at_m = 0.0 if end == "near" else self.length(block)
            rails = carries, "common" if carries == "detected" else "detected"
            for leg, rail in zip(LEGS, rails, strict=True):
                self.put(("tie", name, leg), ("frog", name), self.spot(block, rail, at_m), TIE, (name, leg))


LEGS = ("through", "diverging")


def shown_by_a_meter(value: float | frozenset[str], chance: random.Random) -> float | frozenset[str]:
    """With 2 % and a milliohm of noise, rounded to a milliohm; open above 100 kohm."""
    if not isinstance(value, float):
        return value
    if value >= 0.5 * OPEN:
        return OPEN
    return max(round(value * chance.gauss(1.0, 0.02) + chance.gauss(0.0, 0.001), 3), 0.0)
