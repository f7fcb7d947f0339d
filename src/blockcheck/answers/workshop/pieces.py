"""The wires of a layout cut into pieces, each end named and labelled."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

from attrs import evolve, field, frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.workshop.piece import End, Piece
from blockcheck.answers.workshop.strips import Strips
from blockcheck.answers.workshop.wires import (
    Breaker,
    Fitted,
    Fuse,
    LeadTaken,
    Part,
    Saving,
    Sums,
    Total,
    WireList,
)
from blockcheck.circuit.across import lying_across
from blockcheck.circuit.ladder import bench_joints, drop_places
from blockcheck.circuit.line import Line, Lines
from blockcheck.circuit.terminals import SCREW, SOLDER, TAP, Terminal
from blockcheck.circuit.wires import lines
from blockcheck.core.errors import CallError
from blockcheck.core.natural import natural_key
from blockcheck.model.tables.chain import taken

MOST_PIECES = 100_000
"""No wire list has more rows."""

_DIGITS = 9
"""Decimals of a metre that are kept: what lies beyond is rounding."""

_SECTIONS = (
    *("breaker", "polarity", "feed", "return", "tie", "throw", "return throw", "bank"),
    *("channel", "switch", "common switch", "panel"),
)
"""The kinds of wires before the track, in the order of the list; the others stay in the order of the track."""


def wires(study: Study) -> WireList:
    """The wire list of a study. Raises CallError where it would have more than 100,000 rows."""
    return Cutter(study, counted(study), Strips(study.layout)).answer()


def counted(study: Study) -> Lines:
    """The wires of a study, where they are no more than 100,000 pieces: a slip in one length makes millions of them.

    Raises CallError where they are more.
    """
    found = lines(study.wiring, study.circuit)
    rows = sum(_pieces(line) for line in found.wires)
    if rows > MOST_PIECES:
        worst = max(found.wires, key=_pieces)
        message = f"the wire list would have {rows} pieces of wire; the most is {MOST_PIECES}"
        raise CallError(message, f"{worst.subject} alone has {_pieces(worst)}: give it a longer segment")
    return found


def end_labels(study: Study) -> Iterator[tuple[str, str]]:
    """The label of every end of every piece of wire, and the terminal at which it sits."""
    for piece in wires(study).pieces:
        for end in (piece.start, piece.end):
            yield end.label, end.terminal


def _pieces(line: Line) -> int:
    """How many pieces a wire is cut into at the bench-work joints."""
    if line.length_m is None:
        return 1
    return bench_joints(line.segment_m, 0.0, line.length_m, line.length_m) + 1


@frozen(eq=False, repr=False, slots=False)
class Cutter:
    study: Study
    found: Lines
    strips: Strips
    names: dict[Terminal, str] = field(factory=dict)
    labels: dict[str, int] = field(factory=dict)

    def answer(self) -> WireList:
        head = [line for line in self.found.wires if line.kind in _SECTIONS]
        head.sort(key=lambda one: (_SECTIONS.index(one.kind), natural_key(one.start.name), natural_key(one.end.name)))
        rest = [line for line in self.found.wires if line.kind not in _SECTIONS]
        wanted = [*head, *rest]
        self._name(wanted)
        pieces = tuple(piece for number, line in enumerate(wanted, 1) for piece in self._cut(number, line))
        about = self.study.layout.about
        resistors = tuple(
            Part(one.name, " and ".join(end.name for end in one.across), one.ohm) for one in self.found.resistors
        )
        savings = tuple(self._savings())
        return WireList(
            about.name,
            about.allowance,
            pieces,
            resistors,
            tuple(self._breakers()),
            tuple(self._fuses()),
            tuple(self._across()),
            tuple(_totals(pieces)),
            _sums(len(wanted), pieces, sum(one.saved for one in savings)),
            savings,
            tuple(self.strips.sorted()),
            tuple(LeadTaken(name, one.lead_m, one.before) for name, one in taken(self.study.wiring).items()),
            about.units == "imperial",
        )

    # --- names -----------------------------------------------------------------------------------------------------
    def _name(self, wanted: Iterable[Line]) -> None:
        """A name for every terminal; where two would share one, each says what it is a terminal of."""
        sharing: dict[str, dict[tuple[str, ...], None]] = {}
        ends: dict[Terminal, None] = {}
        for line in wanted:
            for terminal in self._ends(line):
                ends[terminal] = None
                if terminal.kind != "run":  # told apart by the mark of its wire
                    sharing.setdefault(terminal.name, {})[terminal[:4]] = None
        for terminal in ends:
            if terminal.kind == "run":
                self.names[terminal] = terminal.spot or terminal.owner
            else:
                several = len(sharing[terminal.name]) > 1
                self.names[terminal] = f"{terminal.kind} {terminal.name}" if several else terminal.name

    @staticmethod
    def _ends(line: Line) -> Iterator[Terminal]:
        """The terminals along a wire: its ends, and the bench-work joints between them."""
        yield line.start
        for number in range(1, _pieces(line)):
            assert line.stem is not None
            yield line.stem._replace(spot=f"j{number}")
        yield line.end

    def _called(self, line: Line, terminal: Terminal) -> str:
        return f"{line.mark} {self.names[terminal]}" if line.mark else self.names[terminal]

    def _label(self, line: Line, here: Terminal, there: Terminal) -> str:
        """What the end at ``here`` bears: where it belongs, and where it comes from. No two labels are the same."""
        text = f"{self._called(line, here)} > {self.names[there]}"
        self.labels[text] = self.labels.get(text, 0) + 1
        return text if self.labels[text] == 1 else f"{text} #{self.labels[text]}"

    # --- pieces ----------------------------------------------------------------------------------------------------
    def _cut(self, wire: int, line: Line) -> Iterator[Piece]:
        """A wire as the pieces that it is cut into, from the board's end."""
        layout = self.study.layout
        terminals = list(self._ends(line))
        named = layout.wires.get(line.conductor) if line.conductor is not None else None
        purpose = layout.runs[line.subject].purpose if line.kind == "run" else None
        allowed = 1.0 + (layout.about.allowance or 0.0)
        for number, (start, end) in enumerate(pairwise(terminals), 1):
            here, there = self._end(line, start, end), self._end(line, end, start)
            length_m = _length(line, number, len(terminals) - 1)
            yield Piece(
                wire,
                line.kind,
                line.subject,
                number,
                len(terminals) - 1,
                *(here.terminal, there.terminal, here.label, there.label, here.fixing, there.fixing),
                line.conductor,
                named.size if named is not None else line.conductor,
                line.colour,
                length_m,
                None if length_m is None else round(length_m * allowed, _DIGITS),
                line.at_m,
                line.rail,
                purpose=purpose,
            )

    def _end(self, line: Line, here: Terminal, there: Terminal) -> End:
        """The end at ``here``, noted on its strip."""
        end = End(self._called(line, here), self._label(line, here, there), here.fixing)
        self.strips.add(line, here, end.terminal, end.label)
        return end

    def _breakers(self) -> Iterator[Breaker]:
        for line in self.found.wires:
            if line.kind == "breaker":
                district = self.study.layout.districts[line.subject]
                yield Breaker(line.end.item, district.trip_a, district.breaker)

    def _fuses(self) -> Iterator[Fuse]:
        rated: dict[float, list[str]] = {}
        for name in self.study.circuit.detected:
            fuse = self.study.wiring.fed[name].fuse
            if fuse is not None:
                rated.setdefault(fuse[0], []).append(name)
        for rating_a, names in sorted(rated.items()):
            yield Fuse(rating_a, len(names), tuple(sorted(names, key=natural_key)))

    def _across(self) -> Iterator[Fitted]:
        fitted: dict[tuple[bool, float | None, float | None], list[str]] = {}
        for name in self.study.blocks:
            for one in lying_across(self.study.wiring, name):
                key = one.at_bus, one.part.resistance_ohm, one.part.capacitance_f
                fitted.setdefault(key, []).append(name)
        for (at_bus, ohms, farads), names in fitted.items():
            yield Fitted("bus pair" if at_bus else "rails", ohms, farads, len(names), tuple(names))

    def _savings(self) -> Iterator[Saving]:
        """Blocks that have fewer drops than one pair a turnout and one every ``feeder_spacing`` would take."""
        layout = self.study.layout
        turnouts: dict[str, int] = {}
        for turnout in layout.turnouts.values():
            turnouts[turnout.block] = turnouts.get(turnout.block, 0) + 1
        for name in self.study.blocks:
            block = layout.blocks[name]
            harness = layout.harnesses.get(block.harness) if block.harness is not None else None
            given = drop_places(block, harness) if harness is not None else None
            if harness is None or given is None:
                continue
            spaced = drop_places(evolve(block, feeders=None, feeders_at_m=None), harness) or ()
            asked = max(len(spaced), turnouts.get(name, 0))
            if asked > len(given):
                yield Saving(name, turnouts.get(name, 0), 2 * asked, 2 * len(given))


def _length(line: Line, number: int, pieces: int) -> float | None:
    """Length of one piece of a wire, in metres: a segment each, and what is left for the last."""
    if line.length_m is None or pieces == 1 or line.segment_m is None:
        return line.length_m
    rest_m = line.length_m - (pieces - 1) * line.segment_m
    return line.segment_m if number < pieces else round(rest_m, _DIGITS)


def _metres(pieces: Iterable[Piece]) -> tuple[float, float]:
    """The sum of the lengths that are given, as measured and as cut."""
    known = [(one.length_m, one.cut_m) for one in pieces if one.length_m is not None and one.cut_m is not None]
    return (
        round(math.fsum(length_m for length_m, _ in known), _DIGITS),
        round(math.fsum(cut_m for _, cut_m in known), _DIGITS),
    )


def _totals(pieces: Iterable[Piece]) -> Iterator[Total]:
    """By conductor and colour; what the layout gives no conductor for comes last."""
    groups: dict[tuple[str | None, str | None], list[Piece]] = {}
    for piece in pieces:
        groups.setdefault((piece.conductor, piece.colour), []).append(piece)
    order = sorted(groups, key=lambda one: (one[0] is None, natural_key(one[0] or ""), one[1] is None, one[1] or ""))
    for conductor, colour in order:
        members = groups[conductor, colour]
        yield Total(
            conductor,
            members[0].size,
            colour,
            len(members),
            *_metres(members),
            sum(one.length_m is None for one in members),
        )


def _sums(count: int, pieces: tuple[Piece, ...], saved: int) -> Sums:
    fixings = [end.fixing for piece in pieces for end in (piece.start, piece.end)]
    return Sums(
        count,
        len(pieces),
        sum(one.length_m is None for one in pieces),
        *_metres(pieces),
        fixings.count(SCREW),
        fixings.count(SCREW),
        fixings.count(TAP),
        fixings.count(SOLDER),
        len(fixings),
        sum(one.kind == "drop" for one in pieces),
        saved,
    )
