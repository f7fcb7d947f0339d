"""Answers as text for people."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.core.findings import Finding
from blockcheck.core.spans import Place
from blockcheck.model.quantities import DIMENSIONS, Metres, show
from blockcheck.render import sums
from blockcheck.render.style import Style, listed, plural
from blockcheck.render.table import text_table
from blockcheck.render.unchecked import unchecked_lines

if TYPE_CHECKING:  # the answers of other commands are not loaded
    from blockcheck.answers.channels import ChannelMap
    from blockcheck.answers.check import CheckAnswer

CAUTION = (
    "Track power can start a fire: protect every booster and district by itself, and mend a breaker that fails its "
    "short test before anything runs. Mains wiring and supplies are outside this tool: local codes and licensed "
    "electricians decide. Confirm what is computed here with a meter."
)


def check_text(answer: CheckAnswer, style: Style) -> str:
    """Findings worst first, then what was not checked and what was accepted, then the sum."""
    parts = [_finding(finding, style) for finding in answer.new]
    parts += list(_compared(answer, style))
    if answer.accepted:
        lines = [style.paint("Accepted", "bold")]
        lines += [
            style.wrap(f"{one.finding.rule}  {one.finding.subject}: {one.because}", "  ", "      ")
            for one in answer.accepted
        ]
        parts.append("\n".join(lines))
    if answer.unchecked:
        parts.append("\n".join([style.paint("Not checked", "bold"), *unchecked_lines(answer.unchecked, style)]))
    kept_back = [style.wrap(line, "  ", "      ") for line in sums.kept_back(answer)]
    if kept_back:
        parts.append("\n".join([style.paint("Off or lax", "bold"), *kept_back]))
    parts.append(_sum(answer, style))
    return "\n\n".join(parts) + "\n"


def _compared(answer: CheckAnswer, style: Style) -> Iterator[str]:
    """What an earlier answer had: known findings in a line each, and what is gone."""
    known = [finding for finding in answer.findings if finding.known]
    if known:
        lines = [f"{one.severity.value}  {one.rule}  {one.subject}: {one.message}" for one in known]
        heading = style.paint("Known from the baseline", "bold")
        yield "\n".join([heading, *(style.wrap(line, "  ", "      ") for line in lines)])
    if answer.gone:
        lines = [style.wrap(one, "  ", "      ") for one in answer.gone]
        yield "\n".join([style.paint("Gone since the baseline", "bold"), *lines])


def _sum(answer: CheckAnswer, style: Style) -> str:
    told = sums.sum_of(answer)
    if not answer.understood:
        return f"{told[0].upper()}{told[1:]}."
    return f"{answer.layout}: {told.replace(sums.NO_ERRORS, style.paint(sums.NO_ERRORS, 'bold', 'green'), 1)}."


def _finding(finding: Finding, style: Style) -> str:
    others = (*finding.others, *finding.alike)
    names = ", ".join((finding.subject, *others[:4])) + (f" and {len(others) - 4} more" if len(others) > 4 else "")
    head = f"{style.severity(finding.severity)}  {style.paint(finding.rule, 'bold')}"
    lines = [head if finding.rule == "input" else f"{head}  {names}"]
    lines.append(style.wrap(finding.message, "  "))
    assert isinstance(finding.at, Place)
    lines += _excerpt(finding.at, None, "^", style)
    together: dict[Place, list[str]] = {}  # a range's line stands for many blocks, and is shown once
    for label in finding.related:
        assert isinstance(label.at, Place)
        together.setdefault(label.at, []).append(label.message)
    for at, messages in together.items():
        lines += _excerpt(at, "; ".join(dict.fromkeys(messages)), "-", style)
    if finding.measured is not None and finding.limit is not None:
        unit = finding.unit or ""
        lines.append(f"  computed  {number_of(finding.measured, unit)}, limit {number_of(finding.limit, unit)}")
    if finding.way:
        lines.append(style.wrap("current   " + way_of(finding), "  ", "            "))
    elif finding.state:
        lines.append(style.wrap("with      " + positions_of(finding), "  ", "            "))
    if finding.help:
        lines.append(style.wrap("mend      " + finding.help, "  ", "            "))
    return "\n".join(lines)


def number_of(value: float, unit: str) -> str:
    """With four digits, and the prefix that people would write: 1.418 mA."""
    if unit in ("A", "V", "s") and 0 < abs(value) < 0.1:
        factor, prefix = (1e-3, "m") if abs(value) >= 1e-4 else (1e-6, "u")
        value, unit = value / factor, prefix + unit
    return f"{value:.4g} {unit}".strip()


def way_of(finding: Finding) -> str:
    """The path of the current, with the position of every switch on it; then the switches that stand beside it."""
    state = dict(finding.state or {})
    hops = []
    passed = set()
    for name in finding.way or ():
        control = name if name in state else name.partition(".")[0]
        if control in state:
            passed.add(control)
            hops.append(f"{name} ({state[control]})")
        else:
            hops.append(name)
    beside = [f"{name} {place}" for name, place in state.items() if name not in passed]
    return " > ".join(hops) + (f"; with {', '.join(beside)}" if beside else "")


def positions_of(finding: Finding) -> str:
    items = [f"{name} {place}" for name, place in (finding.state or {}).items()]
    return ", ".join(items[:12]) + (f" and {len(items) - 12} more" if len(items) > 12 else "")


def _excerpt(place: Place, message: str | None, mark: str, style: Style) -> Iterator[str]:
    """Where it stands, the line, and a mark under what is meant."""
    where = f"{place.file}:{place.line}:{place.column}"
    yield f"  {where}" if message is None else f"  {where}  {message}"
    if not place.source.strip():
        return
    source, column = cut(place.source, place.column - 1, style.width - 12)
    source = re.sub(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", "\ufffd", source)
    end = place.end_column if place.end_line == place.line else len(place.source) + 1
    marks = max(min(end - place.column, len(source) - column), 1)
    pad = re.sub(r"[^\t]", " ", source[:column])
    gutter = f"{place.line:>6} | "
    yield gutter + source
    yield " " * 6 + " | " + pad + style.paint(mark * marks, "bold")


def cut(source: str, column: int, width: int) -> tuple[str, int]:
    """A stretch of a long line around a column, and the column in it."""
    width = max(width, 30)
    if len(source) <= width:
        return source, column
    start = max(0, min(column - width // 3, len(source) - width))
    return ("..." if start else "") + source[start : start + width], column - start + (3 if start else 0)


def channels_text(answer: ChannelMap, style: Style) -> str:
    """The channel map, spare channels, and blocks without one."""
    headers = [
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
    ]
    rows: list[list[str | int | float | None]] = [
        [
            f"{row.board}.{row.channel}",
            row.bank,
            row.address,
            row.block,
            row.track,
            row.group,
            row.district,
            row.isolator,
            row.colour,
            None if row.length_m is None else show(row.length_m, DIMENSIONS[Metres], imperial=answer.imperial),
            row.note,
        ]
        for row in answer.rows
    ]
    kept = [i for i in range(len(headers)) if i in (0, 3) or any(row[i] is not None for row in rows)]
    used = len({(row.board, row.channel) for row in answer.rows})
    parts = [style.paint(f"{answer.layout}: {plural(used, 'channel') if used else 'no channels'} in use", "bold")]
    if rows:
        parts.append(text_table([headers[i] for i in kept], [[row[i] for i in kept] for row in rows], style))
    if answer.spare:
        spare = ", ".join(f"{one.board}.{one.channel}" for one in answer.spare)
        parts.append(style.wrap(f"Spare: {spare}", "", "       "))
    if answer.undetected:
        reasons: dict[str, list[str]] = {}
        for one in answer.undetected:
            reasons.setdefault(one.reason, []).append(one.block)
        lines = [style.wrap(f"{listed(blocks)}: {reason}", "  ", "      ") for reason, blocks in reasons.items()]
        parts.append("\n".join(["Without a detector:", *lines]))
    return "\n\n".join(parts) + "\n"
