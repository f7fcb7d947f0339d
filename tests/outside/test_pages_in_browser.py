"""Every page in a browser: it asks for nothing, complains of nothing, reads on a phone, and prints.

A page is opened once for all that is asked of it. Of the windows, the schemes and the papers each page has its turn of
one, so that all of them are tried; ``BLOCKCHECK_PAGES=all`` tries every page in every one, and axe on the long book.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
from collections.abc import Iterator, Sequence
from itertools import pairwise, product
from pathlib import Path
from typing import Any, Literal, NamedTuple, TypeVar

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page
from pypdf import PageObject, PdfReader

from blockcheck.__main__ import main
from blockcheck.answers.document import Document
from blockcheck.answers.tables import Table
from blockcheck.formats.html import document_html
from tests.outside.browser import A4, BOXES, COLOURS, LETTER, opened, overlaps

ROOT = Path(__file__).resolve().parents[2]
SMALL = "examples/small-yard/yard.toml"
CLUB, FAULTY, OWN = "examples/club-yard/club.toml", "examples/faulty-yard/yard.toml", "own.toml"
BEFORE, AFTER = "examples/growing-yard/before.toml", "examples/growing-yard/after.toml"
FULL = ("wires", "book", "book-small", "bench")
"""Pages of which no sheet but the last of a part is less than a third full, and no heading stands without rows."""
PAGES = {
    # name: the call, words that must be on paper, sheets of paper at most
    "check": (f"check {FAULTY}", ["channel D1.7 is given to S7 and S8", "Where it stands", "yard.toml:62:11"], 6),
    "check-of-nothing": (f"check {CLUB}", ["no errors", "Accepted", "the pilot is called out at any time"], 4),
    "check-refused": ("check README.md", ["could not be understood"], 2),
    "channels": (f"channels {CLUB}", ["Channel map", "D2.15", "weighbridge"], 3),
    "isolate": (f"isolate {CLUB} lower:3-7", ["takes power from", "What it frees", "Caution", "open"], 5),
    "isolate-not-meant": (f"isolate {FAULTY} S4", ["Not meant", "S1 loses power and detection through I4"], 4),
    "budget": (f"budget {CLUB}", ['in scenario "show"', "of its limit", "Caution"], 6),
    "power": (f"power {CLUB}", ["The worst place of every block", "weighbridge", "Caution"], 3),
    "wake": (f"wake {CLUB}", ["booster on (what no isolator puts to sleep)", "Caution"], 3),
    "compare": (f"compare {BEFORE} {AFTER}", ["cut it and bring both ends to I1", "Tests to repeat", "Caution"], 8),
    "compare-found": (f"compare {FAULTY} {AFTER}", ["Findings that go", "channel-shared", "Caution"], 16),
    "wires": (f"wires {CLUB}", ["D1:1-10 > I1-10:in", "To buy", "Harness saltings", "Joint 4, at 4.8 m", "Caution"], 8),
    "wires-totals": (f"wires {CLUB} --only totals", ["Bonding short pieces", "10 % is added"], 2),
    "where": (f"where {CLUB} lower", ["Where lower leads", "And back", "Next test", "Caution"], 2),
    "book": (f"book {CLUB}", ["Wiring record", "Contents", "Handed over", "joint_resistance", "Caution"], 30),
    "book-small": (f"book {SMALL}", ["Wiring record", "Changed since"], 10),
    "bench": (f"bench {CLUB}", ["Live: power on", "What the sheet does not see", "Caution"], 7),
    "explain": ("explain --all", ["The rules of blockcheck", "gap-missing", "Breaks it", "Keeps it"], 70),
    "explain-rule": ("explain gap-missing", ["P1 and P2 meet without a gap", "Keeps it"], 2),
    "explain-key": ("explain blocks", ["Lines to copy", "feeders_at"], 2),
    "book-faulty": (f"book {FAULTY}", ["clay is 2.74 m long, and S6 has 2.6 m", "Findings"], 20),
}


WIDTHS = (390, 820, 1280)
SETTINGS: tuple[tuple[int, Literal["dark", "light"]], ...] = tuple(product((390, 768, 1440), ("dark", "light")))
PAPERS = (("A4", A4), ("Letter", LETTER))
MEDIA: tuple[Literal["print", "screen"], ...] = ("screen", "print")
T = TypeVar("T")


def turn(name: str, of: Sequence[T]) -> Sequence[T]:
    """What a page is tried in."""
    return of if os.environ.get("BLOCKCHECK_PAGES") == "all" else (of[list(PAGES).index(name) % len(of)],)


@pytest.fixture(scope="module", params=PAGES)
def made(request: pytest.FixtureRequest, browser: Browser, tmp_path_factory: Any) -> Iterator[tuple[str, Page]]:
    """A page, opened."""
    name = str(request.param)
    path = tmp_path_factory.mktemp("pages") / f"{name}.html"
    path.write_text(written(f"{PAGES[name][0]} --format html"), "utf-8")
    with opened(browser, path) as page:
        yield name, page


def written(call: str) -> str:
    """What a command prints."""
    printed = io.TextIOWrapper(io.BytesIO(), "utf-8", newline="")
    with contextlib.chdir(ROOT), contextlib.redirect_stdout(printed):
        main(shlex.split(call))
    printed.seek(0)
    return printed.read()


def shown(
    page: Page,
    width: int = 1280,
    medium: Literal["print", "screen"] = "screen",
    scheme: Literal["dark", "light"] = "light",
) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(media=medium, color_scheme=scheme)


def test_a_page_fits_its_window_and_no_text_stands_on_another(made: tuple[str, Page]) -> None:
    name, page = made
    for width in {WIDTHS[0], *turn(name, WIDTHS)}:
        shown(page, width)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        boxes = page.evaluate(BOXES)
        assert len(boxes) > 5
        assert overlaps(boxes) == []


def test_a_page_reads_without_good_eyes_or_colour(made: tuple[str, Page]) -> None:
    """On the screen of a phone and on paper: WCAG 2.2 AA, 1.4.3, for every text on what it stands on."""
    _, page = made
    shown(page, 390)
    drawn = page.evaluate(
        "[...document.querySelectorAll('figure.drawing:not(.paper) svg')].map(one => one.clientWidth)"
    )
    assert all(width >= 190 / 25.4 * 96 - 1 for width in drawn), "a drawing is not shrunk, it is scrolled"
    for medium in MEDIA:
        shown(page, 390, medium)
        for one in page.evaluate(COLOURS):
            assert contrast(one["ink"], one["ground"]) >= 4.5, (medium, one)
            assert medium == "print" or one["drawn"] or one["size"] >= 12, one


def contrast(ink: str, ground: str) -> float:
    """WCAG 2.2, contrast ratio."""

    def luminance(colour: str) -> float:
        channels = [int(one) / 255 for one in re.findall(r"\d+", colour)[:3]]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(ink), luminance(ground)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_axe_finds_nothing(made: tuple[str, Page]) -> None:
    """WCAG 2.2 AA and the best practice of axe-core, in windows of three sizes, where the system is dark or light."""
    name, page = made
    settings = turn(name, SETTINGS)
    for width, scheme in settings if name != "book" or len(settings) > 1 else ():  # its parts are in other pages too
        shown(page, width, scheme=scheme)
        found = Axe().run(page).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == [], (width, scheme)


@pytest.mark.parametrize("call", [f"wires {SMALL} --format labels-html", f"panel {SMALL} --format html"])
def test_axe_finds_nothing_on_sheets_of_paper(browser: Browser, call: str, tmp_path: Path) -> None:
    path = tmp_path / "sheets.html"
    path.write_text(written(call), "utf-8")
    with opened(browser, path, 390) as page:
        page.emulate_media(color_scheme="dark")
        assert [one["id"] for one in Axe().run(page).response["violations"]] == []


def test_a_page_is_dark_where_the_system_is_and_light_on_paper(made: tuple[str, Page]) -> None:
    _, page = made
    for medium, ground in zip(MEDIA, ("rgb(20, 24, 27)", "rgb(255, 255, 255)"), strict=True):
        shown(page, 1280, medium, "dark")
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == ground


def test_every_link_leads_somewhere_in_the_page(made: tuple[str, Page]) -> None:
    name, page = made
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map(one => one.id)")
    links = page.evaluate("[...document.querySelectorAll('a')].map(one => one.getAttribute('href'))")
    assert len(ids) == len(set(ids))
    assert all(link[:1] == "#" and link[1:] in ids for link in links)
    if name in ("check", "book", "book-faulty"):
        assert links
    tables = page.evaluate("[...document.querySelectorAll('th:not([scope])')].length")
    assert tables == 0, "a heading of a table that does not say what it heads"


def test_nothing_sticks_out_of_the_paper(made: tuple[str, Page]) -> None:
    """What the narrower paper, A4, leaves between margins of 15 mm: 180 mm, at 96 CSS pixels an inch."""
    _, page = made
    width = int(180 / 25.4 * 96)
    shown(page, width, "print")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert overlaps(page.evaluate(BOXES)) == []


def test_a_page_prints(made: tuple[str, Page], tmp_path: Path) -> None:
    name, page = made
    shown(page, medium="print")
    for paper, size in PAPERS if name in FULL and name != "book" else turn(name, PAPERS):
        page.pdf(path=tmp_path / "page.pdf", format=paper)
        prints(name, PdfReader(tmp_path / "page.pdf"), size)


def prints(name: str, printed: PdfReader, size: tuple[float, float]) -> None:
    """Its words, on no more sheets than it may have, each of its size, numbered, full, and without a heading alone."""
    _, words, most = PAGES[name]
    assert 1 <= len(printed.pages) <= most
    text = []
    for number, sheet in enumerate(printed.pages, 1):
        assert sorted(map(float, sheet.mediabox[2:])) == pytest.approx(sorted(size), abs=1.5)
        text.append(flat(sheet.extract_text()))
        assert f"page {number} of {len(printed.pages)}" in text[-1]
    for word in words:
        assert flat(word) in " ".join(text), word
    if name in FULL:
        sheets = [lines_of(one) for one in printed.pages]
        for number, (lines, following) in enumerate(pairwise(sheets), 1):
            deep = max(line.down for line in lines)
            assert deep > 1 / 3 or following[0].heads, f"sheet {number} is {deep:.0%} full"
        for number, lines in enumerate(sheets, 1):
            for line in (one for one in lines if one.heads):
                below = {round(one.down, 3) for one in lines if one.down > line.down + 0.01}
                assert len(below) >= 2, f"sheet {number}: {line.text} stands without two rows"


class Line(NamedTuple):
    """A text on a sheet: how far down its line is, as a share of the sheet, and whether it is a heading."""

    down: float
    heads: bool
    text: str


def lines_of(sheet: PageObject) -> list[Line]:
    """The texts of a sheet in the order of the file, without those of its margin."""
    found: list[Line] = []
    high = float(sheet.mediabox[3])

    def visit(text: str, cm: list[float], tm: list[float], font: Any, size: float) -> None:
        down = 1 - (tm[4] * cm[1] + tm[5] * cm[3] + cm[5]) / high
        if text.strip() and down < 1 - 13 / 25.4 * 72 / high:
            bold = font is not None and "Bold" in str(font.get("/BaseFont"))
            found.append(Line(down, bold and abs(size * tm[3] * cm[3]) > 10.2, text.strip()))

    sheet.extract_text(visitor_text=visit)
    return found


def flat(text: str) -> str:
    return " ".join(text.split())


def test_on_paper_headers_are_repeated_and_no_row_is_cut_in_two(browser: Browser, tmp_path: Path) -> None:
    rows = [(f"first{n} second{n} third{n} " + "and more " * (n % 40), n) for n in range(150)]
    path = tmp_path / "long.html"
    path.write_text(document_html(Document("Long", "Table", (Table("Rows", ("wordsheading", "n"), rows),))), "utf-8")
    with opened(browser, path) as page:
        page.pdf(path=tmp_path / "long.pdf", format="A4")
    sheets = [flat(sheet.extract_text()) for sheet in PdfReader(tmp_path / "long.pdf").pages]
    assert len(sheets) > 3
    assert all("wordsheading" in sheet for sheet in sheets)
    for n, (words, _) in enumerate(rows):
        home = [sheet for sheet in sheets if f"first{n} " in sheet]
        assert len(home) == 1
        assert flat(words) in home[0], n


def test_the_test_for_overlaps_finds_one(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "bad.html"
    path.write_text("<!DOCTYPE html><link rel=icon href='data:,'><p>one<p style='margin-top:-1.5em'>two", "utf-8")
    with opened(browser, path) as page:
        assert overlaps(page.evaluate(BOXES)) == [("one", "two")]
