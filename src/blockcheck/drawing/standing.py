"""How the layout stands that is drawn: its state, its findings, and what is told of each block."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.circuit.state import ON, WORKING, Now
from blockcheck.core.findings import Finding
from blockcheck.core.natural import natural_key
from blockcheck.core.spans import Place
from blockcheck.drawing.entries import Entry, Mark, Switch
from blockcheck.drawing.names import compact
from blockcheck.drawing.shapes import short
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import Operation, open_position
from blockcheck.model.wiring import positions, usual_position

MOST_FINDINGS = 60
"""Findings that are marked and listed; the rest is counted."""


@frozen(eq=False, slots=False)
class Standing:
    """A layout in one state. ``scenario`` and ``asked`` are as on the command line."""

    study: Study
    scenario: str | None
    asked: str | None
    today: date

    @cached_property
    def operation(self) -> Operation:
        return self.study.asked(self.scenario, self.asked)

    @property
    def opened(self) -> tuple[str, ...]:
        return self.operation.opened

    @cached_property
    def positions(self) -> Mapping[str, str]:
        """Control -> position, for those that were moved."""
        return self.operation.positions

    @cached_property
    def now(self) -> Now:
        return self.study.now(self.positions)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        from blockcheck.rules import run

        return tuple(run(self.study, self.today).findings)

    @cached_property
    def marks(self) -> Mapping[tuple[str, str], tuple[Mark, ...]]:
        """Table and name -> the findings that belong there, by number."""
        found: dict[tuple[str, str], list[Mark]] = {}
        for number, finding in enumerate(self.findings[:MOST_FINDINGS], 1):
            for place in self._places(finding):
                found.setdefault(place, []).append(Mark(number, finding.severity.value, finding.rule))
        return {place: tuple(marks) for place, marks in found.items()}

    def _places(self, finding: Finding) -> dict[tuple[str, str], None]:
        """Where a finding is marked: at what it points to, and at every block that it names."""
        wiring = self.study.wiring
        found: dict[tuple[str, str], None] = {}
        path = () if isinstance(finding.at, Place) else finding.at
        if len(path) > 1:
            found[str(path[0]), str(path[1])] = None
            if path[0] == "isolators":
                found.update({("blocks", block): None for block in wiring.switched.get(str(path[1]), ())})
        for name in (finding.subject, *finding.others):
            if name in wiring.layout.blocks:
                found["blocks", name] = None
        return found

    @cached_property
    def marked_joints(self) -> frozenset[int]:
        return frozenset(int(name) for table, name in self.marks if table == "joints")

    def switch(self, isolator: Isolator, pole: int) -> Switch:
        """How a pole of an isolator stands."""
        wiring = self.study.wiring
        position = self.now.state.get(isolator.name, usual_position(wiring, isolator))
        name = isolator.name if pole == 1 else f"{isolator.name}.{pole}"
        throw = None
        if isolator.contact == "changeover":
            between = [*map(str, isolator.between or ())]
            throw = between.index(position) if position in between else -1
        return Switch(name, position, position == open_position(wiring, isolator.name), throw, positions(isolator))

    @cached_property
    def entries(self) -> Mapping[str, Entry]:
        """Block -> what is written about it."""
        return {name: self._entry(name) for name in self.study.wiring.fed}

    def _entry(self, name: str) -> Entry:
        wiring, now = self.study.wiring, self.now
        fed = wiring.fed[name]
        switches = [self.switch(isolator, pole) for isolator, pole in fed.poles]
        if fed.board is not None:
            for isolator, pole in wiring.bank_isolators.get((fed.board.name, fed.bank), ()):
                if isolator not in fed.isolators:
                    switches.append(self.switch(isolator, pole))
        power = now.power(name) if name in self.study.circuit.detected else None
        word = "feed not known" if fed.block.unpowered is None else "without power"
        if power is not None:
            detection = now.detection(name) if fed.channel is not None else WORKING
            word = power if detection == WORKING else f"{power}, {detection}"
            if word == ON and not self.told:
                word = ""
        channel = str(fed.channel) if fed.channel is not None else None
        return Entry(
            name,
            wiring.tracks.get(name),
            channel,
            tuple(switches),
            power,
            word,
            self.marks.get(("blocks", name), ()),
            channel is None and bool(self.study.layout.boards),
        )

    @property
    def told(self) -> bool:
        """Whether a state was asked for, so that every block tells its own."""
        return self.scenario is not None or self.asked is not None

    def sentence(self) -> str:
        """How everything stands, in a sentence or two."""
        usual, text = "As it usually stands", "As it usually stands, but with"
        if self.scenario is not None:
            usual = text = f"In scenario {short(self.scenario, 60)}"
            text += ":"
        where: dict[str, list[str]] = {}
        for name in sorted(self.positions, key=natural_key):
            where.setdefault(self.positions[name], []).append(name)
        parts = [f"{compact(names, 90)} {short(position, 40)}" for position, names in sorted(where.items())]
        return f"{text} {'; '.join(parts)}." if parts else f"{usual}."
