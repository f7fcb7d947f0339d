"""Which tracks to put to sleep: the fewest whose isolation brings every district and booster under its limit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import frozen

from blockcheck.analysis.budgets import Budget
from blockcheck.analysis.case import Case
from blockcheck.analysis.isolation import Isolation
from blockcheck.core.natural import natural_key
from blockcheck.model.operate import Operation, open_position

_SLACK = 1e-9


@frozen(eq=False, repr=False)
class Choice:
    """An isolator that may be opened: how many tracks it puts to sleep, and the amperes it takes off each limit."""

    isolator: str
    tracks: int
    saves: Mapping[str, float]


def fewest(choices: Sequence[Choice], over: Mapping[str, float]) -> tuple[str, ...] | None:
    """The choices with the fewest tracks in all that together save at least ``over`` (amperes) at every limit.

    None where even all of them do not. Exact, by integer programming; of equally good answers, always the same one.
    """
    pending = {name: amperes for name, amperes in over.items() if amperes > _SLACK}
    if not pending:
        return ()
    useful = [choice for choice in choices if any(choice.saves.get(name, 0.0) > 0 for name in pending)]
    useful.sort(key=lambda choice: natural_key(choice.isolator))
    if any(sum(choice.saves.get(name, 0.0) for choice in useful) < need - _SLACK for name, need in pending.items()):
        return None
    import numpy as np  # heavy, and only wanted when something does not fit
    from scipy.optimize import Bounds, LinearConstraint, milp

    saved = np.array([[choice.saves.get(name, 0.0) for choice in useful] for name in pending])
    least = np.array(list(pending.values()))
    # a track counts one; a whisker prefers, of equal counts, the one that comes first by name
    cost = np.array([choice.tracks + 1e-6 * number / len(useful) for number, choice in enumerate(useful)])
    result = milp(
        cost,
        constraints=LinearConstraint(saved, least - _SLACK),
        integrality=np.ones(len(useful), dtype=int),
        bounds=Bounds(0, 1),
    )
    if result.x is None:
        return None
    return tuple(choice.isolator for choice, taken in zip(useful, result.x, strict=True) if taken > 0.5)


def to_sleep(case: Case, operation: Operation) -> tuple[str, ...] | None:
    """The isolators to open in an operation; empty where nothing needs to sleep, None where it cannot be done."""
    budget = Budget.of(case, operation)
    over = {
        f"{draw.kind} {draw.name}": draw.current_a - draw.limit_a
        for draw in (*budget.districts(), *budget.boosters())
        if draw.limit_a is not None
    }
    return fewest(tuple(_choices(case, operation, budget)), over)


def _choices(case: Case, operation: Operation, budget: Budget) -> list[Choice]:
    running = {one.block for one in operation.trains if one.state != "idle"}
    found = []
    for isolator, killed in Isolation(case).kills.items():
        cut = open_position(case.wiring, isolator)
        blocks = [block for block in killed if block in budget.supply]
        if (
            budget.now.state[isolator] == cut
            or running & set(blocks)
            or not set(blocks) <= set(case.wiring.meant[isolator])
        ):
            continue
        saves: dict[str, float] = {}
        for block in blocks:
            amperes = budget.blocks.get(block, (0.0, ()))[0]
            home = budget.supply[block]
            for limit in (f"district {home}", f"booster {case.layout.districts[home].booster}"):
                saves[limit] = saves.get(limit, 0.0) + amperes
        if blocks:
            found.append(Choice(isolator, len(blocks), saves))
    return found
