"""`drops.Settler` for large networks: the same rules for the drops' states, by numpy on all drops at once."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from blockcheck.solver.cells import Bools
from blockcheck.solver.column import Column
from blockcheck.solver.drops import EPSILON, STILL, TOLERANCE, Conduct, Settled, Settler
from blockcheck.solver.large import LargeLinear, large_branches
from blockcheck.solver.linear import Branches, Linear
from blockcheck.solver.network import Grouping, Network
from blockcheck.solver.rounds import Floats, Ints


class LargeSettler(Settler):
    """As `Settler`; volts and currents are numpy arrays."""

    def __init__(self, network: Network, grouping: Grouping, like: Linear | None) -> None:
        """like: the same branches, factorised before."""
        self._grouping = grouping
        if isinstance(like, LargeLinear):
            self._closed = like.closed
        else:
            self._closed = LargeLinear(large_branches(network), grouping)
        branches = self._closed.branches
        self.component = self._closed.component
        self.reference = np.full(self._closed.parts, -1)
        sources = slice(branches.resistors, branches.resistors + branches.sources)
        minus = np.asarray(branches.b[sources])[::-1]
        self.reference[self.component[minus]] = minus  # the first source of each part comes last and stays
        volts = np.asarray(network.sources.volts, dtype=np.float64).tolist()
        drops = np.asarray(network.drops.volts, dtype=np.float64)
        self._least_volts: Floats = drops
        self._states: Ints = np.full(len(drops), int(Conduct.IDLE))
        self._source_array = np.array(volts, dtype=np.float64)
        super().__init__(branches, volts, drops.tolist(), self.component, self.reference, 0)  # type: ignore[arg-type]

    @property
    def branches(self) -> Branches:
        return self._branches

    def _made(self, blocked: frozenset[int]) -> Linear:
        return LargeLinear(self._branches, self._grouping, blocked, self._closed) if blocked else self._closed

    def columns(self, settled: Settled, injected: Sequence[float]) -> dict[str, Any]:
        """As `Settler.columns`; what flows in resistors is worked out when it is asked for."""
        linear, branches = settled.linear, self._branches
        assert isinstance(linear, LargeLinear)
        volts, currents = np.asarray(settled.volts), np.asarray(injected, dtype=np.float64)
        emf, first, last = settled.emf, branches.resistors, branches.drops.start
        amperes = linear.currents(volts, linear.series(emf), currents, resistors=False)
        still = np.isin(self._states, STILL)
        return {
            "volts": Column(len(volts), lambda: volts),
            "resistor_amperes": Column(first, lambda: linear.currents(volts, linear.series(emf), currents)[:first]),
            "source_amperes": tuple((-amperes[first:last]).tolist()),
            "drop_amperes": tuple(np.where(still, 0.0, amperes[last:]).tolist()),
            "floating": tuple(np.flatnonzero(self.reference[self.component] < 0).tolist()),
            "component": Column(len(volts), lambda: self.component),
            "reference": tuple(self.reference.tolist()),
        }

    def injected(self, a: Sequence[int], b: Sequence[int], drawn: Sequence[float]) -> Sequence[float]:
        nodes, amperes = self._branches.nodes, np.asarray(drawn, dtype=np.float64)
        back = np.bincount(np.asarray(b, dtype=np.int64), amperes, nodes)
        return back - np.bincount(np.asarray(a, dtype=np.int64), amperes, nodes)  # type: ignore[return-value]

    def _start(self, injected: Sequence[float], offers: list[int]) -> None:
        """A drop that alone leads into a pocket carries all that is drawn there: its state needs no solution."""
        linear, first = self._linear, self._branches.drops.start
        assert isinstance(linear, LargeLinear)
        if not np.any(injected) or self._states.any():
            return
        kept = linear.closed.pockets
        fed = kept.drop_of >= 0
        put_in = np.bincount(kept.drop_of[fed], np.asarray(injected)[fed], len(self._states))
        sure = np.flatnonzero(np.abs(put_in) > TOLERANCE * np.abs(injected).max())
        # the pocket lies behind b, or behind a
        behind = kept.drop_of[np.asarray(self._branches.b)[first:][sure]] == sure
        forth = (put_in[sure] < 0) == behind
        self._change(
            {k: Conduct.FORWARD if on else Conduct.REVERSE for k, on in zip(sure.tolist(), forth.tolist(), strict=True)}
        )
        for k in sure.tolist():
            offers[k] = 1

    def _change(self, changes: dict[int, Conduct]) -> None:
        super()._change(changes)
        self._states[list(changes)] = list(changes.values())

    def _emf(self) -> list[float]:
        states = self._states
        ways = np.where(states == Conduct.BLOCKED, 0, states)
        return np.concatenate([self._source_array, self._least_volts * ways])  # type: ignore[return-value]

    def _place(self, volts: list[float]) -> list[float]:
        linear = self._linear
        assert isinstance(linear, LargeLinear)
        solved, part = np.asarray(volts), np.asarray(linear.factor.part)[linear.cluster_at]
        between = self._gaps()
        if between is not None:
            gaps, spread = np.array(between[0]), between[1]
            a, b = np.asarray(self._branches.a)[gaps], np.asarray(self._branches.b)[gaps]
            held = solved[a] - solved[b]
            shift = np.bincount(part[b], held, linear.parts) - np.bincount(part[a], held, linear.parts)
            solved = solved + np.asarray(spread.solve(shift.tolist()))[part]
        base = np.where(self.reference >= 0, solved[self.reference], np.nan)
        return solved - base[self.component]  # type: ignore[return-value]

    def _least_amperes(self, amperes: Sequence[float], volts: Sequence[float], most: float) -> float:
        largest = max(float(np.abs(amperes).max(initial=0.0)), most)
        highest = float(np.nanmax(np.abs(volts), initial=0.0))
        return max(TOLERANCE * largest, 256 * EPSILON * highest * self._linear.largest_siemens)

    def _refuted(
        self, amperes: Sequence[float], volts: Sequence[float], least: float, offers: list[int]
    ) -> dict[int, Conduct]:
        states, flows, drops = self._states, np.asarray(amperes), self._branches.drops
        solved = np.asarray(volts)
        a, b = (np.asarray(ends)[drops.start : drops.stop] for ends in (self._branches.a, self._branches.b))
        held = solved[a] - solved[b]
        changes: dict[int, Conduct] = {}
        bursts = (states == Conduct.BLOCKED) & (np.abs(held) > self._least_volts * (1 + TOLERANCE) + TOLERANCE)
        changes.update(_ways(bursts, held))
        wakes = (states == Conduct.IDLE) & (np.abs(flows) > least)
        changes.update(_ways(wakes, flows))
        for k in np.flatnonzero(wakes).tolist():
            offers[k] = max(offers[k], 1)
        wrong = (np.abs(states) == 1) & (states * flows < -least)
        changes.update(dict.fromkeys(np.flatnonzero(wrong).tolist(), Conduct.BLOCKED))
        return dict(sorted(changes.items()))

    def _improved(self, amperes: Sequence[float], least: float, offers: list[int]) -> dict[int, Conduct]:
        resting = (np.abs(self._states) == 1) & (np.abs(amperes) <= least)
        changes: dict[int, Conduct] = {}
        for k in np.flatnonzero(resting).tolist():
            if offers[k] < 2:
                changes[k] = Conduct.BLOCKED if offers[k] else Conduct.IDLE
                offers[k] += 1
        return changes


def _ways(chosen: Bools, sign: Floats) -> dict[int, Conduct]:
    """Those chosen, each conducting the way that the sign has it."""
    return {k: Conduct.FORWARD if sign[k] > 0 else Conduct.REVERSE for k in np.flatnonzero(chosen).tolist()}
