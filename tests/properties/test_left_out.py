"""A bound that fails is a failure: a datum that can save nothing, whatever it is, is not waited for.

Each case of the rules on volts and amperes is checked with a datum as it is, at both ends of what it could be, and
without it. Where the finding stands at both ends, it stands without; else nothing is passed over in silence.
"""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

import blockcheck
from tests.properties.less import Place, places, without

CASES = Path(__file__).parent.parent / "rules"
TODAY = date(2031, 6, 1)
RULES = (
    "vehicle-unseen",
    "short-will-not-trip",
    "voltage-drop",
    "inrush-lockout",
    "wire-over-current",
    "channel-over-current",
    "contact-over-current",
    "district-over-current",
    "booster-over-current",
)
FEED = {"wire": "best", "length": "1 mm"}, {"wire": "worst", "length": "10 m"}
WIRE = "best", "worst"
AMPERES = "1 mA", "500 A"
ENDS: dict[tuple[str, str], tuple[Any, Any]] = {
    ("districts", "feed"): FEED,
    **{("harnesses", key): WIRE for key in ("bus", "common", "feeder", "rail")},
    ("harnesses", "lead"): ("0 m", "100 m"),
    ("harnesses", "feeder_length"): ("0 m", "10 m"),
    ("harnesses", "feeder_spacing"): ("1 cm", "100 m"),
    ("blocks", "length"): ("1 cm", "50 m"),
    ("boosters", "trip"): AMPERES,
    ("boosters", "delay"): ("0 s", "100 s"),
    ("loads", "capacitance"): ("0 F", "1 F"),
    **{("loads", key): ("0 A", "9 A") for key in ("idle", "running")},
    ("board_types", "channel_current"): AMPERES,
    ("isolators", "rating"): AMPERES,
}
"""Table and key -> the least and the most that it could be."""


def data(values: dict[str, Any]) -> list[Place]:
    """The data of a layout that may be left out."""
    return [place for place in places(values) if len(place) == 3 and (str(place[0]), str(place[2])) in ENDS]


def found(values: dict[str, Any], rule: str) -> tuple[set[str], dict[str, str]]:
    """The subjects that a rule finds fault with; those that it cannot judge, and for want of what."""
    ends = {"wires": {"best": {"size": "900 mm2"}, "worst": {"size": "0.01 mm2"}}}
    ends["rails"] = {"best": {"resistance": "0.001 mohm/m"}, "worst": {"resistance": "10 ohm/m"}}
    whole = {**values, **{table: {**values.get(table, {}), **more} for table, more in ends.items()}}
    answer = blockcheck.check(blockcheck.loads(tomli_w.dumps(whole), "case.toml"), TODAY)
    faults = {name for one in answer.findings if one.rule == rule for name in (one.subject, *one.alike)}
    return faults, {one.subject: " ".join(one.needs) for one in answer.unchecked if one.rule == rule}


def at_an_end(values: dict[str, Any], place: Place, end: int) -> dict[str, Any]:
    """A layout with a datum at an end of what it could be; no block ends before its last drop."""
    table, name, key = map(str, place)
    value = ENDS[table, key][end]
    drops = values[table][name].get("feeders_at", ["0 m"])
    if (key, end) == ("length", 0) and drops[-1] != "0 m":
        value = drops[-1]
    return {**values, table: {**values[table], name: {**values[table][name], key: value}}}


def holds(path: Path, place: Place) -> None:
    values, rule = tomllib.loads(path.read_text("utf-8")), path.parent.name
    told, lacks = found(without(values, [place]), rule)
    ends = [found(at_an_end(values, place, end), rule)[0] for end in (0, 1)]
    for subject in found(values, rule)[0]:
        assert subject in told or subject in lacks or str(place[2]) in " ".join(lacks.values()), subject
        if all(subject in end for end in ends):
            assert subject in told, f"{subject} fails, whatever it is"


def every() -> list[tuple[Path, Place]]:
    """The cases and what may be left out of each, but for the idle current by which a vehicle is meant to be seen, and
    for those of which two data would be missing."""
    paths = (path for rule in RULES for path in sorted((CASES / rule).glob("bad*.toml")))
    cases = [(path, place) for path in paths for place in data(tomllib.loads(path.read_text("utf-8")))]
    two = CASES / "voltage-drop" / "bad-5.toml"
    return [one for one in cases if (one[0].parent.name, one[1][2]) != ("vehicle-unseen", "idle") and one[0] != two]


@settings(max_examples=settings().max_examples // 8)  # each is four layouts
@given(st.sampled_from(every()))
def test_a_datum_that_cannot_save_is_not_waited_for(case: tuple[Path, Place]) -> None:
    holds(*case)
