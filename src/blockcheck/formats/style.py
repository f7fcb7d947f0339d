"""How text is dressed for a reader: its width, and colour where the reader's terminal takes it."""

from __future__ import annotations

import textwrap

from attrs import frozen

from blockcheck.core.findings import Severity
from blockcheck.formats.escape import for_text

_CODES = {"bold": "1", "dim": "2", "red": "31", "green": "32", "yellow": "33", "cyan": "36"}
_SEVERITY = {Severity.ERROR: "red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}


@frozen
class Style:
    """Width in characters, and whether colour is wanted. Words always carry what colour carries.

    ``paper`` is that of pages, such as ``A3``; left out, what the printer holds.
    ``csv_dialect`` is one of ``formats.csv_table.DIALECTS``: what the reader's spreadsheet expects.
    """

    width: int = 100
    colour: bool = False
    csv_dialect: str = "comma"
    paper: str | None = None

    def paint(self, text: str, *how: str) -> str:
        """A line in colours, where they are wanted."""
        return self._painted(for_text(text), how)

    def _painted(self, lines: str, how: tuple[str, ...]) -> str:
        if not self.colour or not lines or not how:
            return lines
        return f"\x1b[{';'.join(_CODES[one] for one in how)}m{lines}\x1b[0m"

    def severity(self, severity: Severity) -> str:
        """The word for a severity."""
        return self.paint(severity.value, "bold", _SEVERITY[severity])

    def wrap(self, text: str, indent: str = "", hang: str | None = None, *how: str) -> str:
        """Text in lines of the reader's width, in colours where they are wanted; names are never broken."""
        lines = textwrap.fill(
            for_text(text),
            max(self.width, 40),
            initial_indent=indent,
            subsequent_indent=indent if hang is None else hang,
            break_long_words=False,
            break_on_hyphens=False,
        )
        return self._painted(lines, how)
