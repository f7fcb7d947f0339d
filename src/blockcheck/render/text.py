"""Answers as text for people."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from blockcheck.core.findings import Finding, Severity, Unchecked
from blockcheck.core.spans import Place
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, Volts, show
from blockcheck.render.style import Style, listed, plural
from blockcheck.render.table import text_table

if TYPE_CHECKING:  # the answers of other commands are not loaded
    from blockcheck.answers.channels import ChannelMap
    from blockcheck.answers.check import CheckAnswer
    from blockcheck.answers.explain import KeyAnswer, RuleAnswer
    from blockcheck.answers.isolate import BlockState, IsolateAnswer

CAUTION = (
    "Track power can start a fire: protect every booster and district by itself, and mend a breaker that fails its "
    "short test before anything runs. Mains wiring and supplies are outside this tool: local codes and licensed "
    "electricians decide. Confirm what is computed here with a meter."
)


def check_text(answer: CheckAnswer, style: Style) -> str:
    """Findings worst first, then what was not checked and what was accepted, then the sum."""
    parts = [_finding(finding, style) for finding in answer.findings]
    if answer.accepted:
        lines = [style.paint("Accepted", "bold")]
        lines += [
            style.wrap(f"{one.finding.rule}  {one.finding.subject}: {one.because}", "  ", "      ")
            for one in answer.accepted
        ]
        parts.append("\n".join(lines))
    if answer.unchecked:
        parts.append("\n".join([style.paint("Not checked", "bold"), *unchecked_lines(answer.unchecked, style)]))
    parts.append(_sum(answer, style))
    return "\n\n".join(parts) + "\n"


def _sum(answer: CheckAnswer, style: Style) -> str:
    counts = ", ".join(
        plural(answer.count(severity), severity.value) for severity in Severity if answer.count(severity)
    )
    if not answer.understood:
        return f"The layout could not be understood: {counts or 'nothing was read'}."
    rest = [plural(len(answer.unchecked), "check") + " not made"] if answer.unchecked else []
    rest += [f"{len(answer.accepted)} accepted"] if answer.accepted else []
    verdict = counts if counts else "no findings"
    if not answer.count(Severity.ERROR):
        verdict = style.paint("No errors", "bold", "green") + (f": {counts}" if counts else "")
    return f"{answer.layout}: {'; '.join([verdict, *rest])}."


def _finding(finding: Finding, style: Style) -> str:
    names = ", ".join((finding.subject, *finding.others[:4]))
    names += f" and {len(finding.others) - 4} more" if len(finding.others) > 4 else ""
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
        lines += _excerpt(at, "; ".join(messages), "-", style)
    if finding.measured is not None and finding.limit is not None:
        unit = finding.unit or ""
        lines.append(f"  measured  {_number(finding.measured, unit)}, limit {_number(finding.limit, unit)}")
    if finding.way:
        lines.append(style.wrap("current   " + _way(finding), "  ", "            "))
    elif finding.state:
        lines.append(style.wrap("with      " + _positions(finding), "  ", "            "))
    if finding.help:
        lines.append(style.wrap("mend      " + finding.help, "  ", "            "))
    return "\n".join(lines)


def _number(value: float, unit: str) -> str:
    return f"{value:.4g} {unit}".strip()


def _way(finding: Finding) -> str:
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


def _positions(finding: Finding) -> str:
    items = [f"{name} {place}" for name, place in (finding.state or {}).items()]
    return ", ".join(items[:12]) + (f" and {len(items) - 12} more" if len(items) > 12 else "")


def _excerpt(place: Place, message: str | None, mark: str, style: Style) -> Iterator[str]:
    """Where it stands, the line, and a mark under what is meant."""
    where = f"{place.file}:{place.line}:{place.column}"
    yield f"  {where}" if message is None else f"  {where}  {message}"
    if not place.source.strip():
        return
    source, column = _cut(place.source, place.column - 1, style.width - 12)
    source = re.sub(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", "\ufffd", source)
    end = place.end_column if place.end_line == place.line else len(place.source) + 1
    marks = max(min(end - place.column, len(source) - column), 1)
    pad = re.sub(r"[^\t]", " ", source[:column])
    gutter = f"{place.line:>6} | "
    yield gutter + source
    yield " " * 6 + " | " + pad + style.paint(mark * marks, "bold")


def _cut(source: str, column: int, width: int) -> tuple[str, int]:
    """A stretch of a long line around a column, and the column in it."""
    width = max(width, 30)
    if len(source) <= width:
        return source, column
    start = max(0, min(column - width // 3, len(source) - width))
    return ("..." if start else "") + source[start : start + width], column - start + (3 if start else 0)


def unchecked_lines(unchecked: tuple[Unchecked, ...], style: Style) -> Iterator[str]:
    """One line a rule and kind of missing datum, with the subjects that it concerns."""
    groups: dict[tuple[str, str], list[str]] = {}
    for one in unchecked:
        needs = ", ".join(dict.fromkeys(_kind(need) for need in one.needs))
        groups.setdefault((one.rule, needs), []).append(one.subject)
    merged: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for (rule, needs), names in groups.items():
        merged.setdefault((needs, tuple(names)), []).append(rule)
    for (needs, subjects), rules in merged.items():
        shown = ", ".join(subjects[:5]) + (f" and {len(subjects) - 5} more" if len(subjects) > 5 else "")
        yield style.wrap(f"{', '.join(rules)} for {shown}: needs {needs}", "  ", "      ")


def _kind(need: str) -> str:
    """A missing datum with the name left out where it is one of many: ``blocks.*.length``."""
    parts = need.split(".")
    return f"{parts[0]}.*.{'.'.join(parts[2:])}" if len(parts) > 2 and " " not in need else need


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


def isolate_text(answer: IsolateAnswer, style: Style) -> str:
    """One sentence that answers, a table by block, what it frees in each district, and what nobody meant."""
    shown = [row for row in answer.blocks if row.changed or not row.intended or row.because]
    parts = [style.wrap(_sentence(answer))]
    if shown:
        headers = ["block", "district", "channel", "power", "volts", "detection", "because of", "train", "meant"]
        rows = [
            [
                row.block,
                row.district,
                row.channel,
                row.power,
                None if row.voltage_v is None else show(row.voltage_v, DIMENSIONS[Volts]),
                row.detection or "none",
                ", ".join(row.because) + ("" if row.changed or not row.because else " (as before)"),
                ", ".join(row.trains),
                "yes" if row.intended else "NO",
            ]
            for row in shown
        ]
        parts.append(text_table(headers, rows, style))
    others = len(answer.blocks) - len(shown)
    if others and shown:
        parts.append(f"{plural(others, 'other block stays', 'other blocks stay')} as before.")
    parts += _freed(answer)
    trains = "\n".join(_trains(answer))
    parts += [trains] if trains else []
    if answer.unintended:
        lines = [style.paint("Not meant", "bold", "red"), *(f"  {_unmeant(row)}" for row in answer.unintended)]
        parts.append("\n".join(lines))
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _sentence(answer: IsolateAnswer) -> str:
    have = "has" if len(answer.not_isolatable) == 1 else "have"
    if not answer.opened:
        return f"Nothing can be isolated: {listed(answer.not_isolatable)} {have} no isolator."
    dead = [row.block for row in answer.blocks if row.changed and row.power != "on"]
    live = [row.block for row in answer.blocks if not row.intended and row.power == "on"]
    where = f' in scenario "{answer.scenario}"' if answer.scenario else ""
    opening = f"Opening {listed(answer.opened)}{where}"
    does = f"takes power from {listed(dead)}" if dead else "takes power from no block that had it"
    read = [row for row in answer.blocks if row.block in dead and row.detection not in (None, "blind")]
    if read and len(read) == len(dead):
        does += f", which still read{'s' if len(read) == 1 else ''}"
    elif read:
        does += f", of which {listed([row.block for row in read])} still read{'s' if len(read) == 1 else ''}"
    tail = []
    if live:
        tail.append(f"{listed(live)} should go dead and {'does' if len(live) == 1 else 'do'} not")
    victims = [row.block for row in answer.unintended if row.power != "on" and row.changed]
    if victims:
        tail.append(f"{listed(victims)} {'was' if len(victims) == 1 else 'were'} not meant to change")
    does += ", as meant, and from nothing else" if dead and not tail else ""
    if answer.not_isolatable:
        tail.append(f"{listed(answer.not_isolatable)} {have} no isolator")
    return f"{opening} {'; '.join([does, *tail])}."


def _trains(answer: IsolateAnswer) -> Iterator[str]:
    states = {row.block: row for row in answer.blocks}
    for train in answer.trains:
        state = states[train.block]
        if state.changed:
            power = "keeps its power" if train.powered else "loses its power"
            reads = f" and reads {train.reads}" if state.channel is not None else f"; {train.block} has no detector"
            yield f"Train {train.train} in {train.block} {power}{reads}."


def _freed(answer: IsolateAnswer) -> Iterator[str]:
    lines = []
    for one in answer.districts:
        amps = DIMENSIONS[Amperes]
        limit = f" (it may carry {show(one.limit_a, amps)})" if one.limit_a is not None else ""
        if one.before_a != one.after_a:
            freed = show(abs(one.before_a - one.after_a), amps)
            word = "freed" if one.after_a < one.before_a else "more"
            lines.append(
                f"District {one.district}: {show(one.before_a, amps)} before, {show(one.after_a, amps)} after; "
                f"{freed} {word}{limit}."
            )
    if lines:
        yield "\n".join(lines)
    elif answer.opened:
        yield "It frees no current that the layout knows of."


def _unmeant(row: BlockState) -> str:
    if row.power == "on":
        return f'{row.block} stays live; "blockcheck check" shows the way round its isolator'
    if row.detection not in (None, "blind") and row.because:
        return f"{row.block} still reads with {listed(row.because)} open"
    if row.because and row.power in ("off", "trickle"):
        lost = "power" if row.detection is None else "power and detection"
        return f"{row.block} loses {lost} through {listed(row.because)}"
    return f"{row.block} changes"


def rule_text(answer: RuleAnswer, style: Style) -> str:
    """One rule."""
    parts = [
        f"{style.paint(answer.rule, 'bold')}  ({answer.severity}, {answer.family})",
        style.wrap(answer.sentence, "  "),
        style.wrap("Why: " + answer.why, "  "),
        style.wrap("Mend: " + answer.mend, "  "),
    ]
    if answer.needs:
        parts.append(style.wrap("Needs: " + ", ".join(answer.needs), "  "))
    return "\n\n".join(parts) + "\n"


def rules_text(answers: tuple[RuleAnswer, ...], style: Style) -> str:
    """All rules, one line each, by family."""
    lines: list[str] = []
    width = max(len(answer.rule) for answer in answers)
    for family in dict.fromkeys(answer.family for answer in answers):
        lines += ["", style.paint(family, "bold")]
        for answer in answers:
            if answer.family == family:
                head = f"  {answer.rule:<{width}}  {answer.severity:<7}  "
                lines.append(style.wrap(answer.sentence, head, " " * len(head)))
    return "\n".join(lines[1:]) + "\n"


def key_text(answer: KeyAnswer, style: Style) -> str:
    """One key of the language."""
    parts = [style.paint(answer.key, "bold"), style.wrap(answer.description, "  ")]
    if answer.choices:
        parts.append("  One of " + ", ".join(f'"{choice}"' for choice in answer.choices))
    if answer.keys:
        width = max(len(key) for key, _ in answer.keys)
        parts.append("\n".join(style.wrap(doc, f"  {key:<{width}}  ", " " * (width + 4)) for key, doc in answer.keys))
    return "\n\n".join(parts) + "\n"
