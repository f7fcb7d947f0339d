"""What a drawing shows, and that nothing on it lies on anything else."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from jsonschema import Draft7Validator
from tests.drawings import labels_that_overlap

from blockcheck import api
from blockcheck.__main__ import main
from blockcheck.answers.draw import Drawing
from blockcheck.core.errors import CallError
from blockcheck.drawing.names import compact
from blockcheck.drawing.shapes import Line, short, text_width
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
    """What is written of a block, by kind."""
    found: dict[str, list[str]] = {}
    for label in drawing.labels:
        if (label.of, label.name) == ("block", block):
            found.setdefault(label.kind, []).append(label.text)
    return found


def lines(drawing: Drawing, of: str, name: str, *kinds: str) -> list[Line]:
    return [one for one in drawing.lines if (one.of, one.name) == (of, name) and (not kinds or one.kind in kinds)]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_block_of_an_example_stands_there_once(name: str) -> None:
    drawing = example(name)
    blocks = sorted(box.name for box in drawing.boxes if box.kind == "block")
    assert blocks == sorted(api.load(ROOT / "examples" / name).layout.blocks)
    assert labels_that_overlap(drawing) == []


def test_a_block_is_told_with_its_track_channel_and_isolator() -> None:
    assert beside(example("small-yard/yard.toml"), "R3") == {
        "name": ["R3"],
        "channel": ["D1.3"],
        "switch": ["I3"],
    }


def test_a_state_is_told_by_word_and_line() -> None:
    drawing = example("small-yard/yard.toml", opened="1-2")
    assert beside(drawing, "R1")["switch"] == ["I1 open"]
    assert beside(drawing, "R1")["word"] == ["off, blind"]
    assert beside(drawing, "R3")["word"] == ["on"]
    assert [line.state for line in lines(drawing, "block", "R1", "track")] == ["off"]
    assert [line.state for line in lines(drawing, "block", "R3", "track")] == ["on"]
    assert {line.state for line in lines(drawing, "block", "neck", "track")} == {"on"}
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
    marks = {name: beside(drawing, name).get("mark") for name in ("S6", "S7", "S8", "S4", "S1", "E1")}
    assert marks == {"S6": ["5"], "S7": ["1"], "S8": ["1"], "S4": ["4"], "S1": ["4"], "E1": None}
    assert "2 district-over-current" in texts(drawing, "mark")  # at the feed of the shed
    assert [one for one in texts(drawing, "mark") if "error" in one] == [
        "1 error  channel-shared",
        "2 error  district-over-current",
        "3 error  gap-missing",
        "4 error  isolation-overreach",
        "5 error  train-too-long",
    ]
    ringed = [line.name for line in drawing.lines if line.kind == "ringed"]  # the joint, and the sign that explains it
    case = api.load(ROOT / "examples/faulty-yard/yard.toml")
    assert [[*map(str, case.layout.joints[int(name)].blocks)] for name in ringed if name] == [["ladder", "S5"]]
    assert ringed.count(None) == 1


@pytest.mark.parametrize(
    ("gap", "sides"), [("detected", [-1, -1]), ("both", [-1, -1, 1, 1]), ("common", [1, 1]), ("none", [])]
)
def test_a_joint_shows_which_rail_is_cut(gap: str, sides: list[int]) -> None:
    """Over the line the detected rail is cut, under it the common one."""
    drawing = drawn(f'blocks.A1-A2 = {{ channel = "D1.1-2" }}\n[[joints]]\nblocks = ["A1", "A2"]\ngap = "{gap}"\n')
    cuts = lines(drawing, "joint", "0", "cut")
    assert sorted(1 if cut.points[1][1] > cut.points[0][1] else -1 for cut in cuts) == sides
    assert len(lines(drawing, "joint", "0", "joint")) == (gap == "none")


def test_points_show_the_leg_that_they_are_set_for() -> None:
    case = ROOT / "examples/club-yard/club.toml"
    usual, show = api.draw(api.load(case)), api.draw(api.load(case), "show")

    def level(drawing: Drawing, name: str) -> bool:
        ((_, y), (_, v)) = lines(drawing, "turnout", name, "set")[0].points
        return y == v

    assert [level(usual, name) for name in ("W1", "W2", "E2")] == [False, False, False]
    assert [level(show, name) for name in ("W1", "W2", "E2")] == [True, False, True]


def test_guessed_points_are_dashed_and_told() -> None:
    drawing = drawn(
        'blocks.n = { channel = "D1.1" }\nblocks.A1-A3 = { channel = "D1.2-4" }\n'
        '[[joints]]\nblocks = ["n", "A1-A3"]\ngap = "both"\n'
    )
    assert len([line for line in drawing.lines if line.kind == "guessed"]) == 3  # two, and the sign that explains it
    assert any("Turnouts at n are guessed" in text for text in texts(drawing, "told"))


def test_districts_are_bands_behind_the_track_where_there_are_several() -> None:
    drawing = example("club-yard/club.toml")
    bands = {line.kind for line in drawing.lines if line.of == "district"}
    assert bands == {"tint-0", "hatch-0", "tint-1", "hatch-1"}
    assert not [line for line in example("small-yard/yard.toml").lines if line.of == "district"]


def test_a_block_that_meets_itself_is_told() -> None:
    drawing = drawn(
        'blocks.A1-A2 = { channel = "D1.1-2" }\n[[joints]]\nblocks = ["A1", "A2"]\ngap = "both"\n'
        '[[joints]]\nblocks = ["A2", "A2"]\ngap = "both"\nends = ["far", "far"]\n'
    )
    assert texts(drawing, "told") == ["A2 (far) meets A2 (far), but nothing is free there: see its turnouts."]


def test_a_very_large_layout_flows_over_sheets() -> None:
    blocks = 'blocks.A1-A60 = { channel = "D1.1-60" }\n'
    throat = 'blocks.neck = { channel = "D1.61", kind = "throat" }\n'
    drawing = drawn(f'{blocks}{throat}[[joints]]\nblocks = ["neck", "A1-A60"]\ngap = "detected"\n')
    assert drawing.sheets > 1
    assert labels_that_overlap(drawing) == []
    assert {box.name for box in drawing.boxes if box.kind == "block"} == {"neck", *(f"A{n}" for n in range(1, 61))}
    for box in drawing.boxes:
        page = drawing.page_mm
        assert box.y_mm // page == (box.y_mm + box.height_mm) // page, "it lies across the edge of a sheet"
    assert min(label.size_mm for label in drawing.labels) >= 2.2


def test_every_part_can_be_pointed_at() -> None:
    drawing = example("club-yard/club.toml")
    root = ET.fromstring(drawing_svg(drawing))
    groups = {(one.get("data-kind"), one.get("data-name")): one for one in root.iter(f"{SVG}g")}
    layout = api.load(ROOT / "examples/club-yard/club.toml").layout
    assert {("block", name) for name in layout.blocks} | {("turnout", name) for name in layout.turnouts} <= {*groups}
    assert {("joint", str(number)) for number in range(len(layout.joints))} <= {*groups}
    assert groups["block", "S3"].findtext(f"{SVG}title") == "block S3: S3, D1.3, I3"
    assert "10 tracks between W1 and E1" in (root.findtext(f"{SVG}desc") or "")


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
    assert root.get("role") == "group"
    assert root.get("width", "").endswith("mm")
    assert root.get("viewBox") == f"0 0 {root.get('width', '')[:-2]} {root.get('height', '')[:-2]}"
    assert [one.tag for one in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert all(one.get("data-name") for one in root.iter() if one.get("id"))  # no place but those of things
    assert {one.tag.removeprefix(SVG) for one in root.iter()} <= {
        "svg", "g", "title", "desc", "style", "rect", "polyline", "polygon", "text"
    }  # fmt: skip
    assert "url(" not in text
    assert text.count("http") == 1  # the namespace
    style = root.findtext(f"{SVG}style") or ""
    assert all(line.strip().startswith((".bc-drawing", "@media screen", "}")) for line in style.strip().splitlines())


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


def test_text_is_measured_with_caution() -> None:
    # advance widths of Helvetica (Adobe's font metrics): M 0.833, i 0.222, 0 0.556 of the size
    for sign, least in (("M", 0.833), ("i", 0.222), ("0", 0.556)):
        assert text_width(sign * 10, 2.5) >= 10 * least * 2.5
    assert text_width("M", 1, bold=True) > text_width("M", 1)
