"""No isolator contact carries more than its rating.

Why: a switch beyond its rating welds shut or burns open; either way it no longer isolates.

Mend: take a switch of a higher rating, or let it carry fewer blocks.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.budgets import Budget
from blockcheck.analysis.case import Case
from blockcheck.core.findings import Finding, Severity, Unchecked
from blockcheck.rules._over import budget_draws, lacking
from blockcheck.rules._rule import Rule, amps, in_scenario


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each isolator whose contact carries more than its rating."""
    for scenario, draw in budget_draws(case, Budget.contacts):
        missing = lacking("contact-over-current", draw, ".".join(map(str, draw.path)))
        if missing is not None:
            yield missing
        if draw.limit_a is not None and draw.current_a > draw.limit_a:
            yield Finding(
                f"the contact of {draw.name} would carry {amps(draw.current_a)}{in_scenario(scenario)}, "
                f"and is rated for {amps(draw.limit_a)}",
                subject=draw.name,
                at=draw.path if scenario is None else ("scenarios", scenario),
                others=(scenario,) if scenario is not None else (),
                measured=draw.current_a,
                limit=draw.limit_a,
                unit="A",
                help="take a switch of a higher rating",
            )


RULE = Rule(
    __doc__ or "", "contact-over-current", "budgets", Severity.ERROR, check, needs=("isolators.*.rating", "loads.*")
)
