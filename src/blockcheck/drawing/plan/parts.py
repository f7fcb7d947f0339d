"""What a run of track consists of once its turnouts are taken together, from left to right; told in a line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

OTHER = {"through": "diverging", "diverging": "through"}
"""The other of a turnout's two legs."""


@frozen
class Stretch:
    """A block without turnouts. ``turned``: its far end comes first; the joints that its first and last end have."""

    block: str
    turned: bool = False
    joint_first: int | None = None
    joint_last: int | None = None
    ports = 2

    def back(self) -> Stretch:
        return Stretch(self.block, not self.turned, self.joint_last, self.joint_first)

    def __str__(self) -> str:
        return self.block + ("'" if self.turned else "")


@frozen
class Stop:
    """Nothing beyond."""

    ports = 1

    def back(self) -> Stop:
        return self

    def __str__(self) -> str:
        return "|"


@frozen
class Cut:
    """Where the drawing is cut: the same letter stands on the other side. ``to`` is what lies beyond."""

    letter: str
    to: str
    ports = 1

    def back(self) -> Cut:
        return self

    def __str__(self) -> str:
        return f"->{self.letter}"


@frozen
class Leaf:
    """A leg of a fan that leads to track: the edge that lies there, and what is on it, from the leg on."""

    edge: int
    items: tuple[Item, ...] = ()
    dead: bool = False

    def leaves(self) -> Iterator[Leaf]:
        yield self

    def forks(self) -> Iterator[str]:
        return iter(())


@frozen
class Fan:
    """Turnouts joined leg to toe without track between: a ladder, a ladder on a ladder, two ladders behind one."""

    fork: str
    through: Fan | Leaf
    diverging: Fan | Leaf

    def leaves(self) -> Iterator[Leaf]:
        yield from self.through.leaves()
        yield from self.diverging.leaves()

    def forks(self) -> Iterator[str]:
        yield self.fork
        yield from self.through.forks()
        yield from self.diverging.forks()

    @property
    def live(self) -> frozenset[int]:
        """The edges that lead on."""
        return frozenset(leaf.edge for leaf in self.leaves() if not leaf.dead)


@frozen
class Yard:
    """A fan all of whose legs end."""

    fan: Fan
    ports = 1

    def back(self) -> Yard:
        return self

    def __str__(self) -> str:
        return f"Yard<{_legs(self.fan)}>"


@frozen
class Lens:
    """Two fans whose legs lead to each other."""

    left: Fan
    right: Fan
    turned: bool = False
    ports = 2

    def back(self) -> Lens:
        return Lens(self.left, self.right, not self.turned)

    def __str__(self) -> str:
        return f"Lens<{_legs(self.left)}>" + ("'" if self.turned else "")


@frozen
class Balloon:
    """A turnout whose legs lead to each other; from the through leg round to the diverging."""

    fork: str
    items: tuple[Item, ...]
    ports = 1

    def back(self) -> Balloon:
        return self

    def __str__(self) -> str:
        return f"Balloon({told(self.items)})"


@frozen
class Siding:
    """A turnout on a line that takes its ``leg``, and what hangs on the other leg. ``turned``: its toe comes last."""

    fork: str
    leg: str
    items: tuple[Item, ...]
    turned: bool = False
    ports = 2

    def back(self) -> Siding:
        return Siding(self.fork, self.leg, self.items, not self.turned)

    def __str__(self) -> str:
        return f"Siding[{self.fork} {told(self.items)}]" + ("'" if self.turned else "")

    @property
    def rung(self) -> str | None:
        """The letter of the cut that is all that hangs here: half a crossover."""
        only = self.items[0] if len(self.items) == 1 and self.leg == "through" else None
        return only.letter if isinstance(only, Cut) else None


@frozen
class Triangle:
    """Three turnouts, each with its legs to both others; what hangs on the toe of ``top`` ends."""

    left: str
    right: str
    top: str
    base: tuple[Item, ...]
    left_side: tuple[Item, ...]
    right_side: tuple[Item, ...]
    tail: tuple[Item, ...]
    legs: tuple[str, str, str] = ("through", "through", "through")
    """The legs of ``left`` and ``right`` that lie on the base, and the leg of ``top`` that leads to ``left``."""
    ports = 2

    def back(self) -> Triangle:
        sides = (backwards(self.base), self.right_side, self.left_side)
        legs = (self.legs[1], self.legs[0], OTHER[self.legs[2]])
        return Triangle(self.right, self.left, self.top, *sides, self.tail, legs)

    def __str__(self) -> str:
        sides = " / ".join(map(told, (self.base, self.left_side, self.right_side)))
        return f"Triangle[{sides} / tail {told(self.tail)}]"


@frozen
class Coil:
    """Blocks that wind up, one turn or several each."""

    items: tuple[Stretch, ...]
    ports = 2

    def back(self) -> Coil:
        return Coil(tuple(one.back() for one in reversed(self.items)))

    def __str__(self) -> str:
        return f"Coil({told(self.items)})"


Item = Stretch | Stop | Cut | Yard | Lens | Balloon | Siding | Triangle | Coil


def backwards(items: Iterable[Item]) -> tuple[Item, ...]:
    """A run, read from its other end."""
    return tuple(one.back() for one in reversed(tuple(items)))


def told(items: Iterable[Item]) -> str:
    """A run in a line: what the reductions made of a layout, to be read and compared."""
    return " ".join(map(str, items))


def _legs(fan: Fan) -> str:
    return " ".join(told(leaf.items) for leaf in fan.leaves())


def weight(items: Iterable[Item]) -> int:
    """How much track a run carries, roughly in blocks."""
    return sum(map(_weight, items))


def _weight(item: Item) -> int:
    match item:
        case Stretch():
            return 1
        case Yard(fan) | Lens(fan):
            return sum(1 + weight(leaf.items) for leaf in fan.leaves())
        case Balloon():
            return 3 + weight(item.items)
        case Siding():
            return 1 + weight(item.items)
        case Triangle():
            return 6 + weight(item.tail)
        case Coil():
            return len(item.items)
    return 0


def blocks(items: Iterable[Item]) -> list[str]:
    """The blocks without turnouts that lie on a run itself, in their order."""
    found: list[str] = []
    for item in items:
        if isinstance(item, Stretch):
            found.append(item.block)
        elif isinstance(item, Coil):
            found += [one.block for one in item.items]
    return found


def forks(items: Iterable[Item]) -> Iterator[str]:
    """The turnouts of all sidings on a run, however deep."""
    for item in items:
        match item:
            case Siding():
                yield item.fork
                yield from forks(item.items)
            case Balloon():
                yield from forks(item.items)
            case Triangle():
                yield from forks(item.tail)
            case Yard(fan) | Lens(fan):
                for leaf in fan.leaves():
                    yield from forks(leaf.items)
