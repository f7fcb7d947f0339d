"""The page in hand served from this computer: it follows the files, and whom it does not know it answers nothing."""

from __future__ import annotations

import http.client
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser

from blockcheck.core.errors import CallError
from blockcheck.live import run
from blockcheck.live.watched import STAGES, Shown, Watched
from tests.outside.inhand import ROOT

YARD = (ROOT / "examples" / "small-yard" / "yard.toml").read_text("utf-8")
SOON_MS = 15_000
"""A change shows within a second; other tests may want the machine at the same time."""


class Served(NamedTuple):
    file: Path
    url: str

    def get(self, path: str = "/", **headers: str) -> tuple[int, bytes]:
        there = urlsplit(self.url)
        connection = http.client.HTTPConnection("127.0.0.1", int(there.port or 0), timeout=20)
        with closing(connection):
            connection.request("GET", path, headers={one.replace("_", "-"): word for one, word in headers.items()})
            answer = connection.getresponse()
            return answer.status, answer.read()


@contextmanager
def serving(file: Path, *more: str) -> Iterator[Served]:
    call = [sys.executable, "-m", "blockcheck", "page", file.name, "--live", "--port", "0", *more]
    with subprocess.Popen(call, cwd=file.parent, stdout=subprocess.PIPE, text=True, encoding="utf-8") as server:
        assert server.stdout is not None
        try:
            for line in server.stdout:
                found = re.search(r"http://\S+", line)
                if found:
                    yield Served(file, found[0])
                    break
        finally:
            server.terminate()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    file = tmp_path_factory.mktemp("yard") / "yard.toml"
    file.write_text(YARD, "utf-8")
    with serving(file) as found:
        yield found


def test_it_follows_the_files_and_keeps_what_was_chosen(browser: Browser, served: Served) -> None:
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    asked = set[str]()
    page.on("request", lambda request: asked.add(urlsplit(request.url).netloc))
    page.goto(served.url)
    page.click("[data-name=R1].track")
    served.file.write_text(YARD.replace("Ropewalk sidings", "Ropewalk old"), "utf-8")
    page.wait_for_selector("h1:text-is('Ropewalk old')", timeout=SOON_MS)
    page.wait_for_selector("[data-name=R1].track[aria-pressed=true]")
    served.file.write_text(YARD.replace('channel = "D1.7"', 'chanel = "D1.7"'), "utf-8")
    page.wait_for_selector(".news:not([hidden])", timeout=SOON_MS)
    assert "yard.toml:55" in page.inner_text(".news")
    assert page.is_visible("[data-name=R1].track")
    new = served.file.with_suffix(".new")
    new.write_text(YARD, "utf-8")
    new.replace(served.file)  # as many editors save
    page.wait_for_selector("h1:text-is('Ropewalk sidings')", timeout=SOON_MS)
    page.click("text=volts, shorts and waking now")
    page.wait_for_selector(".told", timeout=SOON_MS)
    assert "all blocks hold. Tightest: " in page.inner_text(".electrics")
    assert "V" in page.inner_text("[data-name=R6] .word")
    page.click("nav [data-screen=tests]")
    page.click(".large button >> nth=0")
    page.click("text=ask trace")
    page.wait_for_selector("#tests .told", timeout=SOON_MS)
    assert "as expected" in page.inner_text("#tests .electrics")
    assert asked == {urlsplit(served.url).netloc}
    assert {one.name for one in served.file.parent.iterdir()} == {"yard.toml"}
    page.close()


def test_whom_it_does_not_know_it_answers_nothing(served: Served) -> None:
    here = urlsplit(served.url).netloc
    assert served.get()[0] == 200
    for path in ("/", "/events", "/ask", "/nothing"):
        for odd in (
            {"Host": "yard.example"},
            {"Host": f"yard.example:{urlsplit(served.url).port}"},
            {"Sec_Fetch_Site": "cross-site"},
            {"Sec_Fetch_Site": "same-site"},
            {"Origin": "http://yard.example"},
            {"Origin": "null"},
        ):
            assert served.get(path, **odd) == (403, b""), (path, odd)
    assert served.get(Origin=f"http://{here}", Sec_Fetch_Site="same-origin")[0] == 200
    status, told = served.get("/ask?open=%3Cb%3E")
    assert status == 200
    assert b"no block" in told


def test_shared_it_wants_the_key(tmp_path: Path) -> None:
    file = tmp_path / "yard.toml"
    file.write_text(YARD, "utf-8")
    with serving(file, "--share") as found:
        there = urlsplit(found.url)
        key = there.query.partition("=")[2]
        assert len(key) >= 20
        assert found.get(Host=there.netloc) == (403, b"")
        assert found.get(f"/?key={key[:-1]}", Host=there.netloc) == (403, b"")
        assert found.get(f"/?key={key}&key=", Host="yard.example") == (403, b"")
        assert found.get(f"/?key={key}", Host=there.netloc)[0] == 200


def test_a_server_that_comes_again_is_followed(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "yard.toml"
    file.write_text(YARD, "utf-8")
    page = browser.new_page()
    with serving(file) as found:
        page.goto(found.url)
    page.wait_for_selector(".news:not([hidden])", timeout=SOON_MS)
    assert "does not answer" in page.inner_text(".news")
    page.click("[data-name=R2].track")
    assert page.get_attribute("[data-name=R2].track", "aria-pressed") == "true"
    file.write_text(YARD.replace("Ropewalk sidings", "Ropewalk again"), "utf-8")
    with serving(file, "--port", str(urlsplit(found.url).port)):
        page.wait_for_selector("h1:text-is('Ropewalk again')", timeout=SOON_MS)
        page.wait_for_selector("[data-name=R2].track[aria-pressed=true]")
        page.close()


def test_what_is_missing_is_told_with_the_command_that_installs_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "find_spec", lambda name: None if name == "uvicorn" else name)
    with pytest.raises(CallError, match="--live needs uvicorn") as caught:
        run.serve("yard.toml", at_hand=("beeper",), share=False, port=0, allow_outside=False, say=print)
    assert caught.value.help == "run: pip install 'blockcheck-rail[live]', or in a clone: pip install '.[live]'"


WORDS = """() => {
  const now = blockcheck.stand(0), told = blockcheck.answer(now, now);
  return blockcheck.trainWords(told.trains[0], told.rows.get(told.trains[0].block));
}"""


def test_a_page_comes_in_stages_and_what_lacks_is_told(browser: Browser, tmp_path: Path) -> None:
    """What it lacks comes into the page that is open: what is chosen and written there stays."""
    file = tmp_path / "yard.toml"
    file.write_text(YARD, "utf-8")
    watched = Watched.of(str(file))
    pages = {"/": watched.served}
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    page.route("**/*", lambda route: route.fulfill(body=pages["/"].page, content_type="text/html"))
    page.route(
        "**/events*",
        lambda route: route.fulfill(
            body="retry: 50\n\ndata: " + told(pages["/"]) + "\n\n", content_type="text/event-stream"
        ),
    )

    def told(served: Shown) -> str:
        return json.dumps({"version": served.version, "errors": []})

    page.goto("http://127.0.0.1:9/")
    page.click("[data-name=R6].track")
    assert "what it reads is being worked out" in page.evaluate(WORDS)
    assert page.inner_text(".drawn") == "The drawing is being worked out."
    for screen, words in (("findings", "What check finds is being worked out."), ("tests", "The test sheet is being")):
        page.click(f"nav [data-screen={screen}]")
        assert words in page.inner_text(f"#{screen}")
    page.click("nav [data-screen=way]")
    page.fill("#label", "half a word")
    page.click("nav [data-screen=tests]")
    for stage in range(1, len(STAGES)):
        pages["/"] = watched.made(watched.served.study, stage)
        page.wait_for_selector(f"body[data-live$=' {stage}']", timeout=SOON_MS)
    assert "21 steps read" in page.inner_text("#tests")
    assert page.evaluate(WORDS) == "Train coal in R1 keeps its power and reads occupied."
    page.click("nav [data-screen=way]")
    assert page.input_value("#label") == "half a word"
    page.click("nav [data-screen=yard]")
    assert page.get_attribute("[data-name=R6].track", "aria-pressed") == "true"
    assert page.query_selector('svg.bc-drawing [data-name="R6"] polyline.bc-off') is not None
    page.close()
