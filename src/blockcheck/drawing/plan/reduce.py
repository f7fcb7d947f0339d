"""A layout's turnouts, taken together until lines and rings of nested parts are left.

Each step takes the first rule that fits; ties go by the order of the file. Where none fits, an edge is cut.
"""

from __future__ import annotations

from attrs import evolve, frozen

from blockcheck.drawing.plan.net import Net, Run, net
from blockcheck.drawing.plan.parts import (
    Balloon,
    Fan,
    Leaf,
    Lens,
    Siding,
    Stretch,
    Triangle,
    Yard,
    backwards,
    told,
    weight,
)
from blockcheck.drawing.plan.ports import Port, Ports, read
from blockcheck.model.layout import Layout

MOST_TRIED = 10
"""Cuts that are tried out, of a net of many edges: the lightest."""
SMALL_NET = 60
"""Edges of a net of which all are tried."""


@frozen(eq=False)
class Reduced:
    """Lines and rings, with the ports that they were made of."""

    lines: tuple[Run, ...]
    rings: tuple[Run, ...]
    ports: Ports

    def __str__(self) -> str:
        """What came of it, one a line: ``ring Lens<main pass> east-curve north``."""
        return "\n".join([*(f"line {told(run)}" for run in self.lines), *(f"ring {told(run)}" for run in self.rings)])


def reduced(layout: Layout, most: int = 10**6) -> Reduced:
    """The lines and rings of a layout; none of one with more turnouts than ``most``."""
    ports = read(layout)
    if len(ports.turnouts) + len(ports.guessed) > most:
        return Reduced((), (), ports)
    made = net(ports)
    while made.forks:
        if not step(made):
            _cut(made)
    return Reduced(tuple(made.lines), tuple(made.rings), made.ports)


def step(made: Net) -> bool:
    """One reduction; False where none fits."""
    return yard(made) or balloon(made) or lens(made) or triangle(made) or siding(made)


def yard(made: Net) -> bool:
    """A fan all of whose legs end, largest first: a part at the end of what lies at its toe."""
    for fan in made.fans():
        if all(leaf.dead for leaf in fan.leaves()) and len({*fan.forks()}) == sum(1 for _ in fan.forks()):
            made.clear(fan)
            made.end_with(fan.fork, Yard(fan))
            return True
    return False


def balloon(made: Net) -> bool:
    """Both legs of a turnout are the two ends of one edge."""
    for fork in made.forks:
        if made.at[fork, "through"] == made.at[fork, "diverging"]:
            items, _ = made.take((fork, "through"))
            made.forks.pop(fork)
            made.end_with(fork, Balloon(fork, items))
            return True
    return False


def lens(made: Net) -> bool:
    """Two fans with the same live legs, at least two; the pair with most first."""
    later, pairs = dict[frozenset[int], list[Fan]](), list[tuple[Fan, Fan]]()
    for fan in reversed(made.fans()):
        live, own = fan.live, {*fan.forks()}
        same = later.setdefault(live, []) if len(live) > 1 else []
        pairs[:0] = [(fan, other) for other in reversed(same) if not own & {*other.forks()}]
        same.append(fan)
    if not pairs:
        return False
    left, right = max(pairs, key=lambda pair: len(pair[0].live))
    left = _seen_from(made, left, {*left.forks()})
    made.clear(left)
    made.clear(right)
    made.between((left.fork, "toe"), Lens(left, right), (right.fork, "toe"))
    return True


def _seen_from(made: Net, fan: Fan, forks: set[str]) -> Fan:
    """A fan whose leaves tell their track from its own side on."""

    def turned(node: Fan | Leaf) -> Fan | Leaf:
        if isinstance(node, Fan):
            return evolve(node, through=turned(node.through), diverging=turned(node.diverging))
        edge = made.edges[node.edge]
        ours = edge.first is not None and edge.first[0] in forks
        return node if node.dead else evolve(node, items=edge.items if ours else backwards(edge.items))

    made_over = turned(fan)
    assert isinstance(made_over, Fan)
    return made_over


def triangle(made: Net) -> bool:
    """Three turnouts whose legs lead to each other's legs over plain track, with one toe that ends, the lightest.

    On the base, which is a part of the line, there may be sidings that leave it straight.
    """
    return any(_triangle(made, fork) for fork in made.forks)


def _triangle(made: Net, fork: str) -> bool:
    found = _corners(made, fork)
    if found is None:
        return False
    ending = [one for one in found if made.see((one, "toe"))[1] is None]
    if not ending:
        return False
    order = [*made.ports.turnouts, *made.ports.guessed]
    top = min(ending, key=lambda one: (not _straight(made, found, one), _heft(made, one), -order.index(one)))
    left, right = (one for one in found if one != top)
    ports = [_side(made, left, right), _side(made, left, top), _side(made, right, top)]
    base, left_side, right_side = (made.see(port)[0] for port in ports)
    if max(len(left_side), len(right_side)) > 1 or not all(
        isinstance(one, Stretch) for one in (*left_side, *right_side)
    ):
        return False
    if not all(isinstance(one, Stretch) or (isinstance(one, Siding) and one.leg == "through") for one in base):
        return False
    legs = (ports[0][1], _side(made, right, left)[1], _side(made, top, left)[1])
    tail, _ = made.take((top, "toe"))
    for port in ports:
        made.take(port)
    for one in found:
        made.forks.pop(one)
    part = Triangle(left, right, top, base, left_side, right_side, tail, legs)
    made.between((left, "toe"), part, (right, "toe"))
    return True


def _straight(made: Net, corners: tuple[str, str, str], top: str) -> bool:
    """Whether the side opposite a corner is the through leg at both its ends."""
    one, other = (corner for corner in corners if corner != top)
    return _side(made, one, other)[1] == _side(made, other, one)[1] == "through"


def _heft(made: Net, fork: str) -> int:
    return weight(made.see((fork, "toe"))[0])


def _corners(made: Net, fork: str) -> tuple[str, str, str] | None:
    """The three turnouts of a triangle."""
    one, two = (made.see((fork, leg))[1] for leg in ("through", "diverging"))
    if one is None or two is None or "toe" in (one[1], two[1]) or len({fork, one[0], two[0]}) < 3:
        return None
    beyond = made.see((one[0], "diverging" if one[1] == "through" else "through"))[1]
    if beyond is None or beyond[0] != two[0] or beyond[1] == "toe":
        return None
    return fork, one[0], two[0]


def _side(made: Net, one: str, other: str) -> Port:
    """The leg of a turnout that leads to another."""
    for leg in ("through", "diverging"):
        there = made.see((one, leg))[1]
        if there is not None and there[0] == other:
            return one, leg
    raise AssertionError(one, other)


def siding(made: Net) -> bool:
    """A turnout with one leg that ends, lightest first, so that what carries most stays the line."""
    found: list[tuple[int, int, str, str, str]] = []
    for fork in made.forks:
        for leg, other in (("diverging", "through"), ("through", "diverging")):
            items, there = made.see((fork, leg))
            if there is None and made.see((fork, other))[1] is not None:
                found.append((weight(items), len(found), fork, leg, other))
    if not found:
        return False
    _, _, fork, leg, other = min(found)
    items, _ = made.take((fork, leg))
    made.forks.pop(fork)
    made.between((fork, "toe"), Siding(fork, other, items), (fork, other))
    return True


def _cut(made: Net) -> None:
    """A crossover first, else the edge after whose cut least is left; a whole ring counts for it."""
    edges = [
        (not _crossover(edge.first, edge.last, edge.items), weight(edge.items), number)
        for number, edge in made.edges.items()
        if edge.first is not None and edge.last is not None
    ]
    if len(edges) > SMALL_NET:
        edges = sorted(edges)[:MOST_TRIED]
    made.cut(min(edges, key=lambda one: (one[0], _left(made, one[2]), *one[1:]))[2])


def _crossover(first: Port | None, last: Port | None, items: Run) -> bool:
    return first is not None and last is not None and "toe" not in (first[1], last[1]) and not weight(items)


def _left(made: Net, number: int) -> int:
    """How much is left after a cut, once all is reduced that can be."""
    trial = made.copy()
    trial.cut(number)
    while step(trial):
        pass
    return 3 * len(trial.edges) - len(trial.rings)
