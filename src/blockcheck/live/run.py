"""From a call to a server that runs until it is stopped, and the address where it is found."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable, Collection
from contextlib import suppress
from importlib.util import find_spec
from io import StringIO

from blockcheck.core.errors import CallError

HERE, PORT = "127.0.0.1", 8765
PARTS = ("starlette", "uvicorn", "watchfiles", "segno")
BYTES = 16
"""Of a key: more than anybody can try."""
ANYWHERE = ("192.0.2.1", 9)
"""An address that documents use (RFC 5737): nothing is sent there, the way there alone is asked for."""


def serve(
    file: str,
    *,
    at_hand: Collection[str],
    share: bool,
    port: int | None,
    allow_outside: bool,
    say: Callable[[str], None],
) -> None:
    """Serve the page of a layout until somebody stops it; ``say`` is told where.

    On this computer alone, unless it is to be shared: then with a key in its address. Raises InputError and CallError
    where the layout cannot be read, an instrument at hand is none, a part is missing, or the port is not to be had.
    """
    missing = [one for one in PARTS if find_spec(one) is None]
    if missing:
        raise CallError(
            f"--live needs {', '.join(missing)}",
            "run: pip install 'blockcheck-rail[live]', or in a clone: pip install '.[live]'",
        )
    import uvicorn

    from blockcheck.live.server import app_of
    from blockcheck.live.watched import Watched

    watched, bound = (
        Watched.of(file, allow_outside, at_hand),
        _bound("0.0.0.0" if share else HERE, PORT if port is None else port),
    )
    own = bound.getsockname()[1]
    name, key = (_address(), secrets.token_urlsafe(BYTES)) if share else (HERE, None)
    hosts = frozenset(f"{one}:{own}" for one in (name, HERE, "localhost"))
    address = f"http://{name}:{own}/" + (f"?key={key}" if key is not None else "")
    say(_words(address, share))
    config = uvicorn.Config(
        app_of(watched, hosts, key), log_level="critical", timeout_graceful_shutdown=1, server_header=False
    )
    with suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[bound])


def _bound(host: str, port: int) -> socket.socket:
    try:
        return socket.create_server((host, port))
    except (OSError, OverflowError) as error:
        why = (getattr(error, "strerror", None) or str(error)).lower()
        raise CallError(f"port {port} is not to be had: {why}", "name another one: --port 8766") from None


def _address() -> str:
    """This computer's address in its own network; that for itself where it is in none."""
    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(ANYWHERE)
        return str(probe.getsockname()[0])
    return HERE


def _words(address: str, share: bool) -> str:
    if not share:
        return f"The page is at {address} on this computer. Ctrl-C ends it.\n"
    import segno

    drawn = StringIO()
    segno.make(address, micro=False).terminal(out=drawn, compact=True)
    return (
        f"{drawn.getvalue()}The page is at {address}\n"
        "for whoever has that address, in this network, unencrypted. Ctrl-C ends it.\n"
    )
