"""Where something stands: a path into the document, and the place in the text that it resolves to."""

from __future__ import annotations

from attrs import frozen

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


@frozen(slots=True)
class Span:
    """A half-open stretch ``text[start:end]`` of one file, in code points."""

    start: int
    end: int


@frozen(slots=True, eq=False)
class SourceFile:
    """One file as it was read. ``name`` is how it is printed; offsets are into ``text``."""

    name: str
    text: str

    def place(self, span: Span) -> Place:
        """The place of a span of this file."""
        line, column = self._line_column(span.start)
        end_line, end_column = self._line_column(max(span.start, span.end))
        first = self.text.rfind("\n", 0, span.start) + 1
        last = self.text.find("\n", span.start)
        source = self.text[first : len(self.text) if last < 0 else last].rstrip("\r")
        return Place(self.name, line, column, end_line, end_column, source)

    def _line_column(self, offset: int) -> tuple[int, int]:
        line = self.text.count("\n", 0, offset) + 1
        return line, offset - (self.text.rfind("\n", 0, offset) + 1) + 1
