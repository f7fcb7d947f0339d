"""A layout from a spreadsheet of blocks: channel, block or track, length, isolator, in columns of any order."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from attrs import field, frozen

from blockcheck.core.faults import Faults
from blockcheck.core.findings import Label
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import shown
from blockcheck.core.spans import Place
from blockcheck.model.quantities import DIMENSIONS, Metres, QuantityError, parse
from blockcheck.text.ranges import RangeError, names_of
from blockcheck.text.tables import TableRow, read_table

_SAME = {
    "name": "block",
    "block name": "block",
    "track no": "track",
    "track number": "track",
    "isolation switch": "isolator",
    "switch": "isolator",
    "isolators": "isolator",
    "yard": "group",
    "color": "colour",
    "notes": "note",
}
"""Other headings of a column."""
KNOWN = ("block", "track", "board", "channel", "bank", "address", "group", "district", "isolator", "colour", "note")
_UNITS = {"metres": "m", "meters": "m", "feet": "ft", "foot": "ft", "inches": "in", "inch": "in"}
_OWN = frozenset({"board", "channel", "bank", "address", "block"})
"""Columns of blockcheck's own channel map, whose lengths are in metres."""
_NAME = re.compile(r"[\w/-]{1,40}")
_MINE = {"yes", "y", "x"}
_NONE = {"no", "n", "none", "-"}


@frozen(kw_only=True)
class SheetBlock:
    """One row with a block. ``length`` is written as in a layout; ``through`` is what feeds a block by its rails."""

    name: str
    board: str
    channel: int
    bank: int | None
    address: int | None
    track: int | None
    group: str | None
    district: str | None
    isolators: tuple[str, ...]
    colour: str | None
    length: str | None
    through: str | None
    kept_spare: bool
    place: Place


@frozen(kw_only=True)
class SpareChannel:
    """One row without a block."""

    board: str
    channel: int
    bank: int | None
    address: int | None
    place: Place


@frozen(kw_only=True)
class Sheet:
    """What a spreadsheet says of blocks; ``left_out`` are its columns that say nothing here."""

    blocks: tuple[SheetBlock, ...]
    spare: tuple[SpareChannel, ...]
    imperial: bool
    tells_colours: bool
    left_out: tuple[str, ...]


def column_named(heading: str) -> str:
    """The name of a column: its length with its unit behind, as ``length m``."""
    found = re.fullmatch(r"(.+?)\s*(?:[(\[,]\s*(metres|meters|feet|foot|inches|inch|mm|cm|m|ft|in)\s*[)\]]?)?", heading)
    plain, unit = (found[1], found[2]) if found else (heading, None)
    plain = _SAME.get(plain.strip(), plain.strip())
    return f"{plain} {_UNITS.get(unit, unit)}" if unit else plain


def read_sheet(data: bytes, name: str) -> Sheet:
    """Read a spreadsheet of blocks, CSV or a workbook. Raises InputError with every fault, each at its row."""
    rows = read_table(data, name, ("channel",), column_named)
    heads = list(dict.fromkeys(head for row in rows for head in row.cells if head))
    lengths = [head for head in heads if head.partition(" ")[0] == "length"]
    unit = lengths[0].partition(" ")[2] if lengths else ""
    reader = _Reader(unit or ("m" if {*heads} >= _OWN else ""), lengths[0] if lengths else "length")
    top = Place(name, 1, 1, 1, 1)
    if not rows:
        reader.faults.add(top, "no row stands below the line of headings", "write a row for each block")
    elif not {"block", "track"} & {*heads}:
        reader.faults.add(top, "no column names the blocks", "add a column headed block, with a name for each: T1")
    else:
        for row in rows:
            reader.row(row)
    reader.faults.stop()
    left = tuple(head for head in heads if head not in KNOWN and head not in lengths[:1])
    imperial = unit in ("ft", "in") or any(re.search("ft|in|['\"]", one.length or "") for one in reader.blocks)
    return Sheet(
        blocks=tuple(reader.blocks),
        spare=tuple(reader.spare),
        imperial=imperial,
        tells_colours="colour" in heads,
        left_out=left,
    )


@frozen(eq=False, repr=False, slots=False)
class _Reader:
    unit: str
    """Of the lengths, where their heading tells it."""
    length_head: str
    faults: Faults = field(factory=Faults)
    blocks: list[SheetBlock] = field(factory=list)
    spare: list[SpareChannel] = field(factory=list)
    seen: dict[str, Place] = field(factory=dict)

    def fault(self, row: TableRow, column: str, message: str, help_: str, *related: Label) -> None:
        self.faults.add(row.place, f"row {row.place.line}, column {column}: {message}", help_, *related)

    def row(self, row: TableRow) -> None:
        """One row: a block on a channel, or a channel without one."""
        before = len(self.faults)
        cells = row.cells
        board, channel = self.channel(row)
        bank, address = self.number(row, "bank"), self.number(row, "address")
        track = self.number(row, "track") if cells.get("block") or _digits(cells.get("track", "")) else None
        name = cells.get("block") or self.from_track(cells.get("track", ""))
        note = cells.get("note", "")
        if not name:
            if len(self.faults) == before:
                one = SpareChannel(board=board, channel=channel, bank=bank, address=address, place=row.place)
                self.spare.append(one)
            return
        self.name(row, "block" if cells.get("block") else "track", name)
        length, isolators = self.length(row), self.isolators(row, name)
        for column in ("district", "group"):
            if cells.get(column):
                self.name(row, column, cells[column], once=False)
        through = note.removeprefix("fed through ") if note.startswith("fed through ") else None
        if len(self.faults) == before:
            self.blocks.append(
                SheetBlock(
                    name=name,
                    board=board,
                    channel=channel,
                    bank=bank,
                    address=address,
                    track=track,
                    group=cells.get("group") or None,
                    district=cells.get("district") or None,
                    isolators=isolators,
                    colour=cells.get("colour") or None,
                    length=length,
                    through=through,
                    kept_spare=note == "kept spare",
                    place=row.place,
                )
            )

    def channel(self, row: TableRow) -> tuple[str, int]:
        """The board and the number: in one cell, or in two."""
        cell, board = row.cells.get("channel", ""), row.cells.get("board", "")
        before, dot, number = cell.rpartition(".")
        board = before if dot and before else board
        if not _digits(number) or not board or not 1 <= int(number) <= 999:
            self.fault(row, "channel", f"expected a board and a channel, got {shown(cell)}", 'write "D1.3"')
            return "", 0
        self.name(row, "board" if row.cells.get("board") else "channel", board, once=False)
        return board, int(number)

    def number(self, row: TableRow, column: str) -> int | None:
        cell = row.cells.get(column, "")
        if not cell:
            return None
        if not _digits(cell):
            self.fault(row, column, f"expected a whole number, got {shown(cell)}", "write digits alone, or nothing")
            return None
        return int(_digits(cell))

    def from_track(self, cell: str) -> str:
        """A name for a block that is known by its track: T3 for 3."""
        return f"T{_digits(cell)}" if _digits(cell) else cell

    def name(self, row: TableRow, column: str, name: str, once: bool = True) -> None:
        try:
            reads_as = names_of(name)
        except RangeError as error:
            self.fault(row, column, error.message, error.help)
            return
        if reads_as is not None:
            self.fault(row, column, f"{shown(name)} is a range, and a row is one block", "write a row for each")
        elif not _NAME.fullmatch(name):
            fit = re.sub(r"[^\w-]+", "-", name).strip("-")[:40] or "T1"
            self.fault(
                row, column, f"expected a name of letters, digits and dashes, got {shown(name)}", f'write "{fit}"'
            )
        elif once and name in self.seen:
            told = Label(self.seen[name], "it stands here already")
            self.fault(row, column, f"block {name} has a row already", "give each block one row", told)
        elif once:
            self.seen[name] = row.place

    def length(self, row: TableRow) -> str | None:
        cell = row.cells.get(self.length_head, "")
        if not cell:
            return None
        plain = re.sub(r"(?<=\d),(?=\d)", ".", cell)
        told = f"{plain} {self.unit}" if self.unit and re.fullmatch(r"[\d.e+-]+", plain) else plain
        try:
            if not parse(told, DIMENSIONS[Metres], nought=False):
                self.fault(row, "length", f"expected a length above 0, got {shown(cell)}", "write it, or leave it out")
        except QuantityError as error:
            self.fault(row, "length", error.message, error.help)
        return told

    def isolators(self, row: TableRow, block: str) -> tuple[str, ...]:
        """Names after commas; a plain yes is one of its own."""
        cell = row.cells.get("isolator", "")
        if cell.casefold() in _NONE:
            return ()
        if cell.casefold() in _MINE:
            return (f"I-{block}",)
        found = tuple(one.strip() for one in cell.split(",") if one.strip())
        for one in found:
            self.name(row, "isolator", one.partition(".")[0], once=False)
            if not re.fullmatch(r"[^.]+(\.[1-9]\d?)?", one):
                self.fault(
                    row, "isolator", f"expected an isolator or its pole, got {shown(one)}", 'write "I3" or "I3.2"'
                )
        return found


def _digits(cell: str) -> str:
    """A whole number as a spreadsheet has it, or nothing."""
    found = re.fullmatch(r"([0-9]{1,9})(?:\.0+)?", cell)
    return found[1] if found else ""


def by_board(sheet: Sheet) -> Mapping[str, list[SheetBlock | SpareChannel]]:
    """The rows of each board, in the order in which people read them."""
    found: dict[str, list[SheetBlock | SpareChannel]] = {}
    rows: Iterable[SheetBlock | SpareChannel] = (*sheet.blocks, *sheet.spare)
    for row in sorted(rows, key=lambda one: (natural_key(one.board), one.channel)):
        found.setdefault(row.board, []).append(row)
    return found
