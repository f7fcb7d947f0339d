"""The live page and the editor's server, asked without a socket or a pipe."""

from __future__ import annotations

import json
import zlib
from functools import lru_cache
from pathlib import Path
from typing import Any

from tests.fuzz.cases import Case
from tests.fuzz.law import LONG_S, QUICK_S, Verdict, guarded, joined
from tests.loops import finished

HOST = "127.0.0.1:8765"


@lru_cache(maxsize=8)
def _app(text: bytes) -> Any:
    from blockcheck.live.server import app_of
    from blockcheck.live.watched import Watched

    return app_of(Watched.of("yard.toml"), frozenset({HOST}))


def live(case: Case, share: float) -> Verdict:
    """Requests to a page that is served."""
    found = [guarded("live", share * LONG_S, lambda: _answers(case))]
    for method, address, body in case.asks if found[0].outcome == "answered" else ():
        found.append(guarded("live", share * LONG_S, lambda: _request(case, method, address, body)))  # noqa: B023
    return joined(found)


def _answers(case: Case) -> Verdict:
    return Verdict("answered" if _app(case.files["yard.toml"]) else "refused")


def _request(case: Case, method: str, address: str, body: str) -> Verdict:
    return finished(_sent(_app(case.files["yard.toml"]), method, address, body))


async def _sent(app: Any, method: str, address: str, body: str) -> Verdict:
    path, _, query = address.partition("?")
    scope: dict[str, Any] = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "path": path,
    }
    scope |= {"raw_path": path.encode(), "query_string": query.encode(), "headers": [(b"host", HOST.encode())]}
    sent: list[dict[str, Any]] = []
    given = [{"type": "http.request", "body": body.encode(), "more_body": False}]

    async def receive() -> dict[str, Any]:
        return given.pop() if given else {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    await app(scope, receive, send)
    status, told = sent[0]["status"], b"".join(one.get("body", b"") for one in sent[1:])
    if status not in (200, 403, 404, 405, 413):
        return Verdict("defect", f"live: status {status}\n{told[:1000]!r}")
    if status == 200 and path in ("/ask", "/trace"):
        json.loads(told)
    return Verdict("answered" if status == 200 else "refused", None, zlib.crc32(told))


# --- an editor --------------------------------------------------------------------------------------------------------


class _Editor:
    """What the functions of the language server see of the server."""

    def __init__(self) -> None:
        from pygls.workspace import Workspace

        self.workspace = Workspace(None)
        self.told: list[Any] = []

    def text_document_publish_diagnostics(self, params: Any) -> None:
        self.told.append(params)


def lsp(case: Case, share: float) -> Verdict:
    """What an editor asks of a server, which sees the text that the editor holds."""
    from lsprotocol import types as lsp
    from lsprotocol.converters import get_converter

    from blockcheck.editor.server import Session

    editor = _Editor()
    session, converter, found = Session(editor), get_converter(), list[Verdict]()

    def open_(uri: str, text: str) -> Verdict:
        editor.workspace.put_text_document(lsp.TextDocumentItem(uri, "toml", 1, text))
        finished(session.changed(uri))
        converter.unstructure(editor.told)
        return Verdict("answered", None, zlib.crc32(repr([len(one.diagnostics) for one in editor.told]).encode()))

    def ask(method: str, words: dict[str, Any]) -> Verdict:
        from pygls.exceptions import JsonRpcException

        uri = (Path.cwd() / words.get("file", "yard.toml")).resolve().as_uri()
        if method == "open":
            return open_(uri, words["text"])
        at = {"textDocument": {"uri": uri}, "position": {"line": words["line"], "character": words["character"]}}
        at |= {
            "newName": words.get("name", ""),
            "context": {"includeDeclaration": True, "diagnostics": [], "triggerKind": 1},
        }
        at |= {"range": {"start": at["position"], "end": {"line": words["line"] + 3, "character": 0}}}
        try:
            answer = getattr(session, method)(converter.structure(at, ARGUMENTS[method]))
        except JsonRpcException:
            return Verdict("refused")
        return Verdict(
            "answered",
            None,
            zlib.crc32(json.dumps(converter.unstructure(answer)).replace(str(Path.cwd()), "").encode()),
        )

    arguments = {"hover": lsp.HoverParams, "completion": lsp.CompletionParams, "definition": lsp.DefinitionParams}
    arguments |= {"references": lsp.ReferenceParams, "prepare_rename": lsp.PrepareRenameParams}
    ARGUMENTS = {**arguments, "rename": lsp.RenameParams, "actions": lsp.CodeActionParams}  # noqa: N806
    for method, text in case.asks:
        found.append(guarded(f"lsp {method}", share * QUICK_S, lambda: ask(method, json.loads(text))))  # noqa: B023
    return joined(found)
