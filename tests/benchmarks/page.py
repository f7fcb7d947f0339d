"""How soon the page in hand stands and answers, in chromium with a processor slowed four times. Prints figures.

    python -m tests.benchmarks.page [TOUCHES]

Asked are a first paint within 1 s and an answer within 100 ms (Nielsen, Usability Engineering, 5.5: what takes longer
does not feel immediate). Beside each, how many times a million additions of the same engine it takes.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page

from tests.outside.browser import chromium
from tests.outside.inhand import example, written

SLOWED = 4
ADDITIONS = """() => {
  const began = performance.now();
  for (let sum = 0, one = 0; one < 1e6; one += 1) sum += one % 7;
  return performance.now() - began;
}"""
TOUCH = """(count) => [...document.querySelectorAll('.track[data-name]')].slice(0, count).map((row) => {
  const began = performance.now();
  row.click();
  document.body.getBoundingClientRect();
  return performance.now() - began;
})"""
PAINTED = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime"


def slowed(browser: Browser, file: Path) -> Page:
    page = browser.new_page(viewport={"width": 390, "height": 900})
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    page.goto(file.as_uri(), wait_until="load")
    return page


def main(touches: int) -> None:
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        for name in ("small", "club"):
            file = Path(folder) / f"{name}.html"
            file.write_text(written(example(name)), "utf-8")
            page = slowed(browser, file)
            unit = min(page.evaluate(ADDITIONS) for _ in range(5))
            page.wait_for_function(f"{PAINTED} !== undefined")
            painted = page.evaluate(PAINTED)
            took = page.evaluate(TOUCH, touches)
            page.close()
            for what, ms in (("the first paint", painted), ("a touch", statistics.median(took))):
                print(f"{name}: {what} takes {ms:.0f} ms, {ms / unit:.1f} times a million additions")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
