"""How soon a save shows on the live page: processor time of each stage, and the whole way to the screen of a browser.

    python -m tests.benchmarks.live [BLOCKS [EXAMPLE ...]]

Asked is that the page itself is there within 1 s; what takes the electrics, the rules and the test sheet comes after.
The time that others take from the processor is not counted in the stages; beside each stands how often ``tomllib.load``
fits in. The whole way goes by the clock, from the moment that the file is saved until the open page shows the new name:
of several saves the middle one.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
import tomllib
from collections.abc import Sequence
from pathlib import Path
from statistics import median

from playwright.sync_api import Page

from blockcheck import api
from blockcheck.live.watched import STAGES, Watched
from tests.benchmarks.generate import layout
from tests.outside.browser import chromium
from tests.outside.inhand import FILES, ROOT
from tests.outside.test_live_page import serving

SAVES = 5
LATEST_MS = 120_000
WORDS = ("its rows and ways", "what trains read, findings and the drawing", "the test sheet")


def main(blocks: int, names: Sequence[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        large = Path(folder) / "large.toml"
        large.write_text(layout(blocks, wired=True), "utf-8")
        files = {name: ROOT / "examples" / f"{FILES[name]}.toml" for name in names}
        for name, file in {**files, **({f"{blocks} blocks": large} if blocks else {})}.items():
            watched = Watched.of(str(file))  # imports everything, as a server that runs has
            began = time.process_time()
            tomllib.loads(file.read_text("utf-8"))
            unit, began = time.process_time() - began, time.process_time()
            study = api.load(str(file))
            for stage in range(len(STAGES)):
                watched.served = watched.made(study, stage)
                took = time.process_time() - began
                print(f"{name}: {WORDS[stage]} after {took:.2f} s, {took / unit:.0f} times tomllib.load")
        with chromium() as browser:
            for name, file in files.items():
                copy = Path(shutil.copytree(file.parent, Path(folder) / name)) / file.name
                took = median(saved(browser.new_page(), copy))
                print(f"{name}: a save is on the screen of a browser after {took:.2f} s")


def saved(page: Page, file: Path) -> list[float]:
    """Saves the file again and again under another name, as soon as the page is complete; seconds until each shows."""
    text, found = file.read_text("utf-8"), list[float]()
    name = tomllib.loads(text)["layout"]["name"]
    with serving(file) as served:
        page.goto(served.url)
        for number in range(SAVES):
            page.wait_for_selector(f"body[data-live$=' {len(STAGES) - 1}']", timeout=LATEST_MS)
            began = time.perf_counter()
            file.write_text(text.replace(f'"{name}"', f'"Saved {number}"', 1), "utf-8")
            page.wait_for_selector(f"h1:text-is('Saved {number}')", timeout=LATEST_MS)
            found.append(time.perf_counter() - began)
    page.close()
    return found


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100, sys.argv[2:] or ("small", "club"))
