"""A scenario comes out as it says.

Why: a scenario is the builder's own test; where it fails, the wiring does not do what was planned.

Mend: mend the wiring, or correct what the scenario expects.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.circuit.state import BLIND, ON, Now
from blockcheck.core.findings import Finding, Severity, Unchecked
from blockcheck.model.operate import Operation
from blockcheck.rules._rule import Rule, listed, told_of, unbuilt

_COMES = {"dead": "has power", "lit": "has no power", "occupied": "reads clear", "clear": "reads occupied"}


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """One finding for each selection of a scenario's expectations that does not come out."""
    for operation in case.operations:
        if operation.scenario is None:
            continue
        now = case.now(operation.positions)
        for kind, expected in operation.expect.items():
            wrong: dict[int, list[str]] = {}
            for block, index in expected:
                if block not in case.circuit.detected:
                    yield unbuilt(case, "scenario-expectation", block)
                elif told_of(case, block, now.state):
                    continue
                elif not _comes_out(kind, block, now, operation):
                    wrong.setdefault(index, []).append(block)
            for index, blocks in wrong.items():
                yield _finding(operation, kind, index, blocks, now)


def _comes_out(kind: str, block: str, now: Now, operation: Operation) -> bool:
    if kind in ("dead", "lit"):
        return (now.power(block) == ON) == (kind == "lit")
    reads = now.detection(block) != BLIND and any(one.block == block for one in operation.trains)
    return reads == (kind == "occupied")


def _finding(operation: Operation, kind: str, index: int, blocks: list[str], now: Now) -> Finding:
    assert operation.scenario is not None
    return Finding(
        f'scenario "{operation.scenario}" expects {listed(blocks)} to be {kind}, and each {_COMES[kind]}'
        if len(blocks) > 1
        else f'scenario "{operation.scenario}" expects {blocks[0]} to be {kind}, and it {_COMES[kind]}',
        subject=operation.scenario,
        at=("scenarios", operation.scenario, "expect", kind, index),
        others=tuple(blocks),
        state={name: now.state[name] for name in sorted(operation.positions) if name in now.state} or None,
        help="mend the wiring, or correct the scenario",
        causes=frozenset(("reads", operation.scenario, block) for block in blocks if kind == "occupied"),
    )


RULE = Rule(__doc__ or "", "scenario-expectation", "operation", Severity.ERROR, check)
