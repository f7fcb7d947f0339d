"""The geometry of the track: where a panel's blocks, joints, ladders, tags and labels lie, in millimetres.

A block is drawn with both of its rails, the detected one above; everything between blocks is drawn with one line, and
with both rails again at each joint, where it matters which of them is cut.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Set
from functools import cached_property

from attrs import frozen

from blockcheck.drawing.entries import Entry, draw_line
from blockcheck.drawing.gaps import GLYPH_MM, LANE_MM, PAD_MM, Gap
from blockcheck.drawing.meetings import UNKNOWN, Meeting
from blockcheck.drawing.panel import Edge, Node, Panel, Return
from blockcheck.drawing.shapes import NAME, SMALL, Canvas, text_width

PITCH_MM = 7.8
"""From one row to the next."""
RAIL_MM = 0.8
"""From the middle of a track to either rail."""
HEAD_MM = 6.0
"""Height of a panel's title."""
TAG_MM = 2.4
MOST_STRETCH = 4.0
RETURN_MM = 3.6
"""Between a line that closes a loop and what is beside it."""


def panel_width(panel: Panel, entries: Mapping[str, Entry]) -> float:
    """How wide a panel is at least."""
    return _Geometry(panel, entries, frozenset(), 0).natural


def panel_height(panel: Panel) -> float:
    """How high a panel is, with its title."""
    return HEAD_MM + PITCH_MM * panel.height + RETURN_MM * len(panel.returns) + 1.5


def draw_panel(panel: Panel, entries: Mapping[str, Entry], marked: Set[int], width: float) -> Canvas:
    """A panel drawn at most so wide as ``width`` where it fits; joints in ``marked`` are ringed."""
    return _Geometry(panel, entries, marked, width).draw()


@frozen(eq=False, slots=False)
class _Geometry:
    panel: Panel
    entries: Mapping[str, Entry]
    marked: Set[int]
    width: float

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        return tuple(Gap(edges, self.panel.rows) for edges in self.panel.gaps)

    def _least(self, number: int) -> float:
        column = self.panel.columns[number]
        kinds = {node.kind for node in column}
        if "block" in kinds:
            return max(self.entries[node.name].width(number in self.panel.stacked) for node in column) + 1
        tags = max((text_width(f"to {n.name}", SMALL) + TAG_MM for n in column if n.kind == "tag"), default=0.0)
        joints = GLYPH_MM + 1 if any(node in self.panel.glyphs for node in column) else 0.0
        turns = 3.0 * sum(node.kind == "turn" for node in column)
        return max(tags, joints, turns, 2.0)

    @cached_property
    def least(self) -> tuple[float, ...]:
        return tuple(self._least(number) for number in range(len(self.panel.columns)))

    @cached_property
    def natural(self) -> float:
        return sum(self.least) + sum(gap.width for gap in self.gaps)

    @cached_property
    def widths(self) -> tuple[float, ...]:
        """Width of each column: as its labels need, stretched towards the width of the page."""
        spare = max(0.0, self.width - self.natural)
        weights = [min(len(column), 12) if column[0].kind == "block" else 0 for column in self.panel.columns]
        share = spare / max(1, sum(weights))
        return tuple(
            min(least + share * weight, max(MOST_STRETCH * least, least + 20))
            for least, weight in zip(self.least, weights, strict=True)
        )

    @cached_property
    def lefts(self) -> tuple[float, ...]:
        found, x = [], 0.0
        for number, width in enumerate(self.widths):
            found.append(x)
            x += width + (self.gaps[number].width if number < len(self.gaps) else 0)
        return tuple(found)

    def y(self, row: float) -> float:
        above = sum(back.above for back in self.panel.returns)
        return HEAD_MM + 5.8 + PITCH_MM * row + RETURN_MM * above

    def left(self, node: Node) -> float:
        return self.lefts[self.panel.column_of[node]]

    def right(self, node: Node) -> float:
        number = self.panel.column_of[node]
        return self.lefts[number] + self.widths[number]

    @cached_property
    def ended(self) -> Counter[tuple[Node, str]]:
        """How many lines end at each end of a node."""
        return Counter(
            [*((edge.a, "right") for edge in self.panel.edges), *((edge.b, "left") for edge in self.panel.edges)]
        )

    def draw(self) -> Canvas:
        canvas = Canvas()
        canvas.label("panel", self.panel.title, (0, 3.4), NAME, bold=True)
        canvas.line("rule", (0, 4.6), (max(self.width, self.lefts[-1] + self.widths[-1]), 4.6))
        for number, gap in enumerate(self.gaps):
            x = self.lefts[number] + self.widths[number]
            for key, edges in gap.stars.items():
                self._star(canvas, gap, key, edges, x)
        for column in self.panel.columns:
            for node in column:
                if node.kind == "block":
                    self._block(canvas, node)
                elif node.kind == "tag":
                    self._tag(canvas, node)
                elif node.kind == "pass":
                    self._pass(canvas, node)
        for side in (False, True):
            for number, back in enumerate(back for back in self.panel.returns if back.above is side):
                far = RETURN_MM * (number + 1)
                self._return(canvas, back, self.y(0) - 3.2 - far if side else self.y(self.panel.height) - 6.4 + far)
        return canvas

    def _return(self, canvas: Canvas, back: Return, y: float) -> None:
        """A line that closes a loop, its corners cut like those of a ladder."""
        right, left = self._turning(back.right), self._turning(back.left)
        first, last = self.y(self.panel.rows[back.right]), self.y(self.panel.rows[back.left])
        cut = -1.1 if back.above else 1.1
        ends = (self.left(back.right), self.right(back.left))
        points = [(ends[0], first), (right - 1.1, first), (right, first + cut), (right, y - cut), (right - 1.1, y)]
        points += [(left + 1.1, y), (left, y - cut), (left, last + cut), (left + 1.1, last), (ends[1], last)]
        canvas.line("lead", *points)

    def _block(self, canvas: Canvas, node: Node) -> None:
        entry = self.entries[node.name]
        left, right, y = self.left(node), self.right(node), self.y(self.panel.rows[node])
        state = entry.power or "unknown"
        canvas.line("detected", (left, y - RAIL_MM), (right, y - RAIL_MM), state=state)
        canvas.line("common", (left, y + RAIL_MM), (right, y + RAIL_MM), state=state)
        for side, x in (("left", left), ("right", right)):
            if not self.ended[node, side]:
                canvas.line("stop", (x, y - 1.5), (x, y + 1.5))
        stacked = self.panel.column_of[node] in self.panel.stacked
        top, bottom = y - 5.2, y + 1.4
        if stacked:
            draw_line(canvas, entry.first, left, y - 2.6)
            for number, line in enumerate(entry.lines[1:]):
                draw_line(canvas, line, left, y + 4.4 + 3.9 * number)
                bottom = y + 5.3 + 3.9 * number
        else:
            draw_line(canvas, entry.line, left, y - 2.6)
        canvas.box("block", node.name, (left, top, right, bottom), shown=False)

    def _tag(self, canvas: Canvas, node: Node) -> None:
        y, text = self.y(self.panel.rows[node]), f"to {node.name}"
        if self.ended[node, "left"]:
            x = self.left(node)
            canvas.line("arrow", (x, y - 0.8), (x + 1.6, y), (x, y + 0.8), closed=True)
            canvas.label("tag", text, (x + TAG_MM, y + 0.8), SMALL)
        else:
            x = self.right(node)
            canvas.line("arrow", (x, y - 0.8), (x - 1.6, y), (x, y + 0.8), closed=True)
            canvas.label("tag", text, (x - TAG_MM, y + 0.8), SMALL, anchor="end")

    def _pass(self, canvas: Canvas, node: Node) -> None:
        left, right, y = self.left(node), self.right(node), self.y(self.panel.rows[node])
        meeting = self.panel.glyphs.get(node)
        if meeting is None:
            canvas.line("lead", (left, y), (right, y))
            return
        middle = (left + right) / 2
        canvas.line("lead", (left, y), (middle - GLYPH_MM / 2, y))
        canvas.line("lead", (middle + GLYPH_MM / 2, y), (right, y))
        self._joint(canvas, meeting, middle - GLYPH_MM / 2, y, ("left", "right"))

    def _turning(self, node: Node) -> float:
        column = [one for one in self.panel.columns[self.panel.column_of[node]] if one.kind == "turn"]
        return self.left(node) + 1.5 + 3.0 * column.index(node)

    def _star(self, canvas: Canvas, gap: Gap, key: tuple[str, Node], edges: tuple[Edge, ...], x: float) -> None:
        """All edges of a gap that meet at one node."""
        start, room = gap.uprights
        for edge in edges:
            y, to = self.y(self.panel.rows[edge.a]), self.y(self.panel.rows[edge.b])
            left, right = self._ends(canvas, gap, edge, x)
            if y == to:
                canvas.line("lead", (left, y), (right, y))
            elif key in gap.lanes:
                upright = x + start + LANE_MM * (gap.lanes[key] + 0.5)
                canvas.line("lead", *_cornered(left, y, upright, to, right, key[0]))
            else:
                first, second = x + start, x + start + room
                canvas.line("lead", (left, y), (first, y), (second, to), (right, to))
            if edge.points:
                self._points(canvas, gap, edge, x, (y, to))

    def _points(self, canvas: Canvas, gap: Gap, edge: Edge, x: float, ys: tuple[float, float]) -> None:
        start, room = gap.uprights
        if edge.hub == "a":
            canvas.label("points", edge.points, (x + start + room + 1.2, ys[1] - 0.9), SMALL)
        else:
            canvas.label("points", edge.points, (x + start - 1.2, ys[0] - 0.9), SMALL, anchor="end")

    def _ends(self, canvas: Canvas, gap: Gap, edge: Edge, x: float) -> tuple[float, float]:
        """Draw an edge's joint, or how its line parts into rails; returns from where to where the line is left."""
        left, right = x, x + gap.width
        y, to = self.y(self.panel.rows[edge.a]), self.y(self.panel.rows[edge.b])
        if edge.glyph == "a":
            self._joint(canvas, edge.meeting, left, y, ("right",))
            left += GLYPH_MM
        elif edge.a.kind == "block":
            left = _fork(canvas, left, y, 1)
        if edge.glyph == "b":
            right -= GLYPH_MM
            self._joint(canvas, edge.meeting, right, to, ("left",))
        elif edge.b.kind == "block":
            right = _fork(canvas, right, to, -1)
        return left, right

    def _joint(self, canvas: Canvas, meeting: Meeting, x: float, y: float, forks: tuple[str, ...]) -> None:
        """Both rails where two blocks meet, with a break in each that is cut."""
        first, last = x, x + GLYPH_MM
        if "left" in forks:
            _fork(canvas, first + PAD_MM, y, -1)
            first += PAD_MM
        if "right" in forks:
            _fork(canvas, last - PAD_MM, y, 1)
            last -= PAD_MM
        middle = (first + last) / 2
        for rail, side in (("detected", y - RAIL_MM), ("common", y + RAIL_MM)):
            if meeting.gap == UNKNOWN:
                canvas.line(f"{rail}-unknown", (first, side), (last, side))
            elif meeting.gap in (rail, "both"):
                for end, edge in ((first, middle - 0.6), (last, middle + 0.6)):
                    canvas.line(rail, (end, side), (edge, side))
                    canvas.line("cut", (edge, side - 0.65), (edge, side + 0.65))
            else:
                canvas.line(rail, (first, side), (last, side))
        if meeting.joint in self.marked:
            points = [(2.6, 1.1), (1.1, 2.1), (-1.1, 2.1), (-2.6, 1.1)]
            points += [(-a, -b) for a, b in points]
            canvas.line("ringed", *((middle + a, y + b) for a, b in (*points, points[0])))


def _fork(canvas: Canvas, x: float, y: float, side: int) -> float:
    """Where two rails become one line; ``side`` is 1 where the line lies to the right. Returns where it begins."""
    end = x + side * PAD_MM
    canvas.line("fork", (x, y - RAIL_MM), (end, y), (x, y + RAIL_MM))
    return end


def _cornered(left: float, y: float, upright: float, to: float, right: float, hub: str) -> list[tuple[float, float]]:
    """A line by way of an upright, turning off at the hub's side squarely and at the other like a turnout."""
    corner = min(1.1, abs(to - y) / 2) * (1 if to > y else -1)
    if hub == "a":
        return [(left, y), (upright, y), (upright, to - corner), (upright + abs(corner), to), (right, to)]
    return [(left, y), (upright - abs(corner), y), (upright, y + corner), (upright, to), (right, to)]
