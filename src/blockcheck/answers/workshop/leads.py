"""Finds what a label names, and all that hangs together with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from attrs import frozen

from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.tolerance import Tolerance
from blockcheck.analysis.study import Study
from blockcheck.answers.workshop.piece import Piece
from blockcheck.answers.workshop.pieces import wires
from blockcheck.answers.workshop.steps import SheetStep
from blockcheck.answers.workshop.strips import Clamp, Strip
from blockcheck.answers.workshop.where import Beside, LooksThere, WhereAnswer, WireHere
from blockcheck.answers.workshop.wires import WireList
from blockcheck.circuit.parts import Edge, Kind
from blockcheck.circuit.terminals import BAR, IN, OUT, Terminals
from blockcheck.core.errors import CallError
from blockcheck.core.natural import natural_key
from blockcheck.core.nearest import nearest_of
from blockcheck.core.shown import shown
from blockcheck.model.operate import closed_position

MOST_DIGITS = 9
MOST_NEAR = 3
"""So many names are offered for one that is not known."""
NOWHERE = 4
_FED = (Kind.BREAKER, Kind.POLARITY, Kind.FEED, Kind.BANK, Kind.DETECTOR, Kind.POLE, Kind.THROW, Kind.BUS)
_BACK = (Kind.POLARITY, Kind.RETURN, Kind.COMMON, Kind.POLE, Kind.THROW)
"""What current goes through to a rail, and back from one: not from track to track."""
_TABLES = {
    "block": "blocks",
    "isolator": "isolators",
    "board": "boards",
    "district": "districts",
    "booster": "boosters",
    "harness": "harnesses",
    "turnout": "turnouts",
    "run": "runs",
}


def where(study: Study, label: str) -> WhereAnswer:
    """Where a label leads: a label whole, a terminal, a channel, its address, or the name of a part of the layout.

    Raises CallError, with the nearest names, where there is nothing of that name.
    """
    return Leads(study, wires(study)).answer(label)


def where_names(study: Study) -> Iterator[str]:
    """What can be asked for, but for labels whole."""
    found = Leads(study, wires(study))
    yield from found.parts
    yield from found.clamps
    yield from (name for name in found.ends if name not in found.clamps)


@frozen(eq=False, repr=False, slots=False)
class Leads:
    """What of a study a label can lead to, by its wire list."""

    study: Study
    list: WireList

    # -- what there is ------------------------------------------------------------------------------------------------
    @cached_property
    def parts(self) -> Mapping[str, tuple[str, ...]]:
        """Name of a part -> the kinds of parts that bear it."""
        found: dict[str, tuple[str, ...]] = {}
        for kind, key in _TABLES.items():
            for name in getattr(self.study.layout, key):
                found[name] = (*found.get(name, ()), kind)
        return found

    @cached_property
    def clamps(self) -> Mapping[str, tuple[Strip, Clamp]]:
        """Terminal -> its strip, and its place on it."""
        return {clamp.terminal: (strip, clamp) for strip in self.list.strips for clamp in strip.clamps}

    @cached_property
    def ends(self) -> Mapping[str, Sequence[tuple[Piece, bool]]]:
        """Terminal -> the pieces that end there, and whether that is their first end."""
        found: dict[str, list[tuple[Piece, bool]]] = {}
        for piece in self.list.pieces:
            found.setdefault(piece.from_, []).append((piece, True))
            found.setdefault(piece.to, []).append((piece, False))
        return found

    @cached_property
    def labels(self) -> Mapping[str, tuple[Piece, bool]]:
        """Label -> its piece, and whether it is at its first end."""
        found = {piece.label_from: (piece, True) for piece in self.list.pieces}
        return found | {piece.label_to: (piece, False) for piece in self.list.pieces}

    def channel(self, word: str) -> str | None:
        """The terminal of a channel that is written as the layout has it, ``D1.3``, or by what it reports as."""
        board, _, number = word.rpartition(".")
        if len(number) > MOST_DIGITS:
            return None
        if board in self.study.layout.boards and number.isdecimal():
            return f"{board}:{int(number)}"
        for one in self.study.layout.boards.values():
            kind = self.study.layout.board_types.get(one.type)
            if word.isdecimal() and one.first_address is not None and kind is not None:
                place = int(word) - one.first_address + 1
                if 1 <= place <= kind.channels:
                    return f"{one.name}:{place}"
        return None

    # -- what is asked ------------------------------------------------------------------------------------------------
    def answer(self, word: str) -> WhereAnswer:
        asked = " ".join(word.split())
        known = self.named(asked)
        if known is None:
            raise self.unknown(asked)
        if known in self.labels:
            piece, first = self.labels[known]
            terminal = piece.from_ if first else piece.to
            return self.told(known, f"the end at {terminal}, {self.terminal(terminal)}", [(piece, first)], terminal)
        if known in self.clamps or known in self.ends:
            return self.told(known, self.terminal(known), self.ends.get(known, ()), known)
        kinds = self.parts[known]
        return self.told(known, " and ".join(f"{kind} of the layout" for kind in kinds), [*self.of_part(known)])

    def named(self, asked: str) -> str | None:
        """What is meant: as it is written, else whatever the case of its letters; then a channel."""
        for known in (self.labels, self.clamps, self.ends, self.parts):
            if asked in known:
                return asked
        terminal = self.channel(asked)
        if terminal in self.clamps:
            return terminal
        folded = asked.casefold()
        every = (*self.parts, *self.clamps, *self.ends, *self.labels)
        return next((one for one in every if one.casefold() == folded), None)

    def unknown(self, asked: str) -> CallError:
        """Nothing of that name: what is nearest."""
        near = nearest_of(asked, (*self.labels, *self.ends, *self.clamps, *self.parts), MOST_NEAR)
        told = ", ".join(f'"{one}"' for one in near)
        known = ", ".join([*self.parts][:MOST_NEAR])
        help_ = f"nearest: {told}" if near else f"write a label, a terminal such as D1:3, or a part such as {known}"
        return CallError(f"there is no label, terminal or part {shown(asked)}", help_)

    def terminal(self, name: str) -> str:
        """What a terminal is, in words."""
        if name in self.clamps:
            strip, clamp = self.clamps[name]
            note = f", {clamp.note}" if clamp.note is not None else ""
            place = f" ({strip.where})" if strip.where is not None else ""
            name = f"the {strip.name}" if strip.name == strip.kind else strip.name
            return f"terminal {clamp.position} of {name}{place}{note}"
        piece, first = self.ends[name][0]
        return "a tap on a bus" if (piece.fixing_from if first else piece.fixing_to) == "tap" else "soldered to a rail"

    def of_part(self, name: str) -> Iterator[tuple[Piece, bool]]:
        """The pieces that belong to a part, from the end that is on it."""
        for piece in self.list.pieces:
            if self.on(name, piece.from_):
                yield piece, True
            elif self.on(name, piece.to) or piece.subject == name:
                yield piece, not self.on(name, piece.to)

    @staticmethod
    def on(name: str, terminal: str) -> bool:
        """Whether a terminal is on a part: ``I3.2:in`` is on I3."""
        item = terminal.partition(":")[0].rpartition(" ")[2]
        return item == name or item.startswith((f"{name}.", f"{name}/"))

    # -- what is told -------------------------------------------------------------------------------------------------
    def told(self, asked: str, what: str, some: Sequence[tuple[Piece, bool]], terminal: str = "") -> WhereAnswer:
        blocks = tuple(sorted({*self.blocks(asked, some, terminal)}, key=natural_key))
        districts = {self.study.wiring.host(one).district for one in blocks if one in self.study.wiring.fed}
        comes, returns = self.ways(blocks[0]) if blocks else ((), ())
        return WhereAnswer(
            self.list.layout,
            asked,
            what,
            blocks,
            districts.pop() if len(districts) == 1 else None,
            tuple(self.here(*one) for one in some),
            tuple(self.beside(terminal)),
            comes,
            returns,
            self.test(asked, some, blocks),
            self.list.imperial,
        )

    def here(self, piece: Piece, first: bool) -> WireHere:
        here, there = (piece.start, piece.end) if first else (piece.end, piece.start)
        strip, clamp = self.clamps.get(here.terminal, (None, None))
        return WireHere(
            here.terminal,
            here.label,
            here.fixing,
            None if strip is None else strip.name,
            None if clamp is None else clamp.position,
            there.terminal,
            there.label,
            there.fixing,
            piece.kind,
            piece.colour,
            piece.size,
            piece.length_m,
            piece.cut_m,
            piece.at_m,
        )

    def beside(self, terminal: str) -> Iterator[Beside]:
        """The terminals before and behind one on its strip."""
        if terminal not in self.clamps:
            return
        strip, own = self.clamps[terminal]
        at = strip.clamps.index(own)
        for one in (*strip.clamps[max(at - 1, 0) : at], *strip.clamps[at + 1 : at + 2]):
            yield Beside(strip.name, one.position, one.terminal, one.labels)

    # -- what it belongs to -------------------------------------------------------------------------------------------
    def blocks(self, asked: str, some: Iterable[tuple[Piece, bool]], terminal: str) -> Iterator[str]:
        """The blocks that it serves: of a part its own, of a wire those behind it."""
        if asked in self.parts:
            yield from (one for kind in self.parts[asked] for one in self.served(kind, asked))
            return
        owner, _, spot = terminal.partition(":")
        if owner in self.study.layout.boards and spot.isdecimal():
            fed = self.study.wiring.fed
            yield from (
                name
                for name, one in fed.items()
                if one.channel is not None and (one.channel.board, one.channel.number) == (owner, int(spot))
            )
            return
        for piece, _ in some:
            kinds = self.parts.get(piece.subject, ())
            yield from (one for kind in kinds[:1] for one in self.served(kind, piece.subject))

    def served(self, kind: str, name: str) -> Iterator[str]:
        """The blocks of a part of the layout."""
        layout, wiring = self.study.layout, self.study.wiring
        if kind == "block":
            yield name
        elif kind == "turnout":
            yield layout.turnouts[name].block
        elif kind == "isolator":
            yield from wiring.switched.get(name, ())
        elif kind == "harness":
            yield from (one.name for one in layout.blocks.values() if one.harness == name)
        else:
            for block, fed in wiring.fed.items():
                district = layout.districts.get(str(fed.district))
                owner = {
                    "board": None if fed.board is None else fed.board.name,
                    "district": fed.district,
                    "booster": None if district is None else district.booster,
                }
                if name == owner.get(kind):
                    yield block

    @cached_property
    def positions(self) -> Mapping[str, str]:
        """Every control where it feeds."""
        own = self.study.layout.isolators
        return {**self.study.circuit.usual, **{one: closed_position(self.study.wiring, one) for one in own}}

    def ways(self, block: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The terminals from the booster to a block, and from it back."""
        circuit = self.study.circuit
        if block not in circuit.detected:
            return (), ()
        for booster, pole in circuit.hot.items():
            comes = self.way(circuit.detected[block], pole, _FED)
            returns = self.way(circuit.common[block], circuit.back[booster], _BACK) if comes else ()
            if returns:
                return (*comes, block), (block, *reversed(returns))
        return (), ()  # by the rails of another block

    def way(self, rail: int, pole: int, kinds: tuple[Kind, ...]) -> tuple[str, ...]:
        """The terminals between a pole of a booster and a rail; none where these kinds of parts do not join them."""
        circuit, before = self.study.circuit, dict[int, tuple[int, Edge]]()
        todo, done = [rail], {rail}
        for node in todo:
            for edge in (circuit.edges[one] for one in circuit.around[node]):
                other = edge.a if edge.b == node else edge.b
                stands = edge.control is None or self.positions.get(edge.control) == edge.position
                if edge.kind in kinds and stands and other not in done and other not in circuit.block_of:
                    before[other] = node, edge
                    done.add(other)
                    todo.append(other)
        if pole not in before:
            return ()
        names, node = list[str](), pole
        while node != rail:
            here, (node, edge) = node, before[node]
            names += self.passed(edge, here)
        return tuple(dict.fromkeys(names))

    @cached_property
    def terminals(self) -> Terminals:
        return Terminals(self.study.wiring, self.study.circuit)

    def passed(self, edge: Edge, here: int) -> Iterator[str]:
        """The terminals of a part of the circuit, in the order from the booster."""
        if edge.kind in (Kind.POLE, Kind.THROW):
            yield from (self.terminals.into(edge).name, self.terminals.out(edge).name)
        elif edge.kind in (Kind.BREAKER, Kind.POLARITY):
            yield self.terminals.at(here).name
            yield from (self.terminals.protection(edge, side).name for side in (IN, OUT))
        elif edge.kind is Kind.COMMON and edge.path[0] == "harnesses":
            yield self.terminals.at(edge.b).name
        elif edge.kind is Kind.COMMON:
            harness = self.study.layout.blocks[str(edge.path[1])].harness
            yield from () if harness is None else (f"common of {harness}",)
        elif edge.kind is not Kind.BUS:
            other = edge.a if edge.b == here else edge.b
            bar = edge.a if edge.kind is Kind.RETURN and len(edge.path) > 2 else None
            tied = self.study.layout.districts[str(edge.path[1])].return_name if bar is not None else ""
            yield from (
                f"{tied or 'common'}:{BAR}" if one == bar else self.terminals.at(one).name for one in (here, other)
            )

    # -- the test -----------------------------------------------------------------------------------------------------
    def test(self, asked: str, some: Sequence[tuple[Piece, bool]], blocks: tuple[str, ...]) -> LooksThere | None:
        """The first step of the sheet with a probe there, or about what it belongs to."""
        from blockcheck.analysis.bench.units import units
        from blockcheck.answers.workshop.bench import AT_HAND
        from blockcheck.answers.workshop.parts import SheetPart, joined

        if not blocks:
            return None
        every = units(self.study)
        unit = next(one for one in every if blocks[0] in one.layout.blocks)
        own = Bench.of(self.study) if unit is self.study else Bench(unit)
        steps = joined([SheetPart.of_unit(own, AT_HAND, Tolerance(), None, False, False, 1, None)])
        places = {asked, *(piece.from_ if first else piece.to for piece, first in some)}
        switches = {one.partition(":")[0].partition(".")[0] for one in places} & {*self.study.layout.isolators}

        def far(step: SheetStep) -> int:
            """How far from it a step looks: with a probe on it, at its contact, at its block, at a joint of that."""
            about = own.by_id[step.id].about
            if any(one.endswith(place) for one in (step.red, step.black) for place in places):
                return 0
            if switches & {*about} or blocks[0] not in about:
                return 1 if switches & {*about} else NOWHERE
            return 2 if {*about} <= {blocks[0], *self.study.layout.isolators} else 3

        first = min(steps, key=far, default=None)
        if first is None or far(first) == NOWHERE:
            return None
        number = first.number if len(every) == 1 else None
        return LooksThere(first.id, number, first.title, first.do, first.red, first.black, first.expect)
