"""Waking in stages, for people and for other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from attrs import evolve

from blockcheck.answers.document import Column, Sheet, Table
from blockcheck.core.words import listed, plural
from blockcheck.model.quantities import DIMENSIONS, Amperes, Seconds, show
from blockcheck.render.defaults import defaults_lines, defaults_table, defaults_value
from blockcheck.render.json_v1 import dumps
from blockcheck.render.style import Style
from blockcheck.render.table import text_of
from blockcheck.render.text import CAUTION
from blockcheck.render.unchecked import unchecked_lines, unchecked_table

if TYPE_CHECKING:
    from blockcheck.answers.wake import DistrictWaking, Stage, WakeAnswer


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
                    "beside": list(one.beside),
                }
                for one in answer.districts
            ],
            "defaults": defaults_value(answer.defaults),
            "unchecked": [
                {"rule": one.rule, "subject": one.subject, "needs": list(one.needs)} for one in answer.unchecked
            ],
        }
    )


_HEADERS = (
    Column("district", only="programs"),
    Column("stage"),
    Column("close"),
    Column("inrush, at most", "inrush", Seconds),
    Column("breaker bears", "delay", Seconds),
    Column("then flows", "steady", Amperes),
)
_BOUNDS = "The times are bounds: all that the breaker lets through above the steady current charges."
_NOTHING = "Nothing is awake that would have to be woken."


def wake_sheet(answer: WakeAnswer) -> Sheet:
    """For each district its stages, with what each takes at most beside what the breaker bears."""
    tables = [_stages(one) for one in answer.districts]
    rows = [
        (one.district, number, ", ".join(stage.close), stage.inrush_s, one.delay_s, stage.steady_a)
        for one in answer.districts
        for number, stage in enumerate(one.stages, 1)
    ]
    nothing = () if tables or answer.unchecked else (_NOTHING,)
    bounds = (_BOUNDS,) if answer.districts else ()
    tables += [defaults_table(answer.defaults)] if answer.defaults else []
    tables += [unchecked_table(answer.unchecked, "Not computed")] if answer.unchecked else []
    data = (Table("Stages", _HEADERS, rows),)
    return Sheet("Waking in stages", answer.layout, tuple(tables), nothing, (CAUTION,), bounds, data)


def _stages(one: DistrictWaking) -> Table:
    """An inrush that is never served says so."""
    rows = [
        (
            one.district,
            number,
            _close(stage),
            "never served" if stage.inrush_s is None else stage.inrush_s,
            one.delay_s,
            stage.steady_a,
        )
        for number, stage in enumerate(one.stages, 1)
    ]
    notes = []
    if one.beside:
        verb = "shares" if len(one.beside) == 1 else "share"
        notes.append(f"{listed(one.beside)}, which {verb} its breaker, counted as awake.")
    if one.refused:
        left = listed(one.refused)
        notes.append(f"Left off, since the breaker does not bear it alone or on top of the others: {left}.")
    if len(one.stages) > one.least:
        notes.append(f"There may be a way with fewer stages, but not fewer than {one.least}.")
    return Table(_title(one), _HEADERS, rows, notes)


def wake_text(answer: WakeAnswer, style: Style) -> str:
    """For each district the stages, with what each takes at most beside what the breaker bears."""
    parts = []
    for one in answer.districts:
        table = _stages(one)
        parts.append(style.paint(table.title, "bold"))
        parts.append(text_of(evolve(table, notes=()), style, titled=False))
        parts += [style.wrap(note, "", "  ") for note in table.notes]
    if not answer.districts and not answer.unchecked:
        parts.append(_NOTHING)
    if answer.defaults:
        parts.append(defaults_lines(answer.defaults, style))
    if answer.unchecked:
        parts.append("\n".join([style.paint("Not computed", "bold"), *unchecked_lines(answer.unchecked, style)]))
    parts += [style.wrap(_BOUNDS)] if answer.districts else []
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _title(one: DistrictWaking) -> str:
    trip = show(one.trip_a, DIMENSIONS[Amperes])
    return f"District {one.district}: {plural(len(one.stages), 'stage')}, its breaker trips at {trip}"


def _close(stage: Stage) -> str:
    return ", ".join(stage.close) if stage.close else "booster on (what no isolator puts to sleep)"
