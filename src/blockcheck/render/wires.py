"""The wire list for people and for other programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.model.quantities import DIMENSIONS, Metres, Ohms, show
from blockcheck.render.json_v1 import Json, dumps
from blockcheck.render.style import Style, plural
from blockcheck.render.table import Cell, Column, Sheet, Table, text_of
from blockcheck.render.text import CAUTION

if TYPE_CHECKING:
    from blockcheck.answers.wires import Piece, WireList

PARTS = ("pieces", "totals", "strips")
"""The parts of the list that can be asked for alone."""
NOT_GIVEN = "not given"
LABELS = "A label says where its end belongs, and where the wire comes from; the other end bears it turned round."

GROUPS = (
    ("Boosters, districts and boards", ("feed", "return", "tie", "throw", "return throw", "bank")),
    ("To the isolators", ("channel", "switch", "common switch")),
    ("Detected buses", ("bus",)),
    ("Common returns", ("common",)),
    ("Drops", ("drop",)),
    ("Switched frogs", ("frog", "frog tie")),
    ("Runs without track power", ("run",)),
)
"""Headings, and the kinds of pieces below each."""

PIECE_COLUMNS = (
    "kind",
    "subject",
    "piece",
    "pieces",
    "from",
    "to",
    "label_from",
    "label_to",
    "fixing_from",
    "fixing_to",
    "conductor",
    "size",
    "colour",
    "length",
    "cut",
    "at",
    "rail",
    "crimps",
    "for",
)
TOTAL_COLUMNS = ("conductor", "size", "colour", "pieces", "length", "cut", "unmeasured")
STRIP_COLUMNS = ("strip", "where", "at", "position", "terminal", "label", "colour")


def part_named(name: str | None) -> str | None:
    """The part that is asked for; None for all. Raises CallError for another word."""
    if name is None or name in PARTS:
        return name
    raise CallError(f"--only cannot be {shown(name)}", did_you_mean(name, PARTS) or f"write {' or '.join(PARTS)}")


def _piece(piece: Piece) -> Json:
    cells = (
        piece.kind,
        piece.subject,
        piece.number,
        piece.pieces,
        piece.start.terminal,
        piece.end.terminal,
        piece.start.label,
        piece.end.label,
        piece.start.fixing,
        piece.end.fixing,
        piece.conductor,
        piece.size,
        piece.colour,
        piece.length_m,
        piece.cut_m,
        piece.at_m,
        piece.rail,
        piece.crimps,
        piece.purpose,
    )
    return dict(zip(PIECE_COLUMNS, cells, strict=True))


def _totals(answer: WireList) -> list[Json]:
    return [
        dict(
            zip(
                TOTAL_COLUMNS,
                (one.conductor, one.size, one.colour, one.pieces, one.length_m, one.cut_m, one.unmeasured),
                strict=True,
            )
        )
        for one in answer.totals
    ]


def _strip_rows(answer: WireList) -> list[list[Cell]]:
    return [
        [strip.name, strip.where, strip.at_m, clamp.position, clamp.terminal, label, colour]
        for strip in answer.strips
        for clamp in strip.clamps
        for label, colour in zip(clamp.labels, clamp.colours, strict=True)
    ]


def wires_json(answer: WireList) -> str:
    """As ``wires.schema.json`` has it; lengths in metres."""
    sums = answer.sums
    return dumps(
        {
            "layout": answer.layout,
            "allowance": answer.allowance,
            "pieces": [_piece(piece) for piece in answer.pieces],
            "resistors": [{"name": one.name, "across": one.across, "resistance": one.ohm} for one in answer.parts],
            "totals": _totals(answer),
            "sums": {
                "wires": sums.wires,
                "pieces": sums.pieces,
                "unmeasured": sums.unmeasured,
                "length": sums.length_m,
                "cut": sums.cut_m,
                "crimps": sums.crimps,
                "screws": sums.screws,
                "taps": sums.taps,
                "soldered": sums.soldered,
                "labels": sums.labels,
                "drops": sums.drops,
                "drops_saved": sums.saved,
            },
            "savings": [
                {"block": one.block, "turnouts": one.turnouts, "asked": one.asked, "given": one.given}
                for one in answer.savings
            ],
            "strips": [
                {
                    "name": strip.name,
                    "where": strip.where,
                    "at": strip.at_m,
                    "terminals": [
                        {
                            "position": clamp.position,
                            "terminal": clamp.terminal,
                            "wires": [
                                {"label": label, "colour": colour}
                                for label, colour in zip(clamp.labels, clamp.colours, strict=True)
                            ],
                        }
                        for clamp in strip.clamps
                    ],
                }
                for strip in answer.strips
            ],
        }
    )


def wires_sheet(answer: WireList, part: str | None = None, *, boxes: bool = False) -> Sheet:
    """The list, or one part of it, as tables: for people by what the wires are for, for programs in one piece each.

    ``boxes`` gives every piece a box to tick once it is cut and fitted.
    """
    tables: list[Table] = []
    data: list[Table] = []
    if part in (None, "pieces"):
        grouped = [_pieces_for_people(answer, heading, kinds, boxes) for heading, kinds in GROUPS]
        tables += [table for table in (*grouped, _resistors(answer)) if table.rows]
        data.append(Table("Pieces", _columns(PIECE_COLUMNS), [list(_piece(piece).values()) for piece in answer.pieces]))
    if part in (None, "totals"):
        tables.append(_totals_for_people(answer))
        data.append(Table("To buy", _columns(TOTAL_COLUMNS), [list(one.values()) for one in _totals(answer)]))
    if part in (None, "strips"):
        tables += _strips_for_people(answer)
        data.append(Table("Terminal strips", _columns(STRIP_COLUMNS), _strip_rows(answer)))
    lead = (LABELS,) if part in (None, "pieces") else ()
    return Sheet("Wire list", answer.layout, tuple(tables), lead, (CAUTION,), data=tuple(data))


def _columns(names: tuple[str, ...]) -> list[Column]:
    """Columns for programs: those of lengths have their unit."""
    return [Column(name, quantity=Metres if name in ("length", "cut", "at") else None) for name in names]


def _pieces_for_people(answer: WireList, heading: str, kinds: tuple[str, ...], boxes: bool) -> Table:
    """The pieces of some kinds."""
    headers: list[str | Column] = [
        "label",
        Column("at", quantity=Metres),
        "colour",
        "conductor",
        Column("length", quantity=Metres),
        Column("cut", quantity=Metres),
        "ends",
        "for",
        "done",
    ]
    rows: list[list[Cell]] = [
        [
            piece.start.label,
            piece.at_m,
            piece.colour,
            conductor_of(piece.conductor, piece.size),
            NOT_GIVEN if piece.length_m is None else piece.length_m,
            piece.cut_m if answer.allowance is not None else None,
            f"{piece.start.fixing}, {piece.end.fixing}",
            piece.purpose,
            "\u2610" if boxes else None,
        ]
        for piece in answer.pieces
        if piece.kind in kinds
    ]
    return Table(heading, headers, rows, imperial=answer.imperial)


def length(answer: WireList, metres: float | None) -> str:
    """A length for people, or the words that it is not given."""
    return NOT_GIVEN if metres is None else show(metres, DIMENSIONS[Metres], answer.imperial)


def conductor_of(conductor: str | None, size: str | None) -> str:
    """A conductor for people: its name with its size."""
    if conductor is None:
        return NOT_GIVEN
    return conductor if size in (None, conductor) else f"{conductor} ({size})"


def _totals_for_people(answer: WireList) -> Table:
    """What to buy, and what belongs to it in sentences."""
    headers: list[str | Column] = [
        "conductor",
        "colour",
        "pieces",
        Column("length", quantity=Metres),
        Column("cut", quantity=Metres),
        "not given",
    ]
    rows: list[list[Cell]] = [
        [
            conductor_of(one.conductor, one.size),
            one.colour or NOT_GIVEN,
            one.pieces,
            one.length_m if one.unmeasured < one.pieces else None,
            one.cut_m if answer.allowance is not None and one.unmeasured < one.pieces else None,
            one.unmeasured or None,
        ]
        for one in answer.totals
    ]
    return Table("To buy", headers, rows, notes(answer), imperial=answer.imperial)


def _resistors(answer: WireList) -> Table:
    """The hold resistors, each across a contact."""
    headers: list[str | Column] = ["resistor", "across", Column("value", quantity=Ohms)]
    return Table(
        "Hold resistors across open contacts", headers, [[one.name, one.across, one.ohm] for one in answer.parts]
    )


def _strips_for_people(answer: WireList) -> Iterator[Table]:
    """A table a strip; what is on each terminal, and in which colours."""
    for strip in answer.strips:
        far = None if strip.at_m is None else f"{length(answer, strip.at_m)} from its beginning"
        heading = strip.name + (f" ({strip.where or far})" if strip.where or far else "")
        rows: list[list[Cell]] = [
            [
                clamp.position,
                clamp.terminal,
                " \u00b7 ".join(clamp.labels),
                ", ".join(dict.fromkeys(one for one in clamp.colours if one)),
            ]
            for clamp in strip.clamps
        ]
        yield Table(heading[:1].upper() + heading[1:], ["no", "terminal", "wires", "colour"], rows)


def notes(answer: WireList) -> list[str]:
    """What belongs to the totals, in sentences."""
    sums = answer.sums
    told = [
        f"{plural(sums.wires, 'wire')} in {plural(sums.pieces, 'piece')}: {length(answer, sums.length_m)} measured"
        + (f", {length(answer, sums.cut_m)} to cut" if answer.allowance is not None else "")
        + "."
    ]
    if answer.allowance is None:
        told.append('Nothing is added to the lengths: write allowance = "10 %" under [layout] for slack.')
    else:
        told.append(f"{100 * answer.allowance:g} % is added to every length.")
    if sums.unmeasured:
        told.append(
            f"The layout gives no length for {plural(sums.unmeasured, 'piece')}: measure them, they come on top."
        )
    told.append(
        f"{plural(sums.crimps, 'crimp')} and {plural(sums.screws, 'screw terminal')}, one for each end that is neither "
        f"tapped nor soldered; {plural(sums.taps, 'tap')} on buses; {plural(sums.soldered, 'soldered end')}; "
        f"{plural(sums.labels, 'label')}."
    )
    if answer.parts:
        values: dict[float, int] = {}
        for one in answer.parts:
            values[one.ohm] = values.get(one.ohm, 0) + 1
        listed = ", ".join(f"{values[ohm]} of {show(ohm, DIMENSIONS[Ohms])}" for ohm in sorted(values))
        told.append(f"Hold resistors across open contacts: {listed}.")
    told.append(f"{plural(sums.drops, 'drop')}." + (f" {_saved(answer)}" if sums.saved else ""))
    return told


def _saved(answer: WireList) -> str:
    blocks = ", ".join(f"{one.block} {one.saved}" for one in answer.savings)
    return (
        f"Bonding short pieces to their neighbours saves {answer.sums.saved} ({blocks}), against a pair for each "
        "turnout and one every feeder_spacing."
    )


def wires_text(answer: WireList, style: Style, part: str | None = None) -> str:
    """The pieces by what they are for, what to buy, and the terminal strips; or one of them."""
    sheet = wires_sheet(answer, part)
    parts = [style.paint(f"{answer.layout}: {plural(answer.sums.pieces, 'piece')} of wire", "bold")]
    parts += [style.wrap(line) for line in sheet.lead]
    parts += [text_of(table, style) for table in sheet.tables]
    return "\n\n".join([*parts, *map(style.wrap, sheet.closing)]) + "\n"
