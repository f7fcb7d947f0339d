"""The steps of a test sheet: what to do in each, and what to read, in words and numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from attrs import evolve, frozen

from blockcheck.analysis.bench.instructions import moves, place, what_to_do
from blockcheck.analysis.bench.wired import (
    BEEPER,
    BEEPS_OHM,
    CHANNELS,
    INSTRUMENTS,
    OHMS,
    OPEN_OHM,
    SILENT_OHM,
    TRIPS,
    VOLTS,
    Step,
)
from blockcheck.core.columns import column
from blockcheck.model.quantities import DIMENSIONS, Amperes, Dimension, Ohms, Volts, show

if TYPE_CHECKING:
    from blockcheck.analysis.bench.measure import Bench
    from blockcheck.analysis.bench.names import Names
    from blockcheck.analysis.bench.sheet import Row, Sheet

_OHM, _VOLT, _AMPERE = DIMENSIONS[Ohms], DIMENSIONS[Volts], DIMENSIONS[Amperes]


@frozen
class SheetStep:
    """One step of the sheet. ``value``, ``low`` and ``high`` are ohms or volts (``high`` None: open), ``names`` what
    must read occupied or trip; ``amperes`` is the current of a short. ``stage`` is dead or live, ``kind`` ohms,
    channels, volts or trips."""

    number: int = column("Its number on the sheet.", key="step", least=1)
    id: str = column("What trace knows it by.")
    stage: str = column("Whether power is off or on.", choices=("dead", "live"))
    kind: str = column(
        "What is read: a resistance, the channels that read occupied, a voltage, or the breaker that trips.",
        choices=(OHMS, CHANNELS, VOLTS, TRIPS),
    )
    instrument: str = column("What it is made with; empty for a short.", key="with", choices=("", *INSTRUMENTS))
    group: str | None = column("The group of the first block that it is about.")
    title: str = column("What it is about.")
    place: str = column("What stays where it is for this step and its neighbours of the same place.")
    set: str = column("What is moved for it.")
    where: str = column("Where the black probe, or what is laid across the rails, goes.")
    do: str = column("What to do.")
    red: str = column("Where the red probe goes.")
    black: str = column("Where the black probe goes.")
    expect: str = column("What to read, in words.")
    value: float | None = column(
        "What to read, in ohms or volts; null where it is open, or names are read.", default=None
    )
    low: float | None = column("The least that is right, in ohms or volts.", default=None, always=True)
    high: float | None = column("The most that is right; null where it is open.", default=None, always=True)
    names: tuple[str, ...] | None = column(
        "The channels or breakers to read; null where a number is read.", default=None
    )
    amperes: float | None = column("Amperes that a short draws.", key="current", default=None)
    caught: float = column("The share of what the sheet sees that is caught once it is made.", default=0.0, always=True)


WIDE, EACH = 40, 4
"""Signs of a sketch, and at least so many for each drop."""


@frozen
class SheetTrack:
    """A block as a sketch of the sheet shows it."""

    block: str = column("The block.")
    length_m: float = column("Its length.")
    drops_m: tuple[float, ...] = column("Where its drops are, from the near end, in metres.", key="drops")
    sketch: str = column("It with its drops numbered, as a line of text.")


def sheet_track(own: Bench, block: str) -> SheetTrack:
    """A block that is in the network, from its near end to its far one."""
    ladder = own.built.grid.tracks[block].ladder
    wide, at = max(WIDE, EACH * (len(ladder.drops_m) + 1)), 0
    line, told = "", list[str]()
    for number, at_m in enumerate(ladder.drops_m, 1):
        at = max(at, round(wide * at_m / ladder.length_m) if ladder.length_m else 0)
        line = f"{line.ljust(at, '-')}{number}"
        at = len(line) + 1
        told.append(f"{number} at {own.length(at_m)}")
    drops = f"; drops: {', '.join(told)}" if told else ""
    words = f"{block}: near |{line.ljust(wide, '-')}| far, {own.length(ladder.length_m)}{drops}"
    return SheetTrack(block, ladder.length_m, tuple(ladder.drops_m), words)


def places(steps: Sequence[SheetStep]) -> Iterator[tuple[str, list[SheetStep]]]:
    """Steps that follow each other in one place, by that place."""
    for here, some in groupby(steps, key=lambda one: one.place):
        yield here, list(some)


def sheet_step(sheet: Sheet, row: Row) -> SheetStep:
    """One test as the sheet has it, without its number and what it catches."""
    import numpy as np

    from blockcheck.analysis.bench.instruments import room_of
    from blockcheck.analysis.bench.sheet import rounded

    (test, instrument), own = row.way, sheet.bench
    step = sheet.predicted.tests[test]
    if row.turned:
        step = evolve(step, red=step.black, black=step.red)
    heading, where = place(step, instrument, row.node is not None)
    told = SheetStep(
        0,
        step.id,
        step.stage,
        step.kind,
        instrument,
        step.group,
        step.title,
        heading,
        moves(own, step),
        where,
        what_to_do(own, step, instrument),
        step.red.words,
        step.black.words,
        "",
    )
    value = sheet.predicted.value(test, 0)
    if not isinstance(value, float):
        amperes = rounded(float(sheet.predicted.amperes[test][0])) if test in sheet.predicted.amperes else None
        expect = expected_names(step, value, amperes)
        return evolve(told, expect=expect, names=tuple(sorted(value)), amperes=amperes)
    value = rounded(value)
    if instrument == BEEPER:
        return evolve(told, **beeper_words(value), value=value if value < OPEN_OHM else None)
    if step.kind == OHMS and value >= OPEN_OHM:
        return evolve(told, expect="open", low=OPEN_OHM)
    room = float(room_of(step, np.array([value]), instrument, sheet.tolerance)[0])
    low, high = rounded(max(value - room, 0.0)), rounded(value + room)
    return evolve(told, expect=expected_number(step, value, low, high), value=value, low=low, high=high)


def beeper_words(value: float) -> dict[str, Any]:
    """What a beeper says of so many ohms, and between which ohms that is right."""
    if value <= BEEPS_OHM:
        return {"expect": "beeps", "low": 0.0, "high": BEEPS_OHM}
    if value >= SILENT_OHM:
        return {"expect": "silent", "low": SILENT_OHM}
    return {"expect": "beeps, or is silent", "low": 0.0}


def expected_number(step: Step, value: float, low: float, high: float) -> str:
    """A reading with its tolerance, in words."""
    dimension: Dimension = _VOLT if step.kind == VOLTS else _OHM
    if step.rough and step.kind == OHMS:
        return f"connected: less than {show(high, dimension)}"
    if low <= 0:
        return f"less than {show(high, dimension, digits=2)}"
    return f"{show(value, dimension)} ({show(low, dimension)} to {show(high, dimension)})"


def expected_names(step: Step, names: Names, amperes: float | None) -> str:
    """What must read or trip, in words."""
    found = " and ".join(sorted(names))
    if step.kind == TRIPS:
        flows = f"; the wires would let {show(amperes, _AMPERE, digits=2)} flow" if amperes else ""
        return f"{found} trips{flows}" if names else f"nothing trips{flows}"
    maybe = f" ({', '.join(sorted(names.doubtful))} may read too)" if names.doubtful else ""
    return (f"{found}, and no other" if names else "none") + maybe
