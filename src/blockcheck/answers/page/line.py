"""The way of the current to each block, terminal after terminal: to find a break by halving what is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from attrs import field, frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.page.rows import PageLine, PageTerminal, PageWay
from blockcheck.answers.workshop.leads import Leads
from blockcheck.answers.workshop.piece import Piece
from blockcheck.answers.workshop.pieces import wires
from blockcheck.model.quantities import DIMENSIONS, Metres, show

UNSAID = "length not given"
NOTHING = PageLine((), (), 0)


@frozen(eq=False, repr=False, slots=False)
class Lines:
    """The ways of a study's blocks. ``terminals`` and ``joins`` are those that were passed so far, by their numbers."""

    study: Study
    terminals: list[PageTerminal] = field(factory=list)
    joins: dict[str, int] = field(factory=lambda: {"": 0})
    _numbers: dict[str, int] = field(factory=dict)

    def way(self, block: str) -> PageWay:
        """The way of one block."""
        comes, returns = self._leads.ways(block)
        if not comes:
            return PageWay(block, NOTHING, NOTHING)
        harness = self.study.layout.blocks[block].harness
        back = [one for one in reversed(returns[1:]) if one != f"common of {harness}"]
        return PageWay(
            block,
            self._line(comes[:-1], self._bus("bus", block), self._drops(block, "detected")),
            self._line(back, self._bus("common", str(harness)), self._drops(block, "common")),
        )

    @cached_property
    def _leads(self) -> Leads:
        return Leads(self.study, wires(self.study))

    @cached_property
    def _pieces(self) -> Mapping[tuple[str, str], Sequence[Piece]]:
        """Kind and subject -> the pieces, in their order."""
        found: dict[tuple[str, str], list[Piece]] = {}
        for piece in self._leads.list.pieces:
            found.setdefault((piece.kind, piece.subject), []).append(piece)
        return found

    def _bus(self, kind: str, subject: str) -> Sequence[Piece]:
        return self._pieces.get((kind, subject), ())

    def _drops(self, block: str, rail: str) -> Sequence[Piece]:
        return [one for one in self._pieces.get(("drop", block), ()) if one.rail == rail]

    def _line(self, passed: Sequence[str], bus: Sequence[Piece], drops: Sequence[Piece]) -> PageLine:
        """What is passed to the bus, its joints as far as the first drop, that drop, and the joints beyond it."""
        lead = self._lead(drops[0].subject) if drops else None
        first = None if lead is None or drops[0].at_m is None else lead + drops[0].at_m
        names, beyond, along = [*passed], list[str](), 0.0
        if bus and names and bus[0].from_ not in names:
            names.append(bus[0].from_)
        for piece in bus:
            along = along + piece.length_m if along is not None and piece.length_m is not None else None  # type: ignore[assignment]
            if along is not None and first is not None and along >= first:
                beyond.append(piece.to)
            elif piece is not bus[-1]:
                names.append(piece.to)
        names += [drops[0].to] if drops else []
        every = [
            self._join(*pair, drops)
            for part in (names, beyond)
            for pair in zip(part, [*part[1:], *([None] if part else [])], strict=True)
        ]
        return PageLine(tuple(map(self._number, (*names, *beyond))), tuple(every), len(names))

    def _join(self, here: str, after: str | None, drops: Sequence[Piece]) -> int:
        words = "" if after is None else self._between(here, after, drops)
        return self.joins.setdefault(words, len(self.joins))

    def _lead(self, block: str) -> float | None:
        """How far the near end of a block is along its bus."""
        harness = self.study.layout.harnesses.get(str(self.study.layout.blocks[block].harness))
        return None if harness is None else harness.lead_m

    def _between(self, here: str, after: str, drops: Sequence[Piece]) -> str:
        """What joins two terminals, in words: a wire, or what both are on."""
        for piece, first in self._leads.ends.get(here, ()):
            if (piece.to if first else piece.from_) == after:
                return self._wire(piece)
        if drops and after == drops[0].to:
            return f"bus, then the drop: {self._wire(drops[0])}"
        one, two = (name.partition(":")[0] for name in (here, after))
        if one != two:
            return "wire"
        return "the switch itself" if one.partition(".")[0] in self.study.layout.isolators else f"through {one}"

    def _wire(self, piece: Piece) -> str:
        imperial = self._leads.list.imperial
        length = UNSAID if piece.length_m is None else show(piece.length_m, DIMENSIONS[Metres], imperial)
        return ", ".join(filter(None, (piece.colour, piece.size, length)))

    def _number(self, name: str) -> int:
        if name not in self._numbers:
            self._numbers[name] = len(self.terminals)
            leads = self._leads
            known = name in leads.clamps or name in leads.ends
            labels = (piece.label_from if first else piece.label_to for piece, first in leads.ends.get(name, ()))
            place = leads.terminal(name) if known else ""
            self.terminals.append(PageTerminal(name, place, tuple(dict.fromkeys(labels))))
        return self._numbers[name]
