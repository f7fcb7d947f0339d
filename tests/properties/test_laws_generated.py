"""The laws of the language on layouts at random: ranges are what they stand for, order is nothing, values have places.

What a range stands for is worked out here from the description of the language, not with the reader's own code.
"""

from __future__ import annotations

import json
import random
import tempfile
from pathlib import Path
from typing import Any

import tomli_w
from attrs import frozen
from hypothesis import given
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.core.errors import CallError
from blockcheck.formats.programs import json_v1
from tests.properties.layouts import Draw, Values, layouts, load

PLACED = ("line", "column")


def answers(values: Values) -> list[str]:
    """Every answer of the main job as JSON, without lines, columns, and edits of them."""
    case = load(values)
    checked = api.check(case).to_dict()
    for finding in checked["findings"]:
        del finding["edits"]
        for part in (finding, *finding["related"]):
            for key in PLACED:
                del part[key]
    found = [json.dumps(checked), json_v1.answer_json(api.channels(case))]
    for name in case.wiring.meant:
        try:
            found.append(json_v1.answer_json(api.isolate(case, name)))
        except CallError as error:
            found.append(str(error))
    return found


@st.composite
def plain_joints(draw: st.DrawFn) -> Values:
    """A layout in which two blocks meet once: which of two joints a frog's leg crosses, nothing tells."""
    values = draw(layouts())
    pairs = {frozenset(joint["blocks"]): joint for joint in values.get("joints", ())}
    return {**values, "joints": list(pairs.values())} if pairs else values


def shuffled(value: Any, dice: random.Random) -> Any:
    """Tables, keys and joints in another order; other lists keep theirs, which means something."""
    if not isinstance(value, dict):
        return value
    keys = list(value)
    dice.shuffle(keys)
    other = {key: shuffled(value[key], dice) for key in keys}
    if isinstance(other.get("joints"), list):
        other["joints"] = dice.sample(other["joints"], len(other["joints"]))
    return other


@given(plain_joints(), st.integers(0, 999))
def test_order_is_nothing(values: Values, number: int) -> None:
    assert answers(shuffled(values, random.Random(number))) == answers(values)


@frozen
class Both:
    """A layout with ranges, the same written out by hand, and where each value of the second stands in the first.

    ``origin`` maps table, name and key to the written table's name, None standing for what is in no range.
    """

    ranged: Values
    plain: Values
    origin: dict[tuple[str, str, str], str]


@st.composite
def ranged_layouts(draw: st.DrawFn) -> Both:
    """A yard of ranges, refined here and there, with each range's names counted out one by one."""
    pick = Draw(draw)
    count, width = pick.number(1, 4), pick.of(1, 1, 2)
    first = pick.number(1, 3)

    def names(prefix: str, low: int, many: int = count) -> list[str]:
        return [f"{prefix}{number:0{width}d}" for number in range(low, low + many)]

    def span(prefix: str, low: int) -> str:
        every = names(prefix, low)
        return f"{every[0]}-{pick.of('', prefix)}{every[-1].removeprefix(prefix)}"

    head: Values = {
        "format": 1,
        "layout": {"name": "Sedge Halt", "control": pick.of("dcc", "dc")},
        "boosters": {"B1": {"voltage": "14 V", "current": "3 A"}},
        "districts": {"east": {"booster": "B1"}},
        "board_types": {"eight": {"channels": 8, "bank_size": 4, "threshold": "1.5 mA"}},
        "boards": {"D1": {"type": "eight"}},
        "loads": {"shunter": {"locomotive": True, "idle": "90 mA", "length": "0.2 m"}},
        "harnesses": {"yard": {"colours": {"detected": ["red", "blue", "green"]}}},
    }
    ranged, plain = dict(head), dict(head)
    origin: dict[tuple[str, str, str], str] = {}
    tables: dict[str, tuple[Values, Values]] = {}

    def table(
        kind: str, written: str, shared: Values, dealt: dict[str, tuple[Any, list[Any]]], low: int, prefix: str
    ) -> None:
        short, long = tables.setdefault(kind, ({}, {}))
        body = {**shared, **{key: text for key, (text, _) in dealt.items()}}
        refined = pick.number(0, count - 1) if pick.one_in(2) else None
        each = names(prefix, low)
        extra = {"blocks": {"length": "7.5 m"}, "isolators": {"rating": "5 A"}}.get(kind, {})
        refinement = extra if refined is not None else {}
        before = bool(refinement) and pick.of(False, True)
        if before and refined is not None:
            short[each[refined]] = refinement
        short[written] = body
        if refinement and not before and refined is not None:
            short[each[refined]] = refinement
        # the order in which the names first appear is that of the file
        order = ([refined] if before and refined is not None else []) + list(range(count))
        for place in dict.fromkeys(order):
            mine = {**shared, **{key: every[place] for key, (_, every) in dealt.items()}}
            origin.update({(kind, each[place], key): written for key in mine})
            if place == refined:
                mine.update(refinement)
                origin.update({(kind, each[place], key): each[place] for key in refinement})
            long[each[place]] = mine

    blocks, switches = span("S", first), span("I", first)
    channels = [f"D1.{number}" for number in range(2, 2 + count)]
    side = pick.of("after-detector", "after-detector", "common-rail", "before-detector")
    table(
        "blocks",
        blocks,
        {"kind": "storage", "length": "3 m", "harness": "yard", "group": "a-1"},
        {
            "channel": (f"D1.2-{1 + count}", channels),
            "isolator": (switches, names("I", first)),
            **({"track": (f"11-{10 + count}", list(range(11, 11 + count)))} if pick.one_in(2) else {}),
        },
        first,
        "S",
    )
    intent = {"isolates": ([blocks], [[name] for name in names("S", first)])} if pick.one_in(2) else {}
    table("isolators", switches, {"side": side, "panel": "rows 1-4"}, intent, first, "I")
    table(
        "turnouts",
        span("T", first),
        {"block": "neck", "frog": pick.of("switched", "insulated"), "frog_gaps": pick.of(True, False)},
        {"diverging": (blocks, names("S", first))},
        first,
        "T",
    )
    table(
        "trains",
        span("goods", first),
        {"vehicles": {"shunter": 1}},
        {"at": (blocks, names("S", first))},
        first,
        "goods",
    )
    gap = pick.of("detected", "detected", "both", "none")
    ends = ["neck", blocks], [["neck", name] for name in names("S", first)]
    if pick.one_in(2):  # dealt out in step: each track meets a spur of its own
        spurs = names("Q", 1)
        ends = [f"{spurs[0]}-{spurs[-1]}", blocks], [list(pair) for pair in zip(spurs, names("S", first), strict=True)]
        table("blocks", f"{spurs[0]}-{spurs[-1]}", {"undetected": "spurs 1-4"}, {}, 1, "Q")
    for kind, (short, long) in tables.items():
        ranged[kind], plain[kind] = short, long
    for values in (ranged, plain):
        values["blocks"]["neck"] = {"channel": "D1.1", "kind": "throat"}
    ranged["joints"] = [{"blocks": ends[0], "gap": gap}]
    plain["joints"] = [{"blocks": pair, "gap": gap} for pair in ends[1]]
    ranged["scenarios"] = {"night": {"open": [blocks], "expect": {"dead": [blocks]}}}
    plain["scenarios"] = {"night": {"open": names("S", first), "expect": {"dead": names("S", first)}}}
    return Both(ranged, plain, origin)


@given(ranged_layouts())
def test_a_range_is_what_it_stands_for(both: Both) -> None:
    assert answers(both.ranged) == answers(both.plain)


MANY = ("blocks", "isolators", "turnouts", "trains", "joints")
"""What may stand in any of the files; the rest stays in the first."""


def line_text(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {line_text(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(line_text, value)) + "]"
    return tomli_w.dumps({"x": value}).removeprefix("x = ").strip()


def file_text(values: Values) -> str:
    """A file with a key a line, each line told from all others by the comment at its end."""
    lines = [f"{key} = {line_text(value)} # {key}" for key, value in values.items() if key not in MANY]
    for kind in (kind for kind in MANY if kind in values):
        array = isinstance(values[kind], list)
        for name, body in enumerate(values[kind]) if array else values[kind].items():
            lines.append((f"[[{kind}]]" if array else f'[{kind}."{name}"]') + f" # {kind} {name}")
            lines += [f"{key} = {line_text(value)} # {kind} {name} {key}" for key, value in body.items()]
    return "\n".join(lines) + "\n"


@st.composite
def split(draw: st.DrawFn) -> tuple[Both, list[Values]]:
    """A layout dealt out to up to three files, of which the first includes the others."""
    both, pick = draw(ranged_layouts()), Draw(draw)
    others: list[Values] = [{} for _ in range(pick.number(0, 2))]
    first: Values = {"include": [f"part{number}.toml" for number in range(len(others))]}
    first.update({key: value for key, value in both.ranged.items() if key not in MANY})
    files = [first, *others]
    for kind in MANY[:-1]:
        for name, body in both.ranged[kind].items():
            pick.of(*files).setdefault(kind, {})[name] = body
    pick.of(*files)["joints"] = both.ranged["joints"]
    return both, files


@given(split())
def test_every_value_knows_its_file_and_line(case_and_files: tuple[Both, list[Values]]) -> None:
    both, files = case_and_files
    names = ["yard.toml", *(f"part{number}.toml" for number in range(len(files) - 1))]
    with tempfile.TemporaryDirectory() as folder:
        for name, values in zip(names, files, strict=True):
            (Path(folder) / name).write_text(file_text(values), "utf-8")
        document = api.load(Path(folder) / "yard.toml").wiring.document
    of = {
        (kind, str(one)): name
        for name, values in zip(names, files, strict=True)
        for kind in MANY[:-1]
        for one in values.get(kind, {})
    }
    for kind in MANY[:-1]:
        assert document.values[kind].keys() == both.plain[kind].keys()
        for name, body in both.plain[kind].items():
            assert document.values[kind][name].keys() == body.keys()
            for key in body:
                home = both.origin.get((kind, name, key), name)
                value, word = (document.place((kind, name, key), key=one) for one in (False, True))
                for place in (value, word):
                    assert place.source.endswith(f" # {kind} {home} {key}"), (kind, name, key)
                    assert Path(place.file).name == of[kind, home]
                assert value.source[value.column - 1 : value.end_column - 1] == line_text(both.ranged[kind][home][key])
                assert word.source[word.column - 1 : word.end_column - 1] == key
    for index, joint in enumerate(both.plain["joints"]):
        for key in joint:
            assert document.place(("joints", index, key)).source.endswith(f" # joints 0 {key}")


def test_of_two_ways_as_short_the_same_one_is_shown() -> None:
    """S2 finds its return by S1 and by S3 alike; which joint is written first decides nothing."""
    joints = [{"blocks": pair, "gap": "detected"} for pair in (["S1", "S2"], ["S2", "S3"])]
    values: Values = {
        "format": 1,
        "layout": {"name": "Sedge Halt", "control": "dcc"},
        "boosters": {"B1": {"voltage": "14 V", "current": "3 A"}},
        "districts": {"east": {"booster": "B1"}},
        "board_types": {"eight": {"channels": 8, "threshold": "1.5 mA"}},
        "boards": {"D1": {"type": "eight"}},
        "blocks": {
            "S1": {"channel": "D1.1"},
            "S2": {"channel": "D1.2", "isolator": "I2"},
            "S3": {"channel": "D1.3", "isolator": "I3"},
        },
        "isolators": {"I2": {"side": "common-rail"}, "I3": {"side": "common-rail"}},
    }
    assert answers({**values, "joints": joints[::-1]}) == answers({**values, "joints": joints})
