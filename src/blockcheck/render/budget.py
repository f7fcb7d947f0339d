"""Budgets, for people and for other programs."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from blockcheck.model.quantities import DIMENSIONS, Amperes, show
from blockcheck.render.json_v1 import Json, dumps
from blockcheck.render.style import Style, listed, plural
from blockcheck.render.table import Cell, csv_table, markdown_table, text_table
from blockcheck.render.text import CAUTION

if TYPE_CHECKING:
    from blockcheck.answers.budget import BudgetAnswer, LoadRow, ScenarioBudget, Sleep

COLUMNS = ("scenario", "kind", "name", "current", "limit", "headroom")
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
    return dumps({"scenarios": [_scenario(one) for one in answer.scenarios]})


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
            }
            for row in one.loads
        ],
        "fits": [{"load": fit.load, "state": fit.state, "more": fit.more} for fit in one.fits],
        "sleep": sleep,
    }


def _rows(answer: BudgetAnswer) -> list[list[Cell]]:
    return [
        [one.scenario, row.kind, row.name, row.current_a, row.limit_a, row.headroom_a]
        for one in answer.scenarios
        for row in one.loads
    ]


def budget_csv(answer: BudgetAnswer) -> str:
    """CSV, in amperes; the usual state has no scenario."""
    return csv_table(COLUMNS, _rows(answer))


def budget_markdown(answer: BudgetAnswer) -> str:
    """A markdown document."""
    return "\n\n".join([f"# Budgets: {answer.layout}", markdown_table(COLUMNS, _rows(answer)), CAUTION]) + "\n"


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
            [row.kind, row.name, _amps(row.current_a), _amps(row.limit_a), bar(row)] for row in (*shown, *tight)
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
    if answer.needs:
        parts.append(style.wrap("Not known, and taken as nothing: " + ", ".join(answer.needs), "", "  "))
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _sleep(sleep: Sleep, scenario: str | None, style: Style) -> str:
    if not sleep.isolators:
        return "It does not fit, and no tracks that may sleep are enough to make it fit."
    if len(sleep.blocks) == 1:
        what = f"It does not fit. One track asleep is enough: {sleep.blocks[0]}. See what that does:"
    else:
        what = f"It does not fit. No fewer than {len(sleep.blocks)} tracks have to sleep, such as "
        what += f"{listed(sleep.blocks)}. See what that does:"
    return style.wrap(what) + f"\n  {command(sleep, scenario)}"
