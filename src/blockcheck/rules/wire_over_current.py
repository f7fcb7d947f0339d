"""No conductor carries more than it may, in service or at the trip current.

Why: a wire that is too thin for what the breaker lets through is the fuse, and it lies under the scenery.

Mend: take a thicker conductor, or a breaker that trips lower.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from blockcheck.analysis.case import Case
from blockcheck.analysis.limits import breaker, conductor_limit
from blockcheck.circuit.electric import Run
from blockcheck.core.findings import Finding, Severity, Unchecked
from blockcheck.core.spans import Path
from blockcheck.rules._rule import Rule, amps
from blockcheck.rules._volts import complete, usual


@frozen(eq=False, repr=False)
class _Most:
    """What the busiest run of one conductor carries, and why."""

    run: Run
    amperes: float
    why: str


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each conductor of a harness or a feed whose busiest run carries more than it may."""
    for item in complete(case, "wire-over-current", stand=False):
        if isinstance(item, Unchecked):
            yield item
    for path, most in _busiest(case).items():
        subject = f"{path[1]} {path[2]}"
        rating = conductor_limit(case, most.run.size)
        if rating is None:
            yield Unchecked("wire-over-current", subject, (f"wires with a current for {most.run.size}",))
            continue
        limit, table = rating
        if most.amperes > limit:
            yield Finding(
                f"the {most.run.name} ({most.run.size}) may have to carry {amps(most.amperes)} {most.why}, "
                f"and may carry {amps(limit)} ({table})",
                subject=subject,
                at=path,
                measured=most.amperes,
                limit=limit,
                unit="A",
                help="take a thicker conductor, or a breaker that trips lower",
            )


def _busiest(case: Case) -> dict[Path, _Most]:
    """Conductor of the layout -> the run of it that carries most: the trip current of its breaker, or in service."""
    electrics = usual(case)
    if not electrics.grid.runs:
        return {}
    amperes = electrics.loaded.resistor_amperes
    found: dict[Path, _Most] = {}
    for run in electrics.grid.runs:
        trip, district = _trip(case, run)
        service = max((abs(amperes[number]) for number in run.resistors), default=0.0)
        most = _Most(run, service, "in service")
        if trip is not None and trip > service:
            most = _Most(run, trip, f"before the breaker of {district} trips")
        if run.path not in found or found[run.path].amperes < most.amperes:
            found[run.path] = most
    return found


def _trip(case: Case, run: Run) -> tuple[float | None, str | None]:
    """The largest trip current that can flow through a run, and the district whose breaker it is."""
    if run.path[0] == "districts":
        return breaker(case, str(run.path[1]))[0], str(run.path[1])
    homes = {
        district
        for block, district in usual(case).budget.supply.items()
        if case.layout.blocks[block].harness == run.path[1]
    }
    trips = [(trip, home) for home in sorted(homes) if (trip := breaker(case, home)[0]) is not None]
    return max(trips, default=(None, None))


RULE = Rule(
    __doc__ or "",
    "wire-over-current",
    "budgets",
    Severity.ERROR,
    check,
    needs=("harnesses.*.bus", "harnesses.*.common", "districts.*.feed", "boosters.*.trip"),
)
