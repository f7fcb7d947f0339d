"""The file of a layout whose blocks a spreadsheet tells: a line for each of its rows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from blockcheck.answers.start import parts
from blockcheck.answers.start.parts import aligned, in_units, section
from blockcheck.answers.start.sheet import Sheet, SheetBlock, SpareChannel, by_board, read_sheet
from blockcheck.core.faults import Faults
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import plain
from blockcheck.core.words import listed, plural
from blockcheck.text.edits import key_of, quoted

_Row = SheetBlock | SpareChannel


def sheet_text(data: bytes, source: str, file: str, name: str | None = None, units: str | None = None) -> str:
    """The file of a layout from the content of a spreadsheet that is called ``source``.

    Raises InputError with every fault of the spreadsheet, each at its row.
    """
    sheet = read_sheet(data, source)
    writer = _Writer(sheet, units or ("imperial" if sheet.imperial else "metric"))
    text = aligned(writer.parts(source, file, name or "My layout"))
    writer.faults.stop()
    return text


class _Writer:
    def __init__(self, sheet: Sheet, units: str) -> None:
        self.sheet, self.units, self.faults = sheet, units, Faults()
        self.boards = by_board(sheet)
        self.named = {one.name: one for one in sheet.blocks}
        self.districts = list(dict.fromkeys(one.district or "yard" for one in sheet.blocks)) or ["yard"]
        self.bank_size = {board: self._bank_size(rows) for board, rows in self.boards.items()}
        self.first_address = {board: self._first_address(rows) for board, rows in self.boards.items()}
        self.bank_districts = {board: self._banks(board, rows) for board, rows in self.boards.items()}
        self.turnouts: dict[str, str] = {}
        self.coloured = any(one.colour for one in sheet.blocks)
        self.fed: dict[str, str] = {}

    def _bank_size(self, rows: Sequence[_Row]) -> int | None:
        """The channels in a bank; None for one that has them all, or where nothing is said."""
        told = [(row.channel, row.bank, row) for row in rows if row.bank is not None]
        if all(bank == 1 for _, bank, _ in told):
            return None
        for size in range(rows[-1].channel, 0, -1):
            if all((channel - 1) // size + 1 == bank for channel, bank, _ in told):
                return size
        help_ = "banks have the same number of channels each, in a row; leave the column out where it is not known"
        self.faults.add(told[0][2].place, f"column bank: no size of bank fits the channels of {rows[0].board}", help_)
        return None

    def _first_address(self, rows: Sequence[_Row]) -> int | None:
        """The number that channel 1 reports as."""
        found: int | None = None
        for row in rows:
            if row.address is None:
                continue
            first = row.address - row.channel + 1
            if found not in (None, first) or first < 0:
                told = f"column address: channel {row.channel} of {row.board} cannot report as {row.address}"
                help_ = "the channels of a board report as numbers in a row"
                self.faults.add(row.place, told, help_)
                return found
            found = first
        return found

    def parts(self, source: str, file: str, name: str) -> Iterator[str]:
        """The file, part by part."""
        measures = in_units(self.units)
        yield f"""\
# {plural(len(self.named), "block")} from {plain(source)}. Change first what is marked as yours.
#   Is it right?            blockcheck check {file}
#   Which channel is which? blockcheck channels {file}
#   What does a word mean?  blockcheck explain near, and of a key: blockcheck explain blocks.channel
"""
        if self.sheet.left_out:
            yield f"# Columns that were not read: {plain(listed(self.sheet.left_out))}.\n"
        yield parts.head(name, self.units)
        expects = 'expects = [{ load = "engine", count = 2 }]  # yours: what is powered at once\n'
        yield parts.power(measures, self.districts, expects)
        yield "".join(self._detection()) + "".join(self._blocks()) + "".join(self._switches())
        yield self._joints()
        colours = [one.colour for one in self.sheet.blocks if one.colour and one.through is None]
        lead = f'lead = "{measures.lead}"  # yours: from the board to where the blocks begin\n'
        yield parts.harness(measures, colours if self.sheet.tells_colours else parts.COLOURS, lead)
        yield parts.vehicles(measures, True)

    def _detection(self) -> Iterator[str]:
        kinds = {board: (rows[-1].channel, self.bank_size[board]) for board, rows in self.boards.items()}
        yield section("detection") + parts.BOARDS_NOTE
        for channels, size in dict.fromkeys(kinds.values()):
            yield parts.board_type(_kind(channels, size), channels, size)
        for board, rows in self.boards.items():
            spare = sorted(one.channel for one in rows if isinstance(one, SpareChannel) or one.kept_spare)
            yield f"[boards.{key_of(board)}]\ntype = {quoted(_kind(*kinds[board]))}\n"
            if len(self.districts) > 1:
                yield f"banks = [{', '.join(map(quoted, self.bank_districts[board]))}]\n"
            if self.first_address[board] is not None:
                yield f"first_address = {self.first_address[board]}\n"
            yield 'at = "under the yard"  # yours: for those who look for it\n' + parts.board_feed(in_units(self.units))
            yield f"spare = [{', '.join(map(str, spare))}]\n\n" if spare else "\n"

    def _bank(self, one: SheetBlock) -> int:
        """Its bank, from 0."""
        size = self.bank_size[one.board]
        return 0 if size is None else (one.channel - 1) // size

    def _banks(self, board: str, rows: Sequence[_Row]) -> list[str]:
        """The district of each bank: that of its first block, else that of the board's."""
        size = self.bank_size[board] or rows[-1].channel
        of: dict[int, str] = {}
        for row in rows:
            if isinstance(row, SheetBlock):
                of.setdefault((row.channel - 1) // size, row.district or self.districts[0])
        first = next(iter(of.values()), self.districts[0])
        banks = [of.get(bank, first) for bank in range((rows[-1].channel - 1) // size + 1)]
        return banks if len(set(banks)) > 1 else banks[:1]

    def _blocks(self) -> Iterator[str]:
        yield section("track") + "# A line for each row of the spreadsheet.\n[blocks]\n"
        for one in self.sheet.blocks:
            yield f"{key_of(one.name)} = {{ {', '.join(self._keys(one))} }}\n"

    def _keys(self, one: SheetBlock) -> Iterator[str]:
        feeder = self._feeder(one)
        if feeder is not None:
            yield f"fed_through = {quoted(feeder)}"
        else:
            yield f"channel = {quoted(f'{one.board}.{one.channel}')}"
        written = [name for name in one.isolators if "/" not in name]
        if written:
            many = f"[{', '.join(map(quoted, written))}]"
            yield f"isolator = {quoted(written[0]) if len(written) == 1 else many}"
        if one.length is not None:
            yield f"length = {quoted(one.length)}"
        if one.track is not None and str(one.track) != _ending(one.name):
            yield f"track = {one.track}"
        if one.group is not None:
            yield f"group = {quoted(one.group)}"
        if feeder is None and (one.colour or not self.coloured):
            yield 'harness = "yard"'
        home = self.bank_districts.get(one.board, [])
        own = one.district or self.districts[0]
        if feeder is None and home and own != home[self._bank(one) if len(home) > 1 else 0]:
            yield f"district = {quoted(own)}"
        if one.isolators and feeder is None:
            yield 'kind = "storage"'

    def _feeder(self, one: SheetBlock) -> str | None:
        """The block or turnout by whose rails it is fed; a turnout lies in the other block on its channel."""
        if one.through is None:
            return None
        if one.through in self.named:
            self.fed[one.name] = one.through
            return one.through
        home = next((two for two in self.sheet.blocks if _at(two) == _at(one) and two.through is None), None)
        if home is None:
            told = f"row {one.place.line}, column note: nothing is on {one.board}.{one.channel} but {one.name}"
            self.faults.add(one.place, told, "write a row for the block that feeds it, or another note")
        else:
            self.turnouts[one.through] = self.fed[one.name] = home.name
        return one.through

    def _switches(self) -> Iterator[str]:
        poles: dict[str, int] = {}
        contacts: dict[str, list[SheetBlock]] = {}
        for one in self.sheet.blocks:
            for isolator in one.isolators if one.through is None else ():
                name, _, pole = isolator.partition(".")
                if "/" in name:
                    contacts.setdefault(name.partition("/")[0], []).append(one)
                else:
                    poles[name] = max(poles.get(name, 1), int(pole or 1))
        if poles:
            yield "\n# Switches behind the detector: open, a track is dead and its channel reads clear.\n[isolators]\n"
        for name in sorted(poles, key=natural_key):
            many = f", poles = {poles[name]}" if poles[name] > 1 else ""
            yield f'{key_of(name)} = {{ rating = "5 A"{many} }}\n'
        for name, tracks in contacts.items():
            shared = len({_at(one) for one in tracks}) < len(tracks)
            names = ", ".join(quoted(one.name) for one in tracks)
            wired = 'wired = "pole"\n' if shared else ""
            yield f"\n[selectors.{key_of(name)}]\ntracks = [{names}]\n{wired}"
        for name, block in self.turnouts.items():
            yield f"\n[turnouts.{key_of(name)}]\nblock = {quoted(block)}\n"

    def _joints(self) -> str:
        first, second = [*self.named, "T1", "T2"][:2]
        return f"""\
{section("joints")}\
# The spreadsheet does not tell where blocks meet, and which rails are cut there: write a table for each such place,
# in the place of this one. The far end of the first block meets the near end of the second.
# [[joints]]
# blocks = [{quoted(first)}, {quoted(second)}]
# gap = "detected"
""" + "".join(
            f'[[joints]]\nblocks = [{quoted(home)}, {quoted(name)}]\ngap = "none"\n' for name, home in self.fed.items()
        )


def _at(one: SheetBlock) -> tuple[str, int]:
    return one.board, one.channel


def _kind(channels: int, bank_size: int | None) -> str:
    return f"{channels}-channel" + (f"-by-{bank_size}" if bank_size is not None else "")


def _ending(name: str) -> str:
    """The number that people call a block by where nothing else is said."""
    return name[len(name.rstrip("0123456789")) :].lstrip("0")
