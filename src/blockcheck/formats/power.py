"""Volts, shorts and detection, for people and for other programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.answers.columns import to_dict
from blockcheck.answers.document import CAUTION, Column, Sheet, Table
from blockcheck.answers.lacking import taken, unchecked_table
from blockcheck.core.words import listed, plural
from blockcheck.formats.json_v1 import Json, dumps
from blockcheck.formats.style import Style
from blockcheck.formats.table import text_of
from blockcheck.formats.text import part_text
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, Volts, show

if TYPE_CHECKING:
    from blockcheck.answers.power import PowerAnswer, PowerRow

_HEADERS = (
    Column("block", always=True),
    Column("district", only="programs"),
    Column("power", only="programs"),
    Column("volts", "voltage", Volts),
    Column("at", "voltage_at", Metres, zero="near end"),
    Column("least", "voltage_limit", Volts),
    Column("short", "short_current", Amperes),
    Column("at", "short_at", Metres, zero="near end"),
    Column("trip", "trip", Amperes),
    Column("smallest", "detection_current", Amperes),
    Column("at", "detection_at", Metres, only="programs"),
    Column("vehicle", "detection_vehicle", only="programs"),
    Column("reads from", "threshold", Amperes),
    Column("empty", "false_current", Amperes),
    Column("bound"),
)
"""For programs these are the columns of the JSON: volts, amperes, and metres from the near end."""


def _value(row: PowerRow) -> Json:
    cells = (
        row.block,
        row.district,
        row.power,
        row.voltage_v,
        row.voltage_at_m,
        row.voltage_limit_v,
        row.short_a,
        row.short_at_m,
        row.trip_a,
        row.detection_a,
        row.detection_at_m,
        row.detection_vehicle,
        row.threshold_a,
        row.false_a,
        row.bound,
    )
    return dict(zip([column.key or column.title for column in _HEADERS], cells, strict=True))


def power_json(answer: PowerAnswer) -> str:
    """As ``power.schema.json`` has it."""
    unchecked = [{"rule": one.rule, "subject": one.subject, "needs": list(one.needs)} for one in answer.unchecked]
    probe = None if answer.probe is None else {"name": answer.probe, "current": answer.probe_a}
    return dumps(
        {
            "probe": probe,
            "rows": [_value(row) for row in answer.rows],
            "asleep": answer.asleep,
            "settled": answer.converged,
            "defaults": [to_dict(one) for one in answer.defaults],
            "unchecked": unchecked,
        }
    )


def power_sheet(answer: PowerAnswer) -> Sheet:
    """A table by block of what is worst in it, and where; then what could not be computed."""
    rows = [
        ["yes" if cell is True else None if cell is False else cell for cell in _value(row).values()]
        for row in answer.rows
    ]
    table = Table("The worst place of every block", _HEADERS, rows, tuple(_told(answer)), answer.imperial)
    rest = [taken(answer.defaults)] if answer.defaults else []
    rest += [unchecked_table(answer.unchecked, "Not computed")] if answer.unchecked else []
    return Sheet("Volts, shorts and detection", answer.layout, (table, *rest), (), (CAUTION,))


def power_text(answer: PowerAnswer, style: Style) -> str:
    """A table by block of what is worst in it, and where."""
    parts = [style.paint(f"{answer.layout}: the worst place of every block", "bold")]
    parts.append(text_of(power_sheet(answer).tables[0], style, titled=False))
    if answer.defaults:
        parts.append(part_text(taken(answer.defaults), style))
    if answer.unchecked:
        parts.append(part_text(unchecked_table(answer.unchecked, "Not computed"), style))
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _told(answer: PowerAnswer) -> Iterator[str]:
    """What the columns mean that are shown, and what else is to be known about the values."""
    rows = answer.rows
    if any(row.voltage_v is not None for row in rows) and answer.probe is not None and answer.probe_a is not None:
        amps = show(answer.probe_a, DIMENSIONS[Amperes])
        yield f"volts: what {answer.probe} gets, drawing {amps}, with the rest of the load on."
    if any(row.short_a is not None for row in rows):
        yield (
            "short: the least that the wires would let flow through a short anywhere in the block, whatever the "
            "booster delivers: it is to be enough to trip. Places count from the near end."
        )
    if any(row.detection_a is not None for row in rows):
        smallest = next(row.detection_vehicle for row in rows if row.detection_vehicle is not None)
        yield f"smallest: what {smallest}, the smallest vehicle, draws at least."
    if any(row.false_a is not None for row in rows):
        yield "empty: the most that cable and roadbed draw with nothing in the block (a bound)."
    yield from _without_power(answer)
    if any(row.bound for row in rows):
        yield "bound: a neighbour lacks data and was left out; the real values are no worse."
    if answer.asleep:
        yield f"{plural(answer.asleep, 'load')} asleep for want of voltage."
    if not answer.converged:
        yield "The currents did not settle: take these values as a rough guide only."


def _without_power(answer: PowerAnswer) -> Iterator[str]:
    """Why rows are empty that lack no datum: nothing reaches them as the layout stands."""
    lacking = {one.subject for one in answer.unchecked}
    for power, words in (("off", "no power"), ("trickle", "a trickle through a hold resistor only")):
        names = [row.block for row in answer.rows if row.power == power and row.block not in lacking]
        if names:
            have = "has" if len(names) == 1 else "have"
            yield f"{listed(names)} {have} {words} as the layout usually stands, and no figures here."
