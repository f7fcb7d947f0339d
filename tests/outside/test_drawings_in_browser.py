"""Drawings as a browser shows them: nothing overlaps, nothing is fetched, and they print on one sheet of A4."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from pypdf import PdfReader

from blockcheck import api
from blockcheck.formats.svg import drawing_svg
from tests.outside.browser import BOXES, COLOURS, opened, overlaps
from tests.outside.test_pages_in_browser import contrast

ROOT = Path(__file__).resolve().parents[2]
LAYOUTS = Path(__file__).resolve().parent / "drawings"
EXAMPLES = [
    ROOT / "examples" / name
    for name in ("small-yard/yard.toml", "club-yard/club.toml", "dc-yard/yard.toml", "faulty-yard/yard.toml")
]
OTHERS = sorted(LAYOUTS.glob("*.toml"))
ON_A4 = "<style>@page {{ size: A4 {}; margin: 10mm }} body {{ margin: 0 }} svg {{ display: block }}</style>"
BEYOND = """() => {
  const sheet = document.querySelector("svg").getBoundingClientRect();
  return [...document.querySelectorAll("text, rect, polyline, polygon")].filter(one => {
    const box = one.getBoundingClientRect();
    const wide = one.matches("polyline") ? parseFloat(getComputedStyle(one).strokeWidth) * one.getScreenCTM().a : 0;
    const [left, right] = [box.left - wide / 2, box.right + wide / 2];
    return left < sheet.left || right > sheet.right || box.top < sheet.top || box.bottom > sheet.bottom;
  }).map(one => one.outerHTML);
}"""
"""What lies outside the sheet."""
SIZES = """() => {
  const scale = document.querySelector("svg").getScreenCTM().a / 96 * 25.4;
  return [...document.querySelectorAll("text")].map(one => scale * parseFloat(getComputedStyle(one).fontSize));
}"""
"""The size of every text as it is shown, in millimetres."""


def states() -> list[tuple[Path, str | None, str | None]]:
    found: list[tuple[Path, str | None, str | None]] = []
    for path in (*EXAMPLES, *OTHERS):
        found += [(path, one.scenario, None) for one in api.load(path).operations]
    return [*found, (EXAMPLES[0], None, "1-2"), (EXAMPLES[1], "show", "upper")]


def named(value: object) -> str:
    return f"{value.parent.name}/{value.name}" if isinstance(value, Path) else str(value)


@pytest.mark.parametrize(("path", "scenario", "open_"), states(), ids=named)
def test_no_text_stands_on_another(
    browser: Browser, path: Path, scenario: str | None, open_: str | None, tmp_path: Path
) -> None:
    page_file = tmp_path / "page.html"
    page_file.write_text(
        f"<!doctype html><meta charset=utf-8>{drawing_svg(api.draw(api.load(path), scenario, open_))}", "utf-8"
    )
    with opened(browser, page_file) as page:
        boxes = page.evaluate(BOXES)
        assert len(boxes) > 20
        assert overlaps(boxes, 0.3) == []
        assert page.evaluate(BEYOND) == []
        for one in page.evaluate(COLOURS):
            assert contrast(one["ink"], one["ground"]) >= 7, one  # WCAG 2.2 AAA: it is read from paper, under a bench


@pytest.mark.parametrize("path", [*EXAMPLES, LAYOUTS / "yard-of-24.toml"], ids=named)
def test_it_prints_on_paper_large_enough_to_read(browser: Browser, path: Path, tmp_path: Path) -> None:
    drawing = api.draw(api.load(path))
    page_file = tmp_path / "page.html"
    head = ON_A4.format("landscape" if drawing.lying else "")
    page_file.write_text(f"<!doctype html><meta charset=utf-8>{head}{drawing_svg(drawing)}", "utf-8")
    with opened(browser, page_file) as page:
        page.pdf(path=tmp_path / "page.pdf", prefer_css_page_size=True)
        assert min(page.evaluate(SIZES)) >= 2.2
    assert len(PdfReader(tmp_path / "page.pdf").pages) == drawing.sheets
    assert drawing.width_mm == (277 if drawing.lying else 190)
    assert drawing.sheets <= 2


def test_a_drawing_is_a_file_by_itself(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "yard.svg"
    path.write_text(drawing_svg(api.draw(api.load(EXAMPLES[0]))), "utf-8")
    with opened(browser, path) as page:
        assert page.evaluate("document.documentElement.getAttribute('role')") == "group"
        assert page.evaluate("document.title") == "Ropewalk sidings: schematic of track and feeds"


@pytest.mark.parametrize("path", EXAMPLES, ids=named)
def test_the_same_bytes_wherever_it_is_drawn(path: Path, tmp_path: Path) -> None:
    def drawn(seed: str, folder: Path, name: Path) -> bytes:
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        command = [sys.executable, "-m", "blockcheck", "draw", str(name)]
        return subprocess.run(command, cwd=folder, env=environment, check=True, capture_output=True).stdout

    assert drawn("1", ROOT, path.relative_to(ROOT)) == drawn("2", tmp_path, path)
