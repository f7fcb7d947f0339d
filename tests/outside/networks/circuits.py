"""Writes circuits as the sources print them: one element a line, `R1 1 0 4`, node 0 the return."""

from attrs import frozen

from blockcheck.solver.network import Builder, Network
from blockcheck.solver.solve import Operating, operating_point


@frozen
class Circuit:
    """A solved circuit whose nodes and elements go by the names in its text."""

    network: Network
    nodes: dict[str, int]
    numbers: dict[str, int]
    operating: Operating

    def volts(self, plus: str, minus: str = "0") -> float:
        return self.operating.volts[self.nodes[plus]] - self.operating.volts[self.nodes[minus]]

    def amperes(self, name: str) -> float:
        """Along the element as written; out of plus for a source."""
        kinds = {
            "R": self.operating.resistor_amperes,
            "V": self.operating.source_amperes,
            "D": self.operating.drop_amperes,
            "I": self.operating.sink_amperes,
        }
        return kinds[name[0]][self.numbers[name]]


def circuit(text: str) -> Circuit:
    """Elements, split by `;` or lines: R a b ohms; V plus minus volts [ohms]; D a b volts [ohms]; I a b amperes
    [least [asleep]]."""
    builder = Builder()
    nodes: dict[str, int] = {}
    numbers: dict[str, int] = {}
    for line in text.replace(";", "\n").splitlines():
        if not line.strip():
            continue
        name, first, second, *values = line.split()
        for node in (first, second):
            if node not in nodes:
                nodes[node] = builder.node()
        make = {"R": builder.resistor, "V": builder.source, "D": builder.drop, "I": builder.sink}[name[0]]
        numbers[name] = make(nodes[first], nodes[second], *map(float, values))  # type: ignore[operator]
    network = builder.build()
    return Circuit(network, nodes, numbers, operating_point(network))
