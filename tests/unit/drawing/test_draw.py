"""What a drawing shows, and that nothing on it lies on anything else."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest
from jsonschema import Draft7Validator
from tests.drawings import labels_that_overlap

from blockcheck import api
from blockcheck.__main__ import main
from blockcheck.answers.draw import Drawing
from blockcheck.core.errors import CallError
from blockcheck.drawing.columns import spread
from blockcheck.drawing.flow import PAGE_MM
from blockcheck.drawing.names import compact
from blockcheck.drawing.shapes import short, text_width
from blockcheck.formats.svg import drawing_svg
from blockcheck.text.includes import shipped

ROOT = Path(__file__).resolve().parents[3]
SVG = "{http://www.w3.org/2000/svg}"
EXAMPLES = (
    "small-yard/yard.toml",
    "club-yard/club.toml",
    "dc-yard/yard.toml",
    "faulty-yard/yard.toml",
    "turning-line/line.toml",
)
HEAD = """format = 1
layout = { name = "Sedge Halt", control = "dcc" }
boosters.B1 = { voltage = "15 V", current = "4 A" }
districts.main = { booster = "B1" }
board_types.big = { channels = 64, threshold = "1 mA" }
boards.D1 = { type = "big" }
rules.channel-unused = "off"
"""


def drawn(text: str, scenario: str | None = None, opened: str | None = None) -> Drawing:
    return api.draw(api.loads(HEAD + text, "yard.toml"), scenario, opened)


def example(name: str, scenario: str | None = None, opened: str | None = None) -> Drawing:
    return api.draw(api.load(ROOT / "examples" / name), scenario, opened)


def texts(drawing: Drawing, kind: str) -> list[str]:
    return [label.text for label in drawing.labels if label.kind == kind]


def area(drawing: Drawing, block: str) -> tuple[float, float, float, float]:
    (found,) = (box.extent for box in drawing.boxes if box.kind == "block" and box.name == block)
    return found


def beside(drawing: Drawing, block: str) -> dict[str, list[str]]:
    """What is written in the area of a block, by kind."""
    left, top, right, bottom = area(drawing, block)
    found: dict[str, list[str]] = {}
    for label in drawing.labels:
        x, y, end, low = label.extent
        if left - 0.01 <= x and end <= right + 0.01 and top - 0.01 <= y and low <= bottom + 0.01:
            found.setdefault(label.kind, []).append(label.text)
    return found


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_block_of_an_example_stands_there_once(name: str) -> None:
    drawing = example(name)
    blocks = sorted(box.name for box in drawing.boxes if box.kind == "block")
    assert blocks == sorted(api.load(ROOT / "examples" / name).layout.blocks)
    assert labels_that_overlap(drawing) == []


def test_a_block_is_told_with_its_track_channel_and_isolator() -> None:
    assert beside(example("small-yard/yard.toml"), "R3") == {
        "name": ["R3"],
        "track": ["track 3"],
        "channel": ["D1.3"],
        "switch": ["I3"],
    }


def test_a_state_is_told_by_word_and_line() -> None:
    drawing = example("small-yard/yard.toml", opened="1-2")
    assert beside(drawing, "R1")["switch"] == ["I1 open"]
    assert beside(drawing, "R1")["word"] == ["off, blind"]
    assert beside(drawing, "R3")["word"] == ["on"]
    rails = [line.state for line in drawing.lines if line.kind == "detected" and line.state]
    assert rails.count("off") == 3  # two tracks, and the sign that explains it
    assert drawing.opened == ("I1", "I2")
    held = example("club-yard/club.toml", scenario="night")
    assert beside(held, "Q1")["word"] == ["trickle, held"]


def test_unknown_states_are_refused() -> None:
    with pytest.raises(CallError, match="no scenario"):
        example("small-yard/yard.toml", scenario="evening")
    with pytest.raises(CallError, match="no track 9"):
        example("small-yard/yard.toml", opened="9")


def test_findings_are_marked_where_they_are_and_listed() -> None:
    drawing = example("faulty-yard/yard.toml")
    assert beside(drawing, "S6")["mark"] == ["5 train-too-long"]
    assert beside(drawing, "S7")["mark"] == beside(drawing, "S8")["mark"] == ["1 channel-shared"]
    assert beside(drawing, "S4")["mark"] == beside(drawing, "S1")["mark"] == ["4 isolation-overreach"]
    assert "2 district-over-current" in texts(drawing, "mark")  # at the feed of the shed
    assert [one for one in texts(drawing, "mark") if "error" in one] == [
        "1 error  channel-shared",
        "2 error  district-over-current",
        "3 error  gap-missing",
        "4 error  isolation-overreach",
        "5 error  train-too-long",
    ]
    (ring, _) = (line for line in drawing.lines if line.kind == "ringed")  # the joint, and the sign that explains it
    left, top, *_ = area(drawing, "S5")
    assert all(abs(x - left) < 6 and 0 < y - top < 9 for x, y in ring.points)


@pytest.mark.parametrize(
    ("gap", "cuts"), [("detected", [0, 1]), ("both", [0, 0, 1, 1]), ("common", [0, 1]), ("none", [])]
)
def test_a_joint_shows_which_rail_is_cut(gap: str, cuts: list[int]) -> None:
    drawing = drawn(f'blocks.A1-A2 = {{ channel = "D1.1-2" }}\n[[joints]]\nblocks = ["A1", "A2"]\ngap = "{gap}"\n')
    top = area(drawing, "A1")[1]
    joint = [line for line in drawing.lines if line.kind == "cut" and line.points[0][1] < top + 10]
    assert len(joint) == len(cuts)
    middle = [(line.points[0][1] + line.points[1][1]) / 2 - top for line in joint]
    rails = {"detected": {4.4}, "common": {6.0}, "both": {4.4, 6.0}, "none": set[float]()}[gap]
    assert {round(one, 1) for one in middle} == rails


def test_a_yard_lies_between_its_throats() -> None:
    drawing = example("club-yard/club.toml")
    west, east = area(drawing, "saltings-west"), area(drawing, "saltings-east")
    tracks = [area(drawing, f"S{number}") for number in range(1, 11)]
    assert all(west[2] < track[0] and track[2] < east[0] for track in tracks)
    assert len({(track[0], track[2]) for track in tracks}) == 1
    steps = {round(below[1] - above[1], 2) for above, below in pairwise(tracks)}
    assert len(steps) == 1


def test_a_line_is_a_chain_and_a_loop_is_closed() -> None:
    joints = "".join(f'[[joints]]\nblocks = ["L{n}", "L{n % 4 + 1}"]\ngap = "both"\n' for n in range(1, 5))
    drawing = drawn(f'blocks.L1-L4 = {{ channel = "D1.1-4" }}\n{joints}')
    places = [area(drawing, f"L{number}") for number in range(1, 5)]
    assert len({place[1] for place in places}) == 1
    assert all(before[2] < after[0] for before, after in pairwise(places))
    back = max((line for line in drawing.lines if line.kind == "lead"), key=lambda line: len(line.points))
    ends = [x for x, _ in back.points]
    assert min(ends) < places[0][0]
    assert places[-1][2] < max(ends)
    assert "tag" not in {label.kind for label in drawing.labels}


def test_a_reversing_loop_names_what_it_leads_to() -> None:
    drawing = drawn(
        'blocks.A1-A2 = { channel = "D1.1-2" }\n[[joints]]\nblocks = ["A1", "A2"]\ngap = "both"\n'
        '[[joints]]\nblocks = ["A2", "A2"]\ngap = "both"\nends = ["far", "far"]\n'
    )
    assert "to its own end" in texts(drawing, "tag")


def test_a_block_that_meets_itself_and_another_is_drawn() -> None:
    drawing = drawn(
        'blocks.A1-A2 = { channel = "D1.1-2" }\n[[joints]]\nblocks = ["A1", "A1"]\ngap = "both"\n'
        '[[joints]]\nblocks = ["A1", "A2"]\ngap = "both"\nends = ["near", "near"]\n'
    )
    assert texts(drawing, "tag") == ["to its own end", "to its own end"]


def test_a_yard_of_24_tracks_is_on_one_sheet_and_its_feeds_on_the_next() -> None:
    drawing = drawn((ROOT / "tests/outside/drawings/yard-of-24.toml").read_text("utf-8").partition("# track\n")[2])
    assert (drawing.width_mm, drawing.sheets) == (190, 2)
    places = [box.extent for box in drawing.boxes if box.kind == "block"]
    assert len(places) == 28
    assert max(place[3] for place in places) < PAGE_MM


def test_a_very_large_layout_flows_over_sheets() -> None:
    blocks = 'blocks.A1-A60 = { channel = "D1.1-60" }\n'
    throat = 'blocks.neck = { channel = "D1.61", kind = "throat" }\n'
    drawing = drawn(f'{blocks}{throat}[[joints]]\nblocks = ["neck", "A1-A60"]\ngap = "detected"\n')
    assert drawing.width_mm == 190
    assert drawing.sheets > 1
    assert labels_that_overlap(drawing) == []
    assert {box.name for box in drawing.boxes if box.kind == "block"} == {"neck", *(f"A{n}" for n in range(1, 61))}
    for box in drawing.boxes:
        assert box.y_mm // PAGE_MM == (box.y_mm + box.height_mm) // PAGE_MM, "it lies across the edge of a sheet"
    assert min(label.size_mm for label in drawing.labels) >= 2.2


def test_odd_names_are_written_as_they_are() -> None:
    odd = """<&"'>/]]>"""
    key = json.dumps(odd)
    drawing = drawn(f'[blocks]\n{key} = {{ channel = "D1.1", isolator = {key} }}\n[isolators]\n{key} = {{}}\n')
    root = ET.fromstring(drawing_svg(drawing))
    shown = [one.text for one in root.iter(f"{SVG}text")]
    assert shown.count(odd) == 4  # the block and its isolator, in the track and in the feeds
    assert labels_that_overlap(drawing) == []


@pytest.mark.parametrize(
    "name",
    ["x" * 60, "Ж" * 40, "線路" * 20, "a\u0301" * 20, "🚂🚂🚂", "W" * 28],
    ids=ascii,
)
def test_names_of_any_signs_take_no_more_than_their_room(name: str) -> None:
    key = json.dumps(name, ensure_ascii=False)
    drawing = drawn(
        f'[blocks]\n{key} = {{ channel = "D1.1" }}\nb = {{ channel = "D1.2" }}\n'
        f'[[joints]]\nblocks = [{key}, "b"]\ngap = "both"\n'
    )
    assert labels_that_overlap(drawing) == []
    ET.fromstring(drawing_svg(drawing))
    assert [box.name for box in drawing.boxes if box.kind == "block" and box.name == name] == [name]
    if len(name) > 40:
        assert any(text.startswith(f"{short(name)} is ") for text in texts(drawing, "names"))


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_svg_is_one_element_that_fits_into_a_page(name: str) -> None:
    text = drawing_svg(example(name))
    root = ET.fromstring(text)
    assert root.tag == f"{SVG}svg"
    assert root.get("role") == "img"
    assert root.get("width", "").endswith("mm")
    assert root.get("viewBox") == f"0 0 {root.get('width', '')[:-2]} {root.get('height', '')[:-2]}"
    assert [one.tag for one in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert not [one.get("id") for one in root.iter() if one.get("id")]
    assert {one.tag.removeprefix(SVG) for one in root.iter()} <= {
        "svg", "title", "desc", "style", "rect", "polyline", "polygon", "text"
    }  # fmt: skip
    assert "url(" not in text
    assert text.count("http") == 1  # the namespace
    style = root.findtext(f"{SVG}style") or ""
    assert all(line.startswith(".bc-drawing") for line in style.strip().splitlines())


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_json_is_valid(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", str(ROOT / "examples" / name), "--format", "json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    schema = json.loads((shipped("schemas") / "draw.schema.json").read_text("utf-8"))
    Draft7Validator(schema).validate(answer)
    assert answer["unit"] == "mm"


def test_it_is_written_to_a_file_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(ROOT / "examples" / EXAMPLES[0])
    drawing = tmp_path / "yard.svg"
    assert main(["draw", path, "--open", "1-2", "-o", str(drawing)]) == 0
    assert capsys.readouterr().out == f"{drawing} is written.\n"  # a drawing is nothing to read on a terminal
    assert main(["draw", path, "--open", "1-2"]) == 0
    assert drawing.read_text("utf-8") == capsys.readouterr().out
    assert main(["draw", path, "--scenario", "nigth"]) == 2
    assert "night" in capsys.readouterr().err


def test_the_drawing_in_the_readme_is_up_to_date() -> None:
    kept = ROOT / "examples" / "small-yard" / "drawing.svg"
    assert kept.read_text("utf-8") == drawing_svg(example("small-yard/yard.toml"))
    assert '<img src="examples/small-yard/drawing.svg"' in (ROOT / "README.md").read_text("utf-8")


def test_a_layout_without_blocks_is_drawn_as_such() -> None:
    drawing = drawn("")
    assert [box for box in drawing.boxes if box.kind == "block"] == []
    assert texts(drawing, "title") == ["Sedge Halt"]


def test_many_names_are_told_in_short() -> None:
    assert compact(["T1", "T2", "T3", "W7"]) == "T1–T3, W7"
    assert compact(["a", "b"]) == "a, b"
    assert compact(f"long-name-{n}x" for n in range(9)) == "long-name-0x, long-name-1x and 7 more"


def test_rows_are_as_near_to_their_wishes_as_they_can_be() -> None:
    assert spread([2, 2, 2], [1, 1, 1]) == [1, 2, 3]
    assert spread([0, None, 5], [1, 1, 1]) == [0, 1, 5]
    assert spread([0, 0], [2, 1]) == [-1, 1]


def test_text_is_measured_with_caution() -> None:
    # advance widths of Helvetica (Adobe's font metrics): M 0.833, i 0.222, 0 0.556 of the size
    for sign, least in (("M", 0.833), ("i", 0.222), ("0", 0.556)):
        assert text_width(sign * 10, 2.5) >= 10 * least * 2.5
    assert text_width("M", 1, bold=True) > text_width("M", 1)
