"""The page in hand: the answers of the other commands, as one file that answers again for any set of open switches."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property
from hashlib import sha256
from typing import TYPE_CHECKING

from attrs import evolve, field, frozen

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.isolation.minimal import Contact, MinimalWays, Ways
from blockcheck.analysis.power.probes import expected_current, expected_siemens, train_current, train_siemens, volts_of
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.checking.check import check, sum_of
from blockcheck.answers.checking.report import AcceptedRow, FindingRow, report_of
from blockcheck.answers.document import CAUTION
from blockcheck.answers.page.line import Lines
from blockcheck.answers.page.rows import (
    PageBar,
    PageBlock,
    PageContact,
    PageDistrict,
    PageState,
    PageSwitch,
    PageTerminal,
    PageTests,
    PageTrain,
    PageWay,
)
from blockcheck.answers.page.tests import page_tests
from blockcheck.answers.states import with_open
from blockcheck.answers.workshop.bench import AT_HAND, known
from blockcheck.circuit.across import across_siemens
from blockcheck.circuit.state import HELD, WORKING, Detection
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.words import capital
from blockcheck.model.interlocks import says
from blockcheck.model.operate import Operation, Placed, closed_position, open_position, train_length, vehicles
from blockcheck.model.select import select_isolators
from blockcheck.model.tables.selectors import selector_of
from blockcheck.model.wiring import Fed, Wiring

if TYPE_CHECKING:
    from blockcheck.analysis.bench.predict import Progress
    from blockcheck.answers.draw import Drawing

DIGITS = 16
"""Of the digest of a layout: enough to tell its versions apart."""


@frozen
class PageAnswer(Answer):
    """What the page in hand holds. ``digest`` tells one version of a layout from another."""

    command = "page"

    _of: Study = field(alias="of", repr=False, eq=False)
    layout: str = column("Name of the layout.")
    digest: str = column("Tells this version of the layout's files from others.")
    imperial: bool = column("Whether lengths are shown in feet and inches.")
    dcc: bool = column("Whether it is controlled by DCC, so that hold resistors may keep locomotives awake.")
    may_wake: bool = column(
        "Whether a hold resistor may keep a locomotive awake in some state; then that is asked live."
    )
    draws_held: bool = column("Whether one may draw something there, awake or asleep; then that is asked live.")
    pending: bool = column("Whether what trains read, what is found and the drawing are still being worked out.")
    caution: str = column("The usual caution.")
    contacts: tuple[PageContact, ...] = column("The contacts that the ways of the blocks name by number, from 0.")
    blocks: tuple[PageBlock, ...] = column("All blocks, in natural order.")
    switches: tuple[PageSwitch, ...] = column("What can be moved, in natural order.")
    bars: tuple[PageBar, ...] = column("What interlocks keep out.")
    states: tuple[PageState, ...] = column("As usual, then each scenario.")
    districts: tuple[PageDistrict, ...] = column("The districts, in natural order.")
    terminals: tuple[PageTerminal, ...] = column("The terminals that the ways of the current name by number, from 0.")
    joins: tuple[str, ...] = column("What may be between two of them, in words.")
    ways: tuple[PageWay, ...] = column("The way of the current to each block that has a feed of its own, and back.")
    tests: PageTests | None = column(
        "The test sheet, and what each single fault changes in it; null where there is none."
    )
    untested: str | None = column("Why there is no test sheet.")
    verdict: str = column("What check comes to, in words.")
    findings: tuple[FindingRow, ...] = column("What check finds, worst first.")
    unchecked: tuple[Unchecked, ...] = column("What was not checked, and what it lacks.")
    accepted: tuple[AcceptedRow, ...] = column("What the layout accepts, and why.")

    @property
    def boards(self) -> tuple[str, ...]:
        """The boards that have a block, in the order of the layout."""
        used = {one.channel.partition(".")[0] for one in self.blocks if one.channel is not None}
        return tuple(one for one in self._of.layout.boards if one in used)

    def drawing(self) -> Drawing:
        """The track drawn as it usually stands, as ``draw`` has it."""
        from blockcheck.answers.draw import drawing

        return drawing(self._of, show="districts", alone=True)


def page(
    study: Study,
    today: date,
    *,
    at_hand: Collection[str] = AT_HAND,
    sheet: bool = True,
    soon: bool = False,
    progress: Progress | None = None,
) -> PageAnswer:
    """The page of a layout, tested with what is at hand; ``today`` is what the dates of exceptions are held against.

    Without its ``sheet``, which takes longest, it says that this is being worked out. What is wanted ``soon`` is
    without all that takes the electrics and the rules, and says the same of that. Raises CallError for what is no
    instrument.
    """
    known(at_hand)
    maker, lines, checked = _Maker(study, soon), Lines(study), None if soon else check(study, today)
    report = None if checked is None else report_of(checked)
    ways = tuple(filter(lambda one: one.comes.terminals, map(lines.way, study.blocks)))
    layout = study.layout
    return PageAnswer(
        study,
        layout.about.name,
        digest(study),
        layout.about.units == "imperial",
        layout.about.control == "dcc",
        may_wake(study),
        may_wake(study) or any(one.asleep_a for one in layout.loads.values()),
        soon,
        CAUTION,
        tuple(PageContact(*one) for one in maker.contacts),
        tuple(maker.block(name) for name in study.wiring.fed),
        tuple(maker.switch(name) for name in maker.switches),
        tuple(
            PageBar(
                tuple(PageContact(*held) for held in one.holds),
                one.most,
                says(layout.interlocks[one.index]),
                all(selector_of(layout, control) is not None for control, _ in one.holds),
            )
            for one in study.wiring.bars
        ),
        tuple(map(maker.state, study.operations)),
        tuple(maker.districts()),
        tuple(lines.terminals),
        tuple(lines.joins),
        ways,
        *_tests(study, at_hand, sheet and not soon, progress),
        "What check finds is being worked out." if checked is None else capital(f"{sum_of(checked)}."),
        () if report is None else report.findings,
        () if report is None else report.unchecked,
        () if report is None else report.accepted,
    )


def _tests(
    study: Study, at_hand: Collection[str], sheet: bool, progress: Progress | None
) -> tuple[PageTests | None, str | None]:
    if not sheet:
        return None, "The test sheet is being worked out."
    try:
        return page_tests(study, at_hand, progress), None
    except CallError as error:
        return None, capital(f"{error}.")


def address(fed: Fed) -> int | None:
    """What a block's channel reports as."""
    if fed.board is None or fed.channel is None or fed.board.first_address is None:
        return None
    return int(fed.board.first_address) + fed.channel.number - 1


def digest(study: Study) -> str:
    """What tells a layout's files from those of another version."""
    told = sha256()
    for file in study.wiring.document.files:
        told.update(f"{file.source.name}\0{file.source.text}\0".encode())
    return told.hexdigest()[:DIGITS]


def may_wake(study: Study) -> bool:
    """Whether hold resistors may keep some locomotive awake in some state: all of them side by side, before nothing.

    Where not even that gives one the volts that it needs while it draws the least that it ever does, all sleep.
    """
    layout = study.layout
    holds = [one.hold_ohm for one in layout.isolators.values() if one.hold_ohm is not None]
    if not holds or layout.about.control != "dcc":
        return False
    ohms = 1 / sum(1 / one for one in holds) if all(holds) else 0.0
    volts = max((one.voltage_v for one in layout.boosters.values()), default=0.0)
    placed = [layout.loads[name] for train in layout.trains.values() for name in train.vehicles if name in layout.loads]
    for load in (*vehicles(study.wiring), *placed):
        if load.locomotive:
            drawn = [load.current_a(state) for state in ("idle", "running", "stalled")]
            least = min((one for one in drawn if one is not None), default=0.0)
            if load.idle_a is None or volts - least * ohms >= (layout.least_voltage_v or 0.0):
                return True
    return False


@frozen(eq=False, repr=False, slots=False)
class _Maker:
    study: Study
    soon: bool = False

    @cached_property
    def places(self) -> Mapping[str, tuple[str, ...]]:
        """Control -> where it stands in some state of the page: isolators, and what scenarios move."""
        found = dict[str, tuple[str, ...]]()
        for name, control in self.study.circuit.controls.items():
            stands = {one.positions.get(name, control.usual) for one in self.study.operations}
            if name in self.study.layout.isolators:
                cut = open_position(self.study.wiring, name)
                stands |= {closed_position(self.study.wiring, name)} | ({cut} if cut is not None else set())
            if len(stands) > 1:
                found[name] = tuple(one for one in control.positions if one in stands)
        return {name: found[name] for name in sorted(found, key=natural_key)}

    @cached_property
    def switches(self) -> tuple[str, ...]:
        """The isolators, what else is moved in some state, and what an interlock names."""
        own = {name for name in self.study.layout.isolators if name in self.study.circuit.controls}
        return tuple(sorted({*own, *self.places, *self.study.circuit.interlocked}, key=natural_key))

    @cached_property
    def ways(self) -> MinimalWays:
        return MinimalWays(self.study, self.places)

    @cached_property
    def contacts(self) -> Sequence[Contact]:
        return [(name, place) for name, places in self.places.items() for place in places]

    @cached_property
    def number(self) -> Mapping[Contact, int]:
        return {contact: number for number, contact in enumerate(self.contacts)}

    def numbered(self, ways: Ways) -> tuple[tuple[int, ...], ...] | None:
        return None if ways is None else tuple(tuple(sorted(self.number[one] for one in way)) for way in ways)

    @cached_property
    def kills(self) -> Mapping[str, frozenset[str]]:
        return Isolation(self.study).kills

    def block(self, name: str) -> PageBlock:
        wiring, fed = self.study.wiring, self.study.wiring.fed[name]
        feed = {one.name for one in wiring.in_feed(name)}
        known = name in self.study.circuit.detected
        ways = self.ways.of(name) if known else None
        return PageBlock(
            name,
            wiring.tracks.get(name),
            fed.block.group,
            fed.district,
            None if fed.channel is None else str(fed.channel),
            address(fed),
            None if fed.board is None else fed.board.at,
            fed.block.length_m,
            fed.block.kind == "throat",
            known,
            self.opens(name),
            tuple(sorted(feed, key=natural_key)),
            wiring.isolators_of[name],
            tuple(self.chooses(name)),
            across_siemens(wiring, name),
            *(((), (), (), ()) if ways is None else map(self.numbered, (ways.on, ways.trickle, ways.reads, ways.held))),
        )

    def opens(self, block: str) -> tuple[str, ...]:
        """What ``isolate`` of it alone opens; nothing where one of those has no position that cuts."""
        wiring, group = self.study.wiring, self.study.wiring.layout.blocks[block].group
        try:
            isolators = select_isolators(wiring, block if group is None else f"{group}:{block}")[0]
        except CallError:  # a name that no selection can say
            isolators = wiring.isolators_of[block]
        return tuple(one for one in isolators if open_position(wiring, one) is not None)

    def chooses(self, block: str) -> Iterator[str]:
        """As ``Feeding.chosen`` has it: those before its bank, or before itself where it has no detector."""
        for name, blocks in self.study.wiring.switched.items():
            changes = self.study.layout.isolators[name].contact == "changeover"
            if changes and self.study.wiring.bank_of(block) in map(self.study.wiring.bank_of, blocks):
                yield name

    def switch(self, name: str) -> PageSwitch:
        own, control = self.study.layout.isolators.get(name), self.study.circuit.controls[name]
        return PageSwitch(
            name,
            "points" if own is None else "changeover" if own.contact == "changeover" else "isolator",
            control.usual,
            None if own is None else open_position(self.study.wiring, name),
            None if own is None else closed_position(self.study.wiring, name),
            None if own is None else own.detection,
            None if own is None else own.hold_ohm,
            tuple(sorted(self.kills.get(name, ()), key=natural_key)),
            None if own is None else own.panel,
        )

    def state(self, operation: Operation) -> PageState:
        trains = {} if self.soon else with_open(self.study, operation, ()).trains
        return PageState(
            operation.scenario,
            dict(sorted(operation.positions.items())),
            tuple(
                self.train(operation, one, trains[one.train].reads if one.train in trains else None)
                for one in operation.trains
            ),
        )

    def train(self, operation: Operation, one: Placed, reads: str | None) -> PageTrain:
        layout, now = self.study.layout, self.study.now(operation.positions)
        train = layout.trains[one.train]
        known = one.block in now.circuit.detected and self.study.wiring.fed[one.block].channel is not None
        working = self.soon or not known or now.detection(one.block) == WORKING
        return PageTrain(
            one.train,
            one.block,
            one.state,
            train_length(layout, one.train)[0],
            train_current(self.study, train, one.state)[0],
            train_siemens(self.study, train),
            reads if working else self.moved(operation, one, closed_position, WORKING),
            self.moved(operation, one, open_position, HELD)
            if known and not self.soon and self.held(one.block)
            else None,
        )

    def held(self, block: str) -> bool:
        return any(self.study.layout.isolators[one].hold_ohm is not None for one in self.opens(block))

    def moved(
        self, operation: Operation, one: Placed, place: Callable[[Wiring, str], str | None], detection: Detection
    ) -> str | None:
        """What is read of a train with its own isolators moved alone; None where its detection is not so then."""
        wiring = self.study.wiring
        places = {name: str(place(wiring, name)) for name in self.opens(one.block)}
        positions = {**operation.positions, **places}
        if wiring.broken(positions) is not None or self.study.now(positions).detection(one.block) != detection:
            return None
        return with_open(self.study, evolve(operation, positions=positions), ()).trains[one.train].reads

    def districts(self) -> Iterator[PageDistrict]:
        layout, budget = self.study.layout, Budget.of(self.study, self.study.operations[0])
        for draw in budget.districts():
            booster = layout.boosters.get(layout.districts[draw.name].booster)
            volts = volts_of(self.study, draw.name)
            yield PageDistrict(
                draw.name,
                draw.limit_a,
                None if booster is None else booster.voltage_v,
                expected_current(self.study, draw.name)[0] + volts * expected_siemens(self.study, draw.name),
                budget.feeding.case_standing.get(draw.name, ()),
            )
