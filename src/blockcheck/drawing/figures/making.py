"""The figures of a layout: rings and lines, drawn, read back, and drawn again with less where they are not clean."""

from __future__ import annotations

from collections.abc import Callable, Set
from math import hypot

from attrs import evolve, frozen

from blockcheck.drawing.figures.doubles import double
from blockcheck.drawing.figures.figure import Figure
from blockcheck.drawing.figures.folds import MOST_FOLDED, line
from blockcheck.drawing.figures.lines import pieces
from blockcheck.drawing.figures.maker import Maker
from blockcheck.drawing.figures.read_back import Faults, audit, touching
from blockcheck.drawing.figures.rings import ring
from blockcheck.drawing.figures.runs import run
from blockcheck.drawing.plan.parts import Item, weight
from blockcheck.drawing.plan.reduce import Reduced

Items = tuple[Item, ...]
SPREAD, MOST_SPREAD = 24.0, 120.0
"""By how much the line at a turnout is made longer where nothing fits beside it."""


@frozen(eq=False)
class Making:
    """How the figures of a layout are made. ``meetings`` are the pairs of blocks that meet; ``fits`` says whether a
    figure fits a sheet, ``widest`` how wide one may be, ``size`` how large it could be drawn."""

    maker: Maker
    meetings: Set[frozenset[str]]
    widest: float
    fits: Callable[[Figure], bool]
    size: Callable[[Figure], float]

    def figures(self, reduced: Reduced) -> tuple[Figure, ...]:
        """All that can be drawn clean; what is missing is to be told in lists."""
        rings = [*reduced.rings]
        made: list[Figure] = []
        if len(rings) == 2:
            trial = self.maker.trial()
            both = double(trial, *sorted(rings, key=weight))
            if both is not None and not audit(both).places and self.fits(both):
                self.maker.adopt(trial)
                made.append(both)
                rings = []
        ways: list[tuple[Items, bool, bool]] = [(one, True, True) for one in rings]
        ways += [(one, False, True) for one in (*reduced.lines, *self.maker.extra.values())]
        while ways:
            items, closed, whole = ways.pop(0)
            before = {*self.maker.extra}
            long = closed and self._long(items)
            figure = None if long else _clean(self.maker, items, ring if closed else self._line, self.meetings)
            if figure is not None and self.fits(figure):
                made.append(figure)
                ways += [(run_, False, True) for key, run_ in self.maker.extra.items() if key not in before]
                continue
            self._drop({*self.maker.extra} - before)
            if whole and (figure is not None or long):
                parts = pieces(self.maker.trial(), items, self.widest, closed, self._letter)
                ways = [(part, False, False) for part in parts if len(parts) > 1] + ways
        return tuple(made)

    def _line(self, maker: Maker, items: Items) -> Figure:
        return line(maker, items, self.widest, self.size)

    def _long(self, items: Items) -> bool:
        """Whether a run cannot be on one sheet, however it is bent."""
        trial = self.maker.trial()
        return sum(run(trial, [item]).width for item in items) > MOST_FOLDED * self.widest

    def _letter(self) -> str:
        return self.maker.letter(f"piece {len(self.maker.letters)}")

    def _drop(self, keys: Set[str]) -> None:
        for key in keys:
            del self.maker.extra[key]


def _clean(
    maker: Maker, items: Items, way: Callable[[Maker, Items], Figure], meetings: Set[frozenset[str]]
) -> Figure | None:
    """A figure without a fault: room is made where there is none; pendants near a fault are drawn by themselves."""
    apart: frozenset[str] = frozenset()
    spread: dict[str, float] = {}
    while True:
        trial = evolve(maker.trial(), apart=apart, spread=spread)
        figure = way(trial, items)
        cramped = [fork for fork in sorted(trial.unplaced) if spread.get(fork, 0.0) < MOST_SPREAD]
        if cramped:
            spread |= {fork: spread.get(fork, 0.0) + SPREAD for fork in cramped}
            continue
        faults = audit(figure)
        if not faults.places and not trial.unplaced and touching([figure]) <= meetings:
            maker.extra.update(trial.extra)
            return figure
        suspects = _suspects(trial, figure, faults, apart)
        if not suspects:
            return None
        apart |= {suspects[0]}


def _suspects(maker: Maker, figure: Figure, faults: Faults, apart: frozenset[str]) -> list[str]:
    """The turnouts with a pendant that could be taken out, nearest to a fault first;
    before them the legs of lenses that end, heaviest first."""
    hanging = [fork for fork in figure.forks if fork.name in maker.hung and fork.name not in apart]

    def far(at: tuple[float, float]) -> float:
        return min((hypot(at[0] - place[0], at[1] - place[1]) for place in faults.places), default=0.0)

    dead = sorted((key for key in maker.dead if key not in apart), key=lambda key: -maker.dead[key])
    return dead + [fork.name for fork in sorted(hanging, key=lambda fork: far(fork.at))]
