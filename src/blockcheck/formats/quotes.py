"""The lines of a layout on a page: what findings link to, and from which lines lead back to them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from attrs import field, frozen

from blockcheck.core.spans import Place
from blockcheck.formats.elements import Child, Html, element, joined

_CONTEXT = 2
"""Lines that are shown around the one that is meant."""
_LONGEST = 300  # characters of a line that are shown


@frozen
class Quotes:
    """The files that places are in, by name, and their texts where those are known.

    ``meant`` maps file and line to the numbers of the findings that point there.
    """

    files: tuple[str, ...]
    texts: Mapping[str, str] = field(factory=dict)
    meant: Mapping[tuple[str, int], list[int]] = field(factory=dict)
    known: Mapping[tuple[str, int], str] = field(factory=dict)

    @classmethod
    def of(cls, findings: Iterable[Iterable[Place]], texts: Mapping[str, str]) -> Quotes:
        """The places of each finding, in the order of the findings, which are numbered from 1."""
        meant: dict[tuple[str, int], list[int]] = {}
        known: dict[tuple[str, int], str] = {}
        for number, places in enumerate(findings, 1):
            for place in places:
                numbers = meant.setdefault((place.file, place.line), [])
                known[place.file, place.line] = place.source
                if number not in numbers:
                    numbers.append(number)
        files = tuple(dict.fromkeys([*texts, *sorted(file for file, _ in meant)]))
        return cls(files, texts, meant, known)

    def link(self, place: Place) -> Html:
        """Where a place is, as a link to its line."""
        where = f"{place.file}:{place.line}:{place.column}"
        return element("a", element("code", where), href=f"#{self._id(place.file, place.line)}")

    def excerpts(self) -> Iterator[Html]:
        """Each file with the lines that are meant, and a few around them."""
        for file in self.files:
            wanted = sorted(line for name, line in self.meant if name == file)
            if wanted:
                yield self._figure(file, wanted, element("figcaption", element("code", file)))

    def whole(self, file: str) -> Html:
        """A file from its first line to its last."""
        return self._figure(file, range(1, len(self._lines(file)) + 1), None)

    def _figure(self, file: str, wanted: Iterable[int], caption: Html | None) -> Html:
        lines = self._lines(file)
        near = {one + step for one in wanted for step in range(-_CONTEXT, _CONTEXT + 1)} & lines.keys()
        shown: list[Child] = []
        before = 0
        for number in sorted(near):
            if number != before + 1 and before:
                shown.append(element("span", "     \u22ee", class_="gap"))
            shown.append(self._line(file, number, lines[number]))
            before = number
        grid = element("pre", joined(shown, "\n"), class_="source", tabindex=0)
        return element("figure", caption, grid, class_="excerpt" if caption else "excerpt whole")

    def _line(self, file: str, number: int, text: str) -> Html:
        numbers = self.meant.get((file, number), [])
        mark = "\u25b8" if numbers else " "
        line = text.expandtabs(4)
        cut = line if len(line) <= _LONGEST else line[:_LONGEST] + "\u2026"
        back = [element("a", f"finding {one}", href=f"#finding-{one}") for one in numbers]
        tail = [element("span", "  \u2190 ", *_between(back), class_="back")] if back else []
        gutter = element("span", f"{mark}{number:>4}  ", class_="line")
        return element("span", gutter, cut, *tail, id=self._id(file, number), class_="meant" if numbers else None)

    def _lines(self, file: str) -> dict[int, str]:
        if file in self.texts:
            return dict(enumerate((line.rstrip("\r") for line in self.texts[file].removesuffix("\n").split("\n")), 1))
        return {line: text for (name, line), text in self.known.items() if name == file}

    def _id(self, file: str, line: int) -> str:
        return f"file-{self.files.index(file) + 1}-line-{line}"


def _between(pieces: list[Html]) -> Iterator[Child]:
    for number, piece in enumerate(pieces):
        yield ", " if number else None
        yield piece
