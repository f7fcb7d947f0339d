"""Where detection is meant to be held, the smallest vehicle still reads with margin while the isolator is open, and no
locomotive gets enough to wake.

Why: the point of a hold resistor is that a sleeping train still shows; one that is missing or too large shows nothing,
one that is too small leaves the locomotive half awake.

Mend: put a hold resistor across the contact, of a value between the two.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve, frozen

from blockcheck.analysis.case import Case
from blockcheck.analysis.electrics import Electrics, settled
from blockcheck.analysis.isolation import Isolation
from blockcheck.circuit.reach import Never
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.model.operate import open_position, vehicles
from blockcheck.model.quantities import Amperes
from blockcheck.rules._rule import Rule, amps, isolation_claim, listed
from blockcheck.rules._volts import apart, at_place, lacking, volts


@frozen(eq=False, repr=False)
class _Fault:
    """What is wrong with a block that should be held. Of several blocks the one with the least ``rank`` is named."""

    kind: str
    block: str
    rank: float
    message: str
    help: str
    measured: float | None = None
    limit: float | None = None
    unit: str | None = None


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each isolator by which nothing reaches the channels, too little does, or a locomotive would wake.

    The blocks of one isolator that fail alike have one cause, and one finding.
    """
    isolation = Isolation(case)
    for name, blocks in case.wiring.meant.items():
        isolator, cut = case.layout.isolators[name], open_position(case.wiring, name)
        if isolator.detection != "held" or cut is None:
            continue
        usually = case.operations[0]
        electrics = Electrics(case, evolve(usually, positions={**usually.positions, name: cut}))
        faults: dict[str, list[_Fault]] = {}
        for block in blocks:
            if block not in case.circuit.detected or isolation_claim(name, block) in case.mended:
                continue
            if case.wiring.fed[block].channel is None:
                continue
            if isinstance(isolation.trickles(name, block), Never):
                fault: _Fault | Unchecked | None = _silent(case, name, block)
            else:
                fault = _trickle(case, electrics, name, block)
            if isinstance(fault, Unchecked):
                yield fault
            elif fault is not None:
                faults.setdefault(fault.kind, []).append(fault)
        for alike in faults.values():
            yield _finding(case, name, alike)


def _silent(case: Case, name: str, block: str) -> _Fault:
    return _Fault(
        "silent",
        block,
        0.0,
        f"with {name} open, nothing in {block} can make channel {case.wiring.fed[block].channel} read, "
        "and detection is meant to be held",
        'put a resistor across the contact (hold = "10 kohm"), or write detection = "off"'
        if case.layout.isolators[name].contact == "on-off"
        else 'write detection = "off"; a changeover has no contact to put a resistor across',
    )


def _trickle(case: Case, electrics: Electrics, name: str, block: str) -> _Fault | Unchecked | None:
    """What the solved network says of a block that is held."""
    lacks = lacking(case).get(block)
    fed, layout = case.wiring.fed[block], case.layout
    assert fed.type is not None
    if lacks is not None:
        return Unchecked("detection-not-held", block, lacks)
    if electrics.smallest is None:
        return Unchecked("detection-not-held", block, ("loads.*.axle",))
    least = layout.least_voltage_v
    spot, limit = electrics.least_detected(block, held=True), layout.limits.detection_margin * fed.type.threshold_a
    if spot is not None and spot.value < limit:
        load, margin = electrics.smallest, layout.limits.detection_margin
        draws, wanted = apart(spot.value, limit, Amperes)
        asleep = ", asleep," if load.locomotive and least is not None else ""
        message = (
            f"with {name} open, one {load.name}{asleep} draws {draws} "
            f"{at_place(block, spot.at_m, case)}; channel "
            f"{fed.channel} reads from {amps(fed.type.threshold_a)} and should see {wanted}, {margin:g} times that"
        )
        help_ = "take a smaller hold resistor, axles of less resistance, or a more sensitive board"
        if not load.axle_ohm:
            help_ = f"give {load.name} an axle with a resistor, or write what it draws asleep"
        return _Fault("weak", block, settled(spot.value / limit), message, help_, spot.value, limit, "A")
    for load in vehicles(case.wiring):
        if not load.locomotive or least is None:
            continue
        if load.idle_a is None:
            return Unchecked("detection-not-held", block, (f"loads.{load.name}.idle",))
        seen = electrics.highest_voltage(block, load.idle_a)
        if seen >= least:
            message = (
                f"with {name} open, {load.name} in {block} still gets {volts(seen)} while it draws "
                f"{amps(load.idle_a)}, and is awake from {volts(least)}"
            )
            return _Fault("awake", block, -settled(seen), message, "take a larger hold resistor", seen, least, "V")
    return None


_ALSO = {"silent": "that goes for {}", "weak": "it is too little in {}", "awake": "it is awake in {}"}


def _finding(case: Case, name: str, alike: list[_Fault]) -> Finding:
    key = "hold" if case.layout.isolators[name].hold_ohm is not None else "detection"
    worst = min(alike, key=lambda fault: fault.rank)
    also = tuple(fault.block for fault in alike if fault is not worst)
    return Finding(
        worst.message + (f"; {_ALSO[worst.kind].format(listed(also))} too" if also else ""),
        subject=worst.block,
        at=("isolators", name, key),
        others=(name, *also),
        related=(Label(("blocks", worst.block, "channel"), f"{worst.block} has its channel here"),),
        measured=worst.measured,
        limit=worst.limit,
        unit=worst.unit,
        state={name: str(open_position(case.wiring, name))},
        help=worst.help,
        causes=frozenset(isolation_claim(name, fault.block) for fault in alike),
    )


RULE = Rule(
    __doc__ or "",
    "detection-not-held",
    "isolation",
    Severity.ERROR,
    check,
    needs=("isolators.*.hold", "loads.*.axle", "harnesses.*", "blocks.*.length"),
)
