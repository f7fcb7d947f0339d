"""Layouts at random, as a person might wire them: mostly right, with a mistake here and there, and many interlocks."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import tomli_w
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.analysis.study import Study

Values = dict[str, Any]

MOST_STATES = 10_000
"""A layout has no more states than this, so that a test can look at all of them."""
BANK = 4
DISTRICTS = ("east", "north", "west")


def load(values: Values) -> Study:
    """Read a layout as if it were a file."""
    return api.loads(tomli_w.dumps(values), "yard.toml")


class Draw:
    """Choices, the usual ones first, so that a failing layout shrinks towards a plain one."""

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw
        self.states = 1

    def of(self, *choices: Any) -> Any:
        """One of the choices; write one several times to have it more often."""
        return self.draw(st.sampled_from(choices))

    def one_in(self, many: int) -> bool:
        """True once in so many times."""
        return bool(self.draw(st.integers(1, many)) == many)

    def number(self, low: int, high: int) -> int:
        return self.draw(st.integers(low, high))

    def room(self, positions: int) -> bool:
        """Whether one more control still leaves all states to be looked at; counts it in."""
        if self.states * positions > MOST_STATES:
            return False
        self.states *= positions
        return True


@st.composite
def layouts(draw: st.DrawFn, interlocked: bool = False) -> Values:
    """A layout of up to seven blocks and some thousand states, as the values of its file."""
    pick = Draw(draw)
    values: Values = {
        "format": 1,
        "layout": {"name": "Sedge Halt", "control": pick.of("dcc", "dcc", "dc")},
    }
    power(pick, values)
    blocks(pick, values)
    isolators(pick, values)
    joints(pick, values)
    turnouts(pick, values)
    series(pick, values)
    if pick.one_in(5):
        plain(pick, values)
    if pick.one_in(4):
        spur(pick, values)
    if interlocked:
        interlocks(pick, values)
        selectors(pick, values)
    return {key: value for key, value in values.items() if value != {} and value != []}


def interlocks(pick: Draw, values: Values) -> None:
    """What relays and lever frames keep out: anything but how the layout usually stands."""
    places: dict[str, list[str]] = {}
    usual: dict[str, str | None] = {}
    for name, body in values["isolators"].items():
        usual[name] = body.get("usually")
        if body.get("contact") == "changeover":
            places[name] = [*body["between"], *(["off"] if body.get("centre_off", True) else [])]
        else:
            places[name], usual[name] = ["closed", "open"], body.get("usually", "closed")
    for name, body in values["turnouts"].items():
        places[name], usual[name] = ["through", "diverging"], body.get("usually", "through")
    sure = [name for name, place in usual.items() if place is not None]
    if len(places) < 2 or not sure:
        return
    values["interlocks"] = []
    for _ in range(pick.number(1, 3)):
        first = pick.of(*sure)  # what keeps the usual state in
        place = pick.of(*(one for one in places[first] if one != usual[first]))
        never = {first: place}
        for _ in range(pick.number(1, 2)):
            name = pick.of(*(name for name in places if name != first))
            never[name] = pick.of(*places[name])
        values["interlocks"].append({"never": never, "because": "the frame"})
    open_ = [name for name in sure if usual[name] == "open"]
    alike = [*open_, *(name for name in sure if usual[name] == "closed")][: len(open_) + 1]
    if len(alike) > 1 and pick.one_in(2):
        values["interlocks"].append({"controls": alike, "at_most_one": "closed", "because": "relays"})


def power(pick: Draw, values: Values) -> None:
    boosters = ["B1", "B2"][: pick.number(1, 2)]
    values["boosters"] = {name: {"voltage": "14 V", "current": "3 A"} for name in boosters}
    values["districts"] = {}
    for name in DISTRICTS[: pick.number(1, 3)]:
        district = values["districts"][name] = {"booster": pick.of(*boosters)}
        back = pick.of(None, None, "R1", "R1", "R2")
        if back is not None:
            district["return"] = back
    values["board_types"] = {"eight": {"channels": 2 * BANK, "bank_size": BANK, "threshold": "1.5 mA"}}
    values["boards"] = {}
    for name in ("D1", "D2")[: pick.number(1, 2)]:
        banks = [pick.of(*values["districts"]) for _ in range(pick.number(1, 2))]
        values["boards"][name] = {"type": "eight", "banks": banks}
    values["harnesses"] = {"bench": {"bus": "1.5 mm2"}} if pick.one_in(3) else {}


def blocks(pick: Draw, values: Values) -> None:
    values["blocks"] = {}
    used: list[str] = []
    for number in range(1, pick.number(1, 7) + 1):
        block: Values = {}
        if pick.one_in(6):
            block = {"undetected": "a tramway", "district": pick.of(*values["districts"])}
        elif used and pick.one_in(16):
            block["channel"] = pick.of(*used)
        else:
            board, bank = pick.of(*values["boards"]), pick.number(0, 1)
            free = (f"{board}.{bank * BANK + place}" for place in range(1, BANK + 1))
            channel = next((one for one in free if one not in used), None)
            block = {"channel": channel} if channel else {"undetected": "none left", "district": DISTRICTS[0]}
            used += [channel] if channel else []
        if values["harnesses"] and pick.one_in(2):
            block["harness"] = "bench"
        values["blocks"][f"S{number}"] = block


def banks_of(values: Values) -> dict[str, list[str]]:
    """The detected blocks of each bank."""
    found: dict[str, list[str]] = {}
    for name, block in values["blocks"].items():
        if "channel" in block:
            board, number = block["channel"].split(".")
            found.setdefault(f"{board} {(int(number) - 1) // BANK}", []).append(name)
    return found


def isolators(pick: Draw, values: Values) -> None:
    values["isolators"] = {}
    for members in banks_of(values).values():
        kind = pick.of("none", "none", "before", "changeover")
        if kind == "none":
            continue
        body = before(pick) if kind == "before" else changeover(pick, values)
        name = new_isolator(pick, values, body)
        if name is not None:
            forgotten = pick.of(*members) if len(members) > 1 and pick.one_in(4) else None
            for member in members:
                if member != forgotten:
                    values["blocks"][member]["isolator"] = name
    for name, block in values["blocks"].items():
        if "isolator" not in block:
            own = own_isolator(pick, values, "undetected" in block)
            if own is not None:
                values["blocks"][name]["isolator"] = own
    intents(pick, values)


def series(pick: Draw, values: Values) -> None:
    """Some blocks behind a second isolator: mostly one of their own, now and then a pole of another's."""
    able = [block for block in values["blocks"].values() if "isolator" in block]
    for block in able[: pick.of(0, 0, 1, 2)]:
        more = own_isolator(pick, values, False)
        if more is not None and more.split(".")[0] not in behind(block):
            block["isolator"] = [block["isolator"], more]


def spur(pick: Draw, values: Values) -> None:
    """A track that hangs on another by its rails, mostly by points that pass power to one leg only."""
    fed = [name for name, block in values["blocks"].items() if "unpowered" not in block]
    host, through = pick.of(*fed), None
    if pick.one_in(2) and pick.room(2):
        through = "W"
        values["turnouts"]["W"] = {"block": host, pick.of("through", "diverging"): "spur", "routes": True}
    values["blocks"]["spur"] = {"fed_through": through or host}
    values["joints"].append({"blocks": [host, "spur"], "gap": pick.of("none", "none", "none", "detected")})


def plain(pick: Draw, values: Values) -> None:
    """A track without power, mostly cut off as it should be."""
    values["blocks"]["stub"] = {"unpowered": "a display track"}
    met = pick.of(*(name for name in values["blocks"] if name != "stub"))
    values["joints"].append({"blocks": [met, "stub"], "gap": pick.of("both", "both", "both", "detected", "none")})


def selectors(pick: Draw, values: Values) -> None:
    """A rotary switch of two or three tracks, now and then, that are not yet behind another switch."""
    free = [
        name for name, block in values["blocks"].items() if not {"isolator", "unpowered", "fed_through"} & block.keys()
    ]
    if len(free) < 2 or pick.one_in(2) or not pick.room(8):
        return
    body: Values = {"tracks": free[:3]}
    if pick.one_in(3):
        body["off"] = False
    elif pick.one_in(2):
        body["usually"] = free[0]
    if pick.one_in(2):
        body["poles"] = 2
    values["selectors"] = {"R": body}


def behind(block: Values) -> list[str]:
    """The isolators that a block is behind."""
    named = block.get("isolator", [])
    return [one.split(".")[0] for one in ([named] if isinstance(named, str) else named)]


def own_isolator(pick: Draw, values: Values, undetected: bool) -> str | None:
    """The isolator of one block: mostly its own, now and then a pole of one that another block has too."""
    known = [name for name, body in values["isolators"].items() if undetected or body.get("contact") is None]
    if known and pick.one_in(6):
        name = pick.of(*known)
        body = values["isolators"][name]
        if body.get("contact") == "changeover":
            return str(name)
        body["poles"] = body.get("poles", 1) + 1
        return f"{name}.{body['poles']}"
    kind = pick.of("after", "after", "after", "common", "none", "changeover" if undetected else "after")
    if kind == "none":
        return None
    body = changeover(pick, values) if kind == "changeover" else on_off(pick)
    if kind == "common" and body is not None:
        body["side"] = "common-rail"
    return new_isolator(pick, values, body)


def new_isolator(pick: Draw, values: Values, body: Values | None) -> str | None:
    if body is None:
        return None
    positions = 3 if body.get("contact") == "changeover" and body.get("centre_off", True) else 2
    if not pick.room(positions):
        return None
    name = f"I{len(values['isolators']) + 1}"
    values["isolators"][name] = body
    return name


def on_off(pick: Draw) -> Values:
    body: Values = {}
    if pick.one_in(5):
        body["hold"] = "10 kohm"
        body["detection"] = pick.of("held", "held", "off")
    if pick.one_in(6):
        body["usually"] = "open"
    return body


def before(pick: Draw) -> Values:
    return {**on_off(pick), "side": "before-detector"}


def changeover(pick: Draw, values: Values) -> Values | None:
    if len(values["districts"]) < 2:
        return None
    first = pick.of(*values["districts"])
    between = [first, pick.of(*(name for name in values["districts"] if name != first))]
    body: Values = {"contact": "changeover", "between": between, "poles": pick.number(1, 2)}
    if pick.one_in(3):
        body["centre_off"] = False
    elif pick.one_in(5):
        body["usually"] = pick.of(*between, "off")
    return body


def intents(pick: Draw, values: Values) -> None:
    """What some isolators are said to isolate: what they do, mostly, else something more or something else."""
    for name, body in values["isolators"].items():
        if not pick.one_in(4):
            continue
        mine = [one for one, block in values["blocks"].items() if name in behind(block)]
        if pick.one_in(2):
            mine.append(pick.of(*values["blocks"]))
        body["isolates"] = list(dict.fromkeys(mine))


def home(values: Values, block: str) -> str:
    body = values["blocks"][block]
    if "channel" not in body:
        return str(body["district"])
    board, number = body["channel"].split(".")
    banks = values["boards"][board]["banks"]
    return str(banks[(int(number) - 1) // BANK if len(banks) > 1 else 0])


def joints(pick: Draw, values: Values) -> None:
    values["joints"] = []
    names = list(values["blocks"])
    pairs = [pair for pair in pairwise(names) if not pick.one_in(5)]
    if len(names) > 1:
        for _ in range(pick.of(0, 0, 1, 2)):
            first = pick.of(*names)
            pairs.append((first, pick.of(*(name for name in names if name != first))))
    for first, second in dict.fromkeys(pairs):
        right = ["detected", "both"] if home(values, first) == home(values, second) else ["both"]
        gap = pick.of("none", "common", "detected", "both") if pick.one_in(5) else pick.of(*right)
        values["joints"].append({"blocks": [first, second], "gap": gap})


def turnouts(pick: Draw, values: Values) -> None:
    values["turnouts"] = {}
    blocks = list(values["blocks"])
    count = pick.number(0, 4)
    names = [f"T{number}" for number in range(1, count + 1)]
    for name in names:
        body: Values = {"block": pick.of(*blocks)}
        for leg in ("toe", "through", "diverging"):
            beyond = pick.of(None, *blocks, *(one for one in names if one != name))
            if beyond is not None:
                body[leg] = beyond
        if not pick.one_in(4) and pick.room(2):
            body["frog"] = "switched"
            gaps = pick.of(True, True, False, False, None)
            if gaps is not None:
                body["frog_gaps"] = gaps
            body["frog_rail"] = pick.of("detected", "common")
        if pick.one_in(4):
            body["usually"] = "diverging"
        values["turnouts"][name] = body
