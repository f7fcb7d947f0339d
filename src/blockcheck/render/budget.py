"""Budgets, for people and for other programs."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.model.quantities import DIMENSIONS, Amperes, show
from blockcheck.render.defaults import defaults_lines, defaults_markdown, defaults_value
from blockcheck.render.json_v1 import Json, dumps
from blockcheck.render.style import Style, listed, plural
from blockcheck.render.table import Cell, csv_table, markdown_table, text_table
from blockcheck.render.text import CAUTION, unchecked_lines

if TYPE_CHECKING:
    from blockcheck.answers.budget import BudgetAnswer, LoadRow, ScenarioBudget, Sleep

COLUMNS = ("scenario", "kind", "name", "current", "limit", "headroom", "bound", "block")
_BAR = 20


def _amps(value: float | None) -> str | None:
    return None if value is None else show(value, DIMENSIONS[Amperes])


def command(sleep: Sleep, scenario: str | None) -> str | None:
    """The command that shows what putting these tracks to sleep does; None where no set of tracks is enough."""
    if not sleep.isolators:
        return None
    start = [] if scenario is None else ["--scenario", scenario]
    return f"blockcheck isolate FILE {shlex.join([','.join(sleep.isolators), *start])}"


def budget_json(answer: BudgetAnswer) -> str:
    """As ``budget.schema.json`` has it."""
    return dumps(
        {
            "scenarios": [_scenario(one) for one in answer.scenarios],
            "defaults": defaults_value(answer.defaults),
            "unchecked": [
                {"rule": one.rule, "subject": one.subject, "needs": list(one.needs)} for one in answer.unchecked
            ],
        }
    )


def _scenario(one: ScenarioBudget) -> Json:
    sleep = (
        None if one.sleep is None else {"blocks": list(one.sleep.blocks), "command": command(one.sleep, one.scenario)}
    )
    return {
        "scenario": one.scenario,
        "loads": [
            {
                "kind": row.kind,
                "name": row.name,
                "current": row.current_a,
                "limit": row.limit_a,
                "headroom": row.headroom_a,
                "bound": row.bound,
                "block": row.block,
            }
            for row in one.loads
        ],
        "fits": [{"load": fit.load, "state": fit.state, "more": fit.more} for fit in one.fits],
        "sleep": sleep,
    }


def _rows(answer: BudgetAnswer) -> list[list[Cell]]:
    return [
        [
            one.scenario,
            row.kind,
            row.name,
            row.current_a,
            row.limit_a,
            row.headroom_a,
            "yes" if row.bound else "",
            row.block,
        ]
        for one in answer.scenarios
        for row in one.loads
    ]


def budget_csv(answer: BudgetAnswer) -> str:
    """CSV, in amperes; the usual state has no scenario."""
    return csv_table(COLUMNS, _rows(answer))


def budget_markdown(answer: BudgetAnswer) -> str:
    """A markdown document."""
    table = markdown_table(COLUMNS, _rows(answer))
    parts = [f"# Budgets: {answer.layout}", table, *defaults_markdown(answer.defaults), CAUTION]
    return "\n\n".join(parts) + "\n"


def bar(row: LoadRow) -> str:
    """Current against limit as a bar that reads without colour: ``[#########...........]  45 %``, over it ``OVER``."""
    if not row.limit_a:
        return ""
    share = row.current_a / row.limit_a
    filled = min(_BAR, round(share * _BAR))
    return f"[{'#' * filled}{'.' * (_BAR - filled)}] {share * 100:3.0f} %{' OVER' if share > 1 else ''}"


def budget_text(answer: BudgetAnswer, style: Style) -> str:
    """For each way of operating: who draws what, what still fits, and what to put to sleep."""
    parts = []
    for one in answer.scenarios:
        title = "as usual" if one.scenario is None else f'in scenario "{one.scenario}"'
        parts.append(style.paint(f"{answer.layout}, {title}", "bold"))
        shown = [row for row in one.loads if row.kind in ("booster", "district")]
        busy = [row for row in one.loads if row.kind not in ("booster", "district") and row.current_a > 0]
        tight = sorted(busy, key=lambda row: -(row.current_a / row.limit_a if row.limit_a else 0.0))[:5]
        rows: list[list[Cell]] = [
            [row.kind, _named(row), _draws(row), _amps(row.limit_a), bar(row)] for row in (*shown, *tight)
        ]
        parts.append(text_table(["what", "name", "draws", "may carry", "of its limit"], rows, style))
        if len(busy) > len(tight):
            rest = plural(len(busy) - len(tight), "more channel, contact or wire", "more channels, contacts and wires")
            parts.append(f"{rest} with a smaller share of the limit.")
        if one.fits:
            fits = "; ".join(f"{fit.more} {fit.load} {fit.state}" for fit in one.fits)
            free = f"{answer.headroom * 100:g} %"
            parts.append(style.wrap(f"Besides, with {free} kept free, there is room for one of: {fits}.", "", "  "))
        if one.sleep is not None:
            parts.append(_sleep(one.sleep, one.scenario, style))
    notes = list(_notes(answer))
    if notes:
        parts.append("\n".join(style.wrap(note, "", "  ") for note in notes))
    if answer.defaults:
        parts.append(defaults_lines(answer.defaults, style))
    if answer.unchecked:
        parts.append("\n".join([style.paint("Not computed", "bold"), *unchecked_lines(answer.unchecked, style)]))
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _named(row: LoadRow) -> str:
    return row.name if row.block is None else f"{row.name} ({row.block})"


def _draws(row: LoadRow) -> str:
    return f"{'at least ' if row.bound else ''}{_amps(row.current_a)}"


def _notes(answer: BudgetAnswer) -> Iterator[str]:
    loads = [row for one in answer.scenarios for row in one.loads]
    if any(row.kind == "conductor" for row in loads):
        yield (
            "Booster, district, channel and contact: what vehicles draw by their data. Conductor: the busiest stretch "
            "in the solved network, where axles draw as well."
        )
    if any(one.key == "wires.*.current" for one in answer.defaults):
        yield (
            "What conductors may carry by the tables is a thermal limit of insulated building wire; on a layout the "
            "voltage drop and the trip current usually bind first."
        )
    if any(row.bound for row in loads):
        yield "At least: what some vehicle draws is not known, and was taken as nothing (a bound)."
    if not any(row.current_a for row in answer.scenarios[0].loads):
        yield "As usual nothing draws: no train is placed that draws anything, and no district expects any."


def _sleep(sleep: Sleep, scenario: str | None, style: Style) -> str:
    if not sleep.isolators:
        return "It does not fit, and no tracks that may sleep are enough to make it fit."
    if len(sleep.blocks) == 1:
        what = f"It does not fit. One track asleep is enough: {sleep.blocks[0]}. See what that does:"
    else:
        what = f"It does not fit. No fewer than {len(sleep.blocks)} tracks have to sleep, such as "
        what += f"{listed(sleep.blocks)}. See what that does:"
    return style.wrap(what) + f"\n  {command(sleep, scenario)}"
