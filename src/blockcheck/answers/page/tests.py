"""The test sheet of the page, and what each single fault changes in it: what names a fault without the electrics."""

from __future__ import annotations

import re
from collections.abc import Collection, Hashable, Iterator, Sequence
from typing import Any, TypeVar

import numpy as np
from attrs import define, field, fields

from blockcheck.analysis.bench.fault_kinds import ROTATED, Fault
from blockcheck.analysis.bench.instructions import dead_setup, live_setup, untried
from blockcheck.analysis.bench.instruments import Bools, Way, room_of
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.names import Names
from blockcheck.analysis.bench.predict import Progress
from blockcheck.analysis.bench.sheet import Sheet, rounded
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.units import cut
from blockcheck.analysis.bench.wired import BEEPER, OHMS, OPEN_OHM, TRIPS
from blockcheck.analysis.study import Study
from blockcheck.analysis.trace.fitting import Dead
from blockcheck.analysis.trace.material import CONTACTS, JOINTS, RAIL, WIRE
from blockcheck.answers.page.rows import PageFaults, PageStep, PageTests
from blockcheck.answers.workshop.parts import SheetPart, joined, sheet_of
from blockcheck.answers.workshop.pieces import counted
from blockcheck.answers.workshop.steps import SheetStep, beeper_words

T = TypeVar("T", bound=Hashable)
_KINDS = (RAIL, WIRE, JOINTS, CONTACTS)
_SHOWN = ("number", *(one.name for one in fields(PageStep)[1:-1]))
MOST_FAULTS = 6_000
"""Of more, those that are the least likely and the most are left out: three plugs that have changed places."""
PERHAPS = "; perhaps "


def page_tests(study: Study, at_hand: Collection[str], progress: Progress | None = None) -> PageTests:
    """The sheet as ``bench`` makes it with what is at hand.

    Raises CallError for a layout that is too large for one sheet, and for what is no instrument.
    """
    counted(study)
    own, alike = Bench.of(study), dict[object, Any]()
    sheets = [
        sheet_of(
            own if one is study else Bench(one, own.axle_ohm, alike), at_hand, Tolerance(), progress=progress, rim=rim
        )
        for one, rim in cut(study)
    ]
    parts = [SheetPart.of_sheet(one) for one in sheets]
    steps = joined(parts)
    maybe, made = dict[str, tuple[str, ...]](), dict[int, tuple[float, ...]]()
    faults = _Table(rotated=sum(len(one.cases) for one in sheets) <= MOST_FAULTS)
    for sheet in sheets:
        mine = list(_mine(sheet, steps))
        for step, way in mine:
            right = sheet.predicted.value(way.test, 0)
            if isinstance(right, Names) and right.doubtful:
                maybe[str(step.number)] = tuple(sorted(right.doubtful))
        made |= _made(sheet, mine)
        faults.add(sheet, mine)
    return PageTests(
        tuple(PageStep(*[*(getattr(one, name) for name in _SHOWN), made.get(one.number)]) for one in steps),
        dead_setup(own, at_hand),
        live_setup(own, at_hand, untried(own, (one.names or () for one in steps if one.kind == TRIPS))),
        tuple(own.channels),
        tuple(one[0] for one in own.breakers),
        maybe,
        faults.made(),
        faults.left_out,
        unseen=len({one.id for sheet in sheets for one, _ in sheet.cases if faults.holds(one)} - faults.seen),
    )


def _off(sheet: Sheet, some: Sequence[Way]) -> Bools:
    """The cases that each way reads as not expected, as [way, case]; also where a meter might make that of what is, or
    what should read may not."""
    found = sheet.sees(some)
    for number, (test, instrument) in enumerate(some):
        if test in sheet.predicted.names:
            names, known = sheet.predicted.names[test], sheet.predicted.known
            right = known[int(names[0])]
            off = {one: not right <= known[one] <= right | right.doubtful for one in set(names.tolist())}
            found[number] |= np.array([off[one] for one in names[1:].tolist()], dtype=bool)
        elif instrument != BEEPER:
            value = sheet.predicted.numbers[test]
            room = room_of(sheet.predicted.tests[test], value[:1], instrument, sheet.tolerance)
            found[number] |= np.abs(value[1:] - value[0]) > room * (1 + 1e-2)
    return found


def _made(sheet: Sheet, mine: Sequence[tuple[SheetStep, Way]]) -> dict[int, tuple[float, ...]]:
    """Step -> the shares of its ohms by what they are made of, where all isolators stand as if closed in it."""
    some = [(step.number, way.test) for step, way in mine if step.kind == OHMS and way.instrument != BEEPER]
    tests = [sheet.predicted.tests[test] for _, test in some]
    if not tests:
        return {}
    none = np.zeros(len(tests))
    dead = Dead(sheet.bench, tuple(tests), none, none, 0.0, 0.0)
    point, kinds = dead.point(), dead.material.kinds
    own = [min(_KINDS.index(kind.split()[0]), len(_KINDS) - 2) for kind in kinds]
    shares = np.array(
        [point.slopes[0][:, [at for at, one in enumerate(own) if one == kind]].sum(axis=1) for kind in range(3)]
    )
    found = dict[int, tuple[float, ...]]()
    for at, ((number, test), step) in enumerate(zip(some, tests, strict=True)):
        value = float(sheet.predicted.numbers[test][0])
        if not step.rough and 0 < value < OPEN_OHM and abs(float(point.told[at]) - value) <= 1e-6 * (1 + value):
            found[number] = tuple(round(float(one) / value, 3) for one in shares[:, at])
    return found


def _mine(sheet: Sheet, steps: Sequence[SheetStep]) -> Iterator[tuple[SheetStep, Way]]:
    """The steps whose tests a sheet has."""
    known = {one.id: number for number, one in enumerate(sheet.steps)}
    return ((one, Way(known[one.id], one.instrument)) for one in steps if one.id in known)


Spelled = tuple[str | int, ...]
_NAMES = re.compile(r"(\S*[0-9]\S*)")


@define(eq=False, repr=False)
class _Table:
    """Collects faults, each once for all of its sizes that change the same in the same way."""

    rotated: bool
    words: list[Spelled] = field(factory=list)
    look: list[int] = field(factory=list)
    places: dict[Spelled, int] = field(factory=dict)
    phrases: dict[str, int] = field(factory=dict)
    weight: list[float] = field(factory=list)
    sized: list[int] = field(factory=list)
    steps: list[tuple[int, ...]] = field(factory=list)
    reads: list[tuple[int, ...]] = field(factory=list)
    values: dict[float | str, int] = field(factory=dict)
    seen: set[str] = field(factory=set)
    left_out: int = 0

    def holds(self, fault: Fault) -> bool:
        """Whether a fault has a place in the table."""
        return self.rotated or fault.kind != ROTATED

    def add(self, sheet: Sheet, mine: Sequence[tuple[SheetStep, Way]]) -> None:
        """What the steps of a sheet see."""
        if not mine or not sheet.cases:
            return
        seen, done = _off(sheet, [way for _, way in mine]), set[object]()
        for case, (fault, _) in enumerate(sheet.cases):
            changed = [mine[number] for number in range(len(mine)) if seen[number, case]]
            if not self.holds(fault):
                self.left_out += bool(changed)
                continue
            told = [(step.number, self.number(self.values, _read(sheet, way, case + 1))) for step, way in changed]
            steps, reads = _runs(told)
            words = fault.words.partition(": about ")[0]
            if not steps or (words, steps, reads) in done:
                continue
            done.add((words, steps, reads))
            self.seen.add(fault.id)
            self.words.append(self.spelled(words))
            self.look.append(self.number(self.places, self.spelled(fault.look)))
            self.weight.append(float(f"{sheet.worth[case]:.3g}"))
            if fault.size is not None:
                self.sized.append(len(self.words) - 1)
            self.steps.append(steps)
            self.reads.append(reads)

    def spelled(self, text: str) -> Spelled:
        """A text as names, and numbers of the phrases between them, which are many times the same."""
        parts = enumerate(_NAMES.split(text))
        return tuple(part if at % 2 else self.number(self.phrases, part) for at, part in parts if part)

    @staticmethod
    def number(known: dict[T, int], one: T) -> int:
        """The number of a value among those that are known, itself added."""
        return known.setdefault(one, len(known))

    def made(self) -> PageFaults:
        """The table."""
        told = self.words, self.look, self.places, self.phrases
        columns = *told, self.weight, self.sized, self.steps, self.reads, self.values
        return PageFaults(*map(tuple, columns))  # type: ignore[arg-type]


def _runs(told: Sequence[tuple[int, int]]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Steps with what they read; of those that follow each other and read alike, the first and the last."""
    steps, reads = list[int](), list[int]()
    for number, read in told:
        if reads and (number - 1, read) == (steps[-1], reads[-1]):
            steps[-1] = number
        else:
            steps += number, number
            reads.append(read)
    return tuple(steps), tuple(reads)


def _read(sheet: Sheet, way: Way, case: int) -> float | str:
    value = sheet.predicted.value(way.test, case)
    if isinstance(value, Names):
        right = sheet.predicted.value(way.test, 0)
        assert isinstance(right, Names)
        more = right < value and right.doubtful == value.doubtful
        doubtful = "" if more or not value.doubtful else PERHAPS + ", ".join(sorted(value.doubtful))
        return ("+" if more else "") + (", ".join(sorted(value - right if more else value)) or "none") + doubtful
    return str(beeper_words(value)["expect"]) if way.instrument == BEEPER else rounded(value)
