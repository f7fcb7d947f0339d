"""The channel map for spreadsheets, documents and other programs: CSV, markdown, TOML."""

from __future__ import annotations

from blockcheck.answers.channels import ChannelMap
from blockcheck.render.json_v1 import channels_value
from blockcheck.render.table import Cell, csv_table, markdown_table

COLUMNS = (
    "board",
    "channel",
    "bank",
    "address",
    "block",
    "track",
    "group",
    "district",
    "isolator",
    "colour",
    "length",
    "note",
)


def _rows(answer: ChannelMap) -> list[list[Cell]]:
    """The rows with a block, then the spare channels with the block left empty; lengths in metres."""
    rows: list[list[Cell]] = [[row[column] for column in COLUMNS] for row in channels_value(answer)["rows"]]
    for one in answer.spare:
        spare: dict[str, Cell] = {"board": one.board, "channel": one.channel, "bank": one.bank, "address": one.address}
        rows.append([spare.get(column, "spare" if column == "note" else None) for column in COLUMNS])
    return rows


def channels_csv(answer: ChannelMap) -> str:
    """The map as CSV, in the columns of the JSON; spare channels stand at the end."""
    return csv_table(COLUMNS, _rows(answer))


def channels_markdown(answer: ChannelMap) -> str:
    """The map as a markdown document."""
    parts = [f"# Channel map: {answer.layout}", markdown_table(COLUMNS, _rows(answer))]
    if answer.undetected:
        parts.append("\n".join(f"- {one.block} has no detector: {one.reason}" for one in answer.undetected))
    return "\n\n".join(parts) + "\n"


def channels_toml(answer: ChannelMap) -> str:
    """The map as TOML; what is not known is left out."""
    import tomli_w

    value = channels_value(answer)
    tables = {
        name: [{key: cell for key, cell in row.items() if cell is not None} for row in rows]
        for name, rows in value.items()
    }
    return tomli_w.dumps({"format": 1, **tables})
