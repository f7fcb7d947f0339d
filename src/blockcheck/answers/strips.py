"""Terminal strips: which wire is on which terminal at every booster, board, switch and bench-work joint."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from attrs import field, frozen

from blockcheck.circuit.terminals import END, FEED, OUT, SCREW, Terminal, bank_feed
from blockcheck.circuit.wires import Line
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Board, Layout
from blockcheck.model.wiring import bank_count

SPARE, FREE = "spare, nothing here", "nothing here"
"""What stands for the wires at a channel that has none: kept free on purpose, or not."""
_ORDER = ("booster", "return", "district", "board", "isolators", "points", "harness", "run ends", "run")


@frozen
class Clamp:
    """One terminal of a strip: its position from 1, its name, and the labels of the ends on it with their colours.

    On a board the position is the channel's number, among its feed terminals the bank's. ``wire`` is the name of the
    wire that goes through it at a joint; ``note`` says why nothing is on it.
    """

    position: int
    terminal: str
    wire: str
    labels: tuple[str, ...]
    colours: tuple[str | None, ...]
    note: str | None


@frozen
class Strip:
    """The terminals at one place, in order.

    ``kind`` is what ``home`` is, "feeds" for the feed terminals of a board. ``joint`` counts the bench-work joints of a
    harness or a run, ``at_m`` from the beginning of its wires; ``far`` marks the far ends of a harness.
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
        if self.kind in ("run ends", "feeds"):
            return f"{'runs at' if self.kind == 'run ends' else 'feed terminals of board'} {self.home}"
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
    note: str | None = None

    @property
    def order(self) -> tuple[Any, ...]:
        number = math.inf if self.far else self.joint or 0
        kind = "board" if self.kind == "feeds" else self.kind
        return (_ORDER.index(kind), natural_key(self.home), self.kind, number, self.inner)


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
        kind, owner = terminal.kind, terminal.item
        inner = (natural_key(name.removesuffix(f":{terminal.spot}")), terminal.spot == OUT, natural_key(terminal.spot))
        if kind == "isolator":
            return _Spot("isolators", "", where="control panel", inner=inner, wire=name)
        if kind == "turnout":
            return _Spot("points", "", where="contacts of the switched frogs", inner=inner, wire=name)
        if kind == "run":
            return _Spot("run ends", owner, inner=inner, wire=name)
        if kind == "board":
            return self._on_board(self.layout.boards[owner], terminal, None)
        return _Spot(kind, owner, inner=inner, wire=name)

    def _on_board(self, board: Board, terminal: Terminal, note: str | None) -> _Spot:
        """A channel, or a feed terminal, by its number."""
        kind = "feeds" if terminal.spot.startswith(FEED) else "board"
        number = int(terminal.spot.removeprefix(FEED) or 1)
        return _Spot(kind, board.name, where=board.at, inner=number, wire=terminal.name, note=note)

    def _boards(self) -> None:
        """Every channel and every feed terminal of every board, whether there is a wire on it or not."""
        for board in self.layout.boards.values():
            kind = self.layout.board_types.get(board.type)
            if kind is None:
                continue
            for number in range(1, kind.channels + 1):
                note = SPARE if number in board.spare else FREE
                self._bare(board, Terminal("board", board.name, str(number)), note)
            for bank in range(1, bank_count(kind) + 1):
                self._bare(board, bank_feed(board, kind, bank), FREE)

    def _bare(self, board: Board, terminal: Terminal, note: str) -> None:
        if terminal.name not in self.spots:
            self.spots[terminal.name], self.ends[terminal.name] = self._on_board(board, terminal, note), []

    def sorted(self) -> Iterator[Strip]:
        """The strips in order, each with its terminals in order and the wires on them."""
        self._boards()
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
        spot = self.spots[terminal]
        return Clamp(number, terminal, spot.wire, labels, colours, spot.note)
