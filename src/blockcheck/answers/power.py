"""Volts, short-circuit current and detection at the worst place of every block."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from attrs import evolve, field, frozen

from blockcheck.analysis.budgets.bounds import bounded, unbuilt
from blockcheck.analysis.budgets.budgets import Budget, silent_districts
from blockcheck.analysis.power.defaults import Default, of_power
from blockcheck.analysis.power.detection import least_detected
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.false_occupancy import empty_current
from blockcheck.analysis.power.limits import breaker, least_voltage
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Document, Says
from blockcheck.answers.lacking import taken, unchecked_table
from blockcheck.circuit.state import Power
from blockcheck.core.columns import column
from blockcheck.core.findings import Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import on_one_line
from blockcheck.core.words import listed, plural
from blockcheck.model.datum import AXLE, RUNNING, datum, load_of
from blockcheck.model.keys import Number
from blockcheck.model.quantities import DIMENSIONS, Amperes, Volts, show

_NEAR = "near end"
_WORST, _USUAL = "The worst place of every block", "as usual"


@frozen
class Probe:
    """What stands at the worst place of every block, and what it draws."""

    name: str = column("A train or a load.")
    current_a: float = column("What it draws.")


@frozen
class PowerRow:
    """One block. Volts, amperes, and metres from the near end; None where a datum is missing or it has no power.

    ``power`` is on, off or trickle, in the state asked for; None for a block that its names do not join to anything.
    ``bound`` marks values that are worse than the real ones may be, since a neighbour was left out for want of data.
    """

    block: str = column("Block.", always=True)
    district: str | None = column("The district that feeds it.", only="programs")
    power: Power | None = column(
        "Its power in the state asked for; null where its names join it to nothing.", only="programs"
    )
    voltage_v: float | None = column("Lowest voltage that the heaviest runner sees in it.", title="volts")
    voltage_at_m: float | None = column("Where it is lowest, from the near end.", title="at", zero=_NEAR, spare=3)
    voltage_limit_v: float | None = column("Least voltage allowed.", title="least", spare=1)
    short_a: float | None = column("Least current of a short in it.", title="short", key="short_current")
    short_at_m: float | None = column("Where it is least, from the near end.", title="at", zero=_NEAR, spare=3)
    trip_a: float | None = column("Trip current of its breaker.")
    detection_a: float | None = column(
        "Least current that the smallest vehicle draws in it.", title="smallest", key="detection_current"
    )
    detection_at_m: float | None = column("Where it draws least, from the near end.", only="programs")
    detection_vehicle: str | None = column("The smallest vehicle.", title="vehicle", only="programs")
    threshold_a: float | None = column("Least current that reads occupied.", title="reads from")
    false_a: float | None = column(
        "Bound on the current of the empty block.", title="empty", key="false_current", spare=2
    )
    bound: bool = column("Whether a neighbour was left out for want of data, so that the real values are no worse.")


@frozen
class PowerAnswer(Answer):
    """Every block at its worst place, as the layout usually stands, or in a scenario."""

    command = "power"

    layout: str
    imperial: bool
    when: str
    _electrics: Electrics = field(alias="electrics", repr=False, eq=False)
    scenario: str | None = column("The scenario that it is in; null for the usual state.")
    opened: tuple[str, ...] = column("The isolators that were opened on top of it.")
    probe: Probe | None = column("What stands at the worst place of every block; null where no data tell one.")
    rows: tuple[PowerRow, ...] = column("All blocks.")
    asleep: Number = column("How many loads sleep for want of voltage.")
    converged: bool = column("Whether the currents settled; where not, the figures are a rough guide.", key="settled")
    defaults: tuple[Default, ...] = column("Data that were left out and decided a figure of this answer.")
    unchecked: tuple[Unchecked, ...] = column("What was not checked, and what it lacks.")

    def netlist(self) -> str:
        """The network that was solved, loads included, as a deck for ngspice: check us with it."""
        from blockcheck.solver.netlist import netlist

        return netlist(self._electrics.loaded_network, self._electrics.loaded, on_one_line(self.layout))

    def document(self) -> Document:
        """A table by block of what is worst in it, and where; then what could not be computed."""
        worst = _WORST if self.when == _USUAL else f"{_WORST}, {self.when}"
        return Document(
            "Volts, shorts and detection",
            self.layout,
            (
                evolve(table(worst, PowerRow, self.rows, self._notes(), imperial=self.imperial), ranges=True),
                taken(self.defaults),
                unchecked_table(self.unchecked, "Not computed"),
                Says((CAUTION,), "caution"),
            ),
            verdict=tuple(self._verdict()),
            imperial=self.imperial,
        )

    def _verdict(self) -> Iterator[str]:
        """Whether every figure that is known is as it should be, and the least good of each kind."""
        shares = [[one for one in own if one is not None] for own in self._shares()]
        tightest = [min(own, key=lambda one: one[0]) for own in shares if own]
        bad = dict.fromkeys(block for own in shares for share, block, _ in own if settled(share) < 1)
        when = "" if self.when == _USUAL else f"{self.when}, "
        if not tightest:
            yield "no block has the data from which volts, shorts or detection follow."
        elif bad:
            yield (
                f"{when}{len(bad)} of {plural(len(self.rows), 'block')} {'does' if len(bad) == 1 else 'do'} not hold: "
                + (f"{listed(tuple(bad), 5)}. Worst: {'; '.join(told for _, _, told in tightest)}.")
            )
        else:
            known = " for all that is known" if self.unchecked else ""
            yield f"{when}all blocks hold{known}. Tightest: {'; '.join(told for _, _, told in tightest)}."

    def _shares(self) -> Iterator[list[tuple[float, str, str] | None]]:
        """For each kind of figure: what it is of what it should be, its block, and both in words."""
        limits, seen = self._electrics.study.layout.limits, self._electrics.study.layout.limits.detection_margin
        yield [_share(row.block, "", row.voltage_v, row.voltage_limit_v, Volts) for row in self.rows]
        yield [
            _share(row.block, "a short of ", row.short_a, row.trip_a, Amperes, limits.trip_margin) for row in self.rows
        ]
        yield [_share(row.block, "a vehicle of ", row.detection_a, row.threshold_a, Amperes, seen) for row in self.rows]
        yield [_share(row.block, "empty ", row.false_a, row.threshold_a, Amperes, 1 / seen, True) for row in self.rows]

    def _notes(self) -> Iterator[str]:
        """What the columns mean that are shown, and what else is to be known about the values."""
        rows = self.rows
        if any(row.voltage_v is not None for row in rows) and self.probe is not None:
            amps = show(self.probe.current_a, DIMENSIONS[Amperes])
            yield f"volts: what {self.probe.name} gets, drawing {amps}, with the rest of the load on."
        if any(row.short_a is not None for row in rows):
            yield (
                "short: the least that the wires would let flow through a short anywhere in the block, whatever the "
                "booster delivers: it is to be enough to trip. Places count from the near end."
            )
        if any(row.detection_a is not None for row in rows):
            smallest = next(row.detection_vehicle for row in rows if row.detection_vehicle is not None)
            yield f"smallest: what {smallest}, the smallest vehicle, draws at least."
        if any(row.false_a is not None for row in rows):
            yield "empty: the most that cable, roadbed and what lies across draw with nothing in the block (a bound)."
        yield from self._without_power()
        if any(row.bound for row in rows):
            yield "bound: a neighbour lacks data and was left out; the real values are no worse."
        if self.asleep:
            yield f"{plural(self.asleep, 'load')} asleep for want of voltage."
        if not self.converged:
            yield "The currents did not settle: take these values as a rough guide only."

    def _without_power(self) -> Iterator[str]:
        """Why rows are empty that lack no datum: nothing reaches them as the layout stands."""
        when = "as the layout usually stands" if self.when == _USUAL else self.when
        lacking = {one.subject for one in self.unchecked}
        for power, words in (("off", "no power"), ("trickle", "a trickle through a hold resistor only")):
            names = [row.block for row in self.rows if row.power == power and row.block not in lacking]
            if names:
                have = "has" if len(names) == 1 else "have"
                yield f"{listed(names)} {have} {words} {when}, and no figures here."


def _share(
    block: str, what: str, value: float | None, limit: float | None, kind: Any, margin: float = 1.0, most: bool = False
) -> tuple[float, str, str] | None:
    """What a figure is of its limit, margin included; of one that may be so much at ``most``, the other way round."""
    if not value or not limit:
        return None
    limit, dimension = limit * margin, DIMENSIONS[kind]
    share = limit / value if most else value / limit
    return share, block, f"{block}, {what}{show(value, dimension)} of {'at most ' * most}{show(limit, dimension)}"


def power(study: Study, scenario: str | None = None, opened: str | None = None) -> PowerAnswer:
    """The worst place of every block, as the layout usually stands, or as it is asked for.

    Raises CallError for a scenario or a selection that the layout does not have.
    """
    operation = study.asked(scenario, opened)
    electrics = Electrics.of(study, operation)
    bound = study.standing(bounded, operation)
    rows = tuple(_row(study, electrics, block, block in bound) for block in study.wiring.fed)
    probe = electrics.probe
    return PowerAnswer(
        study.layout.about.name,
        study.layout.about.units == "imperial",
        operation.when,
        electrics,
        scenario,
        operation.opened,
        Probe(probe.name, probe.amperes) if probe else None,
        rows,
        Number(len(electrics.loaded.asleep)),
        electrics.loaded.converged and electrics.unloaded.converged,
        of_power(study, electrics),
        tuple(dict.fromkeys(_unchecked(study, electrics))),
    )


def _unchecked(study: Study, electrics: Electrics) -> Iterator[Unchecked]:
    """What is missing: for a block's wires, for the load in a district, and for one of the quantities of a block."""
    for block, needs in electrics.lacking.items():
        yield Unchecked("power", block, needs)
    for block, needs in unbuilt(study).items():
        yield Unchecked("power", block, needs)
    for name in silent_districts(study):
        yield Unchecked("the rest of the load", name, (load_of(name),))
    for draw in Budget.of(study, electrics.operation).districts():
        if draw.needs:
            yield Unchecked("the rest of the load", draw.name, draw.needs)
    for block in electrics.grid.tracks:
        home, fed = electrics.feeding.supply.get(block), study.wiring.fed[block]
        if home is None:
            continue
        if electrics.probe is None and fed.block.kind != "throat":
            yield Unchecked("volts", block, (RUNNING,))
        if electrics.live(block) and electrics.shorted(block):
            yield Unchecked("short", block, tuple(datum("turnouts", name, "frog_gaps") for name in _frogs(study)))
        if breaker(study, home)[0] is None:
            yield Unchecked("trip", block, (datum("districts", home, "trip"),))
        if fed.channel is not None:
            if electrics.smallest is None and fed.block.kind != "throat":
                yield Unchecked("detection", block, (AXLE,))
            empty = empty_current(study, block, home)
            if empty.needs:
                yield Unchecked("empty", block, empty.needs)


def _frogs(study: Study) -> list[str]:
    """The turnouts whose frogs are not cut from the rails beyond."""
    return sorted({str(path[1]) for path in study.circuit.frog_shorts - study.mended}, key=natural_key)


def _row(study: Study, electrics: Electrics, block: str, bound: bool) -> PowerRow:
    fed = study.wiring.fed[block]
    stands = fed.block.kind != "throat"
    volts = electrics.lowest_voltage(block) if stands else None
    short = electrics.least_short(block)
    seen = least_detected(electrics, block) if stands and fed.channel is not None else None
    district = electrics.feeding.supply.get(block)
    empty = empty_current(study, block, district or fed.district) if fed.channel and fed.district else None
    return PowerRow(
        block,
        district or fed.district,
        electrics.feeding.now.power(block) if block in study.circuit.detected else None,
        settled(volts.value) if volts else None,
        settled(volts.at_m) if volts else None,
        least_voltage(study, district) if volts and district else None,
        settled(short.value) if short else None,
        settled(short.at_m) if short else None,
        breaker(study, district)[0] if district else None,
        settled(seen.value) if seen else None,
        settled(seen.at_m) if seen else None,
        electrics.smallest.name if seen and electrics.smallest else None,
        fed.threshold_a if fed.type is not None and fed.channel is not None else None,
        None if empty is None or empty.needs else empty.amperes,
        bound,
    )
