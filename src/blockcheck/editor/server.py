"""The server: what an editor asks by the Language Server Protocol, answered from the library."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from attrs import field, frozen
from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path, to_fs_path

from blockcheck.core.findings import Edit, Finding, Severity, likewise
from blockcheck.core.spans import Place
from blockcheck.editor import help as words
from blockcheck.editor import occurrences as names
from blockcheck.editor.layouts import Read, Seen, first_file, look, slow
from blockcheck.editor.situation import Situation, situation
from blockcheck.text.applied import span_of

PAUSE_S = 0.05
"""How long nobody types before it is looked at."""
_LEVELS = {Severity.ERROR: 1, Severity.WARNING: 2, Severity.NOTE: 3}
_KINDS = {"table": 9, "key": 10, "name": 6, "word": 12, "unit": 11, "rule": 20}  # of the protocol


@frozen(eq=False)
class Session:
    """What a server knows: what was seen of each layout last, and of each what could be read last."""

    server: Any
    seen: dict[Path, Seen] = field(factory=dict)
    read: dict[Path, Read] = field(factory=dict)
    told: dict[Path, set[str]] = field(factory=dict)
    """First file -> the addresses of the files that it had diagnostics in."""
    turns: dict[Path, int] = field(factory=dict)

    # --- texts and places -------------------------------------------------------------------------------------------

    def texts(self) -> dict[Path, str]:
        """What the editor holds."""
        found = {}
        for uri, document in self.server.workspace.text_documents.items():
            path = to_fs_path(uri)
            if path is not None:
                found[Path(path).resolve()] = document.source
        return found

    def text(self, path: Path) -> str:
        """The text of a file as the editor has it, else as it lies on the disk."""
        texts = self.texts()
        if path in texts:
            return texts[path]
        with suppress(OSError):
            return path.read_bytes().decode("utf-8-sig", "replace")
        return ""

    def uri(self, path: Path) -> str:
        """The address of a file, as the editor has it where it is open."""
        known = self.server.workspace.text_documents
        return next(
            (uri for uri in known if (own := to_fs_path(uri)) is not None and Path(own).resolve() == path),
            from_fs_path(str(path)) or path.as_uri(),
        )

    def range(self, text: str, start: int, end: int) -> lsp.Range:
        """A stretch of a text as the protocol has it."""
        found = lsp.Range(start=_position(text, start), end=_position(text, end))
        there: lsp.Range = self.server.workspace.position_codec.range_to_client_units(text.splitlines(True), found)
        return there

    def offset(self, text: str, position: lsp.Position) -> int:
        """Where a position of the protocol is in a text."""
        lines = text.splitlines(True)
        at = self.server.workspace.position_codec.position_from_client_units(lines, position)
        return int(min(sum(len(one) for one in lines[: at.line]) + at.character, len(text)))

    def place(self, seen: Seen, place: Place) -> lsp.Location:
        """A place of a finding."""
        path = seen.path(place.file)
        text = self.text(path)
        span = span_of(text, Edit(place, "")) if text.count("\n") + 1 >= place.end_line else None
        found = self.range(text, span.start, span.end) if span is not None else self.range(text, 0, 0)
        return lsp.Location(uri=self.uri(path), range=found)

    def here(self, uri: str, position: lsp.Position) -> tuple[Path, str, int, Situation]:
        """The file, its text, the offset in it, and what the cursor is in."""
        path = Path(to_fs_path(uri) or uri).resolve()
        text = self.text(path)
        offset = self.offset(text, position)
        return path, text, offset, situation(text, offset)

    def layout(self, path: Path) -> Read | None:
        """What could be read last of the layout that a file belongs to."""
        first = first_file(path, self.texts())
        if first not in self.read:
            seen = look(first, self.texts(), quick=True)
            if seen is not None and seen.read is not None:
                self.read[first] = seen.read
        return self.read.get(first)

    # --- findings ---------------------------------------------------------------------------------------------------

    async def changed(self, uri: str) -> None:
        """Look at a layout when nobody has typed for a moment: first what is quick to tell, then all."""
        path = Path(to_fs_path(uri) or uri).resolve()
        first = first_file(path, self.texts())
        turn = self.turns[first] = self.turns.get(first, 0) + 1

        def stale() -> bool:
            return self.turns[first] != turn

        await asyncio.sleep(PAUSE_S)
        for quick in (True, False):
            if stale():
                return
            seen = await asyncio.to_thread(look, first, self.texts(), quick, stale)
            if seen is None or stale():
                return
            self.keep(seen, quick)

    def keep(self, seen: Seen, quick: bool) -> None:
        """Remember what was seen, and tell it. What is slow to tell stays as it was, until it is told anew."""
        before = self.seen.get(seen.first)
        findings = seen.findings
        if quick and seen.read is not None and before is not None:
            findings = (*findings, *(one for one in before.findings if slow(one)))
        self.seen[seen.first] = seen
        if seen.read is not None:
            self.read[seen.first] = seen.read
        found: dict[str, list[lsp.Diagnostic]] = {uri: [] for uri in sorted(self.told.get(seen.first, set()))}
        found.setdefault(self.uri(seen.first), [])
        for one in likewise(findings):
            location, diagnostic = self.diagnostic(seen, one)
            found.setdefault(location.uri, []).append(diagnostic)
        self.told[seen.first] = {uri for uri, some in found.items() if some}
        for uri, diagnostics in found.items():
            self.server.text_document_publish_diagnostics(
                lsp.PublishDiagnosticsParams(uri=uri, diagnostics=diagnostics)
            )

    def diagnostic(self, seen: Seen, one: Finding) -> tuple[lsp.Location, lsp.Diagnostic]:
        """A finding as the protocol has it."""
        assert isinstance(one.at, Place)
        location = self.place(seen, one.at)
        related = [
            lsp.DiagnosticRelatedInformation(location=self.place(seen, label.at), message=label.message)
            for label in one.related
            if isinstance(label.at, Place)
        ]
        mend = f"\nmend: {one.help}" if one.help else ""
        return location, lsp.Diagnostic(
            range=location.range,
            message=one.message + mend,
            severity=lsp.DiagnosticSeverity(_LEVELS[one.severity]),
            code=one.rule,
            source="blockcheck",
            related_information=related or None,
        )

    # --- what is asked ----------------------------------------------------------------------------------------------

    def hover(self, params: lsp.HoverParams) -> lsp.Hover | None:
        """What a key, a table, a rule or a word means."""
        _, text, _, here = self.here(params.text_document.uri, params.position)
        told = words.told(here)
        if not told:
            return None
        content = lsp.MarkupContent(kind=lsp.MarkupKind.Markdown, value=told)
        return lsp.Hover(contents=content, range=self.range(text, here.start, here.end))

    def completion(self, params: lsp.CompletionParams) -> lsp.CompletionList:
        """Keys, words, names, free channels and units, in the place of what is begun."""
        path, text, _, here = self.here(params.text_document.uri, params.position)
        read = self.layout(path)
        stretch = self.range(text, here.start, here.end)
        items = []
        for order, one in enumerate(words.offers(here, read.study if read is not None else None)):
            bare = here.kind == "value" and not here.quoted and one.text not in ("true", "false")
            written = f'"{one.text}"' if bare else one.text
            items.append(
                lsp.CompletionItem(
                    label=one.text,
                    kind=lsp.CompletionItemKind(_KINDS[one.kind]),
                    detail=one.told or None,
                    sort_text=f"{order:04d}",
                    filter_text=written,
                    text_edit=lsp.TextEdit(range=stretch, new_text=written),
                )
            )
        return lsp.CompletionList(is_incomplete=False, items=items)

    def found(self, uri: str, position: lsp.Position) -> tuple[list[names.Occurrence], names.Occurrence | None]:
        """All names of a layout, and the one at a cursor."""
        path, text, offset, _ = self.here(uri, position)
        read = self.layout(path)
        known = [*names.occurrences(read.files)] if read is not None else []
        one = names.at(known, path, offset)
        fits = one is not None and text[one.start : one.end] == one.text  # else it has moved since it could be read
        return known, one if fits else None

    def locations(self, found: list[names.Occurrence]) -> list[lsp.Location]:
        """Where names stand."""
        return [
            lsp.Location(uri=self.uri(one.file), range=self.range(self.text(one.file), one.start, one.end))
            for one in found
        ]

    def definition(self, params: lsp.DefinitionParams) -> list[lsp.Location]:
        """Where the table of a name stands; of one of a range, that of the range too."""
        known, one = self.found(params.text_document.uri, params.position)
        return self.locations([two for two in names.same(known, one) if two.defines]) if one is not None else []

    def references(self, params: lsp.ReferenceParams) -> list[lsp.Location]:
        """Wherever a name is used."""
        known, one = self.found(params.text_document.uri, params.position)
        if one is None:
            return []
        declared = params.context.include_declaration
        return self.locations([two for two in names.same(known, one) if declared or not two.defines])

    def prepare_rename(self, params: lsp.PrepareRenameParams) -> lsp.Range | None:
        """What would be written anew at the cursor."""
        _, one = self.found(params.text_document.uri, params.position)
        return self.range(self.text(one.file), one.start, one.end) if one is not None else None

    def rename(self, params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        """A name, or a range of names, called otherwise in all files; refused where that changed what they say."""
        known, one = self.found(params.text_document.uri, params.position)
        if one is None:
            return None
        first = first_file(one.file, self.texts())
        try:
            changes = list(names.renamed(known, one, params.new_name))
        except names.RenameError as error:
            raise refused(str(error)) from None
        texts = self.texts()
        after = {path: self.text(path) for path in {two.file for two, _ in changes}}
        for two, new in sorted(changes, key=lambda change: -change[0].start):
            after[two.file] = after[two.file][: two.start] + new + after[two.file][two.end :]
        was, then = look(first, texts, quick=True), look(first, {**texts, **after}, quick=True)
        if was is None or then is None or then.read is None or _counts(was) != _counts(then):
            raise refused(f"the layout would say something else: {params.new_name} reads as more than a name")
        edits: dict[str, list[lsp.TextEdit]] = {}
        for two, new in changes:
            stretch = self.range(self.text(two.file), two.start, two.end)
            edits.setdefault(self.uri(two.file), []).append(lsp.TextEdit(range=stretch, new_text=new))
        return lsp.WorkspaceEdit(changes=edits)

    def actions(self, params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
        """The mends of what is found in a stretch, where they are sure."""
        path = Path(to_fs_path(params.text_document.uri) or "").resolve()
        seen = self.seen.get(first_file(path, self.texts()))
        found = []
        for one in seen.findings if seen is not None else ():
            edits = [edit for edit in one.edits if isinstance(edit, Edit)]
            assert isinstance(one.at, Place)
            assert seen is not None
            if not edits or seen.path(one.at.file) != path:
                continue
            location, diagnostic = self.diagnostic(seen, one)
            if not _touch(location.range, params.range):
                continue
            changes: dict[str, list[lsp.TextEdit]] = {}
            for edit in edits:
                there = self.place(seen, edit.at)
                changes.setdefault(there.uri, []).append(lsp.TextEdit(range=there.range, new_text=edit.text))
            found.append(
                lsp.CodeAction(
                    title=f"mend: {one.help}" if one.help else f"mend {one.rule}",
                    kind=lsp.CodeActionKind.QuickFix,
                    diagnostics=[diagnostic],
                    edit=lsp.WorkspaceEdit(changes=changes),
                )
            )
        return found


def refused(message: str) -> Exception:
    """What the editor shows in the place of an answer."""
    from pygls.exceptions import JsonRpcException

    error: Exception = JsonRpcException(message=message, code=-32803)  # RequestFailed of the protocol
    return error


def _counts(seen: Seen) -> list[str]:
    return sorted(one.rule for one in seen.findings)


def _touch(one: lsp.Range, other: lsp.Range) -> bool:
    first, last = (one.start.line, one.start.character), (one.end.line, one.end.character)
    return first <= (other.end.line, other.end.character) and (other.start.line, other.start.character) <= last


def _position(text: str, offset: int) -> lsp.Position:
    before = text[:offset]
    return lsp.Position(line=before.count("\n"), character=offset - (before.rfind("\n") + 1))


def server() -> Any:
    """The server, with all that it answers."""
    from blockcheck.core.version import __version__

    made = LanguageServer("blockcheck", __version__, text_document_sync_kind=lsp.TextDocumentSyncKind.Incremental)
    session = Session(made)

    async def changed(
        params: lsp.DidOpenTextDocumentParams | lsp.DidChangeTextDocumentParams | lsp.DidSaveTextDocumentParams,
    ) -> None:
        await session.changed(params.text_document.uri)

    async def closed(params: lsp.DidCloseTextDocumentParams) -> None:
        await session.changed(params.text_document.uri)

    asked: dict[str, Callable[..., Any]] = {
        lsp.TEXT_DOCUMENT_HOVER: session.hover,
        lsp.TEXT_DOCUMENT_DEFINITION: session.definition,
        lsp.TEXT_DOCUMENT_REFERENCES: session.references,
        lsp.TEXT_DOCUMENT_PREPARE_RENAME: session.prepare_rename,
    }
    for name in (lsp.TEXT_DOCUMENT_DID_OPEN, lsp.TEXT_DOCUMENT_DID_CHANGE, lsp.TEXT_DOCUMENT_DID_SAVE):
        made.feature(name)(changed)
    made.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)(closed)
    for name, answer in asked.items():
        made.feature(name)(_plain(answer))
    triggers = lsp.CompletionOptions(trigger_characters=['"', "[", ".", "="])
    made.feature(lsp.TEXT_DOCUMENT_COMPLETION, triggers)(_plain(session.completion))
    made.feature(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameOptions(prepare_provider=True))(_plain(session.rename))
    quick = lsp.CodeActionOptions(code_action_kinds=[lsp.CodeActionKind.QuickFix])
    made.feature(lsp.TEXT_DOCUMENT_CODE_ACTION, quick)(_plain(session.actions))
    return made


def _plain(answer: Callable[..., Any]) -> Callable[[Any], Any]:
    """A plain function: the server looks at its arguments."""

    def called(params: Any) -> Any:
        return answer(params)

    return called
