"""Circuit to wires: every conductor that somebody must lay, from terminal to terminal, before it is cut.

What wires there are is read off the circuit's edges, and their lengths off the same places that the network's ladders
have, so that the wire list and the network cannot disagree. A length that the layout does not give is None.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from functools import cached_property

from attrs import evolve, field, frozen

from blockcheck.circuit.ladder import drop_places
from blockcheck.circuit.line import Line, Lines, Resistor
from blockcheck.circuit.parts import Circuit, Edge, Kind
from blockcheck.circuit.terminals import (
    BAR,
    BUS,
    END,
    IN,
    OUT,
    SOLDER,
    START,
    TAP,
    Terminal,
    Terminals,
    drop_spot,
)
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Path
from blockcheck.model.layout import Block, Harness, Run
from blockcheck.model.wiring import Wiring, bus_colours


def lines(wiring: Wiring, circuit: Circuit) -> Lines:
    """Every conductor of a layout. What could not be compiled has no wires; the rules about structure report it."""
    return _Drawer(wiring, circuit).lines()


def bus_length(block: Block, harness: Harness) -> float | None:
    """From the board's end to the far end of a block, in metres; None where the layout does not give it."""
    lead_m = block.lead_m if block.lead_m is not None else harness.lead_m
    return None if lead_m is None or block.length_m is None else lead_m + block.length_m


@frozen(eq=False, repr=False, slots=False)
class _Drawer:
    wiring: Wiring
    circuit: Circuit
    starts: dict[str, Terminal] = field(factory=dict)
    """Block -> the terminal that its detected bus starts at."""
    shared: dict[int, list[str]] = field(factory=dict)
    """Node of a harness's common bus -> the blocks that it serves."""
    own: dict[str, Terminal] = field(factory=dict)
    """Block -> the terminal that a common of its own starts at."""
    poles: set[tuple[Terminal, Terminal]] = field(factory=set)
    stems: dict[tuple[str, str], Terminal] = field(factory=dict)
    """Block and rail -> the bus that its drops are tapped onto, or its rail where it has no harness."""

    def lines(self) -> Lines:
        found = [*self.feeds(), *self.contacts(), *self.buses(), *self.commons(), *self.frogs(), *self.runs()]
        return Lines(tuple(found), tuple(self.resistors()))

    @cached_property
    def terminals(self) -> Terminals:
        return Terminals(self.wiring, self.circuit)

    def at(self, node: int) -> Terminal:
        return self.terminals.at(node)

    # --- from the booster to the contacts --------------------------------------------------------------------------
    def feeds(self) -> Iterator[Line]:
        """The pairs from the boosters to the districts, and what ties returns together."""
        for edge in self.circuit.edges:
            if edge.kind in (Kind.BREAKER, Kind.POLARITY, Kind.FEED, Kind.RETURN) and len(edge.path) == 2:
                name, before = (
                    str(edge.path[1]),
                    edge.kind in (Kind.BREAKER, Kind.POLARITY),
                )  # the pair's length begins behind it
                feed = self.wiring.layout.districts[name].feed
                yield Line(
                    kind=edge.kind.value,
                    subject=name,
                    start=self.at(edge.a),
                    end=self.terminals.protection(edge, IN) if before else self.at(edge.b),
                    path=(*edge.path, "feed"),
                    conductor=feed.wire if feed else None,
                    length_m=feed.length_m if feed and not before else None,
                )
        yield from self.ties()

    def ties(self) -> Iterator[Line]:
        """Districts that name one return are tied to it; those that share a common bus, to where it begins."""
        named: dict[int, list[Edge]] = {}
        for edge in self.circuit.edges:
            if edge.kind is Kind.RETURN and len(edge.path) > 2:
                named.setdefault(edge.a, []).append(edge)
        tied: dict[int, int] = {}
        for node, edges in named.items():
            for edge in edges if len(edges) > 1 else ():  # a return that only one district names ties nothing
                tied[edge.b] = node
                district = self.wiring.layout.districts[str(edge.path[1])]
                bar = Terminal("return", district.return_name or "common", BAR)
                yield Line(kind="tie", subject=district.name, start=self.at(edge.b), end=bar, path=edge.path)
        told: set[tuple[Terminal, Terminal]] = set()
        for edge in self.circuit.edges:
            if edge.kind is not Kind.COMMON or edge.path[0] != "harnesses":
                continue
            here, there = self.at(edge.b), self.at(edge.a)
            first = self.circuit.returns.get(there.owner)
            if here == there or (here, there) in told or (edge.b in tied and tied[edge.b] == tied.get(first or -1)):
                continue
            told.add((here, there))
            yield Line(kind="tie", subject=here.owner, start=here, end=there, path=edge.path)

    def contacts(self) -> Iterator[Line]:
        """District to bank, through what stands in the feed; channel to isolator; the return through a contact."""
        for edge in self.circuit.edges:
            if edge.kind is Kind.BANK:
                bank, last = self.at(edge.b), self.returning.get(edge.a)
                feed = self.wiring.layout.boards[bank.owner].feed
                made = Line(kind="bank", subject=bank.owner, start=self.at(edge.a), end=bank, path=edge.path)
                if feed is not None:
                    path: Path = ("boards", bank.owner, "feed")
                    made = evolve(made, path=path, conductor=feed.wire, length_m=feed.length_m)
                yield made if last is None else self.by_panel(made, last)
            elif edge.kind is Kind.LEAD and edge.path[-1] == "to_bus":
                start = self.at(edge.a)
                yield self.by_panel(
                    Line(kind="panel", subject=start.owner, start=start, end=self.at(edge.b), path=edge.path), edge
                )
            elif edge.kind is Kind.BUS:
                self.starts[str(edge.path[1])] = self.at(edge.a)
            elif edge.kind is Kind.POLE:
                yield from self.pole(edge)
            elif edge.kind is Kind.THROW:
                kind = "return throw" if self.terminals.in_return(edge) else "throw"
                there = self.terminals.into(edge)
                yield self.to_panel(
                    Line(kind=kind, subject=there.owner, start=self.from_(edge), end=there, path=edge.path), edge
                )

    @cached_property
    def leads(self) -> Mapping[int, Edge]:
        """Node of a contact on a panel -> the wire that leads there."""
        return {edge.b: edge for edge in self.circuit.edges if edge.kind is Kind.LEAD}

    @cached_property
    def leading(self) -> Set[int]:
        """Nodes from which a wire leads to a contact, such as the next one in series."""
        return {edge.a for edge in self.circuit.edges if edge.kind is Kind.POLE} | {
            edge.a for edge in self.leads.values()
        }

    @cached_property
    def returning(self) -> Mapping[int, Edge]:
        """Node -> the contact on a panel from which a wire of a length comes back to it."""
        return {edge.b: edge for edge in self.circuit.edges if edge.panel_m and edge.kind is not Kind.LEAD}

    def from_(self, contact: Edge) -> Terminal:
        """Where the wire to a contact begins."""
        lead = self.leads.get(contact.a)
        return self.at(contact.a if lead is None else lead.a)

    def to_panel(self, line: Line, contact: Edge) -> Line:
        """The wire to a contact; to a panel, or from one before it, it is of that one's kind and length."""
        lead = self.leads.get(contact.a) or self.returning.get(contact.a)
        return line if lead is None else self.by_panel(line, lead)

    def by_panel(self, line: Line, edge: Edge) -> Line:
        """A wire to a panel or back: of its conductor, as long as it says."""
        isolator = self.wiring.layout.isolators.get(str(edge.path[1])) if edge.kind is not Kind.LEAD else None
        name = str(edge.path[1]) if isolator is None else str(isolator.panel)
        path, wire = ("panels", name, "wire"), self.wiring.layout.panels[name].wire
        return evolve(line, path=path, conductor=wire, length_m=edge.panel_m)

    def back(self, edge: Edge, out: Terminal, start: Terminal, rail: str, colour: str | None) -> Line:
        """The wire from a contact on a panel to where a bus begins."""
        line = Line(kind="panel", subject=start.owner, start=out, end=start, path=edge.path, colour=colour, rail=rail)
        return self.by_panel(line, edge)

    def pole(self, edge: Edge) -> Iterator[Line]:
        """The wire to one pole; what it delivers to is a bus that starts there, or a wire of its own."""
        contact, out = self.terminals.into(edge), self.terminals.out(edge)
        rail = self.circuit.leads_to.get(edge.b)
        start = self.from_(edge)
        if rail is None:
            yield self.to_panel(
                Line(kind="bank", subject=contact.owner, start=start, end=contact, path=edge.path), edge
            )
            return
        block = self.circuit.block_of[rail]
        harness, colour = self._harness(block), self.colours.get(block)
        comes_back = bool(edge.panel_m) and harness is not None and edge.b not in self.leading
        beginning = Terminal("block", block, START)
        if rail == self.circuit.common[block]:
            self.own[block] = out
            if comes_back:
                self.own[block] = beginning = beginning._replace(part="com")
                yield self.back(edge, out, beginning, "common", None)
            if (start, contact) not in self.poles:
                self.poles.add((start, contact))
                line = Line(
                    kind="common switch", subject=block, start=start, end=contact, path=edge.path, rail="common"
                )
                yield self.to_panel(line, edge)
            return
        self.starts[block] = beginning if comes_back else out
        if comes_back:
            yield self.back(edge, out, beginning, "detected", colour)
        if (start, contact) in self.poles:
            return  # the wire to a pole that several blocks are behind
        self.poles.add((start, contact))
        yield self.to_panel(
            Line(
                kind="channel" if start.kind == "board" else "switch",
                subject=block,
                start=start,
                end=contact,
                path=edge.path,
                conductor=harness.bus if harness else None,  # the detected bus runs from the channel through it
                colour=colour,
                rail="detected",
            ),
            edge,
        )

    # --- along the track -------------------------------------------------------------------------------------------
    @cached_property
    def colours(self) -> dict[str, str]:
        return bus_colours(self.wiring)

    def _harness(self, block: str) -> Harness | None:
        name = self.wiring.layout.blocks[block].harness
        return self.wiring.layout.harnesses.get(name) if name is not None else None

    def buses(self) -> Iterator[Line]:
        """Every block's detected bus and its drops."""
        colours = self.colours
        for name in sorted(self.starts, key=natural_key):
            block, harness, colour = self.wiring.layout.blocks[name], self._harness(name), colours.get(name)
            if harness is None:
                rail = self.stems[name, "detected"] = Terminal("block", name, "detected", fixing=SOLDER)
                yield Line(
                    kind="bus", subject=name, start=self.starts[name], end=rail, path=("blocks", name), rail="detected"
                )
                continue
            stem = self.stems[name, "detected"] = Terminal("block", name)
            yield Line(
                kind="bus",
                subject=name,
                start=self.starts[name],
                end=stem._replace(spot=END),
                path=("harnesses", harness.name, "bus"),
                conductor=harness.bus,
                colour=colour,
                length_m=bus_length(block, harness),
                segment_m=harness.segment_m,
                stem=stem,
                rail="detected",
            )
            yield from self.drops(block, harness, "detected", stem, colour)

    def commons(self) -> Iterator[Line]:
        """Every harness's common bus with the drops of its blocks, and the commons that blocks have to themselves."""
        for edge in self.circuit.edges:
            if edge.kind is not Kind.COMMON or edge.path[0] != "blocks":
                continue
            block = str(edge.path[1])
            if self._harness(block) is not None:
                self.shared.setdefault(edge.a, []).append(block)
                continue
            rail = self.stems[block, "common"] = Terminal("block", block, "common", fixing=SOLDER)
            yield Line(kind="common", subject=block, start=self.at(edge.a), end=rail, path=edge.path, rail="common")
        named: set[str] = set()
        for node, blocks in sorted(self.shared.items(), key=lambda one: -len(one[1])):
            harness = self._harness(blocks[0])
            assert harness is not None
            start = self.at(node)
            # a harness of two returns has two commons; the one that serves most is called by its name alone
            stem = Terminal("harness", harness.name, part=start.owner if harness.name in named else "")
            named.add(harness.name)
            yield from self.common(blocks, harness, start, stem)
        for name in sorted(self.own, key=natural_key):
            harness = self._harness(name)
            if harness is not None:
                yield from self.common([name], harness, self.own[name], Terminal("block", name, part="com"))
            else:
                rail = self.stems[name, "common"] = Terminal("block", name, "common", fixing=SOLDER)
                path: Path = ("blocks", name)
                yield Line(kind="common", subject=name, start=self.own[name], end=rail, path=path, rail="common")

    def common(self, blocks: list[str], harness: Harness, start: Terminal, stem: Terminal) -> Iterator[Line]:
        """One common bus, as long as the block that reaches farthest, and the drops onto it."""
        reaches = [bus_length(self.wiring.layout.blocks[name], harness) for name in blocks]
        known = [reach for reach in reaches if reach is not None]
        colour = harness.colours.common if harness.colours else None
        yield Line(
            kind="common",
            subject=harness.name if stem.kind == "harness" else blocks[0],
            start=start,
            end=stem._replace(spot=END),
            path=("harnesses", harness.name, "common"),
            conductor=harness.common,
            colour=colour,
            length_m=max(known) if len(known) == len(reaches) else None,
            segment_m=harness.segment_m,
            stem=stem,
            rail="common",
            blocks=tuple(blocks),
        )
        for name in sorted(blocks, key=natural_key):
            self.stems[name, "common"] = stem
            yield from self.drops(self.wiring.layout.blocks[name], harness, "common", stem, colour)

    def drops(self, block: Block, harness: Harness, rail: str, stem: Terminal, colour: str | None) -> Iterator[Line]:
        """The drops from a bus to one rail of a block, from the near end on."""
        for index, place_m in enumerate(drop_places(block, harness) or ()):
            yield Line(
                kind="drop",
                subject=block.name,
                start=stem._replace(spot=BUS, fixing=TAP),
                end=Terminal("block", block.name, drop_spot(index + 1, rail), fixing=SOLDER),
                path=("harnesses", harness.name, "feeder"),
                conductor=harness.feeder,
                colour=colour,
                length_m=harness.feeder_length_m,
                at_m=place_m,
                rail=rail,
            )

    # --- frogs, runs, resistors ------------------------------------------------------------------------------------
    def frogs(self) -> Iterator[Line]:
        """Of every switched frog: the wire from the points' contact, and the two to the rails that it chooses from."""
        for edge in self.circuit.edges:
            if edge.kind is not Kind.POINTS:
                continue
            name, position = str(edge.control), str(edge.position)
            wire = self.wiring.layout.turnouts[name].frog_wire
            path, conductor = (edge.path, None) if wire is None else ((*edge.path, "frog_wire"), wire.wire)
            if position == "through":
                frog, out = Terminal("turnout", name, "frog", fixing=SOLDER), Terminal("turnout", name, OUT)
                length_m = wire.length_m if wire is not None else None
                yield Line(
                    kind="frog", subject=name, start=out, end=frog, path=path, conductor=conductor, length_m=length_m
                )
            block = self.circuit.block_of[edge.b]
            rail = "detected" if self.circuit.detected[block] == edge.b else "common"
            there = self.stems.get((block, rail)) or Terminal("block", block, rail, fixing=SOLDER)
            if there.fixing != SOLDER:
                there = there._replace(spot=BUS, fixing=TAP)
            contact = Terminal("turnout", name, position)
            yield Line(
                kind="frog tie", subject=name, start=there, end=contact, path=path, conductor=conductor, rail=rail
            )

    def runs(self) -> Iterator[Line]:
        """The wires that the layout lists beside those of the track."""
        for name in sorted(self.wiring.layout.runs, key=natural_key):
            yield from self.run(self.wiring.layout.runs[name])

    def run(self, run: Run) -> Iterator[Line]:
        start, end = run.ends or (f"{run.name}:a", f"{run.name}:b")
        for number in range(1, run.count + 1):
            mark = run.name if run.count == 1 else f"{run.name}.{number}"
            yield Line(
                kind="run",
                subject=run.name,
                start=Terminal("run", start.strip() or f"{run.name}:a"),
                end=Terminal("run", end.strip() or f"{run.name}:b"),
                path=("runs", run.name),
                conductor=run.wire,
                colour=run.colours[(number - 1) % len(run.colours)] if run.colours else None,
                length_m=run.length_m,
                segment_m=run.segment_m,
                stem=Terminal("run", mark),
                mark=mark,
            )

    def resistors(self) -> Iterator[Resistor]:
        for edge in self.circuit.edges:
            if edge.kind is Kind.HOLD:
                ohm = self.wiring.layout.isolators[str(edge.path[1])].hold_ohm
                assert ohm is not None
                across = self.terminals.into(edge), self.terminals.out(edge)
                yield Resistor(f"{across[0].item} hold", ohm, across)
