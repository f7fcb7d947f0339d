"""What to put to sleep where a budget does not fit."""

from __future__ import annotations

import shlex

from attrs import frozen

from blockcheck.analysis.budgets.budgets import Budget, above
from blockcheck.analysis.budgets.sleeping import to_sleep
from blockcheck.analysis.study import Study
from blockcheck.core.columns import column
from blockcheck.core.natural import natural_key
from blockcheck.core.words import listed
from blockcheck.model.operate import Operation


@frozen
class Sleep:
    """Tracks to put to sleep; none where no set of tracks is enough."""

    isolators: tuple[str, ...]
    blocks: tuple[str, ...] = column("The fewest tracks to put to sleep; none where no set of tracks is enough.")
    command: str | None = column("The command that shows what that does; null where no set of tracks is enough.")
    expecting: tuple[str, ...] = column(
        "Of the districts that do not fit, those whose current is what they expect: it is spread over the tracks that "
        "are awake as usual, or as the scenario has it, so that less has to be expected where tracks sleep as a rule.",
        default=(),
    )

    @property
    def sentence(self) -> str:
        """What has to sleep, and what is to be expected then."""
        where = listed(self.expecting)
        if not self.isolators:
            besides = f": expect fewer vehicles at once in {where} (expects)" if where else ""
            return f"It does not fit, and no tracks that may sleep are enough to make it fit{besides}."
        one = len(self.blocks) == 1
        what = (
            "One track asleep is enough: "
            if one
            else f"No fewer than {len(self.blocks)} tracks have to sleep, such as "
        )
        then = (
            f" Where {'it sleeps' if one else 'they sleep'} as usual, expect less in {where} (expects)."
            if where
            else ""
        )
        return f"It does not fit. {what}{listed(self.blocks)}.{then} See what that does:"


def sleep_of(study: Study, operation: Operation) -> Sleep | None:
    """What has to sleep in an operation; None where all fits."""
    found, budget = to_sleep(study, operation), Budget.of(study, operation)
    if found == ():
        return None
    blocks = {block for choice in found or () for block in choice.blocks}
    isolators = tuple(choice.isolator for choice in found or ())
    start = [] if operation.scenario is None else ["--scenario", operation.scenario]
    asked = shlex.join([",".join((*operation.opened, *isolators)), *start])
    command = f"blockcheck isolate FILE {asked}" if isolators else None
    over = {draw.name for draw in budget.boosters() if above(draw)}
    does_not_fit = [
        draw.name for draw in budget.districts() if above(draw) or study.layout.districts[draw.name].booster in over
    ]
    expecting = tuple(name for name in does_not_fit if name in budget.expecting)
    return Sleep(isolators, tuple(sorted(blocks, key=natural_key)), command, expecting)
