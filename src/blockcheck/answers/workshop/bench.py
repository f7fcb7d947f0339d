"""The test sheet: what to measure once the layout is wired, and what to read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from attrs import evolve, frozen

from blockcheck.analysis.bench.fault_kinds import MOST_AMONG, REACH
from blockcheck.analysis.bench.instructions import dead_setup, live_setup, untried
from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.bench.wired import AXLE, BEEPER, INSTRUMENTS, METER, OHMS, SUPPLY, TRIPS, VOLTS
from blockcheck.analysis.difference.named import changed_names
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Document, Lines, Says, Section
from blockcheck.answers.lacking import unchecked_table
from blockcheck.answers.tables import Column, Table
from blockcheck.answers.workshop.pieces import counted
from blockcheck.answers.workshop.steps import SheetStep, SheetTrack, places
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError, OutOfTimeError
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import condensed
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.words import listed, plural
from blockcheck.model.datum import wires_of

if TYPE_CHECKING:
    from blockcheck.analysis.bench.predict import Progress

AT_HAND = (BEEPER, AXLE)
"""What a sheet is made for where nobody says what is at hand."""
MOST_TOLD = 8
"""More groups of faults that cannot be told apart are not printed; JSON has them all."""
ENOUGH = 0.9
KINDS_SEEN = ("kind of fault", "seen", "of")
_UNITS = {OHMS: "ohm", VOLTS: "V"}
"""Of the least and the most that is right."""
DEAD, LIVE = "Dead: no power", "Live: power on"


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
class Seen:
    """How much of a kind of fault the sheet sees."""

    kind: str = column("The kind of fault.")
    seen: int = column("How many of it are seen.", least=0)
    of: int = column("Of how many; where it may have any size, each that is typical counts.", least=0)


@frozen
class Besides:
    """What an instrument that is not at hand would see."""

    instrument: str = column("The instrument.", choices=tuple(INSTRUMENTS))
    more: int = column("How many of what is not seen it sees.", least=0)


@frozen
class BenchAnswer(Answer):
    """The test sheet.

    ``faults`` maps the id of every fault that the sheet is made for to what is wrong; ``unseen`` are those that nothing
    at hand tells from wiring that is right, at one of their sizes at least, ``untold`` those that none tells from each
    other. ``pool`` counts all tests that could be made. ``only`` and ``since`` say what the sheet was narrowed to.
    ``read`` maps tests to what was read last, ``taken`` says when, by whom and with what.
    """

    command = "bench"

    faults: Mapping[str, str]
    layout: str = column("Name of the layout.")
    tolerance: Tolerance = column("How far a reading may lie from what it should be and still be right.")
    at_hand: tuple[str, ...] = column("What the tests are made with.", key="with")
    each: bool = column("Whether the sheet tells each fault from every other, or only sees each.")
    axle_ohm: float = column("The test axle.")
    setup: Setup = column("How the wiring is set up for each part of the sheet.")
    steps: tuple[SheetStep, ...] = column("The steps, in the order that is safe.")
    tracks: tuple[SheetTrack, ...] = column("The blocks with their drops, as the sketches of the sheet show them.")
    looked_for: tuple[SheetFault, ...] = column(
        "The single faults that the sheet looks for.",
        key="faults",
        of=lambda sheet: tuple(SheetFault(*one) for one in sheet.faults.items()),
    )
    kinds: tuple[Seen, ...] = column("How much of each kind of fault the sheet sees.")
    besides: tuple[Besides, ...] = column("What other instruments would see.")
    joined: int = column("Gaps that no test can meter, since the wiring joins both sides.", least=0)
    bare: tuple[str, ...] = column(
        "Joints with track without power, of which no step tries the gaps: nothing is wired there."
    )
    unseen: tuple[str, ...] = column("Faults that nothing at hand tells from wiring that is right.")
    untold: tuple[Untold, ...] = column("Faults that no test tells from others.")
    pool: int = column("How many tests could be made.", key="tests", least=0)
    only: str | None = column("The group that the sheet was narrowed to.")
    changed: tuple[str, ...] | None = column(
        "What differs from the older layout that the sheet was narrowed by; null where it was not."
    )
    reach: int | None = column(
        "How many places apart two plugs or switches are at most that the sheet takes for each other, on boards and "
        f"panels of more than {MOST_AMONG}; null where there are none of these."
    )
    unchecked: tuple[Unchecked, ...] = column("Blocks that are known only as connected or not, for want of data.")
    left: tuple[str, ...] = column("Blocks that no step is about, since time ran out.", default=())
    read: Mapping[str, str] = {}
    taken: str = ""

    @property
    def stages(self) -> Iterator[tuple[str, tuple[str, ...], tuple[SheetStep, ...]]]:
        """For each stage that has steps its title, how the wiring is set up, and its steps."""
        for stage, title, setup in (("dead", DEAD, self.setup.dead), ("live", LIVE, self.setup.live)):
            steps = tuple(one for one in self.steps if one.stage == stage)
            if steps:
                yield title, setup, steps

    @property
    def enough(self) -> int | None:
        """The step by which nine tenths of what the sheet sees are caught; None where that is its last, or nothing."""
        steps = [one.number for one in self.steps if one.caught >= ENOUGH]
        return steps[0] if len(steps) > 1 else None

    def document(self) -> Document:
        """The steps of each stage with how the wiring is set up, by place; then what no test sees. For programs one
        table."""
        fields = ("number", "id", "stage", "group", "instrument", "do", "red", "black", "expect", "low", "high")
        data = table("Test sheet", SheetStep, self.steps, fields=fields)
        data = evolve(
            data,
            headers=(*data.headers, Column("unit", always=True), Column("reading", always=True, fills=True)),
            rows=[
                (*row, _UNITS.get(step.kind, ""), self.read.get(step.id))
                for step, row in zip(self.steps, data.rows, strict=True)
            ],
        )
        stages = [
            Section(title, [Lines("", setup, dashes=True), *(self.at(*one) for one in places(steps))])
            for title, setup, steps in self.stages
        ]
        rows = [(one.kind.replace("-", " "), one.seen, one.of) for one in self.kinds if one.seen < one.of]
        return Document(
            "Test sheet",
            self.layout,
            (
                Says((CAUTION,), "caution"),
                *([Says((f"Read last: {self.taken}.",), "plain")] if self.taken else []),
                *stages,
                Table("Read besides", ("test", "reading"), self._besides()),
                Section("What the sheet does not see", [Table("", KINDS_SEEN, rows, [*self.besides_words()])]),
                Lines("What the sheet cannot tell", self.untold_lines()),
                unchecked_table(self.unchecked, "Known only as connected or not, for want of data"),
            ),
            (data,),
            verdict=tuple(self.sentences()),
        )

    def at(self, place: str, steps: Sequence[SheetStep]) -> Section:
        """The steps of one place."""
        ohms, read = steps[0].kind == OHMS, self.read
        where = "black on" if ohms else "across"
        headers = ("step", "set", "red on", where, "expect", Column("reading", always=True, fills=True))
        rows = [
            (
                one.number,
                one.set,
                one.red if ohms and one.red not in one.place else "",
                one.where,
                one.expect,
                read.get(one.id),
            )
            for one in steps
        ]
        here = [f"After step {one.number}, nine tenths are caught." for one in steps if one.number == self.enough]
        sketches = Lines("", (one.sketch for one in self.tracks if self.named(one.block, place, steps)))
        return Section(place, [sketches, Table("", headers, rows, here)], level=3)

    @staticmethod
    def named(block: str, place: str, steps: Sequence[SheetStep]) -> bool:
        """Whether a probe stays on a block, or some step is at one of its drops: then a sketch of it is of use."""
        return f" of {block}, " in place or any(f" {block}:drop" in one.red + one.where for one in steps)

    def _besides(self) -> list[tuple[str, str]]:
        """What was read that is no step of this sheet."""
        steps = {one.id for one in self.steps}
        return [(id_, words) for id_, words in self.read.items() if id_ not in steps]

    def sentences(self) -> Iterator[str]:
        """What the sheet does and does not do, in words."""
        if self.left:
            yield f"Out of time: no step is about {listed(condensed(self.left), 8)}; give it more with --seconds."
        if self.only is not None:
            yield f"Narrowed to group {self.only}."
        if self.changed is not None:
            names = ", ".join(self.changed)
            yield f"Narrowed to what has changed: {names}." if names else "Nothing has changed that could be tested."
        if self.steps:
            seen, of = sum(one.seen for one in self.kinds), sum(one.of for one in self.kinds)
            made = f"{plural(len(self.steps), 'step')} of {self.pool} that could be made with {listed(self.at_hand)}"
            if self.each:
                yield (
                    f"{made} look for {plural(len(self.faults), 'single fault')}, and tell each from every other "
                    "where any test can."
                )
            else:
                yield f"{made} see {seen:,} of {plural(of, 'single fault')}, each size that is typical counted."
                if self.enough is not None:
                    yield f"Nine tenths of what they see are caught by step {self.enough}."
            if {*self.at_hand} & {METER, SUPPLY}:
                yield f"Readings are right within {self.tolerance.words}."

    def besides_words(self) -> Iterator[str]:
        """What other instruments would see, in words."""
        more = [f"{one.more:,} with the {one.instrument}" for one in self.besides if one.more]
        if more:
            yield f"Of the rest could be seen: {listed(more)}."
        if self.reach is not None:
            yield (
                f"On boards and panels of more than {MOST_AMONG} places, plugs and switches more than {self.reach} "
                "places apart are not taken for each other."
            )
        if self.joined:
            yield (
                f"{plural(self.joined, 'gap')} in a common rail cannot be metered, since the common bus joins both "
                "sides: look at them."
            )

        if self.bare:
            yield (
                f"No step tries the gaps to track without power: {listed(self.bare)}. Put a beeper across each, on "
                "either rail: it must be silent."
            )

    def untold_lines(self) -> Iterator[str]:
        """What no test sees or tells apart, in words."""
        if self.each and self.unseen:
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


def known(at_hand: Collection[str]) -> None:
    """Raises CallError for what is no instrument."""
    for name in at_hand:
        if name not in INSTRUMENTS:
            raise CallError(
                f"there is no instrument {shown(name)}",
                did_you_mean(name, INSTRUMENTS) or "; ".join(f"{one}: {words}" for one, words in INSTRUMENTS.items()),
            )


def bench(
    study: Study,
    tolerance: Tolerance | None = None,
    *,
    at_hand: Collection[str] = AT_HAND,
    only: str | None = None,
    since: Study | None = None,
    each: bool = False,
    every: bool = False,
    times: int = 1,
    progress: Progress | None = None,
) -> BenchAnswer:
    """The fewest tests with what is at hand that see every fault that it can see; ``each``: that tell every fault from
    every other; ``every``: all that can be made.

    ``only`` narrows it to a group, ``since`` to what differs from an older layout; ``times`` asks for so many tests
    for each fault (or pair), where there are so many. Raises CallError for an unknown group or instrument, and for a
    layout that is too large for one sheet.
    """
    from blockcheck.analysis.bench.units import cut
    from blockcheck.answers.workshop.parts import SheetPart, joined

    known(at_hand)
    counted(study)
    own, within, names = Bench.of(study), tolerance or Tolerance(), _narrowed(study, only, since)
    wanted, alike = (at_hand, within, names, each, every, times), dict[object, Any]()
    units, parts, left = ((study, frozenset[str]()),) if each else tuple(cut(study)), list[SheetPart](), list[str]()
    for number, (one, rim) in enumerate(units):
        try:
            if progress is not None:
                progress("units", number, len(units))
            parts.append(
                SheetPart.of_unit(own if one is study else Bench(one, own.axle_ohm, alike), *wanted, progress, rim)
            )
        except OutOfTimeError:
            left = [name for unit, rim in units[number:] for name in unit.layout.blocks if name not in rim]
            break
    faults = {id_: words for part in parts for id_, words in part.faults.items()}
    kinds, besides = Counter[str](), Counter[str]()
    of = Counter[str]()
    for part in parts:
        of.update(part.of)
        kinds.update(part.seen)
        besides.update(part.besides)
    steps, whole = joined(parts), names is None and not left
    idle = untried(own, (one.names or () for one in steps if one.kind == TRIPS)) if whole else []
    return BenchAnswer(
        faults,
        study.layout.about.name,
        within,
        tuple(one for one in INSTRUMENTS if one in at_hand),
        each,
        own.axle_ohm,
        Setup(dead_setup(own, at_hand), live_setup(own, at_hand, idle)),
        steps,
        tracks=tuple(one for part in parts for one in part.tracks),
        kinds=tuple(Seen(kind, kinds[kind], count) for kind, count in of.items()),
        besides=tuple(Besides(one, besides[one]) for one in INSTRUMENTS if one not in at_hand),
        joined=sum(part.gaps for part in parts),
        bare=tuple(_bare(study, names)),
        unseen=tuple(one for part in parts for one in part.unseen),
        untold=tuple(Untold(*one) for part in parts for one in part.untold),
        pool=len({one for part in parts for one in part.pool}),
        only=only,
        changed=tuple(sorted(changed_names(since.layout, study.layout))) if since is not None else None,
        reach=REACH if _many(study) else None,
        unchecked=tuple(
            Unchecked("bench", block, wires_of(lacks)) for part in parts for block, lacks in part.lacking.items()
        ),
        left=tuple(left),
    )


def _bare(study: Study, names: Collection[str] | None) -> Iterator[str]:
    """The joints of track with power, about one of the names, and track without."""
    blocks = study.layout.blocks
    for joint in study.layout.joints:
        without = [one for one in joint.blocks if one in blocks and blocks[one].unpowered is not None]
        if len(without) == 1 and (names is None or {*names} & {*joint.blocks}):
            yield " and ".join(joint.blocks)


def _many(study: Study) -> bool:
    """Whether a board or a panel has more places than any two of which are taken for each other."""
    layout = study.layout
    used = {fed.board.name for fed in study.wiring.fed.values() if fed.board is not None}
    channels = (layout.board_types[layout.boards[name].type].channels for name in used)
    return max((*channels, len(layout.isolators)), default=0) > MOST_AMONG


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
