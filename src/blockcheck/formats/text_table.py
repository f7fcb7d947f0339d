"""A table in plain text, as wide as its reader's lines.

Where it is too wide, the least that is lost goes first: a heading is set in more than one line, a bar is half as long,
what is the same in every row is said once above, the columns that can best be spared are left out and named below.
What is still too wide then folds within its column. A name is never broken.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from blockcheck.answers.tables import Table, written
from blockcheck.core.words import listed
from blockcheck.formats.escape import for_text
from blockcheck.formats.style import Style

_BARS = (20, 10, 0)
_ALIKE = 3  # rows from which on what is the same in all is said above
_FOLDS = (16, 0)  # a column of text folds down to this, or to its longest word; to that alone where it must


def text_of(table: Table, style: Style, *, titled: bool = True) -> str:
    """A table in plain text, its title above it and its notes below."""
    parts = [style.wrap(table.title, "", "  ", "bold")] if titled and table.title else []
    notes = [*table.notes]
    if table.rows:
        fit = _Fit(table.in_ranges() if table.ranges else table, style.width)
        told = "; ".join(f"{one.title}: {one.cells[0]}" for one in fit.said)
        parts += [style.wrap(f"In every row: {told}.", "", "  ")] if told else []
        parts.append(_lines(fit.columns))
        if fit.spared:
            notes.append(f"Left out, for these lines are too short: {listed([one.title for one in fit.spared])}.")
    parts += ["\n".join(style.wrap(note, "", "  ") for note in notes)] if notes else []
    return "\n\n".join(parts)


def bar(share: float | None, length: int = _BARS[0]) -> str:
    """A share of a limit as a bar that reads without colour: ``[#########...........]  45 %``, over it ``OVER``."""
    if share is None:
        return ""
    filled = min(length, round(share * length))
    drawn = f"[{'#' * filled}{'.' * (length - filled)}] " if length else ""
    return f"{drawn}{share * 100:3.0f} %{' OVER' if share > 1 else ''}"


class _Set:
    """A column as it is being set: its heading, its cells, and its width. Numbers stand flush right; quantities do not,
    since their units differ."""

    def __init__(self, table: Table, index: int) -> None:
        column, values = table.headers[index], [row[index] for row in table.rows]
        self.title, self.spare, self.right = for_text(column.title), column.spare, table.numeric(index)
        self.shares = [one if isinstance(one, int | float) else None for one in values] if column.share else []
        shown = written if self.right else lambda cell: column.shown(cell, table.imperial)
        self.cells = [for_text(shown(one)) for one in values]
        if self.shares:
            self.cells = [bar(one) for one in self.shares]
        self.width = max(map(len, (self.title, *self.cells)))

    def set(self, cells: Sequence[str]) -> None:
        """Take these cells, and a heading in as many lines as they ask for."""
        self.cells = [*cells]
        self.width = max(map(len, (*self.title.split(), *cells)))

    @property
    def words(self) -> Sequence[str]:
        """What may stand in a line of its own, but is not broken."""
        whole = self.right or bool(self.shares)
        return [*self.title.split(), *(self.cells if whole else [word for cell in self.cells for word in cell.split()])]

    def narrowest(self, least: int) -> int:
        """The least width: that of its longest word, or of a line that still reads."""
        return min(self.width, max(max(map(len, self.words), default=0), 0 if self.right else least))


class _Fit:
    """The columns of a table, narrowed until they fit: those that stay, are said above, and are left out."""

    def __init__(self, table: Table, width: int) -> None:
        kept = table.kept()
        heads = next((place for place, i in enumerate(kept) if table.headers[i].heads), 0)
        self.columns, self.width = [_Set(table, i) for i in kept], width
        self.heads = self.columns[heads]
        self.said: list[_Set] = []
        self.spared: list[_Set] = []
        self._headings()
        self._bars()
        self._alike()
        self._spare()
        for least in _FOLDS:
            self._fold(least)
        self._last()
        self._ease()

    def _over(self) -> bool:
        return sum(one.width + 2 for one in self.columns) - 2 > self.width

    def _headings(self) -> None:
        for one in self.columns:
            if self._over():
                one.set(one.cells)

    def _bars(self) -> None:
        for length in _BARS[1:]:
            for one in self.columns:
                if one.shares and self._over():
                    one.set([bar(share, length) for share in one.shares])

    def _alike(self) -> None:
        for one in [*self.columns]:
            same = len(one.cells) >= _ALIKE and one.cells[0] and len({*one.cells}) == 1
            if same and one is not self.heads and self._over():
                self._take(one, self.said)

    def _spare(self) -> None:
        for one in sorted(
            (one for one in self.columns if one.spare and one is not self.heads), key=lambda one: -one.spare
        ):
            if self._over():
                self._take(one, self.spared)

    def _fold(self, least: int) -> None:
        while self._over() and (wide := [one for one in self.columns if one.width > one.narrowest(least)]):
            max(wide, key=lambda one: one.width).width -= 1

    def _last(self) -> None:
        """Nothing more can be narrowed: the last columns go."""
        for one in reversed([one for one in self.columns if one is not self.heads]):
            if self._over():
                self._take(one, self.spared)

    def _ease(self) -> None:
        """What is still free goes to headings that then take fewer lines."""
        free = self.width + 2 - sum(one.width + 2 for one in self.columns)
        for one in self.columns:
            before = one.width
            widths = range(before, min(len(one.title), before + free) + 1)
            one.width = min(widths, key=lambda width: len(_folded(one.title, width)), default=before)
            free -= one.width - before

    def _take(self, column: _Set, where: list[_Set]) -> None:
        self.columns.remove(column)
        where.append(column)


def _folded(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_long_words=False, break_on_hyphens=False) or [""]


def _lines(columns: Sequence[_Set]) -> str:
    """The columns side by side, a heading on its last line."""
    heads = [_folded(one.title, one.width) for one in columns]
    deep = max(map(len, heads))
    rows = [[[""] * (deep - len(head)) + head for head in heads], [["-" * one.width] for one in columns]]
    rows += [[_folded(one.cells[i], one.width) for one in columns] for i in range(len(columns[0].cells))]
    lines = []
    for row in rows:
        for i in range(max(map(len, row))):
            cells = [cell[i] if i < len(cell) else "" for cell in row]
            padded = zip(cells, columns, strict=True)
            lines.append(
                "  ".join(cell.rjust(one.width) if one.right else cell.ljust(one.width) for cell, one in padded)
            )
    return "\n".join(line.rstrip() for line in lines)
