"""Turnouts and the track between them: edges that lead from port to port, with what lies on each."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count

from attrs import field, frozen

from blockcheck.drawing.plan.parts import Cut, Fan, Item, Leaf, Stop, Stretch, backwards
from blockcheck.drawing.plan.ports import LEGS, Port, Ports

Run = tuple[Item, ...]


@frozen
class Edge:
    """Track from one leg to another; an end that leads nowhere is None."""

    first: Port | None
    last: Port | None
    items: Run


@frozen(eq=False)
class Net:
    """What is left to be reduced, and the lines and rings that are finished."""

    ports: Ports
    forks: dict[str, None] = field(factory=dict)
    edges: dict[int, Edge] = field(factory=dict)
    at: dict[Port, int] = field(factory=dict)
    """Leg -> the edge there."""
    lines: list[Run] = field(factory=list)
    rings: list[Run] = field(factory=list)
    numbers: count[int] = field(factory=lambda: count(1))
    letters: count[int] = field(factory=count)

    def copy(self) -> Net:
        """To try something on: what is finished is left behind."""
        return Net(self.ports, dict(self.forks), dict(self.edges), dict(self.at), numbers=count(10**6))

    def add(self, first: Port | None, last: Port | None, items: Run) -> None:
        """A new edge; one without a turnout is a line."""
        if first is None and last is None:
            self.lines.append(items)
            return
        number = next(self.numbers)
        self.edges[number] = Edge(first, last, items)
        for port in (first, last):
            if port is not None:
                self.at[port] = number

    def forget(self, number: int) -> None:
        edge = self.edges.pop(number)
        for port in (edge.first, edge.last):
            if port is not None:
                self.at.pop(port, None)

    def see(self, port: Port) -> tuple[Run, Port | None]:
        """The edge at a leg, from there on, and where it leads."""
        edge = self.edges[self.at[port]]
        return (edge.items, edge.last) if edge.first == port else (backwards(edge.items), edge.first)

    def take(self, port: Port) -> tuple[Run, Port | None]:
        """The same, taken away."""
        seen = self.see(port)
        self.forget(self.at[port])
        return seen

    def fan(self, fork: str, seen: tuple[str, ...] = ()) -> Fan:
        """The fan that begins at a turnout's toe."""
        through, diverging = (self._child(fork, leg, (*seen, fork)) for leg in ("through", "diverging"))
        return Fan(fork, through, diverging)

    def _child(self, fork: str, leg: str, seen: tuple[str, ...]) -> Fan | Leaf:
        items, there = self.see((fork, leg))
        if there is not None and there[1] == "toe" and not items and there[0] not in seen:
            return self.fan(there[0], seen)
        return Leaf(self.at[fork, leg], items, there is None)

    def fans(self) -> list[Fan]:
        """All fans, those with most legs first."""
        return sorted(map(self.fan, self.forks), key=lambda fan: -sum(1 for _ in fan.leaves()))

    def clear(self, fan: Fan) -> None:
        """Take away a fan's turnouts, and what joins them to each other and to its leaves."""
        for leaf in fan.leaves():
            if leaf.edge in self.edges:
                self.forget(leaf.edge)
        for fork in fan.forks():
            for leg in ("through", "diverging"):
                if (fork, leg) in self.at:
                    self.forget(self.at[fork, leg])
            self.forks.pop(fork)

    def end_with(self, fork: str, part: Item) -> None:
        """A part takes the place of a turnout, at the end of what lies at its toe."""
        before, other = self.take((fork, "toe"))
        self.add(other, None, (*backwards(before), part))

    def between(self, first: Port, part: Item, last: Port) -> None:
        """A part takes the place of what lay between two legs."""
        if self.at[first] == self.at[last]:
            items, _ = self.take(last)
            self.rings.append((part, *items))
            return
        before, start = self.take(first)
        after, end = self.take(last)
        self.add(start, end, (*backwards(before), part, *after))

    def cut(self, number: int) -> None:
        """Cut an edge at its last end: both sides end, with the same letter."""
        edge = self.edges[number]
        assert edge.first is not None
        assert edge.last is not None
        self.forget(number)
        letter = _letter(next(self.letters))
        stretches = [one.block for one in edge.items if isinstance(one, Stretch)]
        back = stretches[-1] if stretches else edge.first[0]
        self.add(edge.first, None, (*edge.items, Cut(letter, edge.last[0])))
        self.add(edge.last, None, (Cut(letter, back),))


def _letter(number: int) -> str:
    """A, B ... Z, AA ..."""
    text = ""
    while number >= 0:
        text, number = chr(65 + number % 26) + text, number // 26 - 1
    return text


def net(ports: Ports) -> Net:
    """The net of a layout."""
    forks = [*ports.turnouts, *ports.guessed]
    made = Net(ports, dict.fromkeys(forks))
    seen: set[str] = set()
    for fork in forks:
        for leg in LEGS:
            if (fork, leg) not in made.at:
                items, there = _walk(made, (fork, leg), seen)
                made.add((fork, leg), there, items)
    for block in ports.plain:
        if block not in seen:
            _loose(made, block, seen)
    return made


def _loose(made: Net, block: str, seen: set[str]) -> None:
    """A block from which no way leads to a turnout: part of a line, or of a ring."""
    seen.add(block)
    after, there = _walk(made, (block, "far"), seen)
    joint = made.ports.joint
    own = Stretch(block, False, joint.get((block, "near")), joint.get((block, "far")))
    if there == (block, "near"):
        made.rings.append((own, *after))
        return
    before, _ = _walk(made, (block, "near"), seen)
    made.lines.append((*backwards(before), own, *after))


def _walk(made: Net, port: Port, seen: set[str]) -> tuple[Run, Port | None]:
    """What lies beyond a port, up to a turnout, to the end, or back to where it began."""
    items: list[Item] = []
    ports = made.ports
    start = port
    while True:
        there = ports.link.get(port)
        if there is None:
            return (*items, Stop()), None
        if there[1] in LEGS or (there[0] == start[0] and start[1] not in LEGS):
            return tuple(items), there
        block, end = there
        seen.add(block)
        port = (block, "far" if end == "near" else "near")
        items.append(Stretch(block, end == "far", ports.joint.get(there), ports.joint.get(port)))


def letters(runs: Iterable[Run]) -> set[str]:
    """The letters of all cuts at the ends of runs."""
    return {one.letter for run in runs for one in run if isinstance(one, Cut)}
