"""Mends that are sure, made in the files: shown as a difference first, written when that is asked for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import unified_diff
from pathlib import Path

from attrs import frozen

from blockcheck import api
from blockcheck.core.errors import InputError
from blockcheck.core.findings import Edit, Finding
from blockcheck.core.shown import on_one_line
from blockcheck.core.words import plural
from blockcheck.formats.escape import for_source
from blockcheck.text.applied import apart, applied
from blockcheck.text.includes import read_files

_ROUNDS = 200
"""More mends than this, one after another, are made by hand."""


@frozen
class Mended:
    """What mending comes to. ``files``: name -> path, text before and after; ``done`` are the findings that are gone
    then, ``left`` those that want a decision."""

    files: Mapping[str, tuple[Path, str, str]]
    done: tuple[Finding, ...]
    left: tuple[Finding, ...]

    def changes(self) -> list[tuple[str, str, str]]:
        """Path, text before and after of each file that changes."""
        return [(str(path), before, after) for path, before, after in self.files.values() if before != after]

    def difference(self) -> str:
        """The changes, as a unified difference; empty where there are none."""
        return "".join(
            line if line.endswith("\n") else f"{line}\n\\ no new line at the end of the file\n"
            for name, (_, before, after) in self.files.items()
            if before != after
            for line in unified_diff(_lines(before), _lines(after), name, f"{name} (mended)")
        )


def mended(path: str, data: bytes | None = None, *, allow_outside: bool = False) -> Mended:
    """Make every mend that is sure and holds: its finding is gone afterwards, and nothing as bad is new.

    Nothing is written. ``data`` stands for the content of the first file. Raises CallError where it cannot be opened,
    and InputError where a file is no TOML.
    """
    files = {one.source.name: one for one in read_files(path, data, allow_outside) if one.path is not None}
    mender = _Mender(path, {name: one.path for name, one in files.items() if one.path is not None}, allow_outside)
    before = {name: one.source.text for name, one in files.items() if not one.stock}
    texts, done, left = mender.mend(before)
    return Mended({name: (mender.paths[name], before[name], texts[name]) for name in before}, tuple(done), tuple(left))


@frozen
class _Mender:
    path: str
    paths: Mapping[str, Path]
    allow_outside: bool

    def mend(self, texts: dict[str, str]) -> tuple[dict[str, str], list[Finding], list[Finding]]:
        """Those that do not touch at once; where that does not hold, one by one."""
        done, refused = list[Finding](), set[object]()
        found = self.findings(texts)
        for _ in range(_ROUNDS):
            batch = [one for one in _apart(found, texts) if _key(one) not in refused]
            for some in (batch, *([one] for one in batch if len(batch) > 1)):
                if not some:
                    return texts, done, found
                after = applied(texts, [edit for one in some for edit in one.edits if isinstance(edit, Edit)])
                there = self.findings(after)
                if _holds(found, some, there):
                    texts, found = after, there
                    done += some
                    break
                refused |= {_key(one) for one in some} if len(some) == 1 else set()
        return texts, done, found

    def findings(self, texts: Mapping[str, str]) -> list[Finding]:
        """What is found in the texts, or why they cannot be understood."""
        first, *_ = texts
        unsaved = {str(self.paths[name]): text for name, text in texts.items() if name != first}
        try:
            study = api.load(self.path, data=texts[first], unsaved=unsaved, allow_outside=self.allow_outside)
            return list(api.check(study).findings)
        except InputError as error:
            return list(error.findings)


def _apart(found: Iterable[Finding], texts: Mapping[str, str]) -> list[Finding]:
    """Findings with a sure mend, no two of which change the same text."""
    batch, taken = list[Finding](), list[Edit]()
    for one in found:
        edits = [edit for edit in one.edits if isinstance(edit, Edit)]
        if edits and all(edit.at.file in texts for edit in edits) and apart(edits, taken, texts):
            batch.append(one)
            taken += edits
    return batch


def _key(finding: Finding) -> object:
    """What makes a finding the same before and after: of what could not be understood, its words."""
    return (finding.rule, finding.subject, finding.others, finding.message if finding.rule == "input" else "")


def _holds(before: list[Finding], mended_: list[Finding], after: list[Finding]) -> bool:
    """Whether what was mended is gone, and nothing as bad is new. What is read for the first time may find anything."""
    left, known = {_key(one) for one in after}, {_key(one) for one in before}
    if any(_key(one) in left for one in mended_):
        return False
    if mended_[0].rule == "input":
        return True
    worst = min(one.severity.rank for one in mended_)
    return all(_key(one) in known or (one.rule != "input" and one.severity.rank > worst) for one in after)


def _lines(text: str) -> list[str]:
    return text.splitlines(keepends=True)


def shown_mends(answer: Mended, written: bool) -> str:
    """The difference, what it mends, and what wants a decision, as text for a terminal."""
    told = [answer.difference()] if answer.done else []
    verb = "mended" if written else "would be mended"
    lines = [f"{plural(len(answer.done), 'finding')} {verb}{':' if answer.done else ', since no mend is sure.'}"]
    lines += [f"  {_told(one)}" for one in answer.done]
    if answer.left:
        lines += [f"{plural(len(answer.left), 'finding')} left to decide:", *(f"  {_told(one)}" for one in answer.left)]
    return "".join(f"{for_source(line)}\n" for line in "\n".join([*told, *lines]).split("\n"))


def _told(finding: Finding) -> str:
    help_ = f"; mend: {on_one_line(finding.help)}" if finding.help else ""
    return on_one_line(f"{finding.where}: {finding.severity.value}: {finding.message}") + help_
