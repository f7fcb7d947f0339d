"""In every scenario, a block with a train in it reads occupied, unless it is asleep on purpose.

Why: a train on a track that reads clear is run into.

Mend: close the isolator, hold detection while it is open, or give the train something that the detector sees, such as
an axle with a resistor.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.power.occupancy import reading
from blockcheck.analysis.study import Study
from blockcheck.circuit.state import BLIND, OFF, ON, TRICKLE, State
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.operate import Operation, Placed, open_position
from blockcheck.model.quantities import Amperes
from blockcheck.model.tables.through import feeder_of
from blockcheck.rules._claims import Reads, Starved, Unseen, told_of
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, in_scenario, unbuilt
from blockcheck.rules._volts import apart, volts

_POWER = {ON: "has power, but not through its channel", OFF: "has no power", TRICKLE: "has a trickle only"}


def check(study: Study) -> Said:
    """A finding for each train, usually or in a scenario, whose block reads clear and should not."""
    told: set[tuple[str, str]] = set()
    stand: dict[str, set[str]] = {}
    unsure = set[str]()
    for operation in study.operations:
        now = study.now(operation.positions)
        for one in operation.trains:
            fed = study.wiring.fed[one.block]
            if one.block not in study.circuit.detected:
                if fed.missing:
                    yield unbuilt(study, one.block)
                continue
            if fed.channel is None:
                continue
            stand.setdefault(one.block, set()).add(one.train)
            if Electrics.of(study, operation).channel_amperes(one.block) is None:
                unsure.add(one.block)
            if (one.train, one.block) in told:
                continue
            if now.detection(one.block) != BLIND:
                for item in _drawing(study, operation, one):
                    if isinstance(item, Finding):
                        told.add((one.train, one.block))
                    else:
                        unsure.add(item.subject)
                    yield item
                continue
            if _on_purpose(study, one.block, now.state) or Reads(one.block, operation.scenario) in study.claims:
                continue
            told.add((one.train, one.block))
            yield Finding(
                f"{one.train} stands in {one.block}{in_scenario(operation.scenario)}, and {one.block} reads clear",
                subject=one.block,
                at=one.path,
                others=(one.train, *([operation.scenario] if operation.scenario else [])),
                related=(
                    Label(("blocks", one.block), f"{one.block} {_POWER[now.power(one.block)]}"),
                    *((Label(("scenarios", operation.scenario), "in this scenario"),) if operation.scenario else ()),
                ),
                state={name: now.state[name] for name in operation.positions if name in now.state} or None,
                help="close what feeds it, or hold its detection while it sleeps"
                + ("" if _shows_asleep(study, one) else f", and give {one.train} an axle with a resistor"),
            )
    yield from (Judged(block) for block, trains in stand.items() if not {block, *trains} & unsure)


def _on_purpose(study: Study, block: str, state: State) -> bool:
    """Whether an open isolator is meant to blind the block, or is known already not to do what it should."""
    return (
        told_of(study, block, state)
        or _points_away(study, block, state)
        or any(
            study.layout.isolators[name].detection == "off" and state.get(name) == open_position(study.wiring, name)
            for name in study.wiring.isolators_of[block]
        )
    )


def _points_away(study: Study, block: str, state: State) -> bool:
    """Whether points that pass power to one leg only stand against the way by which other blocks feed this one."""
    wiring, on_the_way = study.wiring, block
    while wiring.layout.blocks[on_the_way].fed_through is not None:
        before = str(feeder_of(wiring.layout, on_the_way))
        for index in wiring.joints_of.get(frozenset((before, on_the_way)), ()):
            for rail in ("detected", "common"):
                points, leg = wiring.routed.get((index, rail), ("", ""))
                if points and state.get(points) != leg:
                    return True
        on_the_way = before
    return False


def _shows_asleep(study: Study, one: Placed) -> bool:
    """Whether a train draws anything through a hold resistor: under dcc a locomotive only what it does asleep."""
    loads = (study.layout.loads.get(name) for name in study.layout.trains[one.train].vehicles)
    dcc = study.layout.about.control == "dcc"
    return any(load is None or load.axle_ohm or load.asleep_a or not (load.locomotive and dcc) for load in loads)


def _drawing(study: Study, operation: Operation, one: Placed) -> Iterator[Finding | Lacks]:
    """Whether the current through the channel, with the train where it stands, is what the channel reads from.

    Where the block is not in the network the current is a bound: nothing along the wires takes any off.
    """
    fed, electrics = study.wiring.fed[one.block], Electrics.of(study, operation)
    found = reading(electrics, one.block)
    if found.needs:
        yield Lacks(one.train, found.needs)
    if found.occupied is not False or found.amperes is None or fed.type is None:
        return
    seen, least = electrics.volts(one.block), study.layout.least_voltage_v
    starved = seen is not None and least is not None and seen < least
    state = electrics.feeding.now.state
    claims = {(Starved if starved else Unseen)(one.block), Reads(one.block, operation.scenario)}
    if claims & study.claims or told_of(study, one.block, state):
        return
    draws, reads = apart(found.amperes, fed.threshold_a, Amperes)
    between = "" if seen is None else f"{volts(seen)} between the rails of {one.block}"
    yield Finding(
        f"{one.train} stands in {one.block}{in_scenario(operation.scenario)}, and channel {fed.channel} carries "
        f"{draws}{' at most' * (one.block in electrics.grid.lacking)}: it reads clear, since it reads from {reads}",
        subject=one.block,
        at=one.path,
        others=(one.train, *([operation.scenario] if operation.scenario else [])),
        related=(
            Label(("board_types", fed.type.name, "threshold"), "the threshold"),
            *((Label(("blocks", one.block), f"there are {between}, too little to wake a locomotive"),) * starved),
            *((Label(("scenarios", operation.scenario), "in this scenario"),) if operation.scenario else ()),
        ),
        measured=found.amperes,
        limit=fed.threshold_a,
        unit="A",
        state={name: state[name] for name in operation.positions if name in state} or None,
        help="give the train an axle with a resistor, or "
        + (
            "take a more sensitive board"
            if found.amperes
            else "write how much its locomotive draws asleep, where it draws anything (asleep)"
        ),
    )


RULE = Rule(
    __doc__,
    __name__,
    "operation",
    Severity.WARNING,
    check,
    needs=("loads.*.axle or currents",),
)
