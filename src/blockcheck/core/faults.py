"""The faults of one stage of reading, collected so that all are told at once."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path as FilePath

from blockcheck.core.errors import MOST_FINDINGS, InputError
from blockcheck.core.findings import Finding, Label
from blockcheck.core.spans import Place


class Faults(list[Finding]):
    """What a person wrote wrong, as a stage comes upon it."""

    def add(self, place: Place, message: str, help_: str | None, *related: Label) -> None:
        """Note a fault. Raises InputError where there are more than anybody reads."""
        self.append(Finding(message, place.file, place, related=related, help=help_))
        if len(self) > MOST_FINDINGS:
            raise InputError(self)

    def stop(self, files: Iterable[FilePath] = ()) -> None:
        """End the stage. Raises InputError where anything was wrong; ``files`` are those that were read."""
        if self:
            raise InputError(self, files)
