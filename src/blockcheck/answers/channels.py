"""The channel map: which channel is which block."""

from __future__ import annotations

from attrs import asdict, frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.columns import table
from blockcheck.answers.document import Document
from blockcheck.core.columns import column
from blockcheck.core.natural import natural_key
from blockcheck.core.words import plural
from blockcheck.model.keys import Count
from blockcheck.model.wiring import Fed, Wiring, bus_colours


@frozen
class ChannelRow:
    """One channel and its block."""

    name: str = column("The channel as it is written.", title="channel", only="people")
    board: str = column("Board.", only="programs")
    channel: Count = column("Channel, from 1.", only="programs")
    bank: Count = column("Bank, from 1.", spare=5)
    address: int | None = column("Number that the channel reports as.", spare=4)
    block: str = column("Block on the channel.", always=True)
    track: int | None = column("Number that people call it by.")
    group: str | None = column("Yard or line.")
    district: str | None = column("Power district.")
    isolator: str | None = column("Isolator, with its pole where it is not the first.")
    colour: str | None = column("Insulation colour of its bus.", spare=3)
    length_m: float | None = column("Length.", spare=2)
    note: str | None = column("Anything else to know.")


@frozen
class SpareRow:
    """A channel without a block."""

    board: str = column("Board.")
    channel: Count = column("Channel, from 1.")
    address: int | None = column("Number that the channel reports as.")
    bank: Count = column("Bank, from 1.")


@frozen
class UndetectedRow:
    """A block without a channel, and why it has none."""

    block: str = column("Block.")
    reason: str = column("Why it has none.", title="why")


@frozen
class ChannelMap(Answer):
    """All channels in the order of boards and numbers: those with a block, those without, and blocks without one."""

    command = "channels"

    layout: str
    imperial: bool
    rows: tuple[ChannelRow, ...] = column("Channels with a block, by board and number.")
    spare: tuple[SpareRow, ...] = column("Channels without a block.")
    undetected: tuple[UndetectedRow, ...] = column("Blocks without a channel.")

    def document(self) -> Document:
        """Every channel in the order of boards and numbers, the spare ones among them; then the blocks without one."""
        spare = [{**asdict(one), "name": f"{one.board}.{one.channel}", "note": "spare"} for one in self.spare]
        rows = sorted([*map(asdict, self.rows), *spare], key=lambda row: (natural_key(row["board"]), row["channel"]))
        used = len({(row.board, row.channel) for row in self.rows})
        told = f", {len(spare)} spare" if spare else ""
        boards = plural(len({row["board"] for row in rows}), "board")
        verdict = f"{plural(used, 'channel')} in use{told}, on {boards}."
        return Document(
            "Channel map",
            self.layout,
            (
                table("Channels", ChannelRow, rows, imperial=self.imperial),
                table("Blocks without a detector", UndetectedRow, self.undetected),
            ),
            verdict=(verdict,),
            imperial=self.imperial,
        )


def channels(study: Study) -> ChannelMap:
    """The channel map of a study. A channel that two blocks share has a row for each."""
    wiring, layout = study.wiring, study.layout
    colours = bus_colours(wiring)
    rows = [_row(wiring, fed, colours) for fed in wiring.fed.values() if fed.channel is not None]
    rows.sort(key=lambda row: (natural_key(row.board), row.channel, natural_key(row.block)))
    used = {(row.board, row.channel) for row in rows}
    spare = []
    for name in sorted(layout.boards, key=natural_key):
        board = layout.boards[name]
        kind = layout.board_types.get(board.type)
        for number in range(1, kind.channels + 1 if kind else 1):
            if (name, number) not in used and kind is not None:
                bank = (number - 1) // (kind.bank_size or kind.channels) + 1
                spare.append(SpareRow(name, Count(number), _address(board.first_address, number), Count(bank)))
    undetected = tuple(
        UndetectedRow(name, reason)
        for name, fed in wiring.fed.items()
        if (reason := fed.block.undetected or fed.block.unpowered) is not None
    )
    return ChannelMap(layout.about.name, layout.about.units == "imperial", tuple(rows), tuple(spare), undetected)


def _address(first: int | None, number: int) -> int | None:
    return None if first is None else first + number - 1


def _row(wiring: Wiring, fed: Fed, colours: dict[str, str]) -> ChannelRow:
    assert fed.board is not None
    assert fed.channel is not None
    assert fed.bank is not None
    block = fed.block
    note = "kept spare" if fed.channel.number in fed.board.spare else None
    note = note if fed.through is None else f"fed through {block.fed_through}"
    return ChannelRow(
        str(fed.channel),
        fed.board.name,
        Count(fed.channel.number),
        Count(fed.bank),
        _address(fed.board.first_address, fed.channel.number),
        block.name,
        wiring.tracks.get(block.name),
        block.group,
        fed.district,
        ", ".join(map(str, block.isolated_by)) or None,
        colours.get(block.name),
        block.length_m,
        note,
    )
