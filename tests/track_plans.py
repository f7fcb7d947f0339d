"""Track plans that people build, and plans by chance: turnouts, blocks and joints as TOML."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from random import Random

from attrs import field, frozen

HEAD = """format = 1
layout = { name = "By chance", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "4 A" }
districts.main = { booster = "B1" }
board_types.big = { channels = 200, threshold = "1 mA" }
boards.D1 = { type = "big" }
"""
LEGS = ("toe", "through", "diverging")


def plan(chance: Random, least: int = 2, most: int = 12) -> str:
    """A plan of so many turnouts, each in a throat of its own; a leg that meets no other ends behind a block."""
    count = chance.randint(least, most)
    free = [(f"T{number}", leg) for number in range(1, count + 1) for leg in LEGS]
    chance.shuffle(free)
    beyond: dict[tuple[str, str], str] = {}
    blocks: list[str] = []
    joints: list[tuple[str, str, str, str]] = []

    def block() -> str:
        blocks.append(f"S{len(blocks) + 1}")
        return blocks[-1]

    def throat(name: str) -> str:
        return f"throat-{name}"

    while free:
        one = free.pop()
        other = free.pop() if free and chance.random() < 0.7 else None
        between = [block() for _ in range(chance.choice((0, 1, 1, 2)) if other and other[0] != one[0] else 1)]
        end = "near" if one[1] == "toe" else "far"
        last = throat(one[0])
        for name in between:
            joints.append((last, name, end, "near"))
            last, end = name, "far"
        beyond[one] = between[0] if between else other[0] if other else ""
        if other is not None:
            beyond[other] = between[-1] if between else one[0]
            joints.append((last, throat(other[0]), end, "near" if other[1] == "toe" else "far"))
    lines = [HEAD]
    names = [*blocks, *(f"throat-T{number}" for number in range(1, count + 1))]
    lines += [f'blocks.{name} = {{ channel = "D1.{number}" }}' for number, name in enumerate(names, 1)]
    for number in range(1, count + 1):
        legs = ", ".join(f'{leg} = "{beyond[f"T{number}", leg]}"' for leg in LEGS if beyond.get((f"T{number}", leg)))
        lines.append(f'turnouts.T{number} = {{ block = "throat-T{number}", {legs} }}')
    for a, b, end, there in joints:
        lines.append(f'[[joints]]\nblocks = ["{a}", "{b}"]\nends = ["{end}", "{there}"]\ngap = "both"')
    return "\n".join(lines) + "\n"


@frozen(eq=False)
class Plan:
    """A plan in the making, in the order in which it is told."""

    name: str
    blocks: list[str] = field(factory=list)
    lines: list[str] = field(factory=list)

    def block(self, names: str, **said: object) -> Plan:
        """Blocks, one channel each."""
        for name in names.split():
            self.blocks.append(name)
            keys = "".join(f", {key} = {value!r}" for key, value in said.items()).replace("'", '"')
            self.lines.append(f'blocks.{name} = {{ channel = "D1.{len(self.blocks)}"{keys} }}')
        return self

    def turnout(self, name: str, block: str, toe: str | None, through: str, diverging: str) -> Plan:
        legs = (("toe", toe), ("through", through), ("diverging", diverging))
        told = "".join(f', {leg} = "{there}"' for leg, there in legs if there)
        self.lines.append(f'turnouts.{name} = {{ block = "{block}"{told} }}')
        return self

    def joint(self, one: str, other: str, ends: str = "far near") -> Plan:
        first, last = ends.split()
        self.lines.append(f'[[joints]]\nblocks = ["{one}", "{other}"]\ngap = "both"\nends = ["{first}", "{last}"]')
        return self

    def chain(self, *names: str) -> Plan:
        for one, other in pairwise(names):
            self.joint(one, other)
        return self

    def ladder(self, prefix: str, block: str, toe: str | None, tracks: Sequence[str]) -> Plan:
        """A ladder that goes on by its through legs."""
        for number, track in enumerate(tracks[:-1], 1):
            last = number == len(tracks) - 1
            through = tracks[-1] if last else f"{prefix}{number + 1}"
            self.turnout(f"{prefix}{number}", block, toe if number == 1 else None, through, track)
        return self

    @property
    def text(self) -> str:
        tables = sorted(self.lines, key=lambda line: line.startswith("[["))
        return HEAD.replace("By chance", self.name) + "\n".join(tables) + "\n"


def tracks(prefix: str, count: int) -> list[str]:
    return [f"{prefix}{number}" for number in range(1, count + 1)]


def double_ended(count: int, parallel: bool = False) -> Plan:
    names = tracks("S", count)
    plan = Plan(f"yard of {count}").block("west-line east-line").block("west east", kind="throat")
    plan.block(" ".join(names), kind="storage").joint("west-line", "west").joint("east", "east-line")
    for name in names:
        plan.chain("west", name, "east")
    plan.ladder("W", "west", "west-line", names)
    return plan.ladder("E", "east", "east-line", names[::-1] if parallel else names)


def two_ladders(count: int) -> Plan:
    names = tracks("M", 2 * count)
    plan = Plan("two ladders").block("arrival departure").block("west east", kind="throat")
    plan.block(" ".join(names), kind="storage").joint("arrival", "west").joint("east", "departure")
    for name in names:
        plan.chain("west", name, "east")
    for side, block, toe in (("W", "west", "arrival"), ("E", "east", "departure")):
        plan.turnout(f"{side}0", block, toe, f"{side}A1", f"{side}B1")
        plan.ladder(f"{side}A", block, None, names[:count]).ladder(f"{side}B", block, None, names[count:])
    return plan


def plans() -> dict[str, str]:
    """The plans that people build, by name."""
    found: list[Plan] = []

    def new(name: str) -> Plan:
        found.append(Plan(name))
        return found[-1]

    six = tracks("R", 6)
    one = new("ladder").block("lead").block("neck", kind="throat").block(" ".join(six), kind="storage")
    one.joint("lead", "neck").ladder("T", "neck", "lead", six)
    for name in six:
        one.joint("neck", name)

    one = new("ladder on a ladder").block("lead").block("neck", kind="throat").block("A1 A2 A3 B1 B2 B3")
    one.joint("lead", "neck").turnout("T1", "neck", "lead", "T2", "A1").turnout("T2", "neck", None, "T3", "U1")
    one.turnout("T3", "neck", None, "A3", "A2").ladder("U", "neck", None, ["B1", "B2", "B3"])
    for name in ("A1", "A2", "A3", "B1", "B2", "B3"):
        one.joint("neck", name)

    one = new("oval with a passing loop").block("north east-curve west-curve main pass").block("w e", kind="throat")
    one.chain("w", "main", "e").chain("w", "pass", "e").chain("e", "east-curve", "north", "west-curve", "w")
    one.turnout("TW", "w", "west-curve", "main", "pass").turnout("TE", "e", "east-curve", "main", "pass")

    one = new("oval with yard and station").block("west-curve east-curve link").block("sw se yw ye", kind="throat")
    one.block("P1 P2 P3 Y1 Y2 Y3 Y4 Y5", kind="storage")
    one.chain("west-curve", "sw").chain("se", "link", "east-curve", "ye").joint("yw", "west-curve", "near near")
    for name in ("P1", "P2", "P3"):
        one.chain("sw", name, "se")
    for name in tracks("Y", 5):
        one.joint("ye", name).joint(name, "yw", "far far")
    one.ladder("A", "sw", "west-curve", ["P1", "P2", "P3"]).ladder("B", "se", "link", ["P1", "P2", "P3"])
    one.ladder("E", "ye", "east-curve", tracks("Y", 5)).ladder("W", "yw", "west-curve", tracks("Y", 5))

    one = new("figure of eight").block("shared north-1 north-2 south-1 south-2", group="eight")
    one.block("a b", kind="throat").chain("shared", "a", "north-1", "north-2", "b", "shared")
    one.chain("a", "south-1", "south-2", "b").turnout("TA", "a", "shared", "north-1", "south-1")
    one.turnout("TB", "b", "shared", "south-2", "north-2").lines.append('groups.eight = { shape = "eight" }')

    one = new("dogbone").block("west-loop east-loop west-line east-line P1 P2").block("wl el sw se", kind="throat")
    one.turnout("TL", "wl", "west-line", "west-loop", "west-loop").joint("wl", "west-loop", "near near")
    one.joint("west-loop", "wl", "far near").joint("wl", "west-line").joint("west-line", "sw")
    one.turnout("TR", "el", "east-line", "east-loop", "east-loop").joint("el", "east-loop")
    one.joint("east-loop", "el", "far far").joint("east-line", "el").joint("se", "east-line")
    one.chain("sw", "P1", "se").chain("sw", "P2", "se")
    one.turnout("A1", "sw", "west-line", "P2", "P1").turnout("B1", "se", "east-line", "P2", "P1")

    one = new("balloon loop").block("line loop-1 loop-2 loop-3").block("fan", kind="throat")
    one.turnout("TB", "fan", "line", "loop-1", "loop-3").chain("line", "fan", "loop-1", "loop-2", "loop-3")
    one.joint("loop-3", "fan", "far far")

    one = new("triangle").block("west-line east-line mill-line ab bc ca").block("ka kb kc", kind="throat")
    one.joint("west-line", "ka").joint("east-line", "kb").joint("mill-line", "kc")
    for a, side, b in (("ka", "ab", "kb"), ("kb", "bc", "kc"), ("kc", "ca", "ka")):
        one.joint(a, side).joint(side, b, "far far")
    one.turnout("TA", "ka", "west-line", "ab", "ca").turnout("TB", "kb", "east-line", "ab", "bc")
    one.turnout("TC", "kc", "mill-line", "bc", "ca")

    one = new("triangle with a siding").block("west-line east-line mill-line a1 a2 bc ca pit")
    one.block("ka kb kc q", kind="throat").joint("west-line", "ka").joint("east-line", "kb").joint("mill-line", "kc")
    one.chain("ka", "a1", "q", "a2").joint("a2", "kb", "far far").joint("q", "pit")
    for a, side, b in (("kb", "bc", "kc"), ("kc", "ca", "ka")):
        one.joint(a, side).joint(side, b, "far far")
    one.turnout("TA", "ka", "west-line", "a1", "ca").turnout("TB", "kb", "east-line", "a2", "bc")
    one.turnout("TC", "kc", "mill-line", "bc", "ca").turnout("TQ", "q", "a1", "a2", "pit")

    one = new("siding that leads back").block("line far-west pit low-1 low-2").block("fan back", kind="throat")
    one.chain("line", "fan", "low-1", "low-2").joint("fan", "back", "far far").joint("back", "pit", "far near")
    one.joint("back", "far-west", "near near")
    one.turnout("TF", "fan", "line", "TB", "low-1").turnout("TB", "back", "far-west", "TF", "pit")

    one = new("branch with a terminus").block("main-west main-mid main-east branch").block("jn tm", kind="throat")
    one.block("P1 P2 bay", kind="storage").chain("main-west", "jn", "main-mid", "main-east").chain("jn", "branch", "tm")
    one.turnout("TJ", "jn", "main-west", "main-mid", "branch").ladder("M", "tm", "branch", ["P1", "P2", "bay"])
    for name in ("P1", "P2", "bay"):
        one.joint("tm", name)

    one = new("double track with crossovers").block("up-1 up-2 down-1 down-2").block("c1 c2 c3 c4", kind="throat")
    one.chain("up-1", "c1", "up-2", "c2", "up-1").chain("down-1", "c3", "down-2", "c4", "down-1")
    one.joint("c1", "c3").joint("c2", "c4").turnout("X1", "c1", "up-1", "up-2", "X3")
    one.turnout("X3", "c3", "down-2", "down-1", "X1").turnout("X2", "c2", "up-1", "up-2", "X4")
    one.turnout("X4", "c4", "down-2", "down-1", "X2")

    one = new("oval with a reversing chord").block("north south chord").block("a b", kind="throat")
    one.chain("south", "a", "north", "b", "south").joint("a", "chord").joint("chord", "b", "far far")
    one.turnout("RA", "a", "south", "north", "chord").turnout("RB", "b", "north", "south", "chord")

    one = (
        new("two decks with a helix")
        .block("entry low-line", group="lower")
        .block("lw le", kind="throat", group="lower")
    )
    one.block("L1 L2 L3", kind="storage", group="lower").block("helix-1 helix-2", helix=2)
    one.block("top-line U1 U2 U3", group="upper").block("ut", kind="throat", group="upper")
    one.chain("entry", "lw").chain("le", "low-line", "helix-1", "helix-2", "top-line", "ut")
    for name in tracks("L", 3):
        one.chain("lw", name, "le")
    one.ladder("W", "lw", "entry", tracks("L", 3)).ladder("E", "le", "low-line", tracks("L", 3))
    one.ladder("V", "ut", "top-line", tracks("U", 3))
    for name in tracks("U", 3):
        one.joint("ut", name)
    one.lines.extend(["groups.lower = { deck = 1 }", "groups.upper = { deck = 2 }"])

    made = {one.name: one.text for one in found}
    made |= {"yard": double_ended(9).text, "yard, ladders parallel": double_ended(9, parallel=True).text}
    return made | {"two ladders in one throat": two_ladders(12).text}
