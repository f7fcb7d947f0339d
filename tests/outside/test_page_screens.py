"""The screens of the page in hand in Debian's chromium: sizes, light and dark, keyboard, axe-core, hostile words."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import tomli
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

import blockcheck
from tests.outside.browser import BOXES, opened, overlaps
from tests.outside.inhand import ROOT, example
from tests.outside.inhand import written as page_of

SCREENS = ("yard", "way", "tests", "findings")
TARGETS = """
  () => [...document.querySelectorAll('button, input, select, summary')].filter((one) => one.getClientRects().length
      && !one.classList.contains('unseen'))
    .map((one) => [one.textContent.trim().slice(0, 30), one.getBoundingClientRect().width,
                   one.getBoundingClientRect().height])
    .filter(([, width, height]) => width < 43.5 || height < 43.5)
"""
"""What can be touched and is smaller than 44 CSS pixels (WCAG 2.2, 2.5.5)."""
UNMEANT = "document.querySelector('[data-name=S4]').click()"
OFF = "document.querySelector('nav [data-screen=tests]').click(); document.querySelectorAll('.large button')[1].click()"


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Example -> its page, as a file."""
    folder = tmp_path_factory.mktemp("pages")

    @cache
    def written(name: str) -> Path:
        path = folder / f"{name.replace('/', '-')}.html"
        path.write_text(page_of(example(name)), "utf-8")
        return path

    return written


@contextmanager
def reloaded(browser: Browser, path: Path, width: int = 390) -> Iterator[Page]:
    """A page that may be loaded again, and asks for nothing else."""
    page = browser.new_page(viewport={"width": width, "height": 900})
    asked = set[str]()
    page.on("request", lambda request: asked.add(request.url))
    page.goto(path.as_uri())
    try:
        yield page
        page.evaluate("localStorage.clear()")
        assert {one for one in asked if not one.startswith("blob:")} == {path.as_uri()}
    finally:
        page.close()


def go(page: Page, screen: str) -> None:
    page.click(f"nav [data-screen={screen}]")


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (390, "dark"), (768, "light"), (1440, "dark")])
def test_every_screen_fits_and_has_no_violation(browser: Browser, files: Any, width: int, scheme: str) -> None:
    with opened(browser, files("faulty"), width) as page:
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        page.evaluate(UNMEANT)
        assert "not meant" in page.inner_text("[data-name=S4] .word, [data-name=S1] .word")
        for screen in SCREENS:
            go(page, screen)
            assert page.evaluate("document.documentElement.scrollWidth") <= width, screen
            assert page.evaluate(TARGETS) == [], screen
            found = Axe().run(page).response["violations"]
            assert [(one["id"], [node["html"][:120] for node in one["nodes"]][:3]) for one in found] == [], screen
        page.evaluate(OFF)
        assert "not as expected" in page.inner_text(".result")


def test_no_text_stands_on_another(browser: Browser, files: Any) -> None:
    with opened(browser, files("small"), 390) as page:
        for screen in SCREENS:
            go(page, screen)
            page.evaluate("document.querySelectorAll('.slip, .unseen').forEach((one) => one.hidden = true)")
            page.evaluate("document.querySelectorAll('header, nav').forEach((one) => one.style.position = 'static')")
            assert overlaps(page.evaluate(BOXES)) == [], screen


def test_by_keyboard_alone(browser: Browser, files: Any) -> None:
    with opened(browser, files("small"), 390) as page:

        def reach(selector: str) -> None:
            for _ in range(80):
                page.keyboard.press("Tab")
                if page.evaluate("(one) => document.activeElement.matches(one)", selector):
                    return
            raise AssertionError(f"{selector} is not reached")

        reach("[data-name=R2]")
        page.keyboard.press("Space")
        assert page.get_attribute("[data-name=R2]", "aria-pressed") == "true"
        assert page.inner_text(".answer") == "Opening I2 takes power from R2, as meant, and from nothing else."
        reach(".slip .buttons button:last-child")
        page.keyboard.press("Enter")
        assert page.is_visible("#way")
        reach(".hop.here .buttons button")
        for _ in range(4):  # nine places, live all the way
            assert page.inner_text(":focus") == "live here"
            page.keyboard.press("Enter")
        assert page.inner_text(":focus").startswith("Live at R2:drop1")
        reach("nav [data-screen=tests]")
        page.keyboard.press("Enter")
        reach(".large button")
        page.keyboard.press("Enter")
        assert page.inner_text("#progress") == "1 of 21 steps read"


def test_halving_ends_at_the_break(browser: Browser, files: Any) -> None:
    """The switch's contact is broken: live at I1:in, dead at I1:out."""
    with opened(browser, files("small"), 390) as page:
        go(page, "way")
        touches = 0
        while page.query_selector(".hop.here .buttons button"):
            here = page.inner_text(".hop.here .terminal")
            live = here in ("B1:feed", "ropewalk:feed", "D1:feed", "D1:1", "I1:in")
            page.click(f".hop.here .buttons button:has-text('{'live' if live else 'dead'} here')")
            touches += 1
        assert page.inner_text(".verdict") == "The break is between I1:in and I1:out: the switch itself."
        assert touches <= 4
        page.fill("#label", "R3:j1 > I3:out")
        page.keyboard.press("Enter")
        assert page.input_value("#to") == "R3"
        assert page.inner_text(".hop.here .terminal") == "R3:j1"
        page.fill("#label", "104")
        page.keyboard.press("Enter")
        assert page.input_value("#to") == "R4"


def test_readings_survive_a_reload_and_go_through_trace(browser: Browser, files: Any) -> None:
    study = example("small")
    with reloaded(browser, files("small")) as page:
        fault = page.evaluate(
            """() => {
              blockcheck.open("tests");
              const fault = blockcheck.faults.find((one) => one.words.startsWith("the buses of R1 and R5 are swapped"));
              const lines = blockcheck.steps.map((one) => ["[[steps]]", `id = ${JSON.stringify(one.id)}`,
                `reading = "${fault.reads.has(one.step) ? fault.reads.get(one.step) : "ok"}"`].join("\\n"));
              blockcheck.takeReadings(lines.join("\\n"));
              return fault.words;
            }"""
        )
        assert page.inner_text("#progress") == "21 of 21 steps read"
        page.reload()
        go(page, "tests")
        assert page.inner_text("#progress") == "21 of 21 steps read"
        assert fault in page.inner_text(".causes")
        with page.expect_download() as download:
            page.click("text=save readings.toml")
        text = Path(download.value.path()).read_text("utf-8")
    assert tomli.loads(text)["layout"] == "Ropewalk sidings"
    told = blockcheck.trace(study, "readings.toml", data=text)
    assert fault[1:] in " ".join(str(told).split())


def test_readings_of_an_older_file_are_told(browser: Browser, files: Any, tmp_path: Path) -> None:
    text = (ROOT / "examples" / "small-yard" / "yard.toml").read_text("utf-8")
    changed = blockcheck.loads(
        text.replace('channel = "D1.7"', 'channel = "D1.8"').replace("spare = [8]", "spare = [7]")
    )
    path = tmp_path / "page.html"
    path.write_text(files("small").read_text("utf-8"), "utf-8")
    with reloaded(browser, path) as page:
        page.evaluate(
            "blockcheck.open('tests'), blockcheck.takeReadings(blockcheck.steps.map((one) => "
            "`[[steps]]\\nid = ${JSON.stringify(one.id)}\\nreading = 'ok'`).join('\\n'))"
        )
        path.write_text(blockcheck.render(blockcheck.page(changed), "html"), "utf-8")
        page.reload()
        go(page, "tests")
        assert "The layout's files have changed since these readings." in page.inner_text(".noted")
        assert "to be read again: " in page.inner_text(".noted")
        assert page.inner_text("#progress") != "21 of 21 steps read"


SPLITS = """
(words) => {
  const fault = blockcheck.faults.find((one) => one.words.startsWith(words));
  const { steps, taken } = blockcheck, stages = [];
  for (let asked = 0; asked < steps.length && document.querySelector(".said").hidden; asked += 1) {
    const one = steps.find(({ title }) => title === document.querySelector(".step h3").textContent);
    const reads = fault?.reads.get(one.step);
    stages.push(one.stage + (document.querySelector(".setup") ? ", set up" : ""));
    if (reads === undefined) document.querySelector(".large button").click();
    else if (document.querySelector(".large button + button")) document.querySelector(".large button + button").click();
    else {
      const text = typeof reads === "number" ? `${reads} ohm` : reads.replace("+", `${one.names} `);
      document.querySelector("#reading").value = text;
      document.querySelector(".else button").click();
    }
    if (reads !== undefined) document.querySelector(".step .buttons:last-child button:last-child").click();
  }
  const seen = blockcheck.faults.every((one) => [...one.reads.keys()].some((step) => taken().has(step)));
  const cause = document.querySelector(".causes ol")?.textContent ?? "";
  return [document.querySelector(".said").textContent, taken().size, seen, cause, stages];
}
"""
"""Answers what a page asks next, as it would read with a fault, until it asks no more."""


def test_only_what_splits_asks_until_nothing_more_can_be_told(browser: Browser, files: Any) -> None:
    with reloaded(browser, files("small")) as page:
        go(page, "tests")
        page.click("text=only what splits")
        told, _, seen, cause, stages = page.evaluate(SPLITS, "nothing at all")
        assert (told, seen, cause) == ("No step that is left tells more about a single fault.", True, "")
        kinds = [one.partition(",")[0] for one in stages]
        assert kinds == sorted(kinds)  # with power on only when no test with power off tells more, and told to begin
        assert [stages[kinds.index(one)] for one in ("dead", "live")] == ["dead, set up", "live, set up"]
        page.evaluate("localStorage.clear()")
        page.reload()
        page.click("text=only what splits")
        told, read, _, cause, _ = page.evaluate(SPLITS, "the buses of R1 and R5 are swapped")
        assert told == "No step that is left tells more about a single fault."
        assert "the buses of R1 and R5 are swapped" in cause
        assert read < 21


HOSTILE = "<img src=x onerror=alert(1)>\"'</script><b>&amp;"


def test_hostile_names_and_readings_are_text(browser: Browser, tmp_path: Path) -> None:
    text = (ROOT / "examples" / "small-yard" / "yard.toml").read_text("utf-8")
    quoted = HOSTILE.replace('"', '\\"')
    text = text.replace('name = "Ropewalk sidings"', f'name = "{quoted}"').replace(
        "[trains.pilot]", '[trains."</script>x"]'
    )
    text = text.replace('at = "under the neck, front rail"', f'at = "{quoted}"')
    path = tmp_path / "page.html"
    path.write_text(blockcheck.render(blockcheck.page(blockcheck.loads(text)), "html"), "utf-8")
    with opened(browser, path, 390) as page:
        assert page.inner_text("h1") == HOSTILE
        assert page.query_selector("img") is None
        assert "</script>x" in page.inner_text("[data-name=R6]")
        go(page, "way")
        assert HOSTILE in page.inner_text("#way")
        go(page, "tests")
        for junk in ("\0\0", '[[steps]]\nid = "' + "x" * 9999, "[[steps]]\nid = 3\nreading = []", "<script>" * 99):
            page.evaluate("(one) => blockcheck.takeReadings(one)", junk)
        page.evaluate(
            "(one) => blockcheck.takeReadings(`[[steps]]\\nid = '${one}'\\nreading = '${one}'`)", "<img src=x>"
        )
        assert "not understood, or no step of this sheet: line 1" in page.inner_text(".noted")
        page.evaluate("localStorage.clear()")


def test_a_finding_shows_on_the_tracks(browser: Browser, files: Any) -> None:
    with opened(browser, files("faulty"), 390) as page:
        go(page, "findings")
        page.click(".card:has-text('isolation-overreach') button:has-text('Show on Yard')")
        assert page.is_visible("#yard")
        assert "I4 open" in page.inner_text(".stands-now")
        assert page.query_selector_all(".track.marked")
        assert page.query_selector_all(".track.unmeant")


def test_a_touch_on_the_drawing_is_a_touch_on_the_row(browser: Browser, files: Any) -> None:
    with reloaded(browser, files("small"), 1440) as page:
        page.click('svg.bc-drawing [data-kind="block"][data-name="R3"] text')
        assert page.get_attribute("[data-name=R3].track", "aria-pressed") == "true"
        assert page.query_selector('svg.bc-drawing [data-name="R3"] polyline.bc-off') is not None
        page.reload()
        assert page.get_attribute("[data-name=R3].track", "aria-pressed") == "true"


def test_a_touch_on_a_track_of_a_rotary_switch_turns_it_there(browser: Browser, files: Any) -> None:
    with reloaded(browser, files("turning-line/line"), 700) as page:
        asleep = {name: page.get_attribute(f"[data-name={name}].track", "aria-pressed") for name in ("S1", "S2", "S3")}
        assert asleep == {"S1": "false", "S2": "true", "S3": "true"}
        page.click("[data-name=S2].track")
        told = page.inner_text(".stands-now")
        assert ("R/S1 open" in told, "R/S2 closed" in told, "R/S3" in told) == (True, True, False)
        page.click("[data-name=S2].track")  # off
        assert {page.get_attribute(f"[data-name={name}].track", "aria-pressed") for name in asleep} == {"true"}


def test_print_has_the_state_in_words(browser: Browser, files: Any) -> None:
    with opened(browser, files("small"), 700) as page:
        page.click("[data-name=R1]")
        page.emulate_media(media="print")
        assert not page.is_visible("nav")
        assert not page.is_visible(".chips")
        assert "off, blind" in page.inner_text("[data-name=R1]")
        assert "I1 open" in page.inner_text(".stands-now")


@pytest.mark.parametrize(("name", "most"), [("small", 150_000), ("club", 700_000)])
def test_a_page_is_small(files: Any, name: str, most: int) -> None:
    assert files(name).stat().st_size < most


def test_what_has_too_many_ways_is_asked_live(
    browser: Browser, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("blockcheck.analysis.isolation.minimal.MOST_WAYS", 0)
    path = tmp_path / "page.html"
    path.write_text(blockcheck.render(blockcheck.page(example("small"), sheet=False), "html"), "utf-8")
    with opened(browser, path, 390) as page:
        assert page.inner_text("[data-name=R1] .word") == "asked live only"
        page.click("[data-name=R1]")
        assert "it is asked live only" in page.inner_text(".answer")
        assert "what it carries is asked live only" in page.inner_text(".slip")
        go(page, "tests")
        assert page.inner_text("#tests p") == "The test sheet is being worked out."
