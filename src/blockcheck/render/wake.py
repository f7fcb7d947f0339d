"""Waking in stages, for people and for other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.model.quantities import DIMENSIONS, Amperes, Seconds, show
from blockcheck.render.defaults import defaults_lines, defaults_markdown, defaults_value
from blockcheck.render.json_v1 import dumps
from blockcheck.render.style import Style, listed, plural
from blockcheck.render.table import Cell, csv_table, markdown_table, text_table
from blockcheck.render.text import CAUTION, unchecked_lines

if TYPE_CHECKING:
    from blockcheck.answers.wake import DistrictWaking, Stage, WakeAnswer

COLUMNS = ("district", "stage", "close", "inrush", "delay", "steady")


def wake_json(answer: WakeAnswer) -> str:
    """As ``wake.schema.json`` has it."""
    return dumps(
        {
            "districts": [
                {
                    "district": one.district,
                    "trip": one.trip_a,
                    "delay": one.delay_s,
                    "stages": [
                        {"close": list(stage.close), "inrush": stage.inrush_s, "steady": stage.steady_a}
                        for stage in one.stages
                    ],
                    "least": one.least,
                    "refused": list(one.refused),
                }
                for one in answer.districts
            ],
            "defaults": defaults_value(answer.defaults),
            "unchecked": [
                {"rule": one.rule, "subject": one.subject, "needs": list(one.needs)} for one in answer.unchecked
            ],
        }
    )


def _rows(answer: WakeAnswer) -> list[list[Cell]]:
    return [
        [one.district, number, " ".join(stage.close), stage.inrush_s, one.delay_s, stage.steady_a]
        for one in answer.districts
        for number, stage in enumerate(one.stages, 1)
    ]


def wake_csv(answer: WakeAnswer) -> str:
    """CSV, in seconds and amperes."""
    return csv_table(COLUMNS, _rows(answer))


def wake_markdown(answer: WakeAnswer) -> str:
    """A markdown document."""
    table = markdown_table(COLUMNS, _rows(answer))
    parts = [f"# Waking: {answer.layout}", table, *defaults_markdown(answer.defaults), CAUTION]
    return "\n\n".join(parts) + "\n"


def wake_text(answer: WakeAnswer, style: Style) -> str:
    """For each district the stages, with what each takes at most beside what the breaker bears."""
    parts = []
    for one in answer.districts:
        parts.append(style.paint(_title(one), "bold"))
        rows: list[list[Cell]] = [
            [
                number,
                _close(stage),
                _time(stage.inrush_s),
                _time(one.delay_s),
                show(stage.steady_a, DIMENSIONS[Amperes]),
            ]
            for number, stage in enumerate(one.stages, 1)
        ]
        parts.append(text_table(["stage", "close", "inrush, at most", "breaker bears", "then flows"], rows, style))
        if one.refused:
            verb = "is" if len(one.refused) == 1 else "are"
            parts.append(style.wrap(f"{listed(one.refused)} {verb} more than the breaker bears even alone.", "", "  "))
        if len(one.stages) > one.least:
            parts.append(f"There may be a way with fewer stages, but not fewer than {one.least}.")
    if not answer.districts and not answer.unchecked:
        parts.append("Nothing is awake that would have to be woken.")
    if answer.defaults:
        parts.append(defaults_lines(answer.defaults, style))
    if answer.unchecked:
        parts.append("\n".join([style.paint("Not computed", "bold"), *unchecked_lines(answer.unchecked, style)]))
    if answer.districts:
        parts.append(
            style.wrap("The times are bounds: all that the breaker lets through above the steady current charges.")
        )
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _title(one: DistrictWaking) -> str:
    trip = show(one.trip_a, DIMENSIONS[Amperes])
    return f"District {one.district}: {plural(len(one.stages), 'stage')}, its breaker trips at {trip}"


def _close(stage: Stage) -> str:
    return ", ".join(stage.close) if stage.close else "booster on (what no isolator holds)"


def _time(seconds: float | None) -> str:
    return "never served" if seconds is None else show(seconds, DIMENSIONS[Seconds])
