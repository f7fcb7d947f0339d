"""A district carries what is powered at once in it.

Why: a district that is loaded beyond its rating trips in the middle of the evening, or warms what should stay cold.

Mend: put tracks to sleep, expect less at once, or move blocks to another district.
"""

from __future__ import annotations

from blockcheck.analysis.budgets.budgets import Budget, above, silent_districts
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.datum import datum, load_of
from blockcheck.rules._claims import Loaded
from blockcheck.rules._over import budget_draws, carries, lacking, limited, relieved
from blockcheck.rules._rule import Lacks, Rule, Said, amps, in_scenario


def check(study: Study) -> Said:
    """A finding for each district over its current, and for each scenario that loads it more."""
    for name in silent_districts(study):
        yield Lacks(name, (load_of(name),))
    yield from limited(study, Budget.districts)
    for scenario, draw in budget_draws(study, Budget.districts):
        missing = lacking(draw, datum("districts", draw.name, "current"))
        if missing is not None:
            yield missing
        if above(draw):
            booster = study.layout.districts[draw.name].booster
            yield Finding(
                f"district {draw.name} would carry {carries(draw)}{in_scenario(scenario)}, "
                f"and may carry {amps(draw.limit_a or 0.0)}",
                subject=draw.name,
                at=draw.path if scenario is None else ("scenarios", scenario),
                others=(scenario,) if scenario is not None else (),
                related=(Label(("boosters", booster, "current"), f"booster {booster} delivers this"),)
                if draw.path == ("districts", draw.name)
                else (),
                measured=draw.current_a,
                limit=draw.limit_a,
                unit="A",
                help=relieved(study, scenario, [draw.name]),
                causes=frozenset({Loaded(draw.name, scenario)}),
            )


RULE = Rule(
    __doc__,
    __name__,
    "budgets",
    Severity.ERROR,
    check,
    needs=("loads.*", "districts.*.expects or trains"),
)
