"""A layout that breaks a rule, and the one that keeps it: ``examples/<rule>.toml`` holds both.

Its first line is what the rule says of it. In the layout that breaks the rule the comments ``# mend:`` are not there;
in the one that keeps it each stands in for the rest of its line.
"""

from __future__ import annotations

import re
from pathlib import Path

from attrs import frozen

from blockcheck.core.columns import column

_MEND = re.compile(r"(.*?)\s*# mend:\s*(.*)")
_SAYS = "# says: "


@frozen
class Example:
    """``failing`` and ``passing`` are layouts in TOML; ``says`` is the finding of the first."""

    failing: str = column("A layout that breaks it, in TOML.")
    says: str = column("The one finding about that layout.")
    passing: str = column("A layout that keeps it, in TOML.")


def example_of(rule: str) -> Example:
    """The example of a rule."""
    return example_in((Path(__file__).parent / "examples" / f"{rule}.toml").read_text("utf-8"))


def example_in(text: str) -> Example:
    """An example as it is written."""
    says, _, layout = text.partition("\n") if text.startswith(_SAYS) else ("", "", text)
    failing: list[str] = []
    passing: list[str] = []
    for line in layout.splitlines():
        match = _MEND.fullmatch(line)
        before, after = (match[1], match[2]) if match else (line, line)
        failing += [before] if before or not match else []
        passing += [after] if after or not match else []
    return Example(_joined(failing), says.removeprefix(_SAYS), _joined(passing))


def _joined(lines: list[str]) -> str:
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip("\n") + "\n"
