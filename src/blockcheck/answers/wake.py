"""In which order to switch tracks on, so that no breaker locks out."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from blockcheck.analysis.power.bounds import unbuilt
from blockcheck.analysis.power.budgets import Budget, silent_districts
from blockcheck.analysis.power.defaults import Default, of_wake
from blockcheck.analysis.power.electrics import settled
from blockcheck.analysis.power.inrush import block_charge
from blockcheck.analysis.power.limits import behind_breaker, breaker
from blockcheck.analysis.power.waking import Breaker, Sleeper, wake
from blockcheck.analysis.power.whatif import after_opening
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.document import CAUTION, Cell, Column, Document, Says, Table
from blockcheck.answers.lacking import taken, unchecked_table
from blockcheck.core.columns import column
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.words import listed, plural
from blockcheck.model.keys import Number
from blockcheck.model.quantities import DIMENSIONS, Amperes, Seconds, show


@frozen
class Stage:
    """Isolators to close together; how long that keeps the breaker over its trip, at most, and the current after it.

    An empty group is what wakes with the district itself, since no isolator holds it. ``inrush_s`` is None where the
    charge is never served.
    """

    close: tuple[str, ...] = column("Isolators to close; none where the booster is switched on.")
    inrush_s: float | None = column(
        "Bound on the time above the trip current; null where the charge is never served.", title="inrush, at most"
    )
    steady_a: float = column("Current that flows through the breaker after it.", title="then flows")


@frozen
class DistrictWaking:
    """The stages of one district; ``least`` is how many there must be at least; ``refused`` never wake in time.

    ``beside`` are the districts behind the same breaker: taken as awake, so that the stages hold in any order of them.
    """

    district: str = column("District.")
    trip_a: float = column("Trip current of its breaker.")
    delay_s: float = column("How long its breaker bears more than its trip current.")
    stages: tuple[Stage, ...] = column("Stages, in order.")
    least: Number = column(
        "A count of stages below which it cannot be done; where there are no more, they are the fewest."
    )
    refused: tuple[str, ...] = column(
        "Isolators that the breaker does not bear, even by themselves or on top of the rest."
    )
    beside: tuple[str, ...] = column(
        "Districts behind the same breaker, counted as awake, so that the stages hold in any order of them.", default=()
    )

    @property
    def title(self) -> str:
        """What stands over its stages."""
        trip = show(self.trip_a, DIMENSIONS[Amperes])
        return f"District {self.district}: {plural(len(self.stages), 'stage')}, its breaker trips at {trip}"

    @property
    def notes(self) -> Iterator[str]:
        """What else is to be known of its stages."""
        if self.beside:
            verb = "shares" if len(self.beside) == 1 else "share"
            yield f"{listed(self.beside)}, which {verb} its breaker, counted as awake."
        if self.refused:
            left = listed(self.refused)
            yield f"Left off, since the breaker does not bear it alone or on top of the others: {left}."
        if len(self.stages) > self.least:
            yield f"There may be a way with fewer stages, but not fewer than {self.least}."


@frozen
class WakeAnswer(Answer):
    """The stages of every district that has something to wake."""

    command = "wake"

    layout: str
    districts: tuple[DistrictWaking, ...] = column("Districts with something to wake.")
    defaults: tuple[Default, ...] = column("Data that were left out and decided a figure of this answer.")
    unchecked: tuple[Unchecked, ...] = column("What was not checked, and what it lacks.")

    def document(self) -> Document:
        """For each district its stages, with what each takes at most beside what the breaker bears."""
        rows = [row for one in self.districts for row in _rows(one)]
        nothing = not self.districts and not self.unchecked
        return Document(
            "Waking in stages",
            self.layout,
            (
                Says(("Nothing is awake that would have to be woken.",) if nothing else ()),
                *(Table(one.title, _COLUMNS, map(_people, _rows(one)), one.notes) for one in self.districts),
                Says((_BOUNDS,) if self.districts else (), "note"),
                taken(self.defaults),
                unchecked_table(self.unchecked, "Not computed"),
                Says((CAUTION,), "caution"),
            ),
            (Table("Stages", _COLUMNS, rows),),
        )


_BOUNDS = "The times are bounds: all that the breaker lets through above the steady current charges."
_COLUMNS = (
    Column("district", only="programs"),
    Column("stage"),
    Column("close"),
    Column("inrush, at most", "inrush", Seconds),
    Column("breaker bears", "delay", Seconds),
    Column("then flows", "steady", Amperes),
)


def _rows(one: DistrictWaking) -> list[tuple[Cell, ...]]:
    return [
        (one.district, number, ", ".join(stage.close), stage.inrush_s, one.delay_s, stage.steady_a)
        for number, stage in enumerate(one.stages, 1)
    ]


def _people(row: tuple[Cell, ...]) -> tuple[Cell, ...]:
    """A row as people read it: an inrush that is never served says so."""
    district, number, close, inrush, *rest = row
    return (
        *(district, number, close or "booster on (what no isolator puts to sleep)"),
        *("never served" if inrush is None else inrush, *rest),
    )


def waking(study: Study) -> WakeAnswer:
    """Work out the stages, from everything asleep that can be, to the layout as it usually stands."""
    found, unchecked = list[DistrictWaking](), list[Unchecked]()
    budget = Budget.of(study, study.operations[0])
    asleep = _asleep(study, budget)
    unchecked += [Unchecked("wake", block, needs) for block, needs in unbuilt(study).items()]
    unchecked += [
        Unchecked("wake", name, (f"districts.{name}.expects or a train",)) for name in silent_districts(study)
    ]
    for name in sorted(study.layout.districts, key=natural_key):
        answer = _district(study, budget, asleep, name)
        if isinstance(answer, Unchecked):
            unchecked.append(answer)
        elif answer is not None:
            found.append(answer)
    return WakeAnswer(
        study.layout.about.name, tuple(found), of_wake(study, [one.district for one in found]), tuple(unchecked)
    )


def _asleep(study: Study, budget: Budget) -> Budget:
    """The budget with every isolator open that holds something: what a hold resistor keeps awake draws on."""
    fed = [study.wiring.fed[block].isolator for block in budget.feeding.supply]
    names = {one.name for one in fed if one is not None and one.hold_ohm is not None}
    return Budget.of(study, after_opening(study, budget.operation, sorted(names))) if names else budget


def _district(study: Study, budget: Budget, asleep: Budget, name: str) -> DistrictWaking | Unchecked | None:
    trip, delay = breaker(study, name)
    groups: dict[str, list[float]] = {}  # isolator -> coulombs and amperes; "" for what no isolator puts to sleep
    needs: dict[str, None] = {}
    beside = tuple(other for other in behind_breaker(study, name) if other != name)
    beside_a, at_once = (
        0.0,
        [0.0, 0.0],
    )  # of those beside it: all that draws, and what no isolator stops
    for block, home in budget.feeding.reached.items():
        if home != name and home not in beside:
            continue
        coulombs, lacks = block_charge(study, budget, block)
        amperes, missing = budget.blocks.get(block, (0.0, ()))
        isolator = study.wiring.fed[block].isolator if block in budget.feeding.supply else None
        lit = block in asleep.feeding.supply  # all the same
        kept, unknown = (0.0, ()) if lit else asleep.blocks.get(block, (0.0, ()))
        needs.update(dict.fromkeys((*lacks, *missing, *unknown)))
        if home != name:
            beside_a += amperes
            if isolator is None or kept:
                at_once[0] += coulombs
                at_once[1] += amperes if isolator is None else kept
        elif coulombs or amperes or lacks or missing:
            sums = groups.setdefault(isolator.name if isolator is not None else "", [0.0, 0.0])
            sums[0] += coulombs
            sums[1] += amperes - kept
            if kept:  # awake from the start, through a hold resistor
                sums = groups.setdefault("", [0.0, 0.0])
                sums[0] += coulombs if asleep.wakes(block) else 0.0
                sums[1] += kept
    if not groups:
        return None
    needs.update(dict.fromkeys([f"districts.{name}.trip"] if trip is None else []))
    needs.update(dict.fromkeys([f"districts.{name}.delay"] if delay is None else []))
    if needs or trip is None or delay is None:
        return Unchecked("wake", name, tuple(needs))
    limit = Breaker(trip, delay)
    always = groups.pop("", [0.0, 0.0])
    stages: list[Stage] = []
    if any(always):
        first = Sleeper("", always[0] + at_once[0], always[1] + at_once[1])
        stages.append(Stage((), limit.seconds([first], 0.0), settled(first.amperes)))
    order = sorted(groups, key=natural_key)
    plan = wake([Sleeper(isolator, *groups[isolator]) for isolator in order], limit, always[1] + beside_a)
    on = always[1] + beside_a
    for group in plan.stages:
        seconds = limit.seconds(group, on)
        on += sum(one.amperes for one in group)
        stages.append(Stage(tuple(sorted((one.isolator for one in group), key=natural_key)), seconds, settled(on)))
    refused = tuple(sorted((one.isolator for one in plan.refused), key=natural_key))
    return DistrictWaking(
        name,
        trip,
        delay,
        tuple(stages),
        Number(plan.least + (1 if any(always) else 0)),
        refused,
        beside,
    )
