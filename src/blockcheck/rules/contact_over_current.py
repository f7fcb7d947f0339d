"""No isolator contact carries more than its rating.

Why: a switch beyond its rating welds shut or burns open; either way it no longer isolates.

Mend: take a switch of a higher rating, or let it carry fewer blocks.
"""

from __future__ import annotations

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.datum import datum
from blockcheck.rules._over import budget_draws, carries, lacking, limited, too_much
from blockcheck.rules._rule import Rule, Said, amps, in_scenario, listed


def check(study: Study) -> Said:
    """A finding for each isolator whose contact carries more than its rating."""
    yield from limited(study, Budget.contacts)
    draws = list(budget_draws(study, Budget.contacts))
    for _, draw in draws:
        missing = lacking(draw, datum(*draw.path))
        if missing is not None:
            yield missing
    for (scenario, draw), *more in too_much(draws):
        also, rating = [other.name for _, other in more], Label(draw.path, "its rating stands here")
        yield Finding(
            f"the contact of {draw.name} would carry {carries(draw)}{in_scenario(scenario)}, "
            f"and is rated for {amps(draw.limit_a or 0.0)}"
            + (f"; so would {'that' if len(also) == 1 else 'those'} of {listed(also)}" if also else ""),
            subject=draw.name,
            at=draw.path if scenario is None else ("scenarios", scenario),
            others=(*([scenario] if scenario is not None else []), *also),
            related=(rating,) if scenario is not None else (),
            measured=draw.current_a,
            limit=draw.limit_a,
            unit="A",
            help="take a switch of a higher rating",
        )


RULE = Rule(
    __doc__,
    __name__,
    "budgets",
    Severity.ERROR,
    check,
    needs=("isolators.*.rating", "loads.*"),
)
