"""Names to objects: who feeds what. Tolerant: a name that does not resolve is listed, and a rule reports it.

What makes a description meaningless rather than wrong (a board whose banks no district is named for, say) is an
input error.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from blockcheck.core.findings import Label
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import plain, shown
from blockcheck.core.spans import Path
from blockcheck.core.words import plural
from blockcheck.model.layout import Interlock, Isolator, Layout
from blockcheck.model.quantities import DIMENSIONS, Ohms, QuantityError, show
from blockcheck.model.standards import RAILS, SCALES, parse_size
from blockcheck.model.tables.feed import SHORTEST_M, feed, through
from blockcheck.model.tables.naming import Naming
from blockcheck.model.tables.panels import check_panels
from blockcheck.model.tables.selectors import places
from blockcheck.model.tables.through import hosts
from blockcheck.model.wiring import LEGS, Wiring, bank_count, positions
from blockcheck.text.document import Document
from blockcheck.text.edits import key_of
from blockcheck.text.ranges import MOST_NAMES

MOST_VEHICLES = 1000
"""Vehicles of one train."""
MOST_PIECES = 10_000
"""Pieces of wire of one run."""


def link(document: Document, layout: Layout, first: frozenset[str] = frozenset()) -> Wiring:
    """Resolve the names of a layout; boosters and districts that come ``first`` are numbered before all others. Raises
    InputError where the description cannot mean anything."""
    linker = _Linker(document, layout)
    linker.tables()
    fed = {name: feed(linker, layout.blocks[name]) for name in sorted(layout.blocks, key=natural_key)}
    hung = hosts(layout)
    fed |= {name: through(linker, layout.blocks[name], fed.get(host or "")) for name, host in hung.items()}
    switched: dict[str, list[str]] = {name: [] for name in sorted(layout.isolators, key=natural_key)}
    for name, one in fed.items():
        for isolator in dict.fromkeys(one.isolators):
            switched[isolator.name].append(name)
    also = {name: [*blocks, *(one for one in hung if hung[one] in blocks)] for name, blocks in switched.items()}
    meant = {name: linker.meant(layout.isolators[name], blocks) for name, blocks in also.items()}
    wired = {name: tuple(blocks) for name, blocks in switched.items()}
    linker.faults.stop()
    return Wiring(document, layout, fed, meant, wired, tuple(linker.unresolved), first)


@frozen(eq=False, repr=False, slots=False)
class _Linker(Naming):
    """Goes through the tables of a layout, one after the other."""

    def conductor(self, path: Path, text: str | None) -> None:
        if text is None or text in self.layout.wires:
            return
        if not text[:1].isdecimal():
            self.known(path, text, "wire", self.layout.wires)
            return
        self.size(path, text)

    def size(self, path: Path, text: str) -> None:
        try:
            parse_size(text)
        except QuantityError as error:
            self.fault(path, error.message, error.help or 'write a size such as "1.5 mm2" or "16 AWG"')

    def tables(self) -> None:
        self._about()
        self._power()
        self._boards()
        self._harnesses()
        self._runs()
        self._isolators()
        self._selectors()
        self._panels()
        self._track()
        self._interlocks()
        self._trains()

    def _about(self) -> None:
        scale = self.layout.about.scale
        if scale is not None and scale not in SCALES:
            self.fault(
                ("layout", "scale"), f"{shown(scale)} is no scale known here", f"write one of {', '.join(SCALES)}"
            )
        for name in self.layout.isolators.keys() & self.layout.turnouts.keys():
            self.fault(
                ("turnouts", name), f"{name} is both an isolator and a turnout", "give one another name", key=True
            )

    def _power(self) -> None:
        layout = self.layout
        for name, district in layout.districts.items():
            path: Path = ("districts", name)
            self.known((*path, "booster"), district.booster, "booster", layout.boosters)
            for index, expected in enumerate(district.expects):
                self.known((*path, "expects", index, "load"), expected.load, "load", layout.loads)
            if district.feed:
                self.conductor((*path, "feed", "wire"), district.feed.wire)
        for name, wire in layout.wires.items():
            self.size(("wires", name, "size"), wire.size)

    def _boards(self) -> None:
        layout = self.layout
        for name, kind in layout.board_types.items():
            if kind.channels > MOST_NAMES:
                message = f"no board has {kind.channels} channels; the most here is {MOST_NAMES}"
                self.fault(("board_types", name, "channels"), message, "write how many channels one board has")
        for name, board in layout.boards.items():
            path: Path = ("boards", name)
            for index, district in enumerate(board.banks):
                self.known((*path, "banks", index), district, "district", layout.districts)
            if board.feed:
                self.conductor((*path, "feed", "wire"), board.feed.wire)
            if not self.known((*path, "type"), board.type, "board type", layout.board_types):
                continue
            count = bank_count(layout.board_types[board.type])
            if len(board.banks) > 1 and len(board.banks) != count:
                banks = "1 bank" if count == 1 else f"{count} banks"
                message = f"board {name} has {banks}, and banks names {len(board.banks)} districts"
                self.fault((*path, "banks"), message, "name one district a bank, or a single one for all")
            elif not board.banks and len(layout.districts) != 1:
                message = f"board {name} does not say which districts feed its banks; there are {len(layout.districts)}"
                help_ = f"write banks = [{', '.join(['...'] * count)}], each one of {self.districts()}"
                self.fault(path, message, help_ if count <= 8 else "write banks = [...], a district for each bank")

    def _harnesses(self) -> None:
        for name, harness in self.layout.harnesses.items():
            path: Path = ("harnesses", name)
            for key in ("bus", "common", "feeder"):
                self.conductor((*path, key), getattr(harness, key))
            self.known((*path, "rail"), harness.rail, "rail", self.layout.rails, RAILS)
            self.across((*path, "terminator"), harness.terminator)

    def _runs(self) -> None:
        for name, run in self.layout.runs.items():
            path: Path = ("runs", name)
            self.conductor((*path, "wire"), run.wire)
            if run.length_m < SHORTEST_M:
                self.fault((*path, "length"), f"{name} is shorter than 1 mm", 'write a length such as "4 m"')
            if run.ends is not None and len(run.ends) != 2:
                self.fault((*path, "ends"), f"{name} has two ends", 'write ends = ["panel", "machine 1"]')
            pieces = run.count * (max(1.0, run.length_m / run.segment_m) if run.segment_m else 1)
            if run.segment_m is not None and run.segment_m < SHORTEST_M:
                self.fault((*path, "segment"), f"{name} has segments of nothing", 'write a length such as "1.2 m"')
            elif pieces > MOST_PIECES:
                message = f"{name} is more than {MOST_PIECES} pieces of wire"
                self.fault((*path, "count"), message, "write count = 2, or a longer segment")

    def _isolators(self) -> None:
        layout = self.layout
        for name, isolator in layout.isolators.items():
            path: Path = ("isolators", name)
            usually = isolator.usually
            if isolator.contact == "on-off":
                if isolator.between is not None:
                    self.fault((*path, "between"), f"{name} is no changeover", 'write contact = "changeover"')
                if usually not in (None, "open", "closed"):
                    self.fault(
                        (*path, "usually"), f"{name} cannot usually be {shown(usually)}", 'write "closed" or "open"'
                    )
                continue
            if isolator.hold_ohm is not None:
                self.fault(
                    (*path, "hold"), "a changeover has no contact to put a hold resistor across", "leave hold out"
                )
            if isolator.between is None or len(isolator.between) != 2 or len({*isolator.between}) != 2:
                at = path if isolator.between is None else (*path, "between")
                first, second = [*layout.districts, "A", "B"][:2] if len(layout.districts) > 1 else ("A", "B")
                help_ = f'write between = ["{first}", "{second}"]'
                self.fault(at, f"{name} is a changeover between two districts", help_)
                continue
            if isolator.centre_off and "off" in isolator.between:
                self.fault(
                    (*path, "between"), f'"off" is a position of {name} already', "give the district another name"
                )
            if isolator.side == "common-rail":
                help_ = "leave side out; with poles = 2 the second pole switches the return"
                self.fault((*path, "side"), "a changeover stands in the feed, not in the common rail", help_)
            for index, district in enumerate(isolator.between):
                self.known((*path, "between", index), district, "district", layout.districts)
            choices = [*isolator.between, *(["off"] if isolator.centre_off else [])]
            if usually is not None and usually not in choices:
                self.fault(
                    (*path, "usually"), f"{name} has no position {shown(usually)}", f"write one of {', '.join(choices)}"
                )

    def _selectors(self) -> None:
        layout = self.layout
        for name, selector in layout.selectors.items():
            path: Path = ("selectors", name)
            if name in layout.isolators or name in layout.turnouts:
                other = "an isolator" if name in layout.isolators else "a turnout"
                self.fault(path, f"{name} is both a selector and {other}", "give one another name", key=True)
            named = [name for index, text in enumerate(selector.tracks) for name in self._tracks(path, index, text)]
            twice = next((one for one in named if named.count(one) > 1), None)
            if twice is not None:
                help_ = "name each once: it has one position for each"
                self.fault((*path, "tracks"), f"{name} chooses {twice} twice", help_)
            if len(named) < 2:
                help_ = 'write tracks = ["S1-S4"], or an isolator for a single one'
                self.fault((*path, "tracks"), f"{name} has fewer than two tracks to choose from", help_)
            if "off" in named:
                self.fault((*path, "tracks"), f'"off" is a position of {name} already', "give the block another name")
            if selector.usually is not None and selector.usually not in places(selector):
                message = f"{name} has no position {shown(selector.usually)}"
                self.fault((*path, "usually"), message, f"write one of {', '.join(places(selector))}")
            if selector.poles > 2:
                message = f"{name} has {selector.poles} poles for each track, which has two rails"
                self.fault((*path, "poles"), message, "write poles = 2, or leave poles out")
            channels = {layout.blocks[one].channel for one in named if one in layout.blocks}
            if selector.wired == "pole" and len(channels) > 1:
                told = ", ".join(sorted(map(str, channels - {None})))
                message = f"{name} has one pole on the wire from one channel, and its tracks are on {told}"
                self.fault((*path, "wired"), message, 'write wired = "contacts", or give its tracks one channel')

    def _panels(self) -> None:
        for name, panel in self.layout.panels.items():
            self.conductor(("panels", name, "wire"), panel.wire)
        check_panels(self)

    def _tracks(self, path: Path, index: int, text: str) -> Iterator[str]:
        at: Path = (*path, "tracks", index)
        for name in self.names(at, text):
            if self.known(at, name, "block", self.layout.blocks):
                yield name

    def _track(self) -> None:
        layout = self.layout
        for index, joint in enumerate(layout.joints):
            if len(joint.blocks) != 2:
                self.fault(("joints", index, "blocks"), "a joint joins two blocks", 'write blocks = ["A", "B"]')
            if len(joint.ends) != 2:
                self.fault(("joints", index, "ends"), "a joint has two ends", 'write ends = ["far", "near"]')
            for side, block in enumerate(joint.blocks):
                self.known(("joints", index, "blocks", side), block, "block", layout.blocks)
        for group in layout.groups:
            held = dict.fromkeys(str(block.group) for block in layout.blocks.values() if block.group is not None)
            self.known(("groups", group), group, "group", held, is_key=True)
        self._meetings()
        for name, turnout in layout.turnouts.items():
            self.known(("turnouts", name, "block"), turnout.block, "block", layout.blocks)
            if turnout.routes and turnout.through is not None and turnout.through == turnout.diverging:
                message = f"both legs of {name} lead to {turnout.through}: no rail there hangs on one of them"
                self.fault(("turnouts", name, "routes"), message, "leave routes out, or make a block of each leg")
            if turnout.frog_wire:
                self.conductor(("turnouts", name, "frog_wire", "wire"), turnout.frog_wire.wire)
                if turnout.frog != "switched":
                    help_ = 'write frog = "switched", or leave frog_wire out'
                    self.fault(("turnouts", name, "frog_wire"), f"no wire comes to the insulated frog of {name}", help_)
            for leg in LEGS:
                beyond = getattr(turnout, leg)
                self.known(("turnouts", name, leg), beyond, "block or turnout", layout.blocks, layout.turnouts)

    def _meetings(self) -> None:
        """Where two ends meet the rails are cut one way."""
        told: dict[frozenset[tuple[str, str]], int] = {}
        for index, joint in enumerate(self.layout.joints):
            if len(joint.blocks) != 2 or len(joint.ends) != 2:
                continue
            first, second = map(plain, joint.blocks)
            other = told.setdefault(frozenset(zip(joint.blocks, joint.ends, strict=True)), index)
            before = self.layout.joints[other].gap
            if before != joint.gap:
                ends = f"the {joint.ends[0]} end of {first} meets the {joint.ends[1]} end of {second}"
                message = f"{ends} in two ways: gap = {shown(before)} and gap = {shown(joint.gap)}"
                where = Label(self.document.place(("joints", other, "gap")), "the other one")
                help_ = "keep one of the two, or correct its ends"
                self.fault(("joints", index, "gap"), message, help_, related=(where,))

    def _interlocks(self) -> None:
        for index, one in enumerate(self.layout.interlocks):
            path: Path = ("interlocks", index)
            if bool(one.never) == (one.at_most_one is not None or bool(one.controls)):
                message = "an interlock says of which controls at most one has a position, or what never holds at once"
                self.fault(path, message, 'write controls = ["I1-I4"] and at_most_one = "closed"; or never = { ... }')
                continue
            for name, position in one.never.items():
                self._standing((*path, "never", name), name, position, is_key=True)
            if len(one.never) == 1:
                help_ = 'write never = { I1 = "closed", I2 = "closed" }'
                self.fault((*path, "never"), "an interlock is between two controls or more", help_)
            if not one.never:
                self._at_most_one(path, one)

    def _at_most_one(self, path: Path, interlock: Interlock) -> None:
        if interlock.at_most_one is None:
            self.fault((*path, "controls"), "at most one of these has which position?", 'write at_most_one = "closed"')
            return
        names: dict[str, Path] = {}
        for number, text in enumerate(interlock.controls):
            at: Path = (*path, "controls", number)
            known = text in self.layout.isolators or text in self.layout.turnouts
            for name in (text,) if known else self.names(at, text):
                names.setdefault(name, at)
        for name, at in names.items():
            self._standing(at, name, interlock.at_most_one)
        if len(names) < 2:
            help_ = 'write controls = ["I1", "I2"], or a range such as ["I1-I4"]'
            self.fault((*path, "controls"), "an interlock is between two controls or more", help_)

    def _standing(self, path: Path, control: str, position: str, is_key: bool = False) -> None:
        """A control at a position that it has."""
        tables = (self.layout.isolators, self.layout.turnouts, *((self.layout.selectors,) if is_key else ()))
        if self.known(path, control, "isolator or turnout", *tables, is_key=is_key):
            self._position(path, control, position)

    def _axles(self) -> None:
        for name, load in self.layout.loads.items():
            each, many, whole = load.each_ohm, load.axles, load.whole_ohm
            if each is not None and many is None:
                message = f"nothing says how many axles of {name} have that"
                self.fault(("loads", name, "axle_resistance"), message, "write axles = 2 too, or axle alone")
            elif each is not None and many is not None and whole is not None and abs(each / many / whole - 1) > 0.01:
                side_by_side = show(each / many, DIMENSIONS[Ohms])
                message = f"{plural(many, 'axle')} of {name} have {side_by_side} together, and axle says another value"
                self.fault(("loads", name, "axle"), message, f'write axle = "{side_by_side}", or leave it out')

    def _trains(self) -> None:
        layout = self.layout
        self._axles()
        for name, train in layout.trains.items():
            if sum(train.vehicles.values()) > MOST_VEHICLES:
                message = f"{name} has more than {MOST_VEHICLES} vehicles"
                most = max(train.vehicles, key=lambda load: train.vehicles[load])
                help_ = f"write how many it has, such as vehicles = {{ {key_of(most)} = 1 }}"
                self.fault(("trains", name, "vehicles"), message, help_)
            for load in train.vehicles:
                self.known(("trains", name, "vehicles", load), load, "load", layout.loads, is_key=True)
            self.known(("trains", name, "at"), train.at, "block", layout.blocks)
        for name, scenario in layout.scenarios.items():
            path: Path = ("scenarios", name)
            for placed, block in scenario.at.items():
                self.known((*path, "at", placed), placed, "train", layout.trains, is_key=True)
                self.known((*path, "at", placed), block, "block", layout.blocks)
            for placed in scenario.states:
                self.known((*path, "states", placed), placed, "train", layout.trains, is_key=True)
            for control, position in scenario.set.items():
                at: Path = (*path, "set", control)
                tables = (layout.isolators, layout.turnouts, layout.selectors)
                if self.known(at, control, "changeover, turnout or selector", *tables, is_key=True):
                    self._position(at, control, position)

    def _position(self, path: Path, control: str, position: str) -> None:
        selector = self.layout.selectors.get(control)
        if selector is not None:
            choices = places(selector)
        else:
            choices = positions(self.layout.isolators.get(control) or self.layout.turnouts[control])
        if position not in choices:
            self.fault(path, f"{control} has no position {shown(position)}", f"write one of {', '.join(choices)}")

    def meant(self, isolator: Isolator, switched: list[str]) -> tuple[str, ...]:
        if isolator.isolates is None:
            return tuple(switched)
        found: dict[str, None] = {}
        for index, text in enumerate(isolator.isolates):
            path: Path = ("isolators", isolator.name, "isolates", index)
            for name in self.names(path, text):
                if self.known(path, name, "block", self.layout.blocks):
                    found[name] = None
        return tuple(sorted(found, key=natural_key))
