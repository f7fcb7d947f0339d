"""Complete layouts made by hypothesis: every datum that the network needs, wired in every way the language knows.

They are as likely to be wired wrong as right (bridged channels, joined districts, shorts by frogs): physics holds all
the same. A layout is a dictionary as TOML has it; ``case_of`` reads it as a file would be read.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import tomli_w
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.analysis.study import Study

Values = dict[str, Any]
SIZES = ["0.5 mm2", "0.75 mm2", "1.5 mm2", "2.5 mm2", "14 AWG", "20 AWG"]
GAPS = ["detected", "detected", "detected", "both", "common", "none"]


def case_of(values: Values) -> Study:
    """The layout under study."""
    return api.loads(tomli_w.dumps(values), "yard.toml")


@st.composite
def yards(
    draw: st.DrawFn,
    *,
    loads: bool = True,
    drops: bool = True,
    boosters: int = 2,
    changeovers: bool = True,
    frogs: bool = True,
    open_ones: bool = True,
) -> Values:
    """A layout of two to seven blocks. The arguments say what may be in it; ``open_ones``: isolators usually open."""
    made = _Yard(draw, draw(st.sampled_from(["dcc", "dcc", "dc"])))
    made.power(draw(st.integers(1, boosters)))
    made.boards(drops)
    made.harnesses()
    for number in range(1, draw(st.integers(2, 7)) + 1):
        made.block(f"A{number}")
    made.isolators(open_ones)
    made.selector(open_ones)
    if changeovers:
        made.changeover()
    made.panel()
    made.joints()
    if frogs and draw(st.integers(0, 3)) == 0:
        made.frog()
    if loads:
        made.vehicles()
        if draw(st.integers(0, 2)) == 0:
            made.across()
    return made.values


class _Yard:
    def __init__(self, draw: st.DrawFn, control: str) -> None:
        self.draw = draw
        self.values: Values = {"format": 1, "layout": {"name": "Made yard", "control": control}, "blocks": {}}

    def one(self, *choices: Any) -> Any:
        return self.draw(st.sampled_from(choices))

    def whole(self, least: int, most: int) -> int:
        return self.draw(st.integers(least, most))

    def metres(self, least: float, most: float) -> str:
        return f"{self.whole(round(least * 10), round(most * 10)) / 10} m"

    def power(self, boosters: int) -> None:
        volts = [self.one("15 V", "15 V", "14 V", "16 V") for _ in range(boosters)]
        self.values["boosters"] = {
            f"B{number}": {"voltage": one, "current": "5 A", "resistance": self.one("0 ohm", "0.05 ohm")}
            for number, one in enumerate(volts, 1)
        }
        joined = self.one(True, False)
        self.values["districts"] = {}
        for number in range(1, self.whole(boosters, 3) + 1):
            feed = {"wire": self.one(*SIZES), "length": self.metres(0.5, 9)}
            home = {"booster": f"B{min(number, boosters)}", "feed": feed}
            self.values["districts"][f"d{number}"] = home | ({"return": "earth"} if joined else {})

    @property
    def districts(self) -> list[str]:
        return list(self.values["districts"])

    def boards(self, drops: bool) -> None:
        self.values["board_types"] = {
            name: {
                "channels": 4,
                "threshold": "0.5 mA",
                "bank_size": self.one(2, 4),
                "drop": self.one("0 V", "0.7 V", "0.7 V"),
                "sensing": self.one("series", "series", "coil"),
            }
            for name in ("north", "south")
        }
        for kind in self.values["board_types"].values():
            if not drops:
                kind["drop"] = "0 V"
        self.values["boards"] = {}
        for number in (1, 2):
            kind = self.one("north", "south")
            banks = 4 // self.values["board_types"][kind]["bank_size"]
            self.values["boards"][f"D{number}"] = {
                "type": kind,
                "banks": [self.one(*self.districts) for _ in range(banks)],
                **self.one({}, {"feed": {"wire": self.one(*SIZES), "length": self.metres(0.1, 4)}}),
            }
        self.free = [f"D{board}.{channel}" for channel in range(1, 5) for board in (1, 2)]

    def harnesses(self) -> None:
        self.values["rails"] = {"own": {"resistance": "0.15 ohm/m"}}
        self.values["harnesses"] = {
            name: {
                "bus": self.one(*SIZES),
                "common": self.one(*SIZES),
                "lead": self.metres(0, 5),
                "feeder": self.one(*SIZES),
                "feeder_length": self.metres(0.1, 0.5),
                "feeder_spacing": self.metres(0.8, 3),
                **({"segment": self.metres(0.7, 2)} if self.one(True, False) else {}),
                "joint_resistance": self.one("0 ohm", "4 mohm"),
                "rail": self.one("code100", "code83", "code70", "own"),
            }
            for name in ("front", "back")
        }

    def block(self, name: str) -> None:
        length = self.whole(3, 60) / 10
        block: Values = {"length": f"{length} m", "harness": self.one("front", "front", "back")}
        if self.one(True, True, True, False):
            block["channel"] = self.free.pop(0)
        else:
            block |= {"undetected": "made so", "district": self.one(*self.districts)}
        how = self.one("spacing", "count", "places")
        if how == "count":
            block["feeders"] = self.whole(1, 4)
        if how == "places":
            tenths = self.draw(st.sets(st.integers(0, round(length * 10)), min_size=1, max_size=3))
            block["feeders_at"] = [f"{place / 10} m" for place in sorted(tenths)]
        if self.one(True, False, False):
            block["lead"] = self.metres(0, 4)
        self.values["blocks"][name] = block

    def isolators(self, open_ones: bool) -> None:
        """Isolators of a block's own, of two blocks with a pole each, and in the feed of a bank."""
        self.values["isolators"] = {}
        for name, block in self.values["blocks"].items():
            kind = self.one("none", "own", "own", "own", "shared")
            if kind == "none":
                continue
            isolator = name.replace("A", "I") if kind == "own" else "IS"
            known = self.values["isolators"].get(isolator)
            if known is None:
                sides = ["after-detector", "after-detector", "common-rail"]
                if "channel" in block and kind == "own":
                    sides.append("before-detector")
                self.values["isolators"][isolator] = {
                    "side": self.one(*sides),
                    "contact_resistance": self.one("0 ohm", "20 mohm"),
                    **({"usually": "open"} if open_ones and self.one(True, False, False) else {}),
                    **self.one({}, {}, {}, {"hold": "10 kohm"}, {"hold": "47 ohm"}),
                }
                block["isolator"] = isolator
            elif known.get("poles", 1) < 4:
                known["poles"] = known.get("poles", 1) + 1
                block["isolator"] = f"{isolator}.{known['poles']}"
            if "isolator" in block and self.one(True, False, False, False):
                second = name.replace("A", "P")  # on the fascia, say, in series with it
                body: Values = {"contact_resistance": "35 mohm"}
                if open_ones and self.one(True, False, False):
                    body |= {"usually": "open", **self.one({}, {"hold": "33 kohm"})}
                self.values["isolators"][second] = body
                block["isolator"] = [block["isolator"], second]

    def selector(self, open_ones: bool) -> None:
        """Now and then a rotary switch of one pole or two, over tracks that may be behind another switch too."""
        tracks = [name for name in self.values["blocks"] if self.one(True, False)]
        if len(tracks) > 1 and self.one(True, False, False):
            self.values["selectors"] = {
                "R": {
                    "tracks": tracks,
                    "poles": self.one(1, 2),
                    "usually": self.one(*tracks, *(["off"] if open_ones else [])),
                    "contact_resistance": self.one("0 ohm", "15 mohm"),
                }
            }

    def panel(self) -> None:
        """Now and then a panel or two, with wires of a length there, back, or both; many controls are on it."""
        if self.one(True, False):
            return
        names = ["left", "right"][: self.whole(1, 2)]
        self.values["panels"] = {
            name: {
                "wire": self.one(*SIZES),
                **self.one({}, {"from_board": self.metres(0.5, 6)}),
                **self.one({}, {"to_bus": self.metres(0.5, 6)}),
            }
            for name in names
        }
        for table in ("isolators", "selectors"):
            for control in self.values.get(table, {}).values():
                control |= self.one({}, {"panel": self.one(*names)}, {"panel": self.one(*names)})

    def changeover(self) -> None:
        """One changeover in the feed of the first board's first bank."""
        if len(self.districts) < 2 or self.one(True, False):
            return
        size = self.values["board_types"][self.values["boards"]["D1"]["type"]]["bank_size"]
        behind = [one for one in self.values["blocks"].values() if one.get("channel", "D9.9") <= f"D1.{size}"]
        for block in behind:
            named = block.get("isolator", [])
            first, *rest = ([named] if isinstance(named, str) else named) or [""]
            isolator = first.partition(".")[0]
            block["isolator"] = ["X", *rest] if rest else "X"
            if isolator.startswith("I") and isolator != "IS":
                del self.values["isolators"][isolator]
        if behind:
            between = [self.districts[0], self.districts[-1]]
            self.values["isolators"]["X"] = {
                "contact": "changeover",
                "between": between,
                "poles": self.one(1, 2),
                "contact_resistance": self.one("0 ohm", "20 mohm"),
                "usually": self.one(*between, *between, "off"),
            }

    def joints(self) -> None:
        names = list(self.values["blocks"])
        pairs = [pair for pair in pairwise(names) if self.one(True, True, False)]
        if len(names) > 2 and self.one(True, False, False):
            pairs.append((names[0], names[-1]))
        self.values["joints"] = [
            {"blocks": list(pair), "gap": self.one(*GAPS), "ends": [self.one("far", "near"), self.one("near", "far")]}
            for pair in pairs
        ]

    def across(self) -> None:
        """Lamps and filters that lie across rails and bus pairs for good."""
        lamp, plain = {"resistance": "330 ohm"}, {"capacitance": "22 nF"}
        both = {"resistance": "120 ohm", "capacitance": "0.1 uF"}
        for harness in self.values["harnesses"].values():
            harness |= self.one({}, {}, {}, {}, {"terminator": both}, {"terminator": lamp})
        for block in self.values["blocks"].values():
            block |= self.one({}, {}, {}, {}, {"across": lamp}, {"across": plain}, {"across": both})

    def frog(self) -> None:
        if self.values["joints"]:
            block, beyond = self.values["joints"][0]["blocks"]
            self.values["turnouts"] = {
                "T1": {
                    "block": block,
                    self.one("through", "diverging"): beyond,
                    "frog": "switched",
                    "frog_gaps": self.one(True, False),
                    **self.one({}, {"frog_wire": {"wire": self.one(*SIZES), "length": self.metres(0.1, 2)}}),
                    "frog_rail": self.one("detected", "common"),
                    "usually": self.one("through", "diverging"),
                }
            }

    def vehicles(self) -> None:
        self.values["loads"] = {
            "tank": {"locomotive": True, "idle": "80 mA", "running": "0.35 A", "asleep": "2 mA"},
            "heavy": {"locomotive": True, "idle": "0.15 A", "running": "1.1 A"},
            "wagon": {"axle": self.one("10 kohm", "15 kohm")},
        }
        self.values["trains"] = {}
        for name in ("goods", "local", "stopper")[: self.whole(0, 3)]:
            block = self.one(*self.values["blocks"])
            tenths = round(float(self.values["blocks"][block]["length"].removesuffix(" m")) * 10)
            self.values["trains"][name] = {
                "vehicles": {self.one("tank", "heavy"): self.whole(1, 2), "wagon": self.whole(1, 9)},
                "at": block,
                "state": self.one("idle", "running"),
                **({"offset": f"{self.whole(0, tenths) / 10} m"} if self.one(True, False) else {}),
            }
        for home in self.values["districts"].values():
            if self.one(True, False):
                home["expects"] = [{"load": self.one("tank", "heavy"), "count": self.whole(1, 3)}]
                if self.one(True, False, False):
                    home["expects"].append({"load": "wagon", "count": self.whole(1, 60)})
