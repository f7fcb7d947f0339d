"""What comes below what on the pages of a drawing."""

from __future__ import annotations

from attrs import field, frozen

from blockcheck.drawing.figures.sheet import Sheet
from blockcheck.drawing.shapes import NAME, Canvas, text_width

EDGE_MM = 2.5
"""Around everything, so that no stroke, band or drop is cut off."""


@frozen(eq=False, slots=False)
class Flow:
    """What comes below what, on pages: nothing that fits one lies across an edge."""

    canvas: Canvas
    sheet: Sheet
    _y: list[float] = field(factory=lambda: [0.0])

    @property
    def y(self) -> float:
        return self._y[0]

    @property
    def width(self) -> float:
        return self.sheet.width_mm

    def skip(self, height: float) -> None:
        self._y[0] += height

    def put(self, piece: Canvas, height: float, keep: float = 0.0) -> None:
        """Add a piece; ``keep`` is the height of what must stand on the same page below it."""
        self._y[0] = self.on_page(self.y, height + keep)
        self.canvas.put(piece, 0, self.y)
        self._y[0] += height

    def text(self, kind: str, text: str, size: float) -> None:
        """Add a sentence, on as many lines as it takes."""
        for line in wrap(text, size, self.width):
            canvas = Canvas()
            canvas.label(kind, line, (0, size), size)
            self.put(canvas, size * 1.4)

    def columns(self, pieces: list[Canvas], heights: list[float], across: int, step: float) -> None:
        """Add pieces side by side, each where there is most room."""
        ends = [self.y] * across
        for piece, height in zip(pieces, heights, strict=True):
            column = ends.index(min(ends))
            y = self.on_page(ends[column], height)
            if y > ends[column]:
                ends = [y] * across  # what is left of this page stays empty, so that the order stays plain
            self.canvas.put(piece, column * step, y)
            ends[column] = y + height
        self._y[0] = max(ends)

    def on_page(self, y: float, height: float) -> float:
        """Where something begins: here, or on the next page where it would lie across the edge."""
        left = self.sheet.page_mm - y % self.sheet.page_mm
        return y if height <= left or y % self.sheet.page_mm == 0 else y + left


def wrap(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """Text broken into lines of at most a width, between words where it can be."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        joined = f"{line} {word}" if line else word
        if text_width(joined, size, bold) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        line = word
        while text_width(line, size, bold) > width:
            cut = next(n for n in range(len(line), 0, -1) if n == 1 or text_width(line[:n], size, bold) <= width)
            lines.append(line[:cut])
            line = line[cut:]
    return [*lines, line] if line else lines


def heading(text: str, width: float) -> Canvas:
    canvas = Canvas()
    canvas.label("heading", text, (0, 3.4), NAME, bold=True)
    canvas.line("rule", (0, 4.6), (width, 4.6))
    return canvas


def up(value: float) -> float:
    return float(-(-(value - 0.05) // 1))
