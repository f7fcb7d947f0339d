"""What a test sheet has of one unit of a layout, and the sheet that the units make together."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from attrs import evolve, frozen

from blockcheck.analysis.bench.fault_kinds import Fault
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.predict import Progress
from blockcheck.analysis.bench.sheet import Row, Sheet
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import TRIPS
from blockcheck.answers.workshop.steps import SheetStep, SheetTrack, sheet_step, sheet_track
from blockcheck.core.spans import Path


@frozen(eq=False, repr=False)
class SheetPart:
    """Of one unit: the steps, each with its turn (what is safe first) and how likely what it catches first is;
    ``faults`` by id; how many of a kind are ``seen``, and ``of`` how many; ``worth`` of all that is seen."""

    steps: tuple[tuple[int, float, SheetStep], ...]
    worth: float
    faults: Mapping[str, str]
    seen: Mapping[str, int]
    of: Mapping[str, int]
    besides: Mapping[str, int]
    gaps: int
    unseen: tuple[str, ...]
    untold: tuple[tuple[str, tuple[str, ...]], ...]
    pool: tuple[str, ...]
    lacking: Mapping[str, tuple[Path, ...]]
    tracks: tuple[SheetTrack, ...]

    @classmethod
    def of_unit(
        cls,
        own: Bench,
        at_hand: Collection[str],
        tolerance: Tolerance,
        names: Collection[str] | None,
        each: bool,
        every: bool,
        times: int,
        progress: Progress | None,
        rim: frozenset[str] = frozenset(),
    ) -> SheetPart:
        """The tests of a unit with what is at hand; ``rim`` are blocks of other units, whose tests are theirs."""
        return cls.of_sheet(sheet_of(own, at_hand, tolerance, names, each, progress, rim), each, every, times)

    @classmethod
    def of_sheet(cls, sheet: Sheet, each: bool = False, every: bool = False, times: int = 1) -> SheetPart:
        """What a sheet has of its unit."""
        own, steps, rim = sheet.bench, sheet.steps, sheet.rim
        rows, faults = tuple[Row, ...](), tuple[Fault, ...]()
        unseen, untold = tuple[str, ...](), list[tuple[str, tuple[str, ...]]]()
        if steps and each:
            rows, faults, alike = sheet.each(times)
            unseen = tuple(one.id for one in faults if "" in alike.get(one.id, ()))
            for one in faults:
                mine = alike.get(one.id, set())
                others = tuple(other.id for other in faults if other.id in mine) if mine else ()
                if others:
                    untold.append((one.id, others))
        elif steps:
            rows, unseen = sheet.short(times), sheet.unseen()
            faults = tuple({fault.id: fault for fault, _ in sheet.cases}.values())
        if every:
            rows = sheet.ordered(range(len(sheet.ways)))
        kinds = list(sheet.kinds()) if steps else []
        return cls(
            tuple((sheet.turn(sheet.steps[row.way.test]), row.caught, sheet_step(sheet, row)) for row in rows),
            float(sheet.worth[sheet.found].sum()) if steps else 0.0,
            {one.id: one.words.partition(": about ")[0] for one in faults},
            {kind: seen for kind, seen, _ in kinds},
            {kind: count for kind, _, count in kinds},
            sheet.more if steps else {},
            len(sheet.gaps(silent=False)) if steps else 0,
            unseen,
            tuple(untold),
            tuple(dict.fromkeys(sheet.steps[way.test].id for way in sheet.ways)),
            own.built.grid.lacking,
            tuple(sheet_track(own, block) for block in own.built.grid.tracks if block not in rim),
        )


def sheet_of(
    own: Bench,
    at_hand: Collection[str],
    tolerance: Tolerance,
    names: Collection[str] | None = None,
    each: bool = False,
    progress: Progress | None = None,
    rim: frozenset[str] = frozenset(),
) -> Sheet:
    """The tests that a unit can have, all but those of ``rim``."""
    inside = (one for one in own.tests if not rim & {*one.about[:1]})
    steps = tuple(one for one in inside if names is None or any(name in names for name in one.about))
    return Sheet(own, steps, at_hand, tolerance, names, progress, rim, each)


def joined(parts: Sequence[SheetPart]) -> tuple[SheetStep, ...]:
    """The steps of all units in one order: what is safe first, unit by unit. What several have stands once, and a
    breaker is tried where least flows."""
    rows = sorted((row for part in parts for row in part.steps), key=lambda row: row[0])
    least: dict[tuple[str, ...], float] = {}
    for _, _, step in rows:
        if step.kind == TRIPS and step.names and len(parts) > 1:
            least[step.names] = min(least.get(step.names, float("inf")), step.amperes or 0.0)
    whole, caught = sum(part.worth for part in parts), 0.0
    found, made = list[SheetStep](), set[tuple[str, str]]()
    for _, more, step in rows:
        caught += more
        spare = step.kind == TRIPS and step.names in least and (step.amperes or 0.0) > least[step.names]
        if (step.id, step.instrument) in made or spare:
            continue
        made.add((step.id, step.instrument))
        share = min(round(caught / whole, 4), 1.0) if whole else 1.0
        found.append(evolve(step, number=len(found) + 1, caught=share))
    return tuple(found)
