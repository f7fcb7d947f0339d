"""The channel map: which channel is which block."""

from __future__ import annotations

from attrs import frozen

from blockcheck.analysis.case import Case
from blockcheck.core.natural import natural_key
from blockcheck.model.wiring import Fed, Wiring, bus_colours


@frozen
class ChannelRow:
    """One channel and its block. Length in metres."""

    board: str
    channel: int
    bank: int
    address: int | None
    block: str
    track: int | None
    group: str | None
    district: str | None
    isolator: str | None
    colour: str | None
    length_m: float | None
    note: str | None


@frozen
class SpareRow:
    """A channel without a block."""

    board: str
    channel: int
    address: int | None
    bank: int


@frozen
class UndetectedRow:
    """A block without a channel, and why it has none."""

    block: str
    reason: str


@frozen
class ChannelMap:
    """All channels in the order of boards and numbers: those with a block, those without, and blocks without one."""

    layout: str
    imperial: bool
    rows: tuple[ChannelRow, ...]
    spare: tuple[SpareRow, ...]
    undetected: tuple[UndetectedRow, ...]


def channels(case: Case) -> ChannelMap:
    """The channel map of a case. A channel that two blocks share has a row for each."""
    wiring, layout = case.wiring, case.layout
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
                spare.append(SpareRow(name, number, _address(board.first_address, number), bank))
    undetected = tuple(
        UndetectedRow(name, fed.block.undetected)
        for name, fed in wiring.fed.items()
        if fed.block.undetected is not None
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
    return ChannelRow(
        fed.board.name,
        fed.channel.number,
        fed.bank,
        _address(fed.board.first_address, fed.channel.number),
        block.name,
        wiring.tracks.get(block.name),
        block.group,
        fed.district,
        str(block.isolator) if block.isolator is not None else None,
        colours.get(block.name),
        block.length_m,
        note,
    )
