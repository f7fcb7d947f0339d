"""Fans: from the toe each turnout is one of three forks, its through leg straight on and the diverging at an angle.

``slope``: through leads to a fork, and goes on along the slope; diverging leaves level.
``level``: through is a track, and goes straight on; diverging leaves at an angle, and a ladder there is on its slope.
``split``: the root where both legs are ladders of like size; through rises, diverging falls.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from attrs import evolve, field, frozen

from blockcheck.drawing.figures.figure import LEAD, ROW, End, Figure, Fork
from blockcheck.drawing.figures.maker import Maker, up_to_row
from blockcheck.drawing.plan.parts import Cut, Fan, Leaf, Stop, Stretch, blocks, weight

TAIL = 4.0
"""Level track of a throat behind its last bend."""
SIGN = 1.0
"""How far the sign of a joint at its start reaches back."""
LIKE = 3
"""How many times larger one of two ladders may be for both to leave their turnout at an angle."""

Run = Callable[..., Figure]


@frozen(eq=False)
class Shape:
    """A fan with a row for every leaf; the opposite one takes the rows as they are."""

    maker: Maker
    fan: Fan
    rows: dict[int, float] = field(factory=dict)
    style: dict[str, tuple[str, int]] = field(factory=dict, init=False)
    """Turnout -> which fork it is, and the way its slope leads: 1 is down."""
    apart: set[int] = field(factory=set, init=False)
    """Leaves before which a row stays free."""
    order: list[Leaf] = field(factory=list, init=False)
    """From top to bottom."""
    x: dict[int, float] = field(factory=dict, init=False)
    """Leaf -> where it begins."""
    owner: dict[int, str] = field(factory=dict, init=False)
    """Leaf -> the block that leads to it."""
    figure: Figure = field(factory=Figure, init=False)
    told: bool = field(init=False)
    """Whether the rows were there before its forks were chosen."""

    @told.default
    def _told(self) -> bool:
        return bool(self.rows)

    def __attrs_post_init__(self) -> None:
        self.order.extend(self._plan(self.fan, 1, False, root=True))

    def _below(self, fan: Fan) -> bool | None:
        """Whether the through leg lies below the diverging, where rows tell."""
        return self._mean(fan.through) > self._mean(fan.diverging) if self.told else None

    def _mean(self, node: Fan | Leaf) -> float:
        found = [self.rows[leaf.edge] for leaf in node.leaves()]
        return sum(found) / len(found)

    def _plan(self, node: Fan | Leaf, slope: int, sloping: bool, root: bool = False) -> list[Leaf]:
        """Choose each fork; the leaves from top to bottom."""
        if isinstance(node, Leaf):
            return [node]
        below = self._below(node)
        if root and _alike(node):
            slope = -1 if below is None else 1 if below else -1
            self.style[node.fork] = ("split", slope)
            a, b = self._plan(node.through, slope, False), self._plan(node.diverging, -slope, True)
            self.apart.add((b if slope < 0 else a)[0].edge)
            return a + b if slope < 0 else b + a
        if isinstance(node.through, Fan) or (not isinstance(node.diverging, Fan) and sloping):
            slope = slope if below is None else 1 if below else -1
            self.style[node.fork] = ("slope", slope)
            a, b = self._plan(node.diverging, slope, False), self._plan(node.through, slope, True)
        else:
            slope = slope if below is None else -1 if below else 1
            self.style[node.fork] = ("level", slope)
            a, b = self._plan(node.through, slope, False), self._plan(node.diverging, slope, True)
        return a + b if slope > 0 else b + a

    def _row(self, node: Fan | Leaf) -> float:
        """The row of a fork or a leaf."""
        if isinstance(node, Leaf):
            return self.rows[node.edge]
        style, _ = self.style[node.fork]
        if style == "slope":
            return self._entry(node.diverging)
        if style == "level":
            return self._entry(node.through)
        return (self._entry(node.through) + self._row(node.diverging)) / 2

    def _entry(self, node: Fan | Leaf) -> float:
        """The row on which it is reached level."""
        if isinstance(node, Leaf) or self.style[node.fork][0] != "slope":
            return self._row(node)
        return self._row(node) - self.style[node.fork][1] * ROW / 2

    def place(self, rows: dict[int, float], sloping: bool = False) -> float:
        """Draw it, with these rows, from its toe's row on, which is returned.

        ``sloping`` where it is reached on a slope already.
        """
        self.rows.update(rows)
        style, slope = self.style[self.fan.fork]
        sloping = sloping and style == "slope"
        start = self._row(self.fan) if sloping else self._entry(self.fan)
        self._go(self.fan, 0.0, start, slope if sloping else 0, LEAD)
        return start

    def _go(self, node: Fan | Leaf, x: float, y: float, heading: int, lead: float, block: str = "") -> None:
        """Draw from a point on: ``heading`` is 0 level, else the way of the slope that leads there."""
        if isinstance(node, Leaf):
            self._leaf(node, x, y, heading, block)
        elif self.style[node.fork][0] == "slope":
            self._slope(node, x, y, heading, lead)
        else:
            self._level(node, x, y, lead)

    def _leaf(self, leaf: Leaf, x: float, y: float, heading: int, block: str) -> None:
        row = self._row(leaf)
        points = [(x, y)]
        if abs(row - y) > 1e-6:
            if heading == 0:
                x += LEAD
                points.append((x, y))
            x += abs(row - y) * self.maker.run
            points.append((x, row))
        x += TAIL
        self.figure.line(block, *points, (x, row))
        self.x[leaf.edge], self.owner[leaf.edge] = x, block

    def _slope(self, fan: Fan, x: float, y: float, heading: int, lead: float) -> None:
        _, slope = self.style[fan.fork]
        row, own, points = self._row(fan), self.maker.throat(fan.fork), [(x, y)]
        if heading != slope:
            entry = self._entry(fan)
            if heading and abs(entry - y) > 1e-6:
                x += abs(entry - y) * self.maker.run
                y = entry
                points.append((x, y))
            x += lead
            points.append((x, y))
        x += abs(row - y) * self.maker.run
        self.figure.line(own, *points, (x, row))
        toe, through = self.maker.slope(-1, -slope), self.maker.slope(1, slope)
        self.figure.add(Fork((x, row), fan.fork, toe, through, (1, 0)))
        self._go(fan.through, x, row, slope, LEAD, own)
        room = LEAD
        if isinstance(fan.diverging, Fan):  # for the names between two slopes
            room = 4 + max(map(self.maker.words, fan.diverging.forks()))
        self._go(fan.diverging, x, row, 0, room, own)

    def _level(self, fan: Fan, x: float, y: float, lead: float) -> None:
        style, slope = self.style[fan.fork]
        row, own, points = self._row(fan), self.maker.throat(fan.fork), [(x, y)]
        if abs(row - y) > 1e-6:
            x += abs(row - y) * self.maker.run
            points.append((x, row))
        x += lead
        self.figure.line(own, *points, (x, row))
        down = slope if style == "level" else -slope
        self.figure.add(Fork((x, row), fan.fork, (-1, 0), (1, 0), self.maker.slope(1, down)))
        self._go(fan.through, x, row, 0, LEAD, own)
        self._go(fan.diverging, x, row, down, LEAD, own)


def _alike(fan: Fan) -> bool:
    """Whether both legs are ladders, of like size."""
    if not (isinstance(fan.through, Fan) and isinstance(fan.diverging, Fan)):
        return False
    counts = [sum(1 for _ in leg.leaves()) for leg in (fan.through, fan.diverging)]
    return min(counts) * LIKE >= max(counts)


def fanned(maker: Maker, run: Run, left: Fan, right: Fan | None = None, sloping: bool = False) -> Figure:
    """A yard, or with ``right`` a lens, from the toe at its left."""
    if right is not None:
        left, right = _thinned(maker, left), _thinned(maker, right)
    return _Fanned(maker, run, left, right).figure(sloping)


def _thinned(maker: Maker, fan: Fan) -> Fan:
    """A fan of a lens without the legs that end and are to be drawn by themselves."""

    def leg(node: Fan | Leaf, fork: str) -> Fan | Leaf:
        if isinstance(node, Fan):
            return _thinned(maker, node)
        if not node.dead or not weight(node.items):
            return node
        key = f"{node.edge}"
        if key not in maker.apart:
            maker.dead.setdefault(key, weight(node.items))
            return node
        maker.extra[key] = (Cut(maker.letter(key), fork), *node.items)
        names = blocks(node.items)
        to = names[0] if names else maker.end_block(node.items) or "there"
        return Leaf(node.edge, (Cut(maker.letter(key), to),), True)

    return evolve(fan, through=leg(fan.through, fan.fork), diverging=leg(fan.diverging, fan.fork))


Side = tuple[Shape, float, float]


@frozen(eq=False)
class _Fanned:
    maker: Maker
    run: Run
    left: Fan
    right: Fan | None
    bodies: dict[int, Figure] = field(factory=dict, init=False)
    rows: dict[int, float] = field(factory=dict, init=False)

    def figure(self, sloping: bool) -> Figure:
        shape = Shape(self.maker, self.left)
        lone = [leaf for leaf in self.right.leaves() if leaf.dead] if self.right is not None else []
        self._stack([*shape.order, *lone], shape.apart)
        start = shape.place(self.rows, sloping)
        made = Figure()
        if self.right is None:
            self._stubs(made, shape, shape.order, aligned=True)
            made.put(shape.figure)
            return _settled(made, made.extent[2], start)
        rows = {edge: row + self.bodies[edge].end for edge, row in self.rows.items()}
        other = Shape(self.maker, self.right, rows)
        end = other.place(rows)
        starts, ends = self._starts(shape), self._starts(other)
        width = self._width(shape, starts, ends)
        self._stubs(made, shape, [leaf for leaf in shape.order if leaf.dead], aligned=False)
        for leaf in lone:
            body = self.run(self.maker, leaf.items, start=other.owner[leaf.edge]).flipped()
            made.put(body, width - other.x[leaf.edge] - body.width, self.rows[leaf.edge])
        for leaf in shape.order:
            if not leaf.dead:
                own, there = starts[leaf.edge], width - ends[leaf.edge]
                self._through(made, leaf, (shape, shape.x[leaf.edge], own), (other, width - other.x[leaf.edge], there))
        made.put(shape.figure)
        made.put(other.figure, width, 0, -1)
        return _settled(made, width, start, end)

    def _stack(self, leaves: list[Leaf], apart: set[int]) -> None:
        """A row for each leaf, as high as what lies in it."""
        y = before = 0.0
        for number, leaf in enumerate(leaves):
            body = self.bodies[leaf.edge] = self.run(self.maker, leaf.items)
            _, up, _, down = body.extent
            if number:
                y += max(ROW, up_to_row(before - min(up, -ROW * 0.5) + 0.4)) + (ROW if leaf.edge in apart else 0)
            self.rows[leaf.edge] = y
            before = max(down, ROW * 0.2)

    def _starts(self, shape: Shape) -> dict[int, float]:
        """Where a leaf may begin: one that is higher than a row behind the longest slope."""
        longest = max(shape.x.values())
        found = {}
        for edge, x in shape.x.items():
            _, up, _, down = self.bodies[edge].extent
            found[edge] = longest if down > ROW * 0.6 or up < -ROW * 1.2 else x
        return found

    def _beyond(self, edge: int) -> tuple[float, float]:
        """How far a body reaches beyond its ports."""
        left, _, right, _ = self.bodies[edge].extent
        return max(0.0, -left), max(0.0, right - self.bodies[edge].width)

    def _width(self, shape: Shape, starts: Mapping[int, float], ends: Mapping[int, float]) -> float:
        widths = [
            starts[leaf.edge] + self.bodies[leaf.edge].width + ends[leaf.edge] + 2 + sum(self._beyond(leaf.edge))
            for leaf in shape.order
            if not leaf.dead
        ]
        return max(widths)

    def _through(self, made: Figure, leaf: Leaf, one: Side, other: Side) -> None:
        """A leaf between two fans: of each where its throat ends, and where a body on it may begin."""
        edge, row = leaf.edge, self.rows[leaf.edge]
        (shape, a, first), (there, b, last) = one, other
        if not leaf.items:  # no track of its own: the throats meet half way
            middle = (a + b) / 2
            made.line(shape.owner[edge], (a, row), (middle, row))
            made.line(there.owner[edge], (middle, row), (b, row))
            return
        body = self.bodies[edge]
        before, after = self._beyond(edge)
        spare = max(0.0, last - first - body.width - before - after) / 2
        extra = (first - a + before + spare, b - last + after + spare)
        made.put(self.run(self.maker, leaf.items, ends=extra), a, row)

    def _stubs(self, made: Figure, shape: Shape, leaves: list[Leaf], aligned: bool) -> None:
        """Leaves that end: ``aligned`` ones begun behind the longest slope, plain ones ending on one line."""
        longest = max((shape.x[leaf.edge] for leaf in leaves), default=0.0)
        plain = [leaf for leaf in leaves if _plain(leaf)]
        reach = max((self.bodies[leaf.edge].width for leaf in plain), default=0.0)
        for leaf in leaves:
            edge, x = leaf.edge, shape.x[leaf.edge]
            if isinstance(leaf.items[0], Stop):
                made.add(End((x, self.rows[edge])))
                continue
            back = self._beyond(edge)[0]  # what hangs in it may lead back to where the slope is
            before = longest - x + back if back > SIGN else longest - x if aligned else 0.0
            ends = before, reach - self.bodies[edge].width if _plain(leaf) else 0.0
            made.put(self.run(self.maker, leaf.items, start=shape.owner[edge], ends=ends), x, self.rows[edge])


def _plain(leaf: Leaf) -> bool:
    return len(leaf.items) == 2 and isinstance(leaf.items[0], Stretch) and isinstance(leaf.items[1], Stop)


def _settled(figure: Figure, width: float, start: float, end: float | None = None) -> Figure:
    """With its left port at the origin."""
    made = Figure(width=width, end=0.0 if end is None else end - start)
    made.put(figure, 0, -start)
    return made
