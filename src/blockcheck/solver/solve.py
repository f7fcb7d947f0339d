"""The operating point of a network, and what part of a current each of its parts carries."""

from collections.abc import Sequence
from typing import NamedTuple

from blockcheck.solver.drops import Conduct, Settler
from blockcheck.solver.fed import fed
from blockcheck.solver.linear import Branches, Linear, branches_of, plain
from blockcheck.solver.network import Network
from blockcheck.solver.sparse import PLAIN_UNKNOWNS, components

# a load is below its least voltage, or below another load, when it is so by more than rounding
TOLERANCE = 1e-9


class Operating(NamedTuple):
    """The state a network settles in. SI units; every column follows the network's own.

    volts: above the reference of the node's connected part, which is the minus of its first source; nan where the
    part has no source (floating, decided on the graph).
    resistor_amperes, drop_amperes, sink_amperes: from a to b. source_amperes: out of plus. A floating part carries
    none. asleep: loads that have fallen asleep. unfed: loads that no source can drive, whatever the voltages: no
    loop of conductors runs through them and a source; they draw nothing.
    iterations: linear solutions in all. converged: False if the drops' states were still changing when that was
    given up.
    """

    volts: Sequence[float]
    resistor_amperes: Sequence[float]
    source_amperes: Sequence[float]
    drop_amperes: Sequence[float]
    sink_amperes: Sequence[float]
    conduct: tuple[Conduct, ...]
    asleep: tuple[int, ...]
    unfed: tuple[int, ...]
    floating: tuple[int, ...]
    component: Sequence[int]
    reference: Sequence[int]
    iterations: int
    converged: bool
    linear: Linear
    settler: Settler


class _Loads:
    """The loads' states, and the currents they put into nodes."""

    def __init__(self, network: Network, component: Sequence[int], reference: Sequence[int]) -> None:
        sinks = network.sinks
        self.a, self.b = plain(sinks.a), plain(sinks.b)
        self.awake_amperes, self.least = plain(sinks.amperes), plain(sinks.minimum_volts)
        self.asleep_amperes = plain(sinks.asleep_amperes)
        self.asleep: list[int] = []
        self.unfed: set[int] = set()
        self._awake = set(range(len(self.a)))
        for k, (a, b) in enumerate(zip(self.a, self.b, strict=True)):
            if component[a] != component[b] or reference[component[a]] < 0:
                self.cut_off(k)

    def cut_off(self, k: int) -> None:
        self.unfed.add(k)
        self._awake.discard(k)

    def amperes(self) -> list[float]:
        drawn = list(self.awake_amperes)
        for k in self.asleep:
            drawn[k] = self.asleep_amperes[k]
        for k in self.unfed:
            drawn[k] = 0.0
        return drawn

    def doubtful(self, volts: Sequence[float]) -> list[int]:
        """Loads without forward voltage: if any load is unfed, one of these is.

        What has no loop in common with a source takes no power from one: its loads' powers sum to nought or less.
        """
        return [k for k in range(len(self.a)) if k not in self.unfed and volts[self.a[k]] <= volts[self.b[k]]]

    def put_lowest_to_sleep(self, volts: Sequence[float]) -> bool:
        """Of the loads below their least voltage the lowest, the first of equals; False if there is none."""
        lowest, at = float("inf"), -1
        for k in sorted(self._awake):
            seen, least = volts[self.a[k]] - volts[self.b[k]], self.least[k]
            if seen < least - TOLERANCE * (1 + abs(least)) and seen < lowest - TOLERANCE:
                lowest, at = seen, k
        if at < 0:
            return False
        self._awake.discard(at)
        self.asleep.append(at)
        return True


def operating_point(network: Network, *, plain_up_to: int = PLAIN_UNKNOWNS, like: Operating | None = None) -> Operating:
    """Solve a network: drops by complementarity, loads asleep one by one from the lowest voltage up, none waking again.

    plain_up_to: the most nodes for which the back end without scipy is used.
    like: an operating point of the same network under other loads, whose factorisations serve again.
    Raises NetworkError if sources without resistance contradict each other.
    """
    settler, branches, component, reference = _settler(network, plain_up_to, like)
    loads = _Loads(network, component, reference)
    iterations, checked = 0, False
    while True:
        drawn = loads.amperes()
        injected = settler.injected(loads.a, loads.b, drawn)
        settled = settler.settle(injected, list(zip(loads.a, loads.b, drawn, strict=True)))
        iterations += settled.turns
        if not settled.converged:
            break
        if not checked:
            doubtful = loads.doubtful(settled.volts)
            checked = True
            if doubtful and _cut_off_unfed(branches, loads):
                continue
        if not loads.put_lowest_to_sleep(settled.volts):
            break
    return Operating(
        **settler.columns(settled, injected),
        sink_amperes=tuple(drawn),
        conduct=tuple(settled.conduct),
        asleep=tuple(loads.asleep),
        unfed=tuple(sorted(loads.unfed)),
        iterations=iterations,
        converged=settled.converged,
        linear=settled.linear,
        settler=settler,
    )


def _settler(
    network: Network, plain_up_to: int, like: Operating | None
) -> tuple[Settler, Branches, Sequence[int], Sequence[int]]:
    """The settler of a network, its branches, the component of every node, the reference of every component."""
    if network.grouping is not None:
        from blockcheck.solver.settle_large import LargeSettler

        large = LargeSettler(network, network.grouping, like.linear if like is not None else None)
        return large, large.branches, plain(large.component), plain(large.reference)  # type: ignore[arg-type]
    if like is not None:
        return like.settler, like.linear.branches, like.component, like.reference
    branches = branches_of(network)
    component = components(network.nodes, branches.a, branches.b, plain_up_to=plain_up_to)
    reference = [-1] * (max(component, default=-1) + 1)
    for k in range(branches.resistors + branches.sources - 1, branches.resistors - 1, -1):
        reference[component[branches.b[k]]] = branches.b[k]
    settler = Settler(
        branches, plain(network.sources.volts), plain(network.drops.volts), component, reference, plain_up_to
    )
    return settler, branches, component, reference


def _cut_off_unfed(branches: Branches, loads: _Loads) -> bool:
    """Take off the loads that no source can drive; False if there is none besides those already off."""
    edges = list(zip(branches.a, branches.b, strict=True))
    first, last = branches.resistors, branches.drops.start
    left = [k for k in range(len(loads.a)) if k not in loads.unfed]
    ends = [(loads.a[k], loads.b[k]) for k in left]
    driven = fed(branches.nodes, edges[:first] + edges[last:], edges[first:last], ends)
    for k, on in zip(left, driven, strict=True):
        if not on:
            loads.cut_off(k)
    return not all(driven)


def drop_shares(network: Network, linear: Linear, a: int, b: int) -> list[float]:
    """What part of a current out of node a and back into b each drop carries, as long as none changes its state.

    Costs a solution.
    """
    return branch_shares(network, linear, linear.branches.drops, a, b)


def branch_shares(network: Network, linear: Linear, which: Sequence[int], a: int, b: int) -> list[float]:
    """As `drop_shares`, of any branches."""
    if not which:
        return []
    still = [0.0] * (len(linear.branches.a) - linear.branches.resistors)
    drawn = [0.0] * network.nodes
    drawn[a] -= 1.0
    drawn[b] += 1.0
    return list(plain(linear.amperes(which, linear.solve(still, drawn), still, drawn)))


def opposing_volts(network: Network, operating: Operating, pairs: Sequence[tuple[int, int]]) -> list[float]:
    """What idle drops take off the voltage of each pair, once a current flows out of its first node and back into
    its second.

    Each takes its voltage times the share of the current that it carries, so that a current i leaves
    volts - opposing_volts - ohms * i, exactly, as long as those drops conduct that way and the others stay as they are.
    Costs a solution a pair.
    """
    volts = plain(network.drops.volts)
    idle = [k for k, state in enumerate(operating.conduct) if state == Conduct.IDLE and volts[k]]
    found = []
    for a, b in pairs:
        shares = drop_shares(network, operating.linear, a, b) if idle else []
        found.append(sum(abs(shares[k]) * volts[k] for k in idle))
    return found
