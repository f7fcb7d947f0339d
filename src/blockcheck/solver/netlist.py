"""A network as a deck for ngspice, in the state that an operating point found: everything in it is linear.

A node n is `n<n>`, or 0 if it is the reference of its part. Conducting drops are voltage sources, blocked ones are
left out, loads are current sources. Connections without resistance are sources of 0 V, as far as they close no
loop. Floating parts are left out: ngspice would give them 0 V.
"""

from collections.abc import Iterator

from blockcheck.solver.drops import Conduct
from blockcheck.solver.linear import branches_of, plain
from blockcheck.solver.network import Network
from blockcheck.solver.solve import Operating, operating_point
from blockcheck.solver.sparse import join


def netlist(network: Network, operating: Operating | None = None, title: str = "operating point") -> str:
    """The deck, with a control block that writes every voltage and current as text to `operating.raw` and quits.

    operating: the network's operating point; found here if not given.
    """
    operating = operating or operating_point(network)
    lines = [f"* {title.splitlines()[0] if title else ''}", *_Deck(network, operating).parts()]
    lines += [".control", "set filetype=ascii", "set numdgt=16", "op", "write operating.raw", "quit", ".endc", ".end"]
    return "\n".join(lines) + "\n"


def name_of(operating: Operating, node: int) -> str:
    """The deck's name of a node."""
    return "0" if operating.reference[operating.component[node]] == node else f"n{node}"


class _Deck:
    def __init__(self, network: Network, operating: Operating) -> None:
        self._network = network
        self._operating = operating
        self._branches = branches_of(network)
        # what sources of voltage without resistance unite already, and what anything unites
        self._stiff = list(range(network.nodes))
        self._united = list(range(network.nodes))
        floating = set(operating.floating)
        self._live = [node not in floating for node in range(network.nodes)]

    def parts(self) -> Iterator[str]:
        first, drops = self._branches.resistors, self._branches.drops
        for k in range(first):
            yield self._branch(f"r{k}", k, 0.0)
        for k, volts in enumerate(plain(self._network.sources.volts)):
            yield self._branch(f"v{k}", first + k, volts)
        held: list[int] = []
        for k, volts in enumerate(plain(self._network.drops.volts)):
            state = self._operating.conduct[k]
            if state == Conduct.BLOCKED:
                held.append(k)
            else:
                yield self._branch(f"d{k}", drops[k], volts * state)
        yield from self._blocked(held)
        sinks = self._network.sinks
        for k, (a, b) in enumerate(zip(plain(sinks.a), plain(sinks.b), strict=True)):
            if k not in self._operating.unfed:
                yield f"il{k} {self._name(a)} {self._name(b)} dc {self._operating.sink_amperes[k]!r}"

    def _name(self, node: int) -> str:
        return name_of(self._operating, node)

    def _branch(self, name: str, k: int, emf: float) -> str:
        """One branch: a resistor, a source, or a source and a resistor in series."""
        a, b, ohms = self._branches.a[k], self._branches.b[k], self._branches.ohms[k]
        ends = f"{self._name(a)} {self._name(b)}"
        if not self._live[a]:
            return f"* {name} {ends}: floating"
        join(self._united, a, b)
        if not ohms:
            if a != b and join(self._stiff, a, b):
                return f"v{name} {ends} dc {emf!r}"
            return f"* {name} {ends}: closes a loop without resistance"
        if not emf:
            return f"r{name} {ends} {ohms!r}"
        middle = f"m{name}"
        return f"v{name} {self._name(a)} {middle} dc {emf!r}\nr{name} {middle} {self._name(b)} {ohms!r}"

    def _blocked(self, held: list[int]) -> Iterator[str]:
        """Blocked drops are open; one that alone ties its side to the rest holds it at the voltage found, without
        current."""
        volts = self._operating.volts
        for k in held:
            at = self._branches.drops[k]
            a, b = self._branches.a[at], self._branches.b[at]
            ends = f"{self._name(a)} {self._name(b)}"
            if self._live[a] and join(self._united, a, b):
                yield f"* d{k}: blocked, carries nothing"
                yield f"vd{k} {ends} dc {volts[a] - volts[b]!r}"
            else:
                yield f"* d{k} {ends}: blocked"
