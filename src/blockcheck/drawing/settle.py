"""Words on a picture: each at the first of its places where no other word is, and as little track as can be."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import field, frozen

from blockcheck.drawing.entries import mark_sign
from blockcheck.drawing.figures.figure import Extent, Point
from blockcheck.drawing.shapes import Canvas
from blockcheck.drawing.words import BETWEEN, Word, row_width

BAND = 4.0


@frozen(eq=False)
class Settler:
    """Sets words on a canvas. ``scale`` is millimetres a unit; nothing stands beyond ``width``."""

    canvas: Canvas
    scale: float
    width: float
    tracks: Sequence[Extent]
    least: float
    most: float
    """Where in units the uppermost track with its words begins, and where the lowest ends."""
    _texts: dict[int, list[Extent]] = field(factory=dict)
    _lines: dict[int, list[Extent]] = field(factory=dict)

    def __attrs_post_init__(self) -> None:
        for box in self.tracks:
            _keep(self._lines, box)

    def box(self, words: Sequence[Word], at: Point, anchor: str, least: float = 0.0) -> Extent:
        """What words would take, their baseline at a point."""
        width = max(row_width(words), least) * self.scale
        left = at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
        size = max(word.size for word in words) * self.scale
        return (left, at[1] - 0.85 * size, left + width, at[1] + 0.25 * size)

    def free(self, box: Extent) -> bool:
        """Whether no word is there, and it lies on the sheet."""
        return box[0] >= 0 and box[2] <= self.width and not any(_over(box, one) for one in _near(self._texts, box))

    def stands_alone(self, box: Extent) -> bool:
        """Whether it lies between the uppermost track and the lowest, and none is so near over or under it that words
        there would be read as its name."""
        beyond = 2.5 * self.scale
        inside = self.least * self.scale <= box[1] and box[3] <= self.most * self.scale
        return inside and not self.hidden((box[0], box[1] - beyond, box[2], box[3] + beyond))

    def hidden(self, box: Extent) -> float:
        """How much track words would cover."""
        return sum(_over(box, one) for one in _near(self._lines, box))

    def place(
        self,
        words: Sequence[Word],
        places: Iterable[tuple[Point, str]],
        of: tuple[str, str],
        least: float = 0.0,
        ending: Sequence[Word] | None = None,
        clear: bool = False,
    ) -> bool:
        """Set words at the best of some places; False where there is none. ``ending`` is their order before a place;
        ``clear`` ones cover no track."""
        best: tuple[float, int, Point, str] | None = None
        for number, (at, anchor) in enumerate(places):
            box = self.box(words, at, anchor, least)
            if not self.free(box):
                continue
            key = (round(max(0.0, self.hidden(box) - 1.0), 1), number, at, anchor)
            best = key if best is None else min(best, key)
            if best[0] == 0:
                break
        if best is None or (clear and best[0] > 0):
            return False
        anchor = best[3]
        self.set(words if anchor != "end" or ending is None else ending, best[2], anchor, of, least)
        return True

    def set(self, words: Sequence[Word], at: Point, anchor: str, of: tuple[str, str], least: float = 0.0) -> None:
        """Set words at a place, and keep it."""
        room = self.box(words, at, anchor, least)
        _keep(self._texts, room)
        x = self.box(words, at, anchor)[0]
        for word in words:
            size, width = word.size * self.scale, word.width * self.scale
            if word.kind == "mark":
                mark_sign(self.canvas, word.state or "note", x, at[1], of, self.scale * 0.9)
                lead = 2.4 * self.scale
                self.canvas.label(word.kind, word.text, (x + lead, at[1]), size, word.bold, of=of)
            else:
                self.canvas.label(word.kind, word.text, (x, at[1]), size, word.bold, state=word.state, of=of)
            x += width + BETWEEN * self.scale


def _keep(bands: dict[int, list[Extent]], box: Extent) -> None:
    for band in range(int(box[1] // BAND), int(box[3] // BAND) + 1):
        bands.setdefault(band, []).append(box)


def _near(bands: dict[int, list[Extent]], box: Extent) -> Iterable[Extent]:
    for band in range(int(box[1] // BAND), int(box[3] // BAND) + 1):
        yield from bands.get(band, ())


def _over(one: Extent, other: Extent) -> float:
    """How much two areas share."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return max(0.0, across) * max(0.0, down)
