"""One function a command: what the command line, the tests and notebooks call."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from os import PathLike, fspath

from blockcheck.analysis.case import Case
from blockcheck.answers import channels as _channels
from blockcheck.answers import check as _check
from blockcheck.answers import isolate as _isolate
from blockcheck.core.errors import InputError
from blockcheck.model.build import build
from blockcheck.model.link import link
from blockcheck.text.includes import read_files
from blockcheck.text.merge import merge


def load(path: str | PathLike[str], data: bytes | None = None, *, allow_outside: bool = False) -> Case:
    """Read a layout from its first file.

    ``data`` stands for the content of that file where it comes from elsewhere; ``allow_outside`` lets it include files
    above its folder. Raises InputError with every fault found, each at file, line and column, and CallError where the
    file cannot be opened.
    """
    document = merge(read_files(fspath(path), data, allow_outside))
    return Case.of(link(document, build(document)))


def check(case: Case, today: date | None = None) -> _check.CheckAnswer:
    """Is the layout right? ``today`` (default: the day it is) is what the dates of exceptions are held against."""
    return _check.check(case, today or date.today())


def check_files(
    paths: Iterable[str], stdin: bytes | None = None, stdin_name: str = "stdin.toml", *, allow_outside: bool = False
) -> _check.CheckAnswer:
    """Load and check layouts; what cannot be understood is an answer too. ``-`` stands for ``stdin``.

    Raises CallError where a file cannot be opened.
    """
    answers = []
    for path in paths:
        try:
            case = (
                load(stdin_name, stdin or b"", allow_outside=allow_outside)
                if path == "-"
                else load(path, allow_outside=allow_outside)
            )
            answers.append(check(case))
        except InputError as error:
            answers.append(_check.refused(error.findings))
    return _check.joined(answers)


def channels(case: Case) -> _channels.ChannelMap:
    """The channel map: which channel is which block."""
    return _channels.channels(case)


def isolate(case: Case, tracks: str, scenario: str | None = None) -> _isolate.IsolateAnswer:
    """What happens if these tracks are isolated, as usual or in a scenario. Raises CallError for unknown names."""
    return _isolate.isolate(case, tracks, scenario)
