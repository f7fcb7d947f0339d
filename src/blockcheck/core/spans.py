"""Where something stands: a path into the document, and the place in the text that it resolves to."""

from __future__ import annotations

from functools import cached_property
from itertools import accumulate
from typing import NamedTuple

from attrs import field, frozen

_CHUNK = 1 << 14

Path = tuple[str | int, ...]
"""The way to a value: ``("blocks", "S4", "channel")``. Everything that can be pointed at carries one."""


@frozen(slots=True)
class Place:
    """A stretch of a source file. Lines and columns count from 1, columns in code points; the end is exclusive.

    ``source`` is the text of the first line, so that a renderer can show it without reading any file.
    """

    file: str
    line: int
    column: int
    end_line: int
    end_column: int
    source: str = ""


class Span(NamedTuple):
    """A half-open stretch ``text[start:end]`` of one file, in code points."""

    start: int
    end: int


@frozen(eq=False, repr=False, slots=False)
class SourceFile:
    """One file as it was read. ``name`` is how it is printed; offsets are into ``text``."""

    name: str
    text: str
    _lines: dict[int, str] = field(factory=dict, init=False)

    def place(self, span: Span) -> Place:
        """The place of a span of this file."""
        line, first = self._line(span.start)
        end_line, end_first = self._line(max(span.start, span.end))
        if first not in self._lines:  # kept, so that the places of one line, however long, share its text
            last = self.text.find("\n", span.start)
            self._lines[first] = self.text[first : len(self.text) if last < 0 else last].rstrip("\r")
        start, end = span.start - first + 1, max(span.start, span.end) - end_first + 1
        return Place(self.name, line, start, end_line, end, self._lines[first])

    def _line(self, offset: int) -> tuple[int, int]:
        """The number of the line that an offset lies in, and the offset of its first character."""
        chunk = offset // _CHUNK
        line = self._before[chunk] + self.text.count("\n", chunk * _CHUNK, offset) + 1
        return line, self.text.rfind("\n", 0, offset) + 1

    @cached_property
    def _before(self) -> tuple[int, ...]:
        """How many lines end before each chunk of the text, so that many places cost little in a long one."""
        counts = (self.text.count("\n", start, start + _CHUNK) for start in range(0, len(self.text), _CHUNK))
        return tuple(accumulate(counts, initial=0))
