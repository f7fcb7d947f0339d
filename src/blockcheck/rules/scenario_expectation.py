"""A scenario comes out as it says.

Why: a scenario is the builder's own test; where it fails, the wiring does not do what was planned.

Mend: mend the wiring, or correct what the scenario expects.
"""

from __future__ import annotations

from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.power.held import held
from blockcheck.analysis.power.occupancy import reading
from blockcheck.analysis.study import Study
from blockcheck.circuit.state import ON, TRICKLE
from blockcheck.core.findings import Finding, Severity
from blockcheck.model.operate import Operation
from blockcheck.rules._claims import Reads, told_of
from blockcheck.rules._rule import Judged, Lacks, Rule, Said, listed, unbuilt


def check(study: Study) -> Said:
    """One finding for each selection of a scenario's expectations that does not come out."""
    for operation in study.operations:
        if operation.scenario is None:
            continue
        named = {block for many in operation.expect.values() for block, _ in many}
        if named and study.circuit.detected.keys() >= named:
            yield Judged(operation.scenario)
        for kind, expected in operation.expect.items():
            wrong: dict[tuple[int, str], list[str]] = {}
            for block, index in expected:
                found = _otherwise(study, operation, kind, block)
                if isinstance(found, Lacks):
                    yield found
                elif found is not None:
                    wrong.setdefault((index, found), []).append(block)
            for (index, comes), blocks in wrong.items():
                yield _finding(study, operation, kind, index, blocks, comes)


def _otherwise(study: Study, operation: Operation, kind: str, block: str) -> str | Lacks | None:
    """What comes out of a block where it is not what the scenario expects; None where it is, or is told of already."""
    if study.layout.blocks[block].unpowered is not None:
        return None if kind == "dead" else "has no power" if kind == "lit" else "has no detector"
    if block not in study.circuit.detected:
        return unbuilt(study, block)
    now = study.now(operation.positions)
    if told_of(study, block, now.state):
        return None
    if kind in ("dead", "lit"):
        power = now.power(block)
        if kind == "dead" and power == TRICKLE:
            return _trickles(study, operation, block)
        return None if (power == ON) == (kind == "lit") else "has power" if power == ON else "has no power"
    if study.wiring.fed[block].channel is None:
        return "has no detector"
    found = reading(Electrics.of(study, operation), block)
    if found.needs:
        return Lacks(block, found.needs)
    return None if found.occupied == (kind == "occupied") else "reads occupied" if found.occupied else "reads clear"


def _trickles(study: Study, operation: Operation, block: str) -> str | Lacks | None:
    """Of a block that should be dead and has voltage through a hold resistor: it is, if that wakes nothing."""
    found = held(Electrics.of(study, operation), block)
    if found.needs:
        return Lacks(block, found.needs)
    return f"keeps {listed(found.awake)} awake through a hold resistor" if found.awake else None


def _finding(study: Study, operation: Operation, kind: str, index: int, blocks: list[str], comes: str) -> Finding:
    assert operation.scenario is not None
    now = study.now(operation.positions)
    return Finding(
        f'scenario "{operation.scenario}" expects {listed(blocks)} to be {kind}, and each {comes}'
        if len(blocks) > 1
        else f'scenario "{operation.scenario}" expects {blocks[0]} to be {kind}, and it {comes}',
        subject=operation.scenario,
        at=("scenarios", operation.scenario, "expect", kind, index),
        others=tuple(blocks),
        state={name: now.state[name] for name in sorted(operation.positions) if name in now.state} or None,
        help="mend the wiring, or correct the scenario",
        causes=frozenset(Reads(block, operation.scenario) for block in blocks if kind == "occupied"),
    )


RULE = Rule(__doc__, __name__, "operation", Severity.ERROR, check)
