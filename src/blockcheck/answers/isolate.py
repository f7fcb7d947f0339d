"""What happens if I isolate these?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from attrs import field, frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Brief, Document, Figure, Lines, Part, Says
from blockcheck.answers.lacking import unchecked_table
from blockcheck.answers.states import BECAUSE, POWER, BlockState, DistrictChange, TrainState, awake_words, with_open
from blockcheck.answers.tables import Table
from blockcheck.circuit.state import ON, Power
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError
from blockcheck.core.findings import Unchecked
from blockcheck.core.words import listed, plural
from blockcheck.model.operate import after_setting
from blockcheck.model.select import parted, select_isolators

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing


_COLUMNS = (
    *("block", "district", "channel", "power", "voltage_v", "detection", "because", "trains", "intended", "changed"),
)


@frozen
class Unintended:
    """A block whose state nobody meant."""

    block: str = column("Block.")
    power: Power = column(POWER)
    because: tuple[str, ...] = column(BECAUSE)


@frozen
class IsolateAnswer(Answer):
    """What opening some isolators does, to every block, train and district."""

    command = "isolate"

    layout: str
    asked: str
    scenario: str | None
    _of: Study = field(alias="of", repr=False, eq=False)
    opened: tuple[str, ...] = column("The isolators that are opened.")
    blocks: tuple[BlockState, ...] = column("All blocks.")
    trains: tuple[TrainState, ...] = column("The trains that stand somewhere.")
    districts: tuple[DistrictChange, ...] = column("What each district carries.")
    unintended: tuple[Unintended, ...] = column(
        "What nobody meant.",
        of=lambda answer: tuple(Unintended(one.block, one.power, one.because) for one in answer.unmeant),
    )
    not_isolatable: tuple[str, ...] = column("Blocks asked for that have no isolator.")
    unchecked: tuple[Unchecked, ...] = column(
        "Blocks of which it is not known whether something stays awake in them, and the data missing for it."
    )

    def drawing(self) -> Drawing:
        """The layout drawn with these isolators open, when it is asked for."""
        from blockcheck.answers.draw import drawing

        return drawing(self._of, self.scenario, self.asked if self.opened else None)

    @property
    def unmeant(self) -> tuple[BlockState, ...]:
        """The blocks whose state nobody meant."""
        return tuple(row for row in self.blocks if not row.intended)

    def document(self) -> Document:
        """A sentence that answers, what changes, what it frees, the trains, the layout drawn; for programs all blocks.

        Plain text has sentences of districts and trains in place of tables.
        """
        power = {row.block: row.power for row in self.blocks}
        districts = table("What it frees", DistrictChange, self.districts)
        trains = table("Trains", TrainState, [one.cells(power[one.block]) for one in self.trains])
        blocks = table("Blocks", BlockState, [row.cells() for row in self.blocks], fields=_COLUMNS)
        unmeant = [(row.block, row.unmeant) for row in self.unmeant]
        return Document(
            f"Isolating {self.asked}" + ("" if self.scenario is None else f", in scenario {self.scenario}"),
            self.layout,
            (
                Says((self._sentence(),)),
                Brief(
                    [*self._changing(), Table("Not meant", ("block", "what happens"), unmeant), districts, trains],
                    [*self._told(), Lines("Not meant", [told for _, told in unmeant], alarm=True)],
                ),
                unchecked_table(self.unchecked, "Not known for want of data"),
                Says((CAUTION,), "caution"),
                Figure(self.drawing),
            ),
            (blocks, districts, trains),
            head="",
        )

    def _changing(self, title: str = "Blocks that change") -> Iterator[Table]:
        shown = [row for row in self.blocks if row.changed or not row.intended or row.because]
        if shown:
            others = len(self.blocks) - len(shown)
            notes = [f"{plural(others, 'other block stays', 'other blocks stay')} as before."] if others else []
            yield table(title, BlockState, [row.cells(" (as before)") for row in shown], notes, fields=_COLUMNS)

    def _told(self) -> Iterator[Part]:
        """Blocks, districts and trains, in plain text."""
        yield from self._changing("")
        freed = [one.sentence for one in self.districts if one.before_a != one.after_a]
        yield Says(freed or ["It frees no current that the layout knows of."] if freed or self.opened else [])
        states = {row.block: row for row in self.blocks}
        yield Says([one.sentence(states[one.block]) for one in self.trains if states[one.block].changed])

    def _sentence(self) -> str:
        have = "has" if len(self.not_isolatable) == 1 else "have"
        without = f"{listed(self.not_isolatable)} {have} no isolator"
        if not self.opened:
            return f"Nothing can be isolated: {without}."
        where = f' in scenario "{self.scenario}"' if self.scenario else ""
        moved = [f"{name} at {place}" for name, place in parted(self._of.wiring, self.asked)[1].items()]
        where += f" with {listed(moved)}" if moved else ""
        dead = [row for row in self.blocks if row.dead]
        awake = [row for row in self.blocks if row.changed and row.awake]
        live = _names(row for row in self.unmeant if row.power == ON)
        victims = _names(row for row in self.unmeant if row.dead)
        tail = [f"{listed(live)} should go dead and {'does' if len(live) == 1 else 'do'} not"] if live else []
        tail += [awake_words(awake)] if awake else []
        tail += [f"{listed(victims)} {'was' if len(victims) == 1 else 'were'} not meant to change"] if victims else []
        does = _takes_power(dead) if dead else "puts no block to sleep" if awake else _NOTHING
        does += ", as meant, and from nothing else" if dead and not tail else ""
        told = [does, *tail, *([without] if self.not_isolatable else [])]
        return f"Opening {listed(self.opened)}{where} {'; '.join(told)}."


_NOTHING = "takes power from no block that had it"


def _names(rows: Iterable[BlockState]) -> list[str]:
    return [row.block for row in rows]


def _takes_power(dead: Sequence[BlockState]) -> str:
    """From which blocks, and which of them can still read."""
    does, read = f"takes power from {listed(_names(dead))}", _names(row for row in dead if row.reads)
    if read and len(read) == len(dead):
        return f"{does}, which can still read"
    return f"{does}, of which {listed(read)} can still read" if read else does


def isolate(study: Study, tracks: str, scenario: str | None = None) -> IsolateAnswer:
    """Open the isolators of a selection on top of the usual state, or of a scenario.

    Controls that it sets stand so before, too. Raises CallError where the selection or the scenario is unknown, or an
    isolator has no position that cuts.
    """
    named, moved = parted(study.wiring, tracks)
    if named is None:
        raise CallError(f"{tracks} names no track to isolate", "name one beside it, or ask how everything stands so")
    operation = after_setting(study.wiring, study.operation(scenario), moved, last=False)
    opened, without = select_isolators(study.wiring, named)
    after = with_open(study, operation, opened)
    return IsolateAnswer(
        study.layout.about.name,
        tracks,
        scenario,
        study,
        opened,
        tuple(after.blocks.values()),
        tuple(after.trains.values()),
        after.districts,
        not_isolatable=without,
        unchecked=tuple(Unchecked("what stays awake", name, needs) for name, needs in after.needs.items()),
    )
