"""Where detection is meant to be held, the smallest vehicle still reads with margin while the isolator is open, and no
locomotive gets enough to wake.

Why: the point of a hold resistor is that a sleeping train still shows; one that is missing or too large shows nothing,
one that is too small leaves the locomotive half awake. Where the vehicle reads, and the margin alone is missing, it is
a warning.

Mend: put a hold resistor across the contact, of a value between the two.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve

from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.power.detection import least_detected
from blockcheck.analysis.power.electrics import Electrics, settled
from blockcheck.analysis.power.hold import Hold, hold_of
from blockcheck.analysis.study import Study
from blockcheck.circuit.allowed import NOT_DECIDED, nearest
from blockcheck.circuit.reach import Never
from blockcheck.core.findings import UNDECIDED, Finding, Label, Rewrite, Severity
from blockcheck.model.datum import AXLE, datum
from blockcheck.model.operate import open_position, vehicles
from blockcheck.model.quantities import DIMENSIONS, Amperes, Ohms, show
from blockcheck.rules._claims import Isolates
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, amps
from blockcheck.rules._volts import apart, at_place, lacking, marginal, volts

_NONE_FITS = "no resistor of the E12 series lets the smallest vehicle read and every locomotive sleep"


def check(study: Study) -> Said:
    """A finding where nothing reaches the channel, where too little does, and where a locomotive would wake.

    The blocks of one isolator that fail alike have one cause.
    """
    isolation = Isolation(study)
    for name, blocks in study.wiring.meant.items():
        isolator, cut = study.layout.isolators[name], open_position(study.wiring, name)
        if isolator.detection != "held" or cut is None:
            continue
        usually = study.operations[0]
        beside = nearest(study.circuit, {name: cut})
        if beside == NOT_DECIDED:
            yield Lacks(name, UNDECIDED)
            continue
        if beside is None:  # no state has it open
            continue
        electrics = Electrics(study, evolve(usually, positions={**usually.positions, **beside, name: cut}))
        for block in blocks:
            if block not in study.circuit.detected or study.wiring.fed[block].channel is None:
                continue
            yield Judged(block)
            if Isolates(name, block) in study.claims:
                continue
            if isinstance(isolation.trickles(name, block), Never):
                yield _silent(study, name, block)
            else:
                yield from _trickle(study, electrics, name, block)


def _silent(study: Study, name: str, block: str) -> Finding:
    return _finding(
        study,
        name,
        block,
        f"with {name} open, nothing in {block} can make channel {study.wiring.fed[block].channel} read, "
        "and detection is meant to be held",
        _put_in(study, name)
        if study.layout.isolators[name].contact == "on-off"
        else 'write detection = "off"; a changeover has no contact to put a resistor across',
        group=(name, "silent"),
        edits=(Rewrite(("isolators", name, "detection"), '"off"'),)
        if study.layout.isolators[name].contact != "on-off"
        else (),
    )


def _preferred(study: Study, name: str) -> tuple[Hold | None, str | None]:
    """What is known of the resistor that an isolator should have, and one that does, as it is written."""
    hold = hold_of(study, name, study.wiring.meant[name])
    ohms = hold.preferred_ohm if hold is not None else None
    return hold, f'hold = "{show(ohms, DIMENSIONS[Ohms])}"' if ohms is not None else None


def _put_in(study: Study, name: str) -> str:
    hold, written = _preferred(study, name)
    if hold is not None and written is None:
        return f'write detection = "off": {_NONE_FITS}'
    value = f" ({written})" if written is not None else ""
    return f'put a resistor across the contact{value}, or write detection = "off"'


def _instead(study: Study, name: str, than: str) -> str:
    """Another resistor in place of one that is too large or too small, or what helps where none does."""
    hold, written = _preferred(study, name)
    if hold is not None and written is None:
        return f"take axles of less resistance or a more sensitive board: {_NONE_FITS}"
    return f"take a {than} hold resistor" + (f": {written}" if written is not None else "")


def _trickle(study: Study, electrics: Electrics, name: str, block: str) -> Iterator[Finding | Lacks]:
    """What the solved network says of a block that is held."""
    lacks = lacking(study).get(block)
    fed, layout = study.wiring.fed[block], study.layout
    assert fed.type is not None
    if lacks is not None:
        yield Lacks(block, lacks)
        return
    if electrics.smallest is None:
        yield Lacks(block, (AXLE,))
        return
    least = layout.least_voltage_v
    spot, limit = least_detected(electrics, block, held=True), layout.limits.detection_margin * fed.threshold_a
    if spot is not None and spot.value < limit:
        load, margin = electrics.smallest, layout.limits.detection_margin
        own = marginal(settled(spot.value) >= fed.threshold_a)
        draws, wanted = apart(spot.value, limit, Amperes)
        asleep = ", asleep," if load.locomotive and least is not None else ""
        message = (
            f"with {name} open, one {load.name}{asleep} draws {draws} "
            f"{at_place(block, spot.at_m, study)}; channel "
            f"{fed.channel} reads from {amps(fed.threshold_a)} and should see {wanted}, {margin:g} times that"
        )
        help_ = _instead(study, name, "smaller")
        if not load.axle_ohm:
            help_ = f"give {load.name} an axle with a resistor, or write what it draws asleep"
        yield _finding(
            study,
            name,
            block,
            message,
            help_,
            (spot.value, limit, "A"),
            (name, "weak", own),
            margin=spot.value / limit,
            own=own,
        )
        if own is None:
            return
    for load in vehicles(study.wiring):
        if not load.locomotive or least is None:
            continue
        if load.idle_a is None:
            yield Lacks(block, (datum("loads", load.name, "idle"),))
            continue
        seen = electrics.highest_voltage(block, load.idle_a)
        if seen >= least:
            message = (
                f"with {name} open, {load.name} in {block} still gets {volts(seen)} while it draws "
                f"{amps(load.idle_a)}, and is awake from {volts(least)}"
            )
            yield _finding(
                study,
                name,
                block,
                message,
                _instead(study, name, "larger"),
                (seen, least, "V"),
                (name, "awake"),
                margin=-seen,
            )
            return


def _finding(
    study: Study,
    name: str,
    block: str,
    message: str,
    help_: str,
    value: tuple[float, float, str] | tuple[None, None, None] = (None, None, None),
    group: object = None,
    margin: float = 0.0,
    edits: tuple[Rewrite, ...] = (),
    own: Severity | None = None,
) -> Finding:
    key = "hold" if study.layout.isolators[name].hold_ohm is not None else "detection"
    measured, limit, unit = value
    return Finding(
        message,
        subject=block,
        at=("isolators", name, key),
        others=(name,),
        related=(Label(("blocks", block, "channel"), f"{block} has its channel here"),),
        measured=measured,
        limit=limit,
        unit=unit,
        state={name: str(open_position(study.wiring, name))},
        help=help_,
        causes=frozenset({Isolates(name, block)} if own is None else ()),
        own=own,
        group=group,
        margin=margin,
        edits=edits,
    )


RULE = Rule(
    __doc__,
    __name__,
    "isolation",
    Severity.ERROR,
    check,
    needs=("isolators.*.hold", "loads.*.axle", "harnesses.*", "blocks.*.length"),
)
