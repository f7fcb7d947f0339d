"""What is written about a block of track: its name over its line, how it stands under it."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from blockcheck.drawing.entries import Entry
from blockcheck.drawing.shapes import short, text_width

LARGE, FINE = 2.8, 2.5
"""Sizes of text in the units of a figure, of which a row is 8."""
BETWEEN = 1.2
MOST_MARKS = 3
STATES = ("trickle, held", "off, blind")
"""The longest words for how a block stands; room is kept for them in every state, so that nothing moves."""


@frozen
class Word:
    """A piece of text, and what it tells."""

    kind: str
    text: str
    size: float = FINE
    bold: bool = False
    state: str | None = None

    @property
    def width(self) -> float:
        return text_width(self.text, self.size, self.bold) + (2.4 if self.kind == "mark" else 0.0)


@frozen
class Words:
    """Two lines of words, and the most that they take in any state."""

    above: tuple[Word, ...]
    below: tuple[Word, ...]
    room: float

    @property
    def title(self) -> str:
        """All of it, in a sentence for who points at the block."""
        return ", ".join(word.text for word in (*self.above, *self.below))


def row_width(words: Sequence[Word]) -> float:
    """How wide words are on one line."""
    return sum(word.width for word in words) + BETWEEN * max(0, len(words) - 1)


def words(entry: Entry, one_line: bool = False) -> Words:
    """The words of a block."""
    above = [Word("name", short(entry.name), LARGE, bold=True)]
    if entry.track is not None and not entry.name.endswith(str(entry.track)):
        above.append(Word("track", f"track {entry.track}"))
    if entry.channel:
        above.append(Word("channel", short(entry.channel)))
    elif entry.without:
        above.append(Word("note", "no channel"))
    below = [Word("switch", one.text, state="open" if one.open else None) for one in entry.switches]
    longest = sum(
        max(text_width(f"{short(one.name)} {short(where, 16)}", FINE) for where in (*one.positions, one.position))
        + BETWEEN
        for one in entry.switches
    )
    if entry.word:
        below.append(Word("word", entry.word, bold=True, state=entry.power or "unknown"))
    longest += max(text_width(word, FINE, True) for word in (*STATES, entry.word))
    marks = [Word("mark", str(mark.number), bold=True, state=mark.severity) for mark in entry.marks[:MOST_MARKS]]
    longest += sum(BETWEEN + mark.width for mark in marks)
    lines = (row_width(above), longest)
    return Words(tuple(above), (*below, *marks), sum(lines) + BETWEEN if one_line else max(lines))
