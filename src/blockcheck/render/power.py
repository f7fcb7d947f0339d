"""Volts, shorts and detection, for people and for other programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, Volts, show
from blockcheck.render.defaults import defaults_lines, defaults_markdown, defaults_value
from blockcheck.render.json_v1 import Json, dumps
from blockcheck.render.style import Style, listed, plural
from blockcheck.render.table import Cell, csv_table, markdown_table, text_table
from blockcheck.render.text import CAUTION, unchecked_lines

if TYPE_CHECKING:
    from blockcheck.answers.power import PowerAnswer, PowerRow

COLUMNS = (
    "block",
    "district",
    "power",
    "voltage",
    "voltage_at",
    "voltage_limit",
    "short_current",
    "short_at",
    "trip",
    "detection_current",
    "detection_at",
    "detection_vehicle",
    "threshold",
    "false_current",
    "bound",
)


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
    return dict(zip(COLUMNS, cells, strict=True))


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
            "defaults": defaults_value(answer.defaults),
            "unchecked": unchecked,
        }
    )


def _rows(answer: PowerAnswer) -> list[list[Cell]]:
    return [
        ["yes" if cell is True else "" if cell is False else cell for cell in _value(row).values()]
        for row in answer.rows
    ]


def power_csv(answer: PowerAnswer) -> str:
    """CSV in the columns of the JSON: volts, amperes, and metres from the near end."""
    return csv_table(COLUMNS, _rows(answer))


def power_markdown(answer: PowerAnswer) -> str:
    """A markdown document."""
    table = markdown_table(COLUMNS, _rows(answer))
    parts = [f"# Volts and shorts: {answer.layout}", table, *defaults_markdown(answer.defaults), CAUTION]
    return "\n\n".join(parts) + "\n"


def power_text(answer: PowerAnswer, style: Style) -> str:
    """A table by block of what is worst in it, and where."""

    def amps(value: float | None) -> str | None:
        return None if value is None else show(value, DIMENSIONS[Amperes])

    def at(value: float | None, place: float | None) -> str | None:
        if value is None or place is None:
            return None
        return show(place, DIMENSIONS[Metres], imperial=answer.imperial) if place > 0 else "near end"

    headers = ["block", "volts", "at", "least", "short", "at", "trip", "smallest", "reads from", "empty", "bound"]
    rows: list[list[Cell]] = [
        [
            row.block,
            None if row.voltage_v is None else show(row.voltage_v, DIMENSIONS[Volts]),
            at(row.voltage_v, row.voltage_at_m),
            None if row.voltage_limit_v is None else show(row.voltage_limit_v, DIMENSIONS[Volts]),
            amps(row.short_a),
            at(row.short_a, row.short_at_m),
            amps(row.trip_a),
            amps(row.detection_a),
            amps(row.threshold_a),
            amps(row.false_a),
            "yes" if row.bound else None,
        ]
        for row in answer.rows
    ]
    kept = [i for i in range(len(headers)) if i == 0 or any(row[i] is not None for row in rows)]
    parts = [style.paint(f"{answer.layout}: the worst place of every block", "bold")]
    parts.append(text_table([headers[i] for i in kept], [[row[i] for i in kept] for row in rows], style))
    told = []
    shown = {headers[i] for i in kept}
    if "volts" in shown and answer.probe is not None and answer.probe_a is not None:
        told.append(f"volts: what {answer.probe} gets, drawing {amps(answer.probe_a)}, with the rest of the load on.")
    if "short" in shown:
        told.append("short: the least that a short draws anywhere in the block; places count from the near end.")
    if "smallest" in shown:
        smallest = next(row.detection_vehicle for row in answer.rows if row.detection_vehicle is not None)
        told.append(f"smallest: what {smallest}, the smallest vehicle, draws at least.")
    if "empty" in shown:
        told.append("empty: the most that cable and roadbed draw with nothing in the block (a bound).")
    told += _without_power(answer)
    if any(row.bound for row in answer.rows):
        told.append("bound: a neighbour lacks data and was left out; the real values are no worse.")
    if answer.asleep:
        told.append(f"{plural(answer.asleep, 'load')} asleep for want of voltage.")
    if not answer.converged:
        told.append("The currents did not settle: take these values as a rough guide only.")
    parts.append("\n".join(style.wrap(line, "", "  ") for line in told))
    if answer.defaults:
        parts.append(defaults_lines(answer.defaults, style))
    if answer.unchecked:
        parts.append("\n".join([style.paint("Not computed", "bold"), *unchecked_lines(answer.unchecked, style)]))
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _without_power(answer: PowerAnswer) -> Iterator[str]:
    """Why rows are empty that lack no datum: nothing reaches them as the layout stands."""
    lacking = {one.subject for one in answer.unchecked}
    for power, words in (("off", "no power"), ("trickle", "a trickle through a hold resistor only")):
        names = [row.block for row in answer.rows if row.power == power and row.block not in lacking]
        if names:
            have = "has" if len(names) == 1 else "have"
            yield f"{listed(names)} {have} {words} as the layout usually stands, and no figures here."
