"""The wire list for people and for other programs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.answers.document import CAUTION, Cell, Column, Sheet, Table
from blockcheck.core.errors import CallError
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.words import plural
from blockcheck.formats.json_v1 import Json, dumps
from blockcheck.formats.style import Style
from blockcheck.formats.table import text_of
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, Ohms, show

if TYPE_CHECKING:
    from blockcheck.answers.strips import Strip
    from blockcheck.answers.wires import Piece, WireList

PARTS = ("pieces", "totals", "strips")
"""The parts of the list that can be asked for alone."""
NOT_GIVEN = "not given"
POSTS = ("booster", "return", "district", "board", "feeds", "isolators", "points", "run ends")
MOST_JOINTS = 12
"""Joints side by side in one table."""
JOINTS = "A number is the terminal of the strip at that joint; lengths count from the beginning of the wires."
LABELS = (
    "An end is labelled with where it belongs and with the other end of its piece: D1:3 > I3:in at D1:3, I3:in > D1:3 "
    "at I3:in. What stands behind the colon is the terminal: I3:in is the side of a switch that is fed, I3:out the one "
    "that goes to the track; a changeover has a side for each district, and out. A wire that is cut at bench-work "
    "joints has its joints as ends: S3:j1 > S3:j2. S3:drop1 and S3:drop1c are the first drops to the detected and the "
    "common rail of S3."
)

GROUPS = (
    ("Boosters, districts and boards", ("breaker", "feed", "return", "tie", "throw", "return throw", "bank")),
    ("To the isolators", ("channel", "switch", "common switch")),
    ("Detected buses", ("bus",)),
    ("Common returns", ("common",)),
    ("Drops", ("drop",)),
    ("Switched frogs", ("frog", "frog tie")),
    ("Runs without track power", ("run",)),
)
"""Headings, and the kinds of pieces below each."""

PIECE_COLUMNS = (
    "wire",
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
STRIP_COLUMNS = ("strip", "where", "at", "position", "terminal", "label", "colour", "note")


def part_named(name: str | None) -> str | None:
    """The part that is asked for; None for all. Raises CallError for another word."""
    if name is None or name in PARTS:
        return name
    raise CallError(f"only cannot be {shown(name)}", did_you_mean(name, PARTS) or f"write {' or '.join(PARTS)}")


def _piece(piece: Piece) -> Json:
    cells = (
        piece.wire,
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
        [strip.name, strip.where, strip.at_m, clamp.position, clamp.terminal, label, colour, clamp.note]
        for strip in answer.strips
        for clamp in strip.clamps
        for label, colour in zip(clamp.labels or (None,), clamp.colours or (None,), strict=True)
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
            "breakers": [{"name": one.name, "trip": one.trip_a, "what": one.what} for one in answer.breakers],
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
                            "note": clamp.note,
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
        grouped = [_wires_for_people(answer, heading, kinds, boxes) for heading, kinds in GROUPS]
        tables += [table for table in (*grouped, _resistors(answer), _breakers(answer)) if table.rows]
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


def _wires_for_people(answer: WireList, heading: str, kinds: tuple[str, ...], boxes: bool) -> Table:
    """The wires of some kinds, each in one row however many its pieces are, and a block's drops to a rail too."""
    headers: list[str | Column] = [
        "from end to end",
        "at",
        "colour",
        "conductor",
        Column("length", quantity=Metres),
        "cut",
        "ends",
        "for",
        "done",
    ]
    groups: dict[object, list[Piece]] = {}
    for piece in answer.pieces:
        if piece.kind in kinds:
            drops = piece.kind == "drop"
            groups.setdefault((piece.subject, piece.rail) if drops else piece.wire, []).append(piece)
    rows: list[list[Cell]] = []
    for pieces in groups.values():
        first, known = pieces[0], [one.length_m for one in pieces if one.length_m is not None]
        rows.append(
            [
                _way(pieces),
                ", ".join(length(answer, one.at_m) for one in pieces if one.at_m is not None),
                first.colour,
                conductor_of(first.conductor, first.size),
                round(math.fsum(known), 9) if len(known) == len(pieces) else NOT_GIVEN,
                _cut_into(answer, pieces),
                f"{first.start.fixing}, {pieces[-1].end.fixing}",
                first.purpose,
                "\u2610" if boxes else None,
            ]
        )
    return Table(heading, headers, rows, imperial=answer.imperial)


def _way(pieces: list[Piece]) -> str:
    """The terminals of a wire in order; of many joints the first and the last. Of drops, the bus and the rail's."""
    if pieces[0].kind == "drop":
        number = pieces[-1].end.terminal.rpartition(":drop")[2]  # S3:drop4c is the fourth of the common rail
        tail = f"-{number}" if len(pieces) > 1 else ""
        return f"{pieces[0].start.terminal} > {pieces[0].end.terminal}{tail}"
    first, last = pieces[0].start.label.partition(" > "), pieces[-1].end.terminal
    joints = [piece.start.label.partition(" > ")[0] for piece in pieces[1:]]
    if pieces[0].kind == "run":  # the mark of the wire is told once
        mark = len(_mark(pieces[0]))
        joints, last = [joint[mark:] for joint in joints], last[mark:]
    shown_ = [joints[0], "...", joints[-1]] if len(joints) > 2 else joints
    return " > ".join([first[0], *shown_, last])


def _mark(piece: Piece) -> str:
    """What the terminals of a wire of a run begin with."""
    here, there = piece.start.label, piece.end.label
    count = next((i for i, (a, b) in enumerate(zip(here, there, strict=False)) if a != b), 0)
    return here[: here.rfind(" ", 0, count) + 1]


def _cut_into(answer: WireList, pieces: list[Piece]) -> str:
    """How a wire is cut: ``4 x 1.32 m, 11 cm``."""
    counts: dict[str, int] = {}
    for piece in pieces:
        told = length(answer, piece.cut_m)
        counts[told] = counts.get(told, 0) + 1
    counts.pop(NOT_GIVEN, None)
    return ", ".join(told if count == 1 else f"{count} x {told}" for told, count in counts.items())


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


def _breakers(answer: WireList) -> Table:
    """The districts' own breakers."""
    rows: list[list[Cell]] = [[one.name, one.trip_a, one.what or NOT_GIVEN] for one in answer.breakers]
    return Table("Breakers of districts", ["breaker", Column("trips at", quantity=Amperes), "what"], rows)


def _strips_for_people(answer: WireList) -> Iterator[Table]:
    """What is on each terminal where wires begin, and at which terminal each wire passes a bench-work joint."""
    posts = {kind: [one for one in answer.strips if one.kind == kind] for kind in POSTS}
    power = [strip for kind in ("booster", "return", "district") for strip in posts[kind]]
    if power:
        yield _strip_table("Terminals of boosters and districts", power)
    feeds = {strip.home: strip for strip in posts["feeds"]}
    for strip in posts["board"]:
        yield _strip_table(f"Board {strip.home}" + (f" ({strip.where})" if strip.where else ""), [strip], "channel")
        yield _strip_table(f"Feed terminals of board {strip.home}", [feeds[strip.home]])
    for kind in ("isolators", "points"):
        for strip in posts[kind]:
            yield _strip_table(f"{kind.capitalize()} ({strip.where})", [strip])
    joints: dict[str, list[Strip]] = {}
    for strip in answer.strips:
        if strip.kind == "harness":
            joints.setdefault(strip.home, []).append(strip)
    for home, strips in joints.items():
        yield from _joint_tables(answer, home, strips)
    if posts["run ends"]:
        yield _strip_table("Ends of the runs", posts["run ends"])
    runs = [strip for strip in answer.strips if strip.kind == "run"]
    if runs:
        yield _run_joints(answer, runs)


def _strip_table(title: str, strips: list[Strip], numbered: str = "") -> Table:
    """Every terminal of some strips; the strip is named where there are several.

    Positions are told as ``numbered``, where that number is on the thing itself.
    """
    rows: list[list[Cell]] = [
        [
            strip.home if len(strips) > 1 else None,
            clamp.position if numbered else None,
            clamp.terminal,
            " \u00b7 ".join(clamp.labels) or clamp.note,
            ", ".join(dict.fromkeys(one for one in clamp.colours if one)),
        ]
        for strip in strips
        for clamp in strip.clamps
    ]
    return Table(title, ["strip", numbered, "terminal", "wires", "colour"], rows)


def _joint_tables(answer: WireList, home: str, strips: list[Strip]) -> Iterator[Table]:
    """A harness's joints side by side: on which terminal each wire is at each of them; twelve joints a table."""
    far = [one for one in strips if one.far]
    joints = [one for one in strips if not one.far]
    wires = {clamp.wire: clamp.colours[0] for strip in [*far, *joints] for clamp in strip.clamps}
    for start in range(0, max(len(joints), 1), MOST_JOINTS):
        part = joints[start : start + MOST_JOINTS]
        last = start + MOST_JOINTS >= len(joints)
        shown_ = [*part, *far] if last else part
        on = [{clamp.wire: clamp.position for clamp in strip.clamps} for strip in shown_]
        headers = ["wire", "colour", *(f"j{one.joint} {length(answer, one.at_m)}" for one in part)]
        headers += ["far end"] if last and far else []
        rows: list[list[Cell]] = [
            [wire, colour, *(one.get(wire) for one in on)]
            for wire, colour in wires.items()
            if any(wire in one for one in on)
        ]
        tail = "" if len(joints) <= MOST_JOINTS else f", joints {start + 1} to {start + len(part)}"
        yield Table(f"Joints of harness {home}{tail}", headers, rows, [JOINTS] if part else [])


def _run_joints(answer: WireList, strips: list[Strip]) -> Table:
    """Where the wires of the runs are joined."""
    rows: dict[str, list[Cell]] = {}
    most = max(strip.joint or 0 for strip in strips)
    for strip in strips:
        for clamp in strip.clamps:
            row = rows.setdefault(clamp.wire, [clamp.wire, clamp.colours[0], clamp.position, *[None] * most])
            row[2 + (strip.joint or 0)] = strip.at_m
    joints = [Column(f"j{number}", quantity=Metres) for number in range(1, most + 1)]
    return Table("Joints of the runs", ["wire", "colour", "no", *joints], rows.values(), imperial=answer.imperial)


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
    if answer.breakers:
        listed = ", ".join(
            f"{one.name} ({NOT_GIVEN if one.trip_a is None else show(one.trip_a, DIMENSIONS[Amperes])})"
            for one in answer.breakers
        )
        told.append(f"Breakers of districts, with the current at which they trip: {listed}.")
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
