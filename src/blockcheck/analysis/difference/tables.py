"""What two layouts say differently, table by table, with every default and every range written out.

A thing is compared by what it is, not by how it is written: a board by what its type's data sheet says, a harness by
its conductors, a district by the limits that hold for it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property, lru_cache
from typing import Any, get_args, get_type_hints

import attrs
from attrs import frozen

from blockcheck.analysis.difference.renames import NONE, Renames
from blockcheck.analysis.difference.wires import Gap, gaps
from blockcheck.circuit.ladder import conductor_ohm_per_m, rail_ohm_per_m
from blockcheck.core.natural import condensed, natural_key
from blockcheck.model import layout
from blockcheck.model.layout import (
    Accept,
    Block,
    Board,
    BoardType,
    Booster,
    Colours,
    District,
    Expect,
    Expected,
    Harness,
    Isolator,
    Layout,
    Limits,
    Train,
    Turnout,
)
from blockcheck.model.operate import vehicles
from blockcheck.model.quantities import DIMENSIONS, Amperes, Metres, OhmMetres, OhmsPerMetre, Seconds, show
from blockcheck.model.wiring import LEGS, Wiring, bank_count, bank_district, bus_colours, usual_position


@frozen
class Change:
    """One thing that is said differently.

    ``what`` is added, gone, renamed (perhaps) or changed; of a change, ``key`` is what changed. ``before`` and
    ``after`` are for people; None where it was not, or is not. ``wiring`` tells whether it concerns the wiring, and
    not only words, the trains or the ways of operating.
    """

    kind: str
    subject: str
    what: str
    key: str | None
    before: str | None
    after: str | None
    wiring: bool


@frozen(eq=False, repr=False)
class Value:
    """A value of one side: ``is_`` is what it is compared by, ``text`` what people read."""

    is_: Any
    text: str | None
    exact: str | None = None
    """The text with more digits, where two would read the same."""
    wiring: bool = False


Row = Mapping[str, Value]
_WORD: Mapping[str, str] = {
    "boosters": "booster",
    "districts": "district",
    "boards": "board",
    "isolators": "isolator",
    "blocks": "block",
    "harnesses": "harness",
    "turnouts": "turnout",
    "runs": "run",
    "loads": "load",
    "trains": "train",
    "scenarios": "scenario",
}
"""Named tables in the order in which they are told -> what one is called."""
_HEAD: Mapping[str, tuple[str, ...]] = {
    "boosters": ("voltage", "current", "trip"),
    "districts": ("booster", "current", "trip"),
    "boards": ("channels", "banks"),
    "isolators": ("contact", "rating"),
    "blocks": ("channel", "isolator", "district", "length"),
    "harnesses": ("bus", "common", "lead"),
    "turnouts": ("block",),
    "runs": ("wire", "count", "length"),
    "loads": ("idle", "running"),
    "trains": ("vehicles", "at"),
    "scenarios": ("open",),
}
"""What a thing that is added or gone is described by."""
_WIRED = ("boosters", "districts", "boards", "isolators", "blocks", "harnesses")


def changes(old: Wiring, new: Wiring, names: Renames) -> tuple[Change, ...]:
    """All that is said differently: power first, then detection, track, vehicles and ways of operating."""
    return tuple(_changes(old, new, names))


def _changes(old: Wiring, new: Wiring, names: Renames) -> Iterator[Change]:
    imperial = new.layout.about.units == "imperial"
    was, now = _Side(old, names, imperial), _Side(new, NONE, imperial)
    control = ("control",)
    yield from _rows(
        "layout",
        new.layout.about.name,
        dict(was.fields(old.layout.about, control)),
        dict(now.fields(new.layout.about, control)),
    )
    for kind, word in _WORD.items():
        before, after = was.table(kind), now.table(kind)
        renamed = names.of.get(kind, {})
        back = {new_: old_ for old_, new_ in renamed.items()}
        pairs = {names.new(kind, name): name for name in before}
        for name in sorted({*after, *pairs}, key=natural_key):
            if name not in after:
                row = before[pairs[name]]
                yield Change(word, pairs[name], "gone", None, _head(kind, row), None, _wired(kind, row))
            elif name not in pairs:
                yield Change(word, name, "added", None, None, _head(kind, after[name]), _wired(kind, after[name]))
            else:
                if name in back:
                    yield Change(word, name, "renamed", None, back[name], name, False)
                yield from _rows(word, name, before[pairs[name]], after[name])
        if kind == "turnouts":
            yield from _gaps(old, new, names)
    yield from _judging(was, now)


def _rows(word: str, name: str, before: Row, after: Row) -> Iterator[Change]:
    for key in dict.fromkeys((*before, *after)):
        one, two = before.get(key, _NOTHING), after.get(key, _NOTHING)
        if one.is_ != two.is_:
            first, second = one.text, two.text
            if first == second:
                first, second = one.exact or first, two.exact or second
            yield Change(word, name, "changed", key, first, second, one.wiring or two.wiring)


def _head(kind: str, row: Row) -> str | None:
    told = [f"{key} {row[key].text}" for key in _HEAD[kind] if key in row and row[key].text is not None]
    return ", ".join(told) or None


def _wired(kind: str, row: Row) -> bool:
    return kind in _WIRED or (kind == "turnouts" and row["frog"].is_ == "switched")


def _gaps(old: Wiring, new: Wiring, names: Renames) -> Iterator[Change]:
    before, after = gaps(old, names), gaps(new)
    for key in sorted({*before, *after}, key=lambda key: [natural_key(part) for part in key]):
        one, two = before.get(key), after.get(key)
        told = two or one
        assert told is not None
        subject = f"{told.first} ({told.first_end}) / {told.second} ({told.second_end})"
        if one is None or two is None:
            what = "added" if one is None else "gone"
            yield Change("joint", subject, what, None, _cut(one), _cut(two), True)
        elif one.cut != two.cut:
            yield Change("joint", subject, "changed", "gap", one.cut, two.cut, True)


def _cut(gap: Gap | None) -> str | None:
    return None if gap is None else f"gap {gap.cut}"


def _judging(was: _Side, now: _Side) -> Iterator[Change]:
    """Limits, severities of rules, and what is accepted: they change what is said, not what is wired."""
    old, new = was.layout, now.layout
    before, after = dict(was.fields(old.limits)), dict(now.fields(new.limits))
    for limits, of in ((before, old), (after, new)):
        least = of.least_voltage_v
        limits["minimum_voltage"] = Value(least, None if least is None else f"{least:g} V")
    yield from _rows("limits", "limits", before, after)
    plain, fresh = ({rule: Value(level, level) for rule, level in one.rules.items()} for one in (old, new))
    yield from _rows("rules", "rules", plain, fresh)
    accepts, anew = ({(one.rule, str(one.where)): one for one in of.accept} for of in (old, new))
    for key in sorted({*accepts, *anew}):
        one, two = accepts.get(key), anew.get(key)
        name = " ".join(key)
        if one is None or two is None:
            what = "added" if one is None else "gone"
            yield Change("accept", name, what, None, _reason(one), _reason(two), False)
        else:
            yield from _rows("accept", name, dict(was.fields(one)), dict(now.fields(two)))


def _reason(accept: Accept | None) -> str | None:
    return None if accept is None else accept.because


_NOTHING = Value(None, None)


@frozen(eq=False, repr=False, slots=False)
class _Side:
    """One of the two layouts. ``names`` says what the other one calls a thing; ``imperial`` how lengths are told."""

    wiring: Wiring
    names: Renames
    imperial: bool

    @property
    def layout(self) -> Layout:
        return self.wiring.layout

    @cached_property
    def colours(self) -> Mapping[str, str]:
        return bus_colours(self.wiring)

    def table(self, kind: str) -> dict[str, Row]:
        """The things of a kind, by their own names."""
        if kind == "loads":
            return {load.name: dict(self.fields(load)) for load in vehicles(self.wiring)}
        making: Mapping[str, Callable[[Any], Row]] = {
            "boosters": lambda one: dict(self.fields(one, _all(Booster))),
            "districts": self.district,
            "boards": self.board,
            "isolators": self.isolator,
            "blocks": self.block,
            "harnesses": self.harness,
            "turnouts": self.turnout,
            "runs": lambda one: dict(self.fields(one)),  # no track power: they change no circuit
            "trains": self.train,
            "scenarios": lambda one: dict(self.fields(one)),
        }
        used = {fed.block.harness for fed in self.wiring.fed.values()} if kind == "harnesses" else None
        return {
            name: making[kind](one) for name, one in getattr(self.layout, kind).items() if used is None or name in used
        }

    def named(self, name: str | None, kind: str) -> Value:
        return Value(None if name is None else self.names.new(kind, name), name, wiring=True)

    def quantity(self, value: float | None, kind: Any, wiring: bool = True) -> Value:
        if value is None:
            return Value(None, None, wiring=wiring)
        few, many = (show(value, DIMENSIONS[kind], self.imperial, digits) for digits in (3, 9))
        return Value(value, few, many, wiring)

    def metres(self, value: float) -> str:
        return show(value, DIMENSIONS[Metres], self.imperial)

    def block(self, block: Block) -> Row:
        fed = self.wiring.fed[block.name]
        channel = isolator = address = None
        of_channel: Any = None
        if block.channel is not None:
            channel = str(block.channel)
            of_channel = (self.names.new("boards", block.channel.board), block.channel.number)
            address = fed.address
        elif block.undetected is not None:
            channel, of_channel = "none", "none"
        if block.isolator is not None:
            isolator = (self.names.new("isolators", block.isolator.isolator), block.isolator.pole)
        at = block.feeders_at_m
        drops = "at " + ", ".join(map(self.metres, at)) if at is not None else None
        number = self.wiring.tracks.get(block.name)
        colour = self.colours.get(block.name)
        told = dict(self.fields(block))
        return {
            "channel": Value(of_channel, channel, wiring=True),
            "address": Value(address, None if address is None else str(address)),
            "isolator": Value(isolator, str(block.isolator) if block.isolator else None, wiring=True),
            "district": self.named(fed.district, "districts"),
            "harness": self.named(block.harness, "harnesses"),
            "length": self.quantity(block.length_m, Metres),
            "lead": self.quantity(block.lead_m, Metres),
            "drops": Value((block.feeders, at), drops or (str(block.feeders) if block.feeders else None), wiring=True),
            "colour": Value(colour, colour),
            "track": Value(number, None if number is None else str(number)),
            **{key: told[key] for key in ("undetected", "group", "kind")},
        }

    def board(self, board: Board) -> Row:
        kind = self.layout.board_types.get(board.type)
        row: dict[str, Value] = {}
        if kind is not None:
            row = {key: value for key, value in self.fields(kind, _all(BoardType)) if key != "bank_size"}
            size = kind.bank_size or kind.channels
            row["bank size"] = Value(size, str(size), wiring=True)
            homes = [bank_district(self.layout, board, bank) for bank in range(1, bank_count(kind) + 1)]
            said = tuple(None if one is None else self.names.new("districts", one) for one in homes)
            row["banks"] = Value(said, ", ".join(str(one) for one in homes if one is not None) or None, wiring=True)
        told = dict(self.fields(board))
        return {**row, **{key: told[key] for key in ("first_address", "at", "spare")}}

    def district(self, district: District) -> Row:
        booster = self.layout.boosters.get(district.booster)
        row = dict(self.fields(district, ("return", "feed")))
        row["booster"] = self.named(str(district.booster), "boosters")
        limits: tuple[tuple[str, Any, float | None, float | None], ...] = (
            ("current", Amperes, district.current_a, booster.current_a if booster else None),
            ("trip", Amperes, district.trip_a, booster.trip_a if booster else None),
            ("delay", Seconds, district.delay_s, booster.delay_s if booster else None),
        )
        for key, kind, own, from_booster in limits:
            row[key] = self.quantity(own if own is not None else from_booster, kind)
        if district.feed is not None:
            size = self.conductor(str(district.feed.wire))
            text = f"{size.text}, {self.metres(district.feed.length_m)}"
            row["feed"] = Value((size.is_, district.feed.length_m), text, wiring=True)
        return row

    def conductor(self, text: str | None) -> Value:
        """A conductor by its ohms per metre and what it may carry, whatever its wire is called."""
        if text is None:
            return Value(None, None, wiring=True)
        wire = self.layout.wires.get(text)
        limit = wire.current_a if wire is not None else None
        said = text if wire is None else str(wire.size)
        if wire is not None and wire.resistance_ohm_per_m is not None:
            said += f" of {show(wire.resistance_ohm_per_m, DIMENSIONS[OhmsPerMetre], self.imperial)}"
        if limit is not None:
            said += f" for {show(limit, DIMENSIONS[Amperes])}"
        ohms = conductor_ohm_per_m(attrs.evolve(self.layout, limits=Limits()), text)  # at one temperature
        return Value(text if ohms is None else (ohms, limit), said, wiring=True)

    def harness(self, harness: Harness) -> Row:
        row = dict(self.fields(harness, tuple(key for key in _all(Harness) if key != "colours")))
        for key in ("bus", "common", "feeder"):
            row[key] = self.conductor(getattr(harness, key))
        rail, own = harness.rail, harness.leakage_ohm_m
        if rail is not None:
            ohms = rail_ohm_per_m(self.layout, str(rail))
            row["rail"] = Value(rail if ohms is None else ohms, str(rail), wiring=True)
            kind = self.layout.rails.get(rail)
            own = own if own is not None or kind is None else kind.leakage_ohm_m
        row["leakage"] = self.quantity(own, OhmMetres)
        return row

    def isolator(self, isolator: Isolator) -> Row:
        record = ("isolates", "power", "detection", "usually", "panel")
        row = dict(self.fields(isolator, tuple(key for key in _all(Isolator) if key not in record)))
        usual = usual_position(self.wiring, isolator)
        row["usually"] = Value(self.names.new("districts", usual), usual)
        meant = self.wiring.meant[isolator.name]
        said = frozenset(self.names.new("blocks", one) for one in meant)
        row["isolates"] = Value(said, ", ".join(condensed(meant)) or None)
        if isolator.between is not None:
            between = frozenset(self.names.new("districts", str(one)) for one in isolator.between)
            row["between"] = Value(between, " or ".join(map(str, isolator.between)), wiring=True)
        return row

    def turnout(self, turnout: Turnout) -> Row:
        switched = ("block", *LEGS, "frog", "frog_gaps", "frog_rail")
        row = dict(self.fields(turnout, switched if turnout.frog == "switched" else ("frog",)))
        for key in ("block", *LEGS):
            row[key] = attrs.evolve(row[key], is_=self.names.new("blocks", str(row[key].is_)))
        if turnout.frog != "switched":  # it can short nothing, so nothing depends on these
            row["frog_gaps"] = row["frog_rail"] = _NOTHING
        return row

    def train(self, train: Train) -> Row:
        row = dict(self.fields(train))
        row["at"] = Value(None if train.at is None else self.names.new("blocks", train.at), train.at)
        return row

    def fields(self, table: Any, wiring: tuple[str, ...] = ()) -> Iterator[tuple[str, Value]]:
        """The keys of a table with their values; those of ``wiring`` concern the wiring."""
        hints = _hints(type(table).__name__)
        for one in attrs.fields(type(table)):
            toml = one.metadata["toml"]
            if toml:
                yield toml, self.said(getattr(table, one.name), hints[one.name], toml in wiring)

    def said(self, value: Any, hint: Any, wiring: bool) -> Value:
        """A value with the words for it, quantities with a unit."""
        if value is None or value in ((), {}):
            return Value(None, None, wiring=wiring)
        kinds = [one for one in (hint, *get_args(hint)) if one in DIMENSIONS]
        if kinds and isinstance(value, float):
            return self.quantity(value, kinds[0], wiring)
        return Value(text := _words(value), text, wiring=wiring)


def _all(cls: type) -> tuple[str, ...]:
    return tuple(str(one.metadata["toml"]) for one in attrs.fields(cls) if one.metadata["toml"])


@lru_cache(maxsize=32)
def _hints(cls: str) -> Mapping[str, Any]:
    return get_type_hints(getattr(layout, cls))


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, Expected):
        return f"{value.count} {value.load} {value.state}"
    if isinstance(value, tuple):
        return ", ".join(map(_words, value))
    if isinstance(value, Mapping):
        return ", ".join(f"{key} = {_words(value[key])}" for key in sorted(value, key=natural_key))
    if isinstance(value, Colours | Expect):
        told = ((one.metadata["toml"], getattr(value, one.name)) for one in attrs.fields(type(value)))
        return "; ".join(f"{key} {_words(inner)}" for key, inner in told if inner not in (None, (), {}))
    return str(value)
