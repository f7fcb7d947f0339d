"""The wire list: every piece of wire with its ends, labels and cut length; what to buy; what is on which terminal."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve, frozen

from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import CAUTION, Brief, Document, Says, Section
from blockcheck.answers.tables import Cell, Column, Table
from blockcheck.answers.workshop import strips
from blockcheck.answers.workshop.piece import Piece, conductor_of
from blockcheck.answers.workshop.places import sections
from blockcheck.answers.workshop.strips import NOT_GIVEN, Strip, length
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.words import plural
from blockcheck.model.quantities import DIMENSIONS, Amperes, Farads, Metres, Ohms, show

PARTS = ("pieces", "totals", "strips")
"""The parts of the list that can be asked for alone."""
LABELS = (
    "An end is labelled with where it belongs and with the other end of its piece: D1:3 > I3:in at D1:3, I3:in > D1:3 "
    "at I3:in. What stands behind the colon is the terminal: I3:in is the side of a switch that is fed, I3:out the one "
    "that goes to the track; a changeover has a side for each district, and out. A wire that is cut at bench-work "
    "joints has its joints as ends: S3:j1 > S3:j2. S3:drop1 and S3:drop1c are the first drops to the detected and the "
    "common rail of S3."
)


@frozen
class Total:
    """What to buy of one conductor in one colour."""

    conductor: str | None = column("The conductor as the layout has it.")
    size: str | None = column("Its size.")
    colour: str | None = column("Insulation colour.")
    pieces: int = column("Pieces of it.", least=0)
    length_m: float = column("Length of those that have one.")
    cut_m: float = column("Length to cut, the allowance added.")
    unmeasured: int = column("Pieces of it without a length, which come on top.", least=0)


@frozen
class Sums:
    """Counts over the whole list."""

    wires: int = column("Wires from end to end.", least=0)
    pieces: int = column("Pieces.", least=0)
    unmeasured: int = column("Pieces without a length.", least=0)
    length_m: float = column("Length of all that have one.")
    cut_m: float = column("Length to cut, the allowance added.")
    crimps: int = column("Crimps.", least=0)
    screws: int = column("Screw terminals.", least=0)
    taps: int = column("Ends tapped onto a bus.", least=0)
    soldered: int = column("Soldered ends.", least=0)
    labels: int = column("Labels, one an end.", least=0)
    drops: int = column("Drops, on both rails together.", least=0)
    saved: int = column("Drops that bonding saves.", least=0, key="drops_saved")


@frozen
class LeadTaken:
    """A lead that the layout leaves out, as it was taken along the chain of joints."""

    block: str = column("Block.")
    lead_m: float = column("From the board to its near end.")
    before: str = column("The block before it, whose lead and length that is.")


@frozen
class Saving:
    """Drops of a block: what one pair a turnout and one every ``feeder_spacing`` would take, and what it has."""

    block: str = column("Block.")
    turnouts: int = column("Turnouts in it.", least=0)
    asked: int = column("Drops that those would take.", least=0)
    given: int = column("Drops that it has.", least=0)

    @property
    def saved(self) -> int:
        """Drops saved, on both rails together."""
        return self.asked - self.given


@frozen
class Part:
    """A hold resistor: across which terminals, and its value in ohms."""

    name: str = column("Its name.", title="resistor")
    across: str = column("The contact.")
    resistance_ohm: float = column("Its value.", title="value")


@frozen
class Breaker:
    """A district's own breaker: its trip current in amperes, and what it is in words; None where the layout does not
    say."""

    name: str = column("Its name.", title="breaker")
    trip_a: float | None = column("Current at which it trips; null where the layout does not say.", title="trips at")
    what: str | None = column("What it is, in words; null where the layout does not say.")


@frozen
class Fuse:
    """Fuses of one rating, in amperes, in the feeds of blocks."""

    rating_a: float = column("Current for which it is rated.", title="fuse")
    count: int = column("How many of them.", least=1)
    blocks: tuple[str, ...] = column("The blocks in whose feeds they are.")


@frozen
class Fitted:
    """Lamps or filters of one value that lie across the far ends of blocks for good, on rails or on bus pairs."""

    across: str = column("What they lie across.", choices=("rails", "bus pair"))
    resistance_ohm: float | None = column("Resistance; null for a plain capacitor.", title="resistance")
    capacitance_f: float | None = column("Capacitance in series with it; null where there is none.")
    count: int = column("How many of them.", least=1)
    blocks: tuple[str, ...] = column("The blocks at whose far ends they are.")


@frozen
class WireList(Answer):
    """The wires of a layout. ``allowance`` is the share added to every length, None where the layout has none."""

    command = "wires"

    layout: str = column("Name of the layout.")
    allowance: float | None = column(
        "Share added to every length, 0.1 for 10 %; null where the layout gives none, and nothing is added."
    )
    pieces: tuple[Piece, ...] = column("Every piece of wire.")
    parts: tuple[Part, ...] = column("Hold resistors across open contacts.", key="resistors")
    breakers: tuple[Breaker, ...] = column(
        "The breakers that districts have of their own, each between its booster and the district's feed."
    )
    fuses: tuple[Fuse, ...] = column("The fuses in the feeds of blocks, by rating.")
    fitted: tuple[Fitted, ...] = column("What lies across rails and bus pairs for good, by value.", key="across")
    totals: tuple[Total, ...] = column("What to buy, by conductor and colour.")
    sums: Sums = column("Counts over the whole list.")
    savings: tuple[Saving, ...] = column(
        "Blocks with fewer drops than one pair a turnout and one every feeder_spacing would take."
    )
    strips: tuple[Strip, ...] = column("Terminal strips, in order.")
    leads: tuple[LeadTaken, ...] = column("Leads that were taken along the chain of joints.")
    imperial: bool = False

    def document(self, only: str | None = None) -> Document:
        """The list, or one of its ``PARTS``: for people by the places where it is worked on, for programs in one piece
        each.

        Raises CallError for another word.
        """
        wanted = PARTS if part_named(only) is None else (str(only),)
        parts: list[Says | Table | Section] = []
        data = []
        if "pieces" in wanted:
            parts.append(Says((LABELS,), "plain"))
            data.append(table("Pieces", Piece, self.pieces))
        if "pieces" in wanted or "strips" in wanted:
            parts += sections(
                self.pieces, self.strips, self.imperial, wires="pieces" in wanted, strips="strips" in wanted
            )
        if "pieces" in wanted:
            parts.append(self._fitted())
        if "totals" in wanted:
            parts.append(self._to_buy())
            data.append(table("To buy", Total, self.totals))
        if "strips" in wanted:
            data.append(strips.data(self.strips))
        unmeasured = f", {self.sums.unmeasured} without a length" if self.sums.unmeasured else ""
        verdict = f"{plural(self.sums.pieces, 'piece')} of wire{unmeasured}."
        parts = [one for one in parts if not isinstance(one, Section) or one.parts]
        parts.append(Says((CAUTION,), "caution"))
        return Document("Wire list", self.layout, parts, tuple(data), verdict=(verdict,), imperial=self.imperial)

    def _fitted(self) -> Section:
        """What is fitted beside the wires, each kind a card."""
        breakers = [evolve(one, what=one.what or NOT_GIVEN) for one in self.breakers]
        found = (
            table("Hold resistors across open contacts", Part, self.parts),
            table("Breakers of districts", Breaker, breakers),
            table("Fuses in the feeds of blocks", Fuse, self.fuses),
            table("Across rails and bus pairs for good", Fitted, self.fitted),
        )
        return Section("Parts to fit", [evolve(one, card=True) for one in found if one.rows])

    def _to_buy(self) -> Section:
        """What to buy, on pages a card for each conductor, and what belongs to it in sentences."""
        metres = (Column("length", quantity=Metres), Column("cut", quantity=Metres))
        found: dict[str, list[tuple[Cell, ...]]] = {}
        for one in self.totals:
            known = one.unmeasured < one.pieces
            cut_m = one.cut_m if self.allowance is not None and known else None
            row = (one.colour or NOT_GIVEN, one.pieces, one.length_m if known else None, cut_m, one.unmeasured or None)
            found.setdefault(conductor_of(one.conductor, one.size), []).append(row)
        headers: tuple[str | Column, ...] = ("colour", "pieces", *metres, "not given")
        cards = [Table(name, headers, rows, imperial=self.imperial, card=True) for name, rows in found.items()]
        whole = [(name, *row) for name, rows in found.items() for row in rows]
        table_ = Table("", ("conductor", *headers), whole, imperial=self.imperial)
        return Section("To buy", [Brief(cards, [table_]), Says(tuple(self._notes()), "note")])

    def _notes(self) -> Iterator[str]:
        """What belongs to the totals, in sentences."""
        sums = self.sums
        to_cut = f", {length(sums.cut_m, self.imperial)} to cut" if self.allowance is not None else ""
        yield (
            f"{plural(sums.wires, 'wire')} in {plural(sums.pieces, 'piece')}: {length(sums.length_m, self.imperial)} "
            f"measured{to_cut}."
        )
        if self.allowance is None:
            yield 'Nothing is added to the lengths: write allowance = "10 %" under [layout] for slack.'
        else:
            yield f"{100 * self.allowance:g} % is added to every length."
        if self.leads:
            told = ", ".join(f"{one.block} {length(one.lead_m, self.imperial)}" for one in self.leads)
            yield f"Leads taken along the joints, each the lead and length of the block before: {told}."
        if sums.unmeasured:
            pieces = plural(sums.unmeasured, "piece")
            yield f"The layout gives no length for {pieces}: measure them, they come on top."
        yield (
            f"{plural(sums.crimps, 'crimp')} and {plural(sums.screws, 'screw terminal')}, one for each end that is "
            f"neither tapped nor soldered; {plural(sums.taps, 'tap')} on buses; "
            f"{plural(sums.soldered, 'soldered end')}; {plural(sums.labels, 'label')}."
        )
        if self.parts:
            values: dict[float, int] = {}
            for one in self.parts:
                values[one.resistance_ohm] = values.get(one.resistance_ohm, 0) + 1
            told = ", ".join(f"{values[ohm]} of {show(ohm, DIMENSIONS[Ohms])}" for ohm in sorted(values))
            yield f"Hold resistors across open contacts: {told}."
        if self.breakers:
            told = ", ".join(f"{one.name} ({_trip(one)})" for one in self.breakers)
            yield f"Breakers of districts, with the current at which they trip: {told}."
        if self.fuses:
            told = ", ".join(f"{one.count} of {show(one.rating_a, DIMENSIONS[Amperes])}" for one in self.fuses)
            yield f"Fuses in the feeds of blocks: {told}."
        if self.fitted:
            told = ", ".join(f"{one.count} of {_value(one)}" for one in self.fitted)
            yield f"Across rails and bus pairs for good: {told}."
        blocks = ", ".join(f"{one.block} {one.saved}" for one in self.savings)
        saved = (
            f" Bonding short pieces to their neighbours saves {sums.saved} ({blocks}), against a pair for each turnout "
            "and one every feeder_spacing."
        )
        yield f"{plural(sums.drops, 'drop')}." + (saved if sums.saved else "")


def part_named(name: str | None) -> str | None:
    """The part that is asked for; None for all. Raises CallError for another word."""
    if name is None or name in PARTS:
        return name
    raise CallError(f"only cannot be {shown(name)}", did_you_mean(name, PARTS) or f"write {' or '.join(PARTS)}")


def _value(part: Fitted) -> str:
    ohms, farads = part.resistance_ohm, part.capacitance_f
    told = [show(ohms, DIMENSIONS[Ohms])] if ohms is not None else []
    return " and ".join([*told, show(farads, DIMENSIONS[Farads])] if farads is not None else told)


def _trip(breaker: Breaker) -> str:
    return NOT_GIVEN if breaker.trip_a is None else show(breaker.trip_a, DIMENSIONS[Amperes])
