"""The test sheet: what to measure once the layout is wired, and what to read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from attrs import evolve, frozen

from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.faults import every_fault
from blockcheck.analysis.bench.instructions import MEASURE, dead_setup, live_setup, what_to_do
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import CHANNELS, OHMS, OPEN_OHM, TRIPS, VOLTS, Step
from blockcheck.analysis.difference.named import changed_names
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Brief, Cell, Column, Document, Item, Lines, Says, Section, Table
from blockcheck.answers.lacking import unchecked_table
from blockcheck.answers.workshop.pieces import counted
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError
from blockcheck.core.findings import Unchecked
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.words import plural
from blockcheck.model.datum import wires_of
from blockcheck.model.quantities import DIMENSIONS, Amperes, Dimension, Ohms, Volts, show

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from blockcheck.analysis.bench.predict import Names, Predicted, Progress

MOST_TOLD = 8
"""More groups of faults that cannot be told apart are not printed; JSON has them all."""
DEAD, LIVE = "Dead: no power", "Live: power on"
_OHM, _VOLT, _AMPERE = DIMENSIONS[Ohms], DIMENSIONS[Volts], DIMENSIONS[Amperes]


@frozen
class SheetStep:
    """One step of the sheet. ``value``, ``low`` and ``high`` are ohms or volts (``high`` None: open), ``names`` what
    must read occupied or trip; ``amperes`` is the current of a short. ``stage`` is dead or live, ``kind`` ohms,
    channels, volts or trips."""

    number: int = column("Its number on the sheet.", key="step", least=1)
    id: str = column("What trace knows it by.")
    stage: str = column("Whether power is off or on.", choices=("dead", "live"))
    kind: str = column(
        "What is read: a resistance, the channels that read occupied, a voltage, or the breaker that trips.",
        choices=(OHMS, CHANNELS, VOLTS, TRIPS),
    )
    group: str | None = column("The group of the first block that it is about.")
    title: str = column("What it is about.")
    do: str = column("What to do.")
    red: str = column("Where the red probe goes.")
    black: str = column("Where the black probe goes.")
    expect: str = column("What to read, in words.")
    value: float | None = column(
        "What to read, in ohms or volts; null where it is open, or names are read.", default=None
    )
    low: float | None = column("The least that is right, in ohms or volts.", default=None, always=True)
    high: float | None = column("The most that is right; null where it is open.", default=None, always=True)
    names: tuple[str, ...] | None = column(
        "The channels or breakers to read; null where a number is read.", default=None
    )
    amperes: float | None = column("Amperes that a short draws.", key="current", default=None)

    def item(self) -> Item:
        """As plain text has it; where the probes go is told of resistances, of the rest the instruction says it."""
        lines = [self.do] if self.do != MEASURE else []
        lines += [f"red: {self.red}", f"black: {self.black}"] if self.kind == OHMS else []
        return Item(self.number, self.title, [*lines, f"expect: {self.expect}", "read: ____________"], ticks=True)

    def row(self) -> tuple[Cell, ...]:
        """As tables have it."""
        probes = (self.red, self.black) if self.kind == OHMS else ("", "")
        return (self.number, f"{self.title}. {self.do}", *probes, self.expect, None)


@frozen
class SheetFault:
    """A single fault that the sheet looks for."""

    fault: str = column("Its id.")
    words: str = column("What is wrong.")


@frozen
class Setup:
    """How the wiring is set up for each part of the sheet."""

    dead: tuple[str, ...] = column("Before the dead tests.")
    live: tuple[str, ...] = column("Before the live tests.")


@frozen
class Untold:
    """A fault, and those that no test tells from it; ids. A poor joint may be taken for others at other resistances."""

    fault: str = column("Its id.")
    others: tuple[str, ...] = column("Those that it may be taken for.")


@frozen
class BenchAnswer(Answer):
    """The test sheet.

    ``faults`` maps the id of every fault that the sheet is made for to what is wrong; ``unseen`` are those that no test
    tells from wiring that is right, ``untold`` those that none tells from each other. ``pool`` counts all tests that
    could be made. ``only`` and ``since`` say what the sheet was narrowed to.
    """

    command = "bench"

    faults: Mapping[str, str]
    layout: str = column("Name of the layout.")
    tolerance: Tolerance = column("How far a reading may lie from what it should be and still be right.")
    axle_ohm: float = column("The test axle.")
    setup: Setup = column("How the wiring is set up for each part of the sheet.")
    steps: tuple[SheetStep, ...] = column("The steps, in the order that is safe.")
    looked_for: tuple[SheetFault, ...] = column(
        "The single faults that the sheet looks for.",
        key="faults",
        of=lambda sheet: tuple(SheetFault(*one) for one in sheet.faults.items()),
    )
    unseen: tuple[str, ...] = column("Faults that no test tells from wiring that is right.")
    untold: tuple[Untold, ...] = column("Faults that no test tells from others.")
    pool: int = column("How many tests could be made.", key="tests", least=0)
    only: str | None = column("The group that the sheet was narrowed to.")
    changed: tuple[str, ...] | None = column(
        "What differs from the older layout that the sheet was narrowed by; null where it was not."
    )
    unchecked: tuple[Unchecked, ...] = column("Blocks that are known only as connected or not, for want of data.")

    @property
    def stages(self) -> Iterator[tuple[str, tuple[str, ...], tuple[SheetStep, ...]]]:
        """For each stage that has steps its title, how the wiring is set up, and its steps."""
        for stage, title, setup in (("dead", DEAD, self.setup.dead), ("live", LIVE, self.setup.live)):
            steps = tuple(one for one in self.steps if one.stage == stage)
            if steps:
                yield title, setup, steps

    def document(self) -> Document:
        """The steps of each stage with how the wiring is set up; then what no test tells. For programs one table."""
        fields = ("number", "id", "stage", "group", "do", "red", "black", "expect", "low", "high")
        data = table("Test sheet", SheetStep, self.steps, fields=fields)
        data = evolve(
            data, headers=(*data.headers, Column("reading", always=True)), rows=[(*row, None) for row in data.rows]
        )
        headers = ("step", "what to do", "red", "black", "expect", Column("read", always=True))
        stages = [
            Brief(
                [Table(title, headers, [one.row() for one in steps])],
                [Section(title, [Lines("", setup, dashes=True), *(one.item() for one in steps)])],
            )
            for title, setup, steps in self.stages
        ]
        before = [f"Before the {title[:4].lower()} tests: {' '.join(setup)}" for title, setup, _ in self.stages]
        return Document(
            "Test sheet",
            self.layout,
            (
                *(Says((one,)) for one in self.sentences()),
                Says((CAUTION,)),
                Brief([Says(before)], []),
                *stages,
                Lines("What the sheet cannot tell", self.untold_lines()),
                unchecked_table(self.unchecked, "Known only as connected or not, for want of data"),
            ),
            (data,),
        )

    def sentences(self) -> Iterator[str]:
        """What the sheet does and does not do, in words."""
        if self.only is not None:
            yield f"Narrowed to group {self.only}."
        if self.changed is not None:
            names = ", ".join(self.changed)
            yield f"Narrowed to what has changed: {names}." if names else "Nothing has changed that could be tested."
        if self.steps:
            yield (
                f"{plural(len(self.steps), 'step')} of {self.pool} that could be made look for "
                f"{plural(len(self.faults), 'single fault')}, and tell each from every other where any test can."
            )
            yield f"Readings are right within {self.tolerance.words}."

    def untold_lines(self) -> Iterator[str]:
        """What no test sees or tells apart, in words."""
        if self.unseen:
            yield f"No test tells these from wiring that is right: {self._words(self.unseen)}."
        lines, done = list[str](), set[frozenset[str]]()
        for one in self.untold:  # each pair once
            others = tuple(other for other in one.others if frozenset((one.fault, other)) not in done)
            done |= {frozenset((one.fault, other)) for other in others}
            if others:
                first = self.faults[one.fault]
                lines.append(f"{first[:1].upper()}{first[1:]} - looks like: {self._words(others)}")
        if lines:
            yield "No test tells these apart, within the tolerance:"
            yield from lines[:MOST_TOLD]
        if len(lines) > MOST_TOLD:
            yield f"and {len(lines) - MOST_TOLD} more such; --format json lists all"

    def _words(self, faults: tuple[str, ...]) -> str:
        shown = [self.faults[one] for one in faults[:4]]
        more = len(faults) - len(shown)
        return "; ".join(shown) + (f"; and {more} more" if more > 0 else "")


def bench(
    study: Study,
    tolerance: Tolerance | None = None,
    *,
    only: str | None = None,
    since: Study | None = None,
    every: bool = False,
    times: int = 1,
    progress: Progress | None = None,
) -> BenchAnswer:
    """The fewest tests that tell every fault from every other; ``every``: all that can be made.

    ``only`` narrows it to a group, ``since`` to what differs from an older layout; ``times`` asks for so many tests
    that tell each pair, where there are so many. Raises CallError for an unknown group, and for a layout that is too
    large for one sheet.
    """
    from blockcheck.analysis.bench.choose import choose
    from blockcheck.analysis.bench.predict import predict

    counted(study)
    own = Bench.of(study)
    tolerance = tolerance or Tolerance()
    names = _narrowed(study, only, since)
    steps = [one for one in own.tests if names is None or names & {*one.about}]
    faults = every_fault(own, names=names)
    if not steps:
        return _answer(own, tolerance, (), faults, (), (), len(own.tests), only, since)
    guesses = every_fault(own, guesses=True, names=names)
    predicted = predict(own, steps, [one.change for one in guesses], progress)
    ids = ["", *(one.id for one in guesses)]
    always = _always(own, predicted)
    choice = choose(predicted, tolerance, always=always, same=ids, times=times, progress=progress)
    chosen = range(len(steps)) if every else choice.tests
    sheet = tuple(sheet_step(own, predicted, test, tolerance, number) for number, test in enumerate(chosen, 1))
    alike = alike_of(choice.untold, ids)
    unseen = tuple(one.id for one in faults if "" in alike.get(one.id, ()))
    untold = []
    for one in faults:
        mine = alike.get(one.id, set())
        others = tuple(other.id for other in faults if other.id in mine) if mine else ()
        if others:
            untold.append(Untold(one.id, others))
    return _answer(own, tolerance, sheet, faults, unseen, tuple(untold), len(steps), only, since)


def alike_of(untold: NDArray[np.bool_], ids: Sequence[str]) -> dict[str, set[str]]:
    """Fault -> those that no test tells from it; the empty id is wiring that is right."""
    found: dict[str, set[str]] = {}
    for one, other in zip(*untold.nonzero(), strict=True):
        found.setdefault(ids[one], set()).add(ids[other])
    return found


def _answer(
    own: Bench,
    tolerance: Tolerance,
    steps: tuple[SheetStep, ...],
    faults: Sequence[Fault],
    unseen: tuple[str, ...],
    untold: tuple[Untold, ...],
    pool: int,
    only: str | None,
    since: Study | None,
) -> BenchAnswer:
    study = own.study
    changed = tuple(sorted(changed_names(since.layout, study.layout))) if since is not None else None
    unchecked = tuple(Unchecked("bench", block, wires_of(lacks)) for block, lacks in own.built.grid.lacking.items())
    return BenchAnswer(
        {one.id: one.words.partition(": about ")[0] for one in faults},
        study.layout.about.name,
        tolerance,
        own.axle_ohm,
        Setup(dead_setup(own), live_setup(own)),
        steps,
        unseen=unseen,
        untold=untold,
        pool=pool,
        only=only,
        changed=changed,
        unchecked=unchecked,
    )


def sheet_step(own: Bench, predicted: Predicted, test: int, tolerance: Tolerance, number: int) -> SheetStep:
    """One test as the sheet has it."""
    import numpy as np

    step = predicted.tests[test]
    head = (number, step.id, step.stage, step.kind, step.group, step.title, what_to_do(own, step))
    words = step.red.words, step.black.words
    value = predicted.value(test, 0)
    if not isinstance(value, float):
        amperes = _rounded(float(predicted.amperes[test][0])) if test in predicted.amperes else None
        return SheetStep(
            *head, *words, expected_names(step, value, amperes), names=tuple(sorted(value)), amperes=amperes
        )
    value = _rounded(value)
    room = float(tolerance.of(step, np.array([value]))[0])
    low, high = _rounded(max(value - room, 0.0)), _rounded(value + room)
    if step.kind == OHMS and value >= OPEN_OHM:
        return SheetStep(*head, *words, "open", None, OPEN_OHM)
    return SheetStep(*head, *words, expected_number(step, value, low, high), value, low, high)


def _rounded(value: float) -> float:
    """Nine digits: what lies behind them differs with the machine and its threads."""
    return float(f"{value:.9g}")


def expected_number(step: Step, value: float, low: float, high: float) -> str:
    """A reading with its tolerance, in words."""
    dimension: Dimension = _VOLT if step.kind == VOLTS else _OHM
    if step.rough and step.kind == OHMS:
        return f"connected: less than {show(high, dimension)}"
    if low <= 0:
        return f"less than {show(high, dimension, digits=2)}"
    return f"{show(value, dimension)} ({show(low, dimension)} to {show(high, dimension)})"


def expected_names(step: Step, names: Names, amperes: float | None) -> str:
    """What must read or trip, in words."""
    found = " and ".join(sorted(names))
    if step.kind == TRIPS:
        flows = f"; the wires would let {show(amperes, _AMPERE, digits=2)} flow" if amperes else ""
        return f"{found} trips{flows}" if names else f"nothing trips{flows}"
    maybe = f" ({', '.join(sorted(names.doubtful))} may read too)" if names.doubtful else ""
    return (f"{found}, and no other" if names else "none") + maybe


def _always(own: Bench, predicted: Predicted) -> list[int]:
    """Tests that safety asks for, whatever they tell: no short in a district, and a short that trips each breaker."""
    found = [number for number, step in enumerate(predicted.tests) if step.id.startswith(("district.", "districts."))]
    for name, *_ in own.breakers:
        able = [one for one in predicted.amperes if name in predicted.known[int(predicted.names[one][0])]]
        if able:
            found.append(min(able, key=lambda one: _rounded(float(predicted.amperes[one][0]))))
    return found


def _narrowed(study: Study, only: str | None, since: Study | None) -> set[str] | None:
    """The names that a sheet is narrowed to; None for all."""
    names: set[str] | None = None
    if only is not None:
        groups = study.wiring.groups
        if only not in groups:
            near = did_you_mean(only, groups) or (
                f"the groups are {', '.join(groups)}" if groups else "no block has one"
            )
            raise CallError(f"there is no group {shown(only)}", near)
        names = {*groups[only]}
        names |= {one for one, blocks in study.wiring.switched.items() if names & {*blocks}}
        names |= {name for name, one in study.layout.turnouts.items() if one.block in names}
    if since is not None:
        changed = changed_names(since.layout, study.layout)
        names = changed if names is None else names & changed
    return names
