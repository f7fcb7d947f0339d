"""One panel made: what its blocks lead to, here and elsewhere, and the cells that the lines between them pass."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from functools import cached_property
from itertools import pairwise

from attrs import evolve, frozen

from blockcheck.core.natural import natural_key
from blockcheck.drawing.columns import layered, ordered_columns, placed_rows
from blockcheck.drawing.meetings import Meeting, Track
from blockcheck.drawing.names import compact
from blockcheck.drawing.panel import Edge, Node, Panel, Return

MOST_RETURNS = 4
"""Connections that run back above or below a panel; more are told at both ends."""


@frozen(eq=False)
class Link:
    """A connection of two nodes, from a column to a later one. ``glyph`` says whether its joint is drawn on it."""

    a: Node
    here: int
    b: Node
    there: int
    meeting: Meeting
    glyph: bool


def make(track: Track, blocks: Sequence[str], title: str, layers: Mapping[str, int] | None = None) -> Panel:
    """One panel of some blocks; what they meet elsewhere is named by tags."""
    return _Maker(track, tuple(blocks), title, layers).panel()


@frozen(eq=False, slots=False)
class _Maker:
    track: Track
    blocks: tuple[str, ...]
    title: str
    given: Mapping[str, int] | None

    @cached_property
    def members(self) -> frozenset[str]:
        return frozenset(self.blocks)

    @cached_property
    def rank(self) -> Mapping[str, int]:
        return {name: number for number, name in enumerate(sorted(self.blocks, key=natural_key))}

    def panel(self) -> Panel:
        layers, back = self.layers
        columns: dict[int, list[Node]] = {}
        for name in sorted(self.blocks, key=natural_key):
            columns.setdefault(8 * layers[name], []).append(Node("block", name))
        links, returns, glyphs = self._links(columns, back)
        used = sorted(columns)
        edges = self._edges(links, columns, used)
        ordered = ordered_columns([columns[number] for number in used], edges, self._first)
        most = max(len(column) for column in ordered)
        stacked = frozenset(
            number for number, column in enumerate(ordered) if column[0].kind == "block" and 2 * len(column) <= most + 1
        )
        rows = placed_rows(ordered, edges, stacked, self._head)
        returns = [self._sided(one, ordered, rows) for one in returns]
        return Panel(self.title, tuple(map(tuple, ordered)), rows, tuple(edges), tuple(returns), glyphs, stacked)

    def _first(self, node: Node) -> tuple[int, bool, int]:
        """The order to begin with: that of names."""
        return (self.rank.get(node.name, len(self.rank)), node.kind != "block", node.number)

    def _head(self, node: Node, near: Mapping[str, int]) -> int | None:
        """The row of the track that a block's ladder begins with, if that is the first or the last of them."""
        for turnout in self.track.turnouts_in.get(node.name, ())[:1]:
            for leg in (turnout.diverging, turnout.through):
                beyond = self.track.block_of(leg)
                row = near.get(str(beyond))
                if row is not None and row in (min(near.values()), max(near.values())):
                    return row
        return None

    def _sided(self, back: Return, columns: list[list[Node]], rows: Mapping[Node, int]) -> Return:
        """A returning line on the side where fewer lines cross it."""
        above = below = 0
        for node in (back.right, back.left):
            column = next(column for column in columns if node in column)
            above += sum(rows[one] < rows[node] for one in column)
            below += sum(rows[one] > rows[node] for one in column)
        return evolve(back, above=above < below)

    @cached_property
    def layers(self) -> tuple[Mapping[str, int], frozenset[Meeting]]:
        inside = [one for one in self.track.meetings if one.left in self.members and one.right in self.members]
        if self.given is not None:
            return self.given, frozenset(inside)
        layers, back = layered(self.blocks, inside)
        return layers, frozenset(back)

    def _links(
        self, columns: dict[int, list[Node]], back: frozenset[Meeting]
    ) -> tuple[list[Link], list[Return], dict[Node, Meeting]]:
        """All that blocks of this panel are connected to."""
        layers, _ = self.layers
        forward: list[Meeting] = []
        turns: list[Meeting] = []
        tags: dict[tuple[str, str], list[tuple[str, Meeting]]] = {}
        for one in self.track.meetings:
            mine = (one.left in self.members, one.right in self.members)
            if not any(mine):
                continue
            plain = all(mine) and not one.bent and one.left != one.right
            if plain and one not in back:
                forward.append(one)
            elif plain and len(turns) < MOST_RETURNS and not self.given:
                turns.append(one)
            else:
                if mine[0]:
                    tags.setdefault((one.left, one.left_side), []).append((one.right, one))
                if mine[1]:
                    tags.setdefault((one.right, one.right_side), []).append((one.left, one))
        links: list[Link] = []
        glyphs: dict[Node, Meeting] = {}
        returns: list[Return] = []
        out = Counter(one.left for one in (*forward, *turns))
        into = Counter(one.right for one in (*forward, *turns))
        for (block, side), met in tags.items():
            (out if side == "right" else into)[block] += 1 if len(met) > 2 else len(met)
        pairs = Counter((one.left, one.right) for one in forward)
        for number, one in enumerate(forward):
            a, b = Node("block", one.left), Node("block", one.right)
            here, there = 8 * layers[one.left], 8 * layers[one.right]
            if (out[one.left] > 1 and into[one.right] > 1) or pairs[one.left, one.right] > 1:
                joint = Node("pass", one.left, -1 - number)
                columns.setdefault(here + 4, []).append(joint)
                glyphs[joint] = one
                links += [Link(a, here, joint, here + 4, one, False), Link(joint, here + 4, b, there, one, False)]
            else:
                links.append(Link(a, here, b, there, one, True))
        for number, one in enumerate(turns):
            right, left = Node("turn", one.left, 2 * number), Node("turn", one.right, 2 * number + 1)
            here, there = 8 * layers[one.left], 8 * layers[one.right]
            columns.setdefault(here + 1, []).append(right)
            columns.setdefault(there - 1, []).append(left)
            links.append(Link(Node("block", one.left), here, right, here + 1, one, True))
            links.append(Link(left, there - 1, Node("block", one.right), there, one, False))
            returns.append(Return(right, left))
        self._tags(tags, columns, links)
        return links, returns, glyphs

    def _tags(
        self,
        tags: Mapping[tuple[str, str], list[tuple[str, Meeting]]],
        columns: dict[int, list[Node]],
        links: list[Link],
    ) -> None:
        layers, _ = self.layers
        number = 0
        shared: dict[tuple[int, str], Node] = {}
        for (block, side), met in tags.items():
            column = 8 * layers[block] + (2 if side == "right" else -2)
            at = Node("block", block)
            merged = len(met) > 2
            told = [("its own end" if name == block else name, meeting) for name, meeting in met]
            for names, meeting in [(compact(name for name, _ in told), met[0][1])] if merged else told:
                tag = shared.get((column, names))
                if tag is None or merged or self.given:
                    number += 1
                    tag = Node("tag", names, number)
                    columns.setdefault(column, []).append(tag)
                    if len(met) == 1:
                        shared[column, names] = tag
                here = 8 * layers[block]
                right = side == "right"
                ends = (at, here, tag, column) if right else (tag, column, at, here)
                links.append(Link(*ends, meeting, not merged))

    def _edges(
        self,
        links: Sequence[Link],
        columns: dict[int, list[Node]],
        used: Sequence[int],
    ) -> list[Edge]:
        """Links cut at every column that they pass, with a node in each."""
        out, into = Counter(link.a for link in links), Counter(link.b for link in links)
        found: list[Edge] = []
        number = 0
        order = {column: number for number, column in enumerate(used)}
        for link in links:
            a, b, meeting = link.a, link.b, link.meeting
            between = used[order[link.here] + 1 : order[link.there]]
            chain = [a]
            for column in between:
                number += 1
                node = Node("pass", a.name, number)
                columns[column].append(node)
                chain.append(node)
            chain.append(b)
            at_b = out[a] > 1
            hub = "a" if out[a] > 1 or (into[b] == 1 and a.kind == "block") else "b"
            names = self._points(meeting, a, b, hub)
            for index, (first, second) in enumerate(pairwise(chain)):
                last, head = index == len(chain) - 2, index == 0
                end = ("b" if last else None) if at_b else ("a" if head else None)
                told = head if hub == "a" else last
                found.append(Edge(first, second, meeting, end if link.glyph else None, names if told else "", hub))
        return found

    def _points(self, meeting: Meeting, a: Node, b: Node, hub: str) -> str:
        """The turnouts in one block that lead to the other; where both have some, those of the end that fans out."""
        found = []
        ends = [(a, b), (b, a)] if hub == "a" else [(b, a), (a, b)]
        for near, far in ends:
            if near.kind != "block":
                continue
            others = {meeting.left, meeting.right} - {near.name} or {near.name}
            if far.kind == "tag" and far.name not in others:
                others = {one for block, one in self.track.points if block == near.name and one not in self.members}
            names = [
                name for one in sorted(others, key=natural_key) for name in self.track.points.get((near.name, one), ())
            ]
            found.append(compact(names))
        return next((one for one in found if one), "")
