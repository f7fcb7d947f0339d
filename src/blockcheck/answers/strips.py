"""Terminal strips: which wire is on which terminal at every booster, board, switch and bench-work joint."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from attrs import field, frozen

from blockcheck.circuit.lines import Line
from blockcheck.circuit.terminals import END, OUT, SCREW, Terminal
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Layout

_ORDER = ("booster", "return", "district", "board", "isolators", "points", "harness", "run ends", "run")


@frozen
class Clamp:
    """One terminal of a strip: its position from 1, its name, and the labels of the ends on it with their colours.

    ``wire`` is the name of the wire that goes through it at a joint.
    """

    position: int
    terminal: str
    wire: str
    labels: tuple[str, ...]
    colours: tuple[str | None, ...]


@frozen
class Strip:
    """The terminals at one place, in order.

    ``kind`` is what ``home`` is. ``joint`` counts the bench-work joints of a harness or a run, ``at_m`` from the
    beginning of its wires; ``far`` marks the far ends of a harness.
    """

    kind: str
    home: str
    joint: int | None
    far: bool
    where: str | None
    at_m: float | None
    clamps: tuple[Clamp, ...]

    @property
    def name(self) -> str:
        """In words: ``harness lower, joint 2``."""
        if self.kind in ("isolators", "points"):
            return self.kind
        if self.kind == "run ends":
            return f"runs at {self.home}"
        tail = f", joint {self.joint}" if self.joint is not None else ", far ends" if self.far else ""
        return f"{self.kind} {self.home}{tail}"


@frozen
class _Spot:
    """Where a terminal is: its strip, its order within, and the wire that goes through it."""

    kind: str
    home: str
    joint: int | None = None
    far: bool = False
    where: str | None = None
    at_m: float | None = None
    inner: Any = ()
    wire: str = ""

    @property
    def order(self) -> tuple[Any, ...]:
        number = math.inf if self.far else self.joint or 0
        return (_ORDER.index(self.kind), natural_key(self.home), number, self.inner)


@frozen(eq=False, repr=False)
class Strips:
    """Collects the ends of the wires, and sorts them into strips."""

    layout: Layout
    spots: dict[str, _Spot] = field(factory=dict)
    ends: dict[str, list[tuple[str, str | None]]] = field(factory=dict)

    def add(self, line: Line, terminal: Terminal, name: str, label: str) -> None:
        """An end of a piece of ``line``, by the name of its terminal and its label; taps and solder have no strip."""
        if terminal.fixing != SCREW:
            return
        self.ends.setdefault(name, []).append((label, line.colour))
        if name not in self.spots:
            self.spots[name] = self._joint(line, terminal, name) or self._post(terminal, name)

    def _joint(self, line: Line, terminal: Terminal, name: str) -> _Spot | None:
        """A bench-work joint, or the far end of a bus; None for another terminal."""
        spot, run = terminal.spot, terminal.kind == "run"
        if terminal.kind not in ("block", "harness", "run") or (run and not spot):
            return None
        wire = line.mark if run else name.removesuffix(f":{spot}")
        inner = (line.rail == "common", natural_key(wire))  # the common last
        kind, home = ("run", line.subject) if run else ("harness", str(line.path[1]))
        if spot == END:
            return _Spot(kind, home, far=True, inner=inner, wire=wire)
        number = int(spot[1:])
        return _Spot(kind, home, number, at_m=round(number * (line.segment_m or 0.0), 9), inner=inner, wire=wire)

    def _post(self, terminal: Terminal, name: str) -> _Spot:
        """A terminal of a booster, a district, a board, a switch, or of what a run leads to."""
        kind, owner = terminal.kind, terminal.owner
        inner = (natural_key(name.removesuffix(f":{terminal.spot}")), terminal.spot == OUT, natural_key(terminal.spot))
        if kind == "isolator":
            return _Spot("isolators", "", where="control panel", inner=inner, wire=name)
        if kind == "turnout":
            return _Spot("points", "", where="contacts of the switched frogs", inner=inner, wire=name)
        if kind == "run":
            return _Spot("run ends", owner, inner=inner, wire=name)
        where = self.layout.boards[owner].at if kind == "board" else None
        return _Spot(kind, owner, where=where, inner=inner, wire=name)

    def sorted(self) -> Iterator[Strip]:
        """The strips in order, each with its terminals in order and the wires on them."""
        strips: dict[tuple[Any, ...], list[str]] = {}
        for terminal in sorted(self.ends, key=lambda one: self.spots[one].order):
            spot = self.spots[terminal]
            strips.setdefault((spot.kind, spot.home, spot.joint, spot.far), []).append(terminal)
        for (kind, home, joint, far), terminals in strips.items():
            first = self.spots[terminals[0]]
            clamps = tuple(self._clamp(number, one) for number, one in enumerate(terminals, 1))
            yield Strip(kind, home, joint, far, first.where, first.at_m, clamps)

    def _clamp(self, number: int, terminal: str) -> Clamp:
        ends = self.ends[terminal]
        labels, colours = tuple(label for label, _ in ends), tuple(colour for _, colour in ends)
        return Clamp(number, terminal, self.spots[terminal].wire, labels, colours)
