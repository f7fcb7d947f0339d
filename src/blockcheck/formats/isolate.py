"""What isolating does, for people and for other programs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from blockcheck.answers.document import CAUTION, Column, Sheet, Table
from blockcheck.answers.lacking import unchecked_table
from blockcheck.core.words import listed, plural
from blockcheck.formats.style import Style
from blockcheck.formats.table import text_of
from blockcheck.formats.text import part_text
from blockcheck.model.quantities import DIMENSIONS, Amperes, Volts, show

if TYPE_CHECKING:
    from blockcheck.answers.isolate import BlockState, IsolateAnswer


def isolate_sheet(answer: IsolateAnswer) -> Sheet:
    """What changes, what it frees, the trains; for programs every block."""
    tables = [_blocks(_shown(answer), "Blocks that change", tuple(_others(answer)))] if _shown(answer) else []
    if answer.unintended:
        why = [(row.block, _unmeant(row)) for row in answer.unintended]
        tables.append(Table("Not meant", ("block", "what happens"), why))
    districts, trains = _districts(answer), _trains_table(answer)
    unknown = [unchecked_table(answer.unchecked, "Not known for want of data")] if answer.unchecked else []
    scenario = "" if answer.scenario is None else f", in scenario {answer.scenario}"
    return Sheet(
        f"Isolating {answer.asked}{scenario}",
        answer.layout,
        (*tables, districts, *([trains] if trains.rows else []), *unknown),
        (_sentence(answer),),
        (CAUTION,),
        data=(_blocks(answer.blocks, "Blocks", aside=""), districts, trains),
    )


def _blocks(rows: Sequence[BlockState], title: str, notes: Sequence[str] = (), aside: str = " (as before)") -> Table:
    headers = (
        Column("block", always=True),
        Column("district", always=True),
        Column("channel", always=True),
        Column("power", always=True),
        Column("volts", "voltage", Volts, always=True),
        Column("detection", always=True),
        Column("because of", "because", always=True),
        Column("train", "trains", always=True),
        Column("meant", "intended", always=True, alarm="NO"),
        Column("changed", only="programs"),
    )
    return Table(
        title,
        headers,
        [
            (
                row.block,
                row.district,
                row.channel,
                row.power,
                row.voltage_v,
                row.detection or "none",
                ", ".join(row.because) + ("" if row.changed or not row.because else aside),
                ", ".join(row.trains),
                "yes" if row.intended else "NO",
                "yes" if row.changed else "no",
            )
            for row in rows
        ],
        notes,
    )


def _districts(answer: IsolateAnswer) -> Table:
    headers = (
        "district",
        Column("before", "before", Amperes),
        Column("after", "after", Amperes),
        Column("freed", "freed", Amperes),
        Column("may carry", "limit", Amperes),
    )
    rows = [
        (one.district, one.before_a, one.after_a, round(one.before_a - one.after_a, 12), one.limit_a)
        for one in answer.districts
    ]
    return Table("What it frees", headers, rows)


def _trains_table(answer: IsolateAnswer) -> Table:
    power = {row.block: row.power for row in answer.blocks}
    told = {True: "awake", False: "off", None: "unknown"}
    rows = [
        (one.train, one.block, "on" if power[one.block] == "on" else told[one.powered], one.reads)
        for one in answer.trains
    ]
    return Table("Trains", ("train", Column("stands in", "block"), "power", "reads"), rows)


def _shown(answer: IsolateAnswer) -> list[BlockState]:
    return [row for row in answer.blocks if row.changed or not row.intended or row.because]


def _others(answer: IsolateAnswer) -> Iterator[str]:
    shown = len(_shown(answer))
    others = len(answer.blocks) - shown
    if others and shown:
        yield f"{plural(others, 'other block stays', 'other blocks stay')} as before."


def isolate_text(answer: IsolateAnswer, style: Style) -> str:
    """One sentence that answers, a table by block, what it frees in each district, and what nobody meant."""
    shown = _shown(answer)
    parts = [style.wrap(_sentence(answer))]
    if shown:
        parts.append(text_of(_blocks(shown, "Blocks"), style, titled=False))
    parts += _others(answer)
    parts += _freed(answer)
    trains = "\n".join(_trains(answer))
    parts += [trains] if trains else []
    if answer.unintended:
        lines = [style.paint("Not meant", "bold", "red"), *(f"  {_unmeant(row)}" for row in answer.unintended)]
        parts.append("\n".join(lines))
    if answer.unchecked:
        parts.append(part_text(unchecked_table(answer.unchecked, "Not known for want of data"), style))
    parts.append(style.wrap(CAUTION))
    return "\n\n".join(parts) + "\n"


def _sentence(answer: IsolateAnswer) -> str:
    have = "has" if len(answer.not_isolatable) == 1 else "have"
    if not answer.opened:
        return f"Nothing can be isolated: {listed(answer.not_isolatable)} {have} no isolator."
    dead = [row.block for row in answer.blocks if row.changed and row.power != "on" and not row.awake]
    live = [row.block for row in answer.blocks if not row.intended and row.power == "on"]
    where = f' in scenario "{answer.scenario}"' if answer.scenario else ""
    opening = f"Opening {listed(answer.opened)}{where}"
    awake = [row for row in answer.blocks if row.changed and row.awake]
    nothing = "puts no block to sleep" if awake else "takes power from no block that had it"
    does = f"takes power from {listed(dead)}" if dead else nothing
    read = [row for row in answer.blocks if row.block in dead and row.detection not in (None, "blind")]
    if read and len(read) == len(dead):
        does += ", which can still read"
    elif read:
        does += f", of which {listed([row.block for row in read])} can still read"
    tail = []
    if live:
        tail.append(f"{listed(live)} should go dead and {'does' if len(live) == 1 else 'do'} not")
    tail += [_awake(awake)] if awake else []
    victims = [row.block for row in answer.unintended if row.power != "on" and row.changed and not row.awake]
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
            if state.power == "trickle" and train.powered is not False:
                power = "stays awake" if train.powered else "may stay awake, or lose its power,"
            reads = f" and reads {train.reads}"
            if train.reads == "unknown":
                reads = f"; {train.block} has no detector"
                if state.channel is not None:
                    reads = "; whether it still reads is not known for want of data"
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


def _awake(rows: Sequence[BlockState]) -> str:
    """What hold resistors keep awake in some blocks; where no train stands, what they would keep."""
    names = list(dict.fromkeys(name for row in rows for name in row.awake))
    there = any(row.trains for row in rows)
    keep = ("keeps" if len(rows) == 1 else "keep") if there else "would keep"
    resistors = "its hold resistor" if len(rows) == 1 else "their hold resistors"
    return f"{listed([row.block for row in rows])} {keep} {listed(names)} awake through {resistors}"


def _unmeant(row: BlockState) -> str:
    if row.awake:
        volts = f", at {show(row.voltage_v, DIMENSIONS[Volts])}" if row.voltage_v is not None and row.trains else ""
        return f"{_awake([row])}{volts}"
    if row.power == "on":
        return f'{row.block} stays live; "blockcheck check" shows the way round its isolator'
    if row.detection not in (None, "blind") and row.because:
        return f"{row.block} still reads with {listed(row.because)} open"
    if row.because and row.power in ("off", "trickle"):
        lost = "power" if row.detection is None else "power and detection"
        return f"{row.block} loses {lost} through {listed(row.because)}"
    return f"{row.block} changes"
