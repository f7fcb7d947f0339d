"""Which drops conduct, and which way.

Every drop is in one of four states, and the linear solution says whether it may be: conducting with its voltage
against the current, either way; blocked, without current and holding off no more than its voltage; idle, without
current and voltage, as a plain connection. All start idle. Drops whose state is refuted change it all at once,
which settles in a step or two where every load hangs on one feed. Where feeds are bridged this may run in circles;
then the drop of the lowest number alone changes, until fewer are refuted than ever before. That ends after finitely
many steps, because resistances and monotone drops make a strictly monotone complementarity problem (block principal
pivoting: Portugal, Judice and Vicente 1994; with bounds: Judice and Pires 1994; both cited from memory).

What hangs on blocked drops alone floats within their voltages. If it draws current, the blocked drops round it,
taken as equal large resistors, show which of them must conduct; if not, it takes the potential that makes the
squares of the voltages held off least.
"""

from collections.abc import Sequence
from enum import IntEnum
from typing import Any, NamedTuple

from blockcheck.solver.linear import Branches, Linear
from blockcheck.solver.sparse import Factor, factor

MAX_TURNS = 500
# flips of all at once that may pass without an improvement, unless a state comes back sooner
PATIENCE = 10
# relative to the largest current or voltage
TOLERANCE = 1e-9
EPSILON = 2.0**-52


class Conduct(IntEnum):
    """State of a drop: the sign of its current, or why it has none."""

    REVERSE = -1
    IDLE = 0
    FORWARD = 1
    BLOCKED = 2


STILL = (Conduct.IDLE, Conduct.BLOCKED)


class Settled(NamedTuple):
    """Potentials (those of one connected part of all branches share a reference), the series voltages that made
    them, the states."""

    volts: list[float]
    emf: list[float]
    conduct: list[Conduct]
    linear: Linear
    turns: int
    converged: bool


class Settler:
    """Finds the states of the drops for one set of branches; keeps factorisations and states from one set of loads
    to the next."""

    def __init__(
        self,
        branches: Branches,
        source_volts: Sequence[float],
        drop_volts: Sequence[float],
        component: Sequence[int],
        reference: Sequence[int],
        plain_up_to: int,
    ) -> None:
        """component: connected part of every node through all branches; reference: a node of each at 0 V, or -1:
        floating."""
        self._branches = branches
        self._source_volts = list(source_volts)
        self._drop_volts = drop_volts
        self._component = component
        self._reference = reference
        self._plain_up_to = plain_up_to
        self._conduct = [Conduct.IDLE] * len(drop_volts)
        self._linear = self._made(frozenset())
        self._between: tuple[list[int], Factor] | None = None

    def injected(self, a: Sequence[int], b: Sequence[int], drawn: Sequence[float]) -> Sequence[float]:
        """Amperes put into each node by loads that draw from a to b."""
        found = [0.0] * self._branches.nodes
        for out, back, amperes in zip(a, b, drawn, strict=True):
            found[out] -= amperes
            found[back] += amperes
        return found

    def columns(self, settled: Settled, injected: Sequence[float]) -> dict[str, Any]:
        """Volts, amperes and connected parts as `solve.Operating` has them."""
        branches, floating = self._branches, tuple[int, ...]()
        amperes = settled.linear.amperes(range(len(branches.a)), settled.volts, settled.emf, injected)
        first, last = branches.resistors, branches.drops.start
        if min(self._reference, default=0) < 0:
            floating = tuple(node for node, part in enumerate(self._component) if self._reference[part] < 0)
        return {
            "volts": tuple(settled.volts),
            "resistor_amperes": tuple(amperes[:first]),
            "source_amperes": tuple(-i for i in amperes[first:last]),
            "drop_amperes": tuple(
                0.0 if state in STILL else i for i, state in zip(amperes[last:], settled.conduct, strict=True)
            ),
            "floating": floating,
            "component": tuple(self._component),
            "reference": tuple(self._reference),
        }

    def settle(self, injected: Sequence[float], crossing: Sequence[tuple[int, int, float]]) -> Settled:
        """injected: amperes put into each node; crossing: the same load by load (from, to, amperes)."""
        most = max((abs(load[2]) for load in crossing), default=0.0)
        fewest, patience, turns = len(self._conduct) + 1, PATIENCE, 0
        first = self._branches.drops.start
        # how often a drop that conducts nothing has been offered a better state: idle first, then blocked
        offers = [0] * len(self._conduct)
        volts: list[float] = [float("nan")] * self._branches.nodes
        emf: list[float] = []
        seen: set[tuple[Conduct, ...]] = set()
        self._start(injected, offers)
        while turns < MAX_TURNS:
            turns += 1
            self._factorise(first)
            changes = self._starved(crossing)
            if not changes:
                emf = self._emf()
                volts = self._place(self._linear.solve(emf, injected))
                amperes = self._linear.amperes(self._branches.drops, volts, emf, injected)
                least = self._least_amperes(amperes, volts, most)
                changes = self._refuted(amperes, volts, least, offers)
                if not changes:
                    changes = self._improved(amperes, least, offers)
                    fewest = len(self._conduct) + 1
                if not changes:
                    return Settled(volts, emf, list(self._conduct), self._linear, turns, converged=True)
            if len(changes) < fewest:
                fewest, patience = len(changes), PATIENCE
            elif patience and tuple(self._conduct) not in seen:
                patience -= 1
            else:
                patience = 0
                lowest = min(changes)
                changes = {lowest: changes[lowest]}
            seen.add(tuple(self._conduct))
            self._change(changes)
        return Settled(volts, emf, list(self._conduct), self._linear, turns, converged=False)

    def _start(self, injected: Sequence[float], offers: list[int]) -> None:
        """States that are known before anything is solved."""

    def _change(self, changes: dict[int, Conduct]) -> None:
        for k, state in changes.items():
            self._conduct[k] = state

    def _emf(self) -> list[float]:
        return self._source_volts + [
            volts * (state if state != Conduct.BLOCKED else 0)
            for volts, state in zip(self._drop_volts, self._conduct, strict=True)
        ]

    def _factorise(self, first: int) -> None:
        blocked = frozenset(first + k for k, state in enumerate(self._conduct) if state == Conduct.BLOCKED)
        if blocked != self._linear.blocked:
            self._linear = self._made(blocked)
            self._between = None

    def _made(self, blocked: frozenset[int]) -> Linear:
        return Linear(self._branches, blocked, self._plain_up_to)

    def _gaps(self) -> tuple[list[int], Factor] | None:
        """The blocked drops between parts that only they connect, and these parts' system; None if they split
        nothing."""
        if self._linear.parts == len(self._reference):
            return None
        if self._between is None:
            a, b, part = self._branches.a, self._branches.b, self._linear.part
            gaps = [k for k in sorted(self._linear.blocked) if part(a[k]) != part(b[k])]
            ends = ([part(a[k]) for k in gaps], [part(b[k]) for k in gaps], [1.0] * len(gaps))
            self._between = (gaps, factor(self._linear.parts, *ends, plain_up_to=self._plain_up_to))
        return self._between

    def _starved(self, crossing: Sequence[tuple[int, int, float]]) -> dict[int, Conduct]:
        """Blocked drops that must conduct because a part behind them draws current."""
        between = self._gaps()
        if between is None:
            return {}
        gaps, spread = between
        part, first = self._linear.part, self._branches.drops.start
        surplus = [0.0] * self._linear.parts
        largest = 0.0
        for a, b, amperes in crossing:
            largest = max(largest, abs(amperes))
            if part(a) != part(b):
                surplus[part(a)] -= amperes
                surplus[part(b)] += amperes
        if max(map(abs, surplus)) <= TOLERANCE * largest:
            return {}
        level = spread.solve(surplus)
        flows = [level[part(self._branches.a[k])] - level[part(self._branches.b[k])] for k in gaps]
        least = TOLERANCE * max(map(abs, flows))
        return {
            k - first: Conduct.FORWARD if flow > 0 else Conduct.REVERSE
            for k, flow in zip(gaps, flows, strict=True)
            if abs(flow) > least
        }

    def _place(self, volts: list[float]) -> list[float]:
        """Shift the parts: against each other so that blocked drops hold off least, then all to their references."""
        shift = [0.0] * self._linear.parts
        part = self._linear.part
        between = self._gaps()
        if between is not None:
            gaps, spread = between
            for k in gaps:
                a, b = self._branches.a[k], self._branches.b[k]
                held = volts[a] - volts[b]
                shift[part(a)] -= held
                shift[part(b)] += held
            shift = spread.solve(shift)
        base = [volts[node] + shift[part(node)] if node >= 0 else float("nan") for node in self._reference]
        if between is None:
            # one part a component: shift by components, which need not be numbered alike
            return [v - base[c] for v, c in zip(volts, self._component, strict=True)]
        cluster, parts = self._linear.cluster, self._linear.factor.part
        return [v + shift[parts[at]] - base[c] for v, at, c in zip(volts, cluster, self._component, strict=True)]

    def _least_amperes(self, amperes: Sequence[float], volts: Sequence[float], most: float) -> float:
        """Currents at or below this are nothing: rounding of the smallest resistance's current is the floor."""
        largest = max(max(map(abs, amperes), default=0.0), most)
        highest = max((abs(v) for v in volts if v == v), default=0.0)
        return max(TOLERANCE * largest, 256 * EPSILON * highest * self._linear.largest_siemens)

    def _refuted(
        self, amperes: Sequence[float], volts: Sequence[float], least: float, offers: list[int]
    ) -> dict[int, Conduct]:
        changes: dict[int, Conduct] = {}
        a, b, first = self._branches.a, self._branches.b, self._branches.drops.start
        for k, (state, current) in enumerate(zip(self._conduct, amperes, strict=True)):
            if state == Conduct.BLOCKED:
                held = volts[a[first + k]] - volts[b[first + k]]
                if abs(held) > self._drop_volts[k] * (1 + TOLERANCE) + TOLERANCE:
                    changes[k] = Conduct.FORWARD if held > 0 else Conduct.REVERSE
            elif state == Conduct.IDLE:
                if abs(current) > least:
                    changes[k] = Conduct.FORWARD if current > 0 else Conduct.REVERSE
                    offers[k] = max(offers[k], 1)
            elif state * current < -least:
                changes[k] = Conduct.BLOCKED
        return changes

    def _improved(self, amperes: Sequence[float], least: float, offers: list[int]) -> dict[int, Conduct]:
        """Conducting drops without current: they may be, but a drop without current drops nothing where nothing
        else says more."""
        changes: dict[int, Conduct] = {}
        for k, (state, current) in enumerate(zip(self._conduct, amperes, strict=True)):
            if abs(state) == 1 and abs(current) <= least and offers[k] < 2:
                changes[k] = Conduct.BLOCKED if offers[k] else Conduct.IDLE
                offers[k] += 1
        return changes
