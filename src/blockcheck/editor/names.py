"""Which keys name what: the tables that the names at a place of the language stand in."""

from __future__ import annotations

from collections.abc import Mapping

_CONTROLS = ("isolators", "turnouts", "selectors")
_SELECTED = ("blocks", "isolators")

NAMED: Mapping[tuple[str, ...], tuple[str, ...]] = {
    # a step of * is a name, or the number of an item; a key that ends in () is itself a name
    ("districts", "*", "booster"): ("boosters",),
    ("districts", "*", "feed", "wire"): ("wires",),
    ("districts", "*", "expects", "load"): ("loads",),
    ("boards", "*", "type"): ("board_types",),
    ("boards", "*", "banks"): ("districts",),
    ("boards", "*", "feed", "wire"): ("wires",),
    ("harnesses", "*", "bus"): ("wires",),
    ("harnesses", "*", "common"): ("wires",),
    ("harnesses", "*", "feeder"): ("wires",),
    ("harnesses", "*", "rail"): ("rails",),
    ("runs", "*", "wire"): ("wires",),
    ("blocks", "*", "channel"): ("boards",),
    ("blocks", "*", "fed_through"): ("blocks", "turnouts"),
    ("blocks", "*", "district"): ("districts",),
    ("blocks", "*", "isolator"): ("isolators",),
    ("blocks", "*", "harness"): ("harnesses",),
    ("isolators", "*", "isolates"): ("blocks",),
    ("isolators", "*", "usually"): ("districts",),
    ("isolators", "*", "between"): ("districts",),
    ("isolators", "*", "panel"): ("panels",),
    ("selectors", "*", "tracks"): ("blocks",),
    ("selectors", "*", "usually"): ("blocks",),
    ("selectors", "*", "panel"): ("panels",),
    ("panels", "*", "wire"): ("wires",),
    ("panels", "*", "rows"): ("isolators", "selectors"),
    ("joints", "blocks"): ("blocks",),
    ("turnouts", "*", "block"): ("blocks",),
    ("turnouts", "*", "toe"): ("blocks", "turnouts"),
    ("turnouts", "*", "through"): ("blocks", "turnouts"),
    ("turnouts", "*", "diverging"): ("blocks", "turnouts"),
    ("turnouts", "*", "frog_wire", "wire"): ("wires",),
    ("interlocks", "controls"): _CONTROLS,
    ("interlocks", "never", "()"): _CONTROLS,
    ("interlocks", "never", "*"): ("districts", "blocks"),
    ("trains", "*", "vehicles", "()"): ("loads",),
    ("trains", "*", "at"): ("blocks",),
    ("scenarios", "*", "open"): _SELECTED,
    ("scenarios", "*", "closed"): _SELECTED,
    ("scenarios", "*", "set", "()"): _CONTROLS,
    ("scenarios", "*", "set", "*"): ("districts", "blocks"),
    ("scenarios", "*", "at", "()"): ("trains",),
    ("scenarios", "*", "at", "*"): ("blocks",),
    ("scenarios", "*", "states", "()"): ("trains",),
    ("scenarios", "*", "expect", "dead"): ("blocks",),
    ("scenarios", "*", "expect", "lit"): ("blocks",),
    ("scenarios", "*", "expect", "occupied"): ("blocks",),
    ("scenarios", "*", "expect", "clear"): ("blocks",),
    ("accept", "where"): ("blocks", "isolators", "districts", "boards", "boosters", "turnouts", "trains", "scenarios"),
}


def tables_named(path: tuple[str, ...], key: bool = False) -> tuple[str, ...]:
    """The tables whose names stand at a path of the language, whose list items are left out of it.

    ``key``: those that a key below it names.
    """
    wanted = (*path, "()") if key else path
    for pattern, tables in NAMED.items():
        if len(pattern) == len(wanted) and all(
            one in ("*", two) and (one != "*" or two != "()") for one, two in zip(pattern, wanted, strict=True)
        ):
            return tables
    return ()
