"""How everything stands in one way of operating the layout: the sheet for tonight."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from attrs import asdict, field, frozen

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Document, Figure, Says
from blockcheck.answers.lacking import unchecked_table
from blockcheck.answers.states import BlockState, TrainState, with_open
from blockcheck.circuit.state import ON, TRICKLE
from blockcheck.core.columns import column
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.words import listed, plural
from blockcheck.model.operate import Operation
from blockcheck.model.tables.selectors import place_of, selector_of, tracks_of, usual_place

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing

_BLOCKS = ("block", "district", "channel", "power", "voltage_v", "detection", "because", "trains", "awake")


@frozen
class SwitchState:
    """How one isolator, changeover or pair of points stands."""

    switch: str = column("The isolator, changeover or points.")
    position: str = column("How it stands; of a changeover the district that it chooses.", always=True)
    usual: str = column("How it usually stands.", title="usually", always=True)
    moved: bool = column("Whether it stands otherwise than usually.", only="programs")
    blocks: tuple[str, ...] = column("The blocks that it is for.", title="for")
    panel: str | None = column("Where it is.", title="where")

    def cells(self) -> dict[str, Any]:
        """As tables have it: how it usually stands where that is otherwise."""
        return {**asdict(self), "usual": self.usual if self.moved else ""}


@frozen
class DistrictLoad:
    """What a district carries, and may carry, in amperes."""

    district: str = column("District.")
    current_a: float = column("What it carries.", title="carries")
    limit_a: float | None = column("Most that it may carry.", title="may carry")
    bound: bool = column("Whether that is at least so much, since what some vehicle draws is not known.")


@frozen
class StateAnswer(Answer):
    """How everything stands, as usual or in a scenario: switches, blocks, trains and districts."""

    command = "isolate"

    layout: str
    when: str
    _of: Study = field(alias="of", repr=False, eq=False)
    scenario: str | None = column("The scenario; null for the usual state.")
    switches: tuple[SwitchState, ...] = column("Every isolator, changeover, and points that switch something.")
    blocks: tuple[BlockState, ...] = column("All blocks.")
    trains: tuple[TrainState, ...] = column("The trains that stand somewhere.")
    districts: tuple[DistrictLoad, ...] = column("What each district carries.")
    unchecked: tuple[Unchecked, ...] = column(
        "Blocks of which it is not known whether something stays awake in them, and the data missing for it."
    )
    asked: str | None = column("What was opened and set on top of it, as it was asked.", default=None)

    @property
    def unintended(self) -> tuple[BlockState, ...]:
        """The blocks that are not as their isolators mean them to be."""
        return tuple(row for row in self.blocks if not row.intended)

    def drawing(self) -> Drawing:
        """The layout drawn so, when it is asked for."""
        from blockcheck.answers.draw import drawing

        return drawing(self._of, self.scenario, self.asked)

    def document(self) -> Document:
        """What is lit, dead and held, in a sentence each; then switches, blocks, trains and districts."""
        power = {row.block: row.power for row in self.blocks}
        tables = (
            table("Switches", SwitchState, [row.cells() for row in self.switches]),
            table("Blocks", BlockState, [row.cells() for row in self.blocks], fields=_BLOCKS),
            table("Trains", TrainState, [one.cells(power[one.block]) for one in self.trains]),
            table("Districts", DistrictLoad, self.districts),
        )
        return Document(
            f"How everything stands, {self.when}",
            self.layout,
            (
                Says(tuple(self._told())),
                *tables,
                unchecked_table(self.unchecked, "Not known for want of data"),
                Says((CAUTION,), "caution"),
                Figure(self.drawing),
            ),
            tables,
            verdict=(self._verdict(),),
        )

    def _verdict(self) -> str:
        lit = sum(row.power == ON for row in self.blocks)
        one = plural(len(self.blocks), "block")
        told = f"{self.when}, {lit if lit else 'none'} of {one} {'has' if lit == 1 else 'have'} power"
        if self.unintended:
            return f"{told}; not as meant: {listed([row.block for row in self.unintended])}."
        return f"{told}, and each is as it is meant to be."

    def _told(self) -> Iterable[str]:
        for word, rows in (
            ("Lit", [row for row in self.blocks if row.power == ON]),
            ("Held by a resistor", [row for row in self.blocks if row.power == TRICKLE]),
            ("Dead", [row for row in self.blocks if row.power not in (ON, TRICKLE)]),
        ):
            if rows:
                yield f"{word}: {listed([row.block for row in rows])}."
        asleep = [one.train for one in self.trains if one.powered is False]
        if asleep:
            yield f"Asleep: {listed(asleep)}."


def standing(study: Study, scenario: str | None = None, opened: str | None = None) -> StateAnswer:
    """How everything stands, as usual or in a scenario, with a selection opened and set on top of it. Raises CallError
    for what the layout does not have."""
    operation = study.asked(scenario, opened)
    states = with_open(study, operation, ())
    return StateAnswer(
        study.layout.about.name,
        operation.when,
        study,
        scenario,
        tuple(_switches(study, operation)),
        tuple(states.blocks.values()),
        tuple(states.trains.values()),
        tuple(
            DistrictLoad(draw.name, settled(draw.current_a), draw.limit_a, bool(draw.needs))
            for draw in Budget.of(study, operation).districts()
        ),
        tuple(Unchecked("what stays awake", name, needs) for name, needs in states.needs.items()),
        opened,
    )


def _switches(study: Study, operation: Operation) -> Iterable[SwitchState]:
    circuit, isolators = study.circuit, study.layout.isolators
    state = study.now(operation.positions).state
    for name in sorted((*circuit.controls, *study.layout.selectors), key=natural_key):
        selector = study.layout.selectors.get(name)
        if selector is not None:
            place, usual = place_of(selector, state), usual_place(selector)
            yield SwitchState(name, place, usual, place != usual, tracks_of(selector), None)
            continue
        if selector_of(study.layout, name) is not None:
            continue
        own = isolators.get(name)
        blocks = tuple(sorted(study.wiring.meant.get(name, ()), key=natural_key))
        usual, panel = circuit.usual[name], None if own is None else own.panel
        yield SwitchState(name, state[name], usual, state[name] != usual, blocks, panel)
