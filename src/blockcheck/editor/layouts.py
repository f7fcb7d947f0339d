"""A layout as an editor holds it: its first file, what is found in it, and the last state of it that could be read."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from datetime import date
from functools import lru_cache
from pathlib import Path

from attrs import field, frozen

from blockcheck import api
from blockcheck.analysis.study import Study
from blockcheck.core.errors import BlockcheckError, InputError
from blockcheck.core.findings import Finding
from blockcheck.rules import RULES, run
from blockcheck.rules._located import located
from blockcheck.text.document import STOCK, ReadFile
from blockcheck.text.includes import printed_name, read_bytes, read_files, shipped

_INCLUDE = re.compile(r"^\s*include\s*=\s*\[(.*?)\]", re.MULTILINE | re.DOTALL)
_NAMES = re.compile(r"\"([^\"\n]+)\"|'([^'\n]+)'")
_SLOW = frozenset({"electrics", "budgets", "operation"})
"""Families of rules that solve the network, which is what takes time."""
_MOST_BESIDE = 200
"""Files of a folder that are looked at for the one that includes another."""

Texts = Mapping[Path, str]
"""What the editor holds, saved or not, by resolved paths."""


@frozen(eq=False)
class Read:
    """The files of a layout that can be read, and what they say."""

    study: Study
    files: tuple[ReadFile, ...]


@frozen(eq=False)
class Seen:
    """What is to be said of a layout. ``read`` is None where it cannot be understood."""

    first: Path
    findings: tuple[Finding, ...]
    read: Read | None
    places: Mapping[str, Path] = field(factory=dict)
    """Name of a file as findings have it -> its path."""

    def path(self, name: str) -> Path:
        """The file that a finding names."""
        if name.startswith(STOCK):
            return shipped("shared") / f"{name.removeprefix(STOCK)}.toml"
        if name in self.places:
            return self.places[name]
        before = os.path.dirname(printed_name(str(self.first)))  # noqa: PTH120 - as names are printed
        return (self.first.parent / os.path.relpath(name, before or ".")).resolve()


def look(first: Path, texts: Texts, quick: bool, stale: Callable[[], bool] = lambda: False) -> Seen | None:
    """Read and check a layout; ``quick`` leaves out the rules that solve the network. None where it is stale."""
    unsaved = {str(path): text for path, text in texts.items() if path != first}
    files: tuple[ReadFile, ...] = ()
    try:
        with suppress(InputError):
            others = {path: text.encode() for path, text in texts.items()}
            files = read_files(str(first), _bytes(first, texts), unsaved=others)
        places = {one.source.name: one.path.resolve() for one in files if one.path is not None}
        study = api.load(str(first), data=_bytes(first, texts), unsaved=unsaved)
        if stale():
            return None
        rules = tuple(one for one in RULES if not quick or one.family not in _SLOW)
        report = run(study, date.today(), rules)
        findings = tuple(located(one, study.wiring.document) for one in report.findings)
        return Seen(first, findings, Read(study, study.wiring.document.files), places)
    except InputError as error:
        return Seen(first, error.findings, None, {one.source.name: one.path.resolve() for one in files if one.path})
    except (BlockcheckError, OSError):  # a file that is gone, or a folder of that name
        return Seen(first, (), None)


def slow(finding: Finding) -> bool:
    """Whether a finding is of a rule that is left out where it must be quick."""
    return any(rule.name == finding.rule and rule.family in _SLOW for rule in RULES)


def first_file(path: Path, texts: Texts) -> Path:
    """The first file of the layout that a file belongs to: itself, unless another one leads to it."""
    for _ in range(8):
        above = next((one for one in _beside(path, texts) if path in _included(one, texts)), None)
        if above is None:
            return path
        path = above
    return path


def _beside(path: Path, texts: Texts) -> Iterator[Path]:
    """Files that may include another: those that are open, then those of its folder and the one above."""
    yield from (one for one in texts if one != path and one.suffix == ".toml")
    for folder in (path.parent, path.parent.parent):
        with suppress(OSError):
            yield from (one.resolve() for one in sorted(folder.glob("*.toml"))[:_MOST_BESIDE] if one.resolve() != path)


def _included(path: Path, texts: Texts) -> frozenset[Path]:
    if path in texts:
        return _includes(path, texts[path])
    with suppress(OSError):
        there = path.stat()
        return _on_disk(path, there.st_mtime_ns, there.st_size)
    return frozenset()


@lru_cache(maxsize=4 * _MOST_BESIDE)
def _on_disk(path: Path, _changed: int, _size: int) -> frozenset[Path]:
    """What a file includes, read once for as long as it stays as it is."""
    with suppress(OSError):
        return _includes(path, read_bytes(path).decode("utf-8", "replace"))
    return frozenset()


def _includes(path: Path, text: str) -> frozenset[Path]:
    found = _INCLUDE.search(text)
    names = [one or two for one, two in _NAMES.findall(found[1])] if found else []
    return frozenset((path.parent / name).resolve() for name in names if not name.startswith(STOCK))


def _bytes(path: Path, texts: Texts) -> bytes:
    return texts[path].encode() if path in texts else read_bytes(path)
