"""Terminal strips: which wire is on which terminal at every booster, board, switch and bench-work joint."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from attrs import field, frozen

from blockcheck.answers.tables import Column, Table
from blockcheck.circuit.line import Line
from blockcheck.circuit.terminals import END, FEED, OUT, SCREW, START, Terminal, bank_feed
from blockcheck.core.columns import column
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import Board, Layout
from blockcheck.model.quantities import DIMENSIONS, Metres, show
from blockcheck.model.wiring import bank_count

NOT_GIVEN = "not given"
SPARE, FREE = "spare, nothing here", "nothing here"
"""What stands for the wires at a channel that has none: kept free on purpose, or not."""
_ORDER = ("booster", "return", "district", "board", "isolators", "points", "harness", "run ends", "run")


@frozen
class WireEnd:
    """One end of a wire on a terminal."""

    label: str = column("The label that it bears.")
    colour: str | None = column("Insulation colour.")


@frozen
class Clamp:
    """One terminal of a strip: its position from 1, its name, and the labels of the ends on it with their colours.

    On a board the position is the channel's number, among its feed terminals the bank's. ``wire`` is the name of the
    wire that goes through it at a joint; ``note`` says why nothing is on it.
    """

    wire: str
    position: int = column(
        "Its number on the strip; on a board the channel's, among its feed terminals the bank's.", least=1
    )
    terminal: str = column("Its name.")
    note: str | None = column("Why nothing is on it; null where something is.")
    wires: tuple[WireEnd, ...] = column("The wires on it.")

    @property
    def labels(self) -> tuple[str, ...]:
        """The labels of the ends on it."""
        return tuple(one.label for one in self.wires)

    @property
    def colours(self) -> tuple[str | None, ...]:
        """The insulation colours of the ends on it."""
        return tuple(one.colour for one in self.wires)


def _called(strip: Strip) -> str:
    """In words: ``harness lower, joint 2``."""
    if strip.kind in ("isolators", "points"):
        return f"{strip.kind} of panel {strip.home}" if strip.home else strip.kind
    if strip.kind in ("run ends", "feeds"):
        return f"{'runs at' if strip.kind == 'run ends' else 'feed terminals of board'} {strip.home}"
    tail = f", joint {strip.joint}" if strip.joint else ", far ends" if strip.far else ""
    tail = ", beginning" if strip.joint == 0 else tail
    return f"{strip.kind} {strip.home}{tail}"


@frozen
class Strip:
    """The terminals at one place, in order.

    ``kind`` is what ``home`` is, "feeds" for the feed terminals of a board. ``joint`` counts the bench-work joints of a
    harness or a run, ``at_m`` from the beginning of its wires, which is 0 where they come from a panel; ``far`` marks
    the far ends of a harness.
    """

    kind: str
    home: str
    joint: int | None
    far: bool
    name: str = column("What it is the strip of.", of=_called)
    where: str | None = column("Where it is.")
    at_m: float | None = column("How far a bench-work joint is from the beginning of its wires.")
    clamps: tuple[Clamp, ...] = column("Its terminals, in order.", key="terminals")


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
        if spot == START:
            own = terminal.owner if terminal.kind == "harness" else str(self.layout.blocks[terminal.owner].harness)
            return _Spot("harness", own, 0, at_m=0.0, inner=inner, wire=wire)
        number = int(spot[1:])
        return _Spot(kind, home, number, at_m=round(number * (line.segment_m or 0.0), 9), inner=inner, wire=wire)

    def _post(self, terminal: Terminal, name: str) -> _Spot:
        """A terminal of a booster, a district, a board, a switch, or of what a run leads to."""
        kind, owner = terminal.kind, terminal.item
        inner = (natural_key(name.removesuffix(f":{terminal.spot}")), terminal.spot == OUT, natural_key(terminal.spot))
        if kind == "isolator":
            return self._on_panel(terminal.owner, inner, name)
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

    def _on_panel(self, control: str, inner: Any, wire: str) -> _Spot:
        """A switch: on the panel that it names, or on the one that the layout does not describe."""
        layout = self.layout
        own = layout.isolators.get(control) or layout.selectors[control]
        panel = layout.panels.get(own.panel) if own.panel is not None else None
        if panel is None:
            return _Spot("isolators", "", where="control panel", inner=inner, wire=wire)
        return _Spot("isolators", panel.name, where=panel.at, inner=inner, wire=wire)

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
            yield Strip(kind, home, joint, far, where=first.where, at_m=first.at_m, clamps=clamps)

    def _clamp(self, number: int, terminal: str) -> Clamp:
        spot, ends = self.spots[terminal], tuple(WireEnd(*one) for one in self.ends[terminal])
        return Clamp(spot.wire, number, terminal, spot.note, ends)


def data(strips: Sequence[Strip]) -> Table:
    """One row an end of a wire, for programs."""
    headers = ("strip", "where", Column("at", quantity=Metres), "position", "terminal", "label", "colour", "note")
    rows = [
        (strip.name, strip.where, strip.at_m, clamp.position, clamp.terminal, end.label, end.colour, clamp.note)
        for strip in strips
        for clamp in strip.clamps
        for end in clamp.wires or (WireEnd("", None),)
    ]
    return Table("Terminal strips", headers, rows)


def length(metres: float | None, imperial: bool) -> str:
    """A length for people, or the words that it is not given."""
    return NOT_GIVEN if metres is None else show(metres, DIMENSIONS[Metres], imperial)
