"""The feeds: from booster to district, board and bank, and from each channel by its isolator to its block."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property

from attrs import field, frozen

from blockcheck.drawing.entries import Entry, Mark, Piece, Switch, draw_piece, marks
from blockcheck.drawing.names import compact
from blockcheck.drawing.shapes import BODY, SMALL, Canvas, short
from blockcheck.model.layout import Isolator
from blockcheck.model.quantities import DIMENSIONS, Amperes, show
from blockcheck.model.wiring import Fed, Wiring, bank_count

ROW_MM = 4.5
WIRE_MM = 3.2
"""Wire between two things."""
HANG_MM = 4.0
"""From the edge of a card to its channels."""

Marked = Mapping[tuple[str, str], Sequence[Mark]]
"""Table and name -> the findings there."""


@frozen(eq=False)
class Row:
    """The way from a bank to one block."""

    block: str
    pieces: tuple[Piece, ...]


@frozen(eq=False, slots=False)
class Card:
    """One bank, or what a district feeds straight: how current comes to it, and the ways that begin there.

    ``ways`` are lines of hops; where there are several, a changeover chooses between them.
    """

    ways: tuple[tuple[Piece, ...], ...]
    rows: tuple[Row, ...]

    def height(self, width: float) -> float:
        """How high it is, at a width."""
        return ROW_MM * (len(self._header(width)) + len(self.rows)) + 3.0

    @cached_property
    def least(self) -> float:
        """How wide its rows are."""
        rows = max((_wired(row.pieces) for row in self.rows), default=0.0)
        return HANG_MM + max(rows, max(piece.width + WIRE_MM for way in self.ways for piece in way))

    def _header(self, width: float) -> list[list[Piece]]:
        """The ways, broken into lines."""
        lines: list[list[Piece]] = []
        for way in self.ways:
            line: list[Piece] = []
            for piece in way:
                if line and _wired([*line, piece]) + WIRE_MM > width:
                    lines.append(line)
                    line = []
                line.append(piece)
            lines.append(line)
        return lines

    def draw(self, width: float) -> Canvas:
        """The card, at a width."""
        canvas = Canvas()
        y = 3.2
        for line in self._header(width):
            _wire(canvas, line, 0.0, y)
            y += ROW_MM
        hang = 1.5
        canvas.line("way", (hang, y - ROW_MM + 1.0), (hang, y + ROW_MM * (len(self.rows) - 1) - 0.9))
        for row in self.rows:
            canvas.line("way", (hang, y - 0.9), (HANG_MM, y - 0.9))
            _wire(canvas, row.pieces, HANG_MM, y)
            y += ROW_MM
        return canvas


def _wired(pieces: Sequence[Piece]) -> float:
    return sum(piece.width for piece in pieces) + WIRE_MM * (len(pieces) - 1)


def _wire(canvas: Canvas, pieces: Sequence[Piece], x: float, y: float) -> None:
    """Set pieces on a line, with a wire between those that current passes one after the other."""
    for number, piece in enumerate(pieces):
        if number:
            if piece.kind in ("hop", "channel", "switch", "feeds") and pieces[number - 1].kind != "note":
                start = x + (0.5 if pieces[number - 1].kind == "switch" else 0)
                canvas.line("way", (start, y - 0.9), (x + WIRE_MM - (1.4 if piece.kind == "feeds" else 0), y - 0.9))
                if piece.kind in ("hop", "feeds"):
                    tip = x + WIRE_MM - (0.6 if piece.kind == "feeds" else 0)
                    canvas.line("arrow", (tip - 1.0, y - 1.5), (tip, y - 0.9), (tip - 1.0, y - 0.3), closed=True)
            x += WIRE_MM
        draw_piece(canvas, piece, x, y)
        x += piece.width


def cards(
    wiring: Wiring, entries: Mapping[str, Entry], switch: Callable[[Isolator, int], Switch], marked: Marked, most: int
) -> list[Card]:
    """The cards of a layout, in the order of boards and banks, each of at most so many rows.

    ``switch`` tells how a pole of an isolator stands.
    """
    return _Cards(wiring, entries, switch, marked, most).made()


@frozen(eq=False)
class _Cards:
    wiring: Wiring
    entries: Mapping[str, Entry]
    switch: Callable[[Isolator, int], Switch]
    marked: Marked
    most: int
    found: dict[tuple[object, ...], list[Fed]] = field(factory=dict, init=False)

    def made(self) -> list[Card]:
        for fed in self.wiring.fed.values():
            self.found.setdefault(self._key(fed), []).append(fed)
        order = list(self.wiring.layout.boards)
        keys = sorted(
            self.found, key=lambda key: (key[0], order.index(str(key[1])) if key[0] == 0 else 0, *map(str, key[1:]))
        )
        made = []
        for key in keys:
            some = self.found[key]
            some.sort(key=lambda fed: fed.channel.number if fed.channel is not None else 0)
            parts = -(-len(some) // self.most)
            step = -(-len(some) // parts)  # even parts
            for start in range(0, len(some), step):
                rows = tuple(self._row(fed) for fed in some[start : start + step])
                made.append(Card(self._ways(key, some), rows))
        return made

    def _key(self, fed: Fed) -> tuple[object, ...]:
        if fed.missing or fed.block.unpowered is not None:
            return (2, "without power" if fed.block.unpowered is not None else "feed not known")
        fed = self.wiring.host(fed.block.name)
        if fed.board is not None and fed.bank is not None:
            alone = self.wiring.bank_isolators.get((fed.board.name, fed.bank))
            return (0, fed.board.name, fed.district or "", f"{fed.bank:06}" if alone else "")
        if fed.changeover is not None:
            return (1, *(fed.changeover.between or ()))
        return (1, fed.district or "")

    def _board(self, fed: Fed, some: Sequence[Fed]) -> str:
        """A board, and where it has several banks, which ones."""
        assert fed.board is not None
        text = f"board {short(fed.board.name)}"
        if fed.type is None or bank_count(fed.type) == 1:
            return text
        banks = sorted({one.bank for one in some if one.bank is not None})
        return f"{text} bank{'s' if len(banks) > 1 else ''} {compact(map(str, banks), 16)}"

    def _ways(self, key: tuple[object, ...], some: Sequence[Fed]) -> tuple[tuple[Piece, ...], ...]:
        if key[0] == 2:
            return ((Piece("hop", str(key[1]), SMALL),),)
        fed = some[0]
        last: list[Piece] = []
        told: list[Piece] = []
        districts = [fed.district] if key[0] == 0 else list(map(str, key[1:]))
        if fed.board is not None and key[0] == 0:
            for isolator, pole in self.wiring.bank_isolators.get((fed.board.name, fed.bank), ()):
                last.append(_piece(self.switch(isolator, pole)))
                if isolator.contact == "changeover":
                    districts = list(map(str, isolator.between or ()))
            last.append(Piece("hop", self._board(fed, some), SMALL, bold=True, of=("board", fed.board.name)))
            told += self._marks("boards", fed.board.name)
        elif self.wiring.layout.boards:
            last.append(Piece("note", "straight, without a channel", SMALL))
        ways = []
        for number, name in enumerate(districts):
            district = self.wiring.layout.districts.get(str(name))
            hops = [Piece("note", "or", SMALL)] if number else []
            if district is not None:
                hops += [Piece("hop", f"booster {short(district.booster)}", SMALL)]
                told += self._marks("boosters", district.booster)
                if district.has_breaker:
                    trip = district.trip_a
                    hops += [Piece("hop", f"breaker {show(trip, DIMENSIONS[Amperes])}" if trip else "breaker", SMALL)]
                if district.turns:
                    hops += [Piece("hop", f"polarity: {district.polarity}", SMALL)]
            hops += [Piece("hop", f"district {short(str(name))}", SMALL)]
            told += self._marks("districts", str(name))
            ways.append(hops)
        if len(ways) == 1:
            ways[0] += last
        elif last:
            ways.append(last)
        ways[-1] += told
        if key[0] == 0 and fed.board is not None and fed.board.at is not None:
            ways.append([Piece("note", short(fed.board.at, 44), SMALL)])
        return tuple(map(tuple, ways))

    def _marks(self, table: str, name: str) -> tuple[Piece, ...]:
        return marks(self.marked.get((table, name), ()), 1)

    def _row(self, fed: Fed) -> Row:
        entry = self.entries[fed.block.name]
        pieces = [Piece("channel", short(entry.channel), SMALL, of=("channel", entry.channel))] if entry.channel else []
        after: list[Piece] = []
        for isolator, pole in self.wiring.host(fed.block.name).poles:
            if self._before(fed, isolator):
                continue
            piece = _piece(self.switch(isolator, pole))
            if isolator.side == "common-rail":
                after += [piece] if after else [Piece("note", "return by", SMALL), piece]
            else:
                pieces.append(piece)
        if fed.through is not None:
            pieces.append(Piece("feeds", short(fed.through.name), SMALL))
        pieces.append(Piece("feeds", short(entry.name), BODY, bold=True))
        pieces += after
        if entry.word and entry.word != "on":
            pieces.append(Piece("word", entry.word, SMALL, bold=True, state=entry.power or "unknown"))
        return Row(entry.name, (*pieces, *marks(entry.marks, 0)))

    def _before(self, fed: Fed, isolator: Isolator) -> bool:
        if fed.board is None or fed.missing:
            return False
        return any(one is isolator for one, _ in self.wiring.bank_isolators.get((fed.board.name, fed.bank), ()))


def _piece(switch: Switch) -> Piece:
    of = ("isolator", switch.name)
    return Piece("switch", switch.text, SMALL, state="open" if switch.open else None, form=switch.form, of=of)
