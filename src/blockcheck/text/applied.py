"""Edits made: the texts of files with something written in the place of something else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from blockcheck.core.findings import Edit
from blockcheck.core.spans import Span


def applied(texts: Mapping[str, str], edits: Iterable[Edit]) -> dict[str, str]:
    """The texts after some edits, all of them together; by the names of the files. Edits may not overlap."""
    made = dict(texts)
    of_file: dict[str, list[tuple[Span, str]]] = {}
    for edit in dict.fromkeys(edits):
        of_file.setdefault(edit.at.file, []).append((span_of(texts[edit.at.file], edit), edit.text))
    for name, changes in of_file.items():
        parts, at = [], 0
        for span, text in sorted(changes, key=lambda one: (one[0].start, one[0].end)):
            assert span.start >= at, "two edits overlap"
            parts += [texts[name][at : span.start], text]
            at = span.end
        made[name] = "".join([*parts, texts[name][at:]])
    return made


def apart(edits: Iterable[Edit], others: Iterable[Edit], texts: Mapping[str, str]) -> bool:
    """Whether some edits touch nothing that others change. Those that are the same are made once."""
    taken = [(one, span_of(texts[one.at.file], one)) for one in others]
    for edit in edits:
        span = span_of(texts[edit.at.file], edit)
        for other, there in taken:
            if (
                other.at.file == edit.at.file
                and other != edit
                and max(span.start, there.start) < min(span.end, there.end)
            ):
                return False
    return True


def span_of(text: str, edit: Edit) -> Span:
    """What an edit replaces, in code points from the beginning of its file."""
    start = _offset(text, edit.at.line, edit.at.column)
    return Span(start, _offset(text, edit.at.end_line, edit.at.end_column))


def _offset(text: str, line: int, column: int) -> int:
    start = 0
    for _ in range(line - 1):
        start = text.index("\n", start) + 1
    return start + column - 1
