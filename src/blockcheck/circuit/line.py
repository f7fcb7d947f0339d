"""What a list of wires is made of: every conductor from terminal to terminal, and the hold resistors."""

from __future__ import annotations

from attrs import frozen

from blockcheck.circuit.terminals import Terminal
from blockcheck.core.spans import Path


@frozen(kw_only=True, eq=False, repr=False)
class Line:
    """One wire from end to end. Lengths in metres; ``segment_m`` is the length between the bench-work joints in it.

    ``subject`` is the part of the layout that it belongs to; ``at_m`` the place of a drop from the near end, on the
    rail ``rail`` of it. ``stem`` names the joints within. ``path`` is what made it. ``mark`` tells wires apart that
    lie side by side between the same ends. ``blocks`` are those that a common bus serves.
    """

    kind: str
    subject: str
    start: Terminal
    end: Terminal
    path: Path
    conductor: str | None = None
    colour: str | None = None
    length_m: float | None = None
    segment_m: float | None = None
    stem: Terminal | None = None
    at_m: float | None = None
    rail: str | None = None
    mark: str = ""
    blocks: tuple[str, ...] = ()


@frozen(eq=False, repr=False)
class Resistor:
    """A hold resistor across an open contact, between the two sides of it."""

    name: str
    ohm: float
    across: tuple[Terminal, Terminal]


@frozen(eq=False, repr=False)
class Lines:
    """All wires of a layout in the order of the current, then the runs that carry none, and the hold resistors."""

    wires: tuple[Line, ...]
    resistors: tuple[Resistor, ...]
