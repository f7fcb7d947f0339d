"""What happens if I isolate this? For every isolator alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.isolation.isolation import Isolation, moved
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.study import Study
from blockcheck.analysis.whatif.singles import singles
from blockcheck.analysis.whatif.whatif import Change, WhatIf
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import Document, Says
from blockcheck.circuit.state import ON, TRICKLE, Now
from blockcheck.core.columns import column
from blockcheck.core.natural import natural_key
from blockcheck.core.words import listed, plural
from blockcheck.model.operate import Operation, can_open, open_position


@frozen
class EachRow:
    """One isolator opened alone, everything else as it stands."""

    isolator: str = column("The isolator that is opened.")
    off: tuple[str, ...] = column("Blocks that lose power.", title="takes power from", always=True)
    held: tuple[str, ...] = column("Blocks that its hold resistor leaves a trickle.", title="leaves a trickle")
    not_meant: tuple[str, ...] = column("Blocks that lose power though nobody meant it.", title="not meant")
    stays_on: tuple[str, ...] = column("Blocks that are meant to lose power and keep it.", title="stays on")
    district: tuple[str, ...] = column("The districts that carry less, or more.", title="district")
    freed_a: float = column("What the districts carry less.", title="frees", zero="nothing")
    lowest_v: float | None = column(
        "The lowest voltage that is left where it can be felt.", title="lowest after", spare=1
    )
    lowest_at: str | None = column("Where that is.", title="at", spare=2)


@frozen
class EachAnswer(Answer):
    """Every isolator that can cut, opened alone on top of one way of operating the layout."""

    command = "isolate"

    layout: str
    scenario: str | None = column("The scenario that everything else stands in; null for as usual.")
    rows: tuple[EachRow, ...] = column("A row for every isolator that can cut, in natural order.")
    open: tuple[str, ...] = column("Isolators that are open already.")
    cannot: tuple[str, ...] = column(
        "Isolators without a position that cuts, or a contact anywhere, or that an interlock keeps from opening alone."
    )

    @property
    def unintended(self) -> tuple[EachRow, ...]:
        """The isolators that do something that nobody meant, or do not what they are for."""
        return tuple(row for row in self.rows if row.not_meant or row.stays_on)

    def document(self) -> Document:
        """The verdict, and a row for every isolator."""
        return Document(
            "Every isolator alone",
            self.layout,
            (
                table("Opened alone", EachRow, self.rows),
                Says(tuple(self._notes()), "note"),
            ),
            verdict=tuple(self._lead()),
        )

    def _lead(self) -> Iterator[str]:
        when = f" in scenario {self.scenario}" if self.scenario is not None else ""
        wrong = [row.isolator for row in self.unintended]
        if wrong:
            yield f"Not as meant{when}: {listed(wrong)}."
        elif self.rows:
            yield f"{plural(len(self.rows), 'isolator')}{when}: each does what it is for, alone."
        else:
            yield f"No isolator can cut anything{when}."

    def _notes(self) -> Iterator[str]:
        if self.open:
            yield f"Open already, and not in the table: {listed(self.open)}."
        if self.cannot:
            yield f"Cannot cut: {listed(self.cannot)}."


def isolate_each(study: Study, scenario: str | None = None) -> EachAnswer:
    """Open every isolator alone on top of the usual state, or of a scenario. Raises CallError for an unknown one.

    What an island's isolators do comes out of one factorisation, by superposition, where that holds.
    """
    operation = study.operation(scenario)
    each = _Each(study, operation)
    cuts, shut, cannot = list[str](), list[str](), list[str]()
    for name in sorted(study.layout.isolators, key=natural_key):
        place = open_position(study.wiring, name)
        if not study.circuit.contacts.get(name) or not can_open(study.wiring, operation, name):
            cannot.append(name)
        else:
            (shut if each.now.state[name] == place else cuts).append(name)
    made = {row.isolator: row for row in each.rows()}
    rows = tuple(made[name] for name in cuts)
    return EachAnswer(study.layout.about.name, scenario, rows, tuple(shut), tuple(cannot))


@frozen(eq=False, repr=False, slots=False)
class _Each:
    study: Study
    operation: Operation

    def rows(self) -> Iterator[EachRow]:
        """In the order of the islands."""
        ifs = WhatIf.of(self.study, self.operation)
        for one in singles(ifs):
            for at, isolator in enumerate(one.isolators):
                volts = dict(zip(one.blocks, one.volts[:, at].tolist(), strict=True))
                yield self._row(isolator, one.changes.get(isolator), volts)

    def _row(self, isolator: str, change: Change | None, volts: Mapping[str, float]) -> EachRow:
        if change is None:  # what lies behind it alone is off, and nothing else has changed
            off, held, before = self._behind(isolator), list[str](), Budget.of(self.study, self.operation)
            drawing = [name for name in before.blocks if name in off]
            freed = _summed((before.feeding.reached[name], before.blocks[name][0]) for name in drawing)
        else:
            lost = [one for one in change.blocks if one.before.power == ON != one.after.power]
            held = [one.block for one in lost if one.after.power == TRICKLE]
            off = {one.block for one in lost if one.block not in held}
            freed = _summed((one.district, one.before_a - one.after_a) for one in change.districts)
        gone, meant = {*off, *held}, self.study.wiring.meant.get(isolator, ())
        stays = [name for name in meant if name in self.study.circuit.detected and name not in gone and self._on(name)]
        left = [(one, name) for name, one in volts.items() if name not in gone and one == one and self._on(name)]
        lowest, where = min(left, default=(None, None))
        return EachRow(
            isolator,
            tuple(sorted(off, key=natural_key)),
            tuple(sorted(held, key=natural_key)),
            tuple(sorted(gone.difference(meant), key=natural_key)),
            tuple(sorted(stays, key=natural_key)),
            tuple(sorted((name for name, amperes in freed.items() if amperes), key=natural_key)),
            settled(sum(freed.values())),
            None if lowest is None else settled(lowest),
            where,
        )

    @cached_property
    def now(self) -> Now:
        """What conducts before any is opened."""
        return self.study.now(self.operation.positions)

    @cached_property
    def _isolation(self) -> Isolation:
        return Isolation(self.study)

    def _on(self, block: str) -> bool:
        return self.now.power(block) == ON

    def _behind(self, isolator: str) -> set[str]:
        """The blocks with power of which a rail hangs on nothing but an isolator."""
        circuit, cut = self.study.circuit, open_position(self.study.wiring, isolator)
        assert cut is not None
        after = moved(self.now.state, isolator, cut)
        edges = [circuit.edges[number] for number in circuit.contacts[isolator]]
        found = (self._isolation.region(end, after, bool) for edge in edges for end in (edge.a, edge.b))
        dead = {node for nodes, terminals in found if not terminals for node in nodes}
        return {name for name in (circuit.block_of.get(node) for node in dead) if name is not None and self._on(name)}


def _summed(parts: Iterable[tuple[str, float]]) -> dict[str, float]:
    found: dict[str, float] = {}
    for name, amperes in parts:
        found[name] = found.get(name, 0.0) + amperes
    return found
