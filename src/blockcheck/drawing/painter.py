"""Figures painted: lines with their states, signs of joints and turnouts, and all words."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from math import hypot
from typing import TypeVar

from attrs import field, frozen

from blockcheck.drawing.along import Along, along
from blockcheck.drawing.figures.figure import ROW, End, Extent, Figure, Fork, Gap, Moved, Part, Point, Room, Stroke
from blockcheck.drawing.gaps import LEVEL, UNKNOWN, gap_sign
from blockcheck.drawing.layers import Bar
from blockcheck.drawing.plan.ports import Ports
from blockcheck.drawing.settle import Settler
from blockcheck.drawing.shapes import Canvas
from blockcheck.drawing.signposts import Signpost
from blockcheck.drawing.words import LARGE, Word, Words, row_width

Kind = TypeVar("Kind", bound=Part)
BANDS = 5
"""Ways to hatch a district; a sixth is as the first."""


@frozen(eq=False)
class Facts:
    """What is painted besides the track itself."""

    ports: Ports
    words: Mapping[str, Words]
    """Of each block; those of one that holds turnouts on one line."""
    power: Callable[[str], str | None]
    leg: Callable[[str], str]
    """Turnout -> the leg that its points are set for."""
    ringed: frozenset[int]
    """Joints with a finding."""
    districts: Mapping[str, int] = field(factory=dict)
    """Block -> the number of its district; none where there is one district only."""
    bars: Mapping[str, tuple[Bar, ...]] = field(factory=dict)
    """Block -> the trains on it."""
    drops: Mapping[str, tuple[float, ...]] = field(factory=dict)
    """Block -> its drops, as shares of its length."""
    signposts: Sequence[Signpost] = ()
    """Groups and boards."""


@frozen(eq=False)
class Painter:
    """Paints figures, side by side. ``scale`` is millimetres a unit."""

    facts: Facts
    scale: float
    width: float
    unplaced: list[str] = field(factory=list)
    """Names that no place was found for."""
    gaps: set[str] = field(factory=set)
    """The kinds of joints that there are."""
    said: set[str] = field(factory=set)
    """Blocks whose words stand."""
    posted: set[Signpost] = field(factory=set)
    """Groups and boards whose sign stands."""
    barred: set[str] = field(factory=set)
    """Blocks on whose line trains are shown."""

    def row(self, figures: Sequence[Figure]) -> Canvas:
        """A row of figures."""
        parts: list[Part] = []
        x = 0.0
        for figure in figures:
            left, top, right, _ = figure.extent
            parts += [part.moved(Moved(x - left, -top)) for part in figure.parts]
            x += right - left + ROW
        return _Row(self, parts).painted()

    def mm(self, point: Point) -> Point:
        return (point[0] * self.scale, point[1] * self.scale)


@frozen(eq=False)
class _Row:
    painter: Painter
    parts: Sequence[Part]
    canvas: Canvas = field(factory=Canvas)

    def painted(self) -> Canvas:
        strokes = [part for part in self.parts if isinstance(part, Stroke)]
        forks = [part for part in self.parts if isinstance(part, Fork)]
        self._bands(strokes)
        for stroke in strokes:
            kind = "behind" if stroke.behind else "track"
            self._line(kind, *stroke.points, state=self._state(stroke.block), of=("block", stroke.block))
        for end in self._of(End):
            self._end(end)
        told, ways = (
            {(_cell(gap.at), gap.joint): gap for gap in self._of(Gap)},
            _ways(strokes),
        )  # both blocks tell theirs
        for gap in [*told.values(), *self._untold(strokes)]:
            self._gap(gap, ways.get(_cell(gap.at), LEVEL))
        for fork in forks:
            self._fork(fork)
        lines = self._lines(strokes)
        for block, line in lines.items():
            for share in self.painter.facts.drops.get(block, ()):
                self._drop(block, line, share)
            for bar in self.painter.facts.bars.get(block, ()):
                self._bar(block, line, bar)
        self._words(strokes, forks, lines)
        return self.canvas

    def _lines(self, strokes: Sequence[Stroke]) -> dict[str, Along]:
        """The lines of blocks on which something is shown, from their near ends, where they do not branch."""
        facts, own = self.painter.facts, dict[str, list[Stroke]]()
        for stroke in strokes:
            if not stroke.behind and (stroke.block in facts.bars or stroke.block in facts.drops):
                own.setdefault(stroke.block, []).append(stroke)
        joints, starts = facts.ports.layout.joints, dict[str, Point]()
        for gap in self._of(Gap):
            if gap.joint >= 0:
                joint = joints[gap.joint]
                for name, end in zip(joint.blocks, joint.ends, strict=True):
                    if end == "near":
                        starts.setdefault(str(name), gap.at)
        found = {block: along(some, starts.get(block)) for block, some in own.items()}
        return {block: line for block, line in found.items() if line is not None}

    def _drop(self, block: str, line: Along, share: float) -> None:
        (x, y), (dx, dy) = line.at(share)
        self._line("drop", (x, y), (x - 1.6 * dy, y + 1.6 * dx), of=("block", block))

    def _bar(self, block: str, line: Along, bar: Bar) -> None:
        points = line.part(bar.start, bar.end)
        for kind in ("train", "inside"):
            self._line(kind, *points, of=("train", bar.train))
        self.painter.barred.add(block)

    def _of(self, kind: type[Kind]) -> list[Kind]:
        return [part for part in self.parts if isinstance(part, kind)]

    def _state(self, block: str) -> str:
        return self.painter.facts.power(block) or "unknown"

    def _line(
        self, kind: str, *points: Point, closed: bool = False, state: str | None = None, of: tuple[str, str]
    ) -> None:
        self.canvas.line(kind, *map(self.painter.mm, points), closed=closed, state=state, of=of)

    def _bands(self, strokes: Sequence[Stroke]) -> None:
        """The districts, behind the track."""
        for stroke in strokes:
            number = self.painter.facts.districts.get(stroke.block)
            if number is not None and not stroke.behind:
                for layer in ("tint", "hatch"):
                    self._line(f"{layer}-{number % BANDS}", *stroke.points, of=("district", str(number)))

    def _end(self, end: End) -> None:
        x, y = end.at
        block = self._at(end.at)
        if not end.to:
            self._line("stop", (x, y - 1.5), (x, y + 1.5), of=("block", block))
            return
        tip = x + 2 * end.way
        self._line("arrow", (x, y - 1.2), (tip, y), (x, y + 1.2), closed=True, of=("block", block))

    def _at(self, point: Point) -> str:
        """The block whose track ends at a point."""
        for stroke in self._of(Stroke):
            if _cell(point) in (_cell(stroke.points[0]), _cell(stroke.points[-1])):
                return stroke.block
        return ""

    def _untold(self, strokes: Sequence[Stroke]) -> Iterator[Gap]:
        """Where two blocks meet without a sign yet: between turnouts, or with no joint described (-1)."""
        told = {_cell(gap.at) for gap in self._of(Gap)}
        at: dict[tuple[int, int], tuple[Point, set[str]]] = {}
        for stroke in strokes:
            for point in (stroke.points[0], stroke.points[-1]):
                at.setdefault(_cell(point), (point, set()))[1].add(stroke.block)
        for cell, (point, names) in at.items():
            if cell not in told:
                for pair in combinations(sorted(names), 2):
                    joint = self.painter.facts.ports.meeting(*pair)
                    yield Gap(point, -1 if joint is None else joint)

    def _gap(self, gap: Gap, way: Point) -> None:
        facts = self.painter.facts
        kind = str(facts.ports.layout.joints[gap.joint].gap) if gap.joint >= 0 else UNKNOWN
        self.painter.gaps.add(kind)
        x, y = self.painter.mm(gap.at)
        gap_sign(self.canvas, x, y, kind, gap.joint in facts.ringed, ("joint", str(gap.joint)), way)

    def _fork(self, fork: Fork) -> None:
        ports = self.painter.facts.ports
        x, y = fork.at
        if fork.name in ports.guessed:
            self._line("guessed", *_octagon(x, y, 0.8), closed=True, of=("block", ports.guessed[fork.name]))
            return
        of = ("turnout", fork.name)
        self._line("points", *_octagon(x, y, 0.8), closed=True, of=of)
        way = fork.diverging if self.painter.facts.leg(fork.name) == "diverging" else fork.through
        ends = ((x + far * way[0], y + far * way[1]) for far in (1.1, 3.0))
        self._line("set", *ends, of=of)

    # --- words ---

    def _words(self, strokes: Sequence[Stroke], forks: Sequence[Fork], lines: Mapping[str, Along]) -> None:
        scale = self.painter.scale
        tracks = [tuple(value * scale for value in box) for stroke in strokes for box in stroke.boxes()]
        ys = [y for part in self.parts for box in part.boxes() for y in (box[1], box[3])]
        settler = Settler(self.canvas, scale, self.painter.width, tracks, min(ys), max(ys))  # type: ignore[arg-type]
        for room in self._of(Room):
            if room.block not in self.painter.said:
                self._room(settler, room)
        for end in self._of(End):
            if end.to:
                self._leading(settler, end)
        for fork in forks:
            if fork.name not in self.painter.facts.ports.guessed:
                self._name(settler, fork)
        held: dict[str, list[Fork]] = {}
        for fork in forks:
            held.setdefault(self.painter.facts.ports.throat(fork.name), []).append(fork)
        for block, own in held.items():
            if block not in self.painter.said:
                self._throat(settler, block, own)
        for post in self.painter.facts.signposts:
            if post not in self.painter.posted:
                self._post(settler, post, strokes)
        stops = {_cell(end.at) for end in self._of(End) if not end.to}
        for block, line in lines.items():
            for bar in self.painter.facts.bars.get(block, ()):
                self._train(settler, block, line, bar, stops)

    def _post(self, settler: Settler, post: Signpost, strokes: Sequence[Stroke]) -> None:
        """The sign of a group or a board, where it covers no track."""
        places = post.places(strokes, settler.least, settler.most)
        before = len(self.canvas.labels)
        if self._place(settler, [Word(post.kind, post.text, LARGE)], places, (post.kind, post.name), clear=True):
            self.painter.posted.add(post)
            if post.kind == "board":
                left, top, right, bottom = self.canvas.labels[before].extent
                self.canvas.box("hop", post.name, (left - 0.6, top - 0.5, right + 0.6, bottom + 0.4))

    def _train(self, settler: Settler, block: str, line: Along, bar: Bar, stops: Collection[tuple[int, int]]) -> None:
        """The name of a train, over or under its bar; last of all words, so that it moves none."""
        places: list[tuple[Point, str]] = []
        for share in (0.5, 0.25, 0.75, 0.0, 1.0):
            (x, y), (dx, _) = line.at(bar.start + share * (bar.end - bar.start))
            if abs(dx) > 0.7:
                anchors = ["middle", *(["end", "start"] if share in (0.0, 1.0) else [])]
                places += [((x, y + height), anchor) for anchor in anchors for height in (3.2, -1.7)]
            else:
                places += [((x + side * 1.8, y + 0.9), "start" if side > 0 else "end") for side in (1, -1)]
        for share in (0.0, 1.0):  # or anywhere along its block, or beyond its buffer stop
            (x, y), (other, _) = line.at(share)[0], line.at(1.0 - share)[0]
            inward, begin, beyond = (1, "start", "end") if other > x else (-1, "end", "start")
            if abs(line.at(share)[1][0]) > 0.7:
                rows = [(x + far * inward, y + height) for far in (1.5, 4, 8, 12) for height in (3.2, -1.7)]
                places += [(at, begin) for at in rows]
            if _cell((x, y)) in stops:
                places.append(((x - 2.0 * inward, y + 0.9), beyond))
        (x, y), (dx, _) = line.at((bar.start + bar.end) / 2)
        if abs(dx) > 0.7:  # or beyond the words of its block, where no other track is next
            name = [Word("train", bar.train)]
            rows = [(x + side, height) for height in (y + 6.0, y - 4.6) for side in (0, 6, -6)]
            rows = [at for at in rows if settler.stands_alone(settler.box(name, self.painter.mm(at), "middle"))]
            places += [(at, "middle") for at in rows]
        if not self._place(settler, [Word("train", bar.train)], places, ("train", bar.train)):
            self.painter.unplaced.append(f"train {bar.train} in {block}")

    def _room(self, settler: Settler, room: Room) -> None:
        words = self.painter.facts.words[room.block]
        x, y = room.at
        anchor = {0: "middle", -1: "end", 1: "start"}[room.side]
        over, under = (
            ((x, y - 1.4), (x, y + 3.0))
            if not room.side
            else ((x + 1.4 * room.side, y), (x + 1.4 * room.side, y + 3.2))
        )
        boxes = []
        for line, at in ((words.above, over), (words.below, under)):
            least = words.room if line is words.below else 0.0
            if not line:
                continue
            box = settler.box(line, self.painter.mm(at), anchor, least)
            if not settler.free(box):
                self.painter.unplaced.append(f"{room.block}: {words.title}")
                return
            boxes.append(settler.box(line, self.painter.mm(at), anchor))
        for line, at in ((words.above, over), (words.below, under)):
            if line:
                least = words.room if line is words.below and not room.side else 0.0
                settler.set(line, self.painter.mm(at), anchor, ("block", room.block), least)
        self._box(room.block, boxes)

    def _box(self, block: str, boxes: Sequence[Extent]) -> None:
        self.painter.said.add(block)
        lefts, tops, rights, bottoms = zip(*boxes, strict=True)
        self.canvas.box("block", block, (min(lefts), min(tops), max(rights), max(bottoms)), shown=False)

    def _leading(self, settler: Settler, end: End) -> None:
        text = f"{end.letter} to {end.to}" if end.letter else f"to {end.to}"
        x, y = end.at
        anchor = "start" if end.way > 0 else "end"
        places = [((x + 3.0 * end.way, y + dy), anchor) for dy in (0.9, -1.6, 3.2)]
        if not self._place(settler, [Word("tag", text)], places, ("block", self._at(end.at))):
            self.painter.unplaced.append(text)

    def _place(
        self,
        settler: Settler,
        words: Sequence[Word],
        places: Sequence[tuple[Point, str]],
        of: tuple[str, str],
        clear: bool = False,
    ) -> bool:
        return settler.place(words, [(self.painter.mm(at), anchor) for at, anchor in places], of, clear=clear)

    def _name(self, settler: Settler, fork: Fork) -> None:
        """The name of a turnout, on the side where it has no leg."""
        x, y = fork.at
        down = -1 if fork.diverging[1] + fork.through[1] > 0 else 1
        level = abs(fork.toe[1]) < 0.1
        places: list[tuple[Point, str]] = []
        if level:
            places += [((x, y + (3.4 if down > 0 else -1.6)), "middle")]
        for far in (1.6, 2.6):
            for height in (2.8, -1.1, 4.0, -2.4, 5.6, -4.0, 7.0, -5.4):
                places += [((x - far, y + height), "end"), ((x + far, y + height), "start")]
        places += [((x, y + 3.4), "middle"), ((x, y - 1.6), "middle")]
        if not self._place(settler, [Word("turnout", fork.name)], places, ("turnout", fork.name)):
            self.painter.unplaced.append(fork.name)

    def _throat(self, settler: Settler, block: str, forks: Sequence[Fork]) -> None:
        """The name of a block that holds turnouts, near to one of them; how it stands is written on its far side."""
        words = self.painter.facts.words[block]
        half = row_width(words.above) / 2
        middle = sorted(range(len(forks)), key=lambda at: abs(at - len(forks) // 2))
        places: list[tuple[Point, str]] = []
        for far in (4.6, 7.0, 10.0, 14.0, 19.0, 25.0):
            for at in middle[:12]:
                x, y = forks[at].at
                for height in (far + 1.6, -far):
                    places += [((x - half, y + height), "start"), ((x + half, y + height), "end")]
                for height in (1.0, 4.4, -2.6):
                    places += [((x - far, y + height), "end"), ((x + far, y + height), "start")]
        before = len(self.canvas.labels)
        line, ending = (*words.above, *words.below), (*words.below, *words.above)
        placed = [(self.painter.mm(at), anchor) for at, anchor in places]
        # over a track it would read as that track's name: it stands there only where there is no other place
        placed.sort(key=lambda one: not settler.stands_alone(settler.box(line, one[0], one[1], words.room)))
        if not settler.place(line, placed, ("block", block), words.room, ending):
            self.painter.unplaced.append(f"{block}: {words.title}")
            return
        self._box(block, [label.extent for label in self.canvas.labels[before:]])


def _octagon(x: float, y: float, radius: float) -> list[Point]:
    half = radius * 0.414
    points = [(radius, half), (half, radius), (-half, radius), (-radius, half)]
    return [(x + a, y + b) for a, b in (*points, *((-a, -b) for a, b in points))]


def _cell(point: Point) -> tuple[int, int]:
    return round(point[0] * 10), round(point[1] * 10)


def _ways(strokes: Iterable[Stroke]) -> dict[tuple[int, int], Point]:
    """Where track ends -> its direction there, the levellest where there are several."""
    found: dict[tuple[int, int], Point] = {}
    for stroke in strokes:
        for (x, y), (far_x, far_y) in (stroke.points[:2], stroke.points[:-3:-1]):
            long = hypot(far_x - x, far_y - y)
            way = ((far_x - x) / long, (far_y - y) / long)
            found[_cell((x, y))] = min(found.get(_cell((x, y)), way), way, key=lambda one: abs(one[1]))
    return found
