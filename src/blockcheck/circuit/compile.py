"""Layout to circuit. Everything that is said of power and detection is read off what is made here."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import field, frozen

from blockcheck.circuit.parts import CLOSED, Circuit, Control, Edge, Kind, sharing_return
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.layout import Block, Isolator, Panel, Turnout
from blockcheck.model.tables.panels import panel_of
from blockcheck.model.tables.selectors import selector_of
from blockcheck.model.wiring import Fed, Wiring, positions, usual_position


def compile_circuit(wiring: Wiring) -> Circuit:
    """Compile a layout. Parts whose data do not resolve are left out; the rules about structure report them."""
    maker = _Maker(wiring)
    maker.controls()
    maker.power()
    for fed in wiring.fed.values():
        if not fed.missing and fed.district in maker.feeds and fed.through is None:
            maker.block(fed)
    for fed in wiring.fed.values():
        if fed.through is not None and fed.through.name in maker.detected:
            maker.rails(fed)
    maker.joints()
    for name in sorted(wiring.layout.turnouts, key=natural_key):
        maker.turnout(wiring.layout.turnouts[name])
    return maker.circuit()


@frozen(eq=False, repr=False, slots=False)
class _Maker:
    wiring: Wiring
    labels: list[str] = field(factory=list)
    edges: list[Edge] = field(factory=list)
    made: dict[tuple[str, ...], int] = field(factory=dict)
    named: dict[str, Control] = field(factory=dict)
    hot: dict[str, int] = field(factory=dict)
    back: dict[str, int] = field(factory=dict)
    feeds: dict[str, int] = field(factory=dict)
    returns: dict[str, int] = field(factory=dict)
    detected: dict[str, int] = field(factory=dict)
    common: dict[str, int] = field(factory=dict)
    channels: dict[str, int] = field(factory=dict)
    frogs: dict[str, int] = field(factory=dict)
    tied: set[tuple[int, int]] = field(factory=set)
    sharing: dict[str, str] = field(factory=dict)

    def circuit(self) -> Circuit:
        return Circuit(
            tuple(self.labels),
            tuple(self.edges),
            self.named,
            self.hot,
            self.back,
            self.feeds,
            self.returns,
            self.detected,
            self.common,
            self.channels,
            self.frogs,
            self.wiring.bars,
        )

    def node(self, label: str = "") -> int:
        self.labels.append(label)
        return len(self.labels) - 1

    def shared(self, *key: str, label: str = "") -> tuple[int, bool]:
        """The node of that key, and whether it is new."""
        known = self.made.get(key)
        if known is not None:
            return known, False
        self.made[key] = self.node(label)
        return self.made[key], True

    def join(self, a: int, b: int, kind: Kind, path: Path, part: str = "") -> None:
        self.edges.append(Edge(a, b, kind, path, part))

    def controls(self) -> None:
        layout = self.wiring.layout
        for name in sorted(layout.isolators, key=natural_key):
            isolator = layout.isolators[name]
            kind = "isolator" if isolator.contact == "on-off" else "changeover"
            usual = usual_position(self.wiring, isolator)
            self.named[name] = Control(name, positions(isolator), usual, ("isolators", name), kind)
        for name in sorted(layout.turnouts, key=natural_key):
            turnout = layout.turnouts[name]
            if turnout.frog == "switched" or turnout.routes or name in self.wiring.interlocked:
                path: Path = ("turnouts", name)
                self.named[name] = Control(name, positions(turnout), turnout.usually, path, "points")

    def power(self) -> None:
        layout = self.wiring.layout
        for name in self.wiring.supplies(layout.boosters):
            self.hot[name] = self.node(name)
            self.back[name] = self.node(name)
        for name in self.wiring.supplies(layout.districts):
            district = layout.districts[name]
            if district.booster not in layout.boosters:
                continue
            path: Path = ("districts", name)
            self.feeds[name] = self.node(name)
            self.returns[name] = self.node(name)
            line = self.hot[district.booster]
            if district.has_breaker:
                behind = self.node()
                self.join(line, behind, Kind.BREAKER, path)
                line = behind
            back = self.back[district.booster]
            if district.turns:  # in either position the same circuit, as long as nothing else joins it to anything
                line, back = self.turner(line, path), self.turner(back, path)
            self.join(line, self.feeds[name], Kind.FEED, path)
            self.join(back, self.returns[name], Kind.RETURN, path)
            shared: str | None = district.return_name
            if shared is None and layout.about.control == "dc" and not district.turns:
                shared = ""  # under dc, all districts that name no return share the common rail
            if shared is not None:
                self.join(self.shared("return", shared)[0], self.returns[name], Kind.RETURN, (*path, "return"))

    def turner(self, before: int, path: Path) -> int:
        """One side of what exchanges a district's rails."""
        behind = self.node()
        self.join(before, behind, Kind.POLARITY, path)
        return behind

    def pole(self, line: int, load: int, isolator: Isolator, pole: int, back_m: float) -> None:
        """One pole of an on-off isolator, with the resistor across its open contact where it has one."""
        path: Path = ("isolators", isolator.name)
        part = isolator.name if pole == 1 else f"{isolator.name}.{pole}"
        self.edges.append(Edge(line, load, Kind.POLE, path, part, isolator.name, CLOSED, back_m))
        if isolator.hold_ohm is not None:
            self.join(line, load, Kind.HOLD, (*path, "hold"), part)

    def throws(self, common: int, isolator: Isolator, terminals: dict[str, int], back_m: float = 0.0) -> None:
        """A changeover's throws: from each of its districts' terminals to its common."""
        path, name = ("isolators", isolator.name), isolator.name
        for district in isolator.between or ():
            if district in terminals:
                line = self.lead(terminals[district], isolator, district)
                self.edges.append(Edge(line, common, Kind.THROW, path, name, name, district, back_m))

    def lead(self, line: int, isolator: Isolator, part: object) -> int:
        """The end, at a part of a control, of the wire to the panel that it is on: one for all that hang on it."""
        panel = panel_of(self.wiring.layout, isolator)
        if panel is None or panel.from_board_m is None:
            return line
        selector = selector_of(self.wiring.layout, isolator.name)
        owner = isolator.name if selector is None or selector.wired != "pole" else selector.name
        there, new = self.shared("lead", owner, str(part), str(line))
        if new:
            path: Path = ("panels", panel.name, "from_board")
            self.edges.append(Edge(line, there, Kind.LEAD, path, panel_m=panel.from_board_m))
        return there

    def homeward(self, line: int, isolator: Isolator, *key: str) -> int:
        """Where the wire ends that comes back from a changeover on a panel to where a bus begins."""
        panel = panel_of(self.wiring.layout, isolator)
        if panel is None or panel.to_bus_m is None:
            return line
        there, new = self.shared("back", *key, str(line))
        if new:
            path: Path = ("panels", panel.name, "to_bus")
            self.edges.append(Edge(line, there, Kind.LEAD, path, panel_m=panel.to_bus_m))
        return there

    def bank(self, fed: Fed) -> int:
        """The feed terminal of the bank of a block's channel, fed through what its blocks put before it."""
        assert fed.board is not None
        assert fed.district is not None
        terminal, new = self.shared("bank", fed.board.name, str(fed.bank))
        if not new:
            return terminal
        before: dict[str, tuple[Isolator, int]] = {}
        changeovers: dict[str, Isolator] = {}
        for isolator, pole in self.wiring.bank_isolators.get((fed.board.name, fed.bank), ()):
            if isolator.contact == "changeover":
                changeovers[isolator.name] = isolator
            else:
                before.setdefault(isolator.name, (isolator, pole))
        line, layout, last, came_m = self.feeds[fed.district], self.wiring.layout, None, 0.0
        first = panel_of(layout, next(iter(before.values()))[0]) if before else None
        if changeovers:  # behind them, in series, what else stands in the feed
            line = self.node()
            for isolator in changeovers.values():
                last = panel_of(layout, isolator)
                came_m = _back_m(last, first, fed)
                self.throws(line, isolator, self.feeds, came_m)
        if before:
            behind = self.node()
            self.row(line, behind, tuple(before.values()), last, came_m, fed)
            line = behind
        self.join(line, terminal, Kind.BANK, ("boards", fed.board.name, "banks"))
        return terminal

    def row(
        self,
        line: int,
        rail: int,
        poles: Sequence[tuple[Isolator, int]],
        last: Panel | None = None,
        came_m: float = 0.0,
        bank: Fed | None = None,
    ) -> None:
        """Poles of on-off isolators in series, in the order in which the current passes them; ``last`` is the panel
        that it comes from by a wire of ``came_m``. What stands side by side on a panel has no wire of a length between,
        what stands elsewhere the one that comes from there. The last one leads to a bus, or to the feed terminal of a
        ``bank``."""
        panels = [panel_of(self.wiring.layout, isolator) for isolator, _ in poles]
        for at, (isolator, pole) in enumerate(poles):
            panel, following = panels[at], panels[at + 1] if at + 1 < len(poles) else None
            if panel is not last and not came_m:
                line = self.lead(line, isolator, pole)
            load, last = rail if at + 1 == len(poles) else self.node(), panel
            came_m = _back_m(panel, following, bank)
            self.pole(line, load, isolator, pole, came_m)
            line = load

    def rails(self, fed: Fed) -> None:
        """The rails of a block that another one feeds by joints alone."""
        assert fed.through is not None
        name = fed.block.name
        self.detected[name], self.common[name] = self.node(name), self.node(name)
        self.channels[name] = self.channels[fed.through.name]

    def block(self, fed: Fed) -> None:
        block, path = fed.block, ("blocks", fed.block.name)
        self.detected[block.name] = self.node(block.name)
        self.common[block.name] = self.node(block.name)
        if fed.channel is not None:
            out = self.node()
            self.join(self.bank(fed), out, Kind.DETECTOR, (*path, "channel"), str(fed.channel))
        elif fed.changeover is not None:
            out, new = self.shared("throw", fed.changeover.name)
            if new:
                self.throws(out, fed.changeover, self.feeds)
        else:
            assert fed.district is not None
            out = self.feeds[fed.district]
        self.channels[block.name] = out
        own, changeover = fed.own_poles, fed.changeover if fed.channel is None else None
        if own:
            last = panel_of(self.wiring.layout, changeover) if changeover is not None else None
            self.row(out, self.detected[block.name], own, last)
        else:
            if changeover is not None and block.harness is not None:
                out = self.homeward(out, changeover, block.name)
            self.join(out, self.detected[block.name], Kind.BUS, path)
        self.block_return(fed, block)

    def return_of(self, district: str) -> str:
        """The first of the districts that share a return with this one, through a booster or by name."""
        if not self.sharing:
            self.sharing.update(sharing_return(len(self.labels), self.edges, self.returns))
        return self.sharing[district]

    def block_return(self, fed: Fed, block: Block) -> None:
        assert fed.district is not None
        terminal, key = self.returns[fed.district], self.return_of(fed.district)
        changeover = fed.changeover
        if changeover is not None and changeover.switches_return:
            key = f"\0{changeover.name}"
            terminal, new = self.shared("return throw", changeover.name)
            if new:
                self.throws(terminal, changeover, self.returns)
            if block.harness is not None:
                terminal = self.homeward(terminal, changeover, "return")
        if block.harness is not None and block.harness in self.wiring.layout.harnesses:
            bus, _ = self.shared("harness", block.harness, key)
            if (bus, terminal) not in self.tied:  # districts that share a return share the bus, and tie it to each
                self.tied.add((bus, terminal))
                self.join(bus, terminal, Kind.COMMON, ("harnesses", block.harness))
            terminal = bus
        rail = self.common[block.name]
        if fed.common_poles:
            self.row(terminal, rail, fed.common_poles)
        else:
            self.join(terminal, rail, Kind.COMMON, ("blocks", block.name))

    def joints(self) -> None:
        """In an order of their own: of two ways as short as each other, the one shown is not that written first."""
        joints = self.wiring.layout.joints
        order = sorted(range(len(joints)), key=lambda one: (*map(natural_key, joints[one].blocks), joints[one].gap))
        for index in order:
            joint = joints[index]
            first, second = joint.blocks
            if first not in self.detected or second not in self.detected:
                continue
            path: Path = ("joints", index)
            for rail, nodes in (("detected", self.detected), ("common", self.common)):
                if joint.gap not in ("both", rail):
                    name, leg = self.wiring.routed.get((index, rail), (None, None))
                    part = name or ""
                    self.edges.append(Edge(nodes[first], nodes[second], Kind.JOINT, path, part, name, leg))

    def turnout(self, turnout: Turnout) -> None:
        """A switched frog: tied to one rail or the other by the points, and to the rails beyond where it is not cut."""
        if turnout.frog != "switched" or turnout.block not in self.detected:
            return
        path: Path = ("turnouts", turnout.name)
        frog = self.frogs[turnout.name] = self.node(turnout.name)
        through = turnout.frog_rail
        diverging = "common" if through == "detected" else "detected"
        for position, rail in (("through", through), ("diverging", diverging)):
            rails = self.detected if rail == "detected" else self.common
            self.edges.append(Edge(frog, rails[turnout.block], Kind.POINTS, path, turnout.name, turnout.name, position))
            if turnout.frog_gaps is False:
                beyond = rail_beyond(self.wiring, turnout, position, rail)
                if beyond in rails:
                    self.join(frog, rails[beyond], Kind.FROG, (*path, "frog_gaps"), turnout.name)


def _back_m(panel: Panel | None, following: Panel | None, bank: Fed | None) -> float:
    """Metres of the wire from a control on a panel to what comes behind it: none to one beside it, none where the feed
    of a board is that wire."""
    if panel is None or panel is following:
        return 0.0
    if bank is None:
        return panel.to_bus_m or 0.0
    return 0.0 if bank.board is not None and bank.board.feed is not None else panel.from_board_m or 0.0


def rail_beyond(wiring: Wiring, turnout: Turnout, leg: str, rail: str) -> str | None:
    """The block whose ``rail`` an uncut frog meets beyond a leg; None where a joint cuts it, or none is known,
    or there are several that differ.

    The track beyond a leg with no other block stays in the turnout's own block, and so do its rails.
    """
    target = getattr(turnout, leg)
    if target in wiring.layout.turnouts:
        target = wiring.layout.turnouts[target].block
    if target is None or target == turnout.block:
        return turnout.block
    numbers = wiring.joints_of.get(frozenset((turnout.block, target)), ())
    cuts = {wiring.layout.joints[number].gap in ("both", rail) for number in numbers}
    return str(target) if cuts == {False} else None
