"""The wire list by place of work: what begins at each board, panel and harness, and what is on its terminals."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

from attrs import field, frozen

from blockcheck.answers.document import Section
from blockcheck.answers.tables import Cell, Column, Table
from blockcheck.answers.workshop.piece import Piece, conductor_of
from blockcheck.answers.workshop.ranges import Row, in_order, ranged
from blockcheck.answers.workshop.strips import NOT_GIVEN, Clamp, Strip, length

POWER, POINTS, RUNS, TRACK = "Boosters and districts", "Switched frogs", "Runs without track power", "At the track"
DROPS = "Drops"
_APART = {"frog": "points", "frog tie": "points", "run": "run"}
"""Kinds of wires that have a place of their own, wherever they begin."""
_MOST_ROWS = 22
"""A card of more is cut in several."""
_HEAD = ("booster", "return", "district")


@frozen
class _Place:
    """Where work is done: its heading, the wires that begin there, and the strips that hang there."""

    title: str
    wires: list[list[Piece]] = field(factory=list)
    strips: list[Strip] = field(factory=list)


def sections(
    pieces: Sequence[Piece], found: Sequence[Strip], imperial: bool, *, wires: bool, strips: bool
) -> Iterator[Section]:
    """A section for each place: its ``wires``, each where it begins, and its ``strips`` as cards."""
    for place in _places(pieces, found):
        parts: list[Table] = []
        if wires:
            rest = [one for one in place.wires if one[0].kind != "drop"]
            parts += [_wires("", rest, imperial)] if rest else []
        if strips:
            parts += _cards(_untold(place.strips) if wires else place.strips, pieces, imperial)
        drops = [one for one in place.wires if one[0].kind == "drop"]
        if wires and drops:
            parts.append(_wires(DROPS, drops, imperial))
        if parts:
            yield Section(place.title, parts)


def _places(pieces: Sequence[Piece], strips: Sequence[Strip]) -> list[_Place]:
    """The places in the order of the current: power, boards, panels, harnesses, points, and the runs."""
    found: dict[object, _Place] = {}
    at: dict[str, object] = {}
    for strip in strips:
        key, title = _key(strip)
        found.setdefault(key, _Place(title)).strips.append(strip)
        at |= {clamp.terminal: key for clamp in strip.clamps}
    homes = {one.subject: at[end] for one in pieces for end in (one.to, one.from_) if _along(at.get(end))}
    for wire in _whole(pieces):
        first = wire[0]
        here = at.get(first.from_, "")
        if first.kind in ("bus", "common", "drop"):
            here = homes.get(first.subject, here)
        here = _APART.get(first.kind, here)
        found.setdefault(here, _Place({"points": POINTS, "run": RUNS}.get(str(here), TRACK))).wires.append(wire)
    last = [found.pop(key) for key in ("points", "run") if key in found]
    return [*found.values(), *last]


def _key(strip: Strip) -> tuple[object, str]:
    """Which place a strip belongs to, and what that is called."""
    where = f" ({strip.where})" if strip.where else ""
    if strip.kind in _HEAD:
        return "power", POWER
    if strip.kind in ("board", "feeds"):
        return ("board", strip.home), f"Board {strip.home}{where}"
    if strip.kind == "isolators":
        return ("panel", strip.home), f"Panel {strip.home}{where}" if strip.home else "Control panel"
    if strip.kind == "points":
        return "points", POINTS
    return ("harness", strip.home) if strip.kind == "harness" else "run", (
        f"Harness {strip.home}" if strip.kind == "harness" else RUNS
    )


def _along(key: object) -> bool:
    return isinstance(key, tuple) and key[0] == "harness"


def _whole(pieces: Iterable[Piece]) -> Iterable[list[Piece]]:
    """The pieces of each wire, and of a block's drops to one rail."""
    groups: dict[object, list[Piece]] = {}
    for piece in pieces:
        groups.setdefault((piece.subject, piece.rail) if piece.kind == "drop" else piece.wire, []).append(piece)
    return groups.values()


# --- wires -----------------------------------------------------------------------------------------------------------
def _wires(title: str, wires: Sequence[list[Piece]], imperial: bool) -> Table:
    """Wires from end to end, in one row those that differ by number only."""
    rows = list(ranged(_row(one, imperial) for one in wires))
    cells = [
        (row.texts[0], row.count if row.count > 1 else None, *row.rest[:1], row.colour, *row.rest[1:]) for row in rows
    ]
    headers = ("from end to end", "wires", "at", "colour", "conductor", "cut", "ends", "for")
    boxes = tuple(row.count for row in rows)
    return Table(title, headers, cells, imperial=imperial, ticks=True, boxes=boxes)  # type: ignore[arg-type]


def _row(pieces: list[Piece], imperial: bool) -> Row:
    first = pieces[0]
    return Row(
        (way(pieces),),
        first.colour,
        (
            ", ".join(length(one.at_m, imperial) for one in pieces if one.at_m is not None),
            conductor_of(first.conductor, first.size),
            cut_into(pieces, imperial) or NOT_GIVEN,
            f"{first.fixing_from}, {pieces[-1].fixing_to}",
            first.purpose,
        ),
    )


def way(pieces: Sequence[Piece]) -> str:
    """The terminals of a wire in order, its joints as a range. Of drops, the bus and the rail's."""
    if pieces[0].kind == "drop":
        number = pieces[-1].end.terminal.rpartition(":drop")[2]  # S3:drop4c is the fourth of the common rail
        tail = f"-{number}" if len(pieces) > 1 else ""
        return f"{pieces[0].start.terminal} > {pieces[0].end.terminal}{tail}"
    first, last = pieces[0].start.label.partition(" > ")[0], pieces[-1].end.terminal
    joints = [piece.start.label.partition(" > ")[0] for piece in pieces[1:]]
    if pieces[0].kind == "run":  # the mark of the wire is told once
        mark = len(_mark(pieces[0]))
        joints, last = [joint[mark:] for joint in joints], last[mark:]
    told = [f"{joints[0]}-{joints[-1].rpartition('j')[2]}"] if len(joints) > 1 else joints
    return " > ".join([first, *told, last])


def _mark(piece: Piece) -> str:
    """What the terminals of a wire of a run begin with."""
    here, there = piece.start.label, piece.end.label
    count = next((i for i, (a, b) in enumerate(zip(here, there, strict=False)) if a != b), 0)
    return here[: here.rfind(" ", 0, count) + 1]


def cut_into(pieces: Iterable[Piece], imperial: bool) -> str:
    """How a wire is cut: ``4 x 1.32 m, 11 cm``."""
    counts: dict[str, int] = {}
    for piece in pieces:
        if piece.cut_m is not None:
            told = length(piece.cut_m, imperial)
            counts[told] = counts.get(told, 0) + 1
    return ", ".join(told if count == 1 else f"{count} x {told}" for told, count in counts.items())


# --- terminals -------------------------------------------------------------------------------------------------------
def _cards(strips: Sequence[Strip], pieces: Sequence[Piece], imperial: bool) -> Iterator[Table]:
    """What is on each terminal of a place, each strip a card."""
    kinds = {strip.kind: [one for one in strips if one.kind == strip.kind] for strip in strips}
    power = [one for kind in _HEAD for one in kinds.get(kind, ())]
    if power:
        yield _card("Terminals", [clamp for one in power for clamp in one.clamps])
    for one in kinds.get("board", ()):
        yield _card("Channels", one.clamps, "channel")
    for one in kinds.get("feeds", ()):
        yield _card("Feed terminals", one.clamps)
    for one in kinds.get("isolators", ()):
        yield from _switches(one.clamps)
    for one in kinds.get("points", ()):
        yield _card(f"Terminals ({one.where})", one.clamps, likewise=True)
    yield from _joints(kinds.get("harness", ()), pieces, imperial)
    ends = [clamp for one in kinds.get("run ends", ()) for clamp in one.clamps]
    if ends:
        yield _card("Ends of the runs", ends, likewise=True)
    yield from _run_joints(kinds.get("run", ()), imperial)


def _switches(clamps: Sequence[Clamp]) -> Iterator[Table]:
    """The switches of a panel; of many, so many a card."""
    switches: dict[str, list[Clamp]] = {}
    for clamp in clamps:
        switches.setdefault(clamp.terminal.partition(":")[0], []).append(clamp)
    names = list(switches)
    most = max(1, math.ceil(len(names) / math.ceil(len(clamps) / _MOST_ROWS)))
    for start in range(0, len(names), most):
        some = names[start : start + most]
        told = some[0] if len(some) == 1 else f"{some[0]} to {some[-1]}"
        rows = [clamp for name in some for clamp in switches[name]]
        yield _card("Switches" if most >= len(names) else f"Switches {told}", rows)


def _untold(strips: Iterable[Strip]) -> list[Strip]:
    """The strips without those of which the wires above tell all: one wire a terminal, and no number."""
    return [
        one
        for one in strips
        if one.kind not in ("points", "run ends") or any(len(clamp.wires) > 1 for clamp in one.clamps)
    ]


def _card(title: str, clamps: Sequence[Clamp], numbered: str = "", likewise: bool = False) -> Table:
    """Every terminal of a strip, what the wires on it lead to, and their colours. Positions are told as ``numbered``,
    where that number is on the thing itself; ``likewise``: those that differ by number only are one row."""
    rows: list[list[Cell]] = [
        [clamp.position if numbered else None, clamp.terminal, _leads(clamp), in_order(_colours(clamp))]
        for clamp in clamps
    ]
    if likewise:
        made = ranged(Row((clamp.terminal, _leads(clamp)), in_order(_colours(clamp)) or None) for clamp in clamps)
        rows = [[None, *one.texts, one.colour] for one in made]
    return Table(title, (numbered, Column("terminal", heads=True), "leads to", "colour"), rows, card=True)


def _leads(clamp: Clamp) -> str:
    """The other ends of the wires on a terminal: what its labels say behind it."""
    there = [label.removeprefix(f"{clamp.terminal} > ") for label in clamp.labels]
    told = [one.texts[0] for one in ranged(Row((text,)) for text in there)]
    return " \u00b7 ".join(told) or clamp.note or ""


def _colours(clamp: Clamp) -> list[str | None]:
    return list(dict.fromkeys(one for one in clamp.colours if one)) or [None]


def _joints(strips: Sequence[Strip], pieces: Sequence[Piece], imperial: bool) -> Iterator[Table]:
    """The strips of a harness; joints that follow one another and have the same on them are one card, and so are far
    ends that lie as at a joint."""
    onward = {piece.from_: piece.cut_m for piece in pieces}
    kept: list[tuple[list[Strip], list[list[Cell]]]] = []
    for strip in strips:
        rows = [_passing(clamp, {} if strip.far else onward, imperial) for clamp in strip.clamps]
        like = next((same for same, known in kept if [one[:3] for one in known] == [one[:3] for one in rows]), None)
        if strip.far and like is not None:
            like.append(strip)
        elif kept and kept[-1][1] == rows and strip.joint:
            kept[-1][0].append(strip)
        else:
            kept.append(([strip], rows))
    headers = ("no", Column("wire", heads=True), "colour", "cut on")
    for same, rows in kept:
        yield Table(_joint_title(same, imperial), headers, rows, card=True)


def _passing(clamp: Clamp, onward: Mapping[str, float | None], imperial: bool) -> list[Cell]:
    """A terminal of a joint: the wire that goes through it, and the length to cut for its next piece."""
    cut_m = onward.get(clamp.terminal)
    return [clamp.position, clamp.wire, in_order(_colours(clamp)), None if cut_m is None else length(cut_m, imperial)]


def _joint_title(strips: Sequence[Strip], imperial: bool) -> str:
    first, *more = [one for one in strips if not one.far] or strips
    if first.far:
        return "Far ends"
    alike = "; far ends alike" if strips[-1].far else ""
    if first.joint == 0:
        return f"Where the buses begin{alike}"
    if not more:
        return f"Joint {first.joint}, at {length(first.at_m, imperial)}{alike}"
    word = "and" if len(more) == 1 else "to"
    at = f"{length(first.at_m, imperial)} {word} {length(more[-1].at_m, imperial)}"
    return f"Joints {first.joint} {word} {more[-1].joint}, at {at}{alike}"


def _run_joints(strips: Sequence[Strip], imperial: bool) -> Iterator[Table]:
    """Where the wires of the runs are joined: the terminal, and how far each joint is from their beginning."""
    passed: dict[str, tuple[Clamp, list[str]]] = {}
    for strip in strips:
        for clamp in strip.clamps:
            passed.setdefault(clamp.wire, (clamp, []))[1].append(length(strip.at_m, imperial))
    made = ranged(
        Row((wire,), clamp.colours[0], (clamp.position, ", ".join(at))) for wire, (clamp, at) in passed.items()
    )
    rows: list[list[Cell]] = [[row.texts[0], row.colour, *row.rest] for row in made]  # type: ignore[list-item]
    if rows:
        yield Table("Joints of the runs", ("wire", "colour", "no", "joined at"), rows, card=True)
