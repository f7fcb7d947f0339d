"""Which tracks to put to sleep: the fewest whose isolation brings every district and booster under its limit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import frozen

from blockcheck.analysis.budgets.budgets import Budget
from blockcheck.analysis.isolation.isolation import Isolation
from blockcheck.analysis.study import Study
from blockcheck.circuit.state import State
from blockcheck.core.natural import natural_key
from blockcheck.model.operate import Operation, after_opening, open_position

_SLACK = 1e-9
Saves = Mapping[str, Mapping[str, float]]
"""Block -> limit -> the amperes that it takes off that limit when it goes to sleep."""


@frozen
class Choice:
    """An isolator that may be opened, and the blocks that it puts to sleep."""

    isolator: str
    blocks: tuple[str, ...]


@frozen
class Barred:
    """What an interlock leaves: the sum of ``takes`` of the isolators that are opened is at most ``most``."""

    takes: Mapping[str, int]
    most: int


def fewest(
    choices: Sequence[Choice], saves: Saves, over: Mapping[str, float], barred: Sequence[Barred] = ()
) -> tuple[Choice, ...] | None:
    """The choices that put the fewest blocks to sleep of those that take at least ``over`` (amperes) off every limit.

    Of what is ``barred``, no more is taken than may be. A block counts once, and saves once, however many choices put
    it to sleep. None where it cannot be done. Exact, by integer programming; of equally good answers, always the same
    one.
    """
    pending = {name: amperes for name, amperes in over.items() if amperes > _SLACK}
    if not pending:
        return ()
    useful = [one for one in choices if any(_saved(saves, block, name) > 0 for block in one.blocks for name in pending)]
    useful.sort(key=lambda choice: natural_key(choice.isolator))
    asleep = {block for choice in useful for block in choice.blocks}
    if any(sum(_saved(saves, block, name) for block in asleep) < need - _SLACK for name, need in pending.items()):
        return None
    return _program(useful, saves, pending, barred)


def _saved(saves: Saves, block: str, limit: str) -> float:
    return saves.get(block, {}).get(limit, 0.0)


def _program(
    useful: Sequence[Choice], saves: Saves, pending: Mapping[str, float], barred: Sequence[Barred]
) -> tuple[Choice, ...] | None:
    """One variable a choice, and one for each block that several choices put to sleep: it sleeps if any of them is
    taken, and only then."""
    import numpy as np  # heavy, and only wanted when something does not fit
    from scipy.optimize import Bounds, LinearConstraint, milp

    by: dict[str, list[int]] = {}
    for number, choice in enumerate(useful):
        for block in choice.blocks:
            by.setdefault(block, []).append(number)
    column = {block: numbers[0] for block, numbers in by.items() if len(numbers) == 1}
    shared = [block for block, numbers in by.items() if len(numbers) > 1]
    column |= {block: len(useful) + number for number, block in enumerate(shared)}
    width = len(useful) + len(shared)
    # all whiskers together are less than a track: of equal counts, fewer isolators, and those that come first by name
    whisker = 1 / (4 * len(useful))
    cost = np.array([whisker * (1 + number / len(useful)) for number in range(len(useful))] + [0.0] * len(shared))
    saved = np.zeros((len(pending), width))
    for block, place in column.items():
        cost[place] += 1
        for row, name in enumerate(pending):
            saved[row, place] += _saved(saves, block, name)
    limits = [LinearConstraint(saved, np.array(list(pending.values())) - _SLACK, np.inf)]
    rules: list[list[tuple[int, float]]] = []
    for block in shared:
        rules += [[(column[block], 1.0), (number, -1.0)] for number in by[block]]
        rules.append([(column[block], -1.0), *((number, 1.0) for number in by[block])])
    if rules:
        rows = np.zeros((len(rules), width))
        for index, rule in enumerate(rules):
            for place, factor in rule:
                rows[index, place] = factor
        limits.append(LinearConstraint(rows, 0, np.inf))
    for one in barred:
        takes = np.zeros((1, width))
        takes[0, : len(useful)] = [one.takes.get(choice.isolator, 0) for choice in useful]
        limits.append(LinearConstraint(takes, -np.inf, one.most))
    result = milp(
        cost,
        constraints=limits,
        integrality=np.array([1] * len(useful) + [0] * len(shared)),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0.0},
    )
    if result.x is None:
        return None
    return tuple(choice for choice, taken in zip(useful, result.x, strict=False) if taken > 0.5)


def to_sleep(study: Study, operation: Operation) -> tuple[Choice, ...] | None:
    """The isolators to open in an operation; empty where nothing needs to sleep, None where it cannot be done."""
    budget = Budget.of(study, operation)
    draws = (*budget.districts(), *budget.boosters())
    over = {f"{one.kind} {one.name}": one.current_a - one.limit_a for one in draws if one.limit_a is not None}
    if all(amperes <= _SLACK for amperes in over.values()):
        return ()
    choices = _choices(study, operation, budget)
    left = _kept_awake(study, operation, choices)
    saves = {}
    for block, (amperes, _) in budget.blocks.items():
        home, freed = budget.feeding.reached[block], amperes - left.get(block, 0.0)
        saves[block] = {f"district {home}": freed, f"booster {study.layout.districts[home].booster}": freed}
    return fewest(choices, saves, over, _barred(study, budget.feeding.now.state))


def _barred(study: Study, state: State) -> list[Barred]:
    found = []
    for bar in study.circuit.bars:
        takes = {
            name: (place == cut) - (state[name] == place)
            for name, place in bar.holds
            if name in study.layout.isolators and (cut := open_position(study.wiring, name)) is not None
        }
        found.append(Barred(takes, bar.most - sum(state[name] == place for name, place in bar.holds)))
    return found


def _kept_awake(study: Study, operation: Operation, choices: Sequence[Choice]) -> Mapping[str, float]:
    """Block -> amperes that it still draws through a hold resistor with all those isolators open.

    With fewer of them open it has less voltage, so that what sleeps then sleeps.
    """
    holding = [one.isolator for one in choices if study.layout.isolators[one.isolator].hold_ohm is not None]
    if not holding:
        return {}
    after = Budget.of(study, after_opening(study.wiring, operation, holding, bound=True))
    return {name: amperes for name, (amperes, _) in after.blocks.items() if name not in after.feeding.supply}


def _choices(study: Study, operation: Operation, budget: Budget) -> list[Choice]:
    """The isolators that put nothing to sleep but what they are meant to, and no train that does anything."""
    running = {one.block for one in operation.trains if one.state != "idle"}
    found = []
    for isolator, killed in Isolation(study).kills.items():
        blocks = tuple(sorted((block for block in killed if block in budget.feeding.supply), key=natural_key))
        shut = budget.feeding.now.state[isolator] == open_position(study.wiring, isolator)
        if blocks and not shut and not running & set(blocks) and set(blocks) <= set(study.wiring.meant[isolator]):
            found.append(Choice(isolator, blocks))
    return found
