"""The page served, in one process and without a browser: whom it answers, many at once, files that come and go."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable, Coroutine, Iterable
from pathlib import Path
from typing import Any

import pytest
from tests.loops import finished

from blockcheck.__main__ import main
from blockcheck.formats.inhand import written
from blockcheck.formats.inhand.written import MODULES
from blockcheck.live.guard import Guard
from blockcheck.live.server import app_of
from blockcheck.live.watched import STAGES, Watched

SCRIPT = list(Path(written.__file__).parent.glob("*.js"))
YARD = (Path(__file__).resolve().parents[3] / "examples" / "small-yard" / "yard.toml").read_text("utf-8")
HOST = "127.0.0.1:8765"
MANY = 100
SOON_S = 60
"""Nothing here takes a second; other tests may want the machine at the same time."""


class Asked:
    """One request, as a server hands it to an application: what came back, until whoever asked goes away."""

    def __init__(self, app: Guard, path: str, query: str = "", method: str = "GET", **headers: str) -> None:
        fields = {"host": HOST, **{name.replace("_", "-"): words for name, words in headers.items()}}
        self.status, self.body, self.gone, self.news = 0, b"", asyncio.Event(), asyncio.Condition()
        scope = {
            "type": "http",
            "asgi": {"version": "3.0", "spec_version": "2.3"},
            "http_version": "1.1",
            "method": method,
            "path": path,
            "raw_path": path.encode(),
            "root_path": "",
            "scheme": "http",
            "query_string": query.encode(),
            "headers": [(name.encode(), words.encode()) for name, words in fields.items()],
            "client": ("127.0.0.1", 9),
            "server": ("127.0.0.1", 8765),
        }
        self.sent = False
        self.task = asyncio.create_task(app(scope, self.receive, self.send))

    async def receive(self) -> dict[str, Any]:
        if not self.sent:
            self.sent = True
            return {"type": "http.request", "body": b"", "more_body": False}
        await self.gone.wait()
        return {"type": "http.disconnect"}

    async def send(self, message: Any) -> None:
        async with self.news:
            self.status = message.get("status", self.status)
            self.body += message.get("body", b"")
            self.news.notify_all()

    async def told(self, is_so: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """The first event that is so."""
        async with asyncio.timeout(SOON_S), self.news:
            while True:
                for line in self.body.decode().splitlines():
                    if line.startswith("data: ") and is_so(found := json.loads(line[6:])):
                        return dict(found)
                await self.news.wait()

    async def ended(self) -> tuple[int, bytes]:
        async with asyncio.timeout(SOON_S):
            await self.task
        return self.status, self.body

    async def leave(self) -> None:
        self.gone.set()
        await self.ended()


@pytest.fixture(name="watched")
def _watched(tmp_path: Path) -> Watched:
    file = tmp_path / "yard.toml"
    file.write_text(YARD, "utf-8")
    return Watched.of(str(file))


def run(steps: Callable[[], Coroutine[Any, Any, None]]) -> None:
    async def soon() -> None:
        await asyncio.wait_for(steps(), SOON_S)

    finished(soon())


def test_a_hundred_connections_are_told_and_let_go(watched: Watched) -> None:
    app = app_of(watched, frozenset({HOST}))

    async def steps() -> None:
        before = len(asyncio.all_tasks())
        many = [Asked(app, "/events") for _ in range(MANY)]
        for one in many:
            assert (await one.told(lambda told: not told["errors"]))["version"] == watched.served.version
        Path(watched.file).write_text(YARD.replace("Ropewalk sidings", "Ropewalk old"), "utf-8")
        first = watched.served.version
        await watched.again()
        for one in many[::2]:
            assert (await one.told(lambda told: told["version"] != first))["errors"] == []
            await one.leave()
        Path(watched.file).write_text("[", "utf-8")
        await watched.again()
        for one in many[1::2]:
            assert (await one.told(lambda told: bool(told["errors"])))["errors"][0]["line"] == 1
            await one.leave()
        await asyncio.sleep(0)
        assert len(asyncio.all_tasks()) == before

    run(steps)


def refused(key: str | None) -> Iterable[tuple[str, dict[str, str]]]:
    """Queries and fields of a request that are not to be answered."""
    good = "" if key is None else f"key={key}"
    for odd in (
        {"host": "yard.example"},
        {"host": "yard.example:8765"},
        {"host": ""},
        {"sec_fetch_site": "cross-site"},
        {"sec_fetch_site": "same-site"},
        {"origin": "http://yard.example"},
        {"origin": "null"},
        {"origin": f"https://{HOST}"},
    ):
        yield good, odd
    if key is not None:
        for wrong in ("", "key=", f"key={key[:-1]}", f"key={key}x", f"key={key.upper()}", "key=%FF"):
            yield wrong, {}


@pytest.mark.parametrize("key", [None, "right-key"])
def test_whom_it_does_not_know_gets_no_byte(watched: Watched, key: str | None) -> None:
    app, good = app_of(watched, frozenset({HOST}), key), "" if key is None else f"key={key}"

    async def steps() -> None:
        for path in ("/", "/events", "/ask", "/trace", "/nothing"):
            for query, odd in refused(key):
                assert await Asked(app, path, query, **odd).ended() == (403, b""), (path, query, odd)
        status, body = await Asked(app, "/", good, origin=f"http://{HOST}", sec_fetch_site="same-origin").ended()
        assert status == 200
        assert body.startswith(b"<!DOCTYPE html>")
        status, body = await Asked(app, "/ask", "&".join((good, "open=%3Cb%3E"))).ended()
        assert (status, b"no block" in body) == (200, True)
        assert (await Asked(app, "/nothing", good).ended())[0] == 404
        assert (await Asked(app, "/", good, method="POST").ended())[0] == 405

    run(steps)


def test_a_file_that_vanishes_and_one_half_written_leave_the_last_good_page(watched: Watched) -> None:
    good, file = watched.served, Path(watched.file)

    async def steps() -> None:
        file.unlink()
        await watched.again()
        assert watched.served is good
        assert watched.errors[0]["message"] == "yard.toml cannot be read: no such file or directory"
        for half in (0, 1, 40, len(YARD) // 3, len(YARD) // 2, len(YARD) - 9):
            file.write_text(YARD[:half], "utf-8")
            await watched.again()
            assert watched.errors or watched.served is not good, half
        file.write_bytes(b"\xff\xfe\0")
        await watched.again()
        assert watched.errors
        file.write_text(YARD, "utf-8")
        await watched.again()
        assert (watched.served.version, watched.errors) == (good.version, ())

    run(steps)


def test_what_is_saved_is_told_and_then_the_rest(watched: Watched) -> None:
    """With the files followed as a server does; a file saved as it was is no news."""
    file = Path(watched.file)

    async def steps() -> None:
        stop, first = asyncio.Event(), watched.served.version
        following = asyncio.create_task(watched.follow(stop))
        events = Asked(app_of(watched, frozenset({HOST})), "/events")
        await events.told(lambda told: told["version"].endswith(f" {len(STAGES) - 1}"))
        whole = watched.served
        await watched.again()
        assert watched.served is whole
        file.write_text(YARD.replace("Ropewalk sidings", "Ropewalk old"), "utf-8")
        other = first.partition(" ")[0]
        seen = await events.told(lambda told: not told["version"].startswith(other))
        assert seen["version"].endswith(" 0")
        await events.told(lambda told: told["version"] == seen["version"][:-1] + "1")
        assert "The drawing is being worked out." not in watched.served.page
        await events.leave()
        stop.set()
        await following

    run(steps)


def test_what_nobody_wants_any_more_is_given_up(watched: Watched) -> None:
    async def steps() -> None:
        rest = asyncio.create_task(watched.complete())
        await asyncio.sleep(0)
        Path(watched.file).write_text(YARD.replace("Ropewalk sidings", "Ropewalk old"), "utf-8")
        await watched.again()
        await rest
        assert watched.served.version.endswith(" 0")
        assert "Ropewalk old" in watched.served.page

    run(steps)


@pytest.mark.parametrize("option", [["--share"], ["--port", "80"]])
def test_what_goes_with_a_served_page_alone_is_told(option: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["page", "yard.toml", *option]) == 2
    assert f"{option[0]} goes with --live" in capsys.readouterr().err


def test_a_defect_leaves_the_last_good_page(watched: Watched, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by nought")

    async def steps() -> None:
        page = watched.served.page
        monkeypatch.setattr("blockcheck.live.watched.page", broken)
        await watched.complete()
        assert ["ZeroDivisionError: by nought" in one["message"] for one in watched.errors] == [True]
        Path(watched.file).write_text(YARD.replace("Ropewalk sidings", "Ropewalk old"), "utf-8")
        await watched.again()
        assert (watched.served.page, len(watched.errors)) == (page, 1)
        monkeypatch.undo()
        await watched.again()
        assert ("Ropewalk old" in watched.served.page, watched.errors) == (True, ())

    run(steps)


def test_what_only_a_check_finds_wrong_stays_told(watched: Watched) -> None:
    """A rule that does not exist: also after the file was saved as it is, and after it was worse for a while."""
    file, text = Path(watched.file), YARD + '\n[rules]\nno-such-rule = "off"\n'

    async def steps() -> None:
        file.write_text(text, "utf-8")
        await watched.again()
        await watched.complete()
        assert [one["message"] for one in watched.errors] == ['"no-such-rule" is no rule']
        first = watched.errors
        await watched.again()
        assert watched.errors == first
        file.write_text("[", "utf-8")
        await watched.again()
        assert watched.errors != first
        file.write_text(text, "utf-8")
        await watched.again()
        assert watched.errors == first
        file.write_text(YARD, "utf-8")
        await watched.again()
        assert watched.errors == ()

    run(steps)


def test_its_script_is_under_a_thousand_lines() -> None:
    """As it is written, blanks and comments too, and the part that is only served."""
    assert {*MODULES, "live"} == {one.stem for one in SCRIPT}
    assert 500 < sum(len(one.read_text("utf-8").splitlines()) for one in SCRIPT) < 1000
