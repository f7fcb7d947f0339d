"""Layouts as a call names them: several at once, ``-`` for what standard input holds."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from attrs import evolve

from blockcheck import api
from blockcheck.core.errors import CallError, InputError
from blockcheck.core.faults import Faults
from blockcheck.core.findings import Finding
from blockcheck.core.spans import Place

if TYPE_CHECKING:
    from blockcheck.types import CheckAnswer, Study


def check_files(
    paths: Iterable[str], stdin: bytes | None = None, stdin_name: str = "stdin.toml", *, allow_outside: bool = False
) -> CheckAnswer:
    """Load and check layouts; what cannot be understood is an answer too. ``-`` stands for ``stdin``.

    Raises CallError where a file cannot be opened.
    """
    from blockcheck.answers.checking.check import joined, refused

    answers = []
    for path in paths:
        try:
            answers.append(api.check(load(path, stdin, stdin_name, allow_outside)))
        except InputError as error:
            answers.append(refused(error))
    return joined(answers)


def load_two(
    old: str, new: str, stdin: bytes | None = None, stdin_name: str = "stdin.toml", *, allow_outside: bool = False
) -> tuple[Study, Study]:
    """Read two layouts; ``-`` stands for ``stdin``.

    Raises InputError with the faults of both, and CallError where a file cannot be opened or both are ``-``.
    """
    if old == new == "-":
        raise CallError("both layouts cannot be read from standard input", "write - for one of the two")
    studies, faults = [], Faults()
    for path in (old, new):
        try:
            studies.append(load(path, stdin, stdin_name, allow_outside))
        except InputError as error:
            faults += [_from_stdin(one) for one in error.findings] if path == "-" else error.findings
    faults.stop()
    return studies[0], studies[1]


def load(path: str, stdin: bytes | None, stdin_name: str, allow_outside: bool) -> Study:
    """Read a layout; ``-`` stands for ``stdin``. Raises InputError and CallError."""
    name, data = (stdin_name, stdin or b"") if path == "-" else (path, None)
    return api.load(name, data=data, allow_outside=allow_outside)


def _from_stdin(finding: Finding) -> Finding:
    """A fault of what standard input holds, which may bear the name of the file that it is compared with."""
    at = finding.at
    return evolve(finding, at=evolve(at, file=f"{at.file} (standard input)")) if isinstance(at, Place) else finding
