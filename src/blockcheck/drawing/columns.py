"""Columns and rows: which column a block stands in, how many lines cross, and how rows make room for each other."""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Callable, Mapping, Sequence, Set
from graphlib import TopologicalSorter
from statistics import median
from typing import Any

from blockcheck.drawing.meetings import Meeting
from blockcheck.drawing.panel import Edge, Node

SWEEPS = 6


def layered(blocks: Sequence[str], meetings: Sequence[Meeting]) -> tuple[dict[str, int], list[Meeting]]:
    """Block -> column, and the meetings that close a loop and so lead back. Takes all meetings between the blocks."""
    ahead: dict[str, list[Meeting]] = {name: [] for name in blocks}
    entered: set[str] = set()
    for one in meetings:
        if not one.bent and one.left != one.right:
            ahead[one.left].append(one)
            entered.add(one.right)
    back = _closing([*(name for name in blocks if name not in entered), *blocks], ahead)
    closing = {id(one) for one in back}
    before: dict[str, set[str]] = {name: set() for name in blocks}
    after: dict[str, set[str]] = {name: set() for name in blocks}
    for one in (one for some in ahead.values() for one in some if id(one) not in closing):
        before[one.right].add(one.left)
        after[one.left].add(one.right)
    column: dict[str, int] = {}
    for name in TopologicalSorter(before).static_order():
        column[name] = max((column[other] + 1 for other in before[name]), default=0)
    for name in reversed([*column]):
        if len(after[name]) > len(before[name]):  # near to what it leads to
            column[name] = max(column[name], min(column[other] for other in after[name]) - 1)
    return column, back


def _closing(roots: Sequence[str], ahead: Mapping[str, Sequence[Meeting]]) -> list[Meeting]:
    """The meetings that a walk from the roots finds to lead back to where it came through."""
    found: list[Meeting] = []
    done: set[str] = set()
    for root in roots:
        if root in done:
            continue
        on_way = {root}
        walk = [(root, iter(ahead[root]))]
        while walk:
            name, rest = walk[-1]
            one = next(rest, None)
            if one is None:
                walk.pop()
                on_way.discard(name)
                done.add(name)
            elif one.right in on_way:
                found.append(one)
            elif one.right not in done:
                on_way.add(one.right)
                walk.append((one.right, iter(ahead[one.right])))
    return found


def ordered_columns(
    columns: Sequence[Sequence[Node]], edges: Sequence[Edge], first: Callable[[Node], Any]
) -> list[list[Node]]:
    """The columns, each ordered so that few lines cross: by the mean place of the neighbours, swept to and fro."""
    place = {node: number for number, column in enumerate(columns) for node in column}
    before: dict[Node, list[Node]] = {}
    after: dict[Node, list[Node]] = {}
    for edge in edges:
        after.setdefault(edge.a, []).append(edge.b)
        before.setdefault(edge.b, []).append(edge.a)
    current = [sorted(column, key=first) for column in columns]
    best, least = current, crossings(current, edges, place)
    for sweep in range(SWEEPS if least else 1):
        down = sweep % 2 == 0
        current = [*current]
        for number in range(1, len(current)) if down else reversed(range(len(current) - 1)):
            beside = current[number - 1 if down else number + 1]
            current[number] = _by_mean(current[number], beside, before if down else after)
        count = crossings(current, edges, place)
        if count < least or (sweep == 0 and count == least):
            best, least = current, count
    return best


def _by_mean(column: Sequence[Node], beside: Sequence[Node], around: Mapping[Node, Sequence[Node]]) -> list[Node]:
    at = {node: index for index, node in enumerate(beside)}
    means = []
    for index, node in enumerate(column):
        found = [at[one] for one in around.get(node, ()) if one in at]
        means.append((sum(found) / len(found) if found else index, index))
    return [column[index] for _, index in sorted(means)]


def placed_rows(
    columns: Sequence[Sequence[Node]],
    edges: Sequence[Edge],
    stacked: Set[int],
    head: Callable[[Node, Mapping[str, int]], int | None],
) -> dict[Node, int]:
    """Node -> row: the fullest column first, the others beside it, each node near what it is connected to.

    ``head`` gives the row that a block prefers among those of the blocks that it leads to.
    """
    around: dict[Node, list[tuple[Node, Meeting]]] = {}
    for edge in edges:
        around.setdefault(edge.a, []).append((edge.b, edge.meeting))
        around.setdefault(edge.b, []).append((edge.a, edge.meeting))

    def height(number: int, node: Node) -> int:
        return 2 if node.kind == "block" and number in stacked else 1

    sums = [sum(height(number, node) for node in column) for number, column in enumerate(columns)]
    start = sums.index(max(sums))
    rows: dict[Node, int] = {}

    def wish(node: Node) -> float | None:
        placed = [(one, meeting) for one, meeting in around.get(node, ()) if one in rows]
        if not placed:
            return None
        preferred = None
        if node.kind == "block":
            near = {({m.left, m.right} - {node.name} or {node.name}).pop(): rows[one] for one, m in placed}
            preferred = head(node, near)
        return median(rows[one] for one, _ in placed) if preferred is None else preferred

    for number in [*range(start, len(columns)), *reversed(range(start))]:
        column = columns[number]
        heights = [height(number, node) for node in column]
        rows.update(zip(column, spread([wish(node) for node in column], heights), strict=True))
    top = min(rows.values())
    return {node: row - top for node, row in rows.items()}


def crossings(columns: Sequence[Sequence[Node]], edges: Sequence[Edge], place: Mapping[Node, int]) -> int:
    """How many pairs of edges between neighbouring columns cross."""
    at = {node: number for column in columns for number, node in enumerate(column)}
    sides: dict[int, list[tuple[int, int]]] = {}
    for edge in edges:
        sides.setdefault(place[edge.a], []).append((at[edge.a], at[edge.b]))
    count = 0
    for pairs in sides.values():
        seen: list[int] = []
        for _, end in sorted(pairs):
            count += len(seen) - bisect_right(seen, end)
            insort(seen, end)
    return count


def spread(wishes: Sequence[float | None], heights: Sequence[int]) -> list[int]:
    """Rows for things in their order, as near to their wishes as their heights allow.

    The least sum of squares under the order: neighbours that want the same place are pooled until none does
    (Ayer, Brunk and others, 1955). A thing without a wish follows the one before it.
    """
    offsets = [sum(heights[:number]) for number in range(len(heights))]
    pools: list[list[float]] = []  # sum of wishes, how many wish, how many belong
    for wish, offset in zip(wishes, offsets, strict=True):
        pools.append([wish - offset, 1, 1] if wish is not None else [0, 0, 1])
        while len(pools) > 1 and (
            not pools[-1][1] or not pools[-2][1] or pools[-2][0] / pools[-2][1] > pools[-1][0] / pools[-1][1]
        ):
            last = pools.pop()
            pools[-1] = [a + b for a, b in zip(pools[-1], last, strict=True)]
    found: list[int] = []
    for total, wished, many in pools:
        base = round(total / wished + 1e-9) if wished else 0
        for _ in range(int(many)):
            found.append(base + offsets[len(found)])
    return found
