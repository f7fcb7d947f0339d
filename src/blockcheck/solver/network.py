"""An electrical network: numbered nodes, and columns of what lies between them.

Columns are parallel sequences, one entry a part. Any sequence serves; those that `Builder` makes are
`array.array`, which numpy reads through the buffer protocol without touching the elements.
"""

from array import array
from collections.abc import Iterator, Sequence
from math import inf
from typing import NamedTuple

from attrs import field, frozen

Entries = dict[tuple[int, int], float]
"""Entries of an inverse: volts at the first node for an ampere into the second."""


class NetworkError(ValueError):
    """A network that has no operating point: a bad number, or sources that contradict each other."""


class Resistors(NamedTuple):
    """Conductors from `a` to `b`. Nought ohms is a plain connection: its ends become one node."""

    a: Sequence[int] = ()
    b: Sequence[int] = ()
    ohms: Sequence[float] = ()


class Sources(NamedTuple):
    """Ideal sources of `volts`, each behind `ohms` (may be nought)."""

    plus: Sequence[int] = ()
    minus: Sequence[int] = ()
    volts: Sequence[float] = ()
    ohms: Sequence[float] = ()


class Drops(NamedTuple):
    """Constant drops from `a` to `b`, in series with `ohms` (may be nought).

    A drop conducts in either direction and opposes the current: a current i from a to b meets volts * sign(i) +
    ohms * i. Without current it holds off any voltage up to `volts` either way, and drops nothing where nothing
    else says what it holds off.
    """

    a: Sequence[int] = ()
    b: Sequence[int] = ()
    volts: Sequence[float] = ()
    ohms: Sequence[float] = ()


class Sinks(NamedTuple):
    """Loads that draw constant `amperes` from `a` to `b`.

    A load that has less than `minimum_volts` while it draws falls asleep, and then draws `asleep_amperes` for
    good. A minimum of minus infinity means that it draws at any voltage.
    """

    a: Sequence[int] = ()
    b: Sequence[int] = ()
    amperes: Sequence[float] = ()
    minimum_volts: Sequence[float] = ()
    asleep_amperes: Sequence[float] = ()


class Grouping(NamedTuple):
    """The cells of a large network, for `cells.Cells`: the cell of every node, or -1, and pairs of cells between which
    ohms are wanted. The columns of such a network are numpy arrays."""

    of_node: Sequence[int]
    first: Sequence[int]
    second: Sequence[int]


@frozen(eq=False, repr=False)
class Network:
    """`nodes` nodes, 0 .. nodes - 1, and what connects them. SI units throughout.

    One with a `grouping` is solved by cells, any other node by node; the operating points are the same.

    Raises NetworkError for unequal columns, nodes out of range, negative resistances or drops, and numbers that
    are not finite.
    """

    nodes: int
    resistors: Resistors = field(default=Resistors())
    sources: Sources = field(default=Sources())
    drops: Drops = field(default=Drops())
    sinks: Sinks = field(default=Sinks())
    grouping: Grouping | None = field(default=None)

    def __attrs_post_init__(self) -> None:
        for table in (self.resistors, self.sources, self.drops, self.sinks):
            _check_table(table, self.nodes)


def _check_table(table: Resistors | Sources | Drops | Sinks, nodes: int) -> None:
    kind = type(table).__name__.lower()
    if len({len(column) for column in table}) > 1:
        raise NetworkError(f"{kind}: columns of unequal length")
    if not len(table[0]):
        return
    for ends in (table[0], table[1]):
        if _least(ends) < 0 or _most(ends) >= nodes:
            raise NetworkError(f"{kind}: a node outside 0 .. {nodes - 1}")
    for name, column in zip(table._fields[2:], table[2:], strict=True):
        unsigned = name == "ohms" or (name == "volts" and isinstance(table, Drops))
        lowest = 0.0 if unsigned else -inf
        # a sum that is not finite finds a nan anywhere; min and max alone may miss it
        if name != "minimum_volts" and not -inf < _sum(column) < inf:
            raise NetworkError(f"{kind}: {name} that are not finite")
        if name == "minimum_volts" and not _sum(column) < inf:  # what is nan or inf makes the sum so
            raise NetworkError(f"{kind}: {name} that are not numbers")
        if _least(column) < lowest:
            raise NetworkError(f"{kind}: negative {name}")


def _least(column: Sequence[float]) -> float:
    """As min; the columns of a large network are numpy arrays, which do it themselves."""
    own = getattr(column, "min", None)
    return min(column) if own is None else float(own())


def _most(column: Sequence[float]) -> float:
    own = getattr(column, "max", None)
    return max(column) if own is None else float(own())


def _sum(column: Sequence[float]) -> float:
    own = getattr(column, "sum", None)
    return sum(column) if own is None else float(own())


class _Columns:
    """Growing columns of one kind of part: two ends and its numbers."""

    def __init__(self, numbers: int) -> None:
        self.a, self.b = array("i"), array("i")
        self.numbers = tuple(array("d") for _ in range(numbers))

    def add(self, a: int, b: int, *numbers: float) -> int:
        self.a.append(a)
        self.b.append(b)
        for column, number in zip(self.numbers, numbers, strict=True):
            column.append(number)
        return len(self.a) - 1

    def frozen_numbers(self) -> Iterator[Sequence[float]]:
        return (column[:] for column in self.numbers)


class Builder:
    """Collects parts and freezes them to a Network; every method returns the number of what it made."""

    def __init__(self, nodes: int = 0) -> None:
        self._nodes = nodes
        self._resistors, self._sources, self._drops, self._sinks = _Columns(1), _Columns(2), _Columns(2), _Columns(3)

    @property
    def resistors(self) -> int:
        """How many there are so far."""
        return len(self._resistors.a)

    def node(self) -> int:
        return self.more_nodes(1)

    def more_nodes(self, count: int) -> int:
        """Several nodes in a row; the number of the first."""
        self._nodes += count
        return self._nodes - count

    def resistor(self, a: int, b: int, ohms: float) -> int:
        return self._resistors.add(a, b, ohms)

    def source(self, plus: int, minus: int, volts: float, ohms: float = 0.0) -> int:
        return self._sources.add(plus, minus, volts, ohms)

    def drop(self, a: int, b: int, volts: float, ohms: float = 0.0) -> int:
        return self._drops.add(a, b, volts, ohms)

    def sink(
        self, a: int, b: int, amperes: float, minimum_volts: float | None = None, asleep_amperes: float = 0.0
    ) -> int:
        return self._sinks.add(a, b, amperes, -inf if minimum_volts is None else minimum_volts, asleep_amperes)

    def build(self) -> Network:
        resistors, sources, drops, sinks = self._resistors, self._sources, self._drops, self._sinks
        return Network(
            self._nodes,
            Resistors(resistors.a[:], resistors.b[:], *resistors.frozen_numbers()),
            Sources(sources.a[:], sources.b[:], *sources.frozen_numbers()),
            Drops(drops.a[:], drops.b[:], *drops.frozen_numbers()),
            Sinks(sinks.a[:], sinks.b[:], *sinks.frozen_numbers()),
        )
