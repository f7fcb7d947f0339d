"""What the rules on volts and amperes along the wires share."""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case
from blockcheck.analysis.electrics import Electrics
from blockcheck.analysis.limits import breaker
from blockcheck.core.findings import Unchecked
from blockcheck.model.quantities import DIMENSIONS, Volts, show


def usual(case: Case) -> Electrics:
    """The solved network as the layout usually stands."""
    return Electrics.of(case, case.operations[0])


def complete(case: Case, rule: str, stand: bool) -> Iterator[str | Unchecked]:
    """The blocks that are in the network and live, and those that lack data for it.

    ``stand`` leaves out throats, where trains never stand. A block that is asleep has nothing to check.
    """
    electrics = usual(case)
    lacking = case.always("lacking", lambda: _lacking(electrics))
    for block in case.blocks:
        if stand and case.layout.blocks[block].kind == "throat":
            continue
        needs = lacking.get(block)
        if needs is not None:
            yield Unchecked(rule, block, needs)
        elif electrics.live(block):
            yield block


def _lacking(electrics: Electrics) -> dict[str, tuple[str, ...]]:
    """Block -> the data that keep it out of the network, as they are written."""
    return {
        block: tuple(dict.fromkeys(".".join(map(str, path)) for path in lacks)) or ("names that resolve",)
        for block, lacks in electrics.grid.lacking.items()
    }


def at_place(block: str, at_m: float, case: Case) -> str:
    """A clause for a place of a block."""
    from blockcheck.rules._rule import metres

    length = case.layout.blocks[block].length_m or 0.0
    if at_m <= 1e-9:
        return f"at the near end of {block}"
    if at_m >= length - 1e-9:
        return f"at the far end of {block}"
    return f"in {block}, {metres(at_m, case)} from its near end,"


def volts(value: float) -> str:
    """A voltage for people."""
    return show(value, DIMENSIONS[Volts])


def trip_of(case: Case, block: str) -> tuple[float | None, float | None, str | None]:
    """Trip current and delay of the breaker that feeds a block now, and its district."""
    district = usual(case).budget.supply.get(block)
    if district is None:
        return None, None, None
    return (*breaker(case, district), district)
