"""Waking in stages: groups of isolators such that each group's charge is served within the breaker's delay.

A stage that wakes a group takes at most C V / (trip - steady) seconds over the trip current, with C what the group
charges and the steady current of everything awake, itself included. So it clears within the delay exactly when
C V + delay * (its own current) <= delay * (trip - what is awake before): what a stage may bring shrinks with what is
on already, and is linear in who is in which stage. Of what charges through resistors, delay * (what still flows through
them after the delay) stands in the place of C V, or where something else charges without one, what they take till then.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from blockcheck.analysis.budgets.charging import Filling
from blockcheck.core.natural import natural_key

EXACT_UP_TO = 40
"""Up to this many sleepers the fewest stages are found exactly."""
_SECONDS = 10.0
_SLACK = 1e-12


class Sleeper(NamedTuple):
    """What one isolator wakes: coulombs to be charged (C V), amperes from then on, and what charges through resistors,
    as `Filling.through` has it."""

    isolator: str
    coulombs: float
    amperes: float
    through: tuple[tuple[float, float], ...] = ()

    @property
    def filling(self) -> Filling:
        """What it charges."""
        return Filling(self.coulombs, self.through)


class Breaker(NamedTuple):
    """Amperes at which it trips, and seconds for which it bears more."""

    trip_a: float
    delay_s: float

    def seconds(self, group: Sequence[Sleeper], awake_a: float) -> float | None:
        """How long a group keeps the current above the trip, at most; None where it is never served."""
        filling = Filling.all(one.filling for one in group)
        spare = self.trip_a - awake_a - sum(one.amperes for one in group)
        if not filling and spare < -1e-9 * self.trip_a:
            return None
        return filling.seconds(spare)

    def bears(self, group: Sequence[Sleeper], awake_a: float) -> bool:
        """Whether a group's charge is served within the delay."""
        seconds = self.seconds(group, awake_a)
        return seconds is not None and seconds <= self.delay_s * (1 + 1e-9)


class Waking(NamedTuple):
    """Stages in order, and the fewest that there could be: equal where the stages are proved to be the fewest.

    ``refused`` are the fewest sleepers that have to sleep on for the rest to wake: those that the breaker does not bear
    even by themselves, or on top of the rest.
    """

    stages: tuple[tuple[Sleeper, ...], ...]
    least: int
    refused: tuple[Sleeper, ...] = ()


def wake(sleepers: Sequence[Sleeper], breaker: Breaker, awake_a: float = 0.0) -> Waking:
    """Group sleepers into the fewest stages, with ``awake_a`` amperes on from the start."""
    able, refused = _able(sleepers, breaker, awake_a)
    by_size = sorted(able, key=lambda one: (-_size(one, breaker), natural_key(one.isolator)))
    plans = (
        _first_fit(by_size, breaker, awake_a),
        _first_fit(able, breaker, awake_a),
        _in_turn(able, breaker, awake_a),
    )
    stages = min((plan for plan in plans if plan is not None), key=len)
    least = _least(able, breaker, awake_a)
    if len(stages) > least and len(able) <= EXACT_UP_TO:
        stages, least = _exact(able, breaker, awake_a, least, stages)
    return Waking(tuple(tuple(stage) for stage in stages), least, tuple(refused))


def _able(sleepers: Sequence[Sleeper], breaker: Breaker, awake_a: float) -> tuple[list[Sleeper], list[Sleeper]]:
    """Those that can wake one after the other, in an order that serves, and the fewest that have to be left out.

    Who charges most goes first, while least is on: a sleeper is late where what is on before it leaves too little for
    its charge, as a job is that ends after its due date. So this is the fewest late jobs (Moore 1968; from memory).
    """
    able, refused = list[Sleeper](), list[Sleeper]()
    for one in sorted(sleepers, key=lambda one: (-one.filling.size(breaker.delay_s), natural_key(one.isolator))):
        fits = breaker.bears([one], awake_a + sum(other.amperes for other in able))
        able.append(one)
        if not fits:
            heaviest = max(able, key=lambda one: (one.amperes, natural_key(one.isolator)))
            able.remove(heaviest)
            refused.append(heaviest)
    return able, refused


def _size(one: Sleeper, breaker: Breaker) -> float:
    """What a sleeper takes of a stage at least, in coulombs."""
    return one.filling.size(breaker.delay_s) + breaker.delay_s * one.amperes


def _first_fit(able: Sequence[Sleeper], breaker: Breaker, awake_a: float) -> list[list[Sleeper]] | None:
    """Stage after stage, the largest that still fits first; None where something is left that never fits."""
    pending, stages, on = list(able), list[list[Sleeper]](), awake_a
    while pending:
        stage: list[Sleeper] = []
        for one in list(pending):
            if breaker.bears([*stage, one], on):
                stage.append(one)
                pending.remove(one)
        if not stage:
            return None
        stages.append(stage)
        on += sum(one.amperes for one in stage)
    return stages


def _in_turn(able: Sequence[Sleeper], breaker: Breaker, awake_a: float) -> list[list[Sleeper]]:
    """In the order in which they can wake one by one, as many at a time as fit: that always serves."""
    stages, on, before = list[list[Sleeper]](), awake_a, awake_a
    for one in able:
        if stages and breaker.bears([*stages[-1], one], before):
            stages[-1].append(one)
        else:
            stages.append([one])
            before = on
        on += one.amperes
    return stages


def _least(able: Sequence[Sleeper], breaker: Breaker, awake_a: float) -> int:
    """A count of stages below which it cannot be done: the volume of all against stages that shrink least."""
    left, on, count = sum(_size(one, breaker) for one in able), awake_a, 0
    lean = min((one.amperes / _size(one, breaker) for one in able if _size(one, breaker) > 0), default=0.0)
    while left > _SLACK * max(1.0, left):
        room = breaker.delay_s * (breaker.trip_a - on)
        if room <= 0:
            break
        taken = min(room * (1 + 1e-9), left)
        left -= taken
        on += taken * lean
        count += 1
        if count > len(able):
            break
    return max(count, 1 if able else 0)


def _exact(
    able: Sequence[Sleeper], breaker: Breaker, awake_a: float, least: int, known: list[list[Sleeper]]
) -> tuple[list[list[Sleeper]], int]:
    """Ask for one stage fewer than is known until there is none; sleepers that are alike are counted, not named."""
    kinds: dict[object, list[Sleeper]] = {}
    for one in able:
        kinds.setdefault((one.filling, one.amperes), []).append(one)
    while len(known) > least:
        answer = _program(list(kinds.values()), breaker, awake_a, len(known) - 1)
        if answer is None:
            return known, len(known)
        if not answer:
            return known, least  # the solver ran out of time: say "at least"
        known = answer
    return known, least


def _program(
    kinds: Sequence[Sequence[Sleeper]], breaker: Breaker, awake_a: float, stages: int
) -> list[list[Sleeper]] | None:
    """Stages by integer programming; None where there are none, empty where that was not decided in time."""
    import numpy as np  # heavy, and only wanted where the quick way does not prove itself
    from scipy.optimize import Bounds, LinearConstraint, milp

    many = len(kinds)
    counts = np.array([len(kind) for kind in kinds], dtype=float)
    size = np.array([_size(kind[0], breaker) for kind in kinds])
    later = np.array([breaker.delay_s * kind[0].amperes for kind in kinds])
    all_in = np.kron(np.eye(many), np.ones(stages))
    rooms = np.zeros((stages, many * stages))
    for stage in range(stages):
        for kind in range(many):
            rooms[stage, kind * stages + stage] = size[kind]
            rooms[stage, kind * stages : kind * stages + stage] = later[kind]
    room = breaker.delay_s * (breaker.trip_a - awake_a)
    scale = 1 / room if room > 0 else 1.0
    result = milp(
        np.zeros(many * stages),
        constraints=[
            LinearConstraint(all_in, counts, counts),
            LinearConstraint(rooms * scale, -math.inf, room * scale * (1 + 1e-9)),
        ],
        integrality=np.ones(many * stages, dtype=int),
        bounds=Bounds(0, np.repeat(counts, stages)),
        options={"time_limit": _SECONDS},
    )
    if result.status == 2:  # infeasible
        return None
    if result.x is None:
        return []
    left = [list(kind) for kind in kinds]
    taken = np.rint(result.x).astype(int).reshape(many, stages)
    found = [[left[kind].pop(0) for kind in range(many) for _ in range(taken[kind, stage])] for stage in range(stages)]
    on = awake_a
    for group in found:
        if group and not breaker.bears(group, on):
            return []  # the solver's tolerance is wider than ours, or it knows less of charge resistors
        on += sum(one.amperes for one in group)
    return [group for group in found if group]
