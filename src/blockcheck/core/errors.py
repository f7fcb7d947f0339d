"""The errors of the package.

::

    BlockcheckError
    ├── InputError(findings)   what a person wrote wrong: every fault of the stage that failed, each with its place
    ├── CallError(message)     what a caller asked for wrongly: an unknown track, an unknown rule, a bad option
    └── OutOfTimeError         raised by a ``progress``: the work ends, and its answer says how far it went
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path as FilePath

from attrs import evolve

from blockcheck.core.findings import Finding
from blockcheck.core.spans import Place

MOST_FINDINGS = 200
"""More faults of the input than this are not told: nobody reads them, and each costs a look at the text."""


class BlockcheckError(Exception):
    """Base of all errors that blockcheck raises on purpose."""

    __module__ = "blockcheck"  # as people write it, and tracebacks show it


class InputError(BlockcheckError):
    """The layout could not be understood.

    ``findings`` holds every fault of the stage, in the order of the text and each once; of more than 200 the first.
    ``files`` are the files that were read, as far as it is known. It prints as its findings, each with its place and
    how to mend it.
    """

    __module__ = "blockcheck"

    def __init__(self, findings: Iterable[Finding], files: Iterable[FilePath] = ()) -> None:
        self.files = tuple(files)
        found = {(one.at, one.message): one for one in sorted(findings, key=_text_order)}  # a range has it many times
        told = list(found.values())[: MOST_FINDINGS + 1]
        if len(told) > MOST_FINDINGS:
            told[-1] = evolve(told[-1], message="there are more faults from here on", help="mend the ones above first")
        self.findings = tuple(told)
        super().__init__(self.findings)

    def __str__(self) -> str:
        return "\n".join(map(str, self.findings))


class CallError(BlockcheckError):
    """The call could not be understood. ``help`` says what to write instead; tracebacks show it below the message."""

    __module__ = "blockcheck"

    def __init__(self, message: str, help: str | None = None) -> None:  # noqa: A002 - the word that people read
        self.help = help
        super().__init__(message)
        if help is not None:
            self.add_note(help)


def _text_order(finding: Finding) -> tuple[str, int, int]:
    place = finding.at
    return (place.file, place.line, place.column) if isinstance(place, Place) else ("", 0, 0)


class OutOfTimeError(BlockcheckError):
    """What a ``progress`` raises where the work has taken long enough: it ends there, and says what it left out."""

    __module__ = "blockcheck"
