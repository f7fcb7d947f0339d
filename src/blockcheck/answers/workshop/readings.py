"""Readings that were taken: the filled test sheet, from TOML to values, or every fault of it at its place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

from attrs import evolve, field, frozen

from blockcheck.analysis.bench.measure import Bench
from blockcheck.analysis.bench.wired import (
    BEEPER,
    BEEPS_OHM,
    CHANNELS,
    INSTRUMENTS,
    METER,
    METER_OHM,
    OHMS,
    OPEN_OHM,
    SILENT_OHM,
    TRIPS,
    VOLTS,
    Beep,
    Step,
)
from blockcheck.core.errors import InputError
from blockcheck.core.faults import Faults
from blockcheck.core.findings import Label
from blockcheck.core.nearest import did_you_mean
from blockcheck.core.shown import shown
from blockcheck.core.spans import Path, Place
from blockcheck.core.words import listed
from blockcheck.model.quantities import DIMENSIONS, Ohms, QuantityError, Volts, parse, show
from blockcheck.text.document import ReadFile
from blockcheck.text.edits import quoted
from blockcheck.text.tables import TableRow, is_table, read_table
from blockcheck.text.toml import read_toml

if TYPE_CHECKING:
    from blockcheck.analysis.bench.names import Names

OPEN_WORDS = frozenset({"open", "ol", "o.l.", "0l", "over", "infinite", "none"})
OK_WORDS = frozenset({"ok", "right", "as expected"})
NONE_WORDS = frozenset({"none", "nothing", "no", "-"})
BEEP_WORDS = {
    **dict.fromkeys(("beep", "beeps", "beeped"), True),
    **dict.fromkeys(("silent", "silence", "no beep"), False),
}
COLUMNS = ("id", "reading")
_HEAD = ("format", "layout", "date", "who", "setup", "steps")
_KEYS = ("id", "with", "do", "red", "black", "expect", "reading", "note")


@frozen
class AsExpected:
    """A reading of which was said only that it is right."""


Value = float | frozenset[str] | Beep | AsExpected


@frozen(eq=False, repr=False)
class Reading:
    """One reading: ohms or volts, the names that read or tripped, what a beeper said, or that it was right; ``words``
    as written, ``instrument`` what it was made with, as far as that is said."""

    step: Step
    value: Value
    words: str
    instrument: str = ""


def read_readings(data: bytes, name: str, bench: Bench, tests: Mapping[str, Step]) -> tuple[Reading, ...]:
    """Read a filled test sheet: TOML, CSV or a workbook. Raises InputError with every fault of it, each at its line.

    ``name`` is what the file is called in messages. Steps without a reading are left out.
    """
    if tabled(data, name):
        rows = [row for row in read_table(data, name, COLUMNS) if row.cells.get("id") or row.cells.get("reading")]
        place = _InTable(rows, name).place
        values: dict[str, Any] = {"format": 1, "steps": [*map(_step, rows)]}
    else:
        source, values = read_toml(data, name)
        place = ReadFile(source, values).place
    reader = _Reader(place, bench, tests)
    found = reader.sheet(values)
    reader.faults.stop()
    return tuple(found)


def tabled(data: bytes, name: str) -> bool:
    """Whether a test sheet is a table, by what it holds or by its name; else it is TOML."""
    return is_table(data, COLUMNS) or name.casefold().endswith(".csv")


def filled(data: bytes) -> bool:
    """Whether somebody has written in a test sheet: a reading, a note, or something that is no TOML any more. A table
    of another kind is none."""
    try:
        if not data.lstrip().startswith(b"#"):
            rows = read_table(data, "", COLUMNS) if is_table(data, COLUMNS) else ()
            return any(row.cells.get("reading") for row in rows)
        _, values = read_toml(data, "")
    except InputError:
        return True
    steps = values.get("steps", [])
    if values.get("date") or values.get("who"):
        return True
    return not isinstance(steps, list) or any(
        not isinstance(one, dict) or one.get("reading", "") != "" or one.get("note", "") != "" for one in steps
    )


def _step(row: TableRow) -> dict[str, Any]:
    return {key: row.cells[key] for key in _KEYS if row.cells.get(key)}


@frozen
class _InTable:
    """Where what is read from a table stands: in its row."""

    rows: Sequence[TableRow]
    name: str

    def place(self, path: Path, key: bool = False) -> Place:  # noqa: ARG002 - of a row there is one place
        number = path[1] if len(path) > 1 else 0
        assert isinstance(number, int)
        return self.rows[number].place if self.rows else Place(self.name, 1, 1, 1, 1)


@frozen(eq=False, repr=False, slots=False)
class _Reader:
    place: Callable[[Path, bool], Place]
    bench: Bench
    tests: Mapping[str, Step]
    faults: Faults = field(factory=Faults)
    seen: dict[str, Path] = field(factory=dict)

    def fault(self, path: Path, message: str, help_: str | None, *related: Label, key: bool = False) -> None:
        self.faults.add(self.place(path, key), message, help_, *related)

    def sheet(self, values: dict[str, Any]) -> list[Reading]:
        if values.get("format") != 1 or type(values["format"]) is not int:
            self.fault(
                ("format",), "readings begin with format = 1", 'write it, or make the sheet anew: "--format toml"'
            )
        own = self.bench.study.layout.about.name
        if values.get("layout", own) != own:
            if isinstance(values["layout"], dict):
                message = "this is a layout, and no test sheet"
                help_ = 'fill in the sheet that "blockcheck bench LAYOUT -o readings.toml" writes'
            else:
                message = f"these are readings of {shown(values['layout'])}, and the layout is {shown(own)}"
                help_ = f"name the layout that they belong to; where it is called otherwise now, layout = {quoted(own)}"
            self.fault(("layout",), message, help_)
            return []
        for key in values:
            if key not in _HEAD:
                near = did_you_mean(key, _HEAD[1:]) or f"readings have {listed(_HEAD)}"
                self.fault((key,), f"readings have no key {shown(key)}", near, key=True)
        steps = values.get("steps", [])
        if not isinstance(steps, list) or not all(isinstance(one, dict) for one in steps):
            self.fault(("steps",), "steps are tables", "write each below a line [[steps]]")
            return []
        if not steps and not self.faults:
            self.fault(
                (), "there are no readings", 'write each below a line [[steps]], with its id and its reading = "..."'
            )
        found = [self.step(("steps", number), one) for number, one in enumerate(steps)]
        return [one for one in found if one is not None]

    def step(self, path: Path, one: dict[str, Any]) -> Reading | None:
        for key in one:
            if key not in _KEYS:
                near = (
                    did_you_mean(key, _KEYS)
                    or 'a step has id and reading; write what else you want to say as note = "..."'
                )
                self.fault((*path, key), f"a step has no key {shown(key)}", near, key=True)
        id_ = one.get("id")
        if not isinstance(id_, str):
            self.fault((*path, "id"), "a step needs the id that the sheet gives it", 'write id = "..."')
            return None
        step = self.tests.get(id_)
        if step is None:
            meant = did_you_mean(id_, self.tests)
            help_ = meant or "take the ids from the sheet of this layout; it may have changed since the sheet was made"
            self.fault((*path, "id"), f"there is no test {shown(id_)} on this layout", help_)
            return None
        if id_ in self.seen:
            before = Label(self.place((*self.seen[id_], "id"), False), "it stands here already")
            self.fault((*path, "id"), f"{shown(id_)} is read twice", "keep one of the two", before)
            return None
        self.seen[id_] = path
        raw = one.get("reading", "")
        if isinstance(raw, str) and not raw.strip():
            return None
        words = raw if isinstance(raw, str) else ", ".join(map(str, raw)) if isinstance(raw, list) else str(raw)
        instrument = one.get("with", "")
        if instrument not in ("", *INSTRUMENTS):
            near = did_you_mean(str(instrument), INSTRUMENTS) or f"write one of {listed([*INSTRUMENTS])}"
            self.fault((*path, "with"), f"there is no instrument {shown(instrument)}", near)
            return None
        value = self.value((*path, "reading"), step, raw)
        return None if value is None else Reading(step, value, words, instrument)

    def value(self, path: Path, step: Step, raw: object) -> Value | None:
        if isinstance(raw, str) and raw.strip().casefold() in OK_WORDS:
            return AsExpected()
        if step.kind in (CHANNELS, TRIPS):
            return self.names(path, step, raw)
        said = raw.strip().casefold() if step.kind == OHMS and isinstance(raw, str) else ""
        if said in BEEP_WORDS:
            return Beep(BEEP_WORDS[said])
        if said in OPEN_WORDS:
            return OPEN_OHM
        dimension = DIMENSIONS[Ohms if step.kind == OHMS else Volts]
        try:
            value = parse(raw, dimension)
        except QuantityError as error:
            extra = '; "open" where the meter is over its range, "beeps" or "silent"; "ok" where it is as expected'
            self.fault(
                path, error.message, error.help + (extra if step.kind == OHMS else '; "ok" where it is as expected')
            )
            return None
        return min(value, OPEN_OHM) if step.kind == OHMS else value

    def names(self, path: Path, step: Step, raw: object) -> frozenset[str] | None:
        channels = step.kind == CHANNELS
        known = self.bench.channels if channels else tuple(one[0] for one in self.bench.breakers)
        kind = "channel" if channels else "breaker"
        if isinstance(raw, str):
            texts: list[object] = [*raw.replace(",", " ").split()]
        elif isinstance(raw, list):
            texts = raw
        elif type(raw) is int:
            texts = [raw]
        else:
            texts = []
        if not texts and raw != []:
            example = known[0] if known else "none"
            help_ = f'write the names of {kind}s, such as "{example}", or "none"'
            self.fault(path, f"expected {kind}s, got {shown(raw)}", help_)
            return None
        if len(texts) == 1 and str(texts[0]).casefold() in NONE_WORDS:
            return frozenset()
        found = set()
        for one in texts:
            text = self.reports.get(str(one), one) if channels and type(one) is not bool else one
            if not isinstance(text, str) or text not in known:
                near = (
                    self.numbers(str(text))
                    or did_you_mean(str(text), known)
                    or f'the {kind}s are {", ".join(known[:20])}; "none" for none of them'
                )
                self.fault(path, f"there is no {kind} {shown(text)}", near)
                return None
            found.add(text)
        return frozenset(found)

    @cached_property
    def reports(self) -> Mapping[str, str]:
        """What a channel reports as -> the channel, where no other reports as that."""
        found: dict[str, list[str]] = {}
        for channel in self.bench.channels:
            board, _, number = channel.rpartition(".")
            first = self.bench.study.layout.boards[board].first_address
            if first is not None:
                found.setdefault(str(first + int(number) - 1), []).append(channel)
        return {number: some[0] for number, some in found.items() if len(some) == 1}

    def numbers(self, text: str) -> str | None:
        """Of a board that exists, the channels that it has: the nearest one would be another reading."""
        board = text.partition(".")[0]
        count = sum(one.startswith(f"{board}.") for one in self.bench.channels)
        return f"{board} has the channels 1 to {count}: look again which one reads" if count else None


def understood(own: Bench, readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Readings as what they say: "ok" of a beeper is what it says of wiring that is right, and a meter's ohms are no
    finer than it shows."""
    from blockcheck.analysis.bench.predict import predict

    beeped = [one for one in readings if one.instrument == BEEPER and isinstance(one.value, AsExpected)]
    told = predict(own, [one.step for one in beeped], []).numbers if beeped else {}
    right = {one.step.id: Beep(float(told[number][0]) < SILENT_OHM) for number, one in enumerate(beeped)}
    found = []
    for one in readings:
        if one.step.id in right:
            found.append(evolve(one, value=right[one.step.id]))
        elif one.instrument == METER and one.step.kind == OHMS:
            found.append(evolve(one, step=evolve(one.step, slack_ohm=one.step.slack_ohm + METER_OHM)))
        else:
            found.append(one)
    return tuple(found)


def shown_value(step: Step, value: float, beeper: bool = False) -> str:
    """A number as it would be read."""
    if beeper:
        return "beeps" if value <= BEEPS_OHM else "silent" if value >= SILENT_OHM else "beeps, or is silent"
    if step.kind == OHMS and value >= OPEN_OHM:
        return "open"
    return show(value, DIMENSIONS[Volts if step.kind == VOLTS else Ohms])


def shown_names(names: Names) -> str:
    """Names as they would be read."""
    found = ", ".join(sorted(names)) or "none"
    return f"{found} ({', '.join(sorted(names.doubtful))} perhaps)" if names.doubtful else found
