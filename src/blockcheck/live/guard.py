"""Who is answered: this computer's own page, and with a key whoever was given it."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from urllib.parse import parse_qs

from attrs import frozen
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

HEADERS = {
    "cache-control": "no-store",
    "cross-origin-resource-policy": "same-origin",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
}
FROM_HERE = (None, "none", "same-origin")
"""What a browser says of where a request comes from, when that is the page itself or nobody's."""


@frozen
class Guard:
    """Refuses, without a byte of an answer, what comes for another host, from another site, or without the key.

    A name that somebody else's server has pointed at this computer is another host.
    """

    app: ASGIApp
    hosts: frozenset[str]
    key: str | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and not self.known(scope):
            await Response(status_code=403, headers=HEADERS)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def known(self, scope: Scope) -> bool:
        """Whether a request is to be answered."""
        headers: Mapping[str, str] = {name.decode("latin-1"): one.decode("latin-1") for name, one in scope["headers"]}
        host, origin = headers.get("host"), headers.get("origin")
        if host not in self.hosts or headers.get("sec-fetch-site") not in FROM_HERE:
            return False
        if origin is not None and origin != f"http://{host}":
            return False
        if self.key is None:
            return True
        given = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        return secrets.compare_digest(given.encode(), self.key.encode())
