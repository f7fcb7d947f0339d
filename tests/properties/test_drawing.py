"""What holds of every drawing: each block once, no text on another, the same each time, well-formed."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from blockcheck import api
from blockcheck.answers.draw import Drawing
from blockcheck.core.shown import unseen
from blockcheck.drawing.shapes import short
from blockcheck.formats.svg import drawing_svg
from tests.drawings import labels_that_overlap
from tests.properties.layouts import Values, layouts, load

SIGNS = st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp"))
NAME = st.text(SIGNS, min_size=1, max_size=60).filter(lambda text: unseen(text) is None)  # what else is refused
GAPS = st.sampled_from(["detected", "both", "common", "none"])
ENDS = st.sampled_from(["near", "far"])


@st.composite
def networks(draw: st.DrawFn) -> Values:
    """Track of any shape: yards, chains, loops, triangles, blocks that meet themselves or each other twice."""
    count = draw(st.integers(1, 30))
    names = [f"{draw(st.sampled_from(['S', 'main-', 'the-long-siding-behind-the-hill-']))}{n}" for n in range(count)]
    blocks: Values = {}
    for number, name in enumerate(names):
        body: Values = {"channel": f"D1.{number + 1}"}
        if draw(st.booleans()):
            body["group"] = draw(st.sampled_from(["lower", "upper"]))
        if draw(st.integers(0, 3)) == 0:
            body["isolator"] = f"I{number}"
        blocks[name] = body
    one = st.sampled_from(names)
    fan = draw(st.lists(one, max_size=40, unique=True))
    pairs = [(names[0], other) for other in fan] + draw(st.lists(st.tuples(one, one), max_size=40))
    meetings = {  # one where two ends meet, for the rails are cut there one way
        frozenset(zip(pair, ends, strict=True)): {"blocks": list(pair), "gap": draw(GAPS), "ends": ends}
        for pair in pairs
        for ends in ([draw(ENDS), draw(ENDS)],)
    }
    joints = list(meetings.values())
    turnouts: dict[str, Any] = {}
    for number in range(draw(st.integers(0, 8))):
        turnouts[f"T{number}"] = {"block": draw(one), "through": draw(one), "diverging": draw(one)}
    return {
        "format": 1,
        "layout": {"name": draw(NAME), "control": "dcc"},
        "boosters": {"B1": {"voltage": "14 V", "current": "3 A"}},
        "districts": {"main": {"booster": "B1"}},
        "board_types": {"large": {"channels": 64, "threshold": "1 mA"}},
        "boards": {"D1": {"type": "large"}},
        "blocks": blocks,
        "isolators": {body["isolator"]: {} for body in blocks.values() if "isolator" in body},
        "joints": joints,
        "turnouts": turnouts,
    }


def hold(drawing: Drawing, blocks: set[str]) -> None:
    shown = [box.name for box in drawing.boxes if box.kind == "block"]
    told = " ".join(label.text for label in drawing.labels if label.kind == "told")
    assert len(shown) == len({*shown})
    assert all(short(name, 28) in told or "more that could not" in told for name in blocks - {*shown})
    assert {line.name for line in drawing.lines if line.of == "block"} == blocks
    assert labels_that_overlap(drawing) == []
    assert min(label.size_mm for label in drawing.labels) >= 2.2
    extents = [box.extent for box in drawing.boxes] + [label.extent for label in drawing.labels]
    for left, top, right, bottom in extents:
        assert min(left, top) >= 0
        assert right <= drawing.width_mm + 0.06  # coordinates are rounded
        assert bottom <= drawing.height_mm
        page = drawing.page_mm
        assert top // page == (bottom - 0.06) // page, "it lies across the edge of a sheet"


@settings(max_examples=settings().max_examples // 3)  # each is large
@given(networks())
def test_any_track_is_drawn(values: Values) -> None:
    case = load(values)
    drawing = api.draw(case)
    hold(drawing, {*case.layout.blocks})
    text = drawing_svg(drawing)
    ET.fromstring(text)
    assert drawing_svg(api.draw(load(values))) == text


@settings(max_examples=settings().max_examples // 2)
@given(layouts(), st.data())
def test_any_wiring_is_drawn_in_any_state(values: Values, data: st.DataObject) -> None:
    case = load(values)
    able = [name for name, one in case.layout.isolators.items() if one.contact == "on-off" or one.centre_off]
    opened = data.draw(st.sampled_from([None, *able]))
    drawing = api.draw(case, opened=opened)
    hold(drawing, {*case.layout.blocks})
    ET.fromstring(drawing_svg(drawing))
    words = [label.text for label in drawing.labels if label.kind == "word"]
    assert opened is None or words
