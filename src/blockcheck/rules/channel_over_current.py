"""No channel carries more than its board allows, or its fuse.

Why: what a detector carries beyond its rating is heat inside the board; a fuse that is too small
blows in the middle of a session.

Mend: shorten the train, split the block over two channels, or take a board or a fuse that carries more.
"""

from __future__ import annotations

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.study import Study
from blockcheck.core.findings import Finding, Label, Severity
from blockcheck.model.datum import datum
from blockcheck.rules._over import budget_draws, carries, lacking, limited, too_much
from blockcheck.rules._rule import Rule, Said, amps, in_scenario, listed


def check(study: Study) -> Said:
    """A finding for each channel over its board's limit."""
    allows = ("board allows", "fuse is rated for")
    yield from limited(study, Budget.channels)
    draws = list(budget_draws(study, Budget.channels))
    for _, draw in draws:
        missing = lacking(draw, datum(*draw.path))
        if missing is not None:
            yield missing
    for (scenario, draw), *more in too_much(draws):
        block, also = str(draw.block), [other.name for _, other in more]
        fuse = draw.path[-1] == "fuse"
        what = "fuse" if fuse else "board"
        yield Finding(
            f"channel {draw.name} would carry {carries(draw)} for {block}{in_scenario(scenario)}, "
            f"and its {allows[fuse]} {amps(draw.limit_a or 0.0)}" + (f"; so would {listed(also)}" if also else ""),
            subject=draw.name,
            at=("blocks", block, "channel") if scenario is None else ("scenarios", scenario),
            others=(*([scenario] if scenario is not None else []), *also),
            related=(Label(draw.path, f"the {what}'s limit stands here"),),
            measured=draw.current_a,
            limit=draw.limit_a,
            unit="A",
            help=f"expect vehicles that draw less, or take a {what} that carries more"
            if draw.expected
            else "split the block over two channels, or let less stand in it",
        )


RULE = Rule(
    __doc__,
    __name__,
    "budgets",
    Severity.ERROR,
    check,
    needs=("board_types.*.channel_current", "loads.*"),
)
