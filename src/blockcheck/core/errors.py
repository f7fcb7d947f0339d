"""The errors of the package.

::

    BlockcheckError
    ├── InputError(findings)   what a person wrote wrong: every fault of the stage that failed, each with its place
    └── CallError(message)     what a caller asked for wrongly: an unknown track, an unknown rule, a bad option
"""

from __future__ import annotations

from collections.abc import Iterable

from blockcheck.core.findings import Finding


class BlockcheckError(Exception):
    """Base of all errors that blockcheck raises on purpose."""


class InputError(BlockcheckError):
    """The layout could not be understood. ``findings`` holds every fault of the stage, in the order of the text."""

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("; ".join(finding.message for finding in self.findings))


class CallError(BlockcheckError):
    """The call could not be understood. ``help`` says what to write instead."""

    def __init__(self, message: str, help: str | None = None) -> None:  # noqa: A002 - the word that people read
        self.help = help
        super().__init__(message)
