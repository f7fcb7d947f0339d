"""Makes figures of parts: what all ways of placing share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from math import hypot

from attrs import evolve, field, frozen

from blockcheck.drawing.figures.figure import ROW, End, Figure, Gap, Point, Room
from blockcheck.drawing.plan.parts import Balloon, Coil, Cut, Item, Lens, Siding, Stop, Stretch, Triangle, Yard
from blockcheck.drawing.plan.ports import Ports

STUB = 4.0
"""Track before an arrow."""


@frozen(eq=False)
class Maker:
    """How figures are made. ``run`` is how far a slope leads along for each unit that it rises."""

    ports: Ports
    room: Callable[[str], float]
    """Block -> what its words take of a line."""
    words: Callable[[str], float]
    """What a text takes of a line, beside an arrow."""
    helix: frozenset[str] = frozenset()
    """Blocks that wind up."""
    turns: Callable[[str], int] = lambda _: 1
    run: float = 1.0
    eights: frozenset[str] = frozenset()
    """Blocks of a figure of eight."""
    inward: frozenset[str] = frozenset()
    """Blocks whose yard lies inside its circle."""
    decks: Mapping[str, int] = field(factory=dict)
    """Block -> the deck that it lies on."""
    apart: frozenset[str] = frozenset()
    """Turnouts, and edges of a lens that end, of which what hangs there is drawn by itself."""
    letters: dict[str, str] = field(factory=dict)
    hung: set[str] = field(factory=set)
    """Turnouts whose pendant hangs where it belongs."""
    dead: dict[str, int] = field(factory=dict)
    """Edge of a leg of a lens that ends, and how much it carries."""
    unplaced: set[str] = field(factory=set)
    """Turnouts beside which there was no room even for an arrow."""
    spread: Mapping[str, float] = field(factory=dict)
    """Turnout -> how much longer its line is, so that there is."""
    extra: dict[str, tuple[Item, ...]] = field(factory=dict)
    """What is drawn by itself, by the same."""

    def throat(self, fork: str) -> str:
        """The block that a turnout lies in."""
        return self.ports.throat(fork)

    def slope(self, across: int = 1, down: int = 1) -> Point:
        """The direction of a slope."""
        long = hypot(self.run, 1)
        return (across * self.run / long, down / long)

    def width(self, block: str) -> float:
        return max(2 * ROW, self.room(block) + 4)

    def stretch(self, item: Stretch, before: float = 0.0, after: float = 0.0) -> Figure:
        """A block, longer on either side than its words need."""
        width = self.width(item.block)
        made = Figure(width=before + width + after)
        made.line(item.block, (0, 0), (made.width, 0))
        made.add(Room((made.width / 2, 0), item.block, self.room(item.block)))
        for x, joint in ((0.0, item.joint_first), (made.width, item.joint_last)):
            if joint is not None:
                made.add(Gap((x, 0), joint))
        return made

    def stop(self, item: Stop | Cut, block: str) -> Figure:
        """The end of a run: a bumper, or a stub with an arrow."""
        if isinstance(item, Stop):
            return Figure([End((0, 0))])
        made = Figure(width=STUB)
        made.line(block, (0, 0), (STUB, 0))
        made.add(End((STUB, 0), 1, item.letter, item.to, self.words(f"{item.letter} to {item.to}")))
        return made

    def helices(self, items: Iterable[Item]) -> tuple[Item, ...]:
        """A run whose blocks that wind up are taken together."""
        made: list[Item] = []
        for item in items:
            if not isinstance(item, Stretch) or item.block not in self.helix:
                made.append(item)
            elif made and isinstance(made[-1], Coil):
                made[-1] = Coil((*made[-1].items, item))
            else:
                made.append(Coil((item,)))
        return tuple(made)

    def end_block(self, items: Sequence[Item], first: bool = True) -> str | None:
        """The block at an end of a run."""
        for item in items if first else reversed(items):
            match item:
                case Stretch():
                    return item.block
                case Coil():
                    return item.items[0 if first else -1].block
                case Lens():
                    return self.throat((item.left if first != item.turned else item.right).fork)
                case Yard():
                    return self.throat(item.fan.fork)
                case Triangle():
                    return self.throat(item.left if first else item.right)
                case Siding() | Balloon():
                    return self.throat(item.fork)
        return None

    def groups(self, names: Iterable[str]) -> set[str]:
        """The groups of some blocks."""
        found = (self.ports.layout.blocks[name].group for name in names)
        return {str(group) for group in found if group is not None}

    def trial(self) -> Maker:
        """Itself, to try something with."""
        return evolve(self, hung=set(), dead={}, unplaced=set(), extra=dict(self.extra))

    def adopt(self, trial: Maker) -> None:
        """What was tried is kept."""
        self.hung.update(trial.hung)
        self.dead.update(trial.dead)
        self.unplaced.update(trial.unplaced)
        self.extra.clear()
        self.extra.update(trial.extra)

    def letter(self, fork: str) -> str:
        """The letter of a pendant that is drawn by itself."""
        return self.letters.setdefault(fork, str(len(self.letters) + 1))


def up_to_row(value: float) -> float:
    """The next half row."""
    half = ROW / 2
    return -(-(value - 1e-6) // half) * half
