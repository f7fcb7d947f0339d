"""What is served: the page, what changes in its files, and the answers that take the electrics."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from blockcheck import api
from blockcheck.core.errors import BlockcheckError, CallError
from blockcheck.live.guard import HEADERS, Guard
from blockcheck.live.watched import Watched

BEAT_S = 10.0
"""Something is sent so often, so that both sides notice when the other has gone."""
RETRY_MS = 1_000
"""So soon a page asks again for a server that has gone."""
MOST_BYTES = 1_000_000
"""Readings of more than this are none."""


def app_of(watched: Watched, hosts: frozenset[str], key: str | None = None) -> Guard:
    """The whole application: for these hosts alone and, where there is one, with the key."""
    stop = asyncio.Event()

    @asynccontextmanager
    async def follows(_: Starlette) -> AsyncIterator[None]:
        task = asyncio.create_task(watched.follow(stop))
        yield
        stop.set()
        await task

    async def page(_: Request) -> Response:
        return HTMLResponse(watched.served.page, headers=HEADERS)

    async def events(_: Request) -> Response:
        return StreamingResponse(_events(watched), media_type="text/event-stream", headers=HEADERS)

    async def ask(request: Request) -> Response:
        asked = {name: request.query_params.get(name) or None for name in ("scenario", "open")}
        return await _told(_electrics, watched, asked["scenario"], asked["open"])

    async def trace(request: Request) -> Response:
        text = await request.body()
        return Response(status_code=413) if len(text) > MOST_BYTES else await _told(_trace, watched, text)

    routes = [Route("/", page), Route("/events", events), Route("/ask", ask), Route("/trace", trace, methods=["POST"])]
    return Guard(Starlette(routes=routes, lifespan=follows), hosts, key)


async def _events(watched: Watched) -> AsyncIterator[str]:
    yield f"retry: {RETRY_MS}\n\n"
    states = watched.states()
    after = asyncio.ensure_future(anext(states))
    try:
        while True:
            done, _ = await asyncio.wait({after}, timeout=BEAT_S)
            if done:
                yield f"data: {json.dumps(after.result())}\n\n"
                after = asyncio.ensure_future(anext(states))
            else:
                yield ": still here\n\n"
    finally:
        after.cancel()


async def _told(make: Any, *of: Any) -> Response:
    """An answer, worked out aside; what cannot be asked is told in its place."""
    try:
        return JSONResponse(await asyncio.to_thread(make, *of), headers=HEADERS)
    except BlockcheckError as error:
        mend = error.help if isinstance(error, CallError) else None
        told = f"{error}" + (f": {mend}" if mend else "")
        return JSONResponse({"sentences": [told], "volts": {}}, headers=HEADERS)


def _electrics(watched: Watched, scenario: str | None, opened: str | None) -> dict[str, Any]:
    """Volts, shorts, detection and waking in the chosen state, in the words of power and wake; volts by block."""
    study = watched.served.study
    power, wake = api.power(study, scenario, opened), api.wake(study, scenario, opened)
    stands = api.isolate(study, opened, scenario) if opened else api.isolate_state(study, scenario)
    awake = [f"{row.block} keeps {', '.join(row.awake)} awake" for row in stands.blocks if row.awake]
    sentences = [*power.document().verdict, *wake.document().verdict, *awake]
    return {
        "sentences": [f"{one[:1].upper()}{one[1:]}" for one in sentences],
        "volts": {row.block: row.voltage_v for row in stands.blocks},
    }


def _trace(watched: Watched, text: bytes) -> dict[str, Any]:
    """What trace makes of readings: sizes, the material, pairs of faults."""
    return {"sentences": str(api.trace(watched.served.study, "readings.toml", data=text)).split("\n\n"), "volts": {}}
