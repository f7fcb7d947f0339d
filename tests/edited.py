"""Edits applied to the text of files, as an editor would: by line and column, from the last to the first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from blockcheck.core.findings import Edit


def edited(texts: Mapping[str, str], edits: Iterable[Edit]) -> dict[str, str]:
    """The texts after some edits; by the names of the files."""
    made = dict(texts)
    for one in sorted(edits, key=lambda edit: (edit.at.line, edit.at.column), reverse=True):
        text, at = made[one.at.file], one.at
        start, end = offset(text, at.line, at.column), offset(text, at.end_line, at.end_column)
        assert start <= end
        made[at.file] = text[:start] + one.text + text[end:]
    return made


def offset(text: str, line: int, column: int) -> int:
    """Where a line and column, both from 1, stand in a text."""
    start = 0
    for _ in range(line - 1):
        start = text.index("\n", start) + 1
    return start + column - 1
