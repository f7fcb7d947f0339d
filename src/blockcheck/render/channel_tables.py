"""The channel map for paper, spreadsheets, documents and other programs."""

from __future__ import annotations

from blockcheck.answers.channels import ChannelMap
from blockcheck.core.natural import natural_key
from blockcheck.model.quantities import Metres
from blockcheck.render.json_v1 import channels_value
from blockcheck.render.marks import SIGNATURE
from blockcheck.render.style import plural
from blockcheck.render.table import Cell, Column, Sheet, Table

_PROGRAMS = ("board", "channel", "bank", "address", "block", "track", "group", "district", "isolator", "colour")
_HEADERS = (
    Column("channel", only="people"),
    Column("board", only="programs"),
    Column("channel", only="programs"),
    Column("bank"),
    Column("address"),
    Column("block", always=True),
    Column("track"),
    Column("group"),
    Column("district"),
    Column("isolator"),
    Column("colour"),
    Column("length", "length", Metres),
    Column("note"),
)
"""For programs these are the columns of the JSON, in its order."""


def channels_sheet(answer: ChannelMap) -> Sheet:
    """Every channel in the order of boards and numbers, the spare ones among them; then the blocks without one."""
    rows: list[dict[str, Cell]] = channels_value(answer)["rows"]
    rows += [
        {"board": one.board, "channel": one.channel, "bank": one.bank, "address": one.address, "note": "spare"}
        for one in answer.spare
    ]
    rows.sort(key=lambda row: (natural_key(str(row["board"])), row["channel"]))
    cells = [
        (f"{row['board']}.{row['channel']}", *(row.get(name) for name in (*_PROGRAMS, "length", "note")))
        for row in rows
    ]
    tables = [Table("Channels", _HEADERS, cells, imperial=answer.imperial)]
    if answer.undetected:
        reasons = [(one.block, one.reason) for one in answer.undetected]
        tables.append(Table("Blocks without a detector", ("block", Column("why", "reason")), reasons))
    used = len({(row.board, row.channel) for row in answer.rows})
    boards = len({row["board"] for row in rows})
    spare = f", {len(answer.spare)} spare" if answer.spare else ""
    lead = f"{plural(used, 'channel')} in use{spare}, on {plural(boards, 'board')}."
    return Sheet("Channel map", answer.layout, tuple(tables), (lead,))


def channels_toml(answer: ChannelMap) -> str:
    """The map as TOML; what is not known is left out."""
    import tomli_w

    value = channels_value(answer)
    tables = {
        name: [{key: cell for key, cell in row.items() if cell is not None} for row in rows]
        for name, rows in value.items()
    }
    return f"# {SIGNATURE}\n{tomli_w.dumps({'format': 1, **tables})}"
