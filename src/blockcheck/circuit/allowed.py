"""What interlocks leave: the state nearest to a wanted one among those that can be.

Where each control stands is one literal of a SAT solver; an interlock bounds how many of its literals hold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Final, Literal

from blockcheck.circuit.parts import Circuit

if TYPE_CHECKING:
    from pysat.solvers import Minicard

MOST_CONFLICTS = 200_000
"""The SAT solver gives up beyond this many conflicts, some seconds of work."""
NOT_DECIDED: Final = "undecided"


def bar(solver: Minicard, circuit: Circuit, literal: Callable[..., int]) -> None:
    """Add what interlocks keep out: every control that they name stands somewhere, and once."""
    for name in sorted(circuit.interlocked):
        places = [literal("at", name, place) for place in circuit.controls[name].positions]
        solver.add_clause(places)
        solver.add_atmost(places, 1)
    for one in circuit.bars:
        solver.add_atmost([literal("at", *place) for place in one.holds], one.most)


def nearest(
    circuit: Circuit, fixed: Mapping[str, str], wishes: Iterable[tuple[str, str]] = ()
) -> Mapping[str, str] | Literal["undecided"] | None:
    """Positions of all interlocked controls, with those ``fixed``, that no interlock keeps out.

    Of the wishes, and after them the usual positions, the first come first. None where no state can be, "undecided"
    where the budget ran out.
    """
    if not circuit.bars:
        return {}
    usual = {name: fixed.get(name) or circuit.usual[name] for name in circuit.interlocked}
    if not wishes and circuit.can_be(usual):
        return usual
    from pysat.solvers import Minicard  # loaded only where an interlock is in the way

    numbers: dict[tuple[object, ...], int] = {}

    def literal(*key: object) -> int:
        return numbers.setdefault(key, len(numbers) + 1)

    with Minicard() as solver:
        bar(solver, circuit, literal)
        must = [literal("at", name, fixed[name]) for name in sorted(circuit.interlocked & fixed.keys())]
        wanted = dict(one for one in wishes if one[0] in circuit.interlocked)
        wanted |= {name: place for name, place in sorted(usual.items()) if name not in wanted}
        keep = [literal("at", name, place) for name, place in wanted.items() if name not in fixed]
        given_up: list[int] = []
        while not (can := _solved(solver, [*must, *keep])):
            losers = {*(solver.get_core() or ())} if can is not None else set()
            against = [one for one in keep if one in losers]
            if not against:
                return None if can is not None else NOT_DECIDED
            given_up.append(against[-1])
            keep.remove(against[-1])
        for one in reversed(given_up):
            if _solved(solver, [*must, *keep, one]):
                keep.append(one)
        if not _solved(solver, [*must, *keep]):
            return NOT_DECIDED
        model = {*solver.get_model()}
    return {
        name: next(place for place in circuit.controls[name].positions if numbers["at", name, place] in model)
        for name in sorted(circuit.interlocked)
    }


def _solved(solver: Minicard, literals: list[int]) -> bool | None:
    solver.conf_budget(MOST_CONFLICTS)
    found: bool | None = solver.solve_limited(assumptions=literals)
    return found
