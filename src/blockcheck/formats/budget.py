"""Budgets, for people and for other programs."""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from blockcheck.answers.columns import to_dict
from blockcheck.answers.document import CAUTION, Cell, Column, Sheet, Table
from blockcheck.answers.lacking import taken, unchecked_table
from blockcheck.core.words import listed, plural
from blockcheck.formats.json_v1 import Json, dumps
from blockcheck.formats.style import Style
from blockcheck.formats.table import text_of
from blockcheck.formats.text import part_text
from blockcheck.model.quantities import DIMENSIONS, Amperes, show

if TYPE_CHECKING:
    from blockcheck.answers.budget import BudgetAnswer, FitRow, LoadRow, ScenarioBudget, Sleep


_LEAST_SHOWN, _SMALL = 5, 0.05
"""Of channels, contacts and wires, people see so many, and all that carry so much of their limit."""


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
            "defaults": [to_dict(one) for one in answer.defaults],
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
        "fits": [
            {"district": fit.district, "load": fit.load, "state": fit.state, "more": fit.more, "bound": fit.bound}
            for fit in one.fits
        ],
        "sleep": sleep,
    }


_HEADERS = (
    Column("scenario", only="programs"),
    Column("what", "kind"),
    Column("name", heads=True),
    Column("draws", "current", Amperes),
    Column("may carry", "limit", Amperes),
    Column("is left", "headroom", Amperes),
    Column("of its limit", only="people", share=True),
    Column("bound", only="programs"),
    Column("block", only="programs"),
)


def budget_sheet(answer: BudgetAnswer) -> Sheet:
    """For each way of operating: who draws what, what still fits, what to put to sleep. For programs one table."""
    tables = [table for one in answer.scenarios for table in _tables(one, answer.headroom)]
    everything = [_row(one, row) for one in answer.scenarios for row in one.loads]
    fits = [
        (one.scenario, fit.district, fit.load, fit.state, fit.more, "yes" if fit.bound else "")
        for one in answer.scenarios
        for fit in one.fits
    ]
    sleep = [
        (one.scenario, ", ".join(one.sleep.blocks), ", ".join(one.sleep.isolators), command(one.sleep, one.scenario))
        for one in answer.scenarios
        if one.sleep is not None
    ]
    data = (
        Table("Loads", _HEADERS, everything),
        Table("Room for one of", ("scenario", "district", "load", "state", "more", "bound"), fits),
        Table("To put to sleep", ("scenario", "blocks", "isolators", "command"), sleep),
    )
    tables += [taken(answer.defaults)] if answer.defaults else []
    tables += [unchecked_table(answer.unchecked, "Not computed")] if answer.unchecked else []
    return Sheet(
        "Budgets", answer.layout, tuple(tables), tuple(_verdict(answer)), (CAUTION,), tuple(_notes(answer)), data
    )


def _verdict(answer: BudgetAnswer) -> Iterator[str]:
    """What is over its limit, in a sentence for each way of operating where something is."""
    over = False
    for one in answer.scenarios:
        names = [f"{row.kind} {row.name}" for row in one.loads if row.headroom_a is not None and row.headroom_a < -1e-9]
        if names:
            over = True
            rest = f" and {len(names) - _LEAST_SHOWN} more" if len(names) > _LEAST_SHOWN else ""
            named = ", ".join(names[:_LEAST_SHOWN]) + rest if rest else listed(names)
            yield f"Over the limit, {title(one.scenario)}: {named}."
    if not over:
        every = ", as usual and in every scenario" if len(answer.scenarios) > 1 else ""
        yield f"Nothing is over a limit that is known{every}."


def _row(one: ScenarioBudget, row: LoadRow) -> tuple[Cell, ...]:
    share = row.current_a / row.limit_a if row.limit_a else None
    bound = "yes" if row.bound else ""
    return (one.scenario, row.kind, row.name, row.current_a, row.limit_a, row.headroom_a, share, bound, row.block)


def _rows(one: ScenarioBudget, loads: Iterable[LoadRow]) -> list[tuple[Cell, ...]]:
    """As people read them: a channel with its block, a bound called so."""
    return [(*_row(one, row)[:2], _named(row), _draws(row), *_row(one, row)[4:]) for row in loads]


def _tables(one: ScenarioBudget, headroom: float) -> Iterator[Table]:
    """Boosters and districts with what still fits; then whatever else comes near its limit, the nearest first."""
    when = title(one.scenario)
    main = [row for row in one.loads if row.kind in ("booster", "district")]
    notes = [] if one.sleep is None else [_sleep_sentence(one.sleep)]
    if one.sleep is not None and one.sleep.isolators:
        notes.append(f"{command(one.sleep, one.scenario)}")
    notes += _room(one, headroom)
    yield Table(f"Boosters and districts, {when}", _HEADERS, _rows(one, main), notes)
    rest = [row for row in one.loads if row.kind not in ("booster", "district")]
    busy = sorted((row for row in rest if row.current_a > 0), key=lambda row: -_share(row))
    shown = [row for place, row in enumerate(busy) if place < _LEAST_SHOWN or _share(row) >= _SMALL]
    left = (
        [f"{len(busy) - len(shown)} with less than {_SMALL * 100:.0f} % of their limit"]
        if len(busy) > len(shown)
        else []
    )
    left += [f"{len(rest) - len(busy)} that carry nothing"] if len(rest) > len(busy) else []
    told = [f"Not shown: {listed(left)}. The spreadsheet and the CSV have all."] if left else []
    if shown:
        yield Table(f"Channels, contacts and wires, {when}", _HEADERS, _rows(one, shown), told)


def _share(row: LoadRow) -> float:
    """The share of its limit; what has no limit comes first."""
    return row.current_a / row.limit_a if row.limit_a else math.inf


def title(scenario: str | None) -> str:
    """``as usual``, or the scenario."""
    return "as usual" if scenario is None else f'in scenario "{scenario}"'


def _room(one: ScenarioBudget, headroom: float) -> Iterator[str]:
    """What else there is room for, district by district."""
    by_district: dict[str, list[FitRow]] = {}
    for fit in one.fits:
        by_district.setdefault(fit.district, []).append(fit)
    for name, own in by_district.items():
        room = "; ".join(f"{fit.more} {fit.load} {fit.state}" for fit in own if fit.more)
        told = f"room for one of{', at most' * own[0].bound}: {room}" if room else "no room for more"
        yield f"With {headroom * 100:g} % kept free, district {name} has {told}."
    boosters = [own[0].booster for own in by_district.values()]
    if len(set(boosters)) < len(boosters):
        yield "Districts of one booster share what it has left: these are no sum."


def budget_text(answer: BudgetAnswer, style: Style) -> str:
    """For each way of operating: who draws what, what still fits, and what to put to sleep."""
    parts = []
    for one in answer.scenarios:
        parts.append(style.paint(f"{answer.layout}, {title(one.scenario)}", "bold"))
        shown = [row for row in one.loads if row.kind in ("booster", "district")]
        busy = [row for row in one.loads if row.kind not in ("booster", "district") and row.current_a > 0]
        tight = sorted(busy, key=lambda row: -(row.current_a / row.limit_a if row.limit_a else 0.0))[:5]
        rows = [(*row[:5], row[6]) for row in _rows(one, (*shown, *tight))]
        parts.append(text_of(Table("", (*_HEADERS[:5], _HEADERS[6]), rows), style, titled=False))
        if len(busy) > len(tight):
            rest = plural(len(busy) - len(tight), "more channel, contact or wire", "more channels, contacts and wires")
            parts.append(f"{rest} with a smaller share of the limit.")
        if one.fits:
            parts.append("\n".join(style.wrap(line, "", "  ") for line in _room(one, answer.headroom)))
        if one.sleep is not None:
            parts.append(_sleep(one.sleep, one.scenario, style))
    notes = list(_notes(answer))
    if notes:
        parts.append("\n".join(style.wrap(note, "", "  ") for note in notes))
    if answer.defaults:
        parts.append(part_text(taken(answer.defaults), style))
    if answer.unchecked:
        parts.append(part_text(unchecked_table(answer.unchecked, "Not computed"), style))
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _named(row: LoadRow) -> str:
    return row.name if row.block is None else f"{row.name} ({row.block})"


def _draws(row: LoadRow) -> Cell:
    return f"at least {show(row.current_a, DIMENSIONS[Amperes])}" if row.bound else row.current_a


def _notes(answer: BudgetAnswer) -> Iterator[str]:
    loads = [row for one in answer.scenarios for row in one.loads]
    if any(row.kind == "conductor" for row in loads):
        yield (
            "Booster, district, channel and contact: what vehicles draw by their data, and axles at the booster's "
            "voltage. Conductor: the busiest stretch in the solved network."
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
    told = style.wrap(_sleep_sentence(sleep))
    return f"{told}\n  {command(sleep, scenario)}" if sleep.isolators else told


def _sleep_sentence(sleep: Sleep) -> str:
    if not sleep.isolators:
        return "It does not fit, and no tracks that may sleep are enough to make it fit."
    if len(sleep.blocks) == 1:
        return f"It does not fit. One track asleep is enough: {sleep.blocks[0]}. See what that does:"
    what = f"It does not fit. No fewer than {len(sleep.blocks)} tracks have to sleep, such as "
    return what + f"{listed(sleep.blocks)}. See what that does:"
