"""In every scenario, a block with a train in it reads occupied, unless it is asleep on purpose.

Why: a train on a track that reads clear is run into.

Mend: close the isolator, hold detection while it is open, or give the train something that the detector sees.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.circuit.state import BLIND, OFF, ON, TRICKLE, State
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.model.operate import Placed, open_position
from blockcheck.rules._rule import Rule, in_scenario, told_of, unbuilt

_POWER = {ON: "has power, but not through its channel", OFF: "has no power", TRICKLE: "has a trickle only"}


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each train, usually or in a scenario, whose block reads clear and should not."""
    told: set[tuple[str, str]] = set()
    for operation in case.operations:
        now = case.now(operation.positions)
        for one in operation.trains:
            fed = case.wiring.fed[one.block]
            if one.block not in case.circuit.detected:
                if fed.missing:
                    yield unbuilt(case, "false-clear", one.block)
                continue
            if fed.channel is None or (one.train, one.block) in told:
                continue
            if now.detection(one.block) != BLIND:
                yield from _drawing(case, one)
                continue
            if _on_purpose(case, one.block, now.state) or ("reads", str(operation.scenario), one.block) in case.mended:
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
                help="close what feeds it, or hold its detection while it sleeps",
            )


def _on_purpose(case: Case, block: str, state: State) -> bool:
    """Whether an open isolator is meant to blind the block, or is known already not to do what it should."""
    return told_of(case, block, state) or any(
        case.layout.isolators[name].detection == "off" and state.get(name) == open_position(case.wiring, name)
        for name in case.wiring.isolators_of[block]
    )


def _drawing(case: Case, one: Placed) -> Iterator[Unchecked]:
    """What is missing to know that a train draws anything at all."""
    loads = [case.layout.loads[name] for name in case.layout.trains[one.train].vehicles if name in case.layout.loads]
    if loads and not any(load.axle_ohm is not None or load.current_a(one.state) for load in loads):
        yield Unchecked("false-clear", one.train, tuple(f"loads.{load.name}.axle" for load in loads))


RULE = Rule(__doc__ or "", "false-clear", "operation", Severity.WARNING, check, needs=("loads.*.axle or currents",))
