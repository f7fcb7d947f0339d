"""The label and panel sheets, printed: the bar is as long as it says, and the holes are where they should be."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from blockcheck import api
from blockcheck.answers.workshop.panel import PanelAnswer
from blockcheck.answers.workshop.wires import WireList
from blockcheck.formats.labels import LabelSheet, labels_html, labels_svg, sheet_count, sheet_of
from blockcheck.formats.panel import panel_html, panel_svg
from blockcheck.formats.paper import PAPERS, Size
from tests.outside.browser import BOXES, opened, overlaps
from tests.outside.printed import Printer, crosses, lines, scale_bars, size_mm

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NEAR_MM = 0.2
TENS = [10.0 * step for step in range(11)]
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def press(browser: Browser) -> Printer:
    return Printer(browser)


@pytest.fixture(scope="module")
def wire_list() -> WireList:
    return api.wires(api.load(EXAMPLES / "small-yard" / "yard.toml"))


def panel_of(name: str, pitch_mm: float, columns: int = 10) -> PanelAnswer:
    return api.panel(api.load(EXAMPLES / name), f"{pitch_mm} mm", columns)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_label_sheet_prints_true(press: Printer, wire_list: WireList, paper: str) -> None:
    size = Size(*PAPERS[paper])
    sheet = sheet_of(size, start=5)
    pages = press.pages(labels_html(wire_list, sheet))
    assert len(pages) == sheet_count(wire_list, sheet)
    for page in pages:
        assert size_mm(page) == pytest.approx((size.width, size.height), abs=NEAR_MM)
        assert len(scale_bars(page)) == 1
        assert scale_bars(page)[0] == pytest.approx(TENS, abs=NEAR_MM)


def test_labels_stand_where_the_sheet_says(wire_list: WireList) -> None:
    sheet = sheet_of(Size(210, 297), "40x20", "3x1", "7x9", start=5)
    assert (sheet.columns, sheet.rows) == (4, 13)  # 7 + 4 x 40 + 3 x 3 of 210 mm, 9 + 13 x 20 + 12 of 297 mm
    cuts = boxes(wire_list, sheet, 1)
    assert cuts[0] == (7.0, 30.0, 40.0, 20.0)  # the fifth is the first of the second row
    assert cuts[1] == (50.0, 30.0, 40.0, 20.0)
    assert len(cuts) == 4 * 13 - 4
    counts = [len(boxes(wire_list, sheet, number)) for number in range(1, sheet_count(wire_list, sheet) + 1)]
    assert sum(counts) == wire_list.sums.labels


def boxes(answer: WireList, sheet: LabelSheet, number: int) -> list[tuple[float, ...]]:
    drawing = ElementTree.fromstring(labels_svg(answer, sheet, number))
    return [
        tuple(float(one.attrib[key]) for key in ("x", "y", "width", "height"))
        for one in drawing.iter(f"{SVG}rect")
        if one.attrib.get("class") == "cut"
    ]


def test_every_label_is_printed_once_and_fits(wire_list: WireList) -> None:
    sheet = sheet_of(Size(210, 297), "25x10", outline=False)
    told: list[str] = []
    for number in range(1, sheet_count(wire_list, sheet) + 1):
        for group in ElementTree.fromstring(labels_svg(wire_list, sheet, number)).iter(f"{SVG}g"):
            here, there = (group.find(f"{SVG}text[@class='{name}']") for name in ("end", "far"))
            if here is None or there is None:
                continue
            told.append(f"{here.text} {there.text}")
            for line in (here, there):
                # no sign of a monospaced face is wider than 0.61 of its size
                assert len(str(line.text)) * 0.61 * float(line.attrib["font-size"]) <= 25 - 2 + 1e-3
    assert told == [end.label for piece in wire_list.pieces for end in (piece.start, piece.end)]


def test_a_panel_on_one_sheet_prints_true(press: Printer) -> None:
    answer = panel_of("club-yard/club.toml", 25)
    first, second = (page for page in press.pages(panel_html(answer, Size(210, 297))) if scale_bars(page))
    for drawing, plate in ((first, answer.plates[0]), (second, answer.plates[1])):
        assert size_mm(drawing) == pytest.approx((297, 210), abs=NEAR_MM)  # lying, for the first is wider than high
        assert [bar == pytest.approx(TENS, abs=NEAR_MM) for bar in scale_bars(drawing)] == [True]
        found = crosses(drawing)
        assert len(found) == len(plate.holes)
        upright, level = plate.height_mm, plate.width_mm
        left = min(line.x0 for line in lines(drawing) if line.upright and abs(line.length - upright) < NEAR_MM)
        bottom = min(line.y0 for line in lines(drawing) if line.level and abs(line.length - level) < NEAR_MM)
        wanted = sorted((left + hole.x_mm, bottom + hole.y_mm) for hole in plate.holes)
        for (x, y), (should_x, should_y) in zip(sorted(found), wanted, strict=True):
            assert x == pytest.approx(should_x, abs=NEAR_MM)
            assert y == pytest.approx(should_y, abs=NEAR_MM)


LARGE = """
[panels.fascia]
rows = [["I1-I5"], ["I6"]]
pitch = "80 mm"
row_pitch = "190 mm"
size = ["600 mm", "420 mm"]
"""


def test_a_large_panel_is_laid_together_from_sheets(press: Printer) -> None:
    """Laid at their places, all sheets say the same of every hole, and none is without one."""
    text = (EXAMPLES / "small-yard" / "yard.toml").read_text("utf-8")
    study = api.loads(text.replace('panel = "Ropewalk, one below the other"', 'panel = "fascia"') + LARGE)
    answer = api.panel(study)
    sheets = [page for page in press.pages(panel_html(answer, Size(210, 297))) if scale_bars(page)]
    found: dict[tuple[int, int], set[int]] = {}
    (plate,) = answer.plates
    for number, page in enumerate(sheets):
        assert all(bar == pytest.approx(TENS, abs=NEAR_MM) for bar in scale_bars(page))
        width, height = size_mm(page)
        own = [(x, y) for x, y in crosses(page) if 6 < x < width - 6 and 22 < y < height - 6]
        assert own, "a sheet without a hole"
        xs, ys = sorted({x for x, _ in own}), sorted({y for _, y in own})
        assert all(two - one == pytest.approx(80, abs=NEAR_MM) for one, two in pairwise(xs))
        assert all(two - one == pytest.approx(190, abs=NEAR_MM) for one, two in pairwise(ys))
        for x, y in own:
            found.setdefault((round(x), round(y)), set()).add(number)
    assert 2 <= len(sheets) <= 6
    assert sum(map(len, found.values())) >= len(plate.holes)


def test_the_drawing_says_its_size_in_millimetres() -> None:
    answer = panel_of("dc-yard/yard.toml", 30)
    drawing = ElementTree.fromstring(panel_svg(answer, 12.0))
    width, height = (float(drawing.attrib[side].removesuffix("mm")) for side in ("width", "height"))
    assert drawing.attrib["viewBox"] == f"0 0 {drawing.attrib['width'][:-2]} {drawing.attrib['height'][:-2]}"
    assert width >= answer.plates[0].width_mm
    assert height >= answer.plates[0].height_mm
    assert [float(one.attrib["r"]) for one in drawing.iter(f"{SVG}circle")] == [6.0] * len(answer.holes)


@pytest.mark.parametrize("name", ["club-yard/club.toml", "dc-yard/yard.toml"])
@pytest.mark.parametrize("pitch_mm", [15.0, 25.0, 60.0])
def test_no_legend_stands_on_another(press: Printer, name: str, pitch_mm: float, tmp_path: Path) -> None:
    path = tmp_path / "panel.html"
    path.write_text(panel_html(panel_of(name, pitch_mm), Size(900, 600), 6.0), "utf-8")
    with opened(press.browser, path) as page:
        assert overlaps(page.evaluate(BOXES)) == []


@pytest.mark.parametrize("size", ["38x12", "20x8", "60x25"])
def test_no_label_runs_into_another(press: Printer, size: str, tmp_path: Path) -> None:
    answer = api.wires(api.load(EXAMPLES / "club-yard" / "club.toml"))
    path = tmp_path / "labels.html"
    path.write_text(labels_html(answer, sheet_of(Size(210, 297), size, "0x0")), "utf-8")
    with opened(press.browser, path) as page:
        assert overlaps(page.evaluate(BOXES)) == []
