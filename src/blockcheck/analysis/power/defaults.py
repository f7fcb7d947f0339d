"""Which defaults decided the figures of an answer, and why they are what they are; which limits are laxer.

Only what is a number, a vehicle's state or somebody else's figure is told; names and sides that were left out stand in
the layout's schema like every default.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, get_args

from attrs import Factory, evolve, fields_dict, frozen

from blockcheck.analysis.power.electrics import Electrics
from blockcheck.analysis.power.limits import conductor_limit
from blockcheck.analysis.study import Study
from blockcheck.circuit.ladder import conductor_ohm_per_m
from blockcheck.core.columns import column
from blockcheck.core.findings import Laxer
from blockcheck.core.natural import natural_key
from blockcheck.model.keys import key_kinds
from blockcheck.model.layout import (
    Board,
    BoardType,
    Booster,
    Expected,
    Harness,
    Isolator,
    Layout,
    Limits,
    Load,
    Panel,
    Train,
)
from blockcheck.model.operate import Operation
from blockcheck.model.quantities import (
    DIMENSIONS,
    Amperes,
    Celsius,
    Fraction,
    Metres,
    Ohms,
    OhmsPerMetre,
    Seconds,
    Volts,
    show,
)
from blockcheck.model.tables.chain import taken
from blockcheck.model.tables.panels import panel_of
from blockcheck.model.tables.selectors import selector_of

LARGER_IS_LAXER = ("voltage_drop",)
"""Limits that forgive more the larger they are; all others do the smaller they are."""

HOPEFUL: Mapping[str, tuple[str, str, str]] = {
    "boosters.*.resistance": ("boosters", "{}", "more is worse"),
    "harnesses.*.joint_resistance": ("bench joints", "{}", "more is worse"),
    "isolators.*.contact_resistance": ("isolators", "{}", "more is worse"),
    "board_types.*.drop": ("detectors", "{}", "more is worse"),
    "loads.*.asleep": ("sleeping locomotives", "{}", "more is worse"),
    "limits.minimum_voltage": ("decoders", "from {}", "more is worse"),
    "limits.conductor_temperature": ("wires", "{}", "warmer is worse"),
    "wires.*.resistance": ("wires", "nominal copper", "stranded is worse"),
    "boards.*.feed": ("board feeds", "{}", "any is worse"),
    "panels.*.from_board": ("wires to panels", "{}", "any is worse"),
    "panels.*.to_bus": ("wires from panels", "{}", "any is worse"),
    "harnesses.*.leakage": ("roadbed leakage", "{}", "any is worse"),
    "trains.*.state": ("trains", "{}", "running is worse"),
    "districts.*.expects.state": ("expected vehicles", "{}", "running is worse"),
    "trains.*.offset": ("trains", "in mid-block", "elsewhere may be worse"),
}
"""Defaults behind which the truth may be worse, the gravest first: what, the value in few words, which way it errs.

Nominal copper is what IEC 60028 has for the size; IEC 60228 allows a flexible conductor (class 5) of 1.5 mm2 16 % more.
What is not here errs to the safe side, is another's figure by the meaning of its key, or is a convention.
"""


@frozen
class Default:
    """A datum that was left out: its key with ``*`` for the names, what was taken, why, and the names."""

    key: str = column("The key, with * for the names.", coded=True)
    value: str = column("What was taken, with its unit.", title="taken as")
    why: str = column("The reason of the default, or the table that it comes from.")
    of: tuple[str, ...] = column(
        "The names of those that left it out; conductors by their size; none for what stands once.", default=()
    )
    worse: str | None = column(
        "Which way the truth would be worse; null where the default errs to the safe side, or is a convention.",
        title="beware",
        default=Factory(lambda self: HOPEFUL[self.key][2] if self.key in HOPEFUL else None, takes_self=True),
    )


def of_power(study: Study, electrics: Electrics) -> tuple[Default, ...]:
    """What decided volts, shorts and detection."""
    tracks = electrics.grid.tracks
    if not tracks:
        return ()
    layout = study.layout
    homes = {home for block in tracks if (home := electrics.feeding.supply.get(block)) is not None}
    fed = [study.wiring.fed[block] for block in tracks]
    types = {one.type.name: one.type for one in fed if one.type is not None and one.channel is not None}
    boards = {one.board.name for one in fed if one.board is not None}
    series = [name for name, kind in types.items() if kind.sensing == "series"]
    harnesses = {str(layout.blocks[block].harness) for block in tracks}
    seen = {str(layout.blocks[one.block.name].harness) for one in fed if one.channel is not None}
    jointed = [name for name in harnesses if layout.harnesses[name].segment_m]
    contacts = {isolator.name for one in fed for isolator in one.isolators}
    panels = {panel.name for name in contacts if (panel := panel_of(layout, layout.isolators[name])) is not None}
    found = [
        *_zero(study, "boosters", "resistance", Booster, {layout.districts[home].booster for home in homes}),
        *_boosters(study, "trip", homes),
        *_each(study, "board_types", "sensing", [name for name in series if types[name].drop_v], BoardType, str),
        *_each(study, "boards", "feed", boards, Board, lambda _: "none"),
        *_each(study, "panels", "from_board", panels, Panel, lambda _: "none"),
        *_each(study, "panels", "to_bus", panels, Panel, lambda _: "none"),
        *_each(study, "board_types", "drop", series, BoardType, _volts, "left out of its data sheet's entry"),
        *_zero(study, "harnesses", "joint_resistance", Harness, jointed),
        *_zero(study, "isolators", "contact_resistance", Isolator, contacts),
        *_copper(study, electrics),
        *_limit(study, "conductor_temperature", Celsius),
        *_dry(study, seen),
        *_states(study, [electrics.operation]),
        *_places(study, [electrics.operation]),
    ]
    found += _along(study, tracks)
    if electrics.loaded.asleep:
        found += _each(study, "loads", "asleep", [one.name for one in layout.loads.values() if one.locomotive], Load)
    if electrics.probe is not None:
        boosters = [layout.boosters[layout.districts[home].booster].voltage_v for home in homes]
        kept = [(1 - layout.limits.voltage_drop) * volts for volts in boosters]
        least = layout.least_voltage_v
        if any(least is None or volts >= least for volts in kept):
            found += _limit(study, "voltage_drop", Fraction)
        if least is not None and any(volts < least for volts in kept):
            found += _limit(study, "minimum_voltage", Volts, least)
    return tuple(found)


def of_budget(study: Study, operations: Sequence[Operation], sizes: Iterable[str]) -> tuple[Default, ...]:
    """What decided currents against limits in some operations. ``sizes`` are the conductors that carry something."""
    return (
        *_boosters(study, "current", study.layout.districts),
        *_limit(study, "headroom", Fraction),
        *_states(study, operations),
        *_tables(study, sizes),
    )


def of_wake(study: Study, operation: Operation, districts: Iterable[str]) -> tuple[Default, ...]:
    """What decided the stages of some districts in an operation."""
    homes, now = tuple(districts), [operation]
    return (*_boosters(study, "trip", homes), *_boosters(study, "delay", homes), *_states(study, now)) if homes else ()


def hopeful(study: Study, electrics: Electrics) -> tuple[Default, ...]:
    """What decided a verdict, as usual or in a scenario, and may be worse than it was taken."""
    found = [one for one in of_power(study, electrics) if one.worse is not None and not one.key.startswith("trains")]
    found += _states(study, study.operations)
    found += _places(study, study.operations) if electrics.grid.tracks else ()
    return tuple(found)


def laxer(layout: Layout) -> tuple[Laxer, ...]:
    """The limits by which the layout forgives more than their defaults would."""
    plain, kinds, found = evolve(layout, limits=Limits()), key_kinds(Limits), list[Laxer]()
    imperial = layout.about.units == "imperial"
    for name, field in fields_dict(Limits).items():
        key = field.metadata["toml"]
        given, default = (
            one.least_voltage_v if key == "minimum_voltage" else getattr(one.limits, name) for one in (layout, plain)
        )
        if given is None or default is None or given == default or (given < default) == (key in LARGER_IS_LAXER):
            continue
        dimension = next((DIMENSIONS[one] for one in (kinds[name], *get_args(kinds[name])) if one in DIMENSIONS), None)
        found.append(
            Laxer(
                key, *(f"{one:g}" if dimension is None else show(one, dimension, imperial) for one in (given, default))
            )
        )
    return tuple(found)


def _along(study: Study, tracks: Iterable[str]) -> Iterator[Default]:
    """The leads that were taken along the chain of joints."""
    on = {*tracks}
    found = {name: one.lead_m for name, one in taken(study.wiring).items() if name in on}
    if found:
        least, most = (_shown(study, one, Metres) for one in (min(found.values()), max(found.values())))
        value = least if least == most else f"{least} to {most}"
        yield Default("blocks.*.lead", value, "along the joints: lead and length of the block before", tuple(found))


def _shown(study: Study, value: float, kind: object) -> str:
    """A quantity in the layout's own units."""
    return show(value, DIMENSIONS[kind], study.layout.about.units == "imperial")


def _volts(value: float) -> str:
    return show(value, DIMENSIONS[Volts])


def _left_out(study: Study, table: str, name: str, key: str) -> bool:
    """Whether a named table says nothing of a key; of a contact of a rotary switch, that switch."""
    selector = selector_of(study.layout, name) if table == "isolators" else None
    if selector is not None:
        table, name = "selectors", selector.name
    return key not in study.wiring.document.values.get(table, {}).get(name, {})


def _field(cls: type, key: str) -> Any:
    return next(field for field in fields_dict(cls).values() if field.metadata["toml"] == key)


def _zero(study: Study, table: str, key: str, cls: type, names: Iterable[str]) -> Iterator[Default]:
    yield from _each(study, table, key, names, cls, lambda value: show(value, DIMENSIONS[Ohms]))


def _amperes(value: float) -> str:
    return show(value, DIMENSIONS[Amperes])


def _each(
    study: Study,
    table: str,
    key: str,
    names: Iterable[str],
    cls: type,
    told: Callable[[Any], str] = _amperes,
    why: str | None = None,
) -> Iterator[Default]:
    """A key of some tables that has the same default in each of them."""
    without = sorted({name for name in names if _left_out(study, table, name, key)}, key=natural_key)
    if without:
        field = _field(cls, key)
        yield Default(f"{table}.*.{key}", told(field.default), why or field.metadata["why"], tuple(without))


def _boosters(study: Study, key: str, homes: Iterable[str]) -> Iterator[Default]:
    """``current``, ``trip`` or ``delay`` of districts that take their booster's, those of one value together."""
    attribute, kind = {
        "current": ("current_a", Amperes),
        "trip": ("trip_a", Amperes),
        "delay": ("delay_s", Seconds),
    }[key]
    groups: dict[tuple[str, str], list[str]] = {}
    for name in sorted(homes, key=natural_key):
        home = study.layout.districts[name]
        booster = study.layout.boosters.get(home.booster)
        value = getattr(booster, attribute) if booster is not None else None
        if getattr(home, attribute) is None and value is not None:
            groups.setdefault((show(value, DIMENSIONS[kind]), str(home.booster)), []).append(name)
    for (value, booster_name), names in groups.items():
        yield Default(f"districts.*.{key}", value, f"that of its booster {booster_name}", tuple(names))


def _limit(study: Study, key: str, kind: object, value: float | None = None) -> Iterator[Default]:
    if key not in study.wiring.document.values.get("limits", {}):
        field = _field(Limits, key)
        told = _shown(study, field.default if value is None else value, kind)
        yield Default(f"limits.{key}", told, field.metadata["why"])


def _states(study: Study, operations: Iterable[Operation]) -> Iterator[Default]:
    """What vehicles do that draw a current, of which the layout does not say it."""
    layout, trains = study.layout, set[str]()
    for operation in operations:
        told = layout.scenarios[operation.scenario].states if operation.scenario is not None else {}
        trains |= {one.train for one in operation.trains if one.train not in told and _draws(layout, one.train)}
    silent = [name for name in trains if _left_out(study, "trains", name, "state")]
    yield from _each(study, "trains", "state", silent, Train, str)
    districts = study.wiring.document.values.get("districts", {})
    homes = [
        name
        for name in layout.districts
        if any("state" not in one for one in districts.get(name, {}).get("expects", ()))
    ]
    if homes:
        field = _field(Expected, "state")
        homes.sort(key=natural_key)
        yield Default("districts.*.expects.state", field.default, field.metadata["why"], tuple(homes))


def _draws(layout: Layout, train: str) -> bool:
    """Whether anything in a train has a current, which depends on what it does."""
    loads = [layout.loads[name] for name in layout.trains[train].vehicles if name in layout.loads]
    return any(one.idle_a is not None or one.running_a is not None or one.stalled_a is not None for one in loads)


def _places(study: Study, operations: Iterable[Operation]) -> Iterator[Default]:
    """The trains of which the layout does not say where in their block they stand."""
    placed = {one.train for operation in operations for one in operation.trains}
    middle = sorted((name for name in placed if study.layout.trains[name].offset_m is None), key=natural_key)
    if middle:
        yield Default("trains.*.offset", "the middle of its block", "left out", tuple(middle))


def _copper(study: Study, electrics: Electrics) -> Iterator[Default]:
    """The wires and sizes whose resistance is that of the size."""
    for size in sorted({run.size for run in electrics.grid.runs}, key=natural_key):
        wire, ohm_per_m = study.layout.wires.get(size), conductor_ohm_per_m(study.layout, size)
        if ohm_per_m is not None and (wire is None or wire.resistance_ohm_per_m is None):
            told = _shown(study, ohm_per_m, OhmsPerMetre)
            yield Default("wires.*.resistance", told, f"copper of {size if wire is None else wire.size}", (size,))


def _dry(study: Study, harnesses: Iterable[str]) -> Iterator[Default]:
    """The harnesses of whose roadbed nothing is known: under dcc the cable alone is counted, where that is known."""
    layout, dry = study.layout, list[str]()
    for name in sorted(harnesses, key=natural_key):
        if layout.harnesses[name].capacitance_f_per_m is None:
            continue
        rail = layout.rails.get(str(layout.harnesses[name].rail))
        if (rail.leakage_ohm_m if rail is not None else layout.harnesses[name].leakage_ohm_m) is None:
            dry.append(name)
    if dry and layout.about.control == "dcc":
        yield Default("harnesses.*.leakage", "none", "left out: only the cable counts for an empty block", tuple(dry))


def _tables(study: Study, sizes: Iterable[str]) -> Iterator[Default]:
    """What conductors may carry by a table, since the layout does not say it."""
    for size in sorted(set(sizes), key=natural_key):
        wire, limit = study.layout.wires.get(size), conductor_limit(study, size)
        if limit is not None and (wire is None or wire.current_a is None):
            told = "at least " * limit.bound + show(limit.amperes, DIMENSIONS[Amperes])
            yield Default("wires.*.current", told, limit.source, (size,))
