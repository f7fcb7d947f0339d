"""Volts, short-circuit current and detection at the worst place of every block."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import field, frozen

from blockcheck.analysis.power.bounds import bounded, unbuilt
from blockcheck.analysis.power.budgets import Budget, silent_districts
from blockcheck.analysis.power.defaults import Default, of_power
from blockcheck.analysis.power.detection import least_detected
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.false_occupancy import empty_current
from blockcheck.analysis.power.limits import breaker, least_voltage
from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.core.findings import Unchecked


@frozen
class PowerRow:
    """One block. Volts, amperes, and metres from the near end; None where a datum is missing or it has no power.

    ``power`` is on, off or trickle, as the layout stands; None for a block that its names do not join to anything.
    ``bound`` marks values that are worse than the real ones may be, since a neighbour was left out for want of data.
    """

    block: str
    district: str | None
    power: str | None
    voltage_v: float | None
    voltage_at_m: float | None
    voltage_limit_v: float | None
    short_a: float | None
    short_at_m: float | None
    trip_a: float | None
    detection_a: float | None
    detection_at_m: float | None
    detection_vehicle: str | None
    threshold_a: float | None
    false_a: float | None
    bound: bool


@frozen
class PowerAnswer(Answer):
    """Every block at its worst place, as the layout usually stands, or in a scenario."""

    command = "power"

    layout: str
    imperial: bool
    probe: str | None
    probe_a: float | None
    rows: tuple[PowerRow, ...]
    unchecked: tuple[Unchecked, ...]
    asleep: int
    converged: bool
    defaults: tuple[Default, ...]
    _electrics: Electrics = field(alias="electrics", repr=False, eq=False)

    def netlist(self) -> str:
        """The network that was solved, loads included, as a deck for ngspice: check us with it."""
        from blockcheck.solver.netlist import netlist

        return netlist(self._electrics.loaded_network, self._electrics.loaded, self.layout)


def power(study: Study) -> PowerAnswer:
    """The worst place of every block, as the layout usually stands."""
    electrics = Electrics.of(study, study.operations[0])
    bound = study.always(bounded, study.operations[0])
    rows = tuple(_row(study, electrics, block, block in bound) for block in study.wiring.fed)
    probe = electrics.probe
    return PowerAnswer(
        study.layout.about.name,
        study.layout.about.units == "imperial",
        probe.name if probe else None,
        probe.amperes if probe else None,
        rows,
        tuple(dict.fromkeys(_unchecked(study, electrics))),
        len(electrics.loaded.asleep),
        electrics.loaded.converged and electrics.unloaded.converged,
        of_power(study, electrics),
        electrics,
    )


def _unchecked(study: Study, electrics: Electrics) -> Iterator[Unchecked]:
    """What is missing: for a block's wires, for the load in a district, and for one of the quantities of a block."""
    for block, needs in electrics.lacking.items():
        yield Unchecked("power", block, needs)
    for block, needs in unbuilt(study).items():
        yield Unchecked("power", block, needs)
    for name in silent_districts(study):
        yield Unchecked("the rest of the load", name, (f"districts.{name}.expects or a train",))
    for draw in Budget.of(study, study.operations[0]).districts():
        if draw.needs:
            yield Unchecked("the rest of the load", draw.name, draw.needs)
    for block in electrics.grid.tracks:
        home, fed = electrics.feeding.supply.get(block), study.wiring.fed[block]
        if home is None:
            continue
        if electrics.probe is None and fed.block.kind != "throat":
            yield Unchecked("volts", block, ("loads.*.running",))
        if breaker(study, home)[0] is None:
            yield Unchecked("trip", block, (f"districts.{home}.trip",))
        if fed.channel is not None:
            if electrics.smallest is None and fed.block.kind != "throat":
                yield Unchecked("detection", block, ("loads.*.axle",))
            empty = empty_current(study, block, home)
            if empty.needs:
                yield Unchecked("empty", block, empty.needs)


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
        fed.type.threshold_a if fed.type is not None and fed.channel is not None else None,
        None if empty is None or empty.needs else empty.amperes,
        bound,
    )
