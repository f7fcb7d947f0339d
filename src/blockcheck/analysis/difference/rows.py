"""What a layout says, table by table, in values that are compared by what they are: one side of a comparison.

Every key of every table is here, but for those that say at the key why not. A board is what its type's data sheet says,
a harness is its conductors, a district the limits that hold for it, whatever they are called.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping, Set
from functools import cached_property, lru_cache
from types import NoneType
from typing import Any, get_args

import attrs
from attrs import evolve, frozen

from blockcheck.analysis.difference.conductors import made_of
from blockcheck.analysis.difference.renames import Renames
from blockcheck.circuit.ladder import rail_ohm_per_m
from blockcheck.core.natural import condensed, natural_key
from blockcheck.model import layout
from blockcheck.model.keys import Conductor, key_kinds
from blockcheck.model.layout import (
    Block,
    Board,
    District,
    Harness,
    Isolator,
    Layout,
    Limits,
    Table,
    Train,
    Turnout,
)
from blockcheck.model.operate import vehicles
from blockcheck.model.quantities import DIMENSIONS, Amperes, OhmMetres, Seconds, show
from blockcheck.model.tables.selectors import selector_of
from blockcheck.model.wiring import LEGS, Wiring, bank_count, bank_district, bus_colours, usual_position


@frozen(eq=False, repr=False)
class Value:
    """A value of one side: ``is_`` is what it is compared by, ``text`` what people read."""

    is_: Any
    text: str | None
    exact: str | None = None
    """The text with more digits, where two would read the same."""
    wiring: bool = False


Row = Mapping[str, Value]


@frozen(eq=False, repr=False, slots=False)
class Side:
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
        """The things of a kind, by their own names. What stock data have on offer counts once something uses it."""
        making: Mapping[str, Callable[[Any], Row]] = {
            "districts": self.district,
            "boards": self.board,
            "isolators": self.isolator,
            "blocks": self.block,
            "harnesses": self.harness,
            "turnouts": self.turnout,
            "trains": self.train,
        }
        things: Mapping[str, Any] = getattr(self.layout, kind)
        if kind == "loads":
            things = {load.name: load for load in vehicles(self.wiring)}
        stock = {name for file in self.wiring.document.files if file.stock for name in file.values.get(kind, ())}
        wiring = not attrs.fields_dict(Layout)[kind].metadata["words"]
        make = making.get(kind, lambda one: self.fields(one, wiring))
        offered = stock - self.used(kind) if kind != "loads" else set()
        if kind == "isolators":  # the contacts of a selector are told with it
            offered |= {name for name in things if selector_of(self.layout, name) is not None}
        return {name: make(one) for name, one in things.items() if name not in offered}

    def used(self, kind: str) -> Set[str]:
        """The things of a kind that something uses; of most kinds, all."""
        if kind == "harnesses":
            return {str(fed.block.harness) for fed in self.wiring.fed.values()}
        if kind == "board_types":
            return {str(board.type) for board in self.layout.boards.values()}
        if kind == "rails":
            return {str(harness.rail) for harness in self.layout.harnesses.values()}
        return self.conductors if kind == "wires" else getattr(self.layout, kind).keys()

    @cached_property
    def conductors(self) -> frozenset[str]:
        """Every conductor that a key of any table names."""
        return frozenset(_conductors(self.layout, Layout))

    def named(self, name: str | None, kind: str) -> Value:
        return Value(None if name is None else self.names.new(kind, name), name, wiring=True)

    def quantity(self, value: float | None, kind: Any, wiring: bool = True) -> Value:
        if value is None:
            return Value(None, None, wiring=wiring)
        few, many = (show(value, DIMENSIONS[kind], self.imperial, digits) for digits in (3, 9))
        return Value(value, few, many, wiring)

    def block(self, block: Block) -> Row:
        fed, row = self.wiring.fed[block.name], self.fields(block)
        of_channel: Any = None
        if block.channel is not None:
            of_channel = (self.names.new("boards", block.channel.board), block.channel.number)
        elif block.undetected is not None or block.unpowered is not None:
            of_channel = "none"
        isolators = tuple((self.names.new("isolators", one.isolator), one.pole) for one in block.isolated_by) or None
        address = fed.address if block.channel is not None else None
        number, colour = self.wiring.tracks.get(block.name), self.colours.get(block.name)
        return {
            **row,
            "channel": Value(of_channel, row["channel"].text or of_channel, wiring=True),
            "address": Value(address, None if address is None else str(address)),
            "isolator": evolve(row["isolator"], is_=isolators),
            "district": self.named(fed.district, "districts"),
            "harness": self.named(block.harness, "harnesses"),
            "colour": Value(colour, colour),
            "track": Value(number, None if number is None else str(number)),
        }

    def board(self, board: Board) -> Row:
        kind = self.layout.board_types.get(board.type)
        row: dict[str, Value] = {}
        if kind is not None:
            row = self.fields(kind)
            size = kind.bank_size or kind.channels
            row["bank_size"] = Value(size, str(size), wiring=True)
        row |= self.fields(board)
        if kind is not None:
            homes = [bank_district(self.layout, board, bank) for bank in range(1, bank_count(kind) + 1)]
            said = tuple(None if one is None else self.names.new("districts", one) for one in homes)
            row["banks"] = Value(said, ", ".join(str(one) for one in homes if one is not None) or None, wiring=True)
        return row

    def district(self, district: District) -> Row:
        booster = self.layout.boosters.get(district.booster)
        row = self.fields(district)
        row["booster"] = self.named(str(district.booster), "boosters")
        limits: tuple[tuple[str, Any, float | None, float | None], ...] = (
            ("current", Amperes, district.current_a, booster.current_a if booster else None),
            ("trip", Amperes, district.trip_a, booster.trip_a if booster else None),
            ("delay", Seconds, district.delay_s, booster.delay_s if booster else None),
        )
        for key, kind, own, from_booster in limits:
            row[key] = self.quantity(own if own is not None else from_booster, kind)
        breaker = district.breaker or ("one of its own" if district.has_breaker else None)
        row["breaker"] = Value(breaker, breaker, wiring=True)
        return row

    def harness(self, harness: Harness) -> Row:
        row = self.fields(harness)
        rail, own = harness.rail, harness.leakage_ohm_m
        if rail is not None:
            ohms = rail_ohm_per_m(evolve(self.layout, limits=Limits()), str(rail))  # another temperature, no other rail
            row["rail"] = evolve(row["rail"], is_=rail if ohms is None else ohms)
            kind = self.layout.rails.get(rail)
            own = own if own is not None or kind is None else kind.leakage_ohm_m
        row["leakage"] = self.quantity(own, OhmMetres)
        return row

    def isolator(self, isolator: Isolator) -> Row:
        row = self.fields(isolator)
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
        """A frog that is insulated can short nothing, so no wire depends on where it lies."""
        row = self.fields(turnout)
        for key in ("block", *LEGS):
            row[key] = evolve(row[key], is_=self.names.new("blocks", str(row[key].is_)))
        if turnout.frog == "switched":
            return row
        return {key: evolve(value, wiring=key == "frog") for key, value in row.items()}

    def train(self, train: Train) -> Row:
        row = self.fields(train, wiring=False)
        row["at"] = Value(None if train.at is None else self.names.new("blocks", train.at), train.at)
        return row

    def fields(self, table: Any, wiring: bool = True, but: Container[str] = ()) -> dict[str, Value]:
        """Every key of a table with its value, but for those that say why not; ``wiring`` as for the whole table."""
        hints, found = _hints(type(table).__name__), dict[str, Value]()
        for one in attrs.fields(type(table)):
            toml = one.metadata["toml"]
            if toml and toml not in but and one.metadata["compare"] is None:
                wired = wiring and not one.metadata["words"]
                found[toml] = self.said(getattr(table, one.name), hints[one.name], wired)
        return found

    def said(self, value: Any, hint: Any, wiring: bool) -> Value:
        """A value with the words for it."""
        if value is None or value in ((), {}):
            return Value(None, None, wiring=wiring)
        (is_, few), (_, many) = (self.say(value, _given(hint), digits) for digits in (3, 9))
        return Value(is_, few, many, wiring)

    def say(self, value: Any, hint: Any, digits: int) -> tuple[Any, str]:
        """What a value is compared by, and the words for it: quantities with a unit, conductors by what they are."""
        if hint is Conductor:
            made = made_of(self.layout, str(value), self.imperial)
            return made.identity, made.words
        if isinstance(value, bool):
            return value, "yes" if value else "no"
        if isinstance(value, float):
            return value, show(value, DIMENSIONS[hint], self.imperial, digits) if hint in DIMENSIONS else f"{value:g}"
        if isinstance(value, tuple):
            told = [self.say(one, get_args(hint)[0], digits) for one in value]
            tables = value and isinstance(value[0], Table)
            return [is_ for is_, _ in told], ("; " if tables else ", ").join(text for _, text in told)
        if isinstance(value, Mapping):
            named = {key: self.say(value[key], get_args(hint)[1], digits) for key in sorted(value, key=natural_key)}
            return {key: is_ for key, (is_, _) in named.items()}, ", ".join(f"{k} = {t}" for k, (_, t) in named.items())
        if isinstance(value, Table):
            row = self.fields(value)
            said = [f"{key} {one.exact if digits > 3 else one.text}" for key, one in row.items() if one.text]
            return {key: one.is_ for key, one in row.items()}, ", ".join(said)
        return value, str(value)


@lru_cache(maxsize=64)
def _hints(cls: str) -> Mapping[str, Any]:
    return key_kinds(getattr(layout, cls))


def _given(hint: Any) -> Any:
    """What a key holds where it is given."""
    options = [one for one in get_args(hint) if one is not NoneType]
    return options[0] if NoneType in get_args(hint) else hint


def _conductors(value: Any, hint: Any) -> Iterator[str]:
    """Every conductor that is named in a value."""
    if hint is Conductor and value is not None:
        yield str(value)
    elif isinstance(value, Table):
        for name, inner in _hints(type(value).__name__).items():
            yield from _conductors(getattr(value, name), _given(inner))
    elif isinstance(value, Mapping | tuple):
        inner = get_args(hint)[-1] if isinstance(value, Mapping) else get_args(hint)[0]
        for one in value.values() if isinstance(value, Mapping) else value:
            yield from _conductors(one, inner)
